// Marks in the clear coat: what is seen of them, what goes as film goes, what a step leaves of its own.
#include "finish/clearing.hpp"
#include "finish/described.hpp"
#include "finish/step_marks.hpp"
#include "support/worlds.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <rapidcheck.h>

namespace test_finish {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

MarkPopulation swirls(double depth_um = 0.8, double depth_sd = 0.4) {
    MarkPopulation p = population_of({MarkKind::swirls, Visible::plain, false});
    p.depth_um = depth_um, p.depth_sd = depth_sd;
    return p;
}

/// int_from^inf g(d) f(d) dd of the lognormal law, by Simpson's rule in ln d over twelve standard deviations.
template <class Function> double over_depths(const MarkPopulation& p, double from_um, Function g) {
    constexpr int n = 4000;
    const double low = std::max(-12.0, from_um > 0 ? std::log(from_um / p.depth_um) / p.depth_sd : -12.0);
    const double high = low + 24;
    double sum = 0;
    for (int k = 0; k <= n; ++k) {
        const double z = low + (high - low) * k / n, weight = k == 0 || k == n ? 1 : k % 2 == 1 ? 4 : 2;
        sum += weight * std::exp(-0.5 * z * z) / std::sqrt(2 * pi) * g(p.depth_um * std::exp(p.depth_sd * z));
    }
    return sum * (high - low) / n / 3;
}

std::vector<float> even_removal(const Panel& panel, double um) {
    std::vector<float> removed(panel.grid.cells(), 0.0f);
    for (std::size_t k = 0; k < removed.size(); ++k)
        if (panel.inside[k]) removed[k] = static_cast<float>(um);
    return removed;
}

Liquid liquid_of(double grain_um, bool paper = false) {
    Liquid liquid = steady_liquid();
    liquid.abrasive_start_m = liquid.abrasive_end_m = grain_um * 1e-6;
    liquid.paper = paper;
    return liquid;
}

} // namespace

// ---- populations ------------------------------------------------------------------------------------

TEST_CASE("partial moments of the depths are those of direct integration") {
    // Simpson's rule with 4000 intervals leaves about 1e-10; the tail at four medians is small itself.
    for (const double sd : {0.1, 0.4, 0.9})
        for (const int k : {0, 1, 2, 3})
            for (const double above : {0.0, 0.3, 0.8, 3.2}) {
                const MarkPopulation p = swirls(0.8, sd);
                CAPTURE(sd, k, above);
                const double direct = over_depths(p, above, [k](double d) { return std::pow(d, k); });
                CHECK(depth_moment(p, k, above) == Approx(direct).epsilon(1e-6).margin(1e-12));
            }
}

TEST_CASE("the visible share is the density times the size of what is left of each mark that shows") {
    for (const double worn : {0.0, 0.2, 0.7, 2.0}) {
        const MarkPopulation p = swirls();
        const auto size_left = [&](double d) { return (d - worn) / p.depth_um; };
        const double left = over_depths(p, worn + visible_um, size_left);
        CHECK(visible_share(p, worn) == Approx(p.covered() * left).epsilon(1e-6)); // Simpson, as above
    }
}

TEST_CASE("a mark of one depth is gone once what was removed and the threshold reach it") {
    const MarkPopulation p = swirls(1.0, 0.001); // all 1 um deep, to 0.4 % at four standard deviations
    CHECK(visible_share(p, 0.79) / p.covered() == Approx(0.21).epsilon(0.01));
    CHECK(visible_share(p, 0.81) == Approx(0).margin(1e-12));
    CHECK(share_cleared({&p, 1}, 0.4) == Approx(0.4).epsilon(0.005)); // its groove is narrower by as much
}

TEST_CASE("lines cover length times width, spots their discs") {
    MarkPopulation p = swirls();
    p.per_m2 = 100, p.length_m = 0.05, p.width_m = 4e-6;
    CHECK(p.length_per_area() == Approx(5));
    CHECK(p.covered() == Approx(2e-5));
    p.kind = MarkKind::water_spots, p.width_m = 0.01;
    CHECK(p.covered() == Approx(100 * pi * 0.005 * 0.005));
}

TEST_CASE("clearing only ever grows with removal and falls with the defects' depth") {
    REQUIRE(rc::check([] {
        const auto between = [](double low, double high) {
            return low + (high - low) * *rc::gen::inRange(0, 10001) / 1e4;
        };
        std::vector<MarkPopulation> marks;
        const int count = *rc::gen::inRange(1, 5);
        for (int k = 0; k < count; ++k) {
            MarkPopulation p;
            p.kind = all_mark_kinds[static_cast<std::size_t>(*rc::gen::inRange(0, 6))];
            p.depth_um = std::exp(between(-3, 2.5)), p.depth_sd = between(0.05, 1.5);
            p.width_m = between(1e-6, 1e-3), p.length_m = 0.1, p.per_m2 = between(1, 1000);
            marks.push_back(p);
        }
        const double less = between(0, 6), more = less + between(0, 3), scale = std::exp(between(-0.7, 0.7));
        // Differences of moments are rounded at 1e-16 of the moments, which pass the share by (depth/0.2
        // um)^1 at most.
        constexpr double rounding = 1e-11;
        const double share = share_cleared(marks, less, scale);
        RC_ASSERT(share >= -rounding && share <= 1 + rounding);
        RC_ASSERT(share_cleared(marks, more, scale) >= share - rounding);
        bool any = false;
        for (const MarkPopulation& p : marks) any |= p.covered() * depth_moment(p, 0, visible_um) > 1e-9;
        // One population at a time: deeper marks of it clear later. (Of several, deeper ones shift the
        // weights.)
        if (any && count == 1) RC_ASSERT(share_cleared(marks, less, scale * 1.1) <= share + rounding);
    }));
}

TEST_CASE("what is cleared is smooth in removal and depth scale") {
    // Halving the step quarters the second difference where the function has a second derivative: 4 to
    // within 5 % at this step, and a kink would make it 2.
    const MarkPopulation p = swirls();
    for (const double um : {0.1, 0.5, 1.0, 1.7}) {
        const auto by_removal = [&](double x) { return share_cleared({&p, 1}, x); };
        const auto by_scale = [&](double x) { return share_cleared({&p, 1}, um, x); };
        const auto second = [](const auto& f, double at, double step) {
            return f(at + step) - 2 * f(at) + f(at - step);
        };
        CHECK(second(by_removal, um, 0.02) / second(by_removal, um, 0.01) == Approx(4).epsilon(0.05));
        CHECK(second(by_scale, 1.0, 0.02) / second(by_scale, 1.0, 0.01) == Approx(4).epsilon(0.05));
    }
}

TEST_CASE("stone chips count neither as visible area nor as cleared") {
    const MarkPopulation chips = population_of({MarkKind::chips, Visible::glaring, true});
    const std::vector<MarkPopulation> marks{swirls(), chips};
    CHECK(share_cleared(marks, 0.5) == share_cleared({marks.data(), 1}, 0.5));
    CHECK(share_cleared({marks.data() + 1, 1}, 5) == 1); // nothing there to clear
}

TEST_CASE("a spread of removal keeps its mean and clears as its cells do") {
    std::vector<float> removed;
    for (int k = 0; k < 1000; ++k)
        removed.push_back(0.5f + 0.9f * static_cast<float>((k * 379) % 1000) / 1000.0f);
    removed.push_back(NAN);
    const RemovedSpread spread = spread_of(removed, 16);
    REQUIRE(spread.um.size() == 16);
    double mean = 0, brute = 0;
    for (const double um : spread.um) mean += um / 16;
    CHECK(mean == Approx(0.94955).epsilon(1e-5)); // 0.5 + 0.9 x 0.4995; floats
    const MarkPopulation p = swirls();
    for (const float um : removed)
        if (!std::isnan(um)) brute += share_cleared({&p, 1}, 1.2 * static_cast<double>(um), 0.9) / 1000;
    // Within a part, a sixteenth of 0.9 um, the share's bend costs under 1e-3.
    CHECK(share_cleared({&p, 1}, spread, 1.2, 0.9) == Approx(brute).margin(1e-3));
    CHECK(spread_of({removed.data(), 3}, 16).um.size() == 3);
    CHECK(spread_of({}).um.empty());
    CHECK(share_cleared({&p, 1}, RemovedSpread{}, 1, 1) == 0);
}

// ---- words ------------------------------------------------------------------------------------------

TEST_CASE("marks that show more are deeper, and more of them cover the paint") {
    for (const MarkKind kind : all_mark_kinds)
        for (const std::size_t grade : {1u, 2u}) {
            const MarkPopulation less = population_of({kind, all_visible[grade - 1], false});
            const MarkPopulation more = population_of({kind, all_visible[grade], false});
            INFO(name_of(kind));
            CHECK(more.kind == kind);
            CHECK(more.depth_um > less.depth_um);
            CHECK(visible_share(more, 0) > visible_share(less, 0));
        }
}

TEST_CASE("what catches a fingernail is too deep to chase, and haze does not") {
    // Common practice, no source. 8 um is a fifth of the clear coat.
    const MarkPopulation p = population_of({MarkKind::scratches, Visible::plain, true});
    CHECK(p.depth_um > 5);
    CHECK(share_cleared({&p, 1}, 2.5) < 0.5);
    CHECK_THROWS_AS(population_of({MarkKind::haze, Visible::faint, true}), InputError);
}

TEST_CASE("the numbers behind the words are shown") {
    CHECK(numbers_of(population_of({MarkKind::swirls, Visible::glaring, false})) ==
          "depth 0.95 µm (0.49 to 1.8 µm), 8 µm wide, 5000 m on a square metre");
    CHECK(numbers_of(population_of({MarkKind::chips, Visible::faint, false})) ==
          "depth 60 µm (31 to 116 µm), 1 mm across, 2 on a square metre");
}

// ---- cells, sections, panels ------------------------------------------------------------------------

TEST_CASE("a panel's share cleared is the mean over its cells, weighted by what was to be seen") {
    const Panel panel = plate(0.3, 0.2, 0.004);
    std::vector<float> removed(panel.grid.cells(), 0.0f);
    for (std::size_t k = 0; k < removed.size(); ++k)
        if (panel.inside[k]) removed[k] = panel.grid.centre(k).x < 0.15 ? 0.5f : 1.5f;
    const MarkPopulation p = swirls();
    const double less = share_cleared({&p, 1}, 0.5), more = share_cleared({&p, 1}, 1.5);
    const std::vector<float> cells = share_cleared_by_cell(panel, {&p, 1}, removed);
    CHECK(cells[cell_at(panel, {0.05, 0.1})] == Approx(less));
    CHECK(cells[cell_at(panel, {0.25, 0.1})] == Approx(more));
    CHECK(std::isnan(cells[0])); // off the panel
    double sum = 0;
    std::size_t count = 0;
    for (const float share : cells)
        if (!std::isnan(share)) sum += static_cast<double>(share), ++count;
    const Clearing all = clearing(panel, {&p, 1}, removed);
    CHECK(all.share() == Approx(sum / static_cast<double>(count)).epsilon(1e-6)); // cells are floats
    const std::vector<Point2> square{{0.02, 0.02}, {0.12, 0.02}, {0.12, 0.12}, {0.02, 0.12}};
    const Clearing left = clearing(panel, {&p, 1}, removed, square);
    CHECK(left.share() == Approx(less));
    CHECK(left.area_m2 == Approx(0.01).epsilon(0.05)); // 25 cells a side, one more or less
}

TEST_CASE("marks clear where they are: a region elsewhere does not count") {
    const Panel panel = plate(0.3, 0.2, 0.004);
    std::vector<MarkPopulation> marks{swirls(), swirls(1.5)};
    marks[1].region = {{0.15, 0}, {0.3, 0}, {0.3, 0.2}, {0.15, 0.2}};
    const std::vector<float> cells = share_cleared_by_cell(panel, marks, even_removal(panel, 0.6));
    CHECK(cells[cell_at(panel, {0.05, 0.1})] == Approx(share_cleared({marks.data(), 1}, 0.6)));
    CHECK(cells[cell_at(panel, {0.25, 0.1})] == Approx(share_cleared(marks, 0.6)));
    const Clearing all = clearing(panel, marks, even_removal(panel, 0.6));
    REQUIRE(all.populations.size() == 2);
    CHECK(all.left_m2 == all.populations[0].left_m2 + all.populations[1].left_m2);
    CHECK(all.before_m2 == all.populations[0].before_m2 + all.populations[1].before_m2);
    const double half = visible_share(marks[1], 0) * all.area_m2 / 2;
    CHECK(all.populations[1].before_m2 == Approx(half).epsilon(0.03)); // a column of cells more or less
}

TEST_CASE("chips and strike-through are listed for touch-up and never counted as cleared") {
    const Panel panel = plate(0.3, 0.2, 0.004);
    const std::vector<MarkPopulation> marks{swirls(), population_of({MarkKind::chips, Visible::plain, true})};
    std::vector<float> removed = even_removal(panel, 3);
    const double without = clearing(panel, marks, removed).share();
    CHECK(without > 0.99);
    const std::size_t through = cell_at(panel, {0.1, 0.1});
    removed[through] = panel.clear_um[through];
    const Clearing result = clearing(panel, marks, removed);
    CHECK(result.populations.size() == 1);
    CHECK(result.chips == Approx(marks[1].per_m2 * result.area_m2));
    CHECK(result.struck_through_m2 == Approx(0.004 * 0.004));
    CHECK(share_cleared_by_cell(panel, marks, removed)[through] == 0);
    CHECK(result.share() < without);
    CHECK_THROWS_AS(clearing(panel, marks, {removed.data(), 3}), std::invalid_argument);
}

// ---- steps ------------------------------------------------------------------------------------------

TEST_CASE("a step's own marks are as deep as its grain is large and its pad cuts") {
    Pad pad = foam_pad();
    const MarkPopulation fine = step_marks(liquid_of(1), pad, 0), coarse = step_marks(liquid_of(3), pad, 0);
    CHECK(fine.depth_um == Approx(groove_per_grain));
    CHECK(coarse.depth_um == Approx(3 * fine.depth_um));
    CHECK(coarse.length_per_area() == Approx(3 * fine.length_per_area()));
    pad.cut_factor = 1.44;
    CHECK(step_marks(liquid_of(1), pad, 0).depth_um == Approx(1.2 * fine.depth_um)); // sqrt
    CHECK(step_marks(liquid_of(1), foam_pad(), 0, 4).depth_um == Approx(2 * fine.depth_um));
    CHECK(fine.kind == MarkKind::haze);
    const MarkPopulation paper = step_marks(liquid_of(10, true), foam_pad(), 0);
    CHECK(paper.kind == MarkKind::sanding);
    CHECK(paper.covered() == Approx(1)); // all over
}

TEST_CASE("a liquid worked until it has broken down leaves finer marks") {
    Liquid liquid = liquid_of(8);
    liquid.abrasive_end_m = 2e-6, liquid.breakdown_j_m2 = 600e3;
    const double face_m2 = pi * 0.075 * 0.075;
    CHECK(grain_at_end_m(liquid, foam_pad(), 0) == Approx(8e-6));
    CHECK(grain_at_end_m(liquid, foam_pad(), 600e3 * face_m2) == Approx(2e-6 + 6e-6 / std::exp(1.0)));
    CHECK(step_marks(liquid, foam_pad(), 30e3).depth_um < step_marks(liquid, foam_pad(), 3e3).depth_um);
}

TEST_CASE("the work that counts is that since the last fresh load") {
    ArmPath path;
    path.samples.resize(4);
    path.samples[2].recharge = true;
    std::vector<StepReport> trace(3);
    for (StepReport& step : trace) step.friction_power_w = 50, step.dt_s = 2;
    CHECK(work_since_fresh_j(path, trace) == 100);
    path.samples[2].recharge = false;
    CHECK(work_since_fresh_j(path, trace) == 300);
}

TEST_CASE("a step wears what was there by what it removed and lays its own marks down") {
    const MarkPopulation own = step_marks(liquid_of(1), foam_pad(), 0);
    const std::vector<MarkPopulation> found{swirls(1.0, 0.2), swirls(0.05, 0.2)};
    const std::vector<Marks> after = after_step(marks_of(found), own, 0.6);
    REQUIRE(after.size() == 2); // the shallow ones are gone
    CHECK(after[0].worn_um == 0.6);
    CHECK(visible_share(after[0].made, after[0].worn_um) == visible_share(found[0], 0.6));
    CHECK(after[1].made.depth_um == own.depth_um);
    CHECK(after[1].worn_um == 0);
    CHECK(after_step(marks_of(found), own, 0).size() == 2); // no film gone, nothing changed
}

TEST_CASE("a step's marks are complete once it took several times their depth") {
    const MarkPopulation own = step_marks(liquid_of(1), foam_pad(), 0);
    CHECK(marks_made(own, 0) == 0);
    CHECK(marks_made(own, own.depth_um) == Approx(1 - std::exp(-1.0)));
    CHECK(marks_made(own, 5 * own.depth_um) > 0.99);
}

TEST_CASE("a marked panel's cells go through the steps as single places do") {
    const Panel panel = plate(0.2, 0.1, 0.004);
    const std::vector<MarkPopulation> found{swirls()};
    const MarkPopulation cut = step_marks(liquid_of(3), foam_pad(), 0);
    const MarkPopulation polish = step_marks(liquid_of(1), foam_pad(), 0);
    MarkedPanel marked(panel, found);
    marked.step(even_removal(panel, 0.5), cut);
    marked.step(even_removal(panel, 0.25), polish);
    const std::vector<Marks> alone = after_step(after_step(marks_of(found), cut, 0.5), polish, 0.25);
    const std::size_t cell = cell_at(panel, {0.1, 0.05});
    const std::vector<Marks> here = marked.at(cell);
    REQUIRE(here.size() == alone.size());
    for (std::size_t k = 0; k < alone.size(); ++k) {
        CHECK(here[k].worn_um == alone[k].worn_um);
        CHECK(here[k].share == Approx(alone[k].share)); // kept as a float
    }
    CHECK(marked.finish_at(cell).gloss[0] == Approx(finish_of(alone).gloss[0]));
    CHECK(marked.at(0).empty()); // off the panel
    CHECK(marked.layers().size() == 3);
    CHECK_THROWS_AS(marked.step(std::vector<float>{1.0f}, cut), std::invalid_argument);
}

TEST_CASE("marks that lie at random over each other never cover more than all of it") {
    const MarkPopulation paper = step_marks(liquid_of(10, true), foam_pad(), 0);
    const Finish sanded = finish_of(after_step({}, paper, 5));
    CHECK(sanded.marked > 0.6);
    CHECK(sanded.marked < 1);
}

} // namespace test_finish
