// What a turning pad loses in its foam, against closed forms. A piece of the face that swings by w = a cos(n
// t) a turn stores k a^2 / 2 at its peak per area and loses 2 pi eta of that each time (Ungar and Kerwin, J.
// Acoust. Soc. Am. 34, 954, 1962), so a turn loses n pi eta k a^2 per area and the torque is
// n eta k a^2 / 2 per area, integrated over the face. Pads here are linear and do not orbit, so that a is
// known.
#include "sim/contact.hpp"
#include "sim/kernels.hpp"
#include "sim/motion.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

namespace test_foam_loss {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double radius = 0.075;

/// A pad pressed on the middle of a panel at a given pose; covers by its rim on an orbit of radius e.
Footprint pressed(const Panel& panel, const Pad& pad, PlatePose pose, double orbit_radius_m = 0) {
    const double h = panel.grid.h_m, rim = std::max(orbit_radius_m, 0.5 * h);
    Footprint f;
    f.gather(panel, layer_fields(panel, pad), {0.25, 0.25}, radius + rim + h);
    cover(f, pad, orbit_radius_m, 0.5 * h);
    REQUIRE(f.level());
    press(f, pad, FoamCurve<float>(pad.foam), pose);
    for (std::size_t i = 0; i < f.size; ++i) // in touch throughout
        REQUIRE((f.coverage[i] == 0 || f.pressure[i] > 0));
    return f;
}

/// Curved along v alone: z = -v^2 / (2 R) about its crest.
Panel tube(double crown_radius_m) {
    Features shape = rectangle(0.5, 0.5);
    shape.radius_v_m = crown_radius_m;
    return panel_of(shape, 0.001);
}

} // namespace

// Ring sums take every third cell, some 250 a ring at 1 mm: up to 0.4 % of the loss. 1 % is asked; counting a
// harmonic once too often or too seldom would be 50 to 100 %.

TEST_CASE("a tilted pad on a flat panel loses pi eta k t^2 R^4 / 4") {
    // a = t r, once a turn: integral of eta k t^2 r^2 / 2 over the disc.
    const Pad pad = foam_pad(true);
    const double tilt = 0.03, k = pad.foundation_pa_m();
    const double expected = pi * pad.loss_factor * k * tilt * tilt * std::pow(radius, 4) / 4;
    for (const double toward : {0.0, 0.7, 2.0}) {
        const PlatePose pose{4e-3, {tilt * std::cos(toward), tilt * std::sin(toward)}};
        CHECK(ring_loads(pressed(plate(0.5, 0.5, 0.001), pad, pose), pad, 0).hysteresis_nm ==
              Approx(expected).epsilon(0.01));
    }
}

TEST_CASE("a pad bridging a tube loses pi eta k R^6 / (48 Rc^2)") {
    // w = w0 - v^2 / (2 Rc): r^2 / (4 Rc) cos 2t round a ring, twice a turn: integral of eta k r^4 / (16
    // Rc^2).
    const Pad pad = foam_pad(true);
    for (const double crown : {0.6, 1.5}) {
        const double expected =
            pi * pad.loss_factor * pad.foundation_pa_m() * std::pow(radius, 6) / (48 * crown * crown);
        CHECK(ring_loads(pressed(tube(crown), pad, {6e-3, {}}), pad, 0).hysteresis_nm ==
              Approx(expected).epsilon(0.01));
    }
}

TEST_CASE("a pad both tilted and bridging loses the sum of the two") {
    // Harmonics of a ring do not mix: sum over n of n a_n^2.
    const Pad pad = foam_pad(true);
    const double tilt = 0.02, crown = 0.8, k = pad.foundation_pa_m();
    const double expected =
        pi * pad.loss_factor * k *
        (tilt * tilt * std::pow(radius, 4) / 4 + std::pow(radius, 6) / (48 * crown * crown));
    CHECK(ring_loads(pressed(tube(crown), pad, {6e-3, {0.6 * tilt, 0.8 * tilt}}), pad, 0).hysteresis_nm ==
          Approx(expected).epsilon(0.01));
}

TEST_CASE("a level pad on a flat panel or on a ball loses nothing") {
    const Pad pad = foam_pad(true);
    Features ball = rectangle(0.5, 0.5);
    ball.radius_u_m = ball.radius_v_m = 0.8;
    CHECK(ring_loads(pressed(plate(0.5, 0.5, 0.001), pad, {4e-3, {}}), pad, 0).hysteresis_nm <
          5e-6); // floats; the bearing gives 0.1
    // A ring 3 mm wide holds pieces of different compression; a tube of the same radius loses 1.1e-2 N m.
    const double on_ball = ring_loads(pressed(panel_of(ball, 0.001), pad, {6e-3, {}}), pad, 0).hysteresis_nm;
    CAPTURE(on_ball);
    CHECK(on_ball < 3e-4);
}

TEST_CASE("the ring sums of an orbiting pad carry its load and its friction torque") {
    // Flat, level: uniform pressure on the face. The sums are taken over the panel, where the face sweeps a
    // disc wider by e; turned back into radii on the pad they must give sum p dA and, for a spin well below
    // the sliding, sum mu p r^2 W / (2 v) dA = mu F R^2 W / (4 v), the first term of Farkas et al. 2003.
    const Pad pad = foam_pad(true);
    for (const double e : {0.004, 0.0075, 0.0105}) {
        const Footprint f = pressed(plate(0.5, 0.5, 0.002), pad, {2e-3, {}}, e);
        const RingLoads loads = ring_loads(f, pad, e);
        const double p = pad.foundation_pa_m() * 2e-3, force = p * pi * radius * radius;
        double load = 0;
        for (const double n : loads.load_n) load += n;
        const double sliding = 3.5, spin = 1;
        CAPTURE(e);
        CHECK(load == Approx(force).epsilon(0.003));
        CHECK(spin_friction_moment(loads, 0.35, e, sliding / e, spin) ==
              Approx(0.35 * force * radius * radius * spin / (4 * sliding)).epsilon(0.015));
    }
}

} // namespace test_foam_loss
