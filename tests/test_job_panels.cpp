// A job's panels changed and taken off, and shapes refused on the way in.
#include "support/cli_desk.hpp"
#include <catch2/catch.hpp>

namespace test_job_panels {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::cli_desk;
using Catch::Matchers::Contains;

namespace {

std::string done(const Desk& desk, std::vector<std::string> args) {
    args.insert(args.begin(), "job");
    const Ended ended = desk.run(args);
    INFO(ended.err);
    REQUIRE(ended.code == 0);
    return ended.out;
}

std::string refused(const Desk& desk, std::vector<std::string> args) {
    args.insert(args.begin(), "job");
    const Ended ended = desk.run(args);
    INFO(ended.out);
    REQUIRE(ended.code == 2);
    return ended.err;
}

/// A job with a plate that has two readings, a note and a visit.
void begin(const Desk& desk) {
    done(desk, {"new", "bus.sparecoat", "--name", "Minibus"});
    done(desk, {"add-panel", "bus.sparecoat", "--name", "flap", "--panel", "600x500"});
    done(desk, {"visit", "bus.sparecoat", "--date", "2026-03-14"});
    desk.write("gauge.csv", "spots;1x2\nTotal (\xC2\xB5m)\n112,5\n113,5\n");
    CHECK_THAT(done(desk, {"import", "bus.sparecoat", "gauge.csv", "--panel", "flap"}),
               Contains("2 new") &&
                   Contains("2 readings, decimal comma, µm, total film, laid on 2 gauge spots"));
    done(desk, {"note", "bus.sparecoat", "--panel", "flap", "--add", "stone chips"});
}

} // namespace

TEST_CASE("a panel gets another name, shape, paint or note, and undo brings the old one back", "[job][cli]") {
    const Desk desk;
    begin(desk);
    CHECK_THAT(done(desk, {"edit-panel", "bus.sparecoat", "--panel", "flap", "--name", "rear flap", "--shape",
                           "700x500 mm, crown 3 m", "--paint", "soft", "--note", "dented"}),
               Contains("rear flap, plate-700x500-u-3000-v-3000 with soft paint") && Contains("job plan"));
    CHECK_THAT(done(desk, {"show", "bus.sparecoat"}), Contains("rear flap") && Contains("2 spots"));
    CHECK_THAT(done(desk, {"undo", "bus.sparecoat"}), Contains("the flap changed"));
    CHECK_THAT(done(desk, {"show", "bus.sparecoat"}), Contains("flap") && !Contains("rear flap"));
    CHECK_THAT(refused(desk, {"edit-panel", "bus.sparecoat", "--panel", "flap"}),
               Contains("nothing to change"));
    CHECK_THAT(refused(desk, {"edit-panel", "bus.sparecoat", "--panel", "flop", "--note", "x"}),
               Contains("flap"));
    CHECK_THAT(refused(desk, {"edit-panel", "bus.sparecoat", "--panel", "flap", "--shape", "100x500"}),
               Contains("flap") && Contains("readings of it would lie off"));
    done(desk, {"add-panel", "bus.sparecoat", "--name", "lid", "--panel", "test-plate"});
    CHECK_THAT(refused(desk, {"edit-panel", "bus.sparecoat", "--panel", "flap", "--name", "lid"}),
               Contains("\"lid\", which the job has"));
    done(desk, {"check", "bus.sparecoat"});
}

TEST_CASE("a panel is taken off with what hangs on it, and undo puts it back", "[job][cli]") {
    const Desk desk;
    begin(desk);
    CHECK_THAT(done(desk, {"remove-panel", "bus.sparecoat", "--panel", "flap"}),
               Contains("2 readings, 1 note") && Contains("job undo"));
    CHECK_THAT(done(desk, {"readings", "bus.sparecoat"}), Contains("no readings"));
    done(desk, {"check", "bus.sparecoat"});
    done(desk, {"undo", "bus.sparecoat"});
    CHECK_THAT(done(desk, {"readings", "bus.sparecoat"}), Contains("112.5"));
    CHECK_THAT(done(desk, {"note", "bus.sparecoat"}), Contains("stone chips"));
    CHECK_THAT(refused(desk, {"remove-panel", "bus.sparecoat", "--panel", "roof"}), Contains("flap"));
}

TEST_CASE("a shape that cannot be built is refused when its panel is added, by the panel's name",
          "[job][cli]") {
    const Desk desk;
    done(desk, {"new", "bus.sparecoat", "--name", "Minibus"});
    desk.write("crossed.json", R"({"kind": "panel", "name": "Crossed", "substrate": "steel", "outline": [
        {"at": ["0 mm", "0 mm"]}, {"at": ["500 mm", "400 mm"]},
        {"at": ["500 mm", "0 mm"]}, {"at": ["0 mm", "400 mm"]}]})");
    CHECK_THAT(
        refused(desk, {"add-panel", "bus.sparecoat", "--name", "left flap", "--panel", "crossed.json"}),
        Contains("the panel \"left flap\"") && Contains("cannot be built") && Contains("allowed"));
    CHECK_THAT(refused(desk, {"add-panel", "bus.sparecoat", "--name", "lid", "--panel", "9x1 m"}),
               Contains("20 mm to 4 m"));
    CHECK_THAT(done(desk, {"history", "bus.sparecoat"}), !Contains("flap") && !Contains("lid"));
}

} // namespace test_job_panels
