#include "cli/fit_command.hpp"
#include "cli/fit_text.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "formats/whole_file.hpp"
#include "picture/fit_folder.hpp"
#include "run/run_job.hpp"
#include "study/fit.hpp"
#include "units/error.hpp"
#include <CLI/CLI.hpp>
#include <iostream>
#include <regex>

namespace sparecoat::cli {
namespace {

/// ISO 8601, as visits are dated.
void hold_to_a_day(const std::string& day) {
    if (!std::regex_match(day, std::regex(R"(\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01]))")))
        throw InputError("", "--day", "\"" + day + "\"", "a date such as 2026-03-14");
}

std::string text_of(const nlohmann::json& document) {
    return document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
}

} // namespace

void FitOptions::add_to(CLI::App& command) {
    command.add_option("measurements", measurements, "measured removal as CSV, see docs/formats.md")
        ->type_name("CSV")
        ->required();
    const auto preset = [&](const char* name, std::string& value, const char* help, const char* type) {
        return command.add_option(name, value, help)->type_name(type);
    };
    preset("--liquid", liquid, "liquid or paper to start from, preset or file", "LIQUID")->required();
    preset("--pad", pad, "pad of all rows that name none", "PAD")->required();
    preset("--machine", machine, "machine of all rows that name none", "MACHINE")->required();
    preset("--paint", paint, "paint of all rows that name none", "PAINT")->capture_default_str();
    preset("--panel", panel, "panel that the squares were worked on, in its middle", "PANEL")
        ->capture_default_str();
    preset("--charts", charts, "ending of the charts", "png|svg|pdf")->capture_default_str();
    preset("--unit", unit, "film thickness on the screen", "um|mil")->capture_default_str();
    command.add_option("--day", day, "of the fit, for the preset's provenance")->type_name("YYYY-MM-DD");
    command.add_flag("--exponents", exponents,
                     "also fit the exponents on pressure and speed; for rows at several forces and speeds");
    command.add_option("--save", save, "file for the fitted liquid; fitted pads are named after it")
        ->type_name("FILE.json");
    command.add_option("--out", out, "folder for the report, charts and presets")->type_name("FOLDER");
    command.add_flag("--json", json, "print the report as JSON");
    threads.add_to(command);
}

int command_fit(FitOptions& o) {
    if (o.out) demand_some("--out", *o.out, "a folder to write to");
    if (o.save) demand_some("--save", *o.save, "a file to write");
    if (o.save && !o.save->ends_with(".json"))
        throw InputError("", "--save", "\"" + *o.save + "\"", "a file that ends in .json");
    if (o.day) hold_to_a_day(*o.day);
    demand_one_of("--charts", o.charts, {"png", "svg", "pdf"});
    demand_one_of("--unit", o.unit, {"um", "mil"});
    const int threads = o.threads.count();
    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);

    FitReport report;
    {
        ProgressLine line;
        report = fit_measurements(
            Library::standard(),
            {o.measurements, o.liquid, o.pad, o.machine, o.paint, o.panel, o.day, o.exponents}, threads,
            [&](double share) {
                line.tell(share);
                return noted_signal() == 0;
            });
    }
    const nlohmann::json document = folder ? write_fit(folder->path(), report, o.charts) : fit_json(report);
    stop_if_asked();
    if (folder) folder->commit();
    if (o.save)
        for (const FittedPreset& preset : report.presets)
            write_whole(preset_file(*o.save, preset), text_of(preset.document));

    if (o.json) {
        std::cout << text_of(document);
        return 0;
    }
    std::cout << fit_text(report, o.unit == "mil" ? FilmUnit::mil : FilmUnit::um);
    if (o.save)
        for (const FittedPreset& preset : report.presets)
            std::cout << "Saved        " << preset_file(*o.save, preset).string() << '\n';
    if (folder) std::cout << "Written      " << folder->target().string() << '\n';
    std::cout << cautions_text();
    return 0;
}

} // namespace sparecoat::cli
