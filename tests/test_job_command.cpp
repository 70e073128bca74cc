// `sparecoat job` as a person uses it.
#include "files.hpp"
#include "job_world.hpp"
#include "places.hpp"
#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <sys/wait.h>

namespace fs = std::filesystem;
using namespace sparecoat;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

struct Said {
    int code = 0;
    std::string text;
};

struct Bench {
    ScratchFolder desk;

    /// The program with these words after "job", run in the folder; what it says on either stream.
    Said run(const std::string& words) const {
        const std::string line = fmt::format("cd '{}' && '{}' job {} 2>&1", desk.path.string(), built_program(), words);
        FILE* pipe = ::popen(line.c_str(), "r");
        REQUIRE(pipe != nullptr);
        Said said;
        std::array<char, 4096> part{};
        while (const std::size_t got = std::fread(part.data(), 1, part.size(), pipe)) said.text.append(part.data(), got);
        said.code = WEXITSTATUS(::pclose(pipe));
        return said;
    }
    std::string done(const std::string& words) const {
        const Said said = run(words);
        INFO(words << "\n" << said.text);
        REQUIRE(said.code == 0);
        return said.text;
    }
    std::string refused(const std::string& words) const {
        const Said said = run(words);
        INFO(words << "\n" << said.text);
        REQUIRE(said.code == 2);
        CHECK(std::ranges::count(said.text, '\n') == 1);
        return said.text;
    }
};

} // namespace

TEST_CASE("a job goes from nothing to a second visit by commands", "[job][cli]") {
    const Bench bench;
    bench.done("new bus.sparecoat --name 'Minibus 3' --description 'community transport' --kit workshop --allowance '9 um'");
    bench.done("add-panel bus.sparecoat --name 'left rear door' --panel rear-door");
    bench.done("add-panel bus.sparecoat --name bumper --panel bumper-corner --paint soft --note scuffed");
    CHECK_THAT(bench.refused("mark bus.sparecoat --panel bumper --clean"), Contains("no visit yet"));
    bench.done("visit bus.sparecoat --date 2026-03-14 --label spring");
    write_text(bench.desk.path / "before.csv", "panel,left rear door\nx_mm,y_mm,total_um,n\n300,200,112,5\n500,300,110,5\n");
    write_text(bench.desk.path / "after.csv", "panel,left rear door\nx_mm,y_mm,total_um,n\n300,200,110.5,5\n500,300,108.5,5\n");
    CHECK_THAT(bench.done("import bus.sparecoat before.csv --panel 'left rear door'"), Contains("2 new"));
    CHECK_THAT(bench.done("show bus.sparecoat"), Contains("not washed and decontaminated yet") && Contains("all of the allowance of 9.00 µm"));
    bench.done("mark bus.sparecoat --panel 'left rear door' --clean --defects severe");
    bench.done("import bus.sparecoat after.csv --panel 'left rear door' --when after");
    bench.done("work bus.sparecoat --panel 'left rear door' --done '2 sets of polish' --predicted '1.3 um' --predicted-sd '0.4 um'");
    bench.done("visit bus.sparecoat --date 2027-03-20");
    bench.done("work bus.sparecoat --panel 'left rear door' --done '1 set of finishing polish' --before '108.4 um' --after '108 um' "
               "--n-before 12 --n-after 12");
    const std::string shown = bench.done("show bus.sparecoat --panel 'left rear door'");
    // 1.5 by the gauge with sd sqrt(4 x 1/5)/2 = 0.447 and 1.3 ± 0.4 by the model: (1.5/0.2 + 1.3/0.16)/(1/0.2 + 1/0.16).
    // A year later 0.4 with sd sqrt(2/12) = 0.408.
    CHECK_THAT(shown, Contains("1.50 ± 0.45 µm by the gauge, 1.30 ± 0.40 µm by the model; together 1.39 ± 0.30 µm"));
    CHECK_THAT(shown, Contains("Spent: 1.79 ± 0.51 µm at 2 visits") && Contains("Left: 7.21 ± 0.51 µm of the allowance of 9.00 µm"));
    CHECK_THAT(shown, Contains("2026-03-14 spring: clean, defects severe") && Contains("total 111.00 µm, spread 1.41 µm (110.00 to 112.00 µm, 2 spots)"));
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

TEST_CASE("a job goes out as JSON and in again as commands have it", "[job][cli]") {
    const Bench bench;
    {
        JobFile job = JobFile::create(bench.desk.path / "bus.sparecoat", minibus());
        fill_every_table(job);
    }
    bench.done("export bus.sparecoat --out bus.json");
    bench.done("import copy.sparecoat bus.json");
    CHECK(bench.done("export copy.sparecoat") == bytes_of(bench.desk.path / "bus.json"));
    CHECK(bench.done("show copy.sparecoat") == bench.done("show bus.sparecoat"));
    bench.done("export copy.sparecoat --out bus.json"); // an earlier export may be written over
    CHECK_THAT(bench.refused("import copy.sparecoat bus.json"), Contains("a file of that name"));
    write_text(bench.desk.path / "precious.json", "{}");
    CHECK_THAT(bench.refused("export bus.sparecoat --out precious.json"), Contains("no earlier export"));
    CHECK(bytes_of(bench.desk.path / "precious.json") == "{}");
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
    CHECK_THAT(bench.refused("add-panel bus.sparecoat --name roof --panel roof-skin"), Contains("a name of its own"));
    CHECK_THAT(bench.refused("add-panel bus.sparecoat --name lid --panel roof-skim"), Contains("roof-skin"));
    CHECK_THAT(bench.refused("visit bus.sparecoat --date 14.3.2026"), Contains("--date") && Contains("a date such as 2026-03-14"));
    CHECK_THAT(bench.refused("visit bus.sparecoat --date 2026-03-14 --label spring"), Contains("no visit of that label yet"));
    CHECK_THAT(bench.refused("mark bus.sparecoat --panel roof --visit autumn --clean"), Contains("--visit") && Contains("2026-03-14 spring"));
    CHECK_THAT(bench.refused("mark bus.sparecoat --panel roof --clean --not-clean"), Contains("one of them"));
    CHECK_THAT(bench.refused("work bus.sparecoat --panel roof --done x --before '110 um'"), Contains("both or neither"));
    CHECK_THAT(bench.refused("work bus.sparecoat --panel roof --done x --before 110 --after '109 um'"), Contains("--before"));
    CHECK_THAT(bench.refused("import bus.sparecoat nothing.json"), Contains("nothing.json"));
    CHECK_THAT(bench.refused("shw bus.sparecoat"), Contains("show"));
    CHECK_THAT(bench.refused("show"), Contains("job show"));
    CHECK_THAT(bench.done("history bus.sparecoat"), !Contains("lid")); // what was refused left no edit
}

TEST_CASE("a job of an older version is shown after a copy of it was kept, and a damaged one is found out", "[job][cli]") {
    const Bench bench;
    make_version_1(bench.desk.path / "old.sparecoat");
    CHECK_THAT(bench.done("show old.sparecoat"), Contains("as it was it is in old.v1-backup.sparecoat") && Contains("2025-09-01"));
    CHECK(fs::exists(bench.desk.path / "old.v1-backup.sparecoat"));
    {
        JobFile job = JobFile::create(bench.desk.path / "bus.sparecoat", minibus());
        fill_every_table(job);
    }
    std::string bytes = bytes_of(bench.desk.path / "bus.sparecoat");
    write_text(bench.desk.path / "half.sparecoat", bytes.substr(0, bytes.size() / 2));
    CHECK_THAT(bench.refused("check half.sparecoat"), Contains("damaged"));
}
