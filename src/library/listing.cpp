// What `list` says of a library: each preset with its main figures on a line.
#include "library/document_store.hpp"
#include "library/lesson.hpp"
#include "library/preset_ids.hpp"
#include "library/presets.hpp"
#include "library/record.hpp"
#include "library/shop.hpp"
#include "library/sweep_design.hpp"
#include "units/quantity.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::library {

using nlohmann::json;

namespace {

std::string summary_of(const Machine& machine) {
    const std::string kind = machine.kind == MachineKind::rotary          ? "rotary"
                             : machine.kind == MachineKind::free_spinning ? "free-spinning"
                                                                          : "gear-driven";
    const std::string orbit =
        machine.throw_m > 0 ? fmt::format(", {} throw", length_text(machine.throw_m)) : "";
    const std::string pads = machine.pad_min_m == machine.pad_max_m
                                 ? length_text(machine.pad_max_m)
                                 : length_text(machine.pad_min_m) + " to " + length_text(machine.pad_max_m);
    return fmt::format("{}{}, {} to {}, pads {}, {}, {}", kind, orbit, speed_text(machine.speed_min_rad_s),
                       speed_text(machine.speed_max_rad_s), pads, print_quantity(machine.power_w, Dim::power),
                       print_quantity(machine.mass_kg, Dim::mass));
}

std::string summary_of(const Pad& pad) {
    return fmt::format("{}, {} x {}, modulus {}, plateau {}, friction {:g}, cut {:g}", pad.material,
                       length_text(2 * pad.radius_m), length_text(pad.thickness_m),
                       print_quantity(pad.foam.modulus_pa, Dim::pressure),
                       print_quantity(pad.foam.plateau_pa, Dim::pressure), pad.friction, pad.cut_factor);
}

std::string summary_of(const Liquid& liquid) {
    if (liquid.paper) return fmt::format("paper, grain {}", length_text(liquid.abrasive_start_m));
    return fmt::format("liquid, grain {} to {}, breaks down over {}, works {}",
                       length_text(liquid.abrasive_start_m), length_text(liquid.abrasive_end_m),
                       print_quantity(liquid.breakdown_j_m2, Dim::energy_area, 3),
                       print_quantity(liquid.working_time_s, Dim::time, 3));
}

std::string summary_of(const Paint& paint) {
    return fmt::format("clear {}, base {}, primer {}, e-coat {}; softness {:g}", length_text(paint.clear_m),
                       length_text(paint.base_m), length_text(paint.primer_m), length_text(paint.ecoat_m),
                       paint.softness);
}

std::string summary_of(const Substrate& substrate) {
    return fmt::format("{}, {}, {}", length_text(substrate.thickness_m),
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
                           length_text(map->pixel_m), panel.substrate);
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
                       print_quantity(technique.force_n, Dim::force), speed_text(technique.speed_rad_s),
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
                            speed_text(machine.speed_rad_s), print_quantity(machine.force_n, Dim::force));
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

std::vector<Listing> Library::list(PresetKind kind) const {
    std::vector<Listing> listings;
    for (const std::string& stem : references(kind)) {
        const std::string file = store_->file_of(kind, stem);
        const json document = store_->document(kind, stem);
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
        case PresetKind::panel:
            add(stem, read_panel(document, file, [&](const std::string& written) {
                    return store_->attached(kind, stem, written);
                }));
            break;
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

} // namespace sparecoat::library
