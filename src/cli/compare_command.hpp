#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::cli {

/// `sparecoat compare`: two to four techniques on one panel, with error bars.
struct CompareOptions {
    CommonOptions common;
    ThreadsOption threads;
    std::vector<std::string> techniques;
    std::string panel, paint = "typical", defects = "moderate", air = "20 C", seed = "1", replicates = "16",
                       reserve = "15 um", page = "a4";
    std::optional<std::string> readings, out;
    bool json = false;

    CompareOptions() { common.grid = "4 mm"; }
    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_compare(CompareOptions& options);

} // namespace sparecoat::cli
