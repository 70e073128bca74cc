#include "run/remedies.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::run {
namespace {

// How much is changed at a time: enough to tell, and still the same job (common practice, no source).
constexpr double lighter_share = 0.7, faster_share = 1.5;
constexpr double hold_backs_m[] = {0, 0.015, 0.03};
constexpr double tapes_m[] = {0.01, 0.02, 0.03};

/// "medium-foam" of "medium-foam-150": what its sizes have in common.
std::string family_of(const std::string& pad) {
    const std::size_t cut = pad.find_last_of("-#");
    return cut == std::string::npos ? pad : pad.substr(0, cut + 1);
}

/// The next smaller size of the same pad that the machine takes, if there is one.
std::optional<std::pair<std::string, Pad>> smaller_pad(const Library& library, const RunJob& job) {
    const std::string family = family_of(job.step.technique.pad);
    std::optional<std::pair<std::string, Pad>> best;
    for (const Listing& listing : library.list(PresetKind::pad)) {
        if (family_of(listing.id) != family) continue;
        Pad pad = library.pad(listing.id);
        const double diameter = 2 * pad.radius_m;
        if (pad.radius_m >= job.step.pad.radius_m || diameter < job.step.machine.pad_min_m) continue;
        if (!best || pad.radius_m > best->second.radius_m) best = {listing.id, std::move(pad)};
    }
    return best;
}

double fresh_cut(const Liquid& liquid) { return liquid.cut_per_size_pa_m * liquid.abrasive_start_m; }

/// The strongest of those that cut less than the one in use, of its type.
std::optional<std::pair<std::string, Liquid>> milder_liquid(const Library& library, const RunJob& job) {
    std::optional<std::pair<std::string, Liquid>> best;
    for (const Listing& listing : library.list(PresetKind::liquid)) {
        Liquid liquid = library.liquid(listing.id);
        if (liquid.paper != job.step.liquid.paper || fresh_cut(liquid) >= fresh_cut(job.step.liquid))
            continue;
        if (!best || fresh_cut(liquid) > fresh_cut(best->second)) best = {listing.id, std::move(liquid)};
    }
    return best;
}

bool tilted(const RunJob& job) {
    return std::any_of(job.path.samples.begin(), job.path.samples.end(),
                       [](const ArmSample& s) { return norm(s.tilt_rad) > 0.1 * deg; });
}

} // namespace

std::string_view name_of(RemedyKind kind) {
    switch (kind) {
    case RemedyKind::hold_back: return "hold back";
    case RemedyKind::tape: return "tape";
    case RemedyKind::flatter: return "flatter";
    case RemedyKind::lighter: return "lighter";
    case RemedyKind::smaller_pad: return "smaller pad";
    case RemedyKind::milder_liquid: return "milder liquid";
    case RemedyKind::faster_arm: return "faster arm";
    }
    return "";
}

std::vector<Change> changes_of_technique(const Library& library, const RunJob& job) {
    const Technique& now = job.step.technique;
    std::vector<Change> changes;
    const auto add = [&](RemedyKind kind, std::string words) -> Change& {
        changes.push_back({kind, std::move(words), now});
        return changes.back();
    };
    if (tilted(job)) {
        Change& flatter = add(RemedyKind::flatter, "keep the head flat");
        flatter.technique.tilt_rad = 0;
        flatter.flat = true;
    }
    const double light_n = lighter_share * now.force_n;
    Change& lighter = add(RemedyKind::lighter, fmt::format("press lighter: {:.0f} N", light_n));
    lighter.technique.force_n = light_n;
    lighter.force = lighter_share;
    if (const auto pad = smaller_pad(library, job)) {
        // Pressed as hard per area, and overhanging as much of itself.
        const double share = pad->second.radius_m / job.step.pad.radius_m,
                     force_n = share * share * now.force_n;
        Change& smaller =
            add(RemedyKind::smaller_pad, fmt::format("a smaller pad: {:.0f} mm, pressed with {:.0f} N",
                                                     2 * pad->second.radius_m / mm, force_n));
        smaller.technique.pad = pad->first;
        smaller.technique.force_n = force_n;
        smaller.force = share * share;
        const auto scale = [&](double& hold_back_m) { hold_back_m *= hold_back_m < 0 ? share : 1; };
        scale(smaller.technique.hold_back_m);
        for (auto& [name, hold_back_m] : smaller.technique.hold_back_edge_m) scale(hold_back_m);
    }
    if (const auto liquid = milder_liquid(library, job)) {
        std::string name = liquid->second.name;
        Change& milder = add(RemedyKind::milder_liquid, fmt::format("a milder liquid: {}", name));
        milder.technique.liquid = liquid->first;
    }
    const double fast = faster_share * now.arm_speed_m_s;
    Change& faster = add(RemedyKind::faster_arm, fmt::format("a faster arm: {:.0f} mm/s", fast / mm));
    faster.technique.arm_speed_m_s = fast;
    faster.pace = faster_share;
    return changes;
}

std::vector<std::vector<Change>> changes_at(const RunJob& job, const RegionAtRisk& region) {
    const Technique& now = job.step.technique;
    const Panel& panel = job.panel;
    if (region.edge < 0 && region.crest < 0) return {};
    const std::string& name = region.edge >= 0 ? panel.edge_names[static_cast<std::size_t>(region.edge)]
                                               : panel.crest_names[static_cast<std::size_t>(region.crest)];
    const std::string words = feature_text(panel, {region.edge, region.crest});
    std::vector<std::vector<Change>> chains;

    // Lines and recorded paths are run where they were asked for, whatever the hold-back.
    if (!job.request.path_csv && now.pattern != Pattern::line) {
        const auto own = now.hold_back_edge_m.find(name);
        const double nothing_m =
            -job.step.pad.radius_m - 1; // a crest that is not named is not held back from
        const double held_m = own != now.hold_back_edge_m.end() ? own->second
                              : region.edge >= 0                ? now.hold_back_m
                                                                : nothing_m;
        std::vector<Change> chain;
        for (const double hold_back_m : hold_backs_m) {
            if (hold_back_m <= held_m) continue;
            Change change{RemedyKind::hold_back,
                          hold_back_m == 0 ? fmt::format("hold back: keep the pad's rim inside {}", words)
                                           : fmt::format("hold the pad's rim back {:.0f} mm from {}",
                                                         hold_back_m / mm, words),
                          now};
            change.technique.hold_back_edge_m[name] = hold_back_m;
            chain.push_back(std::move(change));
        }
        if (!chain.empty()) chains.push_back(std::move(chain));
    }

    const auto own = now.tape_edge_m.find(name);
    const double taped_m = own != now.tape_edge_m.end() ? own->second : region.edge >= 0 ? now.tape_m : 0;
    std::vector<Change> chain;
    for (const double tape_m : tapes_m) {
        if (tape_m <= taped_m) continue;
        Change change{RemedyKind::tape, fmt::format("tape {} {:.0f} mm wide", words, tape_m / mm), now};
        change.technique.tape_edge_m[name] = tape_m;
        chain.push_back(std::move(change));
    }
    if (!chain.empty()) chains.push_back(std::move(chain));
    return chains;
}

std::optional<RunJob> apply(const Library& library, const RunJob& job, const Change& change) {
    try {
        RunJob changed = prepare(library, job.request, change.technique, &job.panel);
        if (job.path_is_steady) changed = steady(std::move(changed));
        if (job.request.path_csv)
            for (ArmSample& sample : changed.path.samples) {
                sample.t_s /= change.pace;
                sample.force_n *= change.force;
                if (change.flat) sample.tilt_rad = {};
            }
        return changed;
    } catch (const InputError&) {
        return std::nullopt;
    }
}

} // namespace sparecoat::run
