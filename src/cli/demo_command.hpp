#pragma once
#include "cli/options.hpp"
#include <string>

namespace sparecoat::cli {

/// `sparecoat demo`: the rear door worked twice, once with the centre run along its edges, once with the pad
/// kept on the panel.
struct DemoOptions {
    CommonOptions common;
    ThreadsOption threads;
    std::string out = "out/demo";

    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_demo(DemoOptions& options);

} // namespace sparecoat::cli
