#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// `sparecoat evenness`: bands and marks by their wavelength, and the overlap that evens best.
struct EvennessOptions {
    CommonOptions common;
    ThreadsOption threads;
    WorkOptions work;
    std::string from = "30 %", to = "80 %", step = "5 %", marks = "on", charts = "png";
    std::optional<std::string> out;
    bool json = false;

    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_evenness(EvennessOptions& options);

} // namespace sparecoat::cli
