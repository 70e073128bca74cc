#include "cli/verdict_text.hpp"
#include "job/output_folder.hpp"
#include "job/presets.hpp"
#include "job/run_job.hpp"
#include "picture/run_folder.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <CLI/CLI.hpp>
#include <chrono>
#include <fmt/format.h>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <unistd.h>

using namespace sparecoat;

namespace {

constexpr int bad_input = 2;

FilmUnit film_unit(const std::string& name) { return name == "mil" ? FilmUnit::mil : FilmUnit::um; }

/// Shows progress on stderr once a run has gone on for two seconds.
class ProgressLine {
public:
    void operator()(const std::vector<double>& shares) {
        const auto now = std::chrono::steady_clock::now();
        if (now - start_ < std::chrono::seconds(2)) return;
        double sum = 0;
        for (const double s : shares) sum += s;
        const int percent = static_cast<int>(100 * sum / static_cast<double>(shares.size()));
        const int step = on_terminal_ ? 1 : 20; // a log wants a few lines, a person sees it move
        if (percent < shown_ + step) return;
        shown_ = percent;
        std::cerr << (on_terminal_ ? "\r" : "") << "Simulating ... " << percent << " %" << (on_terminal_ ? "" : "\n")
                  << std::flush;
    }
    void done() const {
        if (on_terminal_ && shown_ >= 0) std::cerr << "\r                    \r" << std::flush;
    }

private:
    std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
    bool on_terminal_ = isatty(STDERR_FILENO) != 0;
    int shown_ = -1;
};

std::vector<Outcome> run_showing_progress(const std::vector<RunJob>& jobs, int threads) {
    ProgressLine line;
    std::vector<Outcome> out = run_jobs(jobs, threads, std::ref(line));
    line.done();
    return out;
}

double grid_spacing(const std::string& text) {
    double spacing = 0;
    try {
        spacing = parse_quantity(text, Dim::length);
    } catch (const std::invalid_argument& error) {
        throw InputError("", "--grid", error.what(), "a length from 1 mm to 4 mm, such as \"2 mm\"");
    }
    if (spacing < 0.001 - 1e-12 || spacing > 0.004 + 1e-12)
        throw InputError("", "--grid", fmt::format("{:g} mm", spacing * 1e3), "1 mm to 4 mm");
    return spacing;
}

struct RunOptions {
    std::string panel, technique, paint = "typical", path, grid = "2 mm", integrator = "averaged", out, unit = "um";
    std::uint64_t seed = 1;
    int threads = 0;
    bool json = false;
};

int command_run(const RunOptions& o) {
    const Library library = Library::standard();
    RunRequest request;
    request.panel = o.panel;
    request.technique = o.technique;
    request.paint = o.paint;
    if (!o.path.empty()) request.path_csv = o.path;
    request.grid_m = grid_spacing(o.grid);
    request.integrator = o.integrator == "resolved" ? Integrator::resolved : Integrator::averaged;
    request.seed = o.seed;

    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (!o.out.empty()) folder.emplace(o.out);
    std::vector<RunJob> jobs;
    jobs.push_back(prepare(library, request));
    const Outcome outcome = std::move(run_showing_progress(jobs, o.threads).front());
    const FilmUnit unit = film_unit(o.unit);
    const nlohmann::json summary =
        folder ? write_run(folder->path(), jobs.front(), outcome, unit) : summary_of(jobs.front(), outcome);
    if (folder) folder->commit();

    if (o.json) {
        std::cout << summary.dump(2) << '\n';
    } else {
        std::cout << verdict_text(jobs.front(), outcome, unit);
        if (folder) std::cout << "Written      " << folder->target().string() << '\n';
        std::cout << cautions_text();
    }
    return 0;
}

int command_list(const std::string& kind_name) {
    const Library library = Library::standard();
    std::vector<PresetKind> kinds = all_preset_kinds();
    if (!kind_name.empty()) kinds = {preset_kind(kind_name)};
    for (const PresetKind kind : kinds) {
        std::cout << folder_of(kind) << '\n';
        const std::vector<Listing> listings = library.list(kind);
        std::size_t widest = 0;
        for (const Listing& l : listings) widest = std::max(widest, l.id.size());
        for (const Listing& l : listings)
            std::cout << fmt::format("  {:<{}}  {}{}{}\n", l.id, widest, l.name, l.summary.empty() ? "" : ": ", l.summary);
    }
    return 0;
}

/// The rear door worked twice: once with the centre run along its edges, once with the pad kept on the panel.
int command_demo(const std::string& out, const std::string& unit_name) {
    const Library library = Library::standard();
    const FilmUnit unit = film_unit(unit_name);
    OutputFolder folder(out);
    std::vector<RunJob> jobs;
    for (const char* technique : {"edge-overrun", "door-polish"}) {
        RunRequest request;
        request.panel = "rear-door";
        request.technique = technique;
        jobs.push_back(prepare(library, request));
    }
    const std::vector<Outcome> outcomes = run_showing_progress(jobs, 0);

    std::vector<std::vector<float>> left;
    std::vector<HeatmapSpec> lost_maps, left_maps;
    nlohmann::json runs = nlohmann::json::array();
    for (std::size_t k = 0; k < jobs.size(); ++k) left.push_back(clear_left_um(jobs[k].panel, outcomes[k].result.fields));
    for (std::size_t k = 0; k < jobs.size(); ++k) {
        const std::filesystem::path sub = folder.path() / jobs[k].request.technique;
        std::filesystem::create_directory(sub);
        runs.push_back(write_run(sub, jobs[k], outcomes[k], unit));
        lost_maps.push_back(film_lost_map(jobs[k], outcomes[k], unit));
        left_maps.push_back(clear_left_map(jobs[k], outcomes[k], left[k], unit));
        std::cout << verdict_text(jobs[k], outcomes[k], unit) << '\n';
    }
    draw_side_by_side(folder.path() / "film_lost.png", {"Film lost: pad run along the edges, and kept off edges and taped lines", {}, 2000},
                      lost_maps);
    draw_side_by_side(folder.path() / "clear_left.png",
                      {"Clear coat left: pad run along the edges, and kept off edges and taped lines", {}, 2000}, left_maps);
    const nlohmann::json summary = {{"kind", "sparecoat-compare"}, {"version", 1}, {"runs", runs}};
    std::ofstream(folder.path() / "summary.json") << summary.dump(2) << '\n';
    folder.commit();
    std::cout << cautions_text() << "\nPictures     " << (folder.target() / "film_lost.png").string() << "\n             "
              << (folder.target() / "clear_left.png").string() << '\n';
    return 0;
}

} // namespace

int main(int argc, char** argv) {
    CLI::App app{"Sparecoat: what machine polishing takes off a panel's clear coat, where, and why."};
    app.require_subcommand(1);
    app.set_version_flag("--version", SPARECOAT_VERSION);

    RunOptions run_options;
    CLI::App* run_command = app.add_subcommand("run", "Simulate one technique on one panel");
    run_command->add_option("--panel", run_options.panel, "panel preset, or a panel JSON, OBJ or STL file")->required();
    run_command->add_option("--technique", run_options.technique, "technique preset or file")->required();
    run_command->add_option("--paint", run_options.paint, "paint preset or file")->capture_default_str();
    run_command->add_option("--path", run_options.path, "recorded arm path (CSV) instead of the technique's own");
    run_command->add_option("--grid", run_options.grid, "cell size, 1 mm to 4 mm")->capture_default_str();
    run_command->add_option("--integrator", run_options.integrator, "averaged (fast) or resolved (every orbit)")
        ->check(CLI::IsMember({"averaged", "resolved"}))
        ->capture_default_str();
    run_command->add_option("--seed", run_options.seed, "seed of the hand's variation")->capture_default_str();
    run_command->add_option("--out", run_options.out, "folder for summary, fields and pictures");
    run_command->add_option("--unit", run_options.unit, "film thickness in um or mil")
        ->check(CLI::IsMember({"um", "mil"}))
        ->capture_default_str();
    run_command->add_option("--threads", run_options.threads, "threads to use, 0: all; the result is the same")
        ->check(CLI::Range(0, 1024))
        ->capture_default_str();
    run_command->add_flag("--json", run_options.json, "print the summary as JSON");

    std::string kind;
    CLI::App* list_command = app.add_subcommand("list", "Presets by kind");
    list_command->add_option("kind", kind, "machines, pads, liquids, paints, substrates, panels or techniques");

    std::string demo_out = "out/demo", demo_unit = "um";
    CLI::App* demo_command = app.add_subcommand("demo", "The rear door, worked with a mistake and without");
    demo_command->add_option("--out", demo_out, "folder for the pictures")->capture_default_str();
    demo_command->add_option("--unit", demo_unit, "um or mil")->check(CLI::IsMember({"um", "mil"}))->capture_default_str();

    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? 0 : bad_input;
    }
    try {
        if (*run_command) return command_run(run_options);
        if (*list_command) return command_list(kind);
        return command_demo(demo_out, demo_unit);
    } catch (const InputError& error) {
        std::cerr << "sparecoat: " << error.what() << '\n';
        return bad_input;
    } catch (const std::exception& error) {
        std::cerr << "sparecoat: " << error.what() << '\n';
        return 1;
    }
}
