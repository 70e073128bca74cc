#pragma once
#include "cli/options.hpp"
#include <optional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace sparecoat::cli {

/// `sparecoat job ...`: a vehicle's job file, made, filled, shown, sent and looked after. One set of options
/// serves all of its commands: each takes those that it adds.
struct JobOptions {
    std::string file, source, name, date, unit = "um", n_before = "1", n_after = "1", repeatability = "1 um";
    std::string paint = "typical", allowance = "10 um", when = "before";
    std::string description, label, note, done;
    std::optional<std::string> kit, panel, visit, out, defects, before, after, predicted, predicted_sd;
    bool clean = false, not_clean = false, as_planned = false;
    // of `edit-panel`
    std::optional<std::string> new_name, new_shape, new_paint, new_note;
    // of `note` and `photo`
    std::optional<std::string> add, remove;
    std::string caption;
    bool no_visit = false;
    // of `sheet`
    std::string reader, page = "a4";
    std::optional<std::string> settings;
    // of `plan`
    std::optional<std::string> time_limit, film_limit;
    std::vector<std::string> a_hv, tasks;
    bool json = false, keep = true;
    ThreadsOption threads;

    void add_to(CLI::App& job);
};

/// @throws InputError.
int command_job(const CLI::App& job, JobOptions& options);

} // namespace sparecoat::cli
