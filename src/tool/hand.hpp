#pragma once
#include "rooms.hpp"
#include <cstdint>

namespace sparecoat::tool {

/// What of the hand varies. Each channel draws from a stream of its own, so switching one on or off
/// leaves the others as they were.
enum class HandChannel : std::uint64_t { force = 1, tilt_u, tilt_v, spacing, arm_speed, drift_u, drift_v };

inline constexpr double least_force_share = 0.1; ///< a varying hand still rests on the machine
inline constexpr double least_speed_share = 0.2; ///< and still gets on

/// A standard normal deviate that depends on (seed, channel, knot) alone: no state, no order of calls.
/// splitmix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014)
/// hashes the three to two uniforms; Box and Muller (Ann. Math. Stat. 29, 610, 1958) make them normal.
double normal_at(std::uint64_t seed, HandChannel channel, std::int64_t knot);

/// Even in (0, 1], of (seed, stream, index) alone, from the same hash. For streams of other rooms, each of
/// which keeps its own numbers for its own seed.
double uniform_at(std::uint64_t seed, std::uint64_t stream, std::int64_t index);

/// Smooth noise of zero mean and unit variance at every x: normals at the integers under a uniform cubic
/// B-spline, divided by the root of the sum of the squared weights, so that the variance does not
/// breathe between knots. Twice continuously differentiable. Correlation 0.49 at a lag of one knot, 0.05
/// at two, none from four (the seventh-degree B-spline 1191/2416, 120/2416, before that division).
/// @param x in correlation times (or lengths).
double smooth_noise(std::uint64_t seed, HandChannel channel, double x);

} // namespace sparecoat::tool
