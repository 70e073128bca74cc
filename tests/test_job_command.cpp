// `sparecoat job` as a person uses it.
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/places.hpp"
#include "support/process.hpp"
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

namespace test_job_command {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

struct Bench {
    ScratchFolder session;

    /// The program with these words after "job", run in the folder; what it says on either stream.
    Ended run(const std::string& words) const {
        return run_line(shell_word(built_program()) + " job " + words + " 2>&1", session.path);
    }
    std::string done(const std::string& words) const {
        const Ended said = run(words);
        INFO(words << "\n" << said.out);
        REQUIRE(said.code == 0);
        return said.out;
    }
    std::string refused(const std::string& words) const {
        const Ended said = run(words);
        INFO(words << "\n" << said.out);
        REQUIRE(said.code == 2);
        CHECK(std::ranges::count(said.out, '\n') == 1);
        return said.out;
    }
};

} // namespace

TEST_CASE("a job goes from nothing to a second visit by commands", "[job][cli]") {
    const Bench bench;
    bench.done("new bus.sparecoat --name 'Minibus 3' --description 'community transport' --kit workshop "
               "--allowance '9 um'");
    bench.done("add-panel bus.sparecoat --name 'left rear door' --panel rear-door");
    bench.done("add-panel bus.sparecoat --name bumper --panel bumper-corner --paint soft --note scuffed");
    CHECK_THAT(bench.refused("mark bus.sparecoat --panel bumper --clean"), Contains("no visit yet"));
    bench.done("visit bus.sparecoat --date 2026-03-14 --label spring");
    write_text(bench.session.path / "before.csv",
               "panel,left rear door\nx_mm,y_mm,total_um,n\n300,200,112,5\n500,300,110,5\n");
    write_text(bench.session.path / "after.csv",
               "panel,left rear door\nx_mm,y_mm,total_um,n\n300,200,110.5,5\n500,300,108.5,5\n");
    CHECK_THAT(bench.done("import bus.sparecoat before.csv --panel 'left rear door'"), Contains("2 new"));
    CHECK_THAT(bench.done("show bus.sparecoat"),
               Contains("not washed and decontaminated yet") && Contains("all of the allowance of 9.00 µm"));
    bench.done("mark bus.sparecoat --panel 'left rear door' --clean --defects severe");
    bench.done("import bus.sparecoat after.csv --panel 'left rear door' --when after");
    bench.done("work bus.sparecoat --panel 'left rear door' --done '2 sets of polish' --predicted '1.3 um' "
               "--predicted-sd '0.4 um'");
    bench.done("visit bus.sparecoat --date 2027-03-20");
    bench.done("work bus.sparecoat --panel 'left rear door' --done '1 set of finishing polish' --before "
               "'108.4 um' --after '108 um' "
               "--n-before 12 --n-after 12");
    const std::string shown = bench.done("show bus.sparecoat --panel 'left rear door'");
    // 1.5 by the gauge with sd sqrt(4 x 1/5)/2 = 0.447 and 1.3 ± 0.4 by the model: (1.5/0.2
    // + 1.3/0.16)/(1/0.2 + 1/0.16). A year later 0.4 with sd sqrt(2/12) = 0.408.
    CHECK_THAT(shown,
               Contains("1.50 ± 0.45 µm by the gauge, 1.30 ± 0.40 µm by the model; together 1.39 ± 0.30 µm"));
    CHECK_THAT(shown, Contains("Spent: 1.79 ± 0.51 µm at 2 visits") &&
                          Contains("Left: 7.21 ± 0.51 µm of the allowance of 9.00 µm"));
    CHECK_THAT(shown, Contains("2026-03-14 spring: clean, defects severe") &&
                          Contains("total 111.00 µm, spread 1.41 µm (110.00 to 112.00 µm, 2 spots)"));
    CHECK_THAT(shown, Contains("estimates from a model") && Contains("eye protection"));
    CHECK_THAT(shown, !Contains("scuffed"));
    CHECK_THAT(bench.done("show bus.sparecoat --unit mil"), Contains("scuffed") && Contains("0.3543 mil"));
    CHECK_THAT(bench.done("history bus.sparecoat"), Contains("2 readings on the left rear door after work"));
    CHECK_THAT(bench.done("undo bus.sparecoat"), Contains("Undone       the work on the left rear door"));
    CHECK_THAT(bench.done("history bus.sparecoat"), Contains("(undone)"));
    CHECK_THAT(bench.done("redo bus.sparecoat"), Contains("Done again   the work on the left rear door"));
    CHECK_THAT(bench.done("redo bus.sparecoat"), Contains("Nothing to redo"));
    CHECK(bench.done("show bus.sparecoat --panel 'left rear door'") == shown);
    CHECK_THAT(bench.done("check bus.sparecoat"), Contains("Sound"));
}

TEST_CASE("notes are added to the vehicle or a panel, listed by number and removed", "[job][cli]") {
    const Bench bench;
    bench.done("new bus.sparecoat --name 'Minibus 3'");
    bench.done("add-panel bus.sparecoat --name roof --panel roof-skin");
    CHECK(bench.done("note bus.sparecoat") == "no notes\n");
    bench.done("note bus.sparecoat --add 'key under the mat'"); // before any visit: of none
    bench.done("visit bus.sparecoat --date 2026-03-14 --label spring");
    bench.done("visit bus.sparecoat --date 2027-03-20");
    bench.done("note bus.sparecoat --add 'bird lime' --panel roof --visit spring");
    CHECK_THAT(bench.done("note bus.sparecoat --add 'washed at the depot'"),
               Contains("Note         3, vehicle, 2027-03-20"));
    bench.done("note bus.sparecoat --add 'parked under trees' --no-visit");
    CHECK(bench.done("note bus.sparecoat") ==
          "   1  vehicle: key under the mat\n   2  roof, 2026-03-14 spring: bird lime\n"
          "   3  vehicle, 2027-03-20: washed at the depot\n   4  vehicle: parked under trees\n");
    CHECK(bench.done("note bus.sparecoat --panel roof") == "   2  roof, 2026-03-14 spring: bird lime\n");
    CHECK(bench.done("note bus.sparecoat --visit 2027-03-20") ==
          "   3  vehicle, 2027-03-20: washed at the depot\n");
    CHECK_THAT(bench.done("show bus.sparecoat --panel roof"),
               Contains("    Note       bird lime (2026-03-14 spring)"));
    CHECK_THAT(bench.done("note bus.sparecoat --remove 2"), Contains("removed, roof, 2026-03-14 spring"));
    CHECK_THAT(bench.done("note bus.sparecoat"), !Contains("bird lime"));
    CHECK_THAT(bench.done("undo bus.sparecoat"), Contains("a note less: roof"));
    CHECK_THAT(bench.done("note bus.sparecoat"), Contains("   2  roof, 2026-03-14 spring: bird lime"));
    CHECK_THAT(bench.refused("note bus.sparecoat --remove 9"),
               Contains("--remove") && Contains("1, 2, 3, 4"));
    CHECK_THAT(bench.refused("note bus.sparecoat --remove 1 --add x"), Contains("one of them"));
    CHECK_THAT(bench.refused("note bus.sparecoat --add ''"), Contains("--add"));
    CHECK_THAT(bench.refused("note bus.sparecoat --add x --panel rof"), Contains("roof"));
    CHECK_THAT(bench.refused("note bus.sparecoat --add x --visit spring --no-visit"),
               Contains("one of them"));
}

TEST_CASE("photos stay where they are, and a list tells those that are gone or changed", "[job][cli]") {
    const Bench bench;
    fs::create_directories(bench.session.path / "jobs");
    fs::create_directories(bench.session.path / "photos");
    write_text(bench.session.path / "photos" / "roof.jpg", "as it was");
    write_text(bench.session.path / "photos" / "bus.jpg", "as it was");
    bench.done("new jobs/bus.sparecoat --name 'Minibus 3'");
    bench.done("add-panel jobs/bus.sparecoat --name roof --panel roof-skin");
    bench.done("visit jobs/bus.sparecoat --date 2026-03-14");
    CHECK(bench.done("photo jobs/bus.sparecoat") == "no photos\n");
    bench.done("photo jobs/bus.sparecoat --add photos/roof.jpg --caption 'bird lime' --panel roof");
    bench.done("photo jobs/bus.sparecoat --add photos/bus.jpg --no-visit");
    // From the job file's folder, whichever folder one works in.
    CHECK(bench.done("photo jobs/bus.sparecoat") ==
          "   1  roof, 2026-03-14: ../photos/roof.jpg, bird lime\n   2  vehicle: ../photos/bus.jpg\n");
    write_text(bench.session.path / "photos" / "roof.jpg", "otherwise");
    fs::remove(bench.session.path / "photos" / "bus.jpg");
    CHECK(bench.done("photo jobs/bus.sparecoat") ==
          "   1  roof, 2026-03-14: ../photos/roof.jpg, bird lime (changed since)\n   2  vehicle: "
          "../photos/bus.jpg (gone)\n");
    CHECK_THAT(bench.done("show jobs/bus.sparecoat"),
               Contains("../photos/bus.jpg; gone") && Contains("bird lime (2026-03-14); changed since"));
    // FIPS 180-4's SHA-256 of "as it was", as coreutils' sha256sum has it.
    CHECK_THAT(bench.done("export jobs/bus.sparecoat"),
               Contains("369b74f2003ce39f5829ec7a2f84852b72b610d0312c8951d5d8f7316c9902ba"));
    CHECK_THAT(bench.refused("photo jobs/bus.sparecoat --add photos/bus.jpg"), Contains("no such file"));
    CHECK_THAT(bench.refused("photo jobs/bus.sparecoat --add photos"), Contains("a picture that is there"));
    CHECK_THAT(bench.refused("photo jobs/bus.sparecoat --caption x"), Contains("without a picture"));
    bench.done("photo jobs/bus.sparecoat --remove 1");
    CHECK(bench.done("photo jobs/bus.sparecoat --panel roof") == "no photos\n");
}

TEST_CASE("readings are listed spot by spot with what was lost, and runs with their film", "[job][cli]") {
    const Bench bench;
    bench.done("new bus.sparecoat --name 'Minibus 3'");
    CHECK(bench.done("readings bus.sparecoat") == "no readings\n");
    CHECK(bench.done("runs bus.sparecoat") == "no runs\n");
    bench.done("add-panel bus.sparecoat --name roof --panel roof-skin");
    bench.done("add-panel bus.sparecoat --name 'rear door' --panel rear-door");
    bench.done("visit bus.sparecoat --date 2026-03-14");
    write_text(bench.session.path / "before.csv", "panel,x_mm,y_mm,total_um,clear_um,n\nroof,300,200,75,18,"
                                                  "4\nrear door,300,200,112,,5\nRoof,500,300,74,,4\n");
    write_text(bench.session.path / "after.csv",
               "panel,x_mm,y_mm,total_um,n\nroof,302,200,74.5,4\nroof,900,300,73,1\n");
    CHECK_THAT(bench.done("import bus.sparecoat before.csv"), Contains("4 new, 0 changed"));
    CHECK_THAT(bench.done("import bus.sparecoat after.csv --when after"), Contains("2 new"));
    CHECK_THAT(bench.done("history bus.sparecoat"), Contains("4 readings on 2 panels before work"));
    const std::string listed = bench.done("readings bus.sparecoat");
    // Of four readings of 1 µm each: 0.5; of the difference sqrt(2) times that.
    CHECK_THAT(listed, Contains("roof, 2026-03-14\n") && Contains("rear door, 2026-03-14\n"));
    CHECK_THAT(
        listed,
        Contains("     300    200  total 75.00 µm ± 0.50 µm   74.50 µm ± 0.50 µm   0.50 µm ± 0.71 µm"));
    CHECK_THAT(listed, Contains("     300    200  clear 18.00 µm ± 0.50 µm   -"));
    CHECK_THAT(listed, Contains("     900    300  total -                    73.00 µm ± 1.00 µm"));
    CHECK_THAT(bench.done("readings bus.sparecoat --panel roof"), !Contains("rear door"));
    write_text(bench.session.path / "odd.csv",
               "panel,x_mm,y_mm,total_um\nroof,300,200,75\nrof,300,200,112\n");
    CHECK_THAT(bench.refused("import bus.sparecoat odd.csv"),
               Contains("odd.csv") && Contains("line 3") && Contains("'roof'"));
    write_text(bench.session.path / "bare.csv", "x_mm,y_mm,total_um\n300,200,75\n");
    CHECK_THAT(bench.refused("import bus.sparecoat bare.csv"),
               Contains("no column \"panel\"") && Contains("--panel"));
    CHECK_THAT(bench.refused("import bus.sparecoat before.csv --panel roof"),
               Contains("line 3")); // one panel was asked for
    {
        JobFile job = JobFile::open(bench.session.path / "bus.sparecoat");
        job.edit("a run", [&] {
            RunRow run;
            run.panel_visit = job.all<PanelVisit>().front().id, run.label = "polish",
            run.inputs_hash = std::string(64, 'a');
            run.summary = "{}", run.made = "2026-03-14T09:30:00Z";
            run.lost_mean_um = 1.31, run.lost_median_um = 1.3, run.lost_worst_um = 4.2;
            job.add(run);
        });
    }
    CHECK_THAT(bench.done("runs bus.sparecoat"),
               Contains("2026-03-14T09:30:00Z  roof, 2026-03-14: polish; lost 1.31 µm on average"));
    CHECK(bench.done("runs bus.sparecoat --panel 'rear door'") == "no runs\n");
}

TEST_CASE(
    "work is noted as planned, and show says what the plan was, what is left and how often that will do",
    "[job][cli]") {
    const Bench bench;
    bench.done("new bus.sparecoat --name 'Minibus 3' --allowance '9 um'");
    bench.done("add-panel bus.sparecoat --name roof --panel roof-skin");
    bench.done("visit bus.sparecoat --date 2026-03-14");
    CHECK_THAT(bench.refused("work bus.sparecoat --panel roof --as-planned"),
               Contains("no plan for work on the roof"));
    CHECK_THAT(bench.refused("work bus.sparecoat --panel roof"), Contains("--done"));
    {
        JobFile job = JobFile::open(bench.session.path / "bus.sparecoat");
        job.edit("a plan", [&] {
            const PanelVisit was = job.at_visit(1, 1);
            PanelVisit now = was;
            // A 90 % interval of 0.9869 is 0.3 standard deviations each way.
            now.plan =
                R"({"fate": "finish only", "steps": [{"sets": 2, "words": "finishing polish"}],
                    "clear": {"mean_um": 40, "sd_um": 2},
                           "outlook": {"film_um": {"low": 1.0065, "median": 1.5, "high": 1.9935}}})";
            job.change(was, now);
        });
    }
    const std::string planned = bench.done("show bus.sparecoat");
    CHECK_THAT(
        planned,
        Contains("    Plan       finish only: 2 sets of finishing polish; 1.50 ± 0.30 µm off open ground"));
    CHECK_THAT(planned, Contains("  Over the reserve: 25.00 ± 2.00 µm of clear coat"));
    CHECK_THAT(planned, Contains("  Still affordable: 6.0 (4.5 to 8.9) more like the planned one, 1.50 ± "
                                 "0.30 µm each")); // 9 / (1.5 ± 1.645 x 0.3)
    CHECK_THAT(bench.done("work bus.sparecoat --panel roof --as-planned --before '75 um' --after '73.8 um' "
                          "--n-before 25 --n-after 25"),
               Contains("Work         roof, 2026-03-14: 2 sets of finishing polish"));
    const std::string worked = bench.done("show bus.sparecoat");
    CHECK_THAT(worked, Contains("    Done       as planned"));
    // Gauge 1.2 with sd sqrt(2/25) = 0.283, model 1.5 ± 0.3: (1.2/0.08 + 1.5/0.09)/(1/0.08 + 1/0.09) = 1.34,
    // sd 0.206.
    CHECK_THAT(worked,
               Contains("1.20 ± 0.28 µm by the gauge, 1.50 ± 0.30 µm by the model; together 1.34 ± 0.21 µm"));
    CHECK_THAT(worked, Contains("  Left: 7.66 ± 0.21 µm of the allowance of 9.00 µm") &&
                           Contains("more like those so far, 1.34 ± 0.21 µm each"));
}

TEST_CASE("a job goes out as JSON and in again as commands have it", "[job][cli]") {
    const Bench bench;
    {
        JobFile job = JobFile::create(bench.session.path / "bus.sparecoat", minibus());
        fill_every_table(job);
    }
    bench.done("export bus.sparecoat --out bus.json");
    bench.done("import copy.sparecoat bus.json");
    CHECK(bench.done("export copy.sparecoat") == bytes_of(bench.session.path / "bus.json"));
    CHECK(bench.done("show copy.sparecoat") == bench.done("show bus.sparecoat"));
    bench.done("export copy.sparecoat --out bus.json"); // an earlier export may be written over
    CHECK_THAT(bench.refused("import copy.sparecoat bus.json"), Contains("a file of that name"));
    write_text(bench.session.path / "precious.json", "{}");
    CHECK_THAT(bench.refused("export bus.sparecoat --out precious.json"), Contains("no earlier export"));
    CHECK(bytes_of(bench.session.path / "precious.json") == "{}");
}

TEST_CASE("job commands say what is wrong and what is allowed", "[job][cli]") {
    const Bench bench;
    bench.done("new bus.sparecoat --name 'Minibus 3'");
    bench.done("add-panel bus.sparecoat --name roof --panel roof-skin");
    bench.done("visit bus.sparecoat --date 2026-03-14 --label spring");
    CHECK_THAT(bench.refused("new bus.sparecoat --name other"), Contains("a file of that name"));
    CHECK_THAT(bench.refused("show nowhere.sparecoat"), Contains("no such file"));
    CHECK_THAT(bench.refused("show ."), Contains("a folder"));
    CHECK_THAT(bench.refused("show bus.sparecoat --panel rof"), Contains("--panel") && Contains("roof"));
    CHECK_THAT(bench.refused("add-panel bus.sparecoat --name roof --panel roof-skin"),
               Contains("a name of its own"));
    CHECK_THAT(bench.refused("add-panel bus.sparecoat --name lid --panel roof-skim"), Contains("roof-skin"));
    CHECK_THAT(bench.refused("visit bus.sparecoat --date 14.3.2026"),
               Contains("--date") && Contains("a date such as 2026-03-14"));
    CHECK_THAT(bench.refused("visit bus.sparecoat --date 2026-03-14 --label spring"),
               Contains("no visit of that label yet"));
    CHECK_THAT(bench.refused("mark bus.sparecoat --panel roof --visit autumn --clean"),
               Contains("--visit") && Contains("2026-03-14 spring"));
    CHECK_THAT(bench.refused("mark bus.sparecoat --panel roof --clean --not-clean"), Contains("one of them"));
    CHECK_THAT(bench.refused("work bus.sparecoat --panel roof --done x --before '110 um'"),
               Contains("both or neither"));
    CHECK_THAT(bench.refused("work bus.sparecoat --panel roof --done x --before 110 --after '109 um'"),
               Contains("--before"));
    CHECK_THAT(bench.refused("import bus.sparecoat nothing.json"), Contains("nothing.json"));
    CHECK_THAT(bench.refused("shw bus.sparecoat"), Contains("show"));
    CHECK_THAT(bench.refused("show"), Contains("job show"));
    CHECK_THAT(bench.done("history bus.sparecoat"), !Contains("lid")); // what was refused left no edit
}

TEST_CASE("a job of an older version is shown after a copy of it was kept, and a damaged one is found out",
          "[job][cli]") {
    const Bench bench;
    make_version_1(bench.session.path / "old.sparecoat");
    CHECK_THAT(bench.done("show old.sparecoat"),
               Contains("as it was it is in old.v1-backup.sparecoat") && Contains("2025-09-01"));
    CHECK(fs::exists(bench.session.path / "old.v1-backup.sparecoat"));
    {
        JobFile job = JobFile::create(bench.session.path / "bus.sparecoat", minibus());
        fill_every_table(job);
    }
    std::string bytes = bytes_of(bench.session.path / "bus.sparecoat");
    write_text(bench.session.path / "half.sparecoat", bytes.substr(0, bytes.size() / 2));
    CHECK_THAT(bench.refused("check half.sparecoat"), Contains("damaged"));
}

} // namespace test_job_command
