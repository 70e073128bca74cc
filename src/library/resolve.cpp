// A technique with the machine, pad and liquid that it names, held to each other.
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "library/preset_ids.hpp"
#include "library/presets.hpp"
#include <fmt/format.h>

namespace sparecoat::library {

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
        fmt::format("\"{}\", of {}", resolved.technique.pad, length_text(2 * resolved.pad.radius_m)),
        fmt::format("a pad of {} to {}, which the machine {} takes", length_text(machine.pad_min_m),
                    length_text(machine.pad_max_m), resolved.technique.machine));
}

void hold_speed_to_machine(const Resolved& resolved, const Place& place) {
    const Machine& machine = resolved.machine;
    if (within(resolved.technique.speed_rad_s, machine.speed_min_rad_s, machine.speed_max_rad_s)) return;
    place.at("speed").refuse(speed_text(resolved.technique.speed_rad_s),
                             fmt::format("{} to {}, the range of the machine {}",
                                         speed_text(machine.speed_min_rad_s),
                                         speed_text(machine.speed_max_rad_s), resolved.technique.machine));
}

} // namespace

Resolved resolve(const Library& library, const std::string& technique) {
    const StoredDocument found = library.document(PresetKind::technique, technique);
    return resolve(library, read_technique(found.body, found.file), found.file);
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
