#include "formats/form.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "formats/schema_check.hpp"
#include "library/presets.hpp"
#include "library/record.hpp"
#include "library/shop.hpp"
#include "library/sweep_design.hpp"
#include "study/lesson_figures.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using sparecoat::test::refusal;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;

namespace {

const fs::path source_dir = source_at("");

Library presets() { return Library(source_dir / "presets"); }

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

void read_any(PresetKind kind, const json& document, const std::string& file = "test.json") {
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

json preset(PresetKind kind, const std::string& stem) {
    return load_json(source_dir / "presets" / folder_of(kind) / (stem + ".json"));
}

/// One document of each kind that uses every key there is, as far as they go together.
const std::vector<std::pair<PresetKind, json>>& full_documents() {
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
            "machines": [{"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "40 mm/s", "passes": 6,
                          "pads": ["firm-foam-150"], "liquids": ["polish"]},
                         {"machine": "rotary-1000", "speed": 180, "force": 40, "arm_speed": 0.04}],
            "pads": ["firm-foam-150", "wool-150"], "liquids": ["polish", "p2000"],
            "gauge": {"repeatability": "0.8 um", "readings": 3}})")},
        {PresetKind::record, json::parse(R"({
            "kind": "record", "name": "All", "note": "n", "kit": "workshop",
            "target": {"share": "90 %", "finish": "full", "chance": 0.7, "reserve": "20 um", "keep_chance": "99 %"},
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
            "defects": "light", "technique": "polish-da-15", "grid": "4 mm", "air": "25 C", "hands": 2, "seed": 3,
            "reserve": "12 um", "cut_sd": "20 %", "design": {"kind": "sobol", "points": 8, "seed": 2},
            "factors": [{"name": "press", "of": "technique", "at": "/force", "from": "30 N", "to": "60 N", "scale": "log", "levels": 3},
                        {"of": "technique", "at": "/passes", "values": [2, 4]}]})")},
    };
    return documents;
}

const json& full_document(PresetKind kind) {
    return std::ranges::find(full_documents(), kind, &std::pair<PresetKind, json>::first)->second;
}

} // namespace

// ---- one description, four uses ---------------------------------------------------------------------

namespace {

/// Calls `change` with a copy of the document for every place in it: the copy, the parent's pointer, the key.
void for_each_place(const json& document,
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

bool accepted(const std::function<void()>& check) {
    try {
        check();
    } catch (const InputError&) {
        return false;
    }
    return true;
}

void erase(json& document, const json::json_pointer& place) {
    json& parent = document[place.parent_pointer()];
    if (parent.is_object()) parent.erase(place.back());
    else parent.erase(static_cast<std::size_t>(std::stoul(place.back())));
}

} // namespace

TEST_CASE("reader and schema take and refuse the same documents, whatever is changed in them") {
    int tried = 0, refused = 0;
    // within_range false: the change may have put text out of range, which a schema's pattern cannot see.
    const auto compare = [&](PresetKind kind, const json& document, const std::string& change,
                             bool within_range = true) {
        const bool by_reader = accepted([&] { read_form(form_of(kind), document, {"test.json", ""}); });
        const bool by_schema = accepted([&] { hold_to_schema(kind, document, "test.json"); });
        ++tried;
        refused += by_reader ? 0 : 1;
        if (by_reader != by_schema && (within_range || by_reader))
            FAIL_CHECK(name_of(kind) << ": " << change << ": reader " << (by_reader ? "takes" : "refuses")
                                     << ", schema " << (by_schema ? "takes" : "refuses"));
    };
    const std::vector<json> intruders{nullptr,
                                      true,
                                      -1e9,
                                      1e9,
                                      0,
                                      3,
                                      0.5,
                                      "",
                                      "15",
                                      "15 furlongs",
                                      "1 mm",
                                      "rotary",
                                      "line",
                                      "level",
                                      json::array(),
                                      json::object(),
                                      json::array({1, 2}),
                                      json{{"all", "1 mm"}}};
    for (const auto& [kind, document] : full_documents()) {
        compare(kind, document, "unchanged");
        for_each_place(document, [&, kind = kind](json& copy, const json::json_pointer& place) {
            erase(copy, place);
            compare(kind, copy, place.to_string() + " taken out");
        });
        for (const json& intruder : intruders) {
            const bool text = intruder.is_string();
            for_each_place(document, [&, kind = kind](json& copy, const json::json_pointer& place) {
                copy[place] = intruder;
                compare(kind, copy, place.to_string() + " = " + intruder.dump(), !text);
            });
        }
        for_each_place(document, [&, kind = kind](json& copy, const json::json_pointer& place) {
            if (!copy[place].is_object()) return;
            copy[place]["surprise"] = 1;
            compare(kind, copy, place.to_string() + " with a strange key");
        });
        for (const char* key : {"throw", "gear_ratio", "bearing", "breakdown", "working_time", "line",
                                "section", "mesh", "outline"}) {
            json copy = document;
            copy[key] = "1 mm";
            compare(kind, copy, std::string(key) + " added", false);
        }
    }
    json panel = full_document(PresetKind::panel);
    panel["mesh"] = {{"file", "plate.obj"}};
    compare(PresetKind::panel, panel, "an outline and a mesh");
    panel.erase("outline");
    compare(PresetKind::panel, panel, "a mesh with an outline's features");
    for (const char* feature : {"holes", "crown", "body_lines", "recesses", "rolled_edges"})
        panel.erase(feature);
    compare(PresetKind::panel, panel, "a mesh alone");
    // So that the comparison cannot go quiet.
    CHECK(tried > 2000);
    CHECK(refused > tried / 2);
    CHECK(refused < tried);
}

// ---- the presets that come with the program ---------------------------------------------------------

TEST_CASE("every preset reads, has a note and can be asked for by its id") {
    for (PresetKind kind : all_preset_kinds()) {
        INFO(folder_of(kind));
        for (const Listing& listing : nonempty(presets().list(kind))) {
            INFO(folder_of(kind) << " " << listing.id);
            CHECK(!listing.name.empty());
            CHECK(!listing.note.empty());
            CHECK(!listing.summary.empty());
            CHECK_NOTHROW(presets().file_of(kind, listing.id));
        }
    }
}

TEST_CASE("every technique goes with its machine, pad and liquid, and every panel with its substrate") {
    for (const Listing& listing : nonempty(presets().list(PresetKind::technique))) {
        INFO(listing.id);
        CHECK_NOTHROW(resolve(presets(), listing.id));
    }
    for (const Listing& listing : nonempty(presets().list(PresetKind::panel))) {
        INFO(listing.id);
        CHECK_NOTHROW(presets().substrate(presets().panel(listing.id).substrate));
    }
}

TEST_CASE("the presets have what the trade has") {
    const auto ids = [](PresetKind kind) {
        std::set<std::string> all;
        for (const Listing& listing : presets().list(kind)) all.insert(listing.id);
        return all;
    };
    const auto has = [](const std::set<std::string>& all, const std::set<std::string>& wanted) {
        return std::ranges::includes(all, wanted);
    };
    CHECK(has(ids(PresetKind::machine),
              {"rotary-1000", "da-8", "da-12", "da-15", "da-21", "gear-8", "rotary-mini", "da-mini-12"}));
    for (const char* pad : {"wool", "microfibre-cutting", "firm-foam", "medium-foam", "soft-foam"})
        for (const char* size : {"-75", "-125", "-150"})
            CHECK(has(ids(PresetKind::pad), {std::string(pad) + size}));
    CHECK(has(ids(PresetKind::liquid), {"cutting-compound", "medium-polish", "polish", "finishing-polish",
                                        "p1500", "p2000", "p2500", "p3000"}));
    CHECK(has(ids(PresetKind::paint), {"soft", "typical", "hard", "thick-repaint", "old-thin"}));
    CHECK(has(ids(PresetKind::substrate), {"steel", "aluminium", "plastic"}));
    CHECK(has(ids(PresetKind::defects), {"light", "moderate", "severe"}));
    CHECK(has(ids(PresetKind::kit), {"workshop"}));
    CHECK(ids(PresetKind::technique).size() >= 8);
    const Technique mistake = presets().technique("edge-overrun");
    CHECK(mistake.hold_back_m == Approx(-presets().pad(mistake.pad).radius_m)); // the centre on the edge
    CHECK(mistake.tilt_rad > 0);
}

// ---- values into structs ----------------------------------------------------------------------------

TEST_CASE("a machine reads to SI") {
    const Machine machine = presets().machine("da-15");
    CHECK(machine.kind == MachineKind::free_spinning);
    CHECK(machine.throw_m == 0.015);
    CHECK(machine.speed_min_rad_s == Approx(2000 * per_min));
    CHECK(machine.speed_max_rad_s == Approx(4800 * per_min));
    CHECK(machine.bearing_torque_nm == 0.1);
    CHECK(machine.bearing_drag_nms == 1e-5);
    CHECK(machine.spin_inertia_kgm2 == Approx(2.5e-4));
    CHECK(machine.pad_min_m == 0.125);
    CHECK(machine.pad_max_m == 0.15);
    CHECK(machine.power_w == 900);
    CHECK(machine.mass_kg == 2.6);

    const Machine geared = presets().machine("gear-8");
    CHECK(geared.kind == MachineKind::gear_driven);
    CHECK(geared.gear_ratio == -0.09);
    CHECK(geared.bearing_torque_nm == 0);

    const Machine rotary = presets().machine("rotary-1000");
    CHECK(rotary.kind == MachineKind::rotary);
    CHECK(rotary.throw_m == 0);
    CHECK(rotary.spin_inertia_kgm2 == 0);
}

TEST_CASE("a pad reads to SI, one for each of its sizes") {
    const Pad pad = presets().pad("firm-foam-150");
    CHECK(pad.name == "Firm foam 150 mm");
    CHECK(pad.material == "firm foam");
    CHECK(pad.radius_m == 0.075);
    CHECK(pad.thickness_m == 0.025);
    CHECK(pad.foam.modulus_pa == 75e3);
    CHECK(pad.foam.plateau_pa == 7e3);
    CHECK(pad.foam.densification_strain == 0.8);
    CHECK(pad.foam.poisson == 0.2);
    CHECK(pad.loss_factor == 0.4);
    CHECK(pad.friction == 0.36);
    CHECK(pad.cut_factor == 1.1);
    CHECK(pad.capacity_m == Approx(9e-6));
    CHECK(pad.area_density_kg_m2 == 1.4);
    CHECK(presets().pad("firm-foam-75").thickness_m == 0.02);
    CHECK(read_pads(preset(PresetKind::pad, "wool"), "wool.json").size() == 3);
}

TEST_CASE("a liquid and a paper read to SI") {
    const Liquid polish = presets().liquid("polish");
    CHECK_FALSE(polish.paper);
    CHECK(polish.abrasive_start_m == Approx(2.5e-6));
    CHECK(polish.abrasive_end_m == Approx(0.8e-6));
    CHECK(polish.breakdown_j_m2 == 400e3);
    CHECK(polish.working_time_s == 330);
    CHECK(polish.cut_per_size_pa_m > 0);
    CHECK(polish.friction_factor == 1);

    const Liquid paper = presets().liquid("p2000");
    CHECK(paper.paper);
    CHECK(paper.abrasive_start_m == Approx(10.3e-6));
    CHECK(paper.abrasive_end_m == paper.abrasive_start_m); // left out: it does not break down
    CHECK(paper.breakdown_j_m2 == 0);
    CHECK(paper.working_time_s == 0);
    CHECK(paper.friction_factor == 1.2);
}

TEST_CASE("a paint and a substrate read to SI") {
    const Paint paint = presets().paint("old-thin");
    CHECK(paint.clear_m == 22e-6);
    CHECK(paint.base_m == 14e-6);
    CHECK(paint.primer_m == 25e-6);
    CHECK(paint.ecoat_m == 18e-6);
    CHECK(paint.thinning == 0.35);
    CHECK(paint.thinning_length_m == 0.006);
    CHECK(paint.softness == 0.8);
    CHECK(paint.softness_sd == 0.35);
    CHECK(paint.spread == 0.1);          // what holds where a file says nothing
    CHECK(paint.softening.from_c == 60); // what a paint without the key gets
    CHECK(paint.softening.doubling_k == 20);

    const Substrate plastic = presets().substrate("plastic");
    CHECK(plastic.thickness_m == 0.003);
    CHECK(plastic.density_kg_m3 == 1000);
    CHECK(plastic.heat_capacity_j_kgk == 1750);
    CHECK(plastic.conductivity_w_mk == 0.22);
    CHECK(plastic.polymer);
    CHECK_FALSE(presets().substrate("steel").polymer);
}

TEST_CASE("a panel's features read to SI, with names for the edges that have none") {
    const PanelSpec spec = read_panel(full_document(PresetKind::panel), "plate.json");
    CHECK(spec.name == "Plate");
    CHECK(spec.substrate == "steel");
    const auto& features = std::get<Features>(spec.shape);
    REQUIRE(features.outline.size() == 4);
    CHECK(features.outline[0].radius_m == 0.03);
    CHECK(features.outline[0].edge == "bottom");
    CHECK(features.outline[1].edge == "edge 2");
    CHECK(features.outline[1].radius_m == 0);
    CHECK(features.outline[2].at.x == 0.6);
    CHECK(features.outline[2].at.y == 0.5);
    REQUIRE(features.holes.size() == 1);
    CHECK(features.holes[0][0].edge == "window");
    CHECK(features.holes[0][1].edge == "sill");
    CHECK(features.radius_u_m == 6);
    CHECK(features.radius_v_m == -2.5);
    REQUIRE(features.body_lines.size() == 1);
    CHECK(features.body_lines[0].name == "waist");
    CHECK(features.body_lines[0].points[1].y == 0.12);
    CHECK(features.body_lines[0].height_m == 0.006);
    CHECK(features.body_lines[0].crest_radius_m == 0.008);
    CHECK(features.body_lines[0].flank_m == 0.045);
    CHECK(features.body_lines[0].end_fade_m == 0.06);
    REQUIRE(features.recesses.size() == 1);
    CHECK(features.recesses[0].name == "handle");
    CHECK(features.recesses[0].loop[2].radius_m == 0.009);
    CHECK(features.recesses[0].depth_m == 0.012);
    CHECK(features.recesses[0].wall_m == 0.015);
    REQUIRE(features.rolled_edges.size() == 1);
    CHECK(features.rolled_edges[0].edge == "edge 2");
    CHECK(features.rolled_edges[0].radius_m == 0.02);
    CHECK(features.rolled_edges[0].turn_rad == Approx(40 * deg));
}

TEST_CASE("a panel's image or mesh is looked for beside the panel's file") {
    const ScratchFolder folder;
    write_text(folder / "shapes/door.png", "not looked into here");
    write_text(folder / "shapes/door.obj", "not looked into here");
    const std::string file = (folder / "door.json").string();
    json document{{"kind", "panel"}, {"name", "Door"}, {"substrate", "steel"}};

    document["height_map"] = {{"file", "shapes/door.png"}, {"pixel", "1 mm"}, {"full_scale", "65 mm"}};
    const auto map = std::get<HeightMap>(read_panel(document, file).shape);
    CHECK(map.png == folder / "shapes/door.png");
    CHECK(map.pixel_m == 0.001);
    CHECK(map.full_scale_m == 0.065);

    document["mesh"] = {{"file", "shapes/door.obj"}};
    const InputError both = refusal([&] { read_panel(document, file); });
    CHECK(both.found() == "the keys 'height_map' and 'mesh' together");
    CHECK(both.allowed() == "exactly one of 'outline', 'height_map', 'mesh'");

    document.erase("height_map");
    const auto mesh = std::get<Mesh>(read_panel(document, file).shape);
    CHECK(mesh.file == folder / "shapes/door.obj");
    CHECK(mesh.unit_m == 0.001);

    document["mesh"]["file"] = "shapes/none.obj";
    CHECK(refusal([&] { read_panel(document, file); }).place() == "/mesh/file");
    document.erase("mesh");
    CHECK(refusal([&] { read_panel(document, file); }).found() == "none of these keys");
}

TEST_CASE("a technique reads to SI") {
    const Technique technique = read_technique(full_document(PresetKind::technique), "all.json");
    CHECK(technique.pattern == Pattern::spiral);
    CHECK(technique.force_n == 45);
    CHECK(technique.speed_rad_s == Approx(4500 * per_min));
    CHECK(technique.arm_speed_m_s == 0.04);
    CHECK(technique.arm_acceleration_m_s2 == 2);
    CHECK(technique.overlap == 0.4);
    CHECK(technique.passes == 6);
    CHECK_FALSE(technique.crossed);
    CHECK(technique.hold_back_m == 0.005);
    CHECK(technique.hold_back_edge_m == std::map<std::string, double>{{"wheel arch", -0.075}});
    CHECK(technique.tape_m == 0.003);
    CHECK(technique.tape_edge_m == std::map<std::string, double>{{"wheel arch", 0.012}});
    CHECK(technique.tilt_rad == Approx(3 * deg));
    CHECK(technique.tilt_toward_rad == Approx(90 * deg));
    CHECK(technique.hand_stiffness_nm_rad == Approx(1 / deg));
    REQUIRE(technique.section_centre.has_value());
    CHECK(technique.section_centre->y == 0.25);
    CHECK(technique.section_size.y == 0.4);
    CHECK(technique.recharge_passes == 2);
    CHECK(technique.hand.force == 0.08);
    CHECK(technique.hand.arm_speed == 0.1);
    CHECK(technique.hand.tilt_rad == Approx(0.5 * deg));
    CHECK(technique.hand.spacing_m == 0.005);
    CHECK(technique.hand.correlation_s == 2);
}

TEST_CASE("a hand is level, locked or of a stiffness") {
    json document = full_document(PresetKind::technique);
    document["hand_stiffness"] = "level";
    CHECK(read_technique(document, "t.json").hand_stiffness_nm_rad == 0);
    document["hand_stiffness"] = "locked";
    CHECK(std::isinf(read_technique(document, "t.json").hand_stiffness_nm_rad));
    document["hand_stiffness"] = 12;
    CHECK(read_technique(document, "t.json").hand_stiffness_nm_rad == 12);
    document["hand_stiffness"] = "loose";
    const InputError error = refusal([&] { read_technique(document, "t.json"); });
    CHECK(error.place() == "/hand_stiffness");
    CHECK_THAT(error.allowed(), Contains("\"level\", \"locked\"") && Contains("N m/rad"));
}

TEST_CASE("what a technique leaves out is what the program takes for granted") {
    const json document{{"kind", "technique"},    {"name", "T"},           {"machine", "da-15"},
                        {"pad", "firm-foam-150"}, {"liquid", "polish"},    {"force", 45},
                        {"speed", "4500/min"},    {"arm_speed", "40 mm/s"}};
    const Technique read = read_technique(document, "t.json");
    const Technique plain;
    CHECK(read.pattern == plain.pattern);
    CHECK(read.arm_acceleration_m_s2 == plain.arm_acceleration_m_s2);
    CHECK(read.overlap == plain.overlap);
    CHECK(read.passes == plain.passes);
    CHECK(read.crossed == plain.crossed);
    CHECK(read.hold_back_m == plain.hold_back_m);
    CHECK(read.hold_back_edge_m.empty());
    CHECK(read.tape_m == 0);
    CHECK(read.tape_edge_m.empty());
    CHECK(read.tilt_rad == plain.tilt_rad);
    CHECK(read.tilt_toward_rad == plain.tilt_toward_rad);
    CHECK(read.hand_stiffness_nm_rad == plain.hand_stiffness_nm_rad);
    CHECK(!read.section_centre.has_value());
    CHECK(read.recharge_passes == plain.recharge_passes);
    CHECK(read.hand.force == 0);
    CHECK(read.hand.correlation_s == plain.hand.correlation_s);
}

// ---- bad input --------------------------------------------------------------------------------------

TEST_CASE("defects are read in words, and a number takes the place of the words' own") {
    const Defects defects = read_defects(full_document(PresetKind::defects), "all.json");
    REQUIRE(defects.marks.size() == 2);
    const MarkPopulation& swirls = defects.marks[0];
    CHECK(swirls.kind == MarkKind::swirls);
    CHECK(swirls.depth_um == Approx(0.4));
    CHECK(swirls.depth_sd == Approx(0.35));
    CHECK(swirls.width_m == Approx(3e-6));
    CHECK(swirls.length_m == Approx(0.03));
    CHECK(swirls.length_per_area() == Approx(600));
    CHECK(*swirls.direction_rad == Approx(pi / 2));
    REQUIRE(swirls.region.size() == 3);
    CHECK(swirls.region[2].y == Approx(0.2));
    const MarkPopulation& spots = defects.marks[1];
    const MarkPopulation by_words = population_of({MarkKind::water_spots, Visible::glaring, false});
    CHECK(spots.per_m2 == 70);
    CHECK(spots.depth_um == Approx(by_words.depth_um));
    CHECK(spots.width_m == by_words.width_m);
    CHECK_FALSE(spots.direction_rad);

    json longer = full_document(PresetKind::defects); // the same metres of fewer, longer lines
    longer["/marks/0/length"_json_pointer] = "60 mm";
    const MarkPopulation fewer = read_defects(longer, "all.json").marks[0];
    CHECK(fewer.per_m2 == Approx(swirls.per_m2 / 2));
    CHECK(fewer.length_per_area() == Approx(600));
}

TEST_CASE("a bad value is refused with its place, what was found and what is allowed") {
    struct Row {
        PresetKind kind;
        const char* patch; ///< JSON Patch (RFC 6902) that spoils the document
        const char *place, *found, *allowed;
    };
    const auto kind_of = [](const Row& row) { return row.kind; };
    const std::vector<Row> rows{
        {PresetKind::pad, R"([{"op":"replace","path":"/kind","value":"machine"}])", "/kind", "\"machine\"",
         "\"kind\": \"pad\""},
        {PresetKind::pad, R"([{"op":"remove","path":"/kind"}])", "", "no key 'kind'", "\"kind\": \"pad\""},
        {PresetKind::pad, R"([{"op":"add","path":"/sizes/0/thicknes","value":"25 mm"}])", "/sizes/0/thicknes",
         "unknown key 'thicknes'", "did you mean 'thickness'? known keys: diameter, thickness"},
        {PresetKind::pad, R"([{"op":"add","path":"/a~1b~0c","value":1}])", "/a~1b~0c", "unknown key 'a/b~c'",
         "known keys: "},
        {PresetKind::pad, R"([{"op":"remove","path":"/foam/modulus"}])", "/foam", "no key 'modulus'",
         "1 kPa to 10 MPa"},
        {PresetKind::pad, R"([{"op":"replace","path":"/foam","value":3}])", "/foam", "3",
         "an object with the keys modulus, plateau"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes","value":[]}])", "/sizes", "a list of 0",
         "a list of 1 or more"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":"15"}])",
         "/sizes/1/thickness", "\"15\" without a unit",
         "1 mm to 100 mm, as text with one of nm, µm, mm, cm, m, mil, in, or as a number in m"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":"15 kPa"}])",
         "/sizes/1/thickness", "\"15 kPa\", a pressure, not a length", "1 mm to 100 mm"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":"1 m"}])",
         "/sizes/1/thickness", "\"1 m\"", "1 mm to 100 mm"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/thickness","value":25}])",
         "/sizes/1/thickness", "25 (25 m)", "1 mm to 100 mm"},
        {PresetKind::pad, R"([{"op":"replace","path":"/friction","value":"nan"}])", "/friction",
         "\"nan\", which does not start with a number", "0.01 to 1.5"},
        {PresetKind::pad, R"([{"op":"replace","path":"/friction","value":null}])", "/friction", "null",
         "0.01 to 1.5"},
        {PresetKind::pad, R"([{"op":"replace","path":"/foam/plateau","value":"0 kPa"}])", "/foam/plateau",
         "\"0 kPa\"", "0.1 kPa to 1 MPa"},
        {PresetKind::pad, R"([{"op":"replace","path":"/foam/plateau","value":"70 kPa"}])", "/foam/plateau",
         "70 kPa", "60 kPa"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/diameter","value":"75 mm"}])",
         "/sizes/1/diameter", "75 mm a second time", "each diameter once"},
        {PresetKind::pad, R"([{"op":"replace","path":"/sizes/1/diameter","value":"75.5 mm"}])",
         "/sizes/1/diameter", "75.5 mm", "whole number"},
        {PresetKind::machine, R"([{"op":"replace","path":"/motion","value":"rotry"}])", "/motion",
         "\"rotry\"", "did you mean 'rotary'?"},
        {PresetKind::machine, R"([{"op":"replace","path":"/motion","value":"rotary"}])", "/throw",
         "'throw' where 'motion' is \"rotary\"",
         "only where 'motion' is \"free-spinning\" or \"gear-driven\""},
        {PresetKind::machine, R"([{"op":"add","path":"/gear_ratio","value":-0.1}])", "/gear_ratio",
         "'gear_ratio' where 'motion' is \"free-spinning\"", "only where 'motion' is \"gear-driven\""},
        {PresetKind::machine, R"([{"op":"replace","path":"/speed/min","value":"5000/min"}])", "/speed",
         "min 5000/min above max 4800/min", "min up to max"},
        {PresetKind::machine, R"([{"op":"replace","path":"/pads/min","value":"180 mm"}])", "/pads",
         "min 180 mm above max 150 mm", "min up to max"},
        {PresetKind::liquid, R"([{"op":"replace","path":"/abrasive/end","value":"3 um"}])", "/abrasive/end",
         "3 µm, coarser than the start", "up to start, 2.5 µm"},
        {PresetKind::liquid, R"([{"op":"remove","path":"/breakdown"}])", "", "no key 'breakdown'", "kJ/m²"},
        {PresetKind::liquid, R"([{"op":"replace","path":"/type","value":"paper"}])", "/breakdown",
         "'breakdown' where 'type' is \"paper\"", "\"liquid\""},
        {PresetKind::liquid, R"([{"op":"replace","path":"/cut_per_size","value":"4e-6"}])", "/cut_per_size",
         "\"4e-6\"", "a number, 1e-09 to 0.01 1/(Pa m)"},
        {PresetKind::paint, R"([{"op":"replace","path":"/thinning/share","value":"120 %"}])",
         "/thinning/share", "\"120 %\"", "0 % to 95 %"},
        {PresetKind::substrate, R"([{"op":"replace","path":"/polymer","value":"no"}])", "/polymer", "\"no\"",
         "true or false"},
        {PresetKind::substrate, R"([{"op":"replace","path":"/name","value":""}])", "/name", "\"\"",
         "text that is not empty"},
        {PresetKind::panel, R"([{"op":"remove","path":"/outline/3"},{"op":"remove","path":"/outline/2"}])",
         "/outline", "a list of 2", "a list of 3 or more"},
        {PresetKind::panel, R"([{"op":"replace","path":"/outline/0/at","value":[1]}])", "/outline/0/at",
         "[1]", "a point [u, v]"},
        {PresetKind::panel, R"([{"op":"replace","path":"/outline/0/at/1","value":"1 km"}])",
         "/outline/0/at/1", "unknown unit \"km\"", "-10 m to 10 m"},
        {PresetKind::panel, R"([{"op":"replace","path":"/crown/u","value":"6 mm"}])", "/crown/u", "6 mm",
         "0 for flat, or 100 mm or more"},
        {PresetKind::panel, R"([{"op":"replace","path":"/rolled_edges/0/edge","value":"botom"}])",
         "/rolled_edges/0/edge", "no edge \"botom\"", "did you mean 'bottom'?"},
        {PresetKind::technique, R"([{"op":"replace","path":"/passes","value":2.5}])", "/passes", "2.5",
         "a whole number, 1 to 1000"},
        {PresetKind::technique, R"([{"op":"replace","path":"/passes","value":0}])", "/passes", "0",
         "a whole number, 1 to 1000"},
        {PresetKind::technique, R"([{"op":"replace","path":"/hold_back/wheel arch","value":"-5"}])",
         "/hold_back/wheel arch", "\"-5\" without a unit", "-300 mm to 1 m"},
        {PresetKind::technique, R"([{"op":"replace","path":"/hold_back","value":true}])", "/hold_back",
         "true", "or an object of names of edges, body lines, rolls or rims"},
        {PresetKind::technique, R"([{"op":"replace","path":"/pattern","value":"line"}])", "/section",
         "'section' where 'pattern' is \"line\"", "\"raster\" or \"spiral\""},
        {PresetKind::technique,
         R"([{"op":"replace","path":"/pattern","value":"line"},{"op":"remove","path":"/section"}])", "",
         "no key 'line'", "from, to"},
        {PresetKind::technique,
         R"([{"op":"replace","path":"/pattern","value":"line"}, {"op":"remove","path":"/section"},
             {"op":"add","path":"/line","value":{"from":[0,0],"to":[0,"0 mm"]}}])",
         "/line", "a line that ends where it starts", "two different points"},
        {PresetKind::defects,
         R"([{"op":"replace","path":"/marks/0/kind","value":"haze"},
             {"op":"replace","path":"/marks/0/fingernail","value":true}])",
         "/marks/0/fingernail", "haze that catches a fingernail", "scratches"},
        {PresetKind::defects, R"([{"op":"add","path":"/marks/0/per_area","value":3}])", "/marks/0/per_area",
         "'per_area' where 'kind' is \"wash swirls\"", "\"stone chips\""},
        {PresetKind::defects, R"([{"op":"replace","path":"/marks/1/visible","value":"dazzling"}])",
         "/marks/1/visible", "\"dazzling\"", "faint, plain, glaring"},
        {PresetKind::technique, R"([{"op":"replace","path":"/hand/force","value":"8 N"}])", "/hand/force",
         "\"8 N\", a force, not a pure number", "0 % to 100 %"},
    };
    for (const Row& row : rows) {
        INFO(row.patch);
        const json spoilt = full_document(kind_of(row)).patch(json::parse(row.patch));
        const InputError error = refusal([&] { read_any(row.kind, spoilt, "folder/test.json"); });
        CHECK(error.file() == "folder/test.json");
        CHECK(error.place() == row.place);
        CHECK_THAT(error.found(), Contains(row.found));
        CHECK_THAT(error.allowed(), Contains(row.allowed));
    }
}

TEST_CASE("text that is not JSON is refused by line and column") {
    struct Row {
        const char *text, *place, *found;
    };
    const std::vector<Row> rows{
        {"{\n  \"kind\": \"pad\",\n  \"name\": }", "line 3, column 11",
         "text that is not JSON (unexpected '}'"},
        {"{\"a\": 1,}", "line 1, column 9", "text that is not JSON (unexpected '}'"},
        {"", "line 1, column 1", "unexpected end of input"},
        {"{\"a\": NaN}", "line 1, column 7", "invalid literal"},
        {"{\n\"a\": 1e999}", "line 2, column 10", "the number 1e999, too large to be kept"},
        {"{\"a\": 1} 2", "line 1, column 10", "text that is not JSON"},
    };
    for (const Row& row : rows) {
        INFO(row.text);
        const InputError error = refusal([&] { parse_json(row.text, "bad.json"); });
        CHECK(error.file() == "bad.json");
        CHECK(error.place() == row.place);
        CHECK_THAT(error.found(), Contains(row.found));
    }
}

TEST_CASE("a key given twice is refused, not overwritten") {
    const InputError error =
        refusal([] { parse_json(R"({"list": [0, {"foam": {"a": 1, "a": 2}}]})", "twice.json"); });
    CHECK(error.place() == "/list/1/foam/a");
    CHECK(error.found() == "the key 'a' a second time");
    CHECK_NOTHROW(parse_json(R"([{"a": 1}, {"a": 2}, {"b": {"a": 3}}])", "fine.json"));
}

TEST_CASE("JSON is read as the library itself reads it") {
    const std::string text =
        R"({"a": [1, -2, 3.5e2, true, null, "\u00b5m"],
        "b": {"c": {}, "d": [[], [[1]]]}, "e": 18446744073709551615})";
    CHECK(parse_json(text, "x.json") == json::parse(text));
}

TEST_CASE("a file that is not there, no file or nested without end is refused") {
    const ScratchFolder folder;
    CHECK(refusal([&] { load_json(folder / "none.json"); }).found() == "no such file");
    CHECK(refusal([&] { load_json(folder.path); }).found() == "something that is not a plain file");
    write_text(folder / "deep.json", std::string(100000, '['));
    CHECK(refusal([&] { load_json(folder / "deep.json"); }).found() == "values nested more than 64 deep");
    write_text(folder / "large.json", std::string((4U << 20U) + 1, ' '));
    CHECK_THAT(refusal([&] { load_json(folder / "large.json"); }).found(),
               Contains("a file of 4194305 bytes"));
}

TEST_CASE("a long value is cut in a message, between characters") {
    const std::string cut = shown(json(std::string("x") + [] {
        std::string many;
        for (int i = 0; i < 100; ++i) many += "µ";
        return many;
    }()));
    CHECK(cut.size() <= 63);
    CHECK_NOTHROW(json(cut).dump()); // throws on broken UTF-8
    CHECK_THAT(cut, Catch::Matchers::EndsWith("µ..."));
}

// ---- the library ------------------------------------------------------------------------------------

TEST_CASE("a name that does not exist brings the nearest and the list") {
    const InputError machine = refusal([] { presets().machine("da15"); });
    CHECK(machine.found() == "no machine \"da15\"");
    CHECK_THAT(machine.allowed(),
               Contains("did you mean 'da-15'?") && Contains("known machines: da-8, da-12, da-15, da-21,"));
    const InputError pad = refusal([] { presets().pad("frm-foam-150"); });
    CHECK_THAT(pad.allowed(),
               Contains("did you mean 'firm-foam-150'?") && Contains("wool-75, wool-125, wool-150"));
    CHECK(refusal([] { presets().pad("firm-foam"); }).allowed() ==
          "firm-foam-75, firm-foam-125, firm-foam-150");
    CHECK(refusal([] { presets().pad("firm-foam-80"); }).found() == "no size of 80 mm");
    CHECK_THAT(refusal([] { presets().paint("../paints/none"); }).allowed(), Contains("known paints: hard"));
    CHECK_THAT(refusal([] { preset_kind("machne"); }).allowed(), Contains("did you mean 'machines'?"));
}

TEST_CASE("a path leads to a file anywhere") {
    const ScratchFolder folder;
    json pad = preset(PresetKind::pad, "wool");
    write_text(folder / "mine.json", pad.dump());
    CHECK(presets().pad((folder / "mine.json").string() + "#125").radius_m == 0.0625);
    CHECK_THAT(refusal([&] { presets().pad((folder / "mine.json").string()); }).allowed(),
               Contains("mine.json#75"));
    pad["sizes"].erase(2);
    pad["sizes"].erase(1);
    write_text(folder / "mine.json", pad.dump());
    CHECK(presets().pad((folder / "mine.json").string()).radius_m == 0.0375);
}

TEST_CASE("a technique's paths are taken from its own folder") {
    const ScratchFolder folder;
    json technique = preset(PresetKind::technique, "polish-da-15");
    json liquid = preset(PresetKind::liquid, "polish");
    liquid["name"] = "Own polish";
    technique["liquid"] = "liquids/own.json";
    write_text(folder / "liquids/own.json", liquid.dump());
    write_text(folder / "own.json", technique.dump());
    CHECK(resolve(presets(), (folder / "own.json").string()).liquid.name == "Own polish");
}

TEST_CASE("a mesh may be given as a panel by its path, an image may not") {
    const ScratchFolder folder;
    write_text(folder / "Plate.STL", "not looked into here");
    const PanelSpec spec = presets().panel((folder / "Plate.STL").string());
    CHECK(spec.name == "Plate");
    CHECK(spec.substrate == "steel");
    CHECK(std::get<Mesh>(spec.shape).unit_m == 0.001);
    CHECK(refusal([&] { presets().panel((folder / "none.obj").string()); }).found() == "no such file");
    CHECK_THAT(refusal([&] { presets().panel((folder / "plate.png").string()); }).allowed(),
               Contains("\"height_map\"") && Contains("\"full_scale\""));
}

TEST_CASE("a list is sorted, with numbers in their order and pads once for each size") {
    std::vector<std::string> ids;
    for (const Listing& listing : presets().list(PresetKind::machine)) ids.push_back(listing.id);
    CHECK(ids == std::vector<std::string>{"da-8", "da-12", "da-15", "da-21", "da-mini-12", "gear-8",
                                          "rotary-1000", "rotary-mini"});
    const auto pads = presets().list(PresetKind::pad);
    CHECK(pads.size() == 15);
    CHECK(pads.front().id == "firm-foam-75");
    CHECK(pads.front().name == "Firm foam 75 mm");
}

TEST_CASE("the environment says where the presets are") {
    const ScratchFolder folder;
    write_text(folder / "paints/own.json", preset(PresetKind::paint, "hard").dump());
    const Environment set("SPARECOAT_PRESETS", folder.path.string());
    CHECK(Library::standard().list(PresetKind::paint).front().id == "own");
    CHECK(refusal([] { Library::standard().list(PresetKind::pad); }).found() == "no such folder");
    const Environment wrong("SPARECOAT_PRESETS", (folder / "none").string());
    CHECK_THAT(refusal([] { Library::standard(); }).allowed(), Contains("SPARECOAT_PRESETS"));
}

// ---- a technique with what it names -------------------------------------------------------------------

TEST_CASE("a technique is held to its machine") {
    const ScratchFolder folder;
    const std::string file = (folder / "t.json").string();
    const auto refused_with = [&](const char* key, const char* value) {
        json technique = preset(PresetKind::technique, "polish-da-15");
        technique[key] = value;
        write_text(file, technique.dump());
        const InputError error = refusal([&] { resolve(presets(), file); });
        CHECK(error.file() == file);
        return error;
    };
    const InputError pad = refused_with("pad", "medium-foam-75");
    CHECK(pad.place() == "/pad");
    CHECK(pad.found() == "\"medium-foam-75\", of 75 mm");
    CHECK(pad.allowed() == "a pad of 125 mm to 150 mm, which the machine da-15 takes");

    const InputError speed = refused_with("speed", "6000/min");
    CHECK(speed.place() == "/speed");
    CHECK(speed.found() == "6000/min");
    CHECK(speed.allowed() == "2000/min to 4800/min, the range of the machine da-15");

    const InputError unknown = refused_with("machine", "da-16");
    CHECK(unknown.place() == "/machine");
    CHECK(unknown.found() == "no machine \"da-16\"");
    CHECK_THAT(unknown.allowed(), Contains("did you mean 'da-12' or 'da-15'?"));
    CHECK(refused_with("liquid", "liquids/none.json").place() == "/liquid");

    json technique = preset(PresetKind::technique, "polish-da-15");
    technique["speed"] = "80 Hz"; // 4800/min, the machine's fastest, in another unit
    write_text(file, technique.dump());
    CHECK_NOTHROW(resolve(presets(), file));
}

// ---- nearest names --------------------------------------------------------------------------------------

TEST_CASE("the edit distance counts insertions, deletions, replacements and swaps") {
    CHECK(edit_distance("", "") == 0);
    CHECK(edit_distance("", "abc") == 3);
    CHECK(edit_distance("kitten", "sitting") == 3); // the textbook pair: two replacements, one insertion
    CHECK(edit_distance("wool", "wolo") == 1);
    CHECK(edit_distance("ca", "abc") == 3); // 2 if a swapped pair might be edited again
    CHECK(edit_distance("foam", "form") == edit_distance("form", "foam"));
}

TEST_CASE("nothing is suggested that is not near") {
    const std::vector<std::string> known{"speed", "force", "arm_speed"};
    CHECK(nearest_names("sped", known) == std::vector<std::string>{"speed"});
    CHECK(nearest_names("Force", known) == std::vector<std::string>{"force"});
    CHECK(nearest_names("arm", known) == std::vector<std::string>{"arm_speed"});
    CHECK(nearest_names("colour", known).empty());
    CHECK(nearest_names("", known).empty());
    CHECK(nearest_names(std::string(100000, 'x'), known).empty());
    CHECK(suggestion("colour", known, "known keys") == "known keys: speed, force, arm_speed");
}

// ---- tables against structs -----------------------------------------------------------------------------

TEST_CASE("a key that the form has and the program does not read is found out") {
    const FormPtr form = form::object(
        {form::needed("a", form::whole(0, 9), "read"), form::needed("b", form::whole(0, 9), "forgotten")});
    const json object{{"a", 1}, {"b", 2}};
    const Values values(std::get<ObjectForm>(form->is), object, {"f.json", ""});
    CHECK(values.whole("a") == 1);
    CHECK_THROWS_AS(values.done(), std::logic_error);
    CHECK(values.whole("b") == 2);
    CHECK_NOTHROW(values.done());
    CHECK_THROWS_AS(values.number("c"), std::logic_error);
}
