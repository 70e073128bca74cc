// The program as a person runs it: what it refuses, and what is left where it fails.
#include "support/cli_desk.hpp"
#include <catch2/catch.hpp>

namespace test_cli_refusals {
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;
using namespace sparecoat::test::cli_desk;

// ---- bad input

TEST_CASE("a file that is not there is refused by name", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    CHECK_THAT(run_refusal(desk, {"--panel", "none.json", "--technique", "quick.json"}),
               StartsWith("none.json: found no such file; allowed: a panel file; known panels: "));
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plate", "--technique", "./none.json"}),
               StartsWith("./none.json: found no such file; allowed: a technique file; known techniques: "));
    CHECK_THAT(run_refusal(desk, {"--panel", "none.stl", "--technique", "quick.json"}),
               StartsWith("none.stl: found no such file; allowed: an OBJ or STL mesh"));
    CHECK_THAT(
        run_refusal(desk, {"--panel", "test-plate", "--technique", "quick.json", "--path", "none.csv"}),
        StartsWith("none.csv: found no such file"));
    CHECK_THAT(panel_refusal(desk, {{"kind", "panel"},
                                    {"name", "p"},
                                    {"substrate", "steel"},
                                    {"mesh", {{"file", "none.obj"}, {"unit", "1 mm"}}}}),
               StartsWith("panel.json: /mesh/file: found no file \"none.obj\"; allowed: "));
}

TEST_CASE("an unknown preset is refused with the nearest and all there are", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plat", "--technique", "quick.json"}),
               Contains("panels: found no panel \"test-plat\"; allowed: did you mean 'test-plate'? known "
                        "panels: bonnet, bumper-corner, "));
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plate", "--technique", "polish-da15"}),
               Contains("found no technique \"polish-da15\"; allowed: did you mean 'polish-da-15'"));
    CHECK_THAT(
        run_refusal(desk, {"--panel", "test-plate", "--technique", "quick.json", "--paint", "tipical"}),
        Contains("found no paint \"tipical\"; allowed: did you mean 'typical'?"));
    CHECK_THAT(technique_refusal(desk, {{"machine", "da-51"}}),
               StartsWith("bad.json: /machine: found no machine \"da-51\"; allowed: did you mean 'da-15'"));
    json panel = plate_file(300, 200);
    panel["substrate"] = "steal";
    CHECK_THAT(
        panel_refusal(desk, panel),
        StartsWith("panel.json: /substrate: found no substrate \"steal\"; allowed: did you mean 'steel'?"));
}

TEST_CASE("a bad value in a file is refused with its place, what was found and what is allowed", "[cli]") {
    const Desk desk;
    const std::string force =
        "; allowed: 1 N to 500 N, as text with one of N, kN, kgf, lbf, or as a number in N";
    CHECK(technique_refusal(desk, {{"force", true}}) == "bad.json: /force: found true" + force);
    CHECK(technique_refusal(desk, {{"force", "45"}}) ==
          "bad.json: /force: found \"45\" without a unit" + force);
    CHECK(technique_refusal(desk, {{"force", "45 mm"}}) ==
          "bad.json: /force: found \"45 mm\", a length, not a force" + force);
    CHECK(technique_refusal(desk, {{"force", "4500 N"}}) == "bad.json: /force: found \"4500 N\"" + force);
    CHECK_THAT(
        technique_refusal(desk, {{"farce", "45 N"}}),
        StartsWith(
            "bad.json: /farce: found unknown key 'farce'; allowed: did you mean 'force'? known keys: "));
    CHECK_THAT(technique_refusal(desk, {{"force", nullptr}}),
               StartsWith("bad.json: found no key 'force'; allowed: 'force' ("));
    CHECK_THAT(technique_refusal(desk, {{"kind", "pad"}}),
               StartsWith("bad.json: /kind: found \"pad\"; allowed: "));
    CHECK(technique_refusal(desk, {{"speed", "9000/min"}}) ==
          "bad.json: /speed: found 9000/min; allowed: 2000/min to 4800/min, the range of the machine da-15");
    desk.write("bad.json", "{\"kind\": \"technique\",\n \"name\": }");
    CHECK_THAT(run_refusal(desk, {"--panel", "test-plate", "--technique", "bad.json"}),
               StartsWith("bad.json: line 2, column 10: found text that is not JSON"));
}

TEST_CASE("a pad that finds no room, a section or a line off the panel is refused at the technique's key",
          "[cli]") {
    const Desk desk;
    desk.write("small.json", plate_file(120, 100).dump());
    CHECK_THAT(technique_refusal(desk, json::object(), "small.json"),
               StartsWith("bad.json: /hold_back: found no room on the panel \"Plate\" for a pad of 150 mm"));
    const json section = {{"centre", {"3 m", "0.2 m"}}, {"size", {"200 mm", "200 mm"}}};
    CHECK_THAT(technique_refusal(desk, {{"section", section}}),
               StartsWith("bad.json: /section: found a section off the panel \"Test plate\"; allowed: "));
    const json line = {{"from", {"2 m", "0 m"}}, {"to", {"2 m", "1 m"}}};
    CHECK_THAT(technique_refusal(desk, {{"pattern", "line"}, {"line", line}}),
               StartsWith("bad.json: /line: found a line off the panel \"Test plate\"; allowed: "));
    CHECK_THAT(technique_refusal(desk, {{"hold_back", {{"topp", "5 mm"}}}}),
               StartsWith("bad.json: /hold_back/topp: found an edge \"topp\"; allowed: ") &&
                   Contains("bottom, right, top, left"));
}

TEST_CASE("a bad recording is refused by its line", "[cli]") {
    const Desk desk;
    const std::string head = "t_s,x_mm,y_mm\n0,200,200\n0.1,205,200\n";
    CHECK(path_refusal(desk, head + "0.2,nan,200\n") ==
          "path.csv: line 4: found x_mm \"nan\"; allowed: a finite number, such as 12.5");
    CHECK(path_refusal(desk, head + "0.05,210,200\n") ==
          "path.csv: line 4: found time 0.05 s after 0.1 s; allowed: times that increase");
    CHECK(path_refusal(desk, head + "0.9,210,200\n") ==
          "path.csv: line 4: found a gap of 0.8 s before 0.9 s; allowed: rows at most 0.5 s apart");
    CHECK_THAT(path_refusal(desk, "t_s,x_mm,y_mm\n0,2000,2000\n0.1,2005,2000\n"),
               StartsWith("path.csv: line 2: found a path off the panel \"Test plate\""));
    CHECK_THAT(path_refusal(desk, "t_s,x_mm,y_mm,force\n0,200,200,1\n"),
               StartsWith("path.csv: line 1: found a column \"force\""));
    CHECK(path_refusal(desk, "t_s,x_mm,y_mm,force_n\n0,200,200,0\n0.1,205,200,0\n") ==
          "path.csv: found an arm path that takes no film off the panel; allowed: a path that brings the pad "
          "onto the panel "
          "with some force");
}

TEST_CASE("a mesh or picture without a panel in it is refused by name", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    desk.write("empty.obj", "v 0 0 0\nv 100 0 0\n");
    CHECK_THAT(run_refusal(desk, {"--panel", "empty.obj", "--technique", "quick.json"}),
               StartsWith("empty.obj: found no triangles"));
    desk.write("edges.obj", "o wire\nv 0 0 0\nv 100 0 0\nl 1 2\n");
    CHECK(run_refusal(desk, {"--panel", "edges.obj", "--technique", "quick.json"}) ==
          "edges.obj: found a mesh without triangles; allowed: one open sheet");
    desk.write("empty.stl", "solid\nendsolid\n");
    CHECK_THAT(run_refusal(desk, {"--panel", "empty.stl", "--technique", "quick.json"}),
               StartsWith("empty.stl: found no triangles"));
    desk.write("no.png", "not a picture");
    CHECK_THAT(panel_refusal(
                   desk, {{"kind", "panel"},
                          {"name", "p"},
                          {"substrate", "steel"},
                          {"height_map", {{"file", "no.png"}, {"pixel", "1 mm"}, {"full_scale", "65 mm"}}}}),
               StartsWith("no.png: found no PNG"));
    CHECK_THAT(run_refusal(desk, {"--panel", "no.png", "--technique", "quick.json"}),
               StartsWith("no.png: found a height map without its scale; allowed: a panel file with "));
}

TEST_CASE("a bad option is refused by its name", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    const auto with = [&](std::vector<std::string> args) {
        args.insert(args.begin(), {"--panel", "test-plate", "--technique", "quick.json"});
        return run_refusal(desk, args);
    };
    const std::string grid = "; allowed: a length from 1 mm to 4 mm, such as \"2 mm\"";
    CHECK(with({"--grid", "5 mm"}) == "--grid: found \"5 mm\"" + grid);
    const std::string air = "; allowed: a temperature from 0 to 50 °C, such as \"28 C\"";
    CHECK(with({"--air", "28"}) == "--air: found \"28\" without a unit" + air);
    CHECK(with({"--air", "28 N"}) == "--air: found \"28 N\", a force, not a temperature" + air);
    CHECK(with({"--air", "90 C"}) == "--air: found \"90 C\"" + air);
    CHECK(with({"--grid", "2"}) == "--grid: found \"2\" without a unit" + grid);
    CHECK(with({"--grid", "2 N"}) == "--grid: found \"2 N\", a force, not a length" + grid);
    CHECK(with({"--grid", "abc"}) == "--grid: found \"abc\", which does not start with a number" + grid);
    CHECK(with({"--integrator", "averagd"}) ==
          "--integrator: found \"averagd\"; allowed: did you mean 'averaged'? one of: averaged, resolved");
    CHECK(with({"--unit", "mm"}) == "--unit: found \"mm\"; allowed: did you mean 'um'? one of: um, mil");
    CHECK(with({"--seed", "-1"}) ==
          "--seed: found \"-1\"; allowed: a whole number from 0 to 18446744073709551615");
    CHECK(with({"--threads", "many"}) == "--threads: found \"many\"; allowed: a whole number from 0 to 1024");
    CHECK(with({"--path", ""}) == "--path: found nothing; allowed: a path recorded as CSV");
    CHECK_THAT(with({"--grd", "2 mm"}),
               StartsWith("run: found unknown option \"--grd\"; allowed: did you mean '--grid'? options: "));
    CHECK_THAT(with({"--grid", "2", "mm"}),
               StartsWith("run: found \"mm\" left over; allowed: ") && Contains("in quotes"));
    CHECK(with({"--seed", "1", "--seed", "2"}) == "run: found --seed 2 times; allowed: each option once");
}

TEST_CASE("what belongs to the lamp is refused without it, and a lamp without defects", "[cli]") {
    const Desk desk;
    const auto with = [&](std::vector<std::string> more) {
        std::vector<std::string> words{"shot",         "--panel", "test-plate", "--technique",
                                       "polish-da-15", "--out",   "lamp.png"};
        words.insert(words.end(), more.begin(), more.end());
        return refusal(desk, words);
    };
    CHECK(with({"--show", "half"}) == "--show: found --map film_lost; allowed: --show with --map lamp");
    CHECK(with({"--defects", "severe"}) ==
          "--defects: found --map film_lost; allowed: --defects with --map lamp");
    CHECK_THAT(with({"--map", "lamp"}),
               StartsWith("--map: found lamp without --defects; allowed: --defects with what"));
    CHECK_THAT(with({"--map", "lamp", "--defects", "rust"}),
               Contains("no defects \"rust\"") && Contains("light, moderate, severe"));
    CHECK_THAT(with({"--map", "lamp", "--defects", "severe", "--show", "now"}),
               StartsWith("--show: found \"now\"; allowed: "));
    CHECK_THAT(with({"--map", "lamp", "--defects", "severe", "--lamp", "1 m, 2 m"}),
               StartsWith("--lamp: found \"1 m, 2 m\"; allowed: u, v and"));
}

TEST_CASE("a missing or unknown command or a missing option is refused with what there is", "[cli]") {
    const Desk desk;
    CHECK(refusal(desk, {}) == "found no command; allowed: one of the commands: run, risk, compare, section, "
                               "shot, view, lesson, evenness, fit, "
                               "job, sweep, list, demo; "
                               "\"sparecoat --help\" explains them");
    CHECK_THAT(refusal(desk, {"rnu"}),
               StartsWith("found no command \"rnu\"; allowed: did you mean 'run'? one of the commands: "));
    CHECK_THAT(refusal(desk, {"--vers"}),
               StartsWith("found unknown option \"--vers\"; allowed: did you mean '--version'?"));
    CHECK_THAT(refusal(desk, {"run", "--technique", "polish-da-15"}),
               StartsWith("run: found no --panel; allowed: --panel with a panel preset"));
    CHECK_THAT(refusal(desk, {"run", "--panel", "test-plate"}),
               StartsWith("run: found no --technique; allowed: --technique with a "));
    CHECK_THAT(refusal(desk, {"list", "machines", "pads"}),
               StartsWith("list: found \"pads\" left over; allowed: "));
    CHECK_THAT(refusal(desk, {"demo", "--outt", "x"}),
               StartsWith("demo: found unknown option \"--outt\"; allowed: did you mean '--out'?"));
}

TEST_CASE("an output folder that may not be replaced or cannot be made is refused before the work", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    fs::create_directory(desk / "theirs");
    desk.write("theirs/notes.txt", "keep me");
    desk.write("file", "a file");
    const auto into = [&](const std::string& out) {
        return refusal(desk, {"run", "--panel", "test-plate", "--technique", "quick.json", "--grid", "4 mm",
                              "--out", out});
    };
    const std::string allowed = "; allowed: a new folder, an empty one, or an earlier output of this program";
    CHECK(into("theirs") == (desk / "theirs").string() + ": found a folder with other files in it" + allowed);
    CHECK(into("file") == (desk / "file").string() + ": found a file of that name" + allowed);
    CHECK(into(".") == desk.path().string() + ": found the current folder or one above it" + allowed);
    CHECK_THAT(into("file/out"), StartsWith((desk / "file/out").string() + ": found ") &&
                                     Contains("; allowed: a place where a folder can be made"));
    CHECK(into("") == "--out: found nothing; allowed: a folder to write to");
    CHECK_THAT(refusal(desk, {"demo", "--out", "theirs"}), Contains("a folder with other files in it"));
}

// ---- failing half-way

TEST_CASE("a run that is refused or cannot write leaves an earlier output as it was", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    ran(desk, {"--panel", "test-plate", "--technique", "quick.json"});
    desk.write("bad.json", quick_technique({{"force", "heavy"}}));
    const auto before = tree(desk.path());
    CHECK(desk.run({"run", "--panel", "test-plate", "--technique", "bad.json", "--out", "out"}).code == 2);
    CHECK(differences(tree(desk.path()), before) == same);

    // The arrays fit in 200 KiB a file, the fields in one file do not: the folder is half written by then.
    const Ended full =
        desk.run_with_little_room(200, {"run", "--panel", "test-plate", "--technique", "quick.json", "--grid",
                                        "4 mm", "--seed", "2", "--out", "out"});
    CHECK(full.code == 2);
    CHECK_THAT(full.err, Contains("fields.vti: found ") && Contains("; allowed: a file that can be written"));
    CHECK(differences(tree(desk.path()), before) == same);
}

TEST_CASE("a later run takes the place of an earlier output", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    ran(desk, {"--panel", "test-plate", "--technique", "quick.json"});
    const json second = ran(desk, {"--panel", "test-plate", "--technique", "quick.json", "--seed", "2"});
    CHECK(second["inputs"]["seed"] == 2);
    CHECK(tree(desk.path()).size() ==
          2 + files_of_a_run.size()); // the technique and the folder; nothing hidden
}

TEST_CASE("Ctrl-C and a polite kill end a run at once and leave what was there, and nothing hidden",
          "[cli]") {
    const Desk desk;
    fs::create_directory(desk / "out");
    desk.write("out/summary.json", R"({"kind": "sparecoat-run"})");
    const auto before = tree(desk.path());
    for (const int signal : {SIGINT, SIGTERM}) {
        for (const char* out : {"out", "new/folder/out"}) {
            // Orbit by orbit over a whole roof: minutes of work.
            const pid_t pid = desk.start({"run", "--panel", "roof-skin", "--technique", "polish-da-15",
                                          "--integrator", "resolved", "--grid", "4 mm", "--out", out});
            const auto begun = std::chrono::steady_clock::now();
            while (tree(desk.path()) == before &&
                   std::chrono::steady_clock::now() - begun < std::chrono::seconds(20))
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
            CHECK(tree(desk.path()) != before); // the hidden folder is there
            std::this_thread::sleep_for(std::chrono::milliseconds(150));
            REQUIRE(::kill(pid, signal) == 0);
            const Ended ended = desk.wait(pid);
            CHECK(ended.code == 128 + signal);
            CHECK(ended.out.empty());
            CHECK_THAT(ended.err, Contains("sparecoat: stopped; nothing was written\n"));
            CHECK(differences(tree(desk.path()), before) == same);
        }
    }
}

TEST_CASE("runs stop when they are told to, from whichever job", "[cli]") {
    const Desk desk;
    desk.write("quick.json", quick_technique());
    RunRequest request;
    request.panel = "test-plate";
    request.technique = desk / "quick.json";
    request.grid_m = 4 * mm;
    const std::vector<RunJob> jobs(3, prepare(Library::standard(), request));
    int told = 0;
    const auto stop_at_once = [&](double share) {
        CHECK(share < 1.0 / 3);
        ++told;
        return false;
    };
    CHECK_THROWS_AS(run_jobs(jobs, 1, stop_at_once), Stopped);
    CHECK(told >= 1);
    double last = 0;
    const auto watch = [&](double share) {
        CHECK(share >= last); // it only ever moves on
        CHECK(share <= 1);
        last = share;
        return true;
    };
    CHECK(run_jobs(jobs, 1, watch).size() == jobs.size());
    CHECK(last > 2.0 / 3); // well into the last of the three
}

} // namespace test_cli_refusals
