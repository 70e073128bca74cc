#pragma once
#include "rooms.hpp"

namespace sparecoat::cli {

/// From here on a signal that asks the program to end (Ctrl-C, a closed terminal, a closed pipe, a polite
/// kill) is noted instead of obeyed at once, so that a run can stop and take its unfinished folder away.
void note_signals();

/// The signal noted since, 0 if none.
int noted_signal();

/// @throws Stopped if a signal was noted.
void stop_if_asked();

} // namespace sparecoat::cli
