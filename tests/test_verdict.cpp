// The verdict on fields made by hand, so that every figure it gives can be told beforehand.
#include "decide/verdict.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <rapidcheck.h>

namespace test_verdict {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double pad_radius_m = 0.075;

struct Worked {
    Panel panel;
    Fields fields;

    /// One cell's accumulators from its factors.
    void set(std::size_t cell, const Factors& f) {
        fields.contact_time_s[cell] = static_cast<float>(f.time_s);
        fields.pressure_time_pa_s[cell] = static_cast<float>(f.time_s * f.pressure_pa);
        fields.friction_path_pa_m[cell] = static_cast<float>(f.time_s * f.pressure_pa * f.speed_m_s);
        fields.removed_cold_um[cell] = static_cast<float>(f.removed_um() / f.heat);
        fields.removed_um[cell] = static_cast<float>(f.removed_um());
    }
    void set(Point2 at, const Factors& f) { set(cell_at(panel, at), f); }

    /// The same work, but so much taken off: the liquid cuts more or less.
    void remove(std::size_t cell, double um) {
        fields.removed_cold_um[cell] = fields.removed_um[cell] = static_cast<float>(um);
    }
    void remove(Point2 at, double um) { remove(cell_at(panel, at), um); }
};

const Factors usual{10, 2000, 3, 1e-11}; // takes 0.6 µm

/// A plate in 4 mm cells, 40 µm of clear coat, worked alike all over.
Worked evenly_worked(double width_m, double height_m) {
    Worked w{plate(width_m, height_m, 0.004), {}};
    for (auto* field : {&w.fields.contact_time_s, &w.fields.pressure_time_pa_s, &w.fields.friction_path_pa_m,
                        &w.fields.removed_cold_um, &w.fields.removed_um})
        field->assign(w.panel.grid.cells(), 0.0f);
    for (std::size_t k = 0; k < w.panel.grid.cells(); ++k)
        if (w.panel.inside[k]) w.set(k, usual);
    return w;
}

/// Cells at least so far from every edge and crest, in the grid's order.
std::vector<std::size_t> cells_clear_of_edges(const Panel& panel, double clearance_m) {
    std::vector<std::size_t> cells;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (panel.inside[k] &&
            std::min(panel.edge_distance_m[k], panel.crest_distance_m[k]) >= static_cast<float>(clearance_m))
            cells.push_back(k);
    return cells;
}

/// A body line along v at a given u, as far as the verdict sees one.
void press_line(Panel& panel, double at_u_m, const std::string& name) {
    panel.crest_names = {name};
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        panel.crest_distance_m[k] = static_cast<float>(std::abs(panel.grid.centre(k).x - at_u_m));
        panel.nearest_crest[k] = 0;
    }
}

std::string place_at(const Worked& w, Point2 at) {
    OpenPanel open;
    open.cell = cell_at(w.panel, {0.2, 0.2});
    return describe_spot(w.panel, w.fields, open, cell_at(w.panel, at)).place;
}

} // namespace

// ---- factors

TEST_CASE("a cell's factors are the means over its contact and multiply back to its loss") {
    Worked w = evenly_worked(0.1, 0.1);
    const std::size_t cell = cell_at(w.panel, {0.05, 0.05});
    w.fields.contact_time_s[cell] = 8;
    w.fields.pressure_time_pa_s[cell] = 16000;
    w.fields.friction_path_pa_m[cell] = 40000;
    w.fields.removed_cold_um[cell] = 0.4f;
    w.fields.removed_um[cell] = 0.5f;
    const Factors f = factors_at(w.fields, cell);
    CHECK(f.time_s == 8);
    CHECK(f.pressure_pa == 2000);
    CHECK(f.speed_m_s == 2.5);
    CHECK(f.cut_per_pa == Approx(0.4e-6 / 40000).epsilon(1e-7)); // 0.4 is no float
    CHECK(f.heat == Approx(1.25).epsilon(1e-7));
    CHECK(f.removed_um() == Approx(0.5).epsilon(1e-14)); // telescopes in doubles
}

TEST_CASE("a cell that the pad never touched has no factors") {
    Worked w = evenly_worked(0.1, 0.1);
    w.set({0.05, 0.05}, {});
    const Factors f = factors_at(w.fields, cell_at(w.panel, {0.05, 0.05}));
    CHECK(f.time_s == 0);
    CHECK(f.pressure_pa == 0);
    CHECK(f.speed_m_s == 0);
    CHECK(f.cut_per_pa == 0);
    CHECK(f.heat == 1);
    CHECK(f.removed_um() == 0);
}

// ---- the open panel

TEST_CASE("the open panel is the cell with the median loss, with the 5th and 95th percentile beside it") {
    Worked w = evenly_worked(0.4, 0.4);
    const std::vector<std::size_t> cells = cells_clear_of_edges(w.panel, pad_radius_m);
    const std::size_t n = cells.size();
    REQUIRE(n > 1000);
    // Losses 0.500, 0.501, ... µm, dealt out in a stride that meets every cell once.
    constexpr std::size_t stride = 7919; // prime and no divisor of n
    REQUIRE(n % stride != 0);
    std::vector<std::size_t> cell_of_rank(n);
    for (std::size_t k = 0; k < n; ++k) {
        const std::size_t rank = k * stride % n;
        cell_of_rank[rank] = cells[k];
        w.remove(cells[k], 0.5 + 0.001 * static_cast<double>(rank));
    }
    const OpenPanel open = judge(w.panel, w.fields, pad_radius_m).open;
    const auto ranked = [&](double share) {
        return static_cast<std::size_t>(share * static_cast<double>(n - 1));
    };
    CHECK(open.cells == n);
    CHECK(open.clearance_m == pad_radius_m);
    CHECK(open.cell == cell_of_rank[ranked(0.5)]);
    CHECK(open.median_um == Approx(0.5 + 0.001 * static_cast<double>(ranked(0.5))).epsilon(1e-6)); // float32
    CHECK(open.low_um == Approx(0.5 + 0.001 * static_cast<double>(ranked(0.05))).epsilon(1e-6));
    CHECK(open.high_um == Approx(0.5 + 0.001 * static_cast<double>(ranked(0.95))).epsilon(1e-6));
}

TEST_CASE("where losses tie the cells' order decides, so that the open cell is the same everywhere") {
    const Worked w = evenly_worked(0.4, 0.4);
    const std::vector<std::size_t> cells = cells_clear_of_edges(w.panel, pad_radius_m);
    CHECK(judge(w.panel, w.fields, pad_radius_m).open.cell == cells[(cells.size() - 1) / 2]);
}

TEST_CASE("ground within a pad's radius of an edge or crest does not stand for the open panel") {
    Worked w = evenly_worked(0.5, 0.4);
    press_line(w.panel, 0.15, "waist line");
    const std::vector<std::size_t> clear = cells_clear_of_edges(w.panel, pad_radius_m);
    for (std::size_t k = 0; k < w.panel.grid.cells(); ++k)
        if (w.panel.inside[k]) w.remove(k, 5);
    for (const std::size_t cell : clear) w.remove(cell, 0.6);
    const OpenPanel open = judge(w.panel, w.fields, pad_radius_m).open;
    CHECK(open.cells == clear.size());
    CHECK(open.high_um == Approx(0.6));
    CHECK(w.panel.grid.centre(open.cell).x >= 0.15 + pad_radius_m);
}

TEST_CASE("ground that the pad passed over more briefly than the rest does not stand for the open panel") {
    Worked w = evenly_worked(0.6, 0.4);
    std::size_t expected = 0;
    for (const std::size_t cell : cells_clear_of_edges(w.panel, pad_radius_m)) {
        const double x = w.panel.grid.centre(cell).x;
        // The long-worked ground sets the measure, at 10 s; the section fades over its border.
        const double time_s = x < 0.3 ? 10 : x < 0.4 ? 7.5 : 6.5;
        w.set(cell, {time_s, 2000, 3, 1e-11});
        expected += time_s > 7;
    }
    const OpenPanel open = judge(w.panel, w.fields, pad_radius_m).open;
    CHECK(open.cells == expected);
    CHECK(open.low_um == Approx(0.75 * 0.6).epsilon(1e-6));
}

TEST_CASE("where nothing lies a pad's radius from the edges the distance is halved until there is enough") {
    const Worked narrow = evenly_worked(0.1, 0.3);
    CHECK(judge(narrow.panel, narrow.fields, pad_radius_m).open.clearance_m == pad_radius_m / 2);
    // 60 mm wide: 25 cells lie 18.75 mm inside, too few to speak for a panel, and 121 lie 9.4 mm inside.
    const Worked small = evenly_worked(0.06, 0.06);
    const OpenPanel open = judge(small.panel, small.fields, pad_radius_m).open;
    CHECK(open.clearance_m == pad_radius_m / 8);
    CHECK(open.cells == 121);
}

TEST_CASE("a panel too small to have open ground stands for itself, every worked cell of it") {
    const Worked w = evenly_worked(0.024, 0.024);
    const OpenPanel open = judge(w.panel, w.fields, pad_radius_m).open;
    CHECK(open.clearance_m == 0);
    CHECK(open.cells == 36);
    CHECK(open.median_um == Approx(0.6));
}

TEST_CASE("a panel that nothing was taken off has no verdict") {
    Worked w = evenly_worked(0.1, 0.1);
    std::fill(w.fields.removed_um.begin(), w.fields.removed_um.end(), 0.0f);
    CHECK_THROWS_AS(judge(w.panel, w.fields, pad_radius_m), std::invalid_argument);
}

// ---- sums

TEST_CASE("the volume, the worked area, the most taken and the least left are those of the cells") {
    Worked w = evenly_worked(0.2, 0.12);
    w.remove({0.05, 0.05}, 2.1);
    w.panel.clear_um[cell_at(w.panel, {0.15, 0.05})] = 1.5f;
    const std::size_t untouched = cell_at(w.panel, {0.1, 0.06});
    w.set(untouched, {});
    w.panel.clear_um[untouched] = 0.1f; // not worked, so it is not the least left
    const Verdict v = judge(w.panel, w.fields, pad_radius_m);
    const double cell_area_m2 = 16e-6;
    const double cells = 50 * 30 - 1;
    CHECK(v.worked_area_m2 == Approx(cells * cell_area_m2).epsilon(1e-12));
    CHECK(v.removed_volume_m3 ==
          Approx((cells * 0.6 + 1.5) * 1e-6 * cell_area_m2).epsilon(1e-6)); // float32 losses
    CHECK(v.most_removed_um == Approx(2.1).epsilon(1e-6));
    CHECK(v.least_clear_left_um == Approx(0.9).epsilon(1e-6));
}

// ---- the worst spots

TEST_CASE("the worst spot is where most of its clear coat went, not where most film went") {
    Worked w = evenly_worked(0.5, 0.4);
    w.remove({0.1, 0.1}, 4);
    w.remove({0.4, 0.3}, 2);
    w.panel.clear_um[cell_at(w.panel, {0.4, 0.3})] = 10;
    const std::vector<SpotAtRisk> worst = judge(w.panel, w.fields, pad_radius_m).worst;
    REQUIRE(worst.size() == 5);
    CHECK(worst[0].cell == cell_at(w.panel, {0.4, 0.3}));
    CHECK(worst[0].share() == Approx(0.2).epsilon(1e-6));
    CHECK(worst[0].clear_before_um == 10);
    CHECK(worst[0].clear_left_um == Approx(8).epsilon(1e-6));
    CHECK(worst[1].cell == cell_at(w.panel, {0.1, 0.1}));
    CHECK(worst[1].share() == Approx(0.1).epsilon(1e-6));
}

TEST_CASE("the worst spots come in order and a pad's radius apart") {
    Worked w = evenly_worked(0.6, 0.5);
    // A ridge of loss, each of whose cells would be among the worst, and single spots elsewhere.
    for (int k = 0; k < 100; ++k) w.remove(Point2{0.102 + 0.004 * k, 0.25}, 9 - 0.01 * k);
    w.remove({0.3, 0.45}, 7);
    w.remove({0.302, 0.402}, 6.9); // 48 mm from the one before
    const std::vector<SpotAtRisk> worst = judge(w.panel, w.fields, pad_radius_m, 7).worst;
    REQUIRE(worst.size() == 7);
    CHECK(worst[0].cell == cell_at(w.panel, {0.102, 0.25}));
    for (std::size_t a = 0; a < worst.size(); ++a) {
        CHECK(worst[a].cell != cell_at(w.panel, {0.302, 0.402}));
        if (a > 0) CHECK(worst[a].share() <= worst[a - 1].share());
        for (std::size_t b = 0; b < a; ++b) CHECK(norm(worst[a].at - worst[b].at) >= pad_radius_m);
    }
    // Every 19th cell is the next one along the ridge that is 75 mm on.
    CHECK(worst[1].cell == cell_at(w.panel, {0.102 + 19 * 0.004, 0.25}));
}

TEST_CASE("as many spots are listed as were asked for, or as there is room for") {
    const Worked w = evenly_worked(0.5, 0.4);
    CHECK(judge(w.panel, w.fields, pad_radius_m).worst.size() == 5);
    CHECK(judge(w.panel, w.fields, pad_radius_m, 2).worst.size() == 2);
    CHECK(judge(w.panel, w.fields, pad_radius_m, 0).worst.empty());
    const Worked small = evenly_worked(0.05, 0.05);
    CHECK(judge(small.panel, small.fields, pad_radius_m).worst.size() == 1);
}

TEST_CASE("a spot worked through its clear coat says by how much") {
    Worked w = evenly_worked(0.4, 0.3);
    w.remove({0.2, 0.15}, 45);
    const Verdict v = judge(w.panel, w.fields, pad_radius_m);
    CHECK(v.worst.front().clear_left_um == Approx(-5).epsilon(1e-6));
    CHECK(v.worst.front().share() == Approx(1.125).epsilon(1e-6));
    CHECK(v.least_clear_left_um == Approx(-5).epsilon(1e-6));
}

TEST_CASE("a spot's split says how much each cause does and multiplies out to the ratio of shares") {
    Worked w = evenly_worked(0.4, 0.4);
    const Point2 spot{0.02, 0.2};
    w.set(spot, {15, 5000, 2.4, 1.1e-11, 1.2});
    w.panel.clear_um[cell_at(w.panel, spot)] = 32;
    const Verdict v = judge(w.panel, w.fields, pad_radius_m);
    const SpotAtRisk& worst = v.worst.front();
    REQUIRE(worst.cell == cell_at(w.panel, spot));
    const Split& s = worst.against_open; // to the rounding of float32
    CHECK(s.time == Approx(1.5).epsilon(1e-6));
    CHECK(s.pressure == Approx(2.5).epsilon(1e-6));
    CHECK(s.speed == Approx(0.8).epsilon(1e-6));
    CHECK(s.cut == Approx(1.1).epsilon(1e-6));
    CHECK(s.heat == Approx(1.2).epsilon(1e-6));
    CHECK(s.film == Approx(1.25).epsilon(1e-6));
    const double open_share = v.open.median_um / 40;
    CHECK(s.all() == Approx(worst.share() / open_share).epsilon(1e-12));
}

TEST_CASE("the split multiplies out whatever the two cells went through") {
    REQUIRE(rc::check([] {
        Worked w = evenly_worked(0.03, 0.03);
        const auto positive = [](double low, double high) {
            return low * std::pow(high / low, *rc::gen::inRange(0, 10001) / 10000.0);
        };
        const auto factors = [&] {
            return Factors{positive(1e-3, 1e3), positive(1, 1e5), positive(1e-2, 20), positive(1e-13, 1e-9),
                           positive(1, 4)};
        };
        const std::size_t here = cell_at(w.panel, {0.01, 0.01}), open_cell = cell_at(w.panel, {0.02, 0.02});
        w.set(here, factors());
        w.set(open_cell, factors());
        w.panel.clear_um[here] = static_cast<float>(positive(1, 200));
        OpenPanel open;
        open.cell = open_cell;
        const SpotAtRisk spot = describe_spot(w.panel, w.fields, open, here);
        const double open_share = static_cast<double>(w.fields.removed_um[open_cell]) / 40;
        RC_ASSERT(std::abs(spot.against_open.all() / (spot.share() / open_share) - 1) < 1e-12);
        RC_ASSERT(std::abs(spot.factors.removed_um() / spot.removed_um - 1) < 1e-12);
    }));
}

// ---- places

TEST_CASE("a spot is named after the edge it is near, and far from all it is open panel") {
    Worked w = evenly_worked(0.4, 0.4);
    CHECK(place_at(w, {0.2, 0.2}) == "open panel");
    CHECK(place_at(w, {0.002, 0.2}) == "2 mm from the left edge");
    CHECK(place_at(w, {0.378, 0.2}) == "22 mm from the right edge");
    CHECK(place_at(w, {0.2, 0.342}) == "58 mm from the top edge");
    CHECK(place_at(w, {0.2, 0.338}) == "open panel");
}

TEST_CASE("an edge's name is not made clumsy by what it says already") {
    Worked w = evenly_worked(0.4, 0.4);
    const auto named = [&](const std::string& name) {
        for (std::string& edge : w.panel.edge_names) edge = name;
        return place_at(w, {0.006, 0.2});
    };
    CHECK(named("wheel arch") == "6 mm from the wheel arch edge");
    CHECK(named("door edge") == "6 mm from the door edge");
    CHECK(named("outline") == "6 mm from the outline");
    CHECK(named("edge 3") == "6 mm from edge 3");
    CHECK(named("hole 1") == "6 mm from hole 1");
}

TEST_CASE("a spot is named after a crest where that is nearer than the edge") {
    Worked w = evenly_worked(0.4, 0.4);
    press_line(w.panel, 0.05, "waist line");
    CHECK(place_at(w, {0.05, 0.2}) == "on the waist line");
    CHECK(place_at(w, {0.062, 0.2}) == "12 mm from the waist line");
    CHECK(place_at(w, {0.106, 0.2}) == "56 mm from the waist line");
    CHECK(place_at(w, {0.014, 0.2}) == "14 mm from the left edge");
    CHECK(place_at(w, {0.2, 0.2}) == "open panel");
}

// ---- clear coat left

TEST_CASE("clear coat left is what was there less what was taken, 0 at the least, NaN off the panel") {
    Worked w = evenly_worked(0.1, 0.1);
    w.remove({0.022, 0.05}, 45);
    const std::vector<float> left = clear_left_um(w.panel, w.fields);
    REQUIRE(left.size() == w.panel.grid.cells());
    CHECK(left[cell_at(w.panel, {0.05, 0.05})] == 40.0f - 0.6f);
    CHECK(left[cell_at(w.panel, {0.022, 0.05})] == 0);
    std::size_t outside = 0;
    for (std::size_t k = 0; k < left.size(); ++k) {
        CHECK(std::isnan(left[k]) == (w.panel.inside[k] == 0));
        outside += w.panel.inside[k] == 0;
    }
    CHECK(outside > 0); // the grid has a margin round the panel
}

} // namespace test_verdict
