#include "cli/view_command.hpp"
#include <CLI/CLI.hpp>

namespace sparecoat::cli {

void ViewOptions::add_to(CLI::App& command) {
    command.add_option("--job", window.job, "a vehicle's job file: its board is shown")
        ->type_name("FILE.sparecoat");
    command.add_option("--panel", window.panel, "panel to open; without it the last one")->type_name("PANEL");
    command.add_option("--technique", window.technique, "technique to open")->type_name("TECHNIQUE");
    command.add_option("--against", window.against, "techniques to see side by side with it, one to three")
        ->type_name("TECHNIQUE");
    CLI::Option* sweep_option =
        command.add_option("--sweep", sweep_design, "a sweep's design: its charts are shown")
            ->type_name("DESIGN");
    CLI::Option* results_option =
        command.add_option("--db", sweep_results, "the results file of that sweep")->type_name("FILE");
    sweep_option->needs(results_option), results_option->needs(sweep_option);
    command.add_option("--paint", window.paint, "paint to open")->type_name("PAINT");
    command.add_option("--defects", window.defects, "marks that the lamp shows on it, preset or file")
        ->type_name("DEFECTS");
    command
        .add_option("--readings", window.readings,
                    "gauge readings of this panel instead of the paint's nominal film")
        ->type_name("FILE.csv");
}

int command_view(ViewOptions& o) {
    if (o.sweep_design) o.window.sweep = WindowRequest::SweepOnFile{*o.sweep_design, o.sweep_results};
    return run_window(o.window);
}

} // namespace sparecoat::cli
