// Heat in the panel against closed forms. Sources:
//  - Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959: instantaneous line source (10.3), images
//    (10.10), constant flux into a half-space (2.9) and into a slab with an insulated back (3.8);
//  - Rosenthal, "The theory of moving sources of heat and its application to metal treatments", Trans. ASME
//  68,
//    849 (1946): line source moving through a thin plate that loses heat from both faces.
#include "sim/heat.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <boost/math/special_functions/bessel.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

namespace test_heat {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

Surroundings no_losses() {
    Surroundings air;
    air.top_w_m2k = air.bottom_w_m2k = 0;
    return air;
}

double diffusivity(const Substrate& s) {
    return s.conductivity_w_mk / (s.density_kg_m3 * s.heat_capacity_j_kgk);
}
double capacity(const Substrate& s) { return s.density_kg_m3 * s.heat_capacity_j_kgk * s.thickness_m; }

/// Rise at distance r from `heat_j` let into a point of an endless sheet `t_s` ago.
double line_source(const Substrate& s, double heat_j, double r_m, double t_s) {
    const double spread = 4 * diffusivity(s) * t_s;
    return heat_j / (capacity(s) * pi * spread) * std::exp(-r_m * r_m / spread);
}

double rise(const PanelHeat& heat, std::size_t cell) {
    return heat.sheet_c(cell) - heat.surroundings().air_c;
}

Panel sheet(double width_m, double height_m, double spacing_m, const Substrate& substrate) {
    return panel_of(rectangle(width_m, height_m), spacing_m, even_film(), substrate);
}

/// Heat evenly into every cell, for dt_s.
void warm_evenly(PanelHeat& heat, const Panel& panel, double flux_w_m2, double dt_s) {
    for (std::size_t k = 0; k < panel.inside.size(); ++k)
        if (panel.inside[k]) heat.warm(k, flux_w_m2 * dt_s);
    heat.pass(dt_s);
}

/// One joule into a cell at once (in one short step), then time.
PanelHeat one_joule(const Panel& panel, std::size_t cell, double t_s) {
    PanelHeat heat(panel, no_losses(), 0.01);
    heat.warm(cell, 1 / (panel.grid.h_m * panel.grid.h_m));
    heat.pass(0.01);
    for (double t = 0.01; t < t_s - 1e-9; t += 0.1) heat.pass(std::min(0.1, t_s - t));
    return heat;
}

// A node of 4 mm instead of a point, and second differences over 4 mm, each widen the spot by about 4² / 12
// mm² in variance of 2 x 13.8 x 20 = 554 mm² after 20 s: 0.5 % at its middle, and more of the little that is
// left far out. 1 % is asked; 0.4 % was seen.
constexpr double spot_time_s = 20, spot_tolerance = 0.01;

} // namespace

TEST_CASE("a line source in the open spreads as Carslaw and Jaeger have it") {
    for (const double spacing : {0.001, 0.002, 0.004}) {
        const Panel panel = sheet(0.4, 0.4, spacing, steel());
        const std::size_t source = cell_at(panel, {0.2, 0.2});
        const PanelHeat heat = one_joule(panel, source, spot_time_s);
        // The middle of the node that holds the cell: nodes of 4 mm start at the panel's corner.
        const Point2 middle{0.202, 0.202};
        for (const Point2 off :
             {Point2{0, 0}, Point2{0.02, 0}, Point2{0, -0.02}, Point2{0.02, 0.02}, Point2{0.032, 0.012}}) {
            CAPTURE(spacing, off.x, off.y);
            CHECK(rise(heat, cell_at(panel, middle + off)) ==
                  Approx(line_source(panel.substrate, 1, norm(off), spot_time_s)).epsilon(spot_tolerance));
        }
    }
}

TEST_CASE("an insulated edge mirrors a source, so that on the edge the rise doubles") {
    // Widths of whole nodes, and ones that leave half a node, one cell of 1 mm or three of them on the right
    // edge.
    struct Edge {
        double width_m, spacing_m, last_node_m;
    };
    for (const Edge edge : {Edge{0.400, 0.002, 0.004}, Edge{0.402, 0.002, 0.002}, Edge{0.401, 0.001, 0.001},
                            Edge{0.403, 0.001, 0.003}}) {
        const Panel panel = sheet(edge.width_m, 0.4, edge.spacing_m, steel());
        const std::size_t source = cell_at(panel, {edge.width_m - 0.5 * edge.spacing_m, 0.2005});
        const PanelHeat heat = one_joule(panel, source, spot_time_s);
        const double depth = 0.5 * edge.last_node_m; // of the last node's middle from the edge
        for (const Point2 off :
             {Point2{0, 0}, Point2{0, 0.02}, Point2{0, -0.032}, Point2{-0.02 - depth - 0.002, 0.012}}) {
            // Whole nodes start on the left, so the place is the middle of a node there.
            const double from_edge = off.x == 0 ? depth : 0.022 + edge.last_node_m;
            const Point2 at{edge.width_m - from_edge, 0.202 + off.y};
            const double direct = std::hypot(from_edge - depth, off.y),
                         image = std::hypot(from_edge + depth, off.y);
            const double expected = line_source(panel.substrate, 1, direct, spot_time_s) +
                                    line_source(panel.substrate, 1, image, spot_time_s);
            CAPTURE(edge.width_m, off.x, off.y);
            CHECK(rise(heat, cell_at(panel, at)) == Approx(expected).epsilon(spot_tolerance));
            if (off.x == 0) // depth² is small against the spread: twice the open sheet's, within 1 % more
                CHECK(rise(heat, cell_at(panel, at)) / line_source(panel.substrate, 1, direct, spot_time_s) ==
                      Approx(2).epsilon(2 * spot_tolerance));
        }
    }
}

TEST_CASE("heat made in the last node crosses to the next over the distance of their centres") {
    // Fourier's law. Steady but for an even rise everywhere, what crosses is all that is made but what warms
    // the last node itself: (T_last - T_next) k t / distance = made x (1 - its width / the whole). In steps
    // that are short against what a node takes to even out; 1 % asked, 0.4 % seen, what is not quite steady
    // yet.
    const double made_w_m = 200, dt = 0.005; // per metre of edge
    for (const bool along_v : {false, true}) {
        for (const int last_mm : {1, 2, 3, 4}) {
            const double length = 0.020 + last_mm * 1e-3, width = 0.02;
            const Panel panel =
                along_v ? sheet(width, length, 0.001, steel()) : sheet(length, width, 0.001, steel());
            const auto cell = [&](double along, double across) {
                return cell_at(panel, along_v ? Point2{across, along} : Point2{along, across});
            };
            PanelHeat heat(panel, no_losses(), dt);
            for (double t = 0; t < 20;
                 t += dt) { // many times the length squared over the diffusivity and pi²
                for (double across = 0.5e-3; across < width; across += 1e-3)
                    heat.warm(cell(length - 0.5e-3, across), made_w_m / 1e-3 * dt);
                heat.pass(dt);
            }
            const double distance = (2 + 0.5 * last_mm) * 1e-3;
            CAPTURE(along_v, last_mm);
            CHECK(rise(heat, cell(length - 0.5e-3, 0.0105)) - rise(heat, cell(0.0185, 0.0105)) ==
                  Approx(made_w_m * (1 - last_mm * 1e-3 / length) * distance /
                         (panel.substrate.conductivity_w_mk * panel.substrate.thickness_m))
                      .epsilon(0.01));
        }
    }
}

TEST_CASE("a source that moves through a thin plate drags Rosenthal's field behind it") {
    // Rise over the air at (x, y) from the source, x ahead: q / (2 pi k t) exp(-v x / 2a) K0(r sqrt((v/2a)² +
    // h/(k t))). Ahead of the source the field falls to a third over 13 mm, 3.2 nodes: second differences
    // make that fall too slow, by 0.8 % of the rise 26 mm ahead, and the source is a node wide instead of a
    // point. 2 % asked from 16 mm on, 1.7 % seen ahead and 0.5 % behind. 0.26 m at 1 mm/s is long enough for
    // it to have become steady.
    const Panel panel = sheet(0.5, 0.4, 0.002, steel());
    const Surroundings air;
    PanelHeat heat(panel, air);
    const double speed = 0.001, power = 20, dt = 0.2, y = 0.202, from = 0.1;
    double t = 0;
    const auto place = [&](double time) { return from + speed * time; };
    for (; place(t) < 0.36; t += dt) {
        // Shared between the two nearest cells, so that the middle of the heat moves evenly.
        const double x = (place(t + 0.5 * dt) - panel.grid.x0_m) / panel.grid.h_m;
        const int i = static_cast<int>(std::floor(x)),
                  j = static_cast<int>(std::lround((y - panel.grid.y0_m) / panel.grid.h_m));
        const double heat_j_m2 = power * dt / (panel.grid.h_m * panel.grid.h_m), share = x - i;
        heat.warm(panel.grid.index(i, j), (1 - share) * heat_j_m2);
        heat.warm(panel.grid.index(i + 1, j), share * heat_j_m2);
        heat.pass(dt);
    }
    const Substrate& s = panel.substrate;
    const double k_t = s.conductivity_w_mk * s.thickness_m, half_rate = speed / (2 * diffusivity(s));
    const double root = std::sqrt(half_rate * half_rate + (air.top_w_m2k + air.bottom_w_m2k) / k_t);
    int compared = 0;
    for (double x = 0.302; x < 0.4; x += 0.012) {
        for (const double aside : {0.0, 0.016, -0.028}) {
            // Nodes' middles: 2 mm past whole multiples of 4 mm.
            const Point2 at{std::round((x - 0.002) / 0.004) * 0.004 + 0.002, y + aside};
            const double ahead = at.x - place(t), r = std::hypot(ahead, aside);
            if (r < 0.016 || ahead > 0.03) continue;
            const double expected = power / (2 * pi * k_t) * std::exp(-half_rate * ahead) *
                                    boost::math::cyl_bessel_k(0, r * root);
            CAPTURE(ahead, aside);
            CHECK(rise(heat, cell_at(panel, at)) == Approx(expected).epsilon(0.02));
            ++compared;
        }
    }
    CHECK(compared > 8);
}

TEST_CASE(
    "a steady flux heats the face of a thick plastic panel as a half-space, then as an insulated slab") {
    // Half-space: 2 q sqrt(t / (pi k rho c)). Slab: q t / (rho c L) + q L / k (1/3 - 2/pi² sum exp(-n² pi² a
    // t / L²) / n²). Eight nodes through 3 mm come late into the first moments by what 0.01 mm of plastic
    // would hold back: 0.1 K here, for good. That is 3.8 % after 0.4 s and 1.4 % after 4 s; 4 % and 1.5 % are
    // asked.
    const Panel panel = sheet(0.05, 0.05, 0.002, plastic());
    const Substrate& s = panel.substrate;
    const double flux = 2000, k = s.conductivity_w_mk, a = diffusivity(s), depth = s.thickness_m;
    PanelHeat heat(panel, no_losses());
    const std::size_t cell = cell_at(panel, {0.025, 0.025});
    double t = 0;
    const auto until = [&](double stop) {
        while (t < stop - 1e-9) warm_evenly(heat, panel, flux, 0.2), t += 0.2;
        return rise(heat, cell);
    };
    for (const double early : {0.4, 1.0, 2.0, 4.0, 6.0}) {
        CAPTURE(early);
        CHECK(until(early) ==
              Approx(2 * flux * std::sqrt(early * a / pi) / k).epsilon(early < 3 ? 0.04 : 0.015));
    }
    for (const double late : {10.0, 30.0, 100.0, 300.0}) {
        double sum = 0;
        for (int n = 1; n < 200; ++n)
            sum += std::exp(-n * n * pi * pi * a * late / (depth * depth)) / (n * n);
        const double expected =
            flux * late / capacity(s) + flux * depth / k * (1.0 / 3 - 2 / (pi * pi) * sum);
        CAPTURE(late);
        CHECK(until(late) == Approx(expected).epsilon(0.015));
    }
}

TEST_CASE("an evenly warmed panel cools as exp(-(h_top + h_bottom) t / (rho c thickness))") {
    const Panel panel = sheet(0.1, 0.06, 0.002, steel());
    const Surroundings air;
    PanelHeat heat(panel, air);
    warm_evenly(heat, panel, 50000, 0.2);
    const std::size_t cell = cell_at(panel, {0.05, 0.03});
    const double start = rise(heat, cell);
    for (int k = 0; k < 60; ++k) heat.pass(1.0);
    // Exact in time; what is left is single precision, 60 steps of it.
    CHECK(rise(heat, cell) ==
          Approx(start * std::exp(-(air.top_w_m2k + air.bottom_w_m2k) * 60 / capacity(panel.substrate)))
              .epsilon(1e-5));
}

TEST_CASE("what goes into a panel has been lost to the air or is still in it, and none of it goes through an "
          "edge") {
    // Round corners and a round hole: nodes of every shape on the outlines. 0.1 % was the aim; single
    // precision leaves 1e-6 and 1e-5 is asked.
    Features shape = rectangle(0.3, 0.2);
    for (Corner& corner : shape.outline) corner.radius_m = 0.05;
    shape.holes = {{{{0.13, 0.08}, 0.015, ""},
                    {{0.17, 0.08}, 0.015, ""},
                    {{0.17, 0.12}, 0.015, ""},
                    {{0.13, 0.12}, 0.015, ""}}};
    for (const Substrate& substrate : {steel(), plastic()}) {
        for (const double spacing : {0.001, 0.002, 0.003}) {
            const Panel panel = panel_of(shape, spacing, even_film(), substrate);
            PanelHeat heat(panel, Surroundings{});
            double let_in = 0;
            for (int step = 0; step < 400; ++step) {
                if (step < 200) {
                    const Point2 at{0.02 + 0.26 * step / 200, 0.1 + 0.09 * std::sin(step * 0.2)};
                    const std::size_t cell = cell_at(panel, at);
                    if (panel.inside[cell]) {
                        heat.warm(cell, 2e6);
                        let_in += 2e6 * spacing * spacing;
                    }
                }
                heat.pass(step % 3 == 0 ? 0.1 : 0.5);
            }
            const PanelHeat::Energy e = heat.energy();
            CAPTURE(substrate.name, spacing, e.made_j, e.lost_j, e.stored_j);
            CHECK(e.made_j == Approx(let_in).epsilon(1e-5));
            CHECK(e.lost_j + e.stored_j == Approx(e.made_j).epsilon(1e-5));
            CHECK(e.lost_j > 0.1 * e.made_j); // or the balance says little
            CHECK(e.stored_j > 0.1 * e.made_j);
        }
    }
}

TEST_CASE("halving the time step quarters the error") {
    // A smooth warm spot under a smooth flux on steel that loses much to the air: splitting, stages and
    // columns all err. 1.12 s on from a common start, in steps for which two stages are enough, against far
    // finer ones. 0.1 asked: the step has to be small against the spot's own second or two for the order to
    // show.
    const Panel panel = sheet(0.1, 0.1, 0.004, steel());
    const std::size_t middle = cell_at(panel, {0.05, 0.05});
    Surroundings windy;
    windy.top_w_m2k = windy.bottom_w_m2k = 1000;
    const auto warm_spot = [&](PanelHeat& heat, double dt, double flux_w_m2) {
        for (std::size_t k = 0; k < panel.inside.size(); ++k) {
            const double r = norm(panel.grid.centre(k) - panel.grid.centre(middle));
            if (panel.inside[k]) heat.warm(k, flux_w_m2 * std::exp(-r * r / (2 * 0.012 * 0.012)) * dt);
        }
        heat.pass(dt);
    };
    PanelHeat start(panel, windy, 1e-4);
    for (int k = 0; k < 100; ++k) warm_spot(start, 0.02, 2e5);
    const auto after = [&](int steps) {
        PanelHeat heat = start;
        for (int k = 0; k < steps; ++k) warm_spot(heat, 1.12 / steps, 1e5);
        return rise(heat, middle);
    };
    const double finest = after(128);
    double before = std::abs(after(4) - finest);
    for (const int steps : {8, 16}) {
        const double error = std::abs(after(steps) - finest);
        CAPTURE(steps, error, before, finest);
        CHECK(std::log2(before / error) == Approx(2).margin(0.1));
        before = error;
    }
}

TEST_CASE("what the pad meets is the sheet's top and the flux times the film's resistance") {
    const Panel panel = sheet(0.1, 0.1, 0.002, steel());
    const Surroundings air;
    PanelHeat heat(panel, air);
    const std::size_t cell = cell_at(panel, {0.05, 0.05});
    warm_evenly(heat, panel, 3000, 0.2);
    const double film_m = 105e-6; // even_film()
    CHECK(heat.film_c(cell) - heat.sheet_c(cell) ==
          Approx(3000 * film_m / air.film_conductivity_w_mk).epsilon(1e-5));
    const double hot = heat.film_c(cell);
    CHECK(heat.hottest_film_c() == Approx(hot).epsilon(1e-6));
    heat.pass(1);
    CHECK(heat.film_c(cell) == heat.sheet_c(cell)); // nothing flows now
    CHECK(heat.peak_film_c(cell) == Approx(hot).epsilon(1e-6));
    CHECK(heat.peak().film_c == Approx(hot).epsilon(1e-6));
}

} // namespace test_heat
