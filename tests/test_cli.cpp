// The program as a person runs it: what a run works on, what it says, and that it does so again.
#include "support/cli_desk.hpp"
#include <catch2/catch.hpp>

namespace test_cli {
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using namespace sparecoat::test::cli_desk;

// ---- what it runs on

TEST_CASE("every panel preset runs, and all it writes agrees with itself", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    for (const char* panel : {"test-plate", "front-wing", "rear-door", "cab-door", "sliding-door", "bonnet",
                              "roof-skin", "bumper-corner"}) {
        const json summary = ran(desk, {"--panel", panel, "--technique", "quick.json"}, panel);
        CHECK(summary["inputs"]["panel"] == panel);
        CHECK(summary["inputs"]["technique"]["id"] == "quick.json");
    }
}

TEST_CASE("a technique preset, a paint preset and the orbit-by-orbit integrator run", "[cli]") {
    const Desk desk;
    desk.write("small.json", plate_file(200, 160).dump());
    const json summary = ran(desk, {"--panel", "small.json", "--technique", "finishing-pass", "--paint",
                                    "old-thin", "--integrator", "resolved"});
    CHECK(summary["inputs"]["integrator"] == "resolved");
    CHECK(summary["inputs"]["paint"] == "old-thin");
    CHECK(summary["inputs"]["technique"]["speed_per_min"].get<double>() > 0);
}

TEST_CASE("a mesh runs as it is or in a panel file, as OBJ or STL, all with the same result", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("sheet.obj", CapMesh::obj());
    desk.write("sheet.stl", CapMesh::stl());
    desk.write("panel.json", json{{"kind", "panel"},
                                  {"name", "sheet"},
                                  {"substrate", "steel"},
                                  {"mesh", {{"file", "sheet.stl"}, {"unit", "1 mm"}}}}
                                 .dump());
    const json by_obj = ran(desk, {"--panel", "sheet.obj", "--technique", "quick.json"}, "by-obj");
    const json by_stl = ran(desk, {"--panel", "./sheet.stl", "--technique", "quick.json"}, "by-stl");
    ran(desk, {"--panel", "panel.json", "--technique", "quick.json"}, "by-file");
    // 400 x 300 mm; the pad's rim keeps inside the edges and so leaves the corners out.
    CHECK(by_obj["removed"]["worked_area_m2"].get<double>() == Approx(0.12).epsilon(0.06));
    // The STL repeats its corners as float text, which may cost the last bits of a height.
    CHECK(by_stl["open_panel"]["median_um"].get<double>() ==
          Approx(by_obj["open_panel"]["median_um"].get<double>()).epsilon(1e-4));
    CHECK(bytes_of(desk / "by-file/film_lost_um.npy") == bytes_of(desk / "by-stl/film_lost_um.npy"));
}

TEST_CASE("a 16-bit height map runs, and takes as much as the mesh of the same sheet", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("sheet.obj", CapMesh::obj());
    write_sheet_png(desk / "sheet.png");
    desk.write("map.json",
               json{{"kind", "panel"},
                    {"name", "sheet"},
                    {"substrate", "aluminium"},
                    {"height_map", {{"file", "sheet.png"}, {"pixel", "2 mm"}, {"full_scale", "65.535 mm"}}}}
                   .dump());
    const json by_map = ran(desk, {"--panel", "map.json", "--technique", "quick.json"}, "by-map");
    const json by_mesh = ran(desk, {"--panel", "sheet.obj", "--technique", "quick.json"}, "by-mesh");
    CHECK(by_map["inputs"]["substrate"] == "aluminium");
    // The traced edge is rounder at the corners and the mesh is faceted; the sheet is the same.
    CHECK(by_map["removed"]["volume_mm3"].get<double>() ==
          Approx(by_mesh["removed"]["volume_mm3"].get<double>()).epsilon(0.03));
}

TEST_CASE("a recorded path runs in the technique's place, with its own force and speed where it has them",
          "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("plain.csv", recording());
    desk.write("light.csv", recording(",force_n,rpm", ",22.5,3000"));
    const json plain =
        ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "plain.csv"}, "plain");
    const json light =
        ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "light.csv"}, "light");
    CHECK(plain["inputs"]["path_csv"] == "plain.csv");
    CHECK(plain["time_s"].get<double>() == Approx(6).epsilon(1e-9));
    CHECK(plain["time_down_s"].get<double>() == Approx(6).epsilon(1e-9));
    // Half the force at two thirds of the speed: a third of the work, but for the pad's own spin.
    CHECK(light["friction_work_j"].get<double>() ==
          Approx(plain["friction_work_j"].get<double>() / 3).epsilon(0.05));
    std::istringstream trace(bytes_of(desk / "light/trace.csv"));
    std::string header, first;
    std::getline(trace, header);
    std::getline(trace, first);
    CHECK_THAT(header, StartsWith("t_s,dt_s,x_mm,y_mm,down,force_n,"));
    CHECK_THAT(first, StartsWith("0.0000,") && Contains(",1,22.500,"));
}

TEST_CASE("gauge readings take the place of the paint's film, in summary, fields and verdict", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique({{"passes", 1}}));
    std::string readings = "panel,test-plate\nx_mm,y_mm,total_um\n";
    for (const int y : {100, 200, 300, 400})
        for (const int x : {100, 200, 300, 400})
            readings += fmt::format("{},{},{}\n", x, y, x == 100 && y == 100 ? 71 : 84);
    desk.write("gauge.csv", readings);
    const std::vector<std::string> args = {"--panel",    "test-plate", "--technique",
                                           "quick.json", "--readings", "gauge.csv"};
    const json summary = ran(desk, args, "measured");
    const json& film = summary["film"];
    CHECK(film["readings_csv"] == "gauge.csv");
    CHECK(film["readings"] == 16);
    CHECK(film["offset"].get<double>() ==
          Approx(0.8).margin(0.08)); // 84 of the nominal 105, the offset's sd about 6 %
    REQUIRE(film["flags"].size() >= 1);
    CHECK(film["flags"][0]["kind"] == "thin paint");
    CHECK(film["flags"][0]["lines"] == json::array({3}));
    CHECK(summary["open_panel"]["clear_before_um"].get<double>() == Approx(32).margin(1)); // 40 x 84 / 105
    CHECK(summary["open_panel"]["clear_sd_um"].get<double>() > 0.08 * 31); // the split's share alone

    std::vector<std::string> shown = args;
    shown.insert(shown.begin(), "run");
    const Ended run = desk.run(shown);
    CHECK(run.code == 0);
    CHECK_THAT(run.out, Contains("measured: 16 spots") && Contains("thin paint") && Contains("line 3"));

    desk.write("gauge.csv", "panel,rear-door\n" + readings.substr(readings.find("x_mm")));
    const Ended wrong = desk.run(shown);
    CHECK(wrong.code == 2);
    CHECK_THAT(wrong.err, Contains("gauge.csv: line 1: found readings of the panel \"rear-door\""));
}

TEST_CASE("the path that a run wrote takes the same film when it is run again", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique({{"passes", 2}, {"recharge_passes", 1}}));
    const json first =
        ran(desk, {"--panel", "front-wing", "--technique", "quick.json", "--seed", "3"}, "first");
    const json again = ran(
        desk, {"--panel", "front-wing", "--technique", "quick.json", "--path", "first/path.csv"}, "again");
    CHECK(again["steps"]["count"] == first["steps"]["count"]); // no sample is lost, none is put in
    CHECK(bytes_of(desk / "again/path.csv") == bytes_of(desk / "first/path.csv"));
    // The file keeps 12 digits, in mm, degrees and 1/min, with the tilt as size and direction, so that the
    // film may differ from the first run's in the last digits of its float32: it is not held to its bytes.
    CHECK(again["time_s"].get<double>() == Approx(first["time_s"].get<double>()).epsilon(1e-10));
    const Array was(desk / "first/film_lost_um.npy"), is(desk / "again/film_lost_um.npy");
    REQUIRE(is.values.size() == was.values.size());
    double most = 0, worst = 0;
    for (std::size_t k = 0; k < was.values.size(); ++k) {
        most = std::max(most, was.at(k));
        worst = std::max(worst, std::abs(was.at(k) - is.at(k)));
    }
    CHECK(worst < 1e-5 * most);
    // From the file on, all is the same: a recording of the recording gives the same bytes.
    ran(desk, {"--panel", "front-wing", "--technique", "quick.json", "--path", "again/path.csv"}, "third");
    CHECK(differences(tree(desk / "third"), tree(desk / "again")) == same);
}

// ---- what it says

TEST_CASE("the verdict and the summary are the same figures", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const Ended ended = desk.run(
        {"run", "--panel", "rear-door", "--technique", "quick.json", "--grid", "4 mm", "--out", "out"});
    REQUIRE(ended.code == 0);
    const json summary = desk.read("out/summary.json");
    const json& worst = summary["worst"][0];
    CHECK_THAT(ended.out, Contains(fmt::format("Open panel   {:.2f} µm lost",
                                               summary["open_panel"]["median_um"].get<double>())));
    CHECK_THAT(ended.out,
               Contains(fmt::format("Worst spot   {:.2f} µm lost", worst["removed_um"].get<double>())));
    CHECK_THAT(ended.out, Contains(worst["place"].get<std::string>()));
    const json& split = worst["against_open_panel"];
    CHECK_THAT(
        ended.out,
        Contains(fmt::format(
            "time {:.2f} x pressure {:.2f} x speed {:.2f} x cut {:.2f} x heat {:.2f} x film {:.2f} = {:.2f}",
            split["time"].get<double>(), split["pressure"].get<double>(), split["speed"].get<double>(),
            split["cut"].get<double>(), split["heat"].get<double>(), split["film"].get<double>(),
            split["all"].get<double>())));
    const json& heat = summary["heat"];
    CHECK_THAT(ended.out, Contains(fmt::format(
                              "Heat         peak {:.0f} °C in air of 20 °C: {} (x {:.0f} mm, y {:.0f} mm)",
                              heat["peak_film_c"].get<double>(), heat["place"].get<std::string>(),
                              heat["at"]["x_mm"].get<double>(), heat["at"]["y_mm"].get<double>())));
    CHECK_THAT(ended.out, Contains((desk / "out").string()));
    CHECK_THAT(ended.out, Contains(summary["notice"].get<std::string>()));
    for (const json& caution : nonempty(summary["cautions"]))
        CHECK_THAT(ended.out, Contains(caution.get<std::string>()));
    CHECK(std::count(ended.out.begin(), ended.out.end(), '\n') < 30); // one screen
}

TEST_CASE("the workshop's air is where the panel starts and what it cools to", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto in_air = [&](const char* air) {
        const Ended ended = desk.run({"run", "--panel", "test-plate", "--technique", "quick.json", "--grid",
                                      "4 mm", "--air", air, "--json"});
        REQUIRE(ended.code == 0);
        return json::parse(ended.out);
    };
    const json cool = in_air("20 C"), warm = in_air("28 °C");
    CHECK(cool["inputs"]["air_c"] == 20);
    CHECK(warm["inputs"]["air_c"] == 28);
    const double rise = cool["heat"]["peak_film_c"].get<double>() - 20;
    CHECK(rise > 1);
    // What is added to the air is the same; where paint softens the pad loads sooner, but not here.
    CHECK(warm["heat"]["peak_film_c"].get<double>() == Approx(28 + rise).margin(0.3));
}

TEST_CASE("--json prints the summary that the folder gets, and nothing else", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const std::vector<std::string> args = {"run",        "--panel", "test-plate", "--technique",
                                           "quick.json", "--grid",  "4 mm",       "--json"};
    const Ended alone = desk.run(args);
    CHECK(alone.code == 0);
    CHECK(tree(desk.path()).size() == 1); // without --out nothing is written
    std::vector<std::string> with_folder = args;
    with_folder.insert(with_folder.end(), {"--out", "out"});
    CHECK(desk.run(with_folder).out == alone.out);
    CHECK(bytes_of(desk / "out/summary.json") == alone.out);
}

TEST_CASE("film can be shown in mil, which changes no figure of the summary", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const std::vector<std::string> args = {"run",        "--panel", "test-plate", "--technique",
                                           "quick.json", "--grid",  "4 mm"};
    const auto with = [&](const std::string& unit, const std::string& out) {
        std::vector<std::string> all = args;
        all.insert(all.end(), {"--unit", unit, "--out", out});
        return desk.run(all);
    };
    const Ended um = with("um", "um"), mil = with("mil", "mil");
    CHECK_THAT(um.out, Contains(" µm lost") && !Contains(" mil "));
    const double median_um = desk.read("mil/summary.json")["open_panel"]["median_um"];
    CHECK_THAT(mil.out,
               Contains(fmt::format("Open panel   {:.4f} mil lost", median_um / 25.4)) && !Contains("µm"));
    CHECK(bytes_of(desk / "um/summary.json") == bytes_of(desk / "mil/summary.json"));
}

TEST_CASE("a spot worked through its clear coat is called that", "[cli]") {
    const Desk desk;
    desk.write("harsh.json", quick_technique({{"liquid", "p2000"}, {"arm_speed", "40 mm/s"}}));
    desk.write("thin.json", json{{"kind", "paint"},
                                 {"name", "Nearly gone"},
                                 {"clear", "1 um"},
                                 {"base", "15 um"},
                                 {"primer", "30 um"},
                                 {"ecoat", "20 um"},
                                 {"thinning", {{"share", 0.3}, {"length", "6 mm"}}},
                                 {"softness", 1}}
                                .dump());
    desk.write("plate.json", plate_file(300, 240).dump());
    const Ended ended = desk.run({"run", "--panel", "plate.json", "--technique", "harsh.json", "--paint",
                                  "thin.json", "--grid", "4 mm", "--out", "out"});
    REQUIRE(ended.code == 0);
    CHECK_THAT(ended.out, Contains("THROUGH THE CLEAR COAT"));
    const json worst = checked_run(desk / "out")["worst"][0];
    CHECK(worst["through_clear"] == true);
    CHECK(worst["clear_left_um"].get<double>() < 0);
    const Array left(desk / "out/clear_left_um.npy");
    CHECK(std::none_of(left.values.begin(), left.values.end(),
                       [](float v) { return v < 0; })); // the map stops at 0
}

TEST_CASE("list shows every kind, or one, or what a mistyped one may have meant", "[cli]") {
    const Desk desk;
    const Ended all = desk.run({"list"});
    CHECK(all.code == 0);
    for (const char* line : {"machines\n", "pads\n", "liquids\n", "paints\n", "substrates\n", "panels\n",
                             "techniques\n", "kits\n", "  workshop ", "  da-15 ", "  firm-foam-150 ",
                             "  polish ", "  typical ", "  steel ", "  rear-door ", "  edge-overrun "})
        CHECK_THAT(all.out, Contains(line));
    const Ended machines = desk.run({"list", "machines"});
    CHECK(machines.code == 0);
    CHECK_THAT(machines.out, StartsWith("machines\n") && Contains("  da-15 ") && Contains("15 mm throw") &&
                                 !Contains("pads\n"));
    CHECK(desk.run({"list", "machine"}).out == machines.out);
    const Ended wrong = desk.run({"list", "machnes"});
    CHECK(wrong.code == 2);
    CHECK(wrong.out.empty());
    CHECK(wrong.err ==
          "sparecoat: list: found no kind of preset \"machnes\"; allowed: did you mean 'machines'? kinds: "
          "machines, pads, liquids, paints, substrates, panels, techniques, lessons, defects, kits, records, "
          "shops, sweeps\n");
}

TEST_CASE("help and version go to standard output", "[cli]") {
    const Desk desk;
    const Ended help = desk.run({"--help"});
    CHECK(help.code == 0);
    CHECK(help.err.empty());
    CHECK_THAT(help.out,
               Contains("Usage: sparecoat ") && Contains("run ") && Contains("list ") && Contains("demo "));
    const Ended run_help = desk.run({"run", "--help"});
    CHECK(run_help.code == 0);
    for (const char* option : {"--panel", "--technique", "--paint", "--readings", "--air", "--path", "--grid",
                               "--integrator", "--seed", "--out", "--json", "--unit", "--threads"})
        CHECK_THAT(run_help.out, Contains(option));
    const Ended version = desk.run({"--version"});
    CHECK(version.code == 0);
    CHECK(std::regex_match(version.out, std::regex(R"(sparecoat \d+\.\d+\.\d+\n)")));
}

TEST_CASE("the guide to the output names every file and every key", "[cli]") {
    const std::string guide = bytes_of(source_dir / "docs" / "output.md");
    for (const std::string& file : files_of_a_run) CHECK_THAT(guide, Contains("`" + file + "`"));
    std::vector<json> open = {
        json::parse(bytes_of(summary_schema)), json::parse(bytes_of(compare_schema)),
        json::parse(bytes_of(risk_schema)),    json::parse(bytes_of(advice_schema)),
        json::parse(bytes_of(plan_schema)),    json::parse(bytes_of(visit_plan_schema)),
        json::parse(bytes_of(fit_schema)),     json::parse(bytes_of(evenness_schema)),
        json::parse(bytes_of(sweep_schema)),   json::parse(bytes_of(comparison_schema))};
    std::size_t keys = 0;
    while (!open.empty()) {
        const json form = open.back();
        open.pop_back();
        if (form.is_array() || form.is_object())
            for (const json& part : form) open.push_back(part);
        if (!form.is_object() || !form.contains("properties") || !form.contains("additionalProperties"))
            continue;
        for (const auto& [key, value] : form["properties"].items()) {
            ++keys;
            INFO(key);
            CHECK(std::regex_search(guide, std::regex("[`.]" + key + "[`.\\[]")));
        }
    }
    CHECK(keys > 80);
}

// ---- the same again

TEST_CASE("a run gives the same bytes again, with any number of threads", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto with = [&](const std::string& threads, const std::string& out) {
        ran(desk,
            {"--panel", "bumper-corner", "--technique", "quick.json", "--seed", "5", "--threads", threads},
            out);
        return tree(desk / out);
    };
    const auto one = with("1", "one");
    CHECK(differences(with("1", "again"), one) == same);
    CHECK(differences(with("2", "two"), one) == same);
    CHECK(differences(with("4", "four"), one) == same);
}

TEST_CASE("jobs run side by side give what they give alone", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("tilted.json", quick_technique({{"tilt", "3 deg"}, {"hold_back", "-75 mm"}}));
    std::vector<RunJob> jobs;
    for (const char* technique : {"quick.json", "tilted.json", "quick.json"}) {
        RunRequest request;
        request.panel = jobs.size() < 2 ? "front-wing" : "test-plate";
        request.technique = desk / technique;
        request.grid_m = 4 * mm;
        jobs.push_back(prepare(Library::standard(), request));
    }
    std::vector<std::string> alone;
    for (const RunJob& job : jobs) alone.push_back(summary_of(job, run_jobs({job}, 1).front()).dump());
    CHECK(alone[0] != alone[1]);
    for (const int threads : {1, 2, 4}) {
        const std::vector<Outcome> together = run_jobs(jobs, threads);
        for (std::size_t k = 0; k < jobs.size(); ++k) {
            INFO("job " << k << ", " << threads << " threads");
            CHECK(summary_of(jobs[k], together[k]).dump() == alone[k]);
            CHECK(together[k].result.fields.removed_um ==
                  run_jobs({jobs[k]}, 1).front().result.fields.removed_um);
        }
    }
}

TEST_CASE("the demo shows a mistake beside good work", "[cli]") {
    const Desk desk;
    const Ended ended = desk.run({"demo", "--grid", "4 mm", "--threads", "2", "--out", "one"});
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    CHECK(std::regex_match(ended.err, progress_or_nothing));
    CHECK_THAT(ended.out, Contains((desk / "one" / "film_lost.png").string()) &&
                              Contains((desk / "one" / "clear_left.png").string()));

    const json compare = desk.read("one/summary.json");
    CHECK(deviations(compare, compare_schema) == same);
    REQUIRE(compare["runs"].size() == 2);
    for (const json& run : compare["runs"]) {
        const std::string folder = run["inputs"]["technique"]["id"];
        CHECK(checked_run(desk / "one" / folder) == run);
    }
    // The mistake costs the worst spot far more of its clear coat, and so it does along the edges, where the
    // pad's centre was run.
    const auto edge_share = [&](const std::string& folder) {
        const fs::path run = desk / "one" / folder;
        const Array distance_m(run / "edge_distance_m.npy"), lost(run / "film_lost_um.npy"),
            clear(run / "clear_before_um.npy");
        double sum = 0;
        int cells = 0;
        for (std::size_t k = 0; k < lost.values.size(); ++k) {
            if (distance_m.at(k) < 0 || distance_m.at(k) > 10 * mm || clear.at(k) <= 0) continue;
            sum += lost.at(k) / clear.at(k);
            ++cells;
        }
        return sum / cells;
    };
    const auto worst_share = [&](std::size_t run) {
        return compare["runs"][run]["worst"][0]["share_of_clear"].get<double>();
    };
    CHECK(worst_share(0) > 2 * worst_share(1));
    CHECK(edge_share("edge-overrun") > 5 * edge_share("door-polish"));
}

TEST_CASE("another seed is another hand", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    for (const char* seed : {"1", "2"})
        ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--seed", seed}, seed);
    CHECK(bytes_of(desk / "1/film_lost_um.npy") != bytes_of(desk / "2/film_lost_um.npy"));
    CHECK(bytes_of(desk / "1/height_m.npy") == bytes_of(desk / "2/height_m.npy"));
}

} // namespace test_cli
