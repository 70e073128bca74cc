#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// `sparecoat run`: one technique on one panel.
struct RunOptions {
    CommonOptions common;
    ThreadsOption threads;
    WorkOptions work;
    std::string integrator = "averaged";
    std::optional<std::string> out;
    bool json = false;

    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_run(RunOptions& options);

} // namespace sparecoat::cli
