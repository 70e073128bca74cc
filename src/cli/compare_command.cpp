#include "cli/compare_command.hpp"
#include "cli/compare_text.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "picture/compare_folder.hpp"
#include "units/error.hpp"
#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <iostream>
#include <limits>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {
namespace {

CompareRequest request_of(CompareOptions& o) {
    o.common.check();
    WorkOptions work;
    work.panel = o.panel, work.paint = o.paint, work.air = o.air, work.seed = o.seed,
    work.readings = o.readings;
    CompareRequest request;
    request.run = work.request(o.common.grid_m);
    request.techniques = o.techniques;
    demand_some("--defects", o.defects, "a preset of defects or a file");
    request.defects = o.defects;
    request.terms.replicates =
        static_cast<int>(whole_number("--replicates", o.replicates, most_replicates, fewest_replicates));
    request.terms.reserve_um = film_um("--reserve", o.reserve, 0, 200,
                                       "a thickness of 0 to 200 µm, such as \"15 um\" or \"0.6 mil\"");
    return request;
}

} // namespace

void CompareOptions::add_to(CLI::App& command) {
    command
        .add_option("technique", techniques,
                    "two to four technique presets or files; the others are held against the first")
        ->type_name("TECHNIQUE")
        ->required();
    command
        .add_option("--panel", panel,
                    "panel preset, a panel JSON, OBJ or STL file, or a plate such as \"1200x800 mm\"")
        ->type_name("PANEL")
        ->required();
    const auto option = [&](const char* name, std::string& value, const char* help, const char* type) {
        command.add_option(name, value, help)->type_name(type)->capture_default_str();
    };
    option("--paint", paint, "paint preset or file", "PAINT");
    option("--defects", defects, "what the panel is found with, preset or file", "DEFECTS");
    command
        .add_option("--readings", readings,
                    "gauge readings of this panel instead of the paint's nominal film")
        ->type_name("CSV");
    option("--air", air, "the workshop's temperature, and the panel's before work", "TEMPERATURE");
    option("--replicates", replicates, "draws of the hand; more narrow the intervals", "NUMBER");
    option("--seed", seed, "seed of the draws", "NUMBER");
    option("--reserve", reserve, "clear coat that has to stay", "LENGTH");
    command.add_option("--out", out, "folder for report, table and pictures")->type_name("FOLDER");
    option("--page", page, "of report.pdf: a4 or letter", "a4|letter");
    command.add_flag("--json", json, "print the comparison as JSON");
    common.add_to(command);
    threads.add_to(command);
}

int command_compare(CompareOptions& o) {
    if (o.out) demand_some("--out", *o.out, "a folder to write to");
    demand_one_of("--page", o.page, {"a4", "letter"});
    const CompareRequest request = request_of(o);
    const int threads = o.threads.count();
    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);

    Comparison comparison;
    {
        ProgressLine line;
        comparison = compare_techniques(Library::standard(), request, threads, [&](double share) {
            line.tell(share);
            return noted_signal() == 0;
        });
    }
    const FilmUnit unit = o.common.film_unit;
    const nlohmann::json document =
        folder ? write_comparison(folder->path(), comparison, unit,
                                  o.page == "letter" ? PaperSize::letter : PaperSize::a4)
               : comparison_json(comparison);
    stop_if_asked();
    if (folder) folder->commit();

    if (o.json) {
        std::cout << document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
    } else {
        std::cout << compare_text(comparison, unit);
        if (folder) std::cout << "Written      " << folder->target().string() << '\n';
        std::cout << cautions_text();
    }
    return 0;
}

} // namespace sparecoat::cli
