#pragma once
// Options that several commands share.
#include "picture/heatmap.hpp"
#include "run/run_job.hpp"
#include <optional>
#include <string>

namespace CLI {
class App;
}

namespace sparecoat::cli {

/// Cell size and unit: whatever simulates a panel takes them.
struct CommonOptions {
    std::string grid = "2 mm", unit = "um";
    double grid_m = 0;
    FilmUnit film_unit = FilmUnit::um;

    void add_to(CLI::App& command);
    void check(); ///< fills in grid_m and film_unit. @throws InputError.
};

/// Taken by what runs whole jobs.
struct ThreadsOption {
    std::string threads = "0";

    void add_to(CLI::App& command);
    int count() const; ///< 0: all. @throws InputError.
};

/// What is worked and how.
struct WorkOptions {
    std::string panel, technique, paint = "typical", air = "20 C", seed = "1";
    std::optional<std::string> path, readings;

    void add_to(CLI::App& command);
    RunRequest request(double grid_m) const; ///< @throws InputError.
};

/// An option's value as a number within limits. @throws InputError, with what is allowed.
double decimal(const std::string& option, const std::string& value, double low, double high,
               const char* allowed);

/// An option's value as a film thickness within limits, µm. @throws InputError, with what is allowed.
double film_um(const std::string& option, const std::string& value, double low_um, double high_um,
               const char* allowed);

} // namespace sparecoat::cli
