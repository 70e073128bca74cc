#include "cli/risk_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/risk_text.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "picture/risk_folder.hpp"
#include "study/risk.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <CLI/CLI.hpp>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {
namespace {

RiskRequest request_of(RiskOptions& o) {
    o.common.check();
    RiskRequest request;
    request.run = o.work.request(o.common.grid_m);
    request.terms.reserve_um = film_um("--reserve", o.reserve, 0, 200,
                                       "a thickness of 0 to 200 µm, such as \"15 um\" or \"0.6 mil\"");
    // A cut uncertain by 30 % either way: the logarithm's standard deviation is ln 1.3.
    request.terms.cut_sd = std::log1p(decimal("--cut-sd", o.cut_sd, 0, 2, "a share from 0 % to 200 %"));
    request.threshold = decimal("--threshold", o.threshold, 0.0001, 0.99, "a chance from 0.01 % to 99 %");
    const std::uint64_t draws = whole_number("--draws", o.draws, 1000000);
    if (draws < 2) throw InputError("", "--draws", o.draws, "2 to 1000000, each with its mirror image");
    request.terms.pairs = static_cast<int>((draws + 1) / 2);
    request.terms.seed = request.run.seed;
    request.spots = static_cast<int>(whole_number("--spots", o.spots, 9));
    return request;
}

} // namespace

void RiskOptions::add_to(CLI::App& command) {
    work.add_to(command);
    const auto option = [&](const char* name, std::string& value, const char* help, const char* type) {
        command.add_option(name, value, help)->type_name(type)->capture_default_str();
    };
    option("--reserve", reserve, "clear coat that has to stay", "LENGTH");
    option("--cut-sd", cut_sd, "how far the cut may lie from the presets, one standard deviation", "SHARE");
    option("--threshold", threshold, "chance from which a spot is at risk", "CHANCE");
    option("--draws", draws, "draws of the hand; more narrow the error", "NUMBER");
    option("--spots", spots, "for how many spots single changes are tried, 0 to 9", "NUMBER");
    command.add_option("--out", out, "folder for the report, fields and pictures")->type_name("FOLDER");
    command.add_flag("--json", json, "print the report as JSON");
    common.add_to(command);
    threads.add_to(command);
}

int command_risk(RiskOptions& o) {
    if (o.out) demand_some("--out", *o.out, "a folder to write to");
    const RiskRequest request = request_of(o);
    const int threads = o.threads.count();
    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);

    RiskReport report;
    {
        ProgressLine line;
        report = assess_risk(Library::standard(), request, threads, [&](double share) {
            line.tell(share);
            return noted_signal() == 0;
        });
    }
    const FilmUnit unit = o.common.film_unit;
    const nlohmann::json document = folder ? write_risk(folder->path(), report, unit) : risk_json(report);
    stop_if_asked();
    if (folder) folder->commit();

    if (o.json) {
        std::cout << document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
    } else {
        std::cout << risk_text(report, unit);
        if (folder) std::cout << "Written      " << folder->target().string() << '\n';
        std::cout << cautions_text();
    }
    return 0;
}

} // namespace sparecoat::cli
