#pragma once
#include "decide/chance.hpp"
#include "run/run_job.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::run {

enum class RemedyKind { hold_back, tape, flatter, lighter, smaller_pad, milder_liquid, faster_arm };

std::string_view name_of(RemedyKind kind);

/// A single change to a technique, not yet tried.
struct Change {
    RemedyKind kind = RemedyKind::hold_back;
    std::string words;
    Technique technique;
    // A recorded path has its own force, tilt and pace: these change it.
    double force = 1, pace = 1;
    bool flat = false;
};

/// Flatter, lighter, a smaller pad, a milder liquid, a faster arm: as far as each can be had from the
/// library's presets and the machine takes it.
std::vector<Change> changes_of_technique(const Library& library, const RunJob& job);

/// Holding back from what a region is named after, and taping it: each a chain from the mildest on. None on
/// open panel.
std::vector<std::vector<Change>> changes_at(const RunJob& job, const RegionAtRisk& region);

/// The job with a change made. Nothing if it cannot be worked that way.
std::optional<RunJob> apply(const Library& library, const RunJob& job, const Change& change);

} // namespace sparecoat::run
