// Sweeps: what a design may say, what its runs are, and that their rows do not depend on how they came about.
#include "library/presets.hpp"
#include "study/sweep/report.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include "support/refusal.hpp"
#include "support/skip.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdlib>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <thread>
#include <unistd.h>

namespace test_sweep {
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;

namespace {

const Library& library() {
    static const Library presets(source_at("presets"));
    return presets;
}

json range(const char* of, const char* at, const json& from, const json& to) {
    return {{"of", of}, {"at", at}, {"from", from}, {"to", to}};
}

/// One quick pass of a small head over a small plate; a run takes some milliseconds.
json quick_design(const json& changes = json::object()) {
    json design = {{"kind", "sweep"},
                   {"name", "Quick"},
                   {"panel", "small-plate"},
                   {"defects", "light"},
                   {"technique", "small-head-detail"},
                   {"grid", "4 mm"},
                   {"design", {{"kind", "sobol"}, {"points", 8}}},
                   {"factors",
                    {range("technique", "/force", "12 N", "30 N"), range("technique", "/passes", 1, 2),
                     range("technique", "/arm_speed", "150 mm/s", "300 mm/s")}}};
    design.merge_patch(changes);
    return design;
}

SweepDesign read(const json& design) { return read_sweep(design, "quick.json"); }
Sweep sweep_of(const json& design) { return {library(), read(design)}; }

InputError refused(const json& changes) {
    return refusal([&] { sweep_of(quick_design(changes)); });
}

/// Rows of a design as computed into a file of their own.
std::string csv_of(const Sweep& sweep, const fs::path& file, int threads, Shard shard = {}) {
    const SweepKeys keys = keys_of(sweep, threads);
    SweepResults results(file, SweepResults::Mode::create);
    const Ranks ranks;
    run_sweep(sweep, keys, &results, shard, threads, ranks);
    return shard.count > 1 ? std::string() : sweep_csv(sweep, rows_of(keys, results));
}

std::size_t rows_in(const fs::path& file) {
    try {
        return SweepResults(file, SweepResults::Mode::read).rows();
    } catch (const InputError&) {
        return 0; // not there yet
    }
}

} // namespace

// ---- what a design may say ------------------------------------------------------------------------

TEST_CASE("A factor's range is even in the unit it is written in, or in its logarithm", "[sweep]") {
    const Place place{"quick.json", "/factors/0"};
    SweepFactor factor{"force", PresetKind::technique, "/force", "12 N", "30 N"};
    CHECK(FactorScale(factor, place).value(0.5) == "21 N");
    CHECK(FactorScale(factor, place).column() == "force (N)");
    factor.from = 12, factor.to = "3 kgf";
    CHECK(FactorScale(factor, place).value(0.0) == 12.0); // a plain number is in SI
    CHECK(FactorScale(factor, place).number(1) == Approx(3 * 9.80665));
    factor = {"arm speed", PresetKind::technique, "/arm_speed", "20 mm/s", "0.08 m/s", true};
    CHECK(FactorScale(factor, place).value(0.5) == "40 mm/s");
    factor = {"air", PresetKind::paint, "/softening/from", "40 °C", "343.15 K"};
    CHECK(FactorScale(factor, place).value(1.0) == "70 °C");
}

TEST_CASE("Whole numbers and listed values have equal parts of the line each", "[sweep]") {
    const Place place{"quick.json", "/factors/0"};
    const SweepFactor passes{"passes", PresetKind::technique, "/passes", 2, 5};
    const FactorScale scale(passes, place);
    CHECK(scale.value(0.0) == 2);
    CHECK(scale.value(0.2499) == 2);
    CHECK(scale.value(0.25) == 3);
    CHECK(scale.value(0.9999) == 5);
    CHECK(scale.value(1.0) == 5);
    SweepFactor liquid{"liquid", PresetKind::technique, "/liquid", nullptr, nullptr};
    liquid.values = {"polish", "medium-polish", "finishing-polish"};
    CHECK(FactorScale(liquid, place).value(0.34) == "medium-polish");
    CHECK(FactorScale(liquid, place).word(1.0) == "finishing-polish");
    CHECK(FactorScale(liquid, place).words());
}

TEST_CASE("A design is refused with its own place for whatever is wrong with a factor", "[sweep]") {
    const auto with = [](const json& factor) { return refused({{"factors", json::array({factor})}}); };
    CHECK(with(range("technique", "/forc", "12 N", "30 N")).place() == "/factors/0/at");
    CHECK_THAT(with(range("technique", "/forc", "12 N", "30 N")).allowed(), Contains("did you mean 'force'"));
    CHECK(with(range("technique", "force", "12 N", "30 N")).place() == "/factors/0/at");
    // The form has it, the preset's file does not.
    CHECK(with(range("technique", "/tilt_toward", "1 deg", "5 deg")).place() == "/factors/0/at");
    CHECK(with(range("technique", "/force", "30 N", "12 N")).place() == "/factors/0/to");
    CHECK(with(range("technique", "/force", "12 mm", "30 N")).place() == "/factors/0/from");
    CHECK(with(range("technique", "/force", "12 N", "501 N")).place() == "/factors/0/to"); // against the form
    CHECK(with(range("technique", "/speed", "4000/min", "9000/min")).place() ==
          "/factors/0/to"); // against the machine
    CHECK_THAT(with(range("technique", "/speed", "4000/min", "9000/min")).allowed(), Contains("5500/min"));
    CHECK(with(range("technique", "/liquid", "polish", "p2000")).place() == "/factors/0/from");
    CHECK(with({{"of", "technique"}, {"at", "/liquid"}, {"values", {"polish", "polsh"}}}).place() ==
          "/factors/0/values/1");
    CHECK(with(range("liquid", "/abrasive/start", 0, "2 µm")).place() == "/factors/0/from");
    json log = range("technique", "/hold_back", "-5 mm", "5 mm");
    log["scale"] = "log";
    CHECK(with(log).place() == "/factors/0/from");
    json named = range("technique", "/force", "12 N", "30 N");
    named["name"] = "force, N";
    CHECK(with(named).place() == "/factors/0/name");
    CHECK(refused({{"factors", json::array({range("technique", "/force", "12 N", "30 N"),
                                            range("technique", "/force", "12 N", "30 N")})}})
              .place() == "/factors/1");
}

TEST_CASE("A design that names what is not there, or comes to too many runs, is refused at once", "[sweep]") {
    CHECK(refused({{"panel", "smal-plate"}}).place() == "/panel");
    CHECK(refused({{"paints", {"typical", "typicl"}}}).place() == "/paints/1");
    CHECK(refused({{"defects", "lite"}}).place() == "/defects");
    CHECK(refused({{"technique", "no-such"}}).place() == "/technique");
    CHECK(refused({{"design", {{"points", 9'000'000}}}, {"hands", 10'000}}).place() == "/design");
    CHECK(refused({{"design", {{"kind", "grid"}}}}).place() == "/design/points"); // a grid counts its own
}

// ---- what its runs are ----------------------------------------------------------------------------

TEST_CASE("A run of a sweep is the run that its technique and paint would be by themselves", "[sweep]") {
    const Sweep sweep = sweep_of(quick_design(
        {{"factors",
          json::array({range("technique", "/force", "12 N", "30 N"), range("paint", "/softness", 0.8, 1.2),
                       range("technique", "/arm_speed", "150 mm/s", "300 mm/s")})},
         {"paints", {"typical", "soft"}},
         {"hands", 2}}));
    const std::size_t run = 4 * 5 + 1; // sixth point, typical paint, second hand
    const std::span<const double> x = sweep.points().at(5);
    ScratchFolder folder;
    json paint = json::parse(bytes_of(source_at("presets/paints/typical.json")));
    paint["softness"] = sweep.factors()[1].number(x[1]);
    write_text(folder.path / "paint.json", paint.dump());
    Technique technique = library().technique("small-head-detail");
    technique.force_n = sweep.factors()[0].number(x[0]);
    technique.arm_speed_m_s = sweep.factors()[2].number(x[2]) * mm;
    RunRequest request;
    request.panel = "small-plate", request.technique = "small-head-detail";
    request.paint = (folder.path / "paint.json").string();
    request.grid_m = 0.004, request.seed = 2;
    std::vector<RunJob> jobs;
    jobs.push_back(prepare(library(), request, technique, nullptr));
    const json summary = summary_of(jobs.front(), run_jobs(jobs, 1).front());

    const SweepRow row = sweep.work(run).value();
    REQUIRE(row.error.empty());
    const auto value = [&](const char* name) { return row.values[sweep_output(name, "")]; };
    const auto hers = [&](const char* pointer) {
        return summary.at(json::json_pointer(pointer)).get<double>();
    };
    // Units are converted on the way of the sweep's text: some last digits.
    CHECK(value("median_lost_um") == Approx(hers("/open_panel/median_um")).epsilon(1e-6));
    CHECK(value("worst_lost_um") == Approx(hers("/removed/most_um")).epsilon(1e-6));
    CHECK(value("least_left_um") == Approx(hers("/removed/least_clear_left_um")).epsilon(1e-6));
    CHECK(value("mean_lost_um") ==
          Approx(hers("/removed/volume_mm3") / hers("/removed/worked_area_m2") * 1e-3).epsilon(1e-6));
    CHECK(value("peak_c") == Approx(hers("/heat/peak_film_c")).epsilon(1e-6));
    CHECK(value("spin_per_min") == Approx(hers("/spin/mean_per_min")).epsilon(1e-6));
    CHECK(value("minutes") == Approx(hers("/time_s") / 60).epsilon(1e-6));
}

TEST_CASE(
    "A run's key is of what it comes to: not of how it is written, nor of a seed without a varying hand",
    "[sweep]") {
    const auto keys = [](json changes) {
        changes["design"] = {{"points", 2}};
        return keys_of(sweep_of(quick_design(changes)), 1).of_run;
    };
    const auto one = [](const json& value) {
        return json{
            {"factors", json::array({json{{"of", "technique"}, {"at", "/arm_speed"}, {"values", {value}}}})}};
    };
    const std::vector<std::string> plain = keys(json::object());
    CHECK(plain.front().size() == 64);
    CHECK(keys(json::object()) == plain);
    CHECK(keys(one("0.2 m/s")) == keys(one("200 mm/s")));
    CHECK(keys(one("0.2096 m/s")) == keys(one("209.6 mm/s"))); // 209.6 / 1000 of doubles is another one
    CHECK(keys({{"name", "Another name"}}) == plain);
    CHECK(keys({{"grid", "2 mm"}})[0] != plain[0]);
    CHECK(keys({{"seed", 2}})[0] != plain[0]);
    CHECK(keys({{"defects", "severe"}})[0] != plain[0]);
    CHECK(keys({{"air", "25 °C"}})[0] != plain[0]);
    CHECK(keys({{"reserve", "20 µm"}})[0] != plain[0]);

    ScratchFolder folder;
    json steady = json::parse(bytes_of(source_at("presets/techniques/small-head-detail.json")));
    steady.erase("hand");
    write_text(folder.path / "steady.json", steady.dump());
    const SweepKeys hands = keys_of(
        sweep_of(quick_design({{"technique", (folder.path / "steady.json").string()}, {"hands", 3}})), 1);
    CHECK(hands.of_run.size() == 24);
    CHECK(hands.first.size() == 8); // three steady hands are one
}

TEST_CASE("A key does not depend on the sizes of a pad that are not used, and does on a shape's file",
          "[sweep]") {
    ScratchFolder folder;
    json technique = json::parse(bytes_of(source_at("presets/techniques/small-head-detail.json")));
    json pad = json::parse(bytes_of(source_at("presets/pads/medium-foam.json")));
    technique["pad"] = "pad.json#75";
    write_text(folder.path / "t.json", technique.dump());
    const auto key = [&](const std::string& panel) {
        write_text(folder.path / "pad.json", pad.dump());
        return sweep_of(quick_design({{"technique", (folder.path / "t.json").string()}, {"panel", panel}}))
            .key(0);
    };
    const std::string first = key("small-plate");
    pad["sizes"][2]["thickness"] = "26 mm"; // of 125 mm
    CHECK(key("small-plate") == first);
    pad["sizes"][1]["thickness"] = "21 mm";
    CHECK(key("small-plate") != first);

    const auto plate = [&](int right) {
        write_text(folder.path / "plate.obj",
                   "v 0 0 0\nv " + std::to_string(right) + " 0 0\nv 300 240 0\nv 0 240 0\nf 1 2 3 4\n");
        const json panel = {{"kind", "panel"},
                            {"name", "Plate"},
                            {"substrate", "steel"},
                            {"mesh", {{"file", "plate.obj"}, {"unit", "1 mm"}}}};
        write_text(folder.path / "panel.json", panel.dump());
        return std::pair(key((folder.path / "plate.obj").string()),
                         key((folder.path / "panel.json").string()));
    };
    const auto of_300 = plate(300), again = plate(300), of_290 = plate(290);
    CHECK(again == of_300);
    CHECK(of_290.first != of_300.first);
    CHECK(of_290.second != of_300.second);
}

TEST_CASE("Main effects of Saltelli's scheme are over the points of A and B, each once", "[sweep]") {
    const Sweep sweep = sweep_of(quick_design({{"design", {{"kind", "saltelli"}, {"points", 2}}}}));
    const std::size_t factors = sweep.factors().size();
    std::vector<std::optional<SweepRow>> rows(sweep.runs());
    for (std::size_t run = 0; run < rows.size(); ++run) {
        rows[run].emplace();
        rows[run]->values.fill(static_cast<double>(run));
    }
    const SweepReport report = report_of(sweep, rows, {0});
    REQUIRE(sweep.points().count() == 2 * (factors + 2));
    for (const std::vector<EffectLevel>& effect : nonempty(report.outputs[0].effects)) {
        std::size_t points = 0;
        for (const EffectLevel& level : effect) points += level.points;
        CHECK(points == 4); // two rows of A, two of B
    }
}

TEST_CASE("A point's figure is the mean of its own runs", "[sweep]") {
    const Sweep sweep = sweep_of(quick_design({{"hands", 2}}));
    std::vector<std::optional<SweepRow>> rows(sweep.runs());
    for (std::size_t run = 0; run < rows.size(); ++run) {
        rows[run].emplace();
        rows[run]->values.fill(static_cast<double>(sweep.place(run).point) +
                               (sweep.place(run).hand == 0 ? -0.25 : 0.25));
    }
    const SweepReport report = report_of(sweep, rows, {0});
    CHECK(report.outputs[0].least == 0);
    CHECK(report.outputs[0].most == 7);
    CHECK(report.outputs[0].mean == Approx(3.5));
}

TEST_CASE("Values that do not go together make a row that says so, and the sweep goes on", "[sweep]") {
    // 5400/min is beyond the small rotary; each of the two changes alone holds.
    const Sweep sweep = sweep_of(quick_design(
        {{"design", {{"kind", "grid"}, {"points", nullptr}}},
         {"factors",
          json::array(
              {json{{"of", "technique"}, {"at", "/machine"}, {"values", {"da-mini-12", "rotary-mini"}}},
               json{{"of", "technique"}, {"at", "/speed"}, {"values", {"4500/min", "5400/min"}}},
               json{{"of", "technique"}, {"at", "/arm_speed"}, {"values", {"300 mm/s"}}}})}}));
    ScratchFolder folder;
    const SweepKeys keys = keys_of(sweep, 2);
    SweepResults results(folder.path / "r.sqlite", SweepResults::Mode::create);
    const SweepCount count = run_sweep(sweep, keys, &results, {}, 2, Ranks());
    CHECK(count.computed == 4);
    CHECK(count.failed == 1);
    const auto rows = rows_of(keys, results);
    CHECK(rows[2]->error.empty());
    CHECK_THAT(rows[3]->error, Contains("/speed") && Contains("5400/min") && Contains("5000/min"));
    CHECK_THAT(sweep_csv(sweep, rows), Contains("rotary-mini,5400/min,300 mm/s,,,,"));
    const SweepReport report = report_of(sweep, rows, {0});
    CHECK(report.failed == 1);
    CHECK(report.points == std::vector<std::size_t>{0, 1, 2});
}

TEST_CASE("The figures of one run are those of this version of the model", "[sweep]") {
    // Whoever changes them raises sweep_model, so that no file's old rows are taken for new ones, and puts
    // the new ones here.
    const Sweep sweep = sweep_of(quick_design(
        {{"factors",
          json::array({json{{"of", "technique"}, {"at", "/arm_speed"}, {"values", {"200 mm/s"}}}})}}));
    const SweepRow row = sweep.work(0).value();
    CHECK(sweep_model == 3);
    const std::array<double, sweep_output_count> frozen{0.1532132328,
                                                        0.1157850274,
                                                        0.2160664201,
                                                        31.3578509428,
                                                        0.1355589691,
                                                        0.4933494291,
                                                        1.5861541175,
                                                        85.9328026,
                                                        91.3480514,
                                                        0.0000086164,
                                                        25.8492836952,
                                                        397.1253581887,
                                                        0,
                                                        0.651899342};
    for (std::size_t k = 0; k < frozen.size(); ++k) {
        INFO(sweep_outputs[k].name);
        CHECK(row.values[k] == Approx(frozen[k]).epsilon(1e-5));
    }
}

// ---- that rows do not depend on how they came about -----------------------------------------------

TEST_CASE("The table is the same bytes for any number of threads, and nothing is computed twice", "[sweep]") {
    const Sweep sweep = sweep_of(quick_design({{"hands", 2}}));
    ScratchFolder folder;
    const std::string one = csv_of(sweep, folder.path / "one.sqlite", 1);
    CHECK(csv_of(sweep, folder.path / "four.sqlite", 4) == one);
    CHECK(std::ranges::count(one, '\n') == 17);
    CHECK(one.starts_with("run,point,paint,hand,force (N),passes,arm_speed (mm/s),median_lost_um,"));

    // Another design that has some of the same runs.
    const Sweep first_half = sweep_of(quick_design({{"design", {{"points", 4}}}}));
    SweepResults results(folder.path / "one.sqlite", SweepResults::Mode::write);
    const SweepCount count = run_sweep(first_half, keys_of(first_half, 1), &results, {}, 1, Ranks());
    CHECK(count.there == 4);
    CHECK(count.computed == 0);
}

TEST_CASE("Shards computed apart and merged are the whole", "[sweep]") {
    const Sweep sweep = sweep_of(quick_design());
    ScratchFolder folder;
    const std::string whole = csv_of(sweep, folder.path / "whole.sqlite", 2);
    SweepResults into(folder.path / "into.sqlite", SweepResults::Mode::create);
    for (std::size_t k = 0; k < 3; ++k) {
        const fs::path part = folder.path / fmt::format("part-{}.sqlite", k);
        csv_of(sweep, part, 2, {k, 3});
        CHECK(into.merge({part, SweepResults::Mode::read}) == (k < 2 ? 3U : 2U));
        CHECK(into.merge({part, SweepResults::Mode::read}) == 0);
    }
    CHECK(sweep_csv(sweep, rows_of(keys_of(sweep, 1), into)) == whole);
}

TEST_CASE("A row that says something else than the one on file is refused, and no part of its batch is kept",
          "[sweep]") {
    ScratchFolder folder;
    SweepResults results(folder.path / "r.sqlite", SweepResults::Mode::create);
    KeyedRow row{std::string(64, 'a'), {}};
    row.row.values.fill(1);
    results.put(std::span(&row, 1));
    std::vector<KeyedRow> batch{{std::string(64, 'b'), row.row}, row};
    batch[1].row.values[3] = 2;
    CHECK_THAT(refusal([&] { results.put(batch); }).found(), Contains("another outcome of the same run"));
    CHECK(results.rows() == 1);
    CHECK(results.row(row.key)->values == row.row.values);
}

TEST_CASE("A file that is no results file is left as it is", "[sweep]") {
    ScratchFolder folder;
    {
        Database other(folder.path / "other.sqlite", Database::Mode::create);
        other.execute("CREATE TABLE mine (x)");
    }
    CHECK_THAT(
        refusal([&] { SweepResults(folder.path / "other.sqlite", SweepResults::Mode::create); }).found(),
        Contains("another kind of database"));
    write_text(folder.path / "text.sqlite", "not a database, and long enough to be looked at as one");
    CHECK_THAT(
        refusal([&] { SweepResults(folder.path / "text.sqlite", SweepResults::Mode::create); }).found(),
        Contains("a damaged results file"));
    CHECK_THAT(refusal([&] { SweepResults(folder.path / "none.sqlite", SweepResults::Mode::read); }).found(),
               Contains("no such file"));
}

TEST_CASE("A sweep that is killed or stopped and started again has the table of one that was not",
          "[sweep]") {
    ScratchFolder folder;
    const fs::path design = folder.path / "quick.json", db = folder.path / "r.sqlite";
    write_text(design, quick_design({{"design", {{"points", 40}}}}).dump());
    const std::vector<std::string> args{"sweep",     "run", design.string(), "--db", db.string(),
                                        "--threads", "1"};
    std::size_t kept = 0;
    for (const int signal : {SIGKILL, SIGINT, SIGKILL}) {
        const pid_t pid = start_program(built_program(), args);
        for (int look = 0; look < 6000 && rows_in(db) <= kept; ++look)
            std::this_thread::sleep_for(std::chrono::milliseconds(10));
        ::kill(pid, signal);
        const int code = wait_for(pid);
        CHECK((code == 128 + signal || code == 0)); // it may just have ended
        CHECK(rows_in(db) > kept);
        kept = rows_in(db);
        if (kept == 40) break;
    }
    std::vector<std::string> last = args;
    last.insert(last.end(), {"--csv", (folder.path / "resumed.csv").string()});
    CHECK(wait_for(start_program(built_program(), last)) == 0);
    const Sweep sweep(library(), library().sweep(design.string()));
    CHECK(bytes_of(folder.path / "resumed.csv") == csv_of(sweep, folder.path / "straight.sqlite", 2));
}

TEST_CASE("Under mpirun the table is the same for any number of ranks", "[sweep]") {
    if (!Ranks::built_in()) skip("the program is built without MPI");
    if (run_line("command -v mpirun").code != 0) skip("no mpirun is installed");
    ScratchFolder folder;
    const fs::path design = folder.path / "quick.json";
    write_text(design, quick_design().dump());
    const Sweep sweep(library(), library().sweep(design.string()));
    const std::string straight = csv_of(sweep, folder.path / "straight.sqlite", 1);
    const std::vector<std::string> counts{"1", "2", "4"};
    std::vector<pid_t> started;
    for (const std::string& ranks : counts)
        started.push_back(
            start_program("mpirun", {"--allow-run-as-root", "--oversubscribe", "--bind-to", "none", "-n",
                                     ranks, built_program(), "sweep", "run", design.string(), "--db",
                                     (folder.path / (ranks + ".sqlite")).string(), "--csv",
                                     (folder.path / (ranks + ".csv")).string(), "--threads", "1"}));
    for (std::size_t k = 0; k < counts.size(); ++k) {
        INFO(counts[k] << " ranks");
        CHECK(wait_for(started[k]) == 0);
        CHECK(bytes_of(folder.path / (counts[k] + ".csv")) == straight);
    }
}

} // namespace test_sweep
