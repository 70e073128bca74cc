#pragma once
// Shared by the tests of presets.
#include "formats/form.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "library/presets.hpp"
#include "library/record.hpp"
#include "library/shop.hpp"
#include "library/sweep_design.hpp"
#include "study/lesson_figures.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "support/schema_check.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

namespace sparecoat::test::preset_documents {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using sparecoat::test::refusal;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;

inline const fs::path source_dir = source_at("");

inline Library presets() { return Library(source_dir / "presets"); }

/// Sets an environment variable and puts it back.
class Environment {
public:
    Environment(const char* name, const std::string& value) : name_(name) {
        if (const char* before = std::getenv(name)) before_ = before;
        setenv(name, value.c_str(), 1);
    }
    ~Environment() {
        if (before_.empty()) unsetenv(name_);
        else setenv(name_, before_.c_str(), 1);
    }
    Environment(const Environment&) = delete;
    Environment& operator=(const Environment&) = delete;

private:
    const char* name_;
    std::string before_;
};

inline void read_any(PresetKind kind, const json& document, const std::string& file = "test.json") {
    switch (kind) {
    case PresetKind::machine: read_machine(document, file); break;
    case PresetKind::pad: read_pads(document, file); break;
    case PresetKind::liquid: read_liquid(document, file); break;
    case PresetKind::paint: read_paint(document, file); break;
    case PresetKind::substrate: read_substrate(document, file); break;
    case PresetKind::panel: read_panel(document, file); break;
    case PresetKind::technique: read_technique(document, file); break;
    case PresetKind::lesson: read_lesson(document, file); break;
    case PresetKind::defects: read_defects(document, file); break;
    case PresetKind::kit: read_kit(document, file); break;
    case PresetKind::record: read_record(document, file); break;
    case PresetKind::shop: read_shop(document, file); break;
    case PresetKind::sweep: read_sweep(document, file); break;
    }
}

inline json preset(PresetKind kind, const std::string& stem) {
    return load_json(source_dir / "presets" / folder_of(kind) / (stem + ".json"));
}

/// One document of each kind that uses every key there is, as far as they go together.
/// Long because it is those documents, one after the other.
inline const std::vector<std::pair<PresetKind, json>>& full_documents() {
    static const std::vector<std::pair<PresetKind, json>> documents{
        {PresetKind::machine, preset(PresetKind::machine, "da-15")},
        {PresetKind::machine, preset(PresetKind::machine, "gear-8")},
        {PresetKind::machine, preset(PresetKind::machine, "rotary-1000")},
        {PresetKind::pad, preset(PresetKind::pad, "firm-foam")},
        {PresetKind::liquid, preset(PresetKind::liquid, "polish")},
        {PresetKind::liquid, preset(PresetKind::liquid, "p2000")},
        {PresetKind::paint, preset(PresetKind::paint, "typical")},
        {PresetKind::substrate, preset(PresetKind::substrate, "steel")},
        {PresetKind::panel, json::parse(R"({
            "kind": "panel", "name": "Plate", "note": "n", "substrate": "steel",
            "outline": [{"at": ["0 mm", "0 mm"], "radius": "30 mm", "edge": "bottom"}, {"at": [0.6, 0]},
                        {"at": ["600 mm", "50 cm"]}, {"at": ["0 mm", "500 mm"], "edge": "left"}],
            "holes": [{"name": "window", "corners": [
                {"at": ["200 mm", "200 mm"]}, {"at": ["300 mm", "200 mm"], "radius": "5 mm", "edge": "sill"},
                {"at": ["300 mm", "300 mm"]}]}],
            "crown": {"u": "6 m", "v": "-2.5 m"},
            "body_lines": [{"name": "waist", "points": [["0 mm", "100 mm"], ["600 mm", "120 mm"]],
                "height": "6 mm", "crest_radius": "8 mm", "flank": "45 mm", "end_fade": "60 mm"}],
            "recesses": [{"name": "handle", "corners": [
                {"at": [0.4, 0.3]}, {"at": [0.5, 0.3]}, {"at": [0.5, 0.4], "radius": "9 mm"}],
                "depth": "12 mm", "wall": "15 mm"}],
            "rolled_edges": [{"edge": "edge 2", "radius": "20 mm", "turn": "40 deg"}]})")},
        {PresetKind::technique, json::parse(R"({
            "kind": "technique", "name": "All", "note": "n",
            "machine": "da-15", "pad": "firm-foam-150", "liquid": "polish",
            "pattern": "spiral", "force": "45 N", "speed": "4500/min", "arm_speed": "40 mm/s",
            "arm_acceleration": "2 m/s2", "overlap": "40 %", "passes": 6, "crossed": false,
            "hold_back": {"all": "5 mm", "wheel arch": "-75 mm"},
            "tape": {"all": "3 mm", "wheel arch": "12 mm"}, "tilt": "3 deg", "tilt_toward": "90 deg",
            "hand_stiffness": "1 N m/deg",
            "section": {"centre": ["300 mm", "250 mm"], "size": ["500 mm", "400 mm"]},
            "recharge_passes": 2,
            "hand": {"force": "8 %", "arm_speed": "10 %", "tilt": "0.5 deg", "spacing": "5 mm",
                     "correlation": "2 s"}})")},
        {PresetKind::technique, json::parse(R"({
            "kind": "technique", "name": "Line",
            "machine": "da-15", "pad": "firm-foam-150", "liquid": "polish", "pattern": "line",
            "force": 45, "speed": 400, "arm_speed": 0.04,
            "line": {"from": [0, 0.1], "to": ["500 mm", "100 mm"]}})")},
        {PresetKind::lesson, json::parse(R"({
            "kind": "lesson", "name": "All", "note": "n", "about": "clear left", "grid": "4 mm",
            "mistake": {"panel": "test-plate", "paint": "soft", "air": "25 C", "technique": "polish-da-15",
                        "change": {"tilt": "3 deg"}, "seed": 7},
            "remedy": {"panel": "test-plate", "technique": "polish-da-15"},
            "places": {"middle": ["300 mm", "250 mm"]},
            "steps": [{"show": "both", "moment": "nearest middle", "map": "pressure_now",
                       "camera": {"from": "top", "nearer": 3, "at": "middle"},
                       "caption": "{mistake.worst.lost} at {mistake.at middle.place}"}]})")},
        {PresetKind::defects, json::parse(R"({
            "kind": "defects", "name": "All", "note": "n", "marks": [
                {"kind": "wash swirls", "visible": "faint", "fingernail": false, "depth": "0.4 um",
                 "depth_sd": "35 %", "width": "3 um", "length": "30 mm", "length_per_area": 600,
                 "direction": "90 deg", "region": [[0, 0], ["300 mm", "0 mm"], [0.3, 0.2]]},
                {"kind": "water-spot etching", "visible": "glaring", "per_area": 70}]})")},
        {PresetKind::kit, json::parse(R"({
            "kind": "kit", "name": "All", "note": "n",
            "machines": [{"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "40 mm/s",
                "passes": 6,
                          "pads": ["firm-foam-150"], "liquids": ["polish"]},
                         {"machine": "rotary-1000", "speed": 180, "force": 40, "arm_speed": 0.04}],
            "pads": ["firm-foam-150", "wool-150"], "liquids": ["polish", "p2000"],
            "gauge": {"repeatability": "0.8 um", "readings": 3}})")},
        {PresetKind::record, json::parse(R"({
            "kind": "record", "name": "All", "note": "n", "kit": "workshop",
            "target": {"share": "90 %", "finish": "full", "chance": 0.7, "reserve": "20 um",
                "keep_chance": "99 %"},
            "panels": [{"panel": "test-plate", "paint": "soft", "defects": "severe", "readings": "film.csv",
                        "clean": true, "note": "n", "squares": [
                {"at": ["300 mm", "250 mm"], "size": [0.3, "300 mm"], "note": "n", "tries": [
                    {"step": "da-15+medium-foam-150+polish", "sets": 2, "seen": "90 %", "note": "n",
                     "gauge": {"before": "112.4 um", "n_before": 5, "after": "4.4 mil", "n_after": 4,
                               "repeatability": "0.8 um"}},
                    {"step": "da-15+medium-foam-150+polish", "seen": "nearly all"}]}]},
                {"panel": "rear-door"}]})")},
        {PresetKind::shop,
         json::parse(R"({"kind": "shop", "name": "All", "note": "n", "lines": ["1 Yard Lane", "Tel. 1"],
            "logo": "logo.png"})")},
        {PresetKind::sweep, json::parse(R"({
            "kind": "sweep", "name": "All", "note": "n", "panel": "test-plate", "paints": ["typical", "soft"],
            "defects": "light", "technique": "polish-da-15", "grid": "4 mm", "air": "25 C", "hands": 2,
                "seed": 3,
            "reserve": "12 um", "cut_sd": "20 %", "design": {"kind": "sobol", "points": 8, "seed": 2},
            "factors": [{"name": "press", "of": "technique", "at": "/force", "from": "30 N", "to": "60 N",
                "scale": "log", "levels": 3},
                        {"of": "technique", "at": "/passes", "values": [2, 4]}]})")},
    };
    return documents;
}

inline const json& full_document(PresetKind kind) {
    return std::ranges::find(full_documents(), kind, &std::pair<PresetKind, json>::first)->second;
}

/// Calls `change` with a copy of the document for every place in it: the copy, the parent's pointer, the key.
inline void for_each_place(const json& document,
                           const std::function<void(json& copy, const json::json_pointer& place)>& change) {
    const json flat = document.flatten();
    std::set<std::string> places; // every value and every object or list above one
    for (const auto& [pointer, unused] : flat.items())
        for (json::json_pointer p(pointer); !p.empty(); p = p.parent_pointer()) places.insert(p.to_string());
    for (const std::string& place : places) {
        json copy = document;
        change(copy, json::json_pointer(place));
    }
}

inline bool accepted(const std::function<void()>& check) {
    try {
        check();
    } catch (const InputError&) {
        return false;
    }
    return true;
}

inline void erase(json& document, const json::json_pointer& place) {
    json& parent = document[place.parent_pointer()];
    if (parent.is_object()) parent.erase(place.back());
    else parent.erase(static_cast<std::size_t>(std::stoul(place.back())));
}

} // namespace sparecoat::test::preset_documents
