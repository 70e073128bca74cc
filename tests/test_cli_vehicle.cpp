// The program as a person runs it: test sections, plans and sweeps.
#include "support/cli_desk.hpp"
#include "support/three_steps.hpp"
#include <catch2/catch.hpp>

namespace test_cli_vehicle {
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using namespace sparecoat::test::cli_desk;

// ---- test sections ----------------------------------------------------------------------------------

namespace {

/// One entry into minibus.json for the rear door.
Ended enter(const Desk& desk, std::vector<std::string> args) {
    args.insert(args.begin(), {"section", "record", "minibus.json", "--panel", "rear-door"});
    return desk.run(args);
}

std::string entered(const Desk& desk, std::vector<std::string> args) {
    const Ended ended = enter(desk, std::move(args));
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    return ended.out;
}

std::string advised(const Desk& desk, std::vector<std::string> args = {}) {
    args.insert(args.begin(), {"section", "advise", "minibus.json"});
    const Ended ended = desk.run(args);
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(std::regex_match(ended.err, progress_or_nothing));
    return ended.out;
}

/// Begins minibus.json with a kit that is soon simulated.
void begin_with_small_kit(const Desk& desk, std::vector<std::string> args) {
    desk.write("three-steps.json", three_steps_kit(three_steps_gauge));
    args.insert(args.end(), {"--kit", "three-steps.json"});
    entered(desk, std::move(args));
}

const char* const polish_step = "da-15+medium-foam-150+polish";

} // namespace

TEST_CASE("a severe panel is led from inspection to a stronger step by commands alone", "[cli][section]") {
    const Desk desk;
    const Ended predicted = desk.run({"section", "predict", "--panel", "rear-door", "--defects", "severe"});
    REQUIRE(predicted.code == 0);
    CHECK_THAT(predicted.out, Contains("wash swirls: depth ") && Contains("Try first: ") &&
                                  Contains(polish_step) && Contains("stone chips on the panel") &&
                                  Contains("Wear eye protection"));

    CHECK_THAT(entered(desk, {"--defects", "severe", "--clean"}), Contains("washed and decontaminated"));
    const std::string brief = advised(desk, {"--brief"});
    CHECK(std::ranges::count(brief, '\n') == 2); // one panel, and the cautions
    CHECK_THAT(brief, StartsWith("Minibus rear door: Try first: ") && Contains(" min, to clear ") &&
                          Contains("µm") && Contains("a chance of") && Contains("the gauge decides"));
    CHECK_THAT(refusal(desk, {"section", "advise", "minibus.json", "--brief", "--json"}),
               Contains("--brief and --json"));
    const std::string first =
        entered(desk, {"--square", "240 mm, 230 mm", "--step", polish_step, "--seen", "50 %", "--before",
                       "112.4 um", "--after", "111.6 um", "--n", "5"});
    CHECK_THAT(
        first,
        Contains("a taped square of 400 x 400 mm at 240 mm, 230 mm; 1 set of polish on medium foam 150 mm") &&
            Contains("seen: 50 %") && Contains("0.80 µm gone (± 0.63 µm)"));
    entered(desk, {"--step", polish_step, "--seen", "70 %", "--after", "110.9 um", "--n-after",
                   "5"}); // before is on file
    CHECK(desk.read("minibus.json")["panels"][0]["squares"][0]["tries"][1]["gauge"]["before"] == "112.4 µm");

    const std::string advice = advised(desk);
    for (const char* part :
         {"Next         One step stronger: ", "Why          What was done on the square, done to the panel, ",
          "expected ", "Learned      the paint is ", "the marks are ", "deeper than described",
          "the hand takes off ", "Candidates   by film lost", "To learn     ",
          "Unsure of    the film: no gauge readings", "Touch-up     about 20 stone chips",
          "estimates from a model", "Wear eye protection"})
        CHECK_THAT(advice, Contains(part));
}

TEST_CASE("a light panel is led to enough", "[cli][section]") {
    const Desk desk;
    begin_with_small_kit(desk, {"--defects", "light", "--clean", "--square", "240 mm, 230 mm", "--step",
                                polish_step, "--seen", "all", "--before", "112.4 um", "--after", "111.5 um",
                                "--n", "5"});
    CHECK_THAT(advised(desk), Contains("Next         Enough: 1 set of polish on medium foam 150 mm") &&
                                  Contains("It costs "));
}

TEST_CASE(
    "advice is written as a document that keeps to its schema, with a chart, and replaces an earlier one",
    "[cli][section][long]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--clean", "--step", polish_step, "--seen", "70 %"});
    const json document = json::parse(advised(desk, {"--json", "--out", "out"}));
    CHECK(deviations(document, advice_schema) == same);
    CHECK(document == desk.read("out/advice.json"));
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(desk / "out")) files.insert(entry.path().filename());
    CHECK(files == std::set<std::string>{"advice.json", "rear-door.png"});
    CHECK(bytes_of(desk / "out/rear-door.png").substr(0, 8) == "\x89PNG\r\n\x1a\n");
    const auto before = tree(desk.path());
    CHECK_THAT(advised(desk, {"--out", "out", "--threads", "1"}), Contains("Written      "));
    CHECK(differences(before, tree(desk.path())) == same);
    CHECK_THAT(advised(desk, {"--unit", "mil"}), Contains(" mil") && !Contains("µm of clear"));

    const Ended predicted = desk.run({"section", "predict", "--panel", "test-plate", "--json"});
    CHECK(predicted.code == 0);
    CHECK(deviations(json::parse(predicted.out), advice_schema) == same);
}

TEST_CASE("advice is withheld from a panel that is not clean, with the reason and the way on",
          "[cli][section]") {
    const Desk desk;
    begin_with_small_kit(desk, {"--defects", "severe", "--step", polish_step, "--seen", "70 %"});
    const std::string withheld = advised(desk);
    CHECK_THAT(withheld, Contains("Wash and decontaminate first: grit") &&
                             Contains("--panel rear-door --clean") && !Contains("Candidates"));
    entered(desk, {"--clean"});
    CHECK_THAT(advised(desk), Contains("Candidates"));
    entered(desk, {"--not-clean"});
    CHECK(advised(desk) == withheld);
}

TEST_CASE("odd looks get a worded answer", "[cli][section][long]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--clean", "--step", polish_step, "--seen", "better"});
    CHECK_THAT(advised(desk), Contains("\"better\" alone hardly tells"));
    entered(desk, {"--before", "112.4 um", "--after", "116 um", "--n", "5"}); // a look for the last try
    CHECK_THAT(advised(desk),
               Contains("Look again") && Contains("Film does not grow") && Contains("same marked spots"));
    entered(desk,
            {"--correct", "--seen", "100 %", "--before", "112.4 um", "--after", "112.4 um", "--n", "20"});
    CHECK_THAT(advised(desk),
               Contains("Look again") && Contains("fillers") && Contains("Were the gauge right"));
}

TEST_CASE("a panel with nothing recorded, or nothing but a square, is told what to try first",
          "[cli][section]") {
    const Desk desk;
    begin_with_small_kit(desk, {"--defects", "severe", "--clean"});
    CHECK_THAT(advised(desk), Contains("Try first: ") && Contains("no section was tried on the panel yet"));
    entered(desk, {"--square", "240 mm, 230 mm", "--size", "300 mm, 300 mm"});
    CHECK_THAT(advised(desk), Contains("Try first: ") && Contains("300 x 300 mm at 240 mm, 230 mm") &&
                                  !Contains("no section was tried on the panel yet"));
}

TEST_CASE("a record lies where it is put, and names files from there", "[cli][section]") {
    const Desk desk;
    fs::create_directory(desk / "jobs");
    desk.write("plate.json", plate_file(600, 500).dump());
    const Ended ended = desk.run({"section", "record", "jobs/plate-record.json", "--panel", "plate.json",
                                  "--clean", "--step", polish_step, "--seen", "most", "--name", "A plate"});
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(desk.read("jobs/plate-record.json")["panels"][0]["panel"] == "../plate.json");
    CHECK(desk.run({"section", "advise", "jobs/plate-record.json", "--panel", "plate.json"}).code == 0);
    // The usual square was taken and put on file.
    CHECK(desk.read("jobs/plate-record.json")["panels"][0]["squares"][0]["at"] == json({"300 mm", "250 mm"}));
}

TEST_CASE("a bad option of section is refused by its name, and the record stays as it was",
          "[cli][section]") {
    const Desk desk;
    entered(desk, {"--defects", "severe", "--step", polish_step, "--seen", "50 %"});
    const std::string before = bytes_of(desk / "minibus.json");
    const auto refused = [&](std::vector<std::string> args) {
        const Ended ended = enter(desk, std::move(args));
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        CHECK(bytes_of(desk / "minibus.json") == before);
        return ended.err;
    };
    CHECK_THAT(refused({"--step", "da-15+medium-foam-150+polsh"}),
               StartsWith("sparecoat: --step: ") && Contains(polish_step));
    CHECK_THAT(refused({"--step", polish_step, "--sets", "0"}), Contains("--sets: "));
    CHECK_THAT(refused({"--sets", "2"}), Contains("--sets: ") && Contains("--step"));
    CHECK_THAT(refused({"--step", polish_step, "--seen", "superb"}),
               Contains("--seen: ") && Contains("nearly all"));
    CHECK_THAT(refused({"--seen", "60 %"}), Contains("--seen: ") && Contains("--correct"));
    CHECK_THAT(refused({"--step", polish_step, "--after", "111 um"}),
               Contains("--after: ") && Contains("--before"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um"}),
               Contains("--before: ") && Contains("--after"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111", "--after", "110 um"}),
               Contains("--before: ") && Contains("without a unit"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um", "--after", "3 um"}),
               Contains("--after: "));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um", "--after", "30 um"}),
               Contains("/gauge/after: ") && Contains("another unit"));
    CHECK_THAT(refused({"--step", polish_step, "--n", "5"}), Contains("--n: ") && Contains("--after"));
    CHECK_THAT(refused({"--step", polish_step, "--before", "111 um", "--after", "110 um", "--n", "0"}),
               Contains("--n: "));
    CHECK_THAT(refused({"--square", "290 mm"}), Contains("--square: "));
    CHECK_THAT(refused({"--square", "290, 300 mm"}), Contains("--square: ") && Contains("without a unit"));
    CHECK_THAT(refused({"--square", "5 m, 5 m"}), Contains("off the panel"));
    CHECK_THAT(refused({"--square", "700 mm, 230 mm"}),
               Contains("ground of square 1, which is not untouched any more"));
    CHECK_THAT(refused({"--size", "400 mm, 400 mm"}), Contains("--size: ") && Contains("--square"));
    CHECK_THAT(refused({"--square", "290 mm, 300 mm", "--size", "1 mm, 1 mm"}), Contains("--size: "));
    CHECK_THAT(refused({"--kit", "other"}), Contains("--kit: "));
    CHECK_THAT(refused({"--clean", "--not-clean"}), Contains("--not-clean: "));
    CHECK_THAT(refused({"--paint", "sofd"}), Contains("/panels/0/paint: ") && Contains("'soft'"));
    CHECK_THAT(refused({"--readings", "none.csv"}), Contains("none.csv"));
    CHECK_THAT(refused({"--share", "120 %"}), Contains("--share: "));
    CHECK_THAT(refused({"--finish", "splendid"}), Contains("--finish: ") && Contains("full"));
    CHECK_THAT(refused({"--reserve", "3 N"}), Contains("--reserve: ") && Contains("a force"));
    CHECK_THAT(refused({"--unit", "mm"}), Contains("--unit: "));
    CHECK(std::distance(fs::directory_iterator(desk.path()), {}) == 1);

    const auto predict = [&](std::vector<std::string> args) {
        args.insert(args.begin(), {"section", "predict", "--panel", "test-plate"});
        return refusal(desk, args);
    };
    CHECK_THAT(predict({"--kit", "worksop"}), Contains("'workshop'"));
    CHECK_THAT(predict({"--keep", "2"}), StartsWith("--keep: "));
    CHECK_THAT(
        refusal(desk, {"section"}),
        StartsWith("section: found no command; allowed: one of the commands: predict, record, advise"));
    CHECK_THAT(refusal(desk, {"section", "predct"}),
               StartsWith("section: found no command \"predct\"; allowed: did you mean 'predict'?"));
    CHECK_THAT(refusal(desk, {"section", "predict"}), StartsWith("section predict: found no --panel"));
    CHECK_THAT(refusal(desk, {"section", "predict", "--panl", "x"}),
               StartsWith("section predict: found unknown option \"--panl\""));
    CHECK_THAT(refusal(desk, {"section", "advise"}), StartsWith("section advise: found no file"));
    CHECK_THAT(refusal(desk, {"section", "advise", "none.json"}),
               StartsWith("none.json: found no such file"));
    CHECK_THAT(refusal(desk, {"section", "advise", "minibus.json", "--panel", "rear-dor"}),
               Contains("'rear-door'"));
    CHECK_THAT(refusal(desk, {"section", "advise", "minibus.json", "--out", ""}), StartsWith("--out: "));
}

// ---- the plan of a vehicle ---------------------------------------------------------------------------

TEST_CASE("a job's plan is printed, written, kept in the job file and taken back", "[cli][plan][long]") {
    const Desk desk;
    const auto done = [&](std::vector<std::string> words) {
        words.insert(words.begin(), "job");
        const Ended ended = desk.run(words);
        INFO(ended.err);
        REQUIRE(ended.code == 0);
        return ended.out;
    };
    done({"new", "bus.sparecoat", "--name", "Minibus 3", "--kit", "workshop"});
    done({"add-panel", "bus.sparecoat", "--name", "left flap", "--panel", "test-plate"});
    done({"add-panel", "bus.sparecoat", "--name", "bumper", "--panel", "bumper-corner"});
    done({"visit", "bus.sparecoat", "--date", "2026-03-14"});
    done({"mark", "bus.sparecoat", "--panel", "left flap", "--clean", "--defects", "severe"});
    const std::string before = done({"export", "bus.sparecoat"});

    const std::string text = done(
        {"plan", "bus.sparecoat", "--a-hv", "da-15=3.5 m/s2", "--task", "sander=4, 30 min", "--out", "plan"});
    CHECK_THAT(text, Contains("left flap: planned") && Contains("bumper: wash and decontaminate first"));
    CHECK_THAT(text, Contains("A(8)") &&
                         Contains("sander: 4 m/s² for 30 min: 16 points")); // 100 (4/2.5)² 0.5/8 = 16
    CHECK_THAT(text, Contains("estimates from a model") && Contains("eye protection"));
    const json plan = desk.read("plan/plan.json");
    CHECK(deviations(plan, plan_schema) == same);
    CHECK(fs::file_size(desk / "plan/front.png") > 5000);

    const json kept = json::parse(done({"export", "bus.sparecoat"}));
    const json& at = kept["visits"][0]["panels"];
    REQUIRE(at.size() == 2);
    CHECK(at[0]["plan"] == plan["panels"][0]);
    const json& whole = kept["visits"][0]["plan"];
    CHECK(deviations(whole, visit_plan_schema) == same);
    CHECK(whole["totals"] == plan["totals"]);
    CHECK(whole["exposure"]["machines"][0] == json{{"machine", "da-15"}, {"a_hv_m_s2", 3.5}});
    CHECK(whole["exposure"]["tasks"][0] == json{{"what", "sander"}, {"a_hv_m_s2", 4}, {"time_s", 1800}});
    REQUIRE(at[0]["runs"].size() == plan["panels"][0]["steps"].size());
    CHECK(deviations(at[0]["runs"][0]["summary"], summary_schema) == same);
    CHECK(at[0]["runs"][0]["label"] == "plan: " + plan["panels"][0]["steps"][0]["step"].get<std::string>());

    // Again, as JSON: the same plan, in the place of the first.
    CHECK(json::parse(done({"plan", "bus.sparecoat", "--json", "--threads", "1", "--out", "plan"})) == plan);
    CHECK(json::parse(done({"export", "bus.sparecoat"}))["visits"][0]["panels"][0]["runs"].size() ==
          at[0]["runs"].size());
    done({"undo", "bus.sparecoat"});
    done({"undo", "bus.sparecoat"});
    CHECK(done({"export", "bus.sparecoat"}) == before);
    done({"plan", "bus.sparecoat", "--no-keep", "--time-limit", "0 min"});
    CHECK(done({"export", "bus.sparecoat"}) == before);
}

TEST_CASE("a plan's options are held to what they can be", "[cli][plan]") {
    const Desk desk;
    desk.run({"job", "new", "bus.sparecoat", "--name", "Minibus 3", "--kit", "workshop"});
    const auto refused = [&](std::vector<std::string> words) {
        words.insert(words.begin(), {"job", "plan", "bus.sparecoat"});
        const Ended ended = desk.run(words);
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        return ended.err;
    };
    CHECK_THAT(refused({}), Contains("no visit yet"));
    desk.run({"job", "visit", "bus.sparecoat", "--date", "2026-03-14"});
    CHECK_THAT(refused({}), Contains("no panel"));
    desk.run({"job", "add-panel", "bus.sparecoat", "--name", "flap", "--panel", "test-plate"});
    CHECK_THAT(refused({"--time-limit", "6"}), Contains("--time-limit") && Contains("6 h"));
    CHECK_THAT(refused({"--film-limit", "3 h"}), Contains("--film-limit"));
    CHECK_THAT(refused({"--a-hv", "da-15"}), Contains("--a-hv") && Contains("da-15=3.5"));
    CHECK_THAT(refused({"--a-hv", "da-51=3"}), Contains("--a-hv") && Contains("da-15"));
    CHECK_THAT(refused({"--a-hv", "da-15=300"}), Contains("--a-hv"));
    CHECK_THAT(refused({"--task", "sander=4"}), Contains("--task") && Contains("30 min"));
    desk.run({"job", "new", "bare.sparecoat", "--name", "Minibus 4"});
    desk.run({"job", "visit", "bare.sparecoat", "--date", "2026-03-14"});
    CHECK_THAT(desk.run({"job", "plan", "bare.sparecoat"}).err, Contains("no kit"));
}

// ---- sweeps

namespace {

/// Six runs of some milliseconds each, four of them different: with one factor the mixed points are those of
/// the second matrix.
json quick_sweep() {
    return {{"kind", "sweep"},
            {"name", "Quick"},
            {"panel", "small-plate"},
            {"technique", "small-head-detail"},
            {"design", {{"kind", "saltelli"}, {"points", 2}}},
            {"factors",
             json::array(
                 {{{"of", "technique"}, {"at", "/arm_speed"}, {"from", "150 mm/s"}, {"to", "300 mm/s"}}})}};
}

} // namespace

TEST_CASE("a sweep is run, shown, exported and looked at from the command line", "[cli][sweep]") {
    const Desk desk;
    desk.write("quick.json", quick_sweep().dump());
    const std::vector<std::string> on{"quick.json", "--db", "r.sqlite"};
    const auto sweep = [&](const std::string& command, std::vector<std::string> more = {}) {
        more.insert(more.begin(), on.begin(), on.end());
        more.insert(more.begin(), {"sweep", command});
        return desk.run(more);
    };
    const Ended early = sweep("csv");
    CHECK(early.code == 2);
    CHECK_THAT(early.err, Contains("r.sqlite: found no such file"));

    CHECK(sweep("run", {"--shard", "1/2"}).code == 0);
    const Ended half = sweep("csv");
    CHECK(half.code == 2);
    CHECK_THAT(half.err, Contains("4 of 6 runs without a row"));
    const Ended run = sweep("run", {"--csv", "out.csv"});
    CHECK(run.code == 0);
    CHECK_THAT(run.out, Contains("Computed     2 now, 2 were on file") && Contains("The film gauge decides"));
    CHECK(sweep("csv").out == bytes_of(desk / "out.csv"));
    CHECK_THAT(sweep("show").out, Contains("On file      6 of 6 runs") && Contains("150 mm/s to 300 mm/s"));

    const Ended indices = sweep("indices", {"--of", "minutes", "--json"});
    CHECK(indices.code == 0);
    CHECK(deviations(json::parse(indices.out), sweep_schema) == same);
    const Ended charts = sweep("chart", {"--out", "charts", "--of", "minutes", "--charts", "svg"});
    CHECK(charts.code == 0);
    CHECK(tree(desk / "charts").size() == 4);
    CHECK(desk.read("charts/sweep.json") == json::parse(indices.out));
    CHECK_THAT(sweep("indices", {"--of", "minute"}).err, Contains("did you mean 'minutes'"));

    desk.write("mine.csv", "mine\n");
    CHECK(sweep("run", {"--csv", "mine.csv"}).code == 2);
    CHECK(bytes_of(desk / "mine.csv") == "mine\n");
    CHECK_THAT(sweep("run", {"--shard", "3/2"}).err, Contains("--shard: found \"3/2\""));
    CHECK_THAT(sweep("run", {"--shard", "1/2", "--csv", "half.csv"}).err,
               Contains("--csv: found a part of the sweep"));
    const Ended merged = desk.run({"sweep", "merge", "all.sqlite", "r.sqlite"});
    CHECK(merged.out == "r.sqlite: 4 rows were new\nall.sqlite now has 4 rows\n");
}

} // namespace test_cli_vehicle
