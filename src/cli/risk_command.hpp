#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// `sparecoat risk`: where a technique may burn through, why, and which single change helps most.
struct RiskOptions {
    CommonOptions common;
    ThreadsOption threads;
    WorkOptions work;
    std::string reserve = "15 um", cut_sd = "30 %", threshold = "1 %", draws = "128", spots = "3";
    std::optional<std::string> out;
    bool json = false;

    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_risk(RiskOptions& options);

} // namespace sparecoat::cli
