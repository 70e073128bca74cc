#include "library/record.hpp"
#include "formats/read_document.hpp"
#include "formats/whole_file.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::library {

namespace fs = std::filesystem;
using nlohmann::json;
using nlohmann::ordered_json;

namespace {

// ---- reading --------------------------------------------------------------------------------------

/// Between means of one spot in one unit there can be no such ratio.
constexpr double most_ratio = 3;

GaugePair fill_gauge(const Values& values) {
    GaugePair gauge;
    gauge.before_um = values.number("before") * 1e6;
    gauge.after_um = values.number("after") * 1e6;
    gauge.n_before = values.whole("n_before");
    gauge.n_after = values.whole("n_after");
    gauge.repeat_sd_um = values.number("repeatability") * 1e6;
    values.done();
    if (std::max(gauge.before_um, gauge.after_um) > most_ratio * std::min(gauge.before_um, gauge.after_um))
        values.place().at("after").refuse(
            fmt::format("{} after {}", print_in(gauge.after_um * 1e-6, Dim::length, "µm"),
                        print_in(gauge.before_um * 1e-6, Dim::length, "µm")),
            "two means of the same spots: is one of them in another unit, or the clear coat alone?");
    return gauge;
}

Try fill_try(const Values& values) {
    Try work;
    work.step = values.text("step");
    work.sets = values.whole("sets");
    work.note = values.text("note");
    if (values.has("seen")) {
        work.seen = values.text("seen");
        try {
            seen_share(*work.seen);
        } catch (const InputError& error) {
            values.place().at("seen").refuse(error.found(), error.allowed());
        }
    }
    if (values.has("gauge")) work.gauge = fill_gauge(values.object("gauge"));
    values.done();
    return work;
}

TapedSquare fill_square(const Values& values) {
    TapedSquare square;
    square.at = values.point("at");
    square.size = values.point("size");
    square.note = values.text("note");
    for (const Values& work : values.objects("tries")) square.tries.push_back(fill_try(work));
    values.done();
    return square;
}

bool overlap(const TapedSquare& a, const TapedSquare& b) {
    constexpr double touching_m = 1e-6; // tape beside tape
    const auto along = [](double apart_m, double one_m, double other_m) {
        return std::abs(apart_m) < 0.5 * (one_m + other_m) - touching_m;
    };
    return along(a.at.x - b.at.x, a.size.x, b.size.x) && along(a.at.y - b.at.y, a.size.y, b.size.y);
}

/// What is seen of a square is against how it was untouched, which ground of an earlier one is no more.
void hold_to_fresh_ground(const std::vector<TapedSquare>& earlier, const TapedSquare& square,
                          const Place& place) {
    for (std::size_t k = 0; k < earlier.size(); ++k)
        if (overlap(earlier[k], square))
            place.at("at").refuse(
                fmt::format("ground of square {}, which is not untouched any more", k + 1),
                "ground that was not worked yet; what goes on on a square is one more try there");
}

RecordedPanel fill_recorded_panel(const Values& values) {
    RecordedPanel panel;
    panel.panel = reference_in(values, "panel");
    panel.paint = reference_in(values, "paint");
    panel.defects = reference_in(values, "defects");
    if (values.has("readings"))
        panel.readings = beside(values.place().file, values.text("readings")).string();
    panel.clean = values.flag("clean");
    panel.note = values.text("note");
    for (const Values& entry : values.objects("squares")) {
        TapedSquare square = fill_square(entry);
        hold_to_fresh_ground(panel.squares, square, entry.place());
        panel.squares.push_back(std::move(square));
    }
    values.done();
    return panel;
}

double most_haze(const json& finish) {
    if (finish == "good") return good_finish_haze;
    if (finish == "full") return full_finish_haze;
    return finish.get<double>();
}

Target fill_target(const Values& values) {
    Target target;
    target.share = values.number("share");
    target.haze = most_haze(values.raw("finish"));
    target.chance = values.number("chance");
    target.reserve_um = values.number("reserve") * 1e6;
    target.keep_chance = values.number("keep_chance");
    values.done();
    return target;
}

SectionRecord fill_record(const Values& values) {
    SectionRecord record;
    record.file = values.place().file;
    record.name = values.text("name");
    record.kit = reference_in(values, "kit");
    if (values.has("target")) record.target = fill_target(values.object("target"));
    for (const Values& entry : values.objects("panels")) {
        RecordedPanel panel = fill_recorded_panel(entry);
        if (std::ranges::find(record.panels, panel.panel, &RecordedPanel::panel) != record.panels.end())
            entry.place().at("panel").refuse(fmt::format("\"{}\" a second time", panel.panel),
                                             "each panel once, with all its squares");
        record.panels.push_back(std::move(panel));
    }
    return record;
}

// ---- entering -------------------------------------------------------------------------------------

std::string millimetres(double metres) { return print_in(metres, Dim::length, "mm", 6); }
std::string micrometres(double um) { return print_in(um * 1e-6, Dim::length, "µm", 6); }
std::string percent(double share) { return percent_as_entered(share, 6); }

ordered_json point_json(Point2 p) { return {millimetres(p.x), millimetres(p.y)}; }

ordered_json gauge_json(const GaugePair& gauge) {
    return {{"before", micrometres(gauge.before_um)},
            {"n_before", gauge.n_before},
            {"after", micrometres(gauge.after_um)},
            {"n_after", gauge.n_after},
            {"repeatability", micrometres(gauge.repeat_sd_um)}};
}

ordered_json try_json(const Try& work) {
    ordered_json out{{"step", work.step}, {"sets", work.sets}};
    if (work.seen) out["seen"] = *work.seen;
    if (work.gauge) out["gauge"] = gauge_json(*work.gauge);
    if (!work.note.empty()) out["note"] = work.note;
    return out;
}

ordered_json square_json(const TapedSquare& square) {
    ordered_json out{{"at", point_json(square.at)}, {"size", point_json(square.size)}};
    if (!square.note.empty()) out["note"] = square.note;
    return out;
}

ordered_json& panel_entry(ordered_json& document, const std::string& panel) {
    ordered_json& panels = document["panels"];
    for (ordered_json& entry : panels)
        if (entry.value("panel", "") == panel) return entry;
    panels.push_back({{"panel", panel}});
    return panels.back();
}

/// A look goes to the last try of the last square.
ordered_json& last_try(ordered_json& panel) {
    ordered_json* square = panel.contains("squares") ? &panel["squares"].back() : nullptr;
    if (square == nullptr || !square->contains("tries"))
        throw InputError("", "--seen", "a look at a square that nothing was done on",
                         "--step with what was done, before it or together with it");
    return (*square)["tries"].back();
}

void look_again(ordered_json& work, const std::string& key, const ordered_json& value, bool correct) {
    if (work.contains(key) && !correct)
        throw InputError("", key == "seen" ? "--seen" : "--after",
                         fmt::format("a second look at the last try, which has {} on file",
                                     key == "seen" ? work[key].dump() : std::string("a gauge reading")),
                         "--step with what was done since, or --correct to put this in its place");
    work[key] = value;
}

} // namespace

SectionRecord read_record(const json& document, const std::string& file) {
    return read_document(PresetKind::record, document, file, fill_record);
}

SectionRecord load_record(const fs::path& file) { return read_record(load_json(file), file.string()); }

ordered_json load_record_json(const fs::path& file) {
    const std::string text = load_text(file);
    read_record(parse_json(text, file.string()), file.string()); // says what is wrong, a key twice included
    return ordered_json::parse(text);
}

ordered_json new_record(const std::string& name, const std::string& kit, const Target& target) {
    ordered_json finish = target.haze;
    if (target.haze == good_finish_haze) finish = "good";
    if (target.haze == full_finish_haze) finish = "full";
    return {{"kind", name_of(PresetKind::record)},
            {"name", name},
            {"kit", kit},
            {"target",
             {{"share", percent(target.share)},
              {"finish", finish},
              {"chance", percent(target.chance)},
              {"reserve", micrometres(target.reserve_um)},
              {"keep_chance", percent(target.keep_chance)}}},
            {"panels", ordered_json::array()}};
}

void enter(ordered_json& document, const RecordEntry& entry) {
    ordered_json& panel = panel_entry(document, entry.panel);
    if (entry.paint) panel["paint"] = *entry.paint;
    if (entry.defects) panel["defects"] = *entry.defects;
    if (entry.readings) panel["readings"] = *entry.readings;
    if (entry.clean) panel["clean"] = *entry.clean;
    if (entry.square) panel["squares"].push_back(square_json(*entry.square));
    if (entry.work) {
        if (!panel.contains("squares"))
            throw InputError("", "--step", "work on a panel without a taped square",
                             "--square with its middle");
        panel["squares"].back()["tries"].push_back(try_json(*entry.work));
    }
    if (entry.seen) look_again(last_try(panel), "seen", *entry.seen, entry.correct);
    if (entry.gauge) look_again(last_try(panel), "gauge", gauge_json(*entry.gauge), entry.correct);
}

void place_square(ordered_json& document, const std::string& panel, std::size_t square,
                  const TapedSquare& to) {
    ordered_json& taped = panel_entry(document, panel).at("squares").at(square);
    taped["at"] = point_json(to.at);
    taped["size"] = point_json(to.size);
}

void save_record(const fs::path& file, const ordered_json& document) {
    const std::string text = document.dump(2, ' ', false, json::error_handler_t::replace) + "\n";
    read_record(parse_json(text, file.string()), file.string());
    write_whole(file, text);
}

std::string path_from(const fs::path& folder, const fs::path& path) {
    // Made absolute first: of a relative path that exists and one that does not the library makes no relative
    // one.
    return fs::proximate(fs::absolute(path), fs::absolute(folder.empty() ? fs::path(".") : folder)).string();
}

std::string reference_from(const fs::path& folder, const std::string& reference) {
    if (!is_path(reference)) return reference;
    const std::string path = path_from(folder, reference);
    return is_path(path) ? path : "./" + path;
}

} // namespace sparecoat::library
