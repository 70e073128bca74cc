#include "cli/sweep_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/sweep_text.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "formats/whole_file.hpp"
#include "picture/sweep_charts.hpp"
#include "study/sweep/report.hpp"
#include "units/error.hpp"
#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <fmt/format.h>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <thread>

namespace sparecoat::cli {

namespace fs = std::filesystem;

namespace {

constexpr const char* csv_start = "run,point,paint,hand,";

/// A file that is no earlier export is somebody's.
void refuse_foreign_csv(const std::string& csv) {
    demand_some("--csv", csv, "a CSV file to write");
    std::ifstream file(csv, std::ios::binary);
    std::string line;
    if (file && std::getline(file, line) && !line.starts_with(csv_start))
        throw InputError(csv, "", "a file that is no earlier export",
                         "a new name, or an earlier export to be written anew");
}

Shard shard_of(const std::optional<std::string>& text) {
    if (!text) return {};
    const auto slash = text->find('/');
    const char* const allowed = "which of how many, such as \"2/8\"";
    if (slash == std::string::npos) throw InputError("", "--shard", "\"" + *text + "\"", allowed);
    constexpr std::uint64_t most = 1'000'000;
    const std::uint64_t index = whole_number("--shard", text->substr(0, slash), most);
    const std::uint64_t count = whole_number("--shard", text->substr(slash + 1), most);
    if (index < 1 || index > count) throw InputError("", "--shard", "\"" + *text + "\"", allowed);
    return {static_cast<std::size_t>(index - 1), static_cast<std::size_t>(count)};
}

std::vector<std::size_t> outputs_of(const std::vector<std::string>& names) {
    std::vector<std::size_t> outputs;
    for (const std::string& name : names) outputs.push_back(sweep_output(name, "--of"));
    if (outputs.empty())
        for (const char* usual : {"median_lost_um", "cleared", "chance"})
            outputs.push_back(sweep_output(usual, "--of"));
    return outputs;
}

/// A design with its presets and its runs' keys.
struct Asked {
    Library library = Library::standard();
    Sweep sweep;
    SweepKeys keys;

    Asked(const std::string& design, int threads)
        : sweep(library, library.sweep(design)), keys(keys_of(sweep, threads)) {}
};

// ---- run ------------------------------------------------------------------------------------------

/// The threads of one of several ranks on a computer: its share of them.
int threads_of(const SweepOptions& o, const Ranks& ranks) {
    const int asked = o.threads.count();
    if (asked > 0 || ranks.count() == 1) return asked;
    return std::max(1, static_cast<int>(std::thread::hardware_concurrency()) / ranks.here());
}

/// What a rank that does not lead does: it takes its runs, and has no word of its own.
int follow(const SweepOptions& o, const Ranks& ranks) {
    std::vector<std::uint8_t> go_ahead;
    ranks.share(go_ahead);
    if (go_ahead.empty()) return 0; // the leader has said why
    try {
        const int threads = threads_of(o, ranks);
        const Asked asked(o.design, threads);
        run_sweep(asked.sweep, asked.keys, nullptr, {}, threads, ranks,
                  [](double) { return noted_signal() == 0; });
    } catch (const std::exception& error) {
        std::cerr << fmt::format("sparecoat: rank {}: {}\n", ranks.rank(), error.what());
        ranks.abort(1);
    }
    return 0;
}

SweepCount run_showing_progress(const Asked& asked, SweepResults& results, Shard shard, int threads,
                                const Ranks& ranks) {
    ProgressLine line;
    return run_sweep(asked.sweep, asked.keys, &results, shard, threads, ranks, [&](double share) {
        line.tell(share);
        return noted_signal() == 0;
    });
}

int lead(const SweepOptions& o, const Ranks& ranks, bool& others_wait) {
    const Shard shard = shard_of(o.shard);
    const int threads = threads_of(o, ranks);
    if (o.csv) refuse_foreign_csv(*o.csv);
    if (o.csv && shard.count > 1)
        throw InputError("", "--csv", "a part of the sweep",
                         "--csv without --shard; or \"sparecoat sweep csv\" once the parts are merged");
    const Asked asked(o.design, threads);
    SweepResults results(o.db, SweepResults::Mode::create);
    std::vector<std::uint8_t> go_ahead{1};
    ranks.share(go_ahead);
    others_wait = false;

    const SweepCount count = run_showing_progress(asked, results, shard, threads, ranks);
    if (count.stopped) {
        std::cerr << fmt::format(
            "sparecoat: stopped; {} of {} runs are kept in {}, where the same command goes on\n",
            count.there + count.computed, count.asked, o.db);
        if (ranks.count() > 1) ranks.abort(128 + noted_signal());
        return 128 + noted_signal();
    }
    if (o.csv) write_whole(*o.csv, sweep_csv(asked.sweep, rows_of(asked.keys, results)));
    std::cout << count_text(asked.sweep, count, o.db);
    if (o.csv) std::cout << "Written      " << *o.csv << '\n';
    std::cout << cautions_text();
    return 0;
}

int command_run(const SweepOptions& o) {
    demand_some("--db", o.db, "a results file, made where there is none");
    const Ranks ranks;
    if (!ranks.leads()) return follow(o, ranks);
    bool others_wait = true;
    try {
        return lead(o, ranks, others_wait);
    } catch (const std::exception& error) {
        if (ranks.count() == 1) throw;
        if (others_wait) { // they may go home
            std::vector<std::uint8_t> none;
            ranks.share(none);
            throw;
        }
        std::cerr << "sparecoat: " << error.what() << '\n';
        ranks.abort(1);
    }
}

// ---- what is on file ------------------------------------------------------------------------------

int command_csv(const SweepOptions& o) {
    if (o.csv) refuse_foreign_csv(*o.csv);
    const Asked asked(o.design, o.threads.count());
    const std::string text = sweep_csv(asked.sweep, rows_of(asked.keys, {o.db, SweepResults::Mode::read}));
    if (o.csv) write_whole(*o.csv, text);
    std::cout << (o.csv ? "Written      " + *o.csv + "\n" : text);
    return 0;
}

int command_show(const SweepOptions& o) {
    const Asked asked(o.design, o.threads.count());
    std::cout << design_text(asked.sweep, asked.keys);
    if (!o.db.empty())
        std::cout << rows_text(asked.sweep, rows_of(asked.keys, {o.db, SweepResults::Mode::read}));
    std::cout << cautions_text();
    return 0;
}

int command_merge(const SweepOptions& o) {
    SweepResults into(o.db, SweepResults::Mode::create);
    for (const std::string& source : o.sources) {
        const std::size_t fresh = into.merge({source, SweepResults::Mode::read});
        std::cout << fmt::format("{}: {} rows were new\n", source, fresh);
    }
    std::cout << fmt::format("{} now has {} rows\n", o.db, into.rows());
    return 0;
}

SweepReport report_on(const Asked& asked, const SweepOptions& o) {
    return report_of(asked.sweep, rows_of(asked.keys, {o.db, SweepResults::Mode::read}),
                     outputs_of(o.outputs));
}

int command_indices(const SweepOptions& o) {
    const Asked asked(o.design, o.threads.count());
    if (asked.sweep.design().kind != DesignKind::saltelli)
        throw InputError(asked.sweep.design().file, "/design/kind",
                         fmt::format("\"{}\"", name_of(asked.sweep.design().kind)),
                         "\"saltelli\", which indices are worked out from; \"sparecoat sweep chart\" shows "
                         "main effects of any");
    const SweepReport report = report_on(asked, o);
    if (o.json)
        std::cout
            << sweep_json(asked.sweep, report).dump(2, ' ', false, nlohmann::json::error_handler_t::replace)
            << '\n';
    else std::cout << indices_text(asked.sweep, report) << cautions_text();
    return 0;
}

int command_chart(const SweepOptions& o) {
    demand_some("--out", *o.out, "a folder to write to");
    demand_one_of("--charts", o.format, {"png", "svg", "pdf"});
    const Asked asked(o.design, o.threads.count());
    const SweepReport report = report_on(asked, o);
    OutputFolder folder(*o.out);
    write_sweep(folder.path(), asked.sweep, report, o.format);
    stop_if_asked();
    folder.commit();
    std::cout << front_text(asked.sweep, report) << "Written      " << folder.target().string() << '\n'
              << cautions_text();
    return 0;
}

} // namespace

void SweepOptions::add_to(CLI::App& sweep) {
    sweep.require_subcommand(1);
    const auto command = [&](const char* name, const char* help) { return sweep.add_subcommand(name, help); };
    const auto add_design = [&](CLI::App& c) {
        c.add_option("design", design, "a preset of a sweep, or its file")->type_name("DESIGN")->required();
        threads.add_to(c);
    };
    const auto add_db = [&](CLI::App& c) {
        return c.add_option("--db", db, "the results file")->type_name("FILE.sqlite");
    };
    const auto add_outputs = [&](CLI::App& c) {
        c.add_option("--of", outputs, "an output to look at, such as cleared; may be given again")
            ->type_name("OUTPUT")
            ->expected(1)
            ->take_all();
    };

    CLI::App* run = command("run", "Compute whatever of a design is not in the results file yet");
    add_design(*run);
    add_db(*run)->required();
    run->add_option("--csv", csv, "the whole table, in design order")->type_name("FILE.csv");
    run->add_option("--shard", shard, "one of several equal parts alone, such as 2/8")->type_name("I/N");

    CLI::App* merge = command("merge", "Put the rows of results files into one");
    merge->add_option("into", db, "the results file to add to, made where there is none")
        ->type_name("INTO.sqlite")
        ->required();
    merge->add_option("from", sources, "results files")->type_name("FROM.sqlite")->required();

    CLI::App* show = command("show", "What a design comes to, and what is on file of it");
    add_design(*show);
    add_db(*show);

    CLI::App* csv_command = command("csv", "The table of a design, in design order");
    add_design(*csv_command);
    add_db(*csv_command)->required();
    csv_command->add_option("--csv", csv, "the file to write; without it the table is printed")
        ->type_name("FILE.csv");

    CLI::App* indices =
        command("indices", "Sobol indices: which factors an output depends on, alone and with others");
    add_design(*indices);
    add_db(*indices)->required();
    add_outputs(*indices);
    indices->add_flag("--json", json, "print them as JSON");

    CLI::App* chart =
        command("chart", "Charts of main effects, indices, and film lost against share cleared");
    add_design(*chart);
    add_db(*chart)->required();
    add_outputs(*chart);
    chart->add_option("--out", out, "folder for the charts and sweep.json")->type_name("FOLDER")->required();
    chart->add_option("--charts", format, "of the charts")->type_name("png|svg|pdf")->capture_default_str();
}

int command_sweep(const CLI::App& sweep, const SweepOptions& options) {
    if (sweep.got_subcommand("run")) return command_run(options);
    if (sweep.got_subcommand("merge")) return command_merge(options);
    if (sweep.got_subcommand("show")) return command_show(options);
    if (sweep.got_subcommand("csv")) return command_csv(options);
    if (sweep.got_subcommand("indices")) return command_indices(options);
    return command_chart(options);
}

} // namespace sparecoat::cli
