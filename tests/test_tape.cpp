// Masking tape: which cells it covers, and what it keeps.
#include "decide/verdict.hpp"
#include "support/worlds.hpp"
#include "tool/tape.hpp"
#include "units/error.hpp"
#include <catch2/catch.hpp>

namespace test_tape {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

Technique taped(double everywhere_m, std::map<std::string, double> by_edge_m = {}) {
    Technique technique;
    technique.tape_m = everywhere_m;
    technique.tape_edge_m = std::move(by_edge_m);
    return technique;
}

Setup with_tape(Setup setup, const Technique& technique, const Panel& panel) {
    setup.taped = std::make_shared<const std::vector<std::uint8_t>>(taped_cells(technique, panel));
    return setup;
}

} // namespace

TEST_CASE("tape covers the cells within its width of the edges that have it") {
    const Panel panel = plate(0.3, 0.2, 0.002);
    const auto cells = taped_cells(taped(0.01, {{"left", 0.03}, {"top", 0}}), panel);
    REQUIRE(cells.size() == panel.grid.cells());
    for (std::size_t k = 0; k < cells.size(); ++k) {
        const Point2 p = panel.grid.centre(k);
        const bool covered = panel.inside[k] && (p.x < 0.03 || p.x > 0.29 || p.y < 0.01);
        REQUIRE(cells[k] == (covered ? 1 : 0)); // cell centres lie 1 mm off every limit
    }
}

TEST_CASE("a body line is taped to both sides, and only where it is named") {
    Features shape = rectangle(0.4, 0.3);
    shape.body_lines = {{"waist line", {{0, 0.15}, {0.4, 0.15}}, 0.006, 0.005}};
    const Panel panel = panel_of(shape, 0.002);
    CHECK(taped_cells(taped(0), panel).empty());
    const auto edges_only = taped_cells(taped(0.01), panel);
    CHECK(edges_only[cell_at(panel, {0.201, 0.151})] == 0);
    const auto line = taped_cells(taped(0, {{"waist line", 0.008}}), panel);
    CHECK(line[cell_at(panel, {0.201, 0.145})] == 1);
    CHECK(line[cell_at(panel, {0.201, 0.155})] == 1);
    CHECK(line[cell_at(panel, {0.201, 0.141})] == 0);
    CHECK(line[cell_at(panel, {0.201, 0.001})] == 0);
}

TEST_CASE("tape along an edge that the panel lacks is refused with the names it has") {
    const Panel panel = plate(0.3, 0.2, 0.004);
    try {
        taped_cells(taped(0, {{"sill/front", 0.01}}), panel, "t.json");
        FAIL("taken");
    } catch (const InputError& error) {
        CHECK(error.place() == "/tape/sill~1front"); // RFC 6901
        CHECK_THAT(error.what(), Catch::Contains("bottom, right, top, left"));
    }
}

TEST_CASE("the paint under tape is untouched and the paint beside it loses what it would without") {
    // The pad rides over tape as over paint. A liquid that neither breaks down nor loads the pad cuts the
    // same whatever the pad has met before, so the bare cells must agree to the bit.
    const Panel panel = plate(0.4, 0.3, 0.002);
    const Setup bare = setup_of(orbital(), foam_pad(), 30);
    const Technique technique = taped(0, {{"bottom", 0.012}});
    const Setup setup = with_tape(bare, technique, panel);
    const ArmPath along_edge = straight({{0.1, 0.02}, {0.3, 0.02}});
    const RunResult kept = simulate(panel, setup, along_edge), open = simulate(panel, bare, along_edge);
    double lost_under_tape = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        if ((*setup.taped)[k]) {
            REQUIRE(kept.fields.removed_um[k] == 0);
            REQUIRE(kept.fields.contact_time_s[k] == 0);
            lost_under_tape += static_cast<double>(open.fields.removed_um[k]);
        } else {
            REQUIRE(kept.fields.removed_um[k] == open.fields.removed_um[k]);
        }
    }
    CHECK(lost_under_tape > 0);
    CHECK(kept.totals.friction_work_j == open.totals.friction_work_j); // the machine works as hard
}

TEST_CASE("with tape the film taken off still is the work done on paint times k over friction") {
    const Panel panel = plate(0.4, 0.3, 0.002);
    const Setup setup = with_tape(setup_of(orbital(), foam_pad(), 30), taped(0.015), panel);
    const RunResult result = simulate(panel, setup, straight({{0.1, 0.02}, {0.3, 0.02}}));
    // Cell sums in float32 over 50 steps against sums in double: 1e-4 is ample and far below the tape's
    // share.
    CHECK(total_removed_m3(panel, result.fields) == Approx(result.totals.removed_by_work_m3).epsilon(1e-4));
    CHECK(result.totals.removed_by_work_m3 < 0.97 * 1e-11 / 0.35 * result.totals.friction_work_j);
}

} // namespace test_tape
