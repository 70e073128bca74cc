// The program as a person runs it: comparisons, chances, fits, evenness and lessons.
#include "support/cli_desk.hpp"
#include <catch2/catch.hpp>

namespace test_cli_studies {
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using namespace sparecoat::test::cli_desk;

// ---- techniques compared ----------------------------------------------------------------------------

TEST_CASE("a comparison is written as a document that keeps to its schema, with a report, and replaces an "
          "earlier one",
          "[cli][compare]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("quick.json", quick_technique());
    desk.write("cut.json", quick_technique({{"name", "Cut"}, {"liquid", "cutting-compound"}}));
    const auto with = [&](const char* threads, const char* out) {
        return desk.run({"compare", "quick.json", "cut.json", "--panel", "plate.json", "--replicates", "5",
                         "--threads", threads, "--json", "--out", out});
    };
    const Ended ended = with("1", "both");
    REQUIRE(ended.code == 0);
    const json document = json::parse(ended.out);
    CHECK(deviations(document, comparison_schema) == same);
    CHECK(document == desk.read("both/compare.json"));
    CHECK(document["measures"][0]["techniques"][1]["draws"].size() == 5);
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(desk / "both")) files.insert(entry.path().filename());
    CHECK(files == std::set<std::string>{"compare.csv", "compare.json", "difference-B.png", "film_lost-A.png",
                                         "film_lost-B.png", "film_lost.png", "measures.svg", "report.html",
                                         "report.pdf"});
    const auto first = tree(desk / "both");
    REQUIRE(with("3", "both").code == 0);
    CHECK(differences(tree(desk / "both"), first) == same);
}

TEST_CASE("a comparison prints a table with intervals, a sentence and the cautions", "[cli][compare]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("quick.json", quick_technique());
    desk.write("cut.json", quick_technique({{"name", "Cut"}, {"liquid", "cutting-compound"}}));
    const Ended ended =
        desk.run({"compare", "quick.json", "cut.json", "--panel", "plate.json", "--replicates", "5"});
    REQUIRE(ended.code == 0);
    CHECK(std::regex_search(
        ended.out,
        std::regex(R"(film lost, open panel, µm +\d+\.\d\d \(\d+\.\d\d to \d+\.\d\d\) +\d+\.\d\d)")));
    CHECK_THAT(ended.out,
               Contains("more than noise") && Contains("Against A, B takes") && Contains("eye protection"));
    CHECK_THAT(ended.out, Contains("  liquid    Polish   Cutting compound\n"));
}

TEST_CASE("what cannot be compared is refused in words", "[cli][compare]") {
    const Desk desk;
    const auto refused = [&](std::vector<std::string> args) {
        args.insert(args.begin(), "compare");
        args.insert(args.end(), {"--panel", "test-plate"});
        const Ended ended = desk.run(args);
        CHECK(ended.code == 2);
        return ended.err;
    };
    CHECK_THAT(refused({"heavy-cut"}), Contains("found one; allowed: 2 to 4 techniques, each once"));
    CHECK_THAT(refused({"heavy-cut", "heavy-cut"}), Contains("\"heavy-cut\" twice"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "polish-da-15", "polish-da-21", "finishing-pass"}),
               Contains("found 5"));
    CHECK_THAT(refused({"heavy-cut", "polish-da-51"}), Contains("polish-da-15"));
    CHECK_THAT(refused({}), Contains("no technique"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "--replicates", "3"}),
               Contains("a whole number from 4 to 400"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "--page", "a3"}), Contains("a4"));
    CHECK_THAT(refused({"heavy-cut", "gear-cut", "--defects", "sevre"}), Contains("severe"));
}

// ---- the chance of burning through ------------------------------------------------------------------

TEST_CASE("risk names the wing's arch edge first, says why, and finds the change that helps", "[cli][risk]") {
    const Desk desk;
    const std::string readings = source_dir / "presets" / "demo" / "readings-front-wing.csv";
    const Ended ended =
        desk.run({"risk", "--panel", "front-wing", "--technique", "edge-overrun", "--readings", readings,
                  "--grid", "4 mm", "--draws", "8", "--spots", "1", "--json", "--out", "wing"});
    REQUIRE(ended.code == 0);
    const json report = json::parse(ended.out);
    CHECK(deviations(report, risk_schema) == same);
    CHECK(report == desk.read("wing/risk.json"));
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(desk / "wing")) files.insert(entry.path().filename());
    CHECK(files == std::set<std::string>{"chance.npy", "chance.png", "chance_error.npy",
                                         "clear_before_um.npy", "clear_left.png", "clear_sd_um.npy",
                                         "fields.vti", "mean_removed_um.npy", "risk.json"});

    REQUIRE(report["spots"].size() > 1);
    const json& spot = report["spots"][0];
    CHECK_THAT(spot["place"].get<std::string>(), Contains("the wheel arch edge"));
    CHECK(spot["chance"].get<double>() > 0.05);
    for (std::size_t k = 1; k < report["spots"].size(); ++k)
        CHECK(report["spots"][k]["chance"] <= report["spots"][k - 1]["chance"]);
    // The split multiplies out, and to what the losses themselves say.
    const json& split = spot["against_open_panel"];
    double product = 1;
    for (const char* factor : {"time", "pressure", "speed", "cut", "heat", "film"})
        product *= split[factor].get<double>();
    CHECK(product == Approx(split["all"].get<double>()).epsilon(1e-12));
    CHECK(product > 2);
    // What a map's cell holds is what is printed of it.
    const Array chance(desk / "wing" / "chance.npy");
    double most = 0;
    for (const float value : chance.values)
        if (std::isfinite(value)) most = std::max(most, static_cast<double>(value));
    CHECK(most == Approx(spot["chance"].get<double>()));

    const json& remedies = spot["remedies"];
    REQUIRE(remedies.size() >= 6);
    CHECK(remedies[0]["chance"].get<double>() < 0.01);
    std::set<std::string> kinds;
    for (const json& remedy : remedies) kinds.insert(remedy["kind"]);
    CHECK(kinds == std::set<std::string>{"hold back", "tape", "flatter", "lighter", "smaller pad",
                                         "milder liquid", "faster arm"});
    for (const json& remedy : remedies) {
        const json& before = report["inputs"]["technique"];
        const json changed = json::diff(before, remedy["technique"]);
        CHECK(!changed.empty()); // a change is a change
    }
}

TEST_CASE("risk gives the same bytes with any number of threads", "[cli][risk]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("over.json",
               quick_technique({{"hold_back", "-75 mm"}, {"liquid", "cutting-compound"}, {"passes", 2}}));
    const auto with = [&](const char* threads, const char* out) {
        REQUIRE(desk.run({"risk", "--panel", "plate.json", "--technique", "over.json", "--reserve", "27 um",
                          "--draws", "12", "--grid", "4 mm", "--threads", threads, "--out", out})
                    .code == 0);
        return tree(desk / out);
    };
    const auto one = with("1", "one");
    CHECK(differences(with("3", "three"), one) == same);
    const json report = desk.read("one/risk.json");
    CHECK(!report["spots"].empty());
    CHECK(!report["spots"][0]["remedies"].empty());
}

TEST_CASE("where nothing is at risk the answer says so and how near it came; a steady hand is not drawn",
          "[cli][risk]") {
    const Desk desk;
    desk.write("plate.json", plate_file(300, 250).dump());
    desk.write("quick.json", quick_technique());
    desk.write("steady.json", quick_technique({{"hand", nullptr}}));
    const auto risk = [&](const char* technique) {
        const Ended ended = desk.run(
            {"risk", "--panel", "plate.json", "--technique", technique, "--grid", "4 mm", "--draws", "4"});
        REQUIRE(ended.code == 0);
        return ended.out;
    };
    const std::string quick = risk("quick.json");
    CHECK_THAT(quick, Contains("At risk      nothing: no spot reaches a chance of 1.0 %; the highest is "));
    CHECK_THAT(quick, Contains("the hand (4 draws)") && Contains("no gauge readings"));
    CHECK_THAT(quick, Contains("estimates from a model") && Contains("Wear eye protection"));
    CHECK_THAT(risk("steady.json"), Contains("no hand: the technique says it is steady"));
}

TEST_CASE("a bad option of risk is refused by its name", "[cli][risk]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto refusal = [&](const char* option, const char* value) {
        const Ended ended =
            desk.run({"risk", "--panel", "test-plate", "--technique", "quick.json", option, value});
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        return ended.err;
    };
    CHECK_THAT(refusal("--reserve", "3 N"), Contains("--reserve") && Contains("0.6 mil"));
    CHECK_THAT(refusal("--reserve", "2 mm"), Contains("0 to 200 µm"));
    CHECK_THAT(refusal("--draws", "1"), Contains("--draws") && Contains("2 to 1000000"));
    CHECK_THAT(refusal("--threshold", "0 %"), Contains("--threshold"));
    CHECK_THAT(refusal("--cut-sd", "lots"), Contains("--cut-sd"));
    CHECK_THAT(refusal("--spots", "12"), Contains("--spots"));
    CHECK_THAT(refusal("--out", ""), Contains("--out"));
}

namespace {

std::set<std::string> files_in(const fs::path& folder) {
    std::set<std::string> files;
    for (const auto& entry : fs::directory_iterator(folder)) files.insert(entry.path().filename());
    return files;
}

/// Two pads, worked on fresh and on worn charges.
constexpr const char* measurements =
    "label,pad,force_n,rpm,arm_mm_s,passes,sets_since_fresh,section_mm,before_um,after_um,sd_um,n\n"
    "fresh,,45,4500,60,2,0,300,120.0,119.2,0.8,40\n"
    "worn,,45,4500,60,2,3,300,119.2,118.9,0.8,40\n"
    "firm,firm-foam-150,45,4500,60,2,0,300,120.0,118.8,0.8,40\n";

} // namespace

TEST_CASE("fit writes a liquid and a pad that work at once, charts, and a report to its schema",
          "[cli][fit]") {
    const Desk desk;
    desk.write("m.csv", measurements);
    const Ended ended = desk.run({"fit", "m.csv", "--liquid", "polish", "--pad", "medium-foam-150",
                                  "--machine", "da-15", "--save", "mine.json", "--out", "fitted", "--charts",
                                  "svg", "--json", "--day", "2026-03-14"});
    REQUIRE(ended.code == 0);
    const json report = json::parse(ended.out);
    CHECK(deviations(report, fit_schema) == same);
    CHECK(report == desk.read("fitted/fit.json"));
    CHECK(files_in(desk / "fitted") == std::set<std::string>{"fit.json", "fit.svg", "residuals.svg",
                                                             "liquid.json", "liquid-firm-foam-150.json"});
    CHECK(desk.read("mine.json") == desk.read("fitted/liquid.json"));
    desk.write("quick.json",
               quick_technique({{"liquid", "mine.json"}, {"pad", "mine-firm-foam-150.json#150"}}));
    CHECK(desk.run({"run", "--panel", "test-plate", "--technique", "quick.json", "--grid", "4 mm"}).code ==
          0);

    const Ended shown =
        desk.run({"fit", "m.csv", "--liquid", "polish", "--pad", "medium-foam-150", "--machine", "da-15"});
    CHECK(shown.code == 0);
    CHECK_THAT(shown.out, Contains("cut_per_size") && Contains("held at its preset") &&
                              Contains("leverage") && Contains("eye protection"));
}

TEST_CASE("a bad option of fit is refused by its name, and nothing is written", "[cli][fit]") {
    const Desk desk;
    desk.write("m.csv", measurements);
    const auto refusal = [&](const char* option, const char* value) {
        const Ended ended = desk.run({"fit", "m.csv", "--liquid", "polish", "--pad", "medium-foam-150",
                                      "--machine", "da-15", option, value});
        CHECK(ended.code == 2);
        CHECK(ended.out.empty());
        return ended.err;
    };
    CHECK_THAT(refusal("--day", "yesterday"), Contains("--day") && Contains("2026-03-14"));
    CHECK_THAT(refusal("--save", "mine.txt"), Contains("--save") && Contains(".json"));
    CHECK_THAT(refusal("--charts", "gif"), Contains("--charts") && Contains("png"));
    CHECK_THAT(refusal("--paint", "none"), Contains("none"));
    CHECK(files_in(desk.path()) == std::set<std::string>{"m.csv"});
}

TEST_CASE("evenness writes its spectra, the scan and a report to its schema", "[cli][evenness]") {
    const Desk desk;
    desk.write("quick.json", quick_technique({{"speed", "2000/min"}, {"hand", nullptr}}));
    const Ended ended =
        desk.run({"evenness", "--panel", "test-plate", "--technique", "quick.json", "--grid", "4 mm",
                  "--from", "40 %", "--to", "60 %", "--step", "20 %", "--json", "--out", "even"});
    REQUIRE(ended.code == 0);
    const json report = json::parse(ended.out);
    CHECK(deviations(report, evenness_schema) == same);
    CHECK(report == desk.read("even/evenness.json"));
    CHECK(files_in(desk / "even") ==
          std::set<std::string>{"evenness.json", "film_lost.png", "marks.png", "overlap.png", "spectra.png"});
    CHECK(report["overlaps"].size() == 2);

    const Ended shown = desk.run({"evenness", "--panel", "test-plate", "--technique", "quick.json", "--grid",
                                  "4 mm", "--step", "50 %", "--marks", "off"});
    CHECK(shown.code == 0);
    CHECK_THAT(shown.out, Contains("averaged mode") && Contains("Orbits         not looked at") &&
                              Contains("Evens best") && Contains("eye protection"));
}

TEST_CASE("a bad option of evenness is refused by its name", "[cli][evenness]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto refusal = [&](const char* option, const char* value) {
        const Ended ended =
            desk.run({"evenness", "--panel", "test-plate", "--technique", "quick.json", option, value});
        CHECK(ended.code == 2);
        return ended.err;
    };
    CHECK_THAT(refusal("--from", "120 %"), Contains("--from"));
    CHECK_THAT(refusal("--to", "10 %"), Contains("--to") && Contains("below --from"));
    CHECK_THAT(refusal("--step", "0 %"), Contains("--step"));
    CHECK_THAT(refusal("--marks", "maybe"), Contains("--marks"));
}

// ---- lessons ----------------------------------------------------------------------------------------

TEST_CASE("a lesson prints its captions with the cautions, writes its folder and replaces an earlier one",
          "[cli][lesson]") {
    const Desk desk;
    const std::vector<std::string> args = {"lesson", "tilt-on-a-line", "--grid", "4 mm"};
    const Ended printed = desk.run(args);
    REQUIRE(printed.code == 0);
    CHECK_THAT(printed.out,
               Contains("Tilt on a body line") && Contains("waist line") && Contains("eye protection"));
    CHECK(printed.out.find('{') == std::string::npos);
    CHECK(fs::is_empty(desk.path()));

    std::vector<std::string> writing = args;
    writing.insert(writing.end(),
                   {"--out", "lesson", "--size", "800x500", "--theme", "dark", "--unit", "mil"});
    REQUIRE(desk.run(writing).code == 0);
    const auto first = tree(desk.path());
    CHECK(first.contains("lesson/step-5.png"));
    CHECK_THAT(first.at("lesson/lesson.md"), Contains(" mil") && !Contains("µm"));
    REQUIRE(desk.run(writing).code == 0); // the same again takes its place
    CHECK(differences(first, tree(desk.path())) == same);
}

TEST_CASE("a lesson that cannot be given is refused and leaves nothing", "[cli][lesson]") {
    const Desk desk;
    CHECK_THAT(refusal(desk, {"lesson", "edge-overun"}), Contains("'edge-overrun'"));
    CHECK_THAT(refusal(desk, {"lesson", "edge-overrun", "--size", "10x10", "--out", "x"}),
               StartsWith("--size: "));
    CHECK_THAT(refusal(desk, {"lesson"}), StartsWith("lesson: found no lesson"));
    json broken = json::parse(bytes_of(source_dir / "presets/lessons/edge-overrun.json"));
    broken["steps"][0]["caption"] = "{mistake.worst.clear_lef}";
    desk.write("broken.json", broken.dump());
    CHECK_THAT(refusal(desk, {"lesson", "broken.json", "--out", "x"}),
               Contains("broken.json: /steps/0/caption: found no figure {mistake.worst.clear_lef}") &&
                   Contains("did you mean {mistake.worst.clear_left}"));
    CHECK_FALSE(fs::exists(desk / "x"));
}

} // namespace test_cli_studies
