#include "cli/program.hpp"
#include "cli/compare_command.hpp"
#include "cli/demo_command.hpp"
#include "cli/evenness_command.hpp"
#include "cli/fit_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/job_command.hpp"
#include "cli/lesson_command.hpp"
#include "cli/list_command.hpp"
#include "cli/risk_command.hpp"
#include "cli/run_command.hpp"
#include "cli/section_command.hpp"
#include "cli/shot_command.hpp"
#include "cli/sweep_command.hpp"
#include "cli/usage.hpp"
#include "cli/view_command.hpp"
#include <CLI/CLI.hpp>
#include <functional>
#include <iostream>
#include <memory>

namespace sparecoat::cli {
namespace {

constexpr int bad_input = 2;
constexpr int stopped_by = 128; // a signal's number is added, as shells do

/// What a signal finds under way: nothing that has to be taken back, or a folder that is.
enum class OnSignal { ends_at_once, takes_back };

/// The subcommands, in the order of the help.
class Subcommands {
public:
    explicit Subcommands(CLI::App& app) : app_(app) {}

    /// @param work gets the options, filled in.
    template <class Options> void add(const char* name, const char* words, int (*work)(Options&),
                                      OnSignal on_signal = OnSignal::takes_back) {
        add_with<Options>(
            name, words, [work](const CLI::App&, Options& options) { return work(options); }, on_signal);
    }
    /// @param work also looks at which of its own subcommands or options were given.
    template <class Options, class Work>
    void add_with(const char* name, const char* words, Work work, OnSignal on_signal = OnSignal::takes_back) {
        const auto options = std::make_shared<Options>(); // where they are must not change any more
        CLI::App* command = app_.add_subcommand(name, words);
        options->add_to(*command);
        all_.push_back({command, [=] { return work(*command, *options); }, on_signal});
    }

    int run_chosen() const {
        for (const Subcommand& one : all_)
            if (*one.command) {
                if (one.on_signal == OnSignal::takes_back) note_signals();
                return one.work();
            }
        throw std::logic_error("no subcommand"); // one is required
    }

private:
    struct Subcommand {
        CLI::App* command;
        std::function<int()> work;
        OnSignal on_signal;
    };
    CLI::App& app_;
    std::vector<Subcommand> all_;
};

void add_all(Subcommands& commands) {
    constexpr OnSignal at_once = OnSignal::ends_at_once;
    commands.add("run", "Simulate one technique on one panel", command_run);
    commands.add("risk", "Where a technique may burn through, why, and which single change helps most",
                 command_risk);
    commands.add("compare", "Two to four techniques on one panel, with error bars", command_compare);
    commands.add_with<SectionOptions>(
        "section", "Test sections: what clears, what it costs, what to try next", command_section);
    commands.add("shot", "A picture of the panel in 3D at one moment of a run", command_shot, at_once);
    commands.add("view", "The window: watch a run, or drive the pad by hand", command_view, at_once);
    commands.add_with<LessonOptions>("lesson", "A mistake and its remedy, told step by step", command_lesson);
    commands.add("evenness", "Bands and marks by their wavelength, and the overlap that evens best",
                 command_evenness);
    commands.add("fit", "Cut, breakdown and pad factor from your own measured removal", command_fit);
    // An edit of a job is whole or not at all, whatever ends the program.
    commands.add_with<JobOptions>("job", "A vehicle's job file: panels, visits, readings, work, what is left",
                                  command_job, at_once);
    commands.add_with<SweepOptions>(
        "sweep", "Many runs over ranges of values: what depends on what, and the best of them",
        command_sweep);
    commands.add("list", "Presets by kind", command_list, at_once);
    commands.add("demo", "The rear door, worked with a mistake and without", command_demo);
}

} // namespace

int run_program(int argc, char** argv) {
    CLI::App app{"Sparecoat: what machine polishing takes off a panel's clear coat, where, and why.",
                 "sparecoat"};
    app.require_subcommand(1);
    app.set_version_flag("--version", "sparecoat " SPARECOAT_VERSION);
    Subcommands commands(app);
    add_all(commands);
    try {
        try {
            app.parse(argc, argv);
        } catch (const CLI::ParseError& error) {
            if (error.get_exit_code() == 0) return app.exit(error); // help or version was asked for
            throw usage_error(app, error);
        }
        return commands.run_chosen();
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

} // namespace sparecoat::cli
