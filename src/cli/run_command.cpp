#include "cli/run_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "picture/run_folder.hpp"
#include <CLI/CLI.hpp>
#include <iostream>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {

void RunOptions::add_to(CLI::App& command) {
    work.add_to(command);
    command.add_option("--integrator", integrator, "averaged (fast) or resolved (every orbit)")
        ->type_name("averaged|resolved")
        ->capture_default_str();
    command.add_option("--out", out, "folder for summary, fields and pictures")->type_name("FOLDER");
    command.add_flag("--json", json, "print the summary as JSON");
    common.add_to(command);
    threads.add_to(command);
}

int command_run(RunOptions& o) {
    o.common.check();
    const int threads = o.threads.count();
    if (o.out) demand_some("--out", *o.out, "a folder to write to");
    demand_one_of("--integrator", o.integrator, {"averaged", "resolved"});
    RunRequest request = o.work.request(o.common.grid_m);
    request.integrator = o.integrator == "resolved" ? Integrator::resolved : Integrator::averaged;

    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);
    std::vector<RunJob> jobs;
    jobs.push_back(prepare(Library::standard(), request));
    const Outcome outcome = std::move(run_showing_progress(jobs, threads).front());
    const FilmUnit unit = o.common.film_unit;
    const nlohmann::json summary =
        folder ? write_run(folder->path(), jobs.front(), outcome, unit) : summary_of(jobs.front(), outcome);
    stop_if_asked();
    if (folder) folder->commit();

    if (o.json) {
        std::cout << summary.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
    } else {
        std::cout << verdict_text(jobs.front(), outcome, unit);
        if (folder) std::cout << "Written      " << folder->target().string() << '\n';
        std::cout << cautions_text();
    }
    return 0;
}

} // namespace sparecoat::cli
