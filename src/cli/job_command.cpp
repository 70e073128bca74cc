#include "cli/job_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/job_entries.hpp"
#include "cli/job_open.hpp"
#include "cli/job_panel_command.hpp"
#include "cli/job_text.hpp"
#include "cli/plan_text.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/nearest.hpp"
#include "formats/output_folder.hpp"
#include "formats/reader.hpp"
#include "formats/whole_file.hpp"
#include "picture/plan_folder.hpp"
#include "picture/sheet.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/film_life.hpp"
#include "vehicle/job_import.hpp"
#include "vehicle/job_json.hpp"
#include "vehicle/job_plan.hpp"
#include "vehicle/job_store.hpp"
#include "view/window/settings.hpp"
#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {

namespace fs = std::filesystem;

namespace {

constexpr int faults_found = 1;

// ---- values of options ----------------------------------------------------------------------------

double micrometres(const std::string& option, const std::string& text, double most_um) {
    const std::string allowed =
        fmt::format("a thickness of 0 to {:g} µm, such as \"112 um\" or \"4.4 mil\"", most_um);
    try {
        const double um = parse_quantity(text, Dim::length) * 1e6;
        if (um >= 0 && um <= most_um) return um;
    } catch (const std::invalid_argument& error) {
        throw InputError("", option, error.what(), allowed);
    }
    throw InputError("", option, "\"" + text + "\"", allowed);
}

// ---- commands -------------------------------------------------------------------------------------

int job_new(JobOptions& o) {
    demand_some("--name", o.name, "the vehicle's name");
    Vehicle vehicle;
    vehicle.name = o.name, vehicle.description = o.description, vehicle.note = o.note;
    vehicle.allowance_um = micrometres("--allowance", o.allowance, 200);
    JobFile::create(o.file, vehicle, [&](JobFile& job) {
        if (!o.kit) return;
        const Vehicle without = job.vehicle();
        Vehicle with_kit = without;
        with_kit.kit = bring_in(job, Library::standard(), "kit", *o.kit).document;
        job.change(without, with_kit);
    });
    std::cout << "Written      " << o.file << '\n';
    return 0;
}

void say_readings(const ImportedReadings& readings) {
    std::cout << fmt::format("Readings     {} new, {} changed\n", readings.added, readings.changed)
              << flags_text(readings.flags);
}

int import_csv(JobOptions& o) {
    demand_one_of("--when", o.when, {"before", "after"});
    JobFile job = open_job(o);
    const bool after = o.when == "after";
    say_readings(o.panel ? import_readings(job, o.source, visit_of(job, o), panel_of(job, o), after)
                         : import_vehicle_readings(job, o.source, visit_of(job, o), after));
    return 0;
}

int import_record_of(JobOptions& o, const nlohmann::json& document) {
    JobFile job = open_job(o);
    const Visit visit = visit_of(job, o);
    const ImportedRecord done =
        import_record(job, Library::standard(), read_record(document, o.source), visit);
    if (done.took_kit) std::cout << "Kit          and what is wanted, from the record\n";
    std::cout << fmt::format("Panels       {} new\nSquares      {} new\nTries        {} new, {} changed\n",
                             done.panels_added, done.squares_added, done.tries_added, done.tries_changed);
    say_readings(done.readings);
    return 0;
}

int job_import(JobOptions& o) {
    const std::string extension = lower_extension(o.source);
    if (extension == ".csv" || extension == ".txt" || extension == ".tsv") return import_csv(o);
    const nlohmann::json document = load_json(o.source, largest_job_json);
    const std::string kind = document.is_object() && document.contains("kind") && document["kind"].is_string()
                                 ? document["kind"].get<std::string>()
                                 : "";
    if (kind == "record") return import_record_of(o, document);
    if (kind != "job")
        throw InputError(o.source, "", kind.empty() ? "a document that does not say what it is" : "a " + kind,
                         "a job or a section record as JSON, or gauge readings as CSV");
    job_from_json(o.file, document, o.source);
    std::cout << "Written      " << o.file << '\n';
    return 0;
}

/// Whether a file may be written over: an earlier export is.
bool is_job_json(const fs::path& file) {
    try {
        const nlohmann::json document = load_json(file, largest_job_json);
        return document.is_object() && document.value("kind", "") == "job";
    } catch (const std::exception&) {
        return false;
    }
}

int job_export(JobOptions& o) {
    const JobFile job = open_to_read(o);
    const std::string text =
        job_json(job).dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
    if (!o.out) {
        std::cout << text;
        return 0;
    }
    demand_some("--out", *o.out, "a JSON file to write");
    if (fs::exists(*o.out) && !is_job_json(*o.out))
        throw InputError(*o.out, "", "a file that is no earlier export",
                         "a new name, or an earlier export to be written anew");
    write_whole(*o.out, text);
    std::cout << "Written      " << *o.out << '\n';
    return 0;
}

int job_show(JobOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const JobFile job = open_to_read(o);
    std::cout << job_text(job, o.panel ? std::optional(panel_of(job, o)) : std::nullopt, unit);
    return 0;
}

int job_visit(JobOptions& o) {
    JobFile job = open_job(o);
    Visit visit;
    visit.date = o.date, visit.label = o.label, visit.note = o.note;
    job.edit(fmt::format("the visit of {}", o.date), [&] {
        try {
            job.add(visit);
        } catch (const InputError& error) {
            throw InputError(
                "", "--date",
                fmt::format("\"{}\"{}", o.date, o.label.empty() ? "" : " with \"" + o.label + "\""),
                error.allowed() == "each once" ? "a day that has no visit of that label yet"
                                               : error.allowed());
        }
    });
    std::cout << fmt::format("Visit        {}{}\n", o.date, o.label.empty() ? "" : " " + o.label);
    return 0;
}

int job_mark(JobOptions& o) {
    if (o.clean && o.not_clean) throw InputError("", "--clean", "--clean and --not-clean", "one of them");
    JobFile job = open_job(o);
    const JobPanel panel = panel_of(job, o);
    const Visit visit = visit_of(job, o);
    job.edit(fmt::format("the state of the {}", panel.name), [&] {
        const PanelVisit was = job.at_visit(visit.id, panel.id);
        PanelVisit now = was;
        if (o.clean || o.not_clean) now.clean = o.clean;
        if (o.defects) now.defects = bring_in(job, Library::standard(), "defects", *o.defects).document;
        if (!o.note.empty()) now.note = o.note;
        job.change(was, now);
    });
    std::cout << fmt::format("Marked       {}, {}\n", panel.name, visit.date);
    return 0;
}

GaugeColumns gauge_of(const JobOptions& o) {
    if (o.before.has_value() != o.after.has_value())
        throw InputError("", o.before ? "--after" : "--before", "nothing",
                         "the gauge's means before and after, both or neither");
    if (!o.before) return {};
    GaugePair gauge;
    gauge.before_um = micrometres("--before", *o.before, 2000),
    gauge.after_um = micrometres("--after", *o.after, 2000);
    gauge.n_before = static_cast<int>(whole_number("--n-before", o.n_before, 1000));
    gauge.n_after = static_cast<int>(whole_number("--n-after", o.n_after, 1000));
    gauge.repeat_sd_um = micrometres("--repeatability", o.repeatability, 50);
    return GaugeColumns(gauge);
}

/// What the visit's plan has in mind for the panel, as work that was done.
void take_as_planned(const PanelVisit& at, const std::string& panel, Work& work) {
    const PlannedFilm planned = at.plan ? planned_film(*at.plan) : PlannedFilm();
    if (planned.steps.empty() || !planned.loss)
        throw InputError("", "--as-planned", fmt::format("no plan for work on the {}", panel),
                         "a plan of the visit first, or --done with what was done");
    if (work.done.empty()) work.done = planned.steps;
    work.predicted_um = planned.loss->um, work.predicted_sd_um = planned.loss->sd_um;
}

int job_work(JobOptions& o) {
    if (!o.as_planned) demand_some("--done", o.done, "what was done, in words; or --as-planned");
    Work work;
    work.done = o.done, work.gauge = gauge_of(o);
    if (o.predicted.has_value() != o.predicted_sd.has_value())
        throw InputError("", "--predicted", "a loss without its standard deviation, or that without a loss",
                         "both or neither");
    if (o.as_planned && o.predicted)
        throw InputError("", "--predicted", "--predicted and --as-planned", "one of them");
    if (o.predicted) {
        work.predicted_um = micrometres("--predicted", *o.predicted, 2000);
        work.predicted_sd_um = micrometres("--predicted-sd", *o.predicted_sd, 2000);
    }
    JobFile job = open_job(o);
    const JobPanel panel = panel_of(job, o);
    const Visit visit = visit_of(job, o);
    job.edit(fmt::format("the work on the {}", panel.name), [&] {
        const PanelVisit at = job.at_visit(visit.id, panel.id);
        if (o.as_planned) take_as_planned(at, panel.name, work);
        work.panel_visit = at.id;
        for (const Work& there : job.all<Work>()) {
            if (there.panel_visit != work.panel_visit) continue;
            work.id = there.id;
            return job.change(there, work);
        }
        job.add(work);
    });
    std::cout << fmt::format("Work         {}, {}{}\n", panel.name, visit.date,
                             o.as_planned ? ": " + work.done : "");
    return 0;
}

// ---- plan -------------------------------------------------------------------------------------------

double seconds(const std::string& option, const std::string& text, const char* allowed) {
    try {
        const double value = parse_quantity(text, Dim::time);
        if (value >= 0 && value <= 1000 * 3600.0) return value;
    } catch (const std::invalid_argument& error) {
        throw InputError("", option, error.what(), allowed);
    }
    throw InputError("", option, "\"" + text + "\"", allowed);
}

double vibration(const std::string& option, const std::string& whole, std::string text, const char* allowed) {
    for (const char* unit : {"m/s2", "m/s²"})
        if (text.ends_with(unit)) text.resize(text.size() - std::string(unit).size());
    try {
        const double value = parse_quantity(text, Dim::none);
        if (value >= 0 && value <= 50) return value;
    } catch (const std::invalid_argument&) {}
    throw InputError("", option, "\"" + whole + "\"", allowed);
}

AskedExposure asked_exposure(const JobOptions& o) {
    AskedExposure asked;
    const char* const machine = "a machine of the kit and the value from its papers, such as \"da-15=3.5\"";
    for (const std::string& text : o.a_hv) {
        const auto split = text.rfind('=');
        if (split == std::string::npos || split == 0)
            throw InputError("", "--a-hv", "\"" + text + "\"", machine);
        asked.a_hv[text.substr(0, split)] = vibration("--a-hv", text, text.substr(split + 1), machine);
    }
    const char* const other = "what is done, its value and how long, such as \"sander=4.2, 30 min\"";
    for (const std::string& text : o.tasks) {
        const auto split = text.rfind('='), comma = text.rfind(',');
        if (split == std::string::npos || split == 0 || comma == std::string::npos || comma < split)
            throw InputError("", "--task", "\"" + text + "\"", other);
        asked.others.push_back({text.substr(0, split),
                                vibration("--task", text, text.substr(split + 1, comma - split - 1), other),
                                seconds("--task", text.substr(comma + 1), other)});
    }
    return asked;
}

/// @throws InputError for a value of a machine that the kit does not have.
void hold_machines(const Library& library, const std::string& kit, const AskedExposure& asked) {
    std::vector<std::string> known;
    for (const KitMachine& machine : library.kit(kit).machines)
        if (std::ranges::find(known, machine.machine.id) == known.end()) known.push_back(machine.machine.id);
    for (const auto& [machine, value] : asked.a_hv)
        if (std::ranges::find(known, machine) == known.end())
            throw InputError("", "--a-hv", "\"" + machine + "\"",
                             suggestion(machine, known, "the kit's machines"));
}

void print_exposure(const VehiclePlan& plan, const AskedExposure& asked) {
    const std::vector<VibrationTask> tasks = day_of(plan, asked);
    if (tasks.empty()) return;
    if (time_of(tasks) > day_s)
        std::cout << "\nHand-arm vibration: more than 24 h of machine time; add up each day by itself\n";
    else std::cout << exposure_text(tasks);
    for (const VehiclePlan::Used& machine : plan.machine_s)
        if (!asked.a_hv.contains(machine.what))
            std::cout << fmt::format("             {} is not counted: no --a-hv for it\n", machine.what);
}

int job_plan(JobOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const AskedExposure asked = asked_exposure(o);
    PlanTerms terms;
    if (o.time_limit)
        terms.time_s = seconds("--time-limit", *o.time_limit, "hours for the whole vehicle, such as \"6 h\"");
    if (o.film_limit) terms.film_um = micrometres("--film-limit", *o.film_limit, 200);
    const int threads = o.threads.count();
    std::optional<OutputFolder> folder;
    if (o.out) {
        demand_some("--out", *o.out, "a folder to write to");
        folder.emplace(*o.out);
    }
    note_signals();
    JobFile job = open_job(o, o.keep ? JobFile::Access::write : JobFile::Access::read);
    const Visit visit = visit_of(job, o);
    const Library presets = job_library(job);
    const JobForPlan from = job_for_plan(job, visit);
    hold_machines(presets, from.record.kit, asked);
    VehiclePlan plan;
    {
        ProgressLine line;
        plan = plan_vehicle(presets, from.record, from.tasks, terms, threads,
                            [&](const std::string&, double share) {
                                line.tell(share);
                                return noted_signal() == 0;
                            });
    }
    stop_if_asked();
    if (folder) {
        write_plan(folder->path(), plan, unit);
        folder->commit();
    }
    if (o.keep) store_plan(job, visit, from, plan, asked);
    if (o.json) {
        std::cout << plan_json(plan).dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
        return 0;
    }
    std::cout << plan_text(plan, from.assumed, unit);
    print_exposure(plan, asked);
    std::cout << '\n' << cautions_text();
    if (folder) std::cout << "\nWritten      " << folder->target().string() << '\n';
    return 0;
}

// ---- sheet ------------------------------------------------------------------------------------------

/// The shop's file that was asked for, else the one beside the window's settings, where there is one.
Shop shop_of(const JobOptions& o) {
    if (o.settings) {
        demand_some("--settings", *o.settings, "a shop's JSON file");
        return load_shop(*o.settings);
    }
    std::error_code failed;
    const fs::path usual = shop_path();
    return !usual.empty() && fs::exists(usual, failed) ? load_shop(usual) : Shop{};
}

int job_sheet(JobOptions& o) {
    demand_one_of("--for", o.reader, {"bench", "customer"});
    demand_one_of("--page", o.page, {"a4", "letter"});
    demand_some("--out", o.out.value_or(""), "the sheet to write: .pdf, .html or .csv");
    SheetTerms terms;
    terms.unit = film_unit(o.unit);
    terms.reader = o.reader == "bench" ? SheetFor::bench : SheetFor::customer;
    terms.page = o.page == "a4" ? PaperSize::a4 : PaperSize::letter;
    sheet_format(*o.out); // before anything is read
    terms.shop = shop_of(o);
    const JobFile job = open_to_read(o);
    write_sheet(*o.out, job, visit_of(job, o), terms);
    std::cout << "Written      " << *o.out << '\n';
    return 0;
}

int job_undo(JobOptions& o) {
    const auto edit = open_job(o).undo();
    std::cout << (edit ? fmt::format("Undone       {}\n", edit->label) : "Nothing to undo\n");
    return 0;
}

int job_redo(JobOptions& o) {
    const auto edit = open_job(o).redo();
    std::cout << (edit ? fmt::format("Done again   {}\n", edit->label) : "Nothing to redo\n");
    return 0;
}

int job_history(JobOptions& o) {
    std::cout << history_text(open_to_read(o).history());
    return 0;
}

int job_check(JobOptions& o) {
    const std::vector<std::string> faults = open_to_read(o).check();
    for (const std::string& fault : faults) std::cout << "Fault        " << fault << '\n';
    if (faults.empty()) std::cout << "Sound        " << o.file << '\n';
    return faults.empty() ? 0 : faults_found;
}

// ---- what each is called and takes ------------------------------------------------------------------

struct Command {
    const char *name, *help;
    int (*run)(JobOptions&);
};
constexpr std::array commands{
    Command{"new", "A new job file for a vehicle", job_new},
    Command{"import", "A job or a section record as JSON, or gauge readings as CSV, into a job file",
            job_import},
    Command{"export", "All of a job as JSON", job_export},
    Command{"show", "The vehicle, its panels, what was read and done, what is left", job_show},
    Command{"add-panel", "One more panel of the vehicle", job_add_panel},
    Command{"edit-panel", "Another name, shape, paint or note for a panel", job_edit_panel},
    Command{"remove-panel", "A panel off the vehicle, with all that hangs on it; \"job undo\" puts it back",
            job_remove_panel},
    Command{"visit", "A visit to the shop", job_visit},
    Command{"mark", "Whether a panel is clean, and what it was found with, at a visit", job_mark},
    Command{"work", "What was done to a panel at a visit, and the film it cost", job_work},
    Command{"readings", "The film readings, spot by spot, before and after work", job_readings},
    Command{"note", "Remarks on the vehicle or a panel: list them, add one, remove one", job_note},
    Command{"photo", "Pictures of the vehicle or a panel: list them, add one, remove one", job_photo},
    Command{"plan", "The whole vehicle: steps, hold-backs, what stays at risk, time, what a limit trades",
            job_plan},
    Command{"sheet", "The visit on paper, for the bench or the customer: PDF, HTML or CSV", job_sheet},
    Command{"runs", "What was simulated, each run with the film that it lost", job_runs},
    Command{"undo", "Take the last edit back", job_undo},
    Command{"redo", "Make the edit again that was taken back last", job_redo},
    Command{"history", "Every edit that can be undone or redone", job_history},
    Command{"check", "Look the whole file through", job_check},
};

} // namespace

// Long because it is a list: an option a line.
void JobOptions::add_to(CLI::App& job) {
    job.require_subcommand(1);
    std::map<std::string, CLI::App*> of;
    for (const Command& command : commands) {
        CLI::App* app = of[command.name] = job.add_subcommand(command.name, command.help);
        app->add_option("file", file, "the job file")->type_name("FILE.sparecoat")->required();
    }
    const auto option = [&](const char* command, const char* flag, auto& value, const char* help,
                            const char* type) {
        return of.at(command)->add_option(flag, value, help)->type_name(type);
    };
    option("import", "source", source, "what to take in", "SOURCE")->required();
    option("new", "--name", name, "the vehicle's name", "NAME")->required();
    option("new", "--description", description, "of the vehicle", "TEXT");
    option("new", "--kit", kit, "what the shop works with: a kit preset or file", "KIT");
    option("new", "--allowance", allowance, "clear coat that may go over the vehicle's life", "LENGTH")
        ->capture_default_str();
    option("add-panel", "--name", name, "what the panel is called on this vehicle", "NAME")->required();
    option("add-panel", "--panel", panel,
           "its shape: a panel preset, a panel JSON, OBJ or STL file, or a plate such as \"1200x800 mm\"",
           "PANEL")
        ->required();
    option("add-panel", "--paint", paint, "paint preset or file", "PAINT")->capture_default_str();
    for (const char* command : {"edit-panel", "remove-panel"})
        option(command, "--panel", panel, "one of the job's panels", "PANEL")->required();
    option("edit-panel", "--name", new_name, "another name", "NAME");
    option("edit-panel", "--shape", new_shape, "another shape: as add-panel's --panel", "PANEL");
    option("edit-panel", "--paint", new_paint, "another paint: preset or file", "PAINT");
    option("edit-panel", "--note", new_note, "another note; empty: none", "TEXT");
    option("visit", "--date", date, "its day, such as 2026-03-14", "DATE")->required();
    option("visit", "--label", label, "its name", "TEXT");
    for (const char* command : {"mark", "work"})
        option(command, "--panel", panel, "one of the job's panels", "PANEL");
    option("import", "--panel", panel,
           "that all readings are of; without it, a column of the file names each row's", "PANEL");
    for (const char* command : {"import", "mark", "work"})
        option(command, "--visit", visit, "by its date or label; without it the latest", "VISIT");
    for (const char* command : {"note", "photo"}) {
        option(command, "--panel", panel,
               "one of the job's panels; without it the vehicle, or, for a list, all", "PANEL");
        option(command, "--visit", visit, "by its date or label; without it the latest, or, for a list, all",
               "VISIT");
        of.at(command)->add_flag("--no-visit", no_visit, "what is added belongs to no visit");
        option(command, "--remove", remove, "the one of that number in the list", "NUMBER");
    }
    option("note", "--add", add, "a new remark", "TEXT");
    option("photo", "--add", add, "a picture, which stays where it is", "PICTURE");
    option("photo", "--caption", caption, "what it shows", "TEXT");
    for (const char* command : {"readings", "runs"}) {
        option(command, "--panel", panel, "one of the job's panels; without it all", "PANEL");
        option(command, "--visit", visit, "by its date or label; without it all", "VISIT");
        option(command, "--unit", unit, "film thickness in um or mil", "um|mil")->capture_default_str();
    }
    option("import", "--when", when, "readings from before the work or after it", "before|after")
        ->capture_default_str();
    option("show", "--panel", panel, "one of the job's panels; without it all", "PANEL");
    option("show", "--unit", unit, "film thickness in um or mil", "um|mil")->capture_default_str();
    option("export", "--out", out, "the JSON file to write; without it, to the screen", "FILE.json");
    of.at("mark")->add_flag("--clean", clean, "washed and decontaminated");
    of.at("mark")->add_flag("--not-clean", not_clean, "not so, or no longer");
    option("mark", "--defects", defects, "what it was found with: a defects preset or file", "DEFECTS");
    option("work", "--done", done, "what was done, in words", "TEXT");
    of.at("work")->add_flag("--as-planned", as_planned,
                            "what the visit's plan says, and the film that it foretells for open ground");
    option("work", "--before", before, "mean of the gauge before", "LENGTH");
    option("work", "--after", after, "and after, on the same spots", "LENGTH");
    option("work", "--n-before", n_before, "readings behind the first", "NUMBER")->capture_default_str();
    option("work", "--n-after", n_after, "and behind the second", "NUMBER")->capture_default_str();
    option("work", "--repeatability", repeatability, "standard deviation of one reading on one spot",
           "LENGTH")
        ->capture_default_str();
    option("work", "--predicted", predicted, "mean loss by the model", "LENGTH");
    option("work", "--predicted-sd", predicted_sd, "its standard deviation", "LENGTH");
    option("plan", "--visit", visit, "by its date or label; without it the latest", "VISIT");
    option("plan", "--time-limit", time_limit, "for the whole vehicle, such as \"6 h\"", "TIME");
    option("plan", "--film-limit", film_limit, "most that any panel's open ground may lose", "LENGTH");
    option("plan", "--a-hv", a_hv,
           "a machine's vibration in m/s² from its papers, such as \"da-15=3.5\"; once for each",
           "MACHINE=VALUE");
    option("plan", "--task", tasks, "of the same day, such as \"sander=4.2, 30 min\"; once for each",
           "WHAT=VALUE, TIME");
    option("plan", "--out", out, "folder for plan.json and the chart of the front", "FOLDER");
    option("plan", "--unit", unit, "film thickness in um or mil", "um|mil")->capture_default_str();
    of.at("plan")->add_flag("--json", json, "print the plan as JSON");
    of.at("plan")->add_flag("!--no-keep", keep, "leave the job file as it is");
    threads.add_to(*of.at("plan"));
    option("sheet", "--for", reader, "who reads it: whoever does the work, or whose vehicle it is",
           "bench|customer")
        ->required();
    option("sheet", "--visit", visit, "by its date or label; without it the latest", "VISIT");
    option("sheet", "--page", page, "of a PDF", "a4|letter")->capture_default_str();
    option("sheet", "--unit", unit, "film thickness in um or mil", "um|mil")->capture_default_str();
    option("sheet", "--settings", settings,
           "the shop's name, lines and logo; without it shop.json beside the window's settings", "FILE.json");
    option("sheet", "--out", out, "sheet to write: .pdf, .html or .csv", "FILE")->required();
    for (const char* command : {"new", "add-panel", "visit", "mark"})
        option(command, "--note", note, "anything", "TEXT");
}

int command_job(const CLI::App& job, JobOptions& options) {
    demand_some("job", options.file, "a job file");
    for (const Command& command : commands)
        if (job.got_subcommand(command.name)) return command.run(options);
    throw std::logic_error("a job command without a function");
}

} // namespace sparecoat::cli
