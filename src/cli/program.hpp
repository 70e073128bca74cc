#pragma once
#include "rooms.hpp"

namespace sparecoat::cli {

/// The program: takes the command line apart and does what its subcommand asks.
/// @return exit status: 0, 2 for wrong input, 1 for another fault, 128 and a signal's number when stopped.
int run_program(int argc, char** argv);

} // namespace sparecoat::cli
