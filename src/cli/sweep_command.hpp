#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::cli {

/// `sparecoat sweep ...`: many runs over ranges of presets' values, what depends on what, and the best of
/// them. One set of options serves all of its commands: each takes those that it adds.
struct SweepOptions {
    std::string design, db, format = "png";
    std::optional<std::string> csv, shard, out;
    std::vector<std::string> outputs, sources;
    ThreadsOption threads;
    bool json = false;

    void add_to(CLI::App& sweep);
};

/// @return the exit status. @throws InputError, Stopped.
int command_sweep(const CLI::App& sweep, const SweepOptions& options);

} // namespace sparecoat::cli
