#pragma once
#include "rooms.hpp"

namespace sparecoat::view {

/// What the window asks: fewer draws than the command line, since somebody waits; the error is shown.
inline constexpr int window_pairs = 32, window_trial_pairs = 16;
inline constexpr double window_threshold = 0.01;

} // namespace sparecoat::view
