#pragma once
#include "panel/panel.hpp"
#include "tool/technique.hpp"
#include <cstdint>
#include <string>
#include <vector>

namespace sparecoat::tool {

/// Where the hand is and what it does at one moment; between samples everything is linear.
struct ArmSample {
    double t_s = 0;
    Point2 at;          ///< mean pad centre, m
    double force_n = 0; ///< while lifted: the last force it was down with, to be ignored
    Point2 tilt_rad;    ///< commanded tilt as a slope vector: the pad presses harder on the side it points to
    double speed_rad_s = 0; ///< of the driven shaft
    bool down = true;       ///< from this sample to the next the pad is on the panel
    bool recharge = false;  ///< fresh liquid and a clean pad from here
    int pass = 0;           ///< section pass, from 0
};

/// A tilt and the direction it leans to, as ArmSample's slope vector; exactly 0 for no tilt.
inline Point2 tilt_vector(double tilt_rad, double toward_rad) {
    if (tilt_rad == 0) return {};
    return {tilt_rad * std::cos(toward_rad), tilt_rad * std::sin(toward_rad)};
}

struct ArmPath {
    std::vector<ArmSample> samples; ///< strictly increasing in time
    double duration_s() const { return samples.empty() ? 0 : samples.back().t_s - samples.front().t_s; }
};

/// Step limits for the simulation: no step longer than max_step_m of arm travel or max_step_s.
struct StepLimits {
    double max_step_m = 0.004, max_step_s = 0.1;
};

/// Lays the path of a technique over a panel. Pure function of its arguments (seed: hand variation).
///   - raster: each pass covers the section once with parallel lines; crossed, every other pass runs
///     along v. Where the pad's centre may go: see PadRegion.
///   - spiral: out on the first pass, back in on the second, and so on.
///   - line: one run a pass, there, back, there, ... It is run where it was asked for, whatever the
///     hold-back; lifted only where the pad would not touch the panel at all.
///   - strips: see strip_pieces and add_strips.
/// The arm starts and stops each stroke and sideways move with the technique's acceleration. Lifting
/// takes 0.4 s and 150 mm/s; recharging at least 5 s.
/// @param file named in messages.
/// @throws InputError (file, place): "/section" off the panel, "/section/size" no room for the pad,
/// "/hold_back" pad larger than the panel with the asked hold-back, "/hold_back/<edge>" unknown edge,
/// "/line" off the panel or of no length, "/strips" as strip_pieces has it, "/pattern" recorded (its samples
/// come from a CSV), or a value of the technique outside its range ("/arm_speed" and so on).
ArmPath lay_path(const Technique& technique, double pad_radius_m, const Panel& panel, std::uint64_t seed,
                 StepLimits limits = {}, const std::string& file = {});

/// Puts further samples between those that are farther apart than the limits, linearly, so that
/// duration and path length stay. Nothing is taken away.
ArmPath resample(const ArmPath& path, StepLimits limits);

} // namespace sparecoat::tool
