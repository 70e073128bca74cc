// The moment of friction about a pad's own axis, summed directly: the pad's place, the velocity of its face
// over every cell and the lever about its own centre, instant by instant round the orbit. No formula of the
// program's for mean speeds, rims or rings is used. It is what a free body of the pad needs (any textbook of
// rigid bodies); on a flat panel it is the disc of Farkas, Bartels, Unger and Wolf, Phys. Rev. Lett. 90,
// 248302 (2003).
#include "sim/contact.hpp"
#include "sim/kernels.hpp"
#include "sim/motion.hpp"
#include "support/worlds.hpp"
#include <catch2/catch.hpp>
#include <cmath>

namespace test_friction_moment {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double mu = 0.35, orbit_m = 0.0075, orbit_rad_s = 4500 * per_min;

/// A pad balanced at 45 N on the middle of a panel, level.
Footprint balanced(const Panel& panel, const Pad& pad, Point2 tilt = {}) {
    Footprint f;
    f.gather(panel, layer_fields(panel, pad), {0.25, 0.25}, pad.radius_m + orbit_m + panel.grid.h_m);
    f.hang_over(panel, layer_fields(panel, pad), pad, {0.25, 0.25}, orbit_m);
    cover(f, pad, orbit_m, 0.5 * panel.grid.h_m);
    REQUIRE(f.level());
    REQUIRE(balance_plate(f, pad, FoamCurve<float>(pad.foam), {45, tilt, INFINITY}, {1e-3, {}}).converged);
    return f;
}

double summed_directly(const Footprint& f, double radius, double spin) {
    constexpr int instants = 720;
    double moment = 0;
    for (int k = 0; k < instants; ++k) {
        const double angle = 2 * pi * (k + 0.5) / instants;
        const double cx = orbit_m * std::cos(angle), cy = orbit_m * std::sin(angle);
        for (std::size_t i = 0; i < f.size; ++i) {
            const double rx = static_cast<double>(f.x[i]) - cx, ry = static_cast<double>(f.y[i]) - cy;
            if (rx * rx + ry * ry > radius * radius) continue;
            const double vx = -orbit_rad_s * cy - spin * ry, vy = orbit_rad_s * cx + spin * rx;
            moment += static_cast<double>(f.pressure[i]) * (rx * vy - ry * vx) / std::hypot(vx, vy);
        }
    }
    return mu * moment * f.cell_area_m2 / instants;
}

Panel crowned(double radius_u_m, double radius_v_m) {
    Features shape = rectangle(0.5, 0.5);
    shape.radius_u_m = radius_u_m, shape.radius_v_m = radius_v_m;
    return panel_of(shape, 0.002);
}

} // namespace

TEST_CASE("the friction moment on rings is the one summed directly, on a flat, a ball, a hollow and a bend") {
    // 2 % of mu F e, the most that friction can drive or brake a pad at rest: harmonics above the first at
    // the rim, and cells of 2 mm beside an orbit of 7.5 mm.
    const Pad pad = foam_pad(true);
    const double most = mu * 45 * orbit_m;
    struct Case {
        const char* shape;
        Panel panel;
        Point2 tilt;
    };
    std::vector<Case> cases;
    cases.push_back({"flat", plate(0.5, 0.5, 0.002), {}});
    cases.push_back({"flat, tilted", plate(0.5, 0.5, 0.002), {0.01, 0.0}});
    cases.push_back({"ball", crowned(1.0, 1.0), {}});
    cases.push_back({"hollow ball", crowned(-4.0, -4.0), {}});
    cases.push_back({"bend", crowned(0, 0.5), {}});
    for (const Case& c : cases) {
        const Footprint f = balanced(c.panel, pad, c.tilt);
        const RingLoads loads = ring_loads(f, pad, orbit_m);
        for (const double spin : {-40.0, -10.0, 0.0, 5.0, 15.0, 30.0, 60.0}) {
            CAPTURE(c.shape, spin);
            CHECK(spin_friction_moment(loads, mu, orbit_m, orbit_rad_s, spin) ==
                  Approx(summed_directly(f, pad.radius_m, spin)).margin(0.02 * most).epsilon(0.02));
        }
    }
}

TEST_CASE("friction drives a pad at rest on a crown and brakes it in a hollow") {
    // T(0) = mu (sum of Q r - N e): the rim's load against the whole. On a point Q = 0 and friction carries
    // the pad round with its orbit, mu N e; where only the rim bears it is the other way about.
    const Pad pad = foam_pad(true);
    const auto at_rest = [&](const Panel& panel) {
        return spin_friction_moment(ring_loads(balanced(panel, pad), pad, orbit_m), mu, orbit_m, orbit_rad_s,
                                    0);
    };
    const double most = mu * 45 * orbit_m;
    CHECK(std::abs(at_rest(plate(0.5, 0.5, 0.002))) < 1e-3 * most);
    CHECK(at_rest(crowned(0.3, 0.3)) < -0.9 * most);
    CHECK(at_rest(crowned(-4.0, -4.0)) > 0.2 * most);
}

TEST_CASE("a pad that friction drives against its orbit turns backwards") {
    // By the same balance solved by bisection on the directly summed moment: T0 = T(W), W < 0.
    const Pad pad = foam_pad(true);
    const Panel hollow = crowned(-2.0, -2.0);
    const Footprint f = balanced(hollow, pad);
    RingLoads loads = ring_loads(f, pad, orbit_m);
    loads.hysteresis_nm = 0;
    Machine machine = orbital();
    machine.bearing_torque_nm = 0.005;
    const double spin = next_spin(machine, 4e-4, mu, loads, orbit_rad_s, 0, INFINITY);
    double low = -orbit_rad_s, high = 0;
    for (int i = 0; i < 24; ++i) {
        const double middle = 0.5 * (low + high);
        (summed_directly(f, pad.radius_m, middle) < machine.bearing_torque_nm ? low : high) = middle;
    }
    CHECK(low < -5);
    CHECK(spin == Approx(low).epsilon(0.04));
    // The foam's loss opposes this sense as the other: enough of it and the pad stands.
    loads.hysteresis_nm = 1;
    CHECK(next_spin(machine, 4e-4, mu, loads, orbit_rad_s, 0, INFINITY) == 0.0);
}

} // namespace test_friction_moment
