#include "cli/evenness_command.hpp"
#include "cli/evenness_text.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "picture/evenness_folder.hpp"
#include "units/error.hpp"
#include <CLI/CLI.hpp>
#include <iostream>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {
namespace {

EvennessRequest request_of(EvennessOptions& o) {
    o.common.check();
    EvennessRequest request;
    request.run = o.work.request(o.common.grid_m);
    request.overlap_from = decimal("--from", o.from, 0, 0.95, "an overlap from 0 % to 95 %");
    request.overlap_to = decimal("--to", o.to, 0, 0.95, "an overlap from 0 % to 95 %");
    request.overlap_step = decimal("--step", o.step, 0.01, 0.5, "a step from 1 % to 50 %");
    if (request.overlap_to < request.overlap_from)
        throw InputError("", "--to", o.to + ", below --from " + o.from, "an overlap of --from or more");
    demand_one_of("--marks", o.marks, {"on", "off"});
    request.marks = o.marks == "on";
    return request;
}

} // namespace

void EvennessOptions::add_to(CLI::App& command) {
    work.add_to(command);
    const auto option = [&](const char* name, std::string& value, const char* help, const char* type) {
        command.add_option(name, value, help)->type_name(type)->capture_default_str();
    };
    option("--from", from, "smallest overlap that is tried", "SHARE");
    option("--to", to, "largest", "SHARE");
    option("--step", step, "between them", "SHARE");
    option("--marks", marks, "also run a strip with every orbit resolved", "on|off");
    option("--charts", charts, "ending of the charts", "png|svg|pdf");
    command.add_option("--out", out, "folder for the report, the map and charts")->type_name("FOLDER");
    command.add_flag("--json", json, "print the report as JSON");
    common.add_to(command);
    threads.add_to(command);
}

int command_evenness(EvennessOptions& o) {
    if (o.out) demand_some("--out", *o.out, "a folder to write to");
    demand_one_of("--charts", o.charts, {"png", "svg", "pdf"});
    const EvennessRequest request = request_of(o);
    const int threads = o.threads.count();
    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);

    EvennessReport report;
    {
        ProgressLine line;
        report = assess_evenness(Library::standard(), request, threads, [&](double share) {
            line.tell(share);
            return noted_signal() == 0;
        });
    }
    const FilmUnit unit = o.common.film_unit;
    const nlohmann::json document =
        folder ? write_evenness(folder->path(), report, unit, o.charts) : evenness_json(report);
    stop_if_asked();
    if (folder) folder->commit();

    if (o.json) {
        std::cout << document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
    } else {
        std::cout << evenness_text(report, unit);
        if (folder) std::cout << "Written      " << folder->target().string() << '\n';
        std::cout << cautions_text();
    }
    return 0;
}

} // namespace sparecoat::cli
