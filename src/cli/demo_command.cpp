#include "cli/demo_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "library/presets.hpp"
#include "picture/run_folder.hpp"
#include <CLI/CLI.hpp>
#include <filesystem>
#include <iostream>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {

void DemoOptions::add_to(CLI::App& command) {
    command.add_option("--out", out, "folder for summaries, fields and pictures")
        ->type_name("FOLDER")
        ->capture_default_str();
    common.add_to(command);
    threads.add_to(command);
}

int command_demo(DemoOptions& o) {
    const int threads = o.threads.count();
    o.common.check();
    demand_some("--out", o.out, "a folder to write to");
    const Library library = Library::standard();
    const FilmUnit unit = o.common.film_unit;
    OutputFolder folder(o.out);
    std::vector<RunJob> jobs;
    for (const char* technique : {"edge-overrun", "door-polish"}) {
        RunRequest request;
        request.panel = "rear-door";
        request.technique = technique;
        request.grid_m = o.common.grid_m;
        jobs.push_back(prepare(library, request));
    }
    const std::vector<Outcome> outcomes = run_showing_progress(jobs, threads);

    std::vector<std::vector<float>> left;
    std::vector<HeatmapSpec> lost_maps, left_maps;
    nlohmann::json runs = nlohmann::json::array();
    for (std::size_t k = 0; k < jobs.size(); ++k)
        left.push_back(clear_left_um(jobs[k].panel, outcomes[k].result.fields));
    for (std::size_t k = 0; k < jobs.size(); ++k) {
        const std::filesystem::path sub = folder.path() / jobs[k].request.technique;
        std::filesystem::create_directory(sub);
        runs.push_back(write_run(sub, jobs[k], outcomes[k], unit));
        lost_maps.push_back(film_lost_map(jobs[k], outcomes[k], unit));
        left_maps.push_back(clear_left_map(jobs[k], outcomes[k], left[k], unit));
    }
    const std::string how = "pad run along the edges, and kept off edges and taped lines";
    draw_side_by_side(folder.path() / "film_lost.png", {"Film lost: " + how, {}, 2000}, lost_maps);
    draw_side_by_side(folder.path() / "clear_left.png", {"Clear coat left: " + how, {}, 2000}, left_maps);
    write_json(folder.path() / "summary.json",
               {{"kind", "sparecoat-compare"}, {"version", 1}, {"runs", runs}});
    stop_if_asked();
    folder.commit();

    // Printed last: a reader that closes the pipe early costs no output.
    for (std::size_t k = 0; k < jobs.size(); ++k)
        std::cout << verdict_text(jobs[k], outcomes[k], unit) << '\n';
    std::cout << cautions_text() << "\nPictures     " << (folder.target() / "film_lost.png").string()
              << "\n             " << (folder.target() / "clear_left.png").string() << '\n';
    return 0;
}

} // namespace sparecoat::cli
