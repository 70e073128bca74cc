#pragma once
#include "tool/arm_path.hpp"
#include "tool/technique.hpp"
#include <cstdint>

namespace sparecoat::tool {

/// How far the arm travels while its place beside the line it means to follow stays much the same: about
/// half a section (from memory).
inline constexpr double drift_length_m = 0.25;

/// One draw of a path as an unsteady hand runs it. The hand's smooth noise (see smooth_noise) multiplies
/// force and arm speed, adds to both components of the tilt, and moves the pad's place in both directions
/// with the standard deviation of the line spacing, so that lines wander, turn-rounds run long, and a
/// hold-back is kept only as well as the hand keeps it. Works on any path, a recorded one too.
/// @param steady the path as meant, of a technique without variation. @param hand standard deviations.
/// @param sign +1, or -1 for the antithetic draw: the same path with every deviation turned round.
/// @return as many samples, in increasing time.
ArmPath vary(const ArmPath& steady, const HandVariation& hand, std::uint64_t seed, double sign = 1);

/// Whether a draw differs from the path as meant at all.
bool varies(const HandVariation& hand);

} // namespace sparecoat::tool
