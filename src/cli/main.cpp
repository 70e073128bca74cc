#include "cli/compare_command.hpp"
#include "cli/evenness_command.hpp"
#include "cli/fit_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/job_command.hpp"
#include "cli/lesson_command.hpp"
#include "cli/options.hpp"
#include "cli/progress.hpp"
#include "cli/risk_command.hpp"
#include "cli/section_command.hpp"
#include "cli/sweep_command.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "library/presets.hpp"
#include "picture/run_folder.hpp"
#include "run/run_job.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/app/run_window.hpp"
#include "view/render/shot.hpp"
#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>
#include <tuple>

using namespace sparecoat::cli;

namespace {

constexpr int bad_input = 2;
constexpr int stopped_by = 128; // a signal's number is added, as shells do

std::vector<Outcome> run_showing_progress(const std::vector<RunJob>& jobs, int threads) {
    ProgressLine line;
    return run_jobs(jobs, threads, [&](double share) {
        line.tell(share);
        return noted_signal() == 0;
    });
}

struct RunOptions {
    CommonOptions common;
    ThreadsOption threads;
    WorkOptions work;
    std::string integrator = "averaged";
    std::optional<std::string> out;
    bool json = false;
};

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

struct ShotOptions {
    CommonOptions common;
    WorkOptions work;
    std::string out, map = "film_lost", camera = "corner", size = "1280x720", at, nearer = "1";
    std::optional<std::string> theme, defects, lamp, show;
};

/// What belongs to the lamp, and is refused without it.
std::optional<ShotLamp> asked_lamp(const ShotOptions& o) {
    constexpr const char* lamp = "lamp";
    const std::pair<const char*, const std::optional<std::string>*> own[] = {
        {"--defects", &o.defects}, {"--lamp", &o.lamp}, {"--show", &o.show}};
    for (const auto& [option, value] : own)
        if (*value && o.map != lamp)
            throw InputError("", option, "--map " + o.map, std::string(option) + " with --map lamp");
    if (o.map != lamp) return {};
    if (!o.defects)
        throw InputError("", "--map", "lamp without --defects",
                         "--defects with what the panel was found with, such as severe");
    demand_some("--defects", *o.defects, "a preset of defects or a file");
    ShotLamp out;
    out.defects = *o.defects;
    if (o.lamp) out.place = parse_lamp_place(*o.lamp);
    if (o.show) demand_one_of("--show", *o.show, {"before", "after", "half"});
    if (o.show) out.show = lamp_show(*o.show);
    return out;
}

int command_shot(ShotOptions& o) {
    o.common.check();
    demand_some("--out", o.out, "a PNG file to write");
    if (o.theme) demand_one_of("--theme", *o.theme, {"light", "dark"});
    ShotRequest shot;
    shot.lamp = asked_lamp(o);
    shot.run = o.work.request(o.common.grid_m);
    shot.map = o.map, shot.camera = o.camera;
    std::tie(shot.width_px, shot.height_px) = parse_shot_size(o.size);
    if (!o.at.empty()) {
        try {
            shot.at_s = parse_quantity(o.at, Dim::time);
        } catch (const std::invalid_argument& error) {
            throw InputError("", "--at", error.what(), "a time into the run, such as \"42 s\"");
        }
    }
    shot.light_theme = o.theme ? *o.theme == "light" : !shot.lamp; // a lamp is lit in the dark
    shot.unit = o.common.film_unit;
    shot.nearer = static_cast<float>(decimal("--nearer", o.nearer, 1, 20, "1 to 20"));
    write_shot(o.out, shot);
    std::cout << "Written      " << o.out << '\n';
    return 0;
}

PresetKind asked_kind(const std::string& name) {
    try {
        return preset_kind(name);
    } catch (const InputError& error) {
        throw InputError("", "list", error.found(), error.allowed());
    }
}

int command_list(const std::string& kind_name) {
    const Library library = Library::standard();
    std::vector<PresetKind> kinds = all_preset_kinds();
    if (!kind_name.empty()) kinds = {asked_kind(kind_name)};
    for (const PresetKind kind : kinds) {
        std::cout << folder_of(kind) << '\n';
        const std::vector<Listing> listings = library.list(kind);
        std::size_t widest = 0;
        for (const Listing& l : listings) widest = std::max(widest, l.id.size());
        for (const Listing& l : listings)
            std::cout << fmt::format("  {:<{}}  {}{}{}\n", l.id, widest, l.name,
                                     l.summary.empty() ? "" : ": ", l.summary);
    }
    return 0;
}

/// The rear door worked twice: once with the centre run along its edges, once with the pad kept on the panel.
int command_demo(const std::string& out, CommonOptions& o, int threads) {
    o.check();
    demand_some("--out", out, "a folder to write to");
    const Library library = Library::standard();
    const FilmUnit unit = o.film_unit;
    OutputFolder folder(out);
    std::vector<RunJob> jobs;
    for (const char* technique : {"edge-overrun", "door-polish"}) {
        RunRequest request;
        request.panel = "rear-door";
        request.technique = technique;
        request.grid_m = o.grid_m;
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

} // namespace

int main(int argc, char** argv) {
    CLI::App app{"Sparecoat: what machine polishing takes off a panel's clear coat, where, and why.",
                 "sparecoat"};
    app.require_subcommand(1);
    app.set_version_flag("--version", "sparecoat " SPARECOAT_VERSION);

    RunOptions run_options;
    CLI::App* run_command = app.add_subcommand("run", "Simulate one technique on one panel");
    run_options.work.add_to(*run_command);
    run_command
        ->add_option("--integrator", run_options.integrator, "averaged (fast) or resolved (every orbit)")
        ->type_name("averaged|resolved")
        ->capture_default_str();
    run_command->add_option("--out", run_options.out, "folder for summary, fields and pictures")
        ->type_name("FOLDER");
    run_command->add_flag("--json", run_options.json, "print the summary as JSON");
    run_options.common.add_to(*run_command);
    run_options.threads.add_to(*run_command);

    RiskOptions risk_options;
    CLI::App* risk_command = app.add_subcommand(
        "risk", "Where a technique may burn through, why, and which single change helps most");
    risk_options.add_to(*risk_command);

    CompareOptions compare_options;
    CLI::App* compare_command =
        app.add_subcommand("compare", "Two to four techniques on one panel, with error bars");
    compare_options.add_to(*compare_command);

    SectionOptions section_options;
    CLI::App* section_command =
        app.add_subcommand("section", "Test sections: what clears, what it costs, what to try next");
    section_options.add_to(*section_command);

    ShotOptions shot_options;
    CLI::App* shot_command =
        app.add_subcommand("shot", "A picture of the panel in 3D at one moment of a run");
    shot_options.work.add_to(*shot_command);
    shot_command->add_option("--out", shot_options.out, "the PNG to write")
        ->type_name("FILE.png")
        ->required();
    shot_command
        ->add_option(
            "--map", shot_options.map,
            "film_lost, clear_left, pressure_now, speed_now, contact_time, friction_work, temperature, "
            "peak_temperature or chance; lamp: marks under an inspection lamp")
        ->type_name("MAP")
        ->capture_default_str();
    shot_command->add_option("--camera", shot_options.camera, "corner, front, left, right, top or bottom")
        ->type_name("SIDE")
        ->capture_default_str();
    shot_command->add_option("--size", shot_options.size, "of the picture")
        ->type_name("WxH")
        ->capture_default_str();
    shot_command
        ->add_option("--at", shot_options.at, "time into the run, such as \"42 s\"; without it the end")
        ->type_name("TIME");
    shot_command->add_option("--nearer", shot_options.nearer, "comes nearer to the pad, or to the worst spot")
        ->type_name("TIMES")
        ->capture_default_str();
    shot_command
        ->add_option("--defects", shot_options.defects,
                     "with --map lamp: what the panel was found with, preset or file")
        ->type_name("DEFECTS");
    shot_command
        ->add_option("--lamp", shot_options.lamp,
                     "the lamp's place over the panel, \"400 mm, 300 mm, 500 mm\"; without it where it is "
                     "seen in the middle")
        ->type_name("U,V,HEIGHT");
    shot_command
        ->add_option("--show", shot_options.show,
                     "with --map lamp: before, after, or half of each beside a tape")
        ->type_name("before|after|half");
    shot_command
        ->add_option("--theme", shot_options.theme,
                     "light or dark; without it light, and dark under the lamp")
        ->type_name("light|dark");
    shot_options.common.add_to(*shot_command);

    WindowRequest window;
    CLI::App* view_command = app.add_subcommand("view", "The window: watch a run, or drive the pad by hand");
    view_command->add_option("--job", window.job, "a vehicle's job file: its board is shown")
        ->type_name("FILE.sparecoat");
    view_command->add_option("--panel", window.panel, "panel to open; without it the last one")
        ->type_name("PANEL");
    view_command->add_option("--technique", window.technique, "technique to open")->type_name("TECHNIQUE");
    view_command
        ->add_option("--against", window.against, "techniques to see side by side with it, one to three")
        ->type_name("TECHNIQUE");
    WindowRequest::SweepOnFile sweep_on_file;
    CLI::Option* sweep_option =
        view_command->add_option("--sweep", sweep_on_file.design, "a sweep's design: its charts are shown")
            ->type_name("DESIGN");
    CLI::Option* results_option =
        view_command->add_option("--db", sweep_on_file.results, "the results file of that sweep")
            ->type_name("FILE");
    sweep_option->needs(results_option), results_option->needs(sweep_option);
    view_command->add_option("--paint", window.paint, "paint to open")->type_name("PAINT");
    view_command->add_option("--defects", window.defects, "marks that the lamp shows on it, preset or file")
        ->type_name("DEFECTS");
    view_command
        ->add_option("--readings", window.readings,
                     "gauge readings of this panel instead of the paint's nominal film")
        ->type_name("FILE.csv");

    LessonOptions lesson_options;
    CLI::App* lesson_command = app.add_subcommand("lesson", "A mistake and its remedy, told step by step");
    lesson_options.add_to(*lesson_command);

    EvennessOptions evenness_options;
    CLI::App* evenness_command = app.add_subcommand(
        "evenness", "Bands and marks by their wavelength, and the overlap that evens best");
    evenness_options.add_to(*evenness_command);

    FitOptions fit_options;
    CLI::App* fit_command =
        app.add_subcommand("fit", "Cut, breakdown and pad factor from your own measured removal");
    fit_options.add_to(*fit_command);

    JobOptions job_options;
    CLI::App* job_command =
        app.add_subcommand("job", "A vehicle's job file: panels, visits, readings, work, what is left");
    job_options.add_to(*job_command);

    SweepOptions sweep_options;
    CLI::App* sweep_command = app.add_subcommand(
        "sweep", "Many runs over ranges of values: what depends on what, and the best of them");
    sweep_options.add_to(*sweep_command);

    std::string kind;
    CLI::App* list_command = app.add_subcommand("list", "Presets by kind");
    list_command
        ->add_option(
            "kind", kind,
            "machines, pads, liquids, paints, substrates, panels, techniques, lessons, defects, kits, "
            "records, shops or sweeps")
        ->type_name("KIND");

    std::string demo_out = "out/demo";
    CommonOptions demo_options;
    ThreadsOption demo_threads;
    CLI::App* demo_command = app.add_subcommand("demo", "The rear door, worked with a mistake and without");
    demo_command->add_option("--out", demo_out, "folder for summaries, fields and pictures")
        ->type_name("FOLDER")
        ->capture_default_str();
    demo_options.add_to(*demo_command);
    demo_threads.add_to(*demo_command);

    try {
        try {
            app.parse(argc, argv);
        } catch (const CLI::ParseError& error) {
            if (error.get_exit_code() == 0) return app.exit(error); // help or version was asked for
            throw usage_error(app, error);
        }
        if (*list_command) return command_list(kind);
        // These two have no folder under way to take back, so a signal may end them at once.
        if (*sweep_option) window.sweep = sweep_on_file;
        if (*view_command) return run_window(window);
        if (*shot_command) return command_shot(shot_options);
        // An edit of a job is whole or not at all, whatever ends the program.
        if (*job_command) return command_job(*job_command, job_options);
        note_signals();
        if (*risk_command) return command_risk(risk_options);
        if (*evenness_command) return command_evenness(evenness_options);
        if (*fit_command) return command_fit(fit_options);
        if (*sweep_command) return command_sweep(*sweep_command, sweep_options);
        if (*compare_command) return command_compare(compare_options);
        if (*section_command) return command_section(*section_command, section_options);
        lesson_options.own_grid = lesson_command->count("--grid") == 0;
        if (*lesson_command) return command_lesson(lesson_options);
        return *run_command ? command_run(run_options)
                            : command_demo(demo_out, demo_options, demo_threads.count());
    } catch (const InputError& error) {
        std::cerr << "sparecoat: " << error.what() << '\n';
        return bad_input;
    } catch (const Stopped&) {
        std::cerr << "sparecoat: stopped; nothing was written\n";
        return stopped_by + noted_signal();
    } catch (const std::exception& error) {
        std::cerr << "sparecoat: " << error.what() << '\n';
        return 1;
    }
}
