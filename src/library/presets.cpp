#include "library/presets.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "library/lesson.hpp"
#include "library/record.hpp"
#include "library/shop.hpp"
#include "library/sweep_design.hpp"
#include "units/text.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <optional>

namespace sparecoat::library {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

// ---- references -----------------------------------------------------------------------------------

/// A pad's reference taken apart: "firm-foam-150" or "my/pads/firm.json#150".
struct PadReference {
    std::string file; ///< stem or path
    std::optional<int> diameter_mm;
};

std::optional<int> whole_number(const std::string& text) {
    constexpr std::size_t most_digits = 4;
    if (text.empty() || text.size() > most_digits) return std::nullopt;
    if (text.find_first_not_of("0123456789") != std::string::npos) return std::nullopt;
    return std::stoi(text);
}

PadReference take_apart(const std::string& reference) {
    const auto mark = reference.rfind(is_path(reference) ? '#' : '-');
    if (mark == std::string::npos) return {reference, std::nullopt};
    const auto diameter_mm = whole_number(reference.substr(mark + 1));
    return diameter_mm ? PadReference{reference.substr(0, mark), diameter_mm}
                       : PadReference{reference, std::nullopt};
}

int diameter_mm(const Pad& pad) { return static_cast<int>(std::lround(2 * pad.radius_m / mm)); }

/// Text order, but runs of digits by their number: "da-8" before "da-12".
bool comes_before(std::string_view a, std::string_view b) {
    const auto digits = [](std::string_view text) {
        return std::min(text.find_first_not_of("0123456789"), text.size());
    };
    while (!a.empty() && !b.empty()) {
        const std::size_t run_a = digits(a), run_b = digits(b);
        if (run_a > 0 && run_b > 0) {
            if (run_a != run_b) return run_a < run_b;
            if (a.substr(0, run_a) != b.substr(0, run_b)) return a < b;
        } else if (a.front() != b.front()) {
            return a < b;
        }
        a.remove_prefix(std::max<std::size_t>(run_a, 1));
        b.remove_prefix(std::max<std::size_t>(run_b, 1));
    }
    return a.size() < b.size();
}

// ---- where the presets are ------------------------------------------------------------------------

fs::path folder_of_program() {
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error);
    return error ? fs::current_path(error) : program.parent_path();
}

fs::path standard_root() {
    if (const char* chosen = std::getenv("SPARECOAT_PRESETS"); chosen != nullptr && *chosen != '\0') {
        if (!fs::is_directory(chosen))
            throw InputError(chosen, "", "no such folder",
                             "the folder of the presets, in the environment variable SPARECOAT_PRESETS");
        return chosen;
    }
#ifdef SPARECOAT_PRESET_DIR
    if (fs::is_directory(SPARECOAT_PRESET_DIR)) return SPARECOAT_PRESET_DIR;
#endif
    return folder_of_program() / ".." / "share" / "sparecoat" / "presets";
}

// ---- summaries ------------------------------------------------------------------------------------

std::string length(double metres) { return print_quantity(metres, Dim::length, 3); }
std::string turns(double rad_s) { return print_quantity(rad_s, Dim::rotation, 4); }

std::string summary_of(const Machine& machine) {
    const std::string kind = machine.kind == MachineKind::rotary          ? "rotary"
                             : machine.kind == MachineKind::free_spinning ? "free-spinning"
                                                                          : "gear-driven";
    const std::string orbit = machine.throw_m > 0 ? fmt::format(", {} throw", length(machine.throw_m)) : "";
    const std::string pads = machine.pad_min_m == machine.pad_max_m
                                 ? length(machine.pad_max_m)
                                 : length(machine.pad_min_m) + " to " + length(machine.pad_max_m);
    return fmt::format("{}{}, {} to {}, pads {}, {}, {}", kind, orbit, turns(machine.speed_min_rad_s),
                       turns(machine.speed_max_rad_s), pads, print_quantity(machine.power_w, Dim::power),
                       print_quantity(machine.mass_kg, Dim::mass));
}

std::string summary_of(const Pad& pad) {
    return fmt::format("{}, {} x {}, modulus {}, plateau {}, friction {:g}, cut {:g}", pad.material,
                       length(2 * pad.radius_m), length(pad.thickness_m),
                       print_quantity(pad.foam.modulus_pa, Dim::pressure),
                       print_quantity(pad.foam.plateau_pa, Dim::pressure), pad.friction, pad.cut_factor);
}

std::string summary_of(const Liquid& liquid) {
    if (liquid.paper) return fmt::format("paper, grain {}", length(liquid.abrasive_start_m));
    return fmt::format("liquid, grain {} to {}, breaks down over {}, works {}",
                       length(liquid.abrasive_start_m), length(liquid.abrasive_end_m),
                       print_quantity(liquid.breakdown_j_m2, Dim::energy_area, 3),
                       print_quantity(liquid.working_time_s, Dim::time, 3));
}

std::string summary_of(const Paint& paint) {
    return fmt::format("clear {}, base {}, primer {}, e-coat {}; softness {:g}", length(paint.clear_m),
                       length(paint.base_m), length(paint.primer_m), length(paint.ecoat_m), paint.softness);
}

std::string summary_of(const Substrate& substrate) {
    return fmt::format("{}, {}, {}", length(substrate.thickness_m),
                       print_quantity(substrate.density_kg_m3, Dim::density),
                       substrate.polymer ? "plastic" : "metal");
}

std::string size_of(const Loop& outline) {
    const auto [left, right] = std::ranges::minmax(outline, {}, [](const Corner& c) { return c.at.x; });
    const auto [low, high] = std::ranges::minmax(outline, {}, [](const Corner& c) { return c.at.y; });
    return fmt::format("{:.0f} mm x {:.0f} mm", (right.at.x - left.at.x) / mm, (high.at.y - low.at.y) / mm);
}

std::string summary_of(const PanelSpec& panel) {
    if (const auto* map = std::get_if<HeightMap>(&panel.shape))
        return fmt::format("height map {}, {} a pixel, {}", map->png.filename().string(),
                           length(map->pixel_m), panel.substrate);
    if (const auto* mesh = std::get_if<Mesh>(&panel.shape))
        return fmt::format("mesh {}, {}", mesh->file.filename().string(), panel.substrate);
    const auto& features = std::get<Features>(panel.shape);
    std::string text = fmt::format("{}, {}", size_of(features.outline), panel.substrate);
    const auto count = [&text](std::size_t number, const char* one, const char* several) {
        if (number > 0) text += fmt::format(", {} {}", number, number == 1 ? one : several);
    };
    count(features.holes.size(), "hole", "holes");
    count(features.body_lines.size(), "body line", "body lines");
    count(features.recesses.size(), "recess", "recesses");
    count(features.rolled_edges.size(), "rolled edge", "rolled edges");
    return text;
}

std::string summary_of(const Technique& technique) {
    return fmt::format("{}, {}, {}; {}, {}, {}, {} {}", technique.machine, technique.pad, technique.liquid,
                       print_quantity(technique.force_n, Dim::force), turns(technique.speed_rad_s),
                       print_quantity(technique.arm_speed_m_s, Dim::speed, 3), technique.passes,
                       technique.passes == 1 ? "pass" : "passes");
}

std::string summary_of(const Lesson& lesson) {
    return fmt::format("{}, {}; {} {}, about the {}", lesson.of(LessonSide::mistake).panel,
                       lesson.of(LessonSide::mistake).technique, lesson.steps.size(),
                       lesson.steps.size() == 1 ? "step" : "steps", name_of(lesson.topic));
}

std::string summary_of(const Defects& defects) {
    std::string text;
    for (const MarkPopulation& marks : defects.marks)
        text += fmt::format("{}{}: {}", text.empty() ? "" : "; ", name_of(marks.kind), numbers_of(marks));
    return text;
}

std::string summary_of(const Kit& kit) {
    std::string text;
    for (const KitMachine& machine : kit.machines)
        text += fmt::format("{}{} at {}, {}", text.empty() ? "" : "; ", machine.machine.id,
                            turns(machine.speed_rad_s), print_quantity(machine.force_n, Dim::force));
    return fmt::format("{}; {}, {}{}", text, counted(kit.pads.size(), "pad", "pads"),
                       counted(kit.liquids.size(), "liquid", "liquids"), kit.gauge ? ", film gauge" : "");
}

std::string summary_of(const SectionRecord& record) {
    std::size_t squares = 0, tries = 0;
    for (const RecordedPanel& panel : record.panels) {
        squares += panel.squares.size();
        for (const TapedSquare& square : panel.squares) tries += square.tries.size();
    }
    return fmt::format("{}, {}, {}", counted(record.panels.size(), "panel", "panels"),
                       counted(squares, "test section", "test sections"), counted(tries, "try", "tries"));
}

std::string summary_of(const Shop& shop) {
    return counted(shop.lines.size(), "line", "lines") + (shop.logo ? ", logo" : "");
}

std::string summary_of(const SweepDesign& sweep) {
    std::vector<std::string> names;
    for (const SweepFactor& factor : sweep.factors) names.push_back(factor.name);
    return fmt::format("{}, {}; {} of {}: {}", sweep.panel, sweep.technique, name_of(sweep.kind),
                       counted(sweep.factors.size(), "factor", "factors"), fmt::join(names, ", "));
}

} // namespace

Library Library::standard() { return Library(standard_root()); }

// ---- finding --------------------------------------------------------------------------------------

std::vector<std::string> Library::stems(PresetKind kind) const {
    const fs::path folder = root_ / folder_of(kind);
    const bool kept_elsewhere = kind == PresetKind::record || kind == PresetKind::shop; // where a shop likes
    if (kept_elsewhere && !fs::is_directory(folder)) return {};
    if (!fs::is_directory(folder))
        throw InputError(folder.string(), "", "no such folder",
                         "the presets' folder beside the program, or where the environment variable "
                         "SPARECOAT_PRESETS says");
    std::vector<std::string> stems;
    for (const auto& entry : fs::directory_iterator(folder))
        if (entry.path().extension() == ".json") stems.push_back(entry.path().stem().string());
    std::ranges::sort(stems, comes_before); // a folder's order is the file system's own
    return stems;
}

/// What a message lists. A pad file that cannot be read is left out here: it has its own message when
/// it is asked for.
std::vector<std::string> Library::ids(PresetKind kind) const {
    if (kind != PresetKind::pad) return stems(kind);
    std::vector<std::string> ids;
    for (const std::string& stem : stems(kind)) {
        try {
            const fs::path file = root_ / folder_of(kind) / (stem + ".json");
            for (const Pad& pad : read_pads(load_json(file), file.string()))
                ids.push_back(fmt::format("{}-{}", stem, diameter_mm(pad)));
        } catch (const InputError&) {
            continue;
        }
    }
    std::ranges::sort(ids, comes_before);
    return ids;
}

void Library::refuse_unknown(PresetKind kind, const std::string& reference) const {
    const std::string known = suggestion(reference, ids(kind), fmt::format("known {}", folder_of(kind)));
    if (is_path(reference))
        throw UnknownPreset(reference, "", "no such file",
                            fmt::format("a {} file; {}", name_of(kind), known));
    throw UnknownPreset((root_ / folder_of(kind)).string(), "",
                        fmt::format("no {} \"{}\"", name_of(kind), reference),
                        known + "; or the path of a JSON file");
}

fs::path Library::file_of(PresetKind kind, const std::string& reference) const {
    const std::string file = kind == PresetKind::pad ? take_apart(reference).file : reference;
    if (is_path(reference)) {
        if (!fs::exists(file)) refuse_unknown(kind, reference);
        return file;
    }
    const std::vector<std::string> known = stems(kind);
    if (std::ranges::find(known, file) == known.end()) refuse_unknown(kind, reference);
    return root_ / folder_of(kind) / (file + ".json");
}

// ---- reading --------------------------------------------------------------------------------------

Machine Library::machine(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::machine, reference);
    return read_machine(load_json(file), file.string());
}

Pad Library::pad(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::pad, reference);
    const std::vector<Pad> sizes = read_pads(load_json(file), file.string());
    const PadReference wanted = take_apart(reference);
    const auto chosen = std::ranges::find_if(sizes, [&](const Pad& pad) {
        return wanted.diameter_mm ? diameter_mm(pad) == *wanted.diameter_mm
                                  : sizes.size() == 1 && is_path(reference);
    });
    if (chosen == sizes.end()) {
        std::string known;
        for (const Pad& pad : sizes)
            known += fmt::format("{}{}{}{}", known.empty() ? "" : ", ", wanted.file,
                                 is_path(reference) ? '#' : '-', diameter_mm(pad));
        throw UnknownPreset(file.string(), "/sizes",
                            wanted.diameter_mm ? fmt::format("no size of {} mm", *wanted.diameter_mm)
                                               : fmt::format("pad \"{}\" without a size", reference),
                            known);
    }
    Pad pad = *chosen;
    pad.name += fmt::format(" {} mm", diameter_mm(pad));
    return pad;
}

Liquid Library::liquid(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::liquid, reference);
    return read_liquid(load_json(file), file.string());
}

Paint Library::paint(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::paint, reference);
    return read_paint(load_json(file), file.string());
}

Substrate Library::substrate(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::substrate, reference);
    return read_substrate(load_json(file), file.string());
}

PanelSpec Library::panel(const std::string& reference) const {
    const std::string extension = lower_extension(reference);
    if (extension == ".png")
        throw InputError(
            reference, "", "a height map without its scale",
            R"(a panel file with "height_map": {"file": "...", "pixel": "1 mm", "full_scale": "65 mm"})");
    if (extension == ".obj" || extension == ".stl") {
        if (!fs::is_regular_file(reference))
            throw UnknownPreset(reference, "", "no such file", "an OBJ or STL mesh in millimetres");
        return {fs::path(reference).stem().string(), "steel", Mesh{reference, mm}};
    }
    const fs::path file = file_of(PresetKind::panel, reference);
    return read_panel(load_json(file), file.string());
}

Technique Library::technique(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::technique, reference);
    return read_technique(load_json(file), file.string());
}

Lesson Library::lesson(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::lesson, reference);
    return read_lesson(load_json(file), file.string());
}

Defects Library::defects(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::defects, reference);
    return read_defects(load_json(file), file.string());
}

Kit Library::kit(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::kit, reference);
    return read_kit(load_json(file), file.string());
}

SweepDesign Library::sweep(const std::string& reference) const {
    const fs::path file = file_of(PresetKind::sweep, reference);
    return read_sweep(load_json(file), file.string());
}

// ---- listing --------------------------------------------------------------------------------------

std::vector<Listing> Library::list(PresetKind kind) const {
    std::vector<Listing> listings;
    for (const std::string& stem : stems(kind)) {
        const fs::path path = root_ / folder_of(kind) / (stem + ".json");
        const std::string file = path.string();
        const json document = load_json(path);
        const auto add = [&](const std::string& id, const auto& preset) {
            listings.push_back({id, preset.name, document.value("note", ""), summary_of(preset)});
        };
        switch (kind) {
        case PresetKind::machine: add(stem, read_machine(document, file)); break;
        case PresetKind::pad:
            for (Pad pad : read_pads(document, file)) {
                pad.name += fmt::format(" {} mm", diameter_mm(pad));
                add(fmt::format("{}-{}", stem, diameter_mm(pad)), pad);
            }
            break;
        case PresetKind::liquid: add(stem, read_liquid(document, file)); break;
        case PresetKind::paint: add(stem, read_paint(document, file)); break;
        case PresetKind::substrate: add(stem, read_substrate(document, file)); break;
        case PresetKind::panel: add(stem, read_panel(document, file)); break;
        case PresetKind::technique: add(stem, read_technique(document, file)); break;
        case PresetKind::lesson: add(stem, read_lesson(document, file)); break;
        case PresetKind::defects: add(stem, read_defects(document, file)); break;
        case PresetKind::kit: add(stem, read_kit(document, file)); break;
        case PresetKind::record: add(stem, read_record(document, file)); break;
        case PresetKind::shop: add(stem, read_shop(document, file)); break;
        case PresetKind::sweep: add(stem, read_sweep(document, file)); break;
        }
    }
    std::ranges::sort(listings, comes_before, &Listing::id);
    return listings;
}

// ---- resolving ------------------------------------------------------------------------------------

namespace {

/// Reads what a technique names; where that leads nowhere the technique's own line is at fault.
template <class Read>
auto read_named(const Place& technique, const std::string& key, const std::string& reference, Read read) {
    try {
        return read(reference);
    } catch (const UnknownPreset& unknown) {
        const std::string found =
            is_path(reference) ? fmt::format("\"{}\": {}", reference, unknown.found()) : unknown.found();
        technique.at(key).refuse(found, unknown.allowed());
    }
}

/// Speeds and diameters written in different units may differ in the last bit.
bool within(double value, double min, double max) {
    constexpr double slack = 1e-9;
    return value >= min * (1 - slack) && value <= max * (1 + slack);
}

void hold_pad_to_machine(const Resolved& resolved, const Place& place) {
    const Machine& machine = resolved.machine;
    if (within(2 * resolved.pad.radius_m, machine.pad_min_m, machine.pad_max_m)) return;
    place.at("pad").refuse(
        fmt::format("\"{}\", of {}", resolved.technique.pad, length(2 * resolved.pad.radius_m)),
        fmt::format("a pad of {} to {}, which the machine {} takes", length(machine.pad_min_m),
                    length(machine.pad_max_m), resolved.technique.machine));
}

void hold_speed_to_machine(const Resolved& resolved, const Place& place) {
    const Machine& machine = resolved.machine;
    if (within(resolved.technique.speed_rad_s, machine.speed_min_rad_s, machine.speed_max_rad_s)) return;
    place.at("speed").refuse(turns(resolved.technique.speed_rad_s),
                             fmt::format("{} to {}, the range of the machine {}",
                                         turns(machine.speed_min_rad_s), turns(machine.speed_max_rad_s),
                                         resolved.technique.machine));
}

} // namespace

Resolved resolve(const Library& library, const std::string& technique) {
    return resolve(library, library.technique(technique),
                   library.file_of(PresetKind::technique, technique).string());
}

Resolved resolve(const Library& library, const Technique& technique, const std::string& file) {
    const Place place{file, ""};
    Resolved resolved;
    resolved.technique = technique;
    const Technique& t = resolved.technique;
    resolved.machine =
        read_named(place, "machine", t.machine, [&](const auto& name) { return library.machine(name); });
    resolved.pad = read_named(place, "pad", t.pad, [&](const auto& name) { return library.pad(name); });
    resolved.liquid =
        read_named(place, "liquid", t.liquid, [&](const auto& name) { return library.liquid(name); });
    hold_together(resolved, file);
    return resolved;
}

void hold_together(const Resolved& resolved, const std::string& file) {
    hold_pad_to_machine(resolved, {file, ""});
    hold_speed_to_machine(resolved, {file, ""});
}

} // namespace sparecoat::library
