// Where points are laid, main effects, and what is not beaten.
#include "decide/stats/designs.hpp"
#include "decide/stats/sensitivity.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>
#include <stdexcept>

namespace test_designs {
using namespace sparecoat::cli;

TEST_CASE("A Latin hypercube has one point in every stratum of every coordinate", "[sweep]") {
    for (const std::size_t count : {2UL, 7UL, 100UL})
        for (std::uint64_t seed = 1; seed <= 20; ++seed) {
            const Points points = latin_hypercube(count, 5, seed);
            for (std::size_t d = 0; d < 5; ++d) {
                std::set<int> strata;
                for (std::size_t p = 0; p < count; ++p)
                    strata.insert(static_cast<int>(points.at(p)[d] * static_cast<double>(count)));
                CHECK(strata.size() == count);
                CHECK(*strata.begin() == 0);
                CHECK(*strata.rbegin() == static_cast<int>(count) - 1);
            }
        }
}

TEST_CASE("A Latin hypercube's coordinates are shuffled apart from each other, and by the seed", "[sweep]") {
    const Points one = latin_hypercube(50, 2, 1), other = latin_hypercube(50, 2, 2);
    CHECK(one.x != other.x);
    CHECK(one.x == latin_hypercube(50, 2, 1).x);
    double product = 0; // 12 x the correlation of two even coordinates, about 0.14 either way
    for (std::size_t p = 0; p < 50; ++p) product += 12 * (one.at(p)[0] - 0.5) * (one.at(p)[1] - 0.5) / 50;
    CHECK(std::abs(product) < 0.5);
}

TEST_CASE("A digital shift leaves Sobol points one to each of as many equal intervals", "[sweep]") {
    const Points points = sobol_points(64, 6, 5);
    for (std::size_t d = 0; d < 6; ++d) {
        std::set<int> intervals;
        for (std::size_t p = 0; p < 64; ++p) intervals.insert(static_cast<int>(64 * points.at(p)[d]));
        CHECK(intervals.size() == 64);
    }
    CHECK(points.at(0)[0] != 0);
}

TEST_CASE("A grid has the middles of its levels in every combination, the last coordinate fastest",
          "[sweep]") {
    const Points points = full_grid(std::vector<std::size_t>{2, 3});
    REQUIRE(points.count() == 6);
    CHECK(points.at(0)[0] == 0.25);
    CHECK(points.at(0)[1] == Approx(1.0 / 6));
    CHECK(points.at(1)[1] == 0.5);
    CHECK(points.at(5)[0] == 0.75);
    CHECK_THROWS_AS(full_grid(std::vector<std::size_t>{2, 0}), std::invalid_argument);
}

TEST_CASE("Saltelli's scheme changes one value of A for that of B at a time", "[sweep]") {
    const Points base = random_points(3, 4, 1), scheme = saltelli_scheme(base);
    REQUIRE(scheme.count() == 3 * (2 + 2));
    for (std::size_t row = 0; row < 3; ++row) {
        const auto in_base = base.at(row);
        const auto at = [&](std::size_t k, std::size_t d) { return scheme.at(4 * row + k)[d]; };
        CHECK((at(0, 0) == in_base[0] && at(0, 1) == in_base[1]));
        CHECK((at(1, 0) == in_base[2] && at(1, 1) == in_base[3]));
        CHECK((at(2, 0) == in_base[2] && at(2, 1) == in_base[1]));
        CHECK((at(3, 0) == in_base[0] && at(3, 1) == in_base[3]));
    }
}

TEST_CASE("Indices of what does not vary are 0, and a scheme that does not fit is refused", "[sweep]") {
    const std::vector<double> flat(16, 2.5);
    const Indices indices = sobol_indices(flat, 2);
    CHECK(indices.factors[0].first.value == 0);
    CHECK(indices.factors[1].total.high == 0);
    CHECK_THROWS_AS(sobol_indices(std::vector<double>(15, 1.0), 2), std::invalid_argument);
    CHECK_THROWS_AS(sobol_indices(std::vector<double>(4, 1.0), 2), std::invalid_argument);
}

TEST_CASE("The main effect of a factor is the mean over the others, part by part", "[sweep]") {
    const Points points = full_grid(std::vector<std::size_t>{4, 5});
    std::vector<double> outputs;
    for (std::size_t p = 0; p < points.count(); ++p)
        outputs.push_back(10 * points.at(p)[0] + points.at(p)[1]);
    const std::vector<EffectLevel> effect = main_effect(points, 0, outputs, 4);
    REQUIRE(effect.size() == 4);
    for (std::size_t k = 0; k < 4; ++k) {
        CHECK(effect[k].points == 5);
        CHECK(effect[k].x == Approx((static_cast<double>(k) + 0.5) / 4));
        CHECK(effect[k].mean == Approx(10 * effect[k].x + 0.5));
        // Five values 0.2 apart: variance 0.1, over five.
        CHECK(effect[k].standard_error == Approx(std::sqrt(0.1 / 5)));
    }
}

TEST_CASE("No point of the front is beaten by any, and every other is", "[sweep]") {
    const Points points = random_points(300, 2, 3);
    std::vector<double> cost, gain;
    for (std::size_t p = 0; p < 300; ++p)
        cost.push_back(std::floor(20 * points.at(p)[0])), gain.push_back(std::floor(20 * points.at(p)[1]));
    const std::vector<std::size_t> front = pareto_front(cost, gain);
    const auto beats = [&](std::size_t a, std::size_t b) {
        return cost[a] <= cost[b] && gain[a] >= gain[b] && (cost[a] < cost[b] || gain[a] > gain[b]);
    };
    const std::set<std::size_t> on(front.begin(), front.end());
    for (std::size_t p = 0; p < 300; ++p) {
        bool beaten = false, twin = false;
        for (std::size_t q = 0; q < 300; ++q) {
            beaten = beaten || beats(q, p);
            twin = twin || (q < p && cost[q] == cost[p] && gain[q] == gain[p]);
        }
        CHECK(on.contains(p) == (!beaten && !twin));
    }
    CHECK(std::ranges::is_sorted(front, {}, [&](std::size_t p) { return cost[p]; }));
}

} // namespace test_designs
