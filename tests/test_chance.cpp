// The chance of burning through: one cell against direct integration, the whole map against brute force.
#include "decide/chance.hpp"
#include "support/worlds.hpp"
#include "tool/hand.hpp"
#include "tool/vary.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

namespace test_chance {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

/// E over ln c ~ N(0, cut_sd²) of Phi((reserve + c removed - clear) / sd), by Simpson's rule on 8000
/// intervals.
double by_integration(double reserve, double clear, double sd, double cut_sd, double removed) {
    constexpr int n = 8000;
    constexpr double far = 9;
    double sum = 0;
    for (int k = 0; k <= n; ++k) {
        const double z = -far + 2 * far * k / n;
        const double weight = k == 0 || k == n ? 1 : k % 2 == 1 ? 4 : 2;
        sum += weight * std::exp(-0.5 * z * z) *
               normal_cdf((reserve + std::exp(cut_sd * z) * removed - clear) / sd);
    }
    return sum * (2 * far / n) / 3 / std::sqrt(2 * pi);
}

ChanceTerms terms_of(double reserve_um, double cut_sd) {
    ChanceTerms terms;
    terms.reserve_um = reserve_um;
    terms.cut_sd = cut_sd;
    return terms;
}

/// A plate with thin film along its lower edge, worked along that edge by an unsteady hand.
struct EdgeWork {
    Panel fine, coarse;
    Setup setup = setup_of(orbital(), foam_pad(), 30);
    ArmPath path;
    HandVariation hand{0.15, 0.1, 1 * deg, 6 * mm, 1.5};

    EdgeWork() {
        Paint paint = even_film();
        paint.clear_m = 24e-6, paint.thinning = 0.3, paint.spread = 0.06;
        fine = panel_of(rectangle(0.36, 0.2), 0.002, paint);
        coarse = panel_of(rectangle(0.36, 0.2), 0.004, paint);
        setup.liquid = steady_liquid(4e-11);
        setup.heat = false; // the draws' own heat is left out by design
        for (int lap = 0; lap < 4; ++lap) {
            StraightRun along{{0.1, 0.02}, {0.26, 0.02}};
            if (lap % 2 == 1) std::swap(along.from, along.to);
            along.step_m = 0.008;
            const double start_s = path.samples.empty() ? 0 : path.samples.back().t_s + 0.2;
            for (ArmSample sample : straight(along).samples) {
                sample.t_s += start_s;
                path.samples.push_back(sample);
            }
        }
    }
};

std::vector<float> removed_um(const Panel& panel, const Setup& setup, const ArmPath& path) {
    return simulate(panel, setup, path).fields.removed_um;
}

} // namespace

TEST_CASE("a cell's chance is the integral over film and cut") {
    for (const double cut_sd : {0.1, 0.3, 0.6})
        for (const double sd : {0.3, 1.0, 4.0})
            for (const double removed : {0.2, 2.0, 9.0}) {
                const CellChance chance(terms_of(15, cut_sd));
                CAPTURE(cut_sd, sd, removed);
                // The narrowest step here, 0.3 / (0.6 x 9), is finer than the finest nodes resolve: 2e-3
                // there.
                const double width = sd / (cut_sd * removed);
                CHECK(chance.at(22, sd, removed) ==
                      Approx(by_integration(15, 22, sd, cut_sd, removed)).margin(width < 0.25 ? 2e-3 : 1e-5));
            }
}

TEST_CASE("a film known for sure leaves the chance to the cut, a cut known for sure to the film") {
    // ln c > ln((clear - reserve) / removed), a normal deviate.
    CHECK(CellChance(terms_of(15, 0.3)).at(25, 0, 8) == Approx(normal_cdf(std::log(8.0 / 10.0) / 0.3)));
    CHECK(CellChance(terms_of(15, 0)).at(25, 2, 8) == Approx(normal_cdf((15 + 8 - 25) / 2.0)));
    CHECK(CellChance(terms_of(15, 0)).at(25, 0, 9.9) == 0);
    CHECK(CellChance(terms_of(15, 0)).at(25, 0, 10.1) == 1);
    CHECK(CellChance(terms_of(15, 0.3)).at(10, 1, 0) == 0); // not worked: not this tool's doing
    CHECK(CellChance(terms_of(15, 0.3)).thin_before(10, 2.5) == Approx(normal_cdf(2)));
}

namespace {

/// Fields of one cell that was pressed and rubbed evenly.
Fields pressed_evenly(double pressure_pa, double speed_m_s, double removed_um) {
    const double time_s = 20;
    const auto one = [](double value) { return std::vector<float>{static_cast<float>(value)}; };
    return {one(time_s), one(time_s * pressure_pa), one(time_s * pressure_pa * speed_m_s), one(removed_um),
            one(removed_um)};
}

} // namespace

TEST_CASE("exponents that are not known for sure widen the chance where pressure and speed are not usual") {
    Liquid liquid;
    liquid.pressure_exponent_sd = 0.15, liquid.speed_exponent_sd = 0.2;
    const double removed = 4, more_pressure = 3, more_speed = 0.4;
    const Fields fields = pressed_evenly(more_pressure * Liquid::usual_pressure_pa,
                                         more_speed * Liquid::usual_speed_m_s, removed);
    LossDoubt doubt(0.3);
    doubt.add_step(fields, liquid);
    // What goes is removed x c x 3^da x 0.4^db; trapezoidal sums over both exponents, Simpson's over the cut.
    double chance = 0, weights = 0;
    for (double a = -5; a <= 5; a += 0.5)
        for (double b = -5; b <= 5; b += 0.5) {
            const double weight = std::exp(-0.5 * (a * a + b * b));
            const double lost = removed * std::pow(more_pressure, liquid.pressure_exponent_sd * a) *
                                std::pow(more_speed, liquid.speed_exponent_sd * b);
            chance += weight * by_integration(15, 24, 1.5, 0.3, lost);
            weights += weight;
        }
    const double known = CellChance(terms_of(15, 0.3)).at(24, 1.5, removed);
    CHECK(CellChance(terms_of(15, 0.3)).at(24, 1.5, removed, doubt.sd_at(0)) ==
          Approx(chance / weights).margin(2e-5));
    CHECK(chance / weights > 1.2 * known);

    const Fields usual = pressed_evenly(Liquid::usual_pressure_pa, Liquid::usual_speed_m_s, removed);
    LossDoubt cut_alone(0.3);
    cut_alone.add_step(usual, liquid);
    CHECK(cut_alone.sd_at(0) == Approx(0.3).epsilon(1e-9));
    CHECK(LossDoubt(0.3).sd_at(0) == 0.3); // nothing done
}

TEST_CASE("the doubt of several steps is weighed by what each takes off") {
    Liquid liquid;
    liquid.pressure_exponent_sd = 0.2, liquid.speed_exponent_sd = 0;
    const Fields hard = pressed_evenly(4 * Liquid::usual_pressure_pa, Liquid::usual_speed_m_s, 3),
                 usual = pressed_evenly(Liquid::usual_pressure_pa, Liquid::usual_speed_m_s, 2);
    LossDoubt doubt(0);
    doubt.add_step(hard, liquid, 2); // 6 µm of 8
    doubt.add_step(usual, liquid);
    CHECK(doubt.sd_at(0) == Approx(0.75 * 0.2 * std::log(4.0)).epsilon(1e-6)); // the fields are floats
}

TEST_CASE("a cell that is passed over as safe has next to no chance") {
    const CellChance chance(terms_of(15, 0.3));
    int passed = 0;
    for (double clear = 15; clear < 60; clear += 0.7)
        for (double removed = 0.1; removed < 10; removed *= 1.3)
            if (chance.safe(clear, 3, removed)) {
                ++passed;
                REQUIRE(chance.at(clear, 3, removed) < 1e-6);
            }
    CHECK(passed > 100);
}

TEST_CASE("values carried to a finer grid keep what is even and what is linear") {
    Features shape;
    shape.outline = {
        {{0, 0}, 0.02, "a"}, {{0.2, 0.01}, 0.03, "b"}, {{0.19, 0.14}, 0, "c"}, {{0.02, 0.15}, 0.01, "d"}};
    const Panel fine = panel_of(shape, 0.002), coarse = panel_of(shape, 0.004);
    const Refinement refine(coarse, fine);
    std::vector<float> even(coarse.grid.cells(), 0), slope(coarse.grid.cells(), 0);
    for (std::size_t k = 0; k < even.size(); ++k)
        if (coarse.inside[k]) {
            even[k] = 3;
            const Point2 p = coarse.grid.centre(k);
            slope[k] = static_cast<float>(10 * p.x - 4 * p.y);
        }
    for (std::size_t k = 0; k < fine.grid.cells(); ++k) {
        if (!fine.inside[k]) {
            REQUIRE(refine.at(k, even) == 0);
            continue;
        }
        REQUIRE(refine.at(k, even) == Approx(3).epsilon(1e-6));
        const Point2 p = fine.grid.centre(k);
        // Bilinear is exact for a plane where all four neighbours are on the panel: a coarse cell's diagonal
        // inside. At the outline the nearest cells stand in, at most two coarse cells of slope off.
        const bool all_four = fine.edge_distance_m[k] > 0.006f;
        REQUIRE(refine.at(k, slope) == Approx(10 * p.x - 4 * p.y).margin(all_four ? 2e-6 : 0.1));
    }
}

TEST_CASE("a drawn hand has the deviations it is said to have, and its mirror image the opposite ones") {
    ArmPath steady = straight({{0, 0}, {400, 0}, 0.04, 45, 470, 0.08}); // hours, for steady statistics
    HandVariation hand{0.1, 0.2, 0.02, 0.005, 1.5};
    const ArmPath drawn = vary(steady, hand, 7, 1), mirrored = vary(steady, hand, 7, -1);
    REQUIRE(drawn.samples.size() == steady.samples.size());
    double force = 0, tilt = 0, place = 0;
    const auto n = static_cast<double>(steady.samples.size());
    for (std::size_t k = 0; k < steady.samples.size(); ++k) {
        const ArmSample &meant = steady.samples[k], &d = drawn.samples[k];
        if (k > 0) REQUIRE(d.t_s > drawn.samples[k - 1].t_s);
        force += std::pow(d.force_n / meant.force_n - 1, 2) / n;
        tilt += dot(d.tilt_rad, d.tilt_rad) / 2 / n;
        place += dot(d.at - meant.at, d.at - meant.at) / 2 / n;
        REQUIRE(0.5 * (d.at.x + mirrored.samples[k].at.x) == Approx(meant.at.x).margin(1e-9));
        REQUIRE(0.5 * (d.at.y + mirrored.samples[k].at.y) == Approx(meant.at.y).margin(1e-9));
    }
    // About 6600 independent stretches of force and tilt, 1600 of place: 2 and 4 % at two standard errors.
    CHECK(std::sqrt(force) == Approx(0.1).epsilon(0.04));
    CHECK(std::sqrt(tilt) == Approx(0.02).epsilon(0.04));
    CHECK(std::sqrt(place) == Approx(0.005).epsilon(0.06));
    CHECK(drawn.duration_s() == Approx(steady.duration_s()).epsilon(0.1));
    CHECK(drawn.duration_s() != steady.duration_s());
    CHECK(vary(steady, {}, 7, 1).samples.back().t_s == steady.samples.back().t_s);
    CHECK_FALSE(varies({}));
}

TEST_CASE("the chance map agrees with brute force within its stated error", "[long]") {
    // Brute force: each trial draws hand, film and cut and runs on the fine grid. Film deviates alike over
    // the panel, which makes no odds for any one cell.
    const EdgeWork work;
    const ChanceTerms terms = terms_of(11, 0.3);
    const RunResult steady = simulate(work.fine, work.setup, work.path);
    const std::vector<float> steady_coarse = removed_um(work.coarse, work.setup, work.path);
    const Refinement refine(work.coarse, work.fine);
    const DrawContext ground{&work.fine,    &steady.fields, &work.coarse,
                             steady_coarse, &refine,        3 * work.hand.spacing_m};
    ChanceTally tally(ground, terms);
    constexpr int pairs = 100;
    for (std::uint64_t pair = 0; pair < pairs; ++pair)
        tally.add(removed_um(work.coarse, work.setup, vary(work.path, work.hand, pair, 1)),
                  removed_um(work.coarse, work.setup, vary(work.path, work.hand, pair, -1)));
    const std::vector<float> chance = tally.chance(), error = tally.standard_error();

    constexpr int trials = 600;
    std::vector<double> hits(work.fine.grid.cells(), 0);
    for (std::uint64_t trial = 0; trial < trials; ++trial) {
        const std::uint64_t seed = 5000 + trial;
        const std::vector<float> removed =
            removed_um(work.fine, work.setup, vary(work.path, work.hand, seed, 1));
        const double cut = std::exp(terms.cut_sd * normal_at(seed, HandChannel::spacing, 1));
        const double film = normal_at(seed, HandChannel::spacing, 2);
        for (std::size_t k = 0; k < hits.size(); ++k) {
            if (!work.fine.inside[k] || removed[k] <= 0) continue;
            const double clear = static_cast<double>(work.fine.clear_um[k]) +
                                 film * static_cast<double>(work.fine.clear_sd_um[k]);
            hits[k] += clear - cut * static_cast<double>(removed[k]) < terms.reserve_um;
        }
    }
    int compared = 0;
    double most = 0, off = 0;
    for (int i = 40; i <= 140; i += 10)
        for (const double y_mm : {1.0, 5.0, 11.0, 21.0, 41.0}) {
            const std::size_t k = cell_at(work.fine, {work.fine.grid.x(i), y_mm * mm});
            const double brute = hits[k] / trials, p = static_cast<double>(chance[k]);
            const double sampling =
                std::sqrt(std::max(brute, 1.0 / trials) * (1 - std::min(brute, 1 - 1.0 / trials)) / trials);
            const double stated = static_cast<double>(error[k]);
            CAPTURE(i, y_mm, brute, p, sampling, stated);
            // Three and a half standard errors for fifty-five looks, and 0.01 for what carrying the hand's
            // part over from the coarse grid costs.
            CHECK(std::abs(p - brute) < 3.5 * std::hypot(sampling, stated) + 0.01);
            most = std::max(most, p);
            off += (p - brute) / 55;
            ++compared;
        }
    CHECK(compared == 55);
    CHECK(most > 0.2); // the map has something to be wrong about
    CHECK(std::abs(off) < 0.012);
}

TEST_CASE("the standard error is that of the mean over pairs") {
    // Of two pairs with chances a and b the mean's is |a - b| / 2, of four, a, b, a, b, that over the root
    // of 3.
    const EdgeWork work;
    const RunResult steady = simulate(work.fine, work.setup, work.path);
    const std::vector<float> coarse = removed_um(work.coarse, work.setup, work.path);
    std::vector<float> more = coarse;
    for (float& removed : more) removed *= 1.5f;
    const Refinement refine(work.coarse, work.fine);
    const DrawContext ground{&work.fine, &steady.fields, &work.coarse, coarse, &refine, 0};
    const auto tallied = [&](const std::vector<const std::vector<float>*>& pairs) {
        ChanceTally tally(ground, terms_of(11, 0.3));
        for (const auto* removed : pairs) tally.add(*removed, *removed);
        return std::pair(tally.chance(), tally.standard_error());
    };
    const auto [a, none] = tallied({&coarse});
    const auto [b, none_either] = tallied({&more});
    const auto [two, error_of_two] = tallied({&coarse, &more});
    const auto [four, error_of_four] = tallied({&coarse, &more, &coarse, &more});
    std::size_t k = cell_at(work.fine, {0.181, 0.001}); // where it makes the greatest difference
    for (std::size_t n = 0; n < a.size(); ++n)
        if (b[n] - a[n] > b[k] - a[k]) k = n;
    REQUIRE(b[k] - a[k] > 0.1f);
    CHECK(none[k] == 0);
    CHECK(two[k] == Approx(0.5 * (a[k] + b[k])));
    CHECK(error_of_two[k] == Approx(0.5 * (b[k] - a[k])));
    CHECK(error_of_four[k] == Approx(0.5 * (b[k] - a[k]) / std::sqrt(3.0)));
}

TEST_CASE("tallies merge to what one tally would have counted") {
    const EdgeWork work;
    const RunResult steady = simulate(work.fine, work.setup, work.path);
    const std::vector<float> coarse = removed_um(work.coarse, work.setup, work.path);
    const Refinement refine(work.coarse, work.fine);
    const DrawContext ground{&work.fine, &steady.fields, &work.coarse,
                             coarse,     &refine,        3 * work.hand.spacing_m};
    ChanceTally all(ground, terms_of(11, 0.3)), first = all, second = all;
    for (std::uint64_t pair = 0; pair < 4; ++pair) {
        const auto drawn = removed_um(work.coarse, work.setup, vary(work.path, work.hand, pair, 1));
        const auto mirrored = removed_um(work.coarse, work.setup, vary(work.path, work.hand, pair, -1));
        all.add(drawn, mirrored);
        (pair < 2 ? first : second).add(drawn, mirrored);
    }
    first.merge(second);
    CHECK(first.pairs() == 4);
    const auto a = all.chance(), b = first.chance(), ea = all.standard_error(), eb = first.standard_error();
    double most = 0;
    for (std::size_t k = 0; k < a.size(); ++k) {
        if (std::isnan(a[k])) continue;
        REQUIRE(a[k] == Approx(b[k]).margin(1e-6));
        REQUIRE(ea[k] == Approx(eb[k]).margin(1e-6));
        most = std::max(most, static_cast<double>(ea[k]));
    }
    CHECK(most > 0);
}

namespace {

/// A worked edge with chances put where a test wants them.
struct MarkedChances {
    EdgeWork work;
    RunResult steady = simulate(work.fine, work.setup, work.path);
    Verdict verdict = judge(work.fine, steady.fields, work.setup.pad.radius_m);
    std::vector<float> chance = std::vector<float>(work.fine.grid.cells(), 0.0f);
    std::vector<float> error = std::vector<float>(work.fine.grid.cells(), 0.001f);

    void mark(double x_mm, double y_mm, float value) {
        chance[cell_at(work.fine, {x_mm * mm, y_mm * mm})] = value;
    }
    std::vector<RegionAtRisk> regions() const {
        return regions_at_risk(work.fine, steady.fields, verdict.open, terms_of(11, 0.3), chance, error,
                               0.03);
    }
    double peak(const RegionAtRisk& region, double around_m) const {
        return peak_around(work.fine, region, chance, error, around_m).chance;
    }
};

} // namespace

TEST_CASE("regions at risk are told apart by what they lie along, and ranked") {
    MarkedChances map;
    // Along the bottom edge two cells within the gap of each other, and a third beyond it; in the open one
    // over the threshold and one under it.
    map.mark(151, 1, 0.3f), map.mark(161, 3, 0.5f), map.mark(181, 1, 0.9f);
    map.mark(121, 99, 0.05f), map.mark(161, 99, 0.02f);
    const auto regions = map.regions();
    REQUIRE(regions.size() == 3);
    CHECK(regions[0].chance == Approx(0.9));
    CHECK(regions[1].chance == Approx(0.5));
    CHECK(regions[1].cells.size() == 2);
    CHECK(regions[1].area_m2 == Approx(8e-6));
    CHECK_THAT(regions[1].spot.place, Catch::Contains("the bottom edge"));
    CHECK(regions[2].spot.place == "open panel");
    CHECK(regions[1].spot.against_open.all() > 0);
    // Side by side, but one is named after the edge and the other is open panel.
    std::fill(map.chance.begin(), map.chance.end(), 0.0f);
    map.mark(121, 57, 0.2f), map.mark(121, 63, 0.1f);
    const auto parted = map.regions();
    REQUIRE(parted.size() == 2);
    CHECK_THAT(parted[0].spot.place, Catch::Contains("57 mm from the bottom edge"));
    CHECK(parted[1].spot.place == "open panel");
}

TEST_CASE("a remedy is held to the same ground and the distance asked for") {
    MarkedChances map;
    map.mark(151, 1, 0.3f), map.mark(161, 3, 0.5f), map.mark(181, 1, 0.9f), map.mark(161, 63, 0.95f);
    const auto regions = map.regions();
    REQUIRE(regions.size() == 3);
    // regions[2] is the pair of cells; next door along the edge is 0.9, over it on open panel 0.95.
    // The same ground, within a distance.
    CHECK(map.peak(regions[2], 0.01) == Approx(0.5));
    CHECK(map.peak(regions[2], 0.07) == Approx(0.9));
}

} // namespace test_chance
