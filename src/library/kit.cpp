#include "library/kit.hpp"
#include "formats/nearest.hpp"
#include "formats/read_document.hpp"
#include "library/presets.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::library {

using nlohmann::json;

namespace {

KitItem item_of(const std::string& id, const std::string& file) {
    return {id, is_path(id) ? beside(file, id).string() : id};
}

/// A list of ids, each once.
std::vector<KitItem> fill_items(const Values& values, const std::string& key) {
    std::vector<KitItem> items;
    for (const json& entry : values.raw(key)) {
        const auto id = entry.get<std::string>();
        if (std::ranges::any_of(items, [&](const KitItem& item) { return item.id == id; }))
            values.place()
                .at(key)
                .at(items.size())
                .refuse(fmt::format("\"{}\" a second time", id), "each once");
        items.push_back(item_of(id, values.place().file));
    }
    return items;
}

std::vector<std::string> ids_of(const std::vector<KitItem>& items) {
    std::vector<std::string> ids;
    for (const KitItem& item : items) ids.push_back(item.id);
    return ids;
}

/// Those of the kit's own that a machine's entry names; empty where it names none.
std::vector<std::string> fill_chosen(const Values& values, const std::string& key,
                                     const std::vector<KitItem>& of_kit) {
    std::vector<std::string> chosen;
    if (!values.has(key)) return chosen;
    const std::vector<std::string> known = ids_of(of_kit);
    for (const KitItem& item : fill_items(values, key)) {
        if (std::ranges::find(known, item.id) == known.end())
            values.place()
                .at(key)
                .at(chosen.size())
                .refuse(fmt::format("\"{}\", which is not among the kit's {}", item.id, key),
                        suggestion(item.id, known, "the kit's " + key));
        chosen.push_back(item.id);
    }
    return chosen;
}

KitMachine fill_kit_machine(const Values& values, const Kit& kit) {
    KitMachine machine;
    machine.machine = item_of(values.text("machine"), values.place().file);
    machine.speed_rad_s = values.number("speed");
    machine.force_n = values.number("force");
    machine.arm_speed_m_s = values.number("arm_speed");
    machine.passes = values.whole("passes");
    machine.pads = fill_chosen(values, "pads", kit.pads);
    machine.liquids = fill_chosen(values, "liquids", kit.liquids);
    values.done();
    return machine;
}

Kit fill_kit(const Values& values) {
    Kit kit;
    kit.file = values.place().file;
    kit.name = values.text("name");
    kit.pads = fill_items(values, "pads");
    kit.liquids = fill_items(values, "liquids");
    for (const Values& machine : values.objects("machines"))
        kit.machines.push_back(fill_kit_machine(machine, kit));
    if (values.has("gauge")) {
        const Values gauge = values.object("gauge");
        kit.gauge = {gauge.number("repeatability") * 1e6, gauge.whole("readings")};
        gauge.done();
    }
    return kit;
}

/// "Medium foam 150 mm" within a sentence; a name that begins like "P2000" stays.
std::string within_sentence(std::string name) {
    const auto is_lower = [](char c) { return c >= 'a' && c <= 'z'; };
    if (name.size() > 1 && is_lower(name[1])) name.front() = lower_case(name.substr(0, 1)).front();
    return name;
}

std::string words_for(const Resolved& step) {
    return fmt::format("{} on {} ({})", within_sentence(step.liquid.name), within_sentence(step.pad.name),
                       within_sentence(step.machine.name));
}

/// Looks up what a kit's file names; where that leads nowhere the kit's own line is at fault.
template <class Read> auto read_item(const Place& place, const KitItem& item, Read read) {
    try {
        return read(item.reference);
    } catch (const UnknownPreset& unknown) {
        place.refuse(is_path(item.id) ? fmt::format("\"{}\": {}", item.id, unknown.found()) : unknown.found(),
                     unknown.allowed());
    }
}

template <class Read> auto read_items(const Place& list, const std::vector<KitItem>& items, Read read) {
    std::vector<decltype(read(std::string()))> found;
    for (const KitItem& item : items) found.push_back(read_item(list.at(found.size()), item, read));
    return found;
}

Technique technique_of(const KitMachine& machine, const KitItem& pad, const KitItem& liquid) {
    Technique technique;
    technique.machine = machine.machine.reference, technique.pad = pad.reference,
    technique.liquid = liquid.reference;
    technique.speed_rad_s = machine.speed_rad_s, technique.force_n = machine.force_n;
    technique.arm_speed_m_s = machine.arm_speed_m_s, technique.passes = machine.passes;
    return technique;
}

/// What of the kit goes together.
class Pairing {
public:
    Pairing(const Library& library, const Kit& kit) : library_(library), kit_(kit), root_{kit.file, ""} {}

    std::vector<KitStep> steps() {
        const std::vector<Pad> pads =
            read_items(root_.at("pads"), kit_.pads, [&](const auto& id) { return library_.pad(id); });
        const std::vector<Liquid> liquids = read_items(root_.at("liquids"), kit_.liquids,
                                                       [&](const auto& id) { return library_.liquid(id); });
        std::vector<bool> pad_used(pads.size(), false), liquid_used(liquids.size(), false);
        for (std::size_t m = 0; m < kit_.machines.size(); ++m) {
            const KitMachine& kept = kit_.machines[m];
            const Place place = root_.at("machines").at(m);
            const Machine machine = read_item(place.at("machine"), kept.machine,
                                              [&](const auto& id) { return library_.machine(id); });
            hold_speed(kept, machine, place);
            for (std::size_t p = 0; p < pads.size(); ++p) {
                if (!used_with(kept, machine, p, pads[p], place)) continue;
                for (std::size_t l = 0; l < liquids.size(); ++l) {
                    if (!chosen(kept.liquids, kit_.liquids[l].id)) continue;
                    pad_used[p] = liquid_used[l] = true;
                    add(kept, kit_.pads[p], kit_.liquids[l], {{}, machine, pads[p], liquids[l]}, place);
                }
            }
        }
        refuse_idle("pads", kit_.pads, pad_used);
        refuse_idle("liquids", kit_.liquids, liquid_used);
        return std::move(steps_);
    }

private:
    static void hold_speed(const KitMachine& kept, const Machine& machine, const Place& place) {
        constexpr double slack = 1e-9; // values in different units may differ in the last bit
        if (kept.speed_rad_s >= machine.speed_min_rad_s * (1 - slack) &&
            kept.speed_rad_s <= machine.speed_max_rad_s * (1 + slack))
            return;
        place.at("speed").refuse(print_quantity(kept.speed_rad_s, Dim::rotation),
                                 fmt::format("{} to {}, the range of the machine {}",
                                             print_quantity(machine.speed_min_rad_s, Dim::rotation),
                                             print_quantity(machine.speed_max_rad_s, Dim::rotation),
                                             kept.machine.id));
    }

    static bool chosen(const std::vector<std::string>& some, const std::string& id) {
        return some.empty() || std::ranges::find(some, id) != some.end();
    }

    bool used_with(const KitMachine& kept, const Machine& machine, std::size_t p, const Pad& pad,
                   const Place& place) const {
        constexpr double slack = 1e-9;
        const double diameter_m = 2 * pad.radius_m;
        const bool fits =
            diameter_m >= machine.pad_min_m * (1 - slack) && diameter_m <= machine.pad_max_m * (1 + slack);
        const auto named = std::ranges::find(kept.pads, kit_.pads[p].id);
        if (named == kept.pads.end()) return kept.pads.empty() && fits;
        if (!fits)
            place.at("pads")
                .at(static_cast<std::size_t>(named - kept.pads.begin()))
                .refuse(fmt::format("\"{}\", of {}", *named, print_quantity(diameter_m, Dim::length)),
                        fmt::format("a pad of {} to {}, which the machine {} takes",
                                    print_quantity(machine.pad_min_m, Dim::length),
                                    print_quantity(machine.pad_max_m, Dim::length), kept.machine.id));
        return true;
    }

    /// Nothing is bought to stand idle: it is more likely misspelt among a machine's own, or does not fit.
    void refuse_idle(const std::string& key, const std::vector<KitItem>& items,
                     const std::vector<bool>& used) const {
        const auto idle = static_cast<std::size_t>(std::ranges::find(used, false) - used.begin());
        if (idle < used.size())
            root_.at(key).at(idle).refuse(
                fmt::format("\"{}\", which no machine of the kit is used with", items[idle].id),
                fmt::format("{} that one of the machines is used with", key));
    }

    void add(const KitMachine& machine, const KitItem& pad, const KitItem& liquid, const Resolved& step,
             const Place& place) {
        const std::string id = fmt::format("{}+{}+{}", machine.machine.id, pad.id, liquid.id);
        if (std::ranges::find(steps_, id, &KitStep::id) != steps_.end())
            place.refuse(fmt::format("{} a second time", id), "one way of working each step");
        steps_.push_back({id, words_for(step), technique_of(machine, pad, liquid), step.pad.radius_m});
        steps_.back().technique.name = steps_.back().words;
    }

    const Library& library_;
    const Kit& kit_;
    Place root_;
    std::vector<KitStep> steps_;
};

} // namespace

double KitGauge::loss_sd_um() const { return repeat_sd_um * std::sqrt(2.0 / readings); }

Kit read_kit(const json& document, const std::string& file) {
    return read_document(PresetKind::kit, document, file, fill_kit);
}

std::vector<KitStep> steps_of(const Library& library, const Kit& kit) {
    return Pairing(library, kit).steps();
}

std::vector<KitStep> steps_of(const Library& library, const std::string& kit) {
    return steps_of(library, library.kit(kit));
}

const KitStep& step_named(const std::vector<KitStep>& steps, const std::string& id) {
    const auto found = std::ranges::find(steps, id, &KitStep::id);
    if (found != steps.end()) return *found;
    std::vector<std::string> known;
    for (const KitStep& step : steps) known.push_back(step.id);
    throw InputError("", "--step", fmt::format("no step \"{}\" in the kit", id),
                     suggestion(id, known, "the kit's steps"));
}

} // namespace sparecoat::library
