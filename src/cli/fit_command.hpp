#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// `sparecoat fit`: cut, breakdown and pad factor from measured removal.
struct FitOptions {
    ThreadsOption threads;
    std::string measurements, liquid, pad, machine, paint = "typical", panel = "test-plate", unit = "um",
                                                    charts = "png";
    std::optional<std::string> day, save, out;
    bool json = false, exponents = false;

    void add_to(CLI::App& command);
};

/// @throws InputError, Stopped.
int command_fit(FitOptions& options);

} // namespace sparecoat::cli
