// A load spread over a Vlasov-Leont'ev layer against its closed forms: Vlasov and Leont'ev, Beams,
// Plates and Shells on Elastic Foundations (1966); Selvadurai, Elastic Analysis of Soil-Foundation
// Interaction (1979). With decay length l = sqrt(G / k) the layer answers a line load S (per metre) by
//   S exp(-|s| / l) / (2 l)   in the open,      S exp(-s / l) / l   at a free edge.
#include "panel/panel.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>

namespace test_layer {
using namespace sparecoat::cli;

namespace {

constexpr double decay_m = 0.009; // of a 25 mm foam of 60 kPa

struct Sample {
    Grid grid;
    std::vector<std::uint8_t> inside;
    std::vector<float> source;
};

/// A plate of the given size in whole cells, with three cells of nothing round it.
Sample plate(double u_m, double v_m, double h) {
    const int nu = static_cast<int>(std::lround(u_m / h)), nv = static_cast<int>(std::lround(v_m / h));
    Sample sample{{nu + 6, nv + 6, h, -2.5 * h, -2.5 * h}, {}, {}};
    sample.inside.assign(sample.grid.cells(), 0);
    sample.source.assign(sample.grid.cells(), 0.0f);
    for (int j = 3; j < nv + 3; ++j)
        for (int i = 3; i < nu + 3; ++i) sample.inside[sample.grid.index(i, j)] = 1;
    return sample;
}

std::vector<float> spread(const Sample& sample, double l = decay_m) {
    return spread_over_layer(sample.grid, sample.inside, sample.source, l);
}

double total(const std::vector<float>& field) {
    double sum = 0;
    for (float value : field) sum += static_cast<double>(value);
    return sum;
}

/// Root mean square error along a line of cells against the closed form of a line load of 1 per metre
/// (1 / h in each cell of one column): peak exp(-s / l), s measured from the load or from the edge.
double error_of_line(double h, bool at_edge) {
    Sample sample = plate(0.24, 0.016, h);
    const int loaded = at_edge ? 3 : sample.grid.nu / 2;
    for (int j = 0; j < sample.grid.nv; ++j)
        if (sample.inside[sample.grid.index(loaded, j)])
            sample.source[sample.grid.index(loaded, j)] = static_cast<float>(1 / h);
    const std::vector<float> c = spread(sample);
    const double peak = at_edge ? 1 / decay_m : 1 / (2 * decay_m);
    // a load on the edge goes into the cells along it, whose centres lie half a cell inside
    const double load_at = at_edge ? sample.grid.x(loaded) - h / 2 : sample.grid.x(loaded);
    double squares = 0;
    int count = 0;
    for (int i = 3; i < sample.grid.nu - 3; ++i) {
        const double s = std::abs(sample.grid.x(i) - load_at);
        if (s < 0.004 || s > 4 * decay_m) continue; // clear of the loaded cell at the coarsest spacing
        const double closed = peak * std::exp(-s / decay_m);
        const double error = static_cast<double>(c[sample.grid.index(i, sample.grid.nv / 2)]) - closed;
        squares += error * error / (peak * peak);
        ++count;
    }
    return std::sqrt(squares / count);
}

} // namespace

TEST_CASE("a line load in the open spreads as S exp(-|s| / l) / (2 l)") {
    // second differences see exp(-s / l) with an error of (h / l)² / 24 in l: 0.05 % at 1 mm, four times at 2
    // mm
    CHECK(error_of_line(0.001, false) < 0.001);
    CHECK(error_of_line(0.002, false) < 0.005);
}

TEST_CASE("a line load on a free edge spreads as S exp(-s / l) / l, twice the open answer") {
    // the load acts half a cell inside the edge, which changes the answer by (h / 2 l)² / 2
    CHECK(error_of_line(0.001, true) < 0.002);
    CHECK(error_of_line(0.002, true) < 0.01);
}

TEST_CASE("the spread load converges with the square of the grid's spacing from 4 to 1 mm") {
    for (bool at_edge : {false, true}) {
        const double coarse = error_of_line(0.004, at_edge), middle = error_of_line(0.002, at_edge),
                     fine = error_of_line(0.001, at_edge);
        const double first_order = std::log2(coarse / middle), second_order = std::log2(middle / fine);
        INFO("errors at 4, 2, 1 mm, share of the peak: "
             << coarse << ' ' << middle << ' ' << fine << "; orders " << first_order << ' ' << second_order);
        CHECK(first_order == Approx(2).margin(0.3));
        CHECK(second_order == Approx(2).margin(0.3));
    }
}

TEST_CASE("the line answer holds on a slant, which no grid direction favours") {
    Sample sample = plate(0.2, 0.2, 0.001);
    const Point2 along{std::cos(0.5), std::sin(0.5)}, across{-along.y, along.x}, centre{0.1, 0.1};
    // a line load smoothed over ± 2 cells (a hat), so that its cells add up to 1 per metre on a slant
    for (std::size_t k = 0; k < sample.grid.cells(); ++k) {
        const double s = std::abs(dot(sample.grid.centre(k) - centre, across));
        if (sample.inside[k])
            sample.source[k] = static_cast<float>(std::max(0.0, 0.002 - s) / (0.002 * 0.002));
    }
    const std::vector<float> c = spread(sample);
    for (double s : {0.005, 0.01, 0.02}) {
        const Point2 p = centre + s * across;
        const int i = static_cast<int>(std::lround((p.x - sample.grid.x0_m) / 0.001));
        const int j = static_cast<int>(std::lround((p.y - sample.grid.y0_m) / 0.001));
        const double here = std::abs(dot(sample.grid.centre(sample.grid.index(i, j)) - centre, across));
        // 1 %: the hat's width adds (2 mm / l)² / 12 = 0.4 %, the grid 0.1 %
        CHECK(c[sample.grid.index(i, j)] == Approx(std::exp(-here / decay_m) / (2 * decay_m)).epsilon(0.01));
    }
}

TEST_CASE("the total is kept whatever the outline, the load and the decay length") {
    Sample sample = plate(0.2, 0.15, 0.001);
    for (std::size_t k = 0; k < sample.grid.cells(); ++k) { // a window, a slit one cell wide, a slanted cut
        const Point2 p = sample.grid.centre(k);
        if (norm(p - Point2{0.12, 0.08}) < 0.03) sample.inside[k] = 0;
        if (std::abs(p.y - 0.0405) < 0.0004 && p.x > 0.05) sample.inside[k] = 0;
        if (p.x + p.y < 0.05) sample.inside[k] = 0;
        if (sample.inside[k]) sample.source[k] = static_cast<float>((k * 2654435761u) % 1000) / 1000.0f;
    }
    for (double l : {0.0005, 0.003, 0.009, 0.05}) {
        const std::vector<float> c = spread(sample, l);
        CAPTURE(l);
        CHECK(total(c) == Approx(total(sample.source)).epsilon(1e-4)); // solved to 1e-6 of the load's norm
        double outside = 0;
        for (std::size_t k = 0; k < c.size(); ++k)
            if (!sample.inside[k]) outside += static_cast<double>(std::abs(c[k]));
        CHECK(outside == 0);
    }
}

TEST_CASE("an even load stays even, and without a decay length a load stays where it is") {
    Sample sample = plate(0.1, 0.08, 0.002);
    for (std::size_t k = 0; k < sample.grid.cells(); ++k) sample.source[k] = sample.inside[k] ? 3.0f : 0.0f;
    const std::vector<float> even = spread(sample);
    double worst = 0;
    for (std::size_t k = 0; k < even.size(); ++k)
        worst = std::max(worst, std::abs(static_cast<double>(even[k]) - (sample.inside[k] ? 3.0 : 0.0)));
    CHECK(worst < 1e-5); // floats of size 3, solved to 1e-6
    sample.source[sample.grid.index(20, 20)] = 50.0f;
    CHECK(spread(sample, 0) == sample.source);
}

TEST_CASE("a sheet that a slit cuts in two keeps a load on its own half") {
    Sample sample = plate(0.1, 0.08, 0.002);
    for (std::size_t k = 0; k < sample.grid.cells(); ++k)
        if (std::abs(sample.grid.centre(k).x - 0.051) < 0.0005) sample.inside[k] = 0;
    sample.source[sample.grid.index(25, 20)] = 1.0f; // four cells from the slit
    const std::vector<float> c = spread(sample);
    double beyond = 0;
    for (std::size_t k = 0; k < c.size(); ++k)
        if (sample.grid.centre(k).x > 0.051) beyond += static_cast<double>(std::abs(c[k]));
    CHECK(beyond < 1e-5); // of a load of 1, solved to 1e-6
    CHECK(total(c) == Approx(1).epsilon(1e-4));
}

} // namespace test_layer
