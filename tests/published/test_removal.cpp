// Removal against Preston's law in closed form, the energy identity, and the edge's orders of magnitude.
#include "sim/abrasive.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

namespace test_removal {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

// Preston, "The theory and design of plate glass polishing machines", J. Soc. Glass Technol. 11, 214
// (1927): dh/dt = k p |v|. A disc of radius R spinning at w crosses a point at lateral offset y in a
// straight line at speed V. Seen from the disc the point runs along x from -X to X, X^2 = R^2 - y^2, and
// slides at |(V - w y, w x)|, so
//     h = k p / V  *  integral of sqrt(a^2 + w^2 x^2) dx,   a = V - w y
//       = k p / V  *  [ X sqrt(a^2 + w^2 X^2) + (a^2 / w) asinh(w X / |a|) ].
double crossed_by_disc(double k, double p, double radius, double spin, double speed, double y) {
    const double X = std::sqrt(radius * radius - y * y), a = speed - spin * y;
    return k * p / speed * (X * std::hypot(a, spin * X) + a * a / spin * std::asinh(spin * X / std::abs(a)));
}

// Mean loss over the rows of cells nearest the bottom edge, in the middle fifth of the panel, over the
// median of the open panel.
double edge_over_open(double centre_line_from_edge_m) {
    const double size = 0.5;
    const Panel panel = plate(size, size, 0.002);
    Technique t;
    t.force_n = 45, t.speed_rad_s = 4500 * per_min, t.arm_speed_m_s = 0.04, t.overlap = 0.5, t.passes = 2;
    t.arm_acceleration_m_s2 = 1;
    t.hold_back_m = centre_line_from_edge_m - 0.075;
    t.section_size = {1, 1}; // in one go
    const ArmPath path = lay_path(t, 0.075, panel, 1);
    const RunResult r = simulate(panel, setup_of(orbital(), foam_pad()), path);
    const auto mean_over = [&](double y_low, double y_high) {
        double sum = 0;
        int n = 0;
        for (std::size_t i = 0; i < panel.inside.size(); ++i) {
            const Point2 c = panel.grid.centre(i);
            if (panel.inside[i] && c.x > 0.2 && c.x < 0.3 && c.y > y_low && c.y < y_high)
                sum += static_cast<double>(r.fields.removed_um[i]), ++n;
        }
        return sum / n;
    };
    return mean_over(0, 0.004) / mean_over(0.2, 0.3);
}

} // namespace

TEST_CASE("a rotary crossing in a straight line removes what Preston's law integrates to") {
    // 45 N is carried to 2e-4; cells and steps of 2 mm smear a chord of 150 mm by up to 0.8 %: 1 % asked. The
    // last 6 mm at the rim, where the chord itself changes within a cell, are left out. The slow spin is one
    // at which the arm's own speed counts, on the side that runs with it and on the side that runs against
    // it.
    const Panel panel = plate(0.5, 0.5, 0.002);
    Machine rotary;
    rotary.kind = MachineKind::rotary;
    const double p = 45 / (pi * 0.075 * 0.075), at0 = 0.25;
    struct Crossing {
        double spin_per_min, speed;
        bool along_v;
    };
    for (const Crossing c :
         {Crossing{1500, 0.04, false}, Crossing{30, 0.15, false}, Crossing{30, 0.15, true}}) {
        const double spin = c.spin_per_min * per_min;
        const Point2 from = c.along_v ? Point2{at0, 0.1} : Point2{0.1, at0};
        const Point2 to = c.along_v ? Point2{at0, 0.4} : Point2{0.4, at0};
        const ArmPath path = straight({from, to, c.speed, 45, spin, 0.002});
        const RunResult r = simulate(panel, setup_of(rotary, foam_pad()), path);
        for (double y = -0.067; y <= 0.067; y += 0.01) {
            // y is to the left of the way.
            const std::size_t cell =
                cell_at(panel, c.along_v ? Point2{at0 - y, 0.25} : Point2{0.25, at0 + y});
            const Point2 at = panel.grid.centre(cell);
            const double left = c.along_v ? at0 - at.x : at.y - at0;
            CAPTURE(c.spin_per_min, c.along_v, y);
            CHECK(static_cast<double>(r.fields.removed_um[cell]) ==
                  Approx(crossed_by_disc(1e-11, p, 0.075, spin, c.speed, left) * 1e6).epsilon(0.01));
            // What the factors rest on: the chord over the arm's speed, and the even pressure over that time.
            const double time = 2 * std::sqrt(0.075 * 0.075 - left * left) / c.speed;
            CHECK(static_cast<double>(r.fields.contact_time_s[cell]) == Approx(time).epsilon(0.01));
            CHECK(static_cast<double>(r.fields.pressure_time_pa_s[cell]) == Approx(p * time).epsilon(0.01));
        }
    }
}

TEST_CASE("removed volume is k times friction work over mu, for any path and panel") {
    // Sum of k p |v| dA dt over cells against k / mu x the friction work summed over steps. Cells add in
    // float, steps in double: 1e-5 covers thousands of float additions; the promise is 0.5 %.
    Features crowned = rectangle(0.6, 0.5), creased = rectangle(0.4, 0.3);
    crowned.radius_u_m = 2, crowned.radius_v_m = 1.5;
    creased.body_lines = {{"waist line", {{0.0, 0.17}, {0.4, 0.17}}, 3e-3, 8e-3, 0.04, 0.0}};
    StraightRun past_the_edge{{-0.04, 0.02}, {0.44, 0.28}};
    past_the_edge.tilt_rad = {0.02, -0.04};
    struct Case {
        Features shape;
        StraightRun run;
    };
    for (const Case& c : {Case{crowned, {{0.02, 0.05}, {0.35, 0.45}}}, Case{creased, past_the_edge}})
        for (const bool resolved : {false, true}) {
            Setup setup = setup_of(orbital(), foam_pad(), 30);
            setup.integrator = resolved ? Integrator::resolved : Integrator::averaged;
            const Panel panel = panel_of(c.shape, 0.002);
            const RunResult steady = simulate(panel, setup, straight(c.run));
            const double by_work = 1e-11 * steady.totals.friction_work_j / 0.35;
            CHECK(total_removed_m3(panel, steady.fields) == Approx(by_work).epsilon(1e-5));
            CHECK(steady.totals.removed_by_work_m3 == Approx(by_work).epsilon(1e-9));
            CHECK(by_work > 0);

            // The same where k and mu change from step to step: an abrasive that wears, loads and dries.
            setup.liquid.abrasive_start_m = 4e-6, setup.liquid.breakdown_j_m2 = 30e3;
            setup.liquid.working_time_s = 4;
            setup.pad.capacity_m = 0.2e-6;
            const RunResult worn = simulate(panel, setup, straight(c.run));
            CHECK(worn.trace.back().removal_coefficient < 0.5 * worn.trace.front().removal_coefficient);
            CHECK(total_removed_m3(panel, worn.fields) ==
                  Approx(worn.totals.removed_by_work_m3).epsilon(1e-5));
        }
}

TEST_CASE("the pressure laid down over the panel is the force times the time") {
    // sum of int p dt dA = F t, in the open and over an edge: the balance carries the force to 2e-4.
    const Panel panel = plate(0.4, 0.3, 0.002);
    for (const Integrator integrator : {Integrator::averaged, Integrator::resolved}) {
        Setup setup = setup_of(orbital(), foam_pad(), 30);
        setup.integrator = integrator;
        const RunResult r = simulate(panel, setup, straight({{0.1, 0.15}, {0.3, 0.0}}));
        double sum = 0;
        for (const float p : r.fields.pressure_time_pa_s) sum += static_cast<double>(p);
        CHECK(sum * 4e-6 == Approx(45 * r.totals.time_down_s).epsilon(3e-4));
    }
}

TEST_CASE("friction work is force times mean sliding speed on a flat panel") {
    // Flat, open, level: every piece of the face carries F / A and slides at the orbit's mean speed about the
    // pad's own axis, M(e w_o, W r); the work is mu F t <M> with <M> = (2 / R^2) integral of M r dr (the
    // energy balance of Farkas et al. 2003).
    const Panel panel = plate(0.5, 0.4, 0.002);
    const RunResult r =
        simulate(panel, setup_of(orbital(), foam_pad()), straight({{0.15, 0.2}, {0.35, 0.2}}));
    const double spin = r.trace.back().spin_rad_s, sliding = 0.0075 * 4500 * per_min;
    double mean = 0;
    constexpr int n = 400, around = 32;
    for (int k = 0; k < n; ++k)
        for (int j = 0; j < around; ++j) {
            const double radius = 0.075 * (k + 0.5) / n, angle = 2 * pi * (j + 0.5) / around;
            // W z x r' + V, the arm along u at 40 mm/s
            const double around_axis = spin * radius;
            const double fixed =
                std::hypot(0.04 - around_axis * std::sin(angle), around_axis * std::cos(angle));
            mean += 2 * mean_speed(sliding, fixed) * radius / (n * 0.075) / around;
        }
    // 2e-4 of the force, and as much again for the harmonics that the averaged speed leaves out at the rim.
    CHECK(r.totals.friction_work_j == Approx(0.35 * 45 * 5.0 * mean).epsilon(1e-3));
}

TEST_CASE("the factors of every cell multiply to its loss") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    const RunResult r =
        simulate(panel, setup_of(orbital(), foam_pad(), 30), straight({{0.05, 0.02}, {0.4, 0.3}}));
    int checked = 0;
    for (std::size_t i = 0; i < panel.inside.size(); ++i) {
        const double T = static_cast<double>(r.fields.contact_time_s[i]),
                     P = static_cast<double>(r.fields.pressure_time_pa_s[i]),
                     S = static_cast<double>(r.fields.friction_path_pa_m[i]),
                     R = static_cast<double>(r.fields.removed_um[i]);
        if (R <= 0) continue;
        // k is one number here, so the cut factor R / S must be it: to float accuracy of a few hundred sums.
        REQUIRE(R * 1e-6 / S == Approx(1e-11).epsilon(1e-5));
        REQUIRE(T * (P / T) * (S / P) * 1e-11 * 1e6 == Approx(R).epsilon(1e-5));
        ++checked;
    }
    CHECK(checked > 5000);
}

TEST_CASE("where the centre runs decides what an edge loses") {
    // Orders of magnitude of an independent calculation (0.5 m square, 15 mm throw at 4500/min, 150 mm pad,
    // 45 N, 40 mm/s, half overlap, level): next to nothing with the pad kept inside the edge, about 0.9 of
    // the open panel with the centre line 45 mm inside it, about 1.9 with the centre line on it.
    const double inside = edge_over_open(0.075), near = edge_over_open(0.045), on = edge_over_open(0.0);
    CAPTURE(inside, near, on);
    CHECK(inside < 0.25);
    CHECK(near == Approx(0.9).margin(0.25));
    CHECK(on == Approx(1.9).margin(0.4));
    CHECK(inside < near);
    CHECK(near < on);
}

TEST_CASE("an abrasive breaks down with friction work and never below its end size") {
    Liquid liquid;
    liquid.abrasive_start_m = 4e-6, liquid.abrasive_end_m = 1e-6, liquid.breakdown_j_m2 = 50e3;
    liquid.working_time_s = 100, liquid.cut_per_size_pa_m = 1e-6;
    const Pad pad = foam_pad();
    const double area = pi * pad.radius_m * pad.radius_m;
    Abrasive abrasive(liquid, pad, 1);
    CHECK(abrasive.coefficient() == Approx(4e-12));
    abrasive.use(50e3 * area, 0, 10);
    CHECK(abrasive.size_m() == Approx(1e-6 + 3e-6 * std::exp(-1.0))); // one breakdown energy: 63 % of the way
    abrasive.use(1e9, 0, 10);
    CHECK(abrasive.size_m() == Approx(1e-6));
    abrasive.recharge();
    CHECK(abrasive.size_m() == Approx(4e-6));
}

TEST_CASE("the removal coefficient is the product of what the liquid, the pad and the paint bring") {
    // k = cut per size x median size x pad cut x softness; friction = pad x liquid.
    Liquid liquid = steady_liquid();
    liquid.abrasive_start_m = liquid.abrasive_end_m = 3e-6;
    liquid.cut_per_size_pa_m = 2e-6, liquid.friction_factor = 1.3;
    Pad pad = foam_pad();
    pad.cut_factor = 0.7;
    const Abrasive abrasive(liquid, pad, 1.6);
    CHECK(abrasive.coefficient() == Approx(2e-6 * 3e-6 * 0.7 * 1.6).epsilon(1e-12));
    CHECK(abrasive.friction() == Approx(0.35 * 1.3).epsilon(1e-12));
}

TEST_CASE("a run wears its abrasive by the work and the film it has put in, and recharging undoes it") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    Setup setup = setup_of(orbital(), foam_pad());
    setup.liquid.abrasive_start_m = 4e-6, setup.liquid.abrasive_end_m = 1e-6,
    setup.liquid.breakdown_j_m2 = 15e3;
    setup.liquid.cut_per_size_pa_m = 2.5e-6, setup.pad.capacity_m = 0.2e-6;
    ArmPath path = straight({{0.15, 0.2}, {0.35, 0.2}});
    const RunResult worn = simulate(panel, setup, path);
    // k of the last step, from the run's totals up to it.
    const StepReport& last = worn.trace.back();
    const double face = pi * 0.075 * 0.075;
    const double work = (worn.totals.friction_work_j - last.friction_power_w * last.dt_s) / face;
    const double film = (worn.totals.removed_by_work_m3 - last.removed_m3) / face;
    const double size = 1e-6 + 3e-6 * std::exp(-work / 15e3);
    CHECK(work > 10e3); // enough to see
    CHECK(film > 0.1e-6);
    CHECK(last.removal_coefficient == Approx(2.5e-6 * size / (1 + film / 0.2e-6)).epsilon(1e-9));

    const std::size_t half = path.samples.size() / 2;
    path.samples[half].recharge = true;
    const RunResult fresh = simulate(panel, setup, path);
    CHECK(fresh.trace[half].removal_coefficient == Approx(1e-11).epsilon(1e-12));
    CHECK(fresh.trace[half - 1].removal_coefficient < 0.9e-11);
}

TEST_CASE("a pad loads to half its cut at its capacity and dries out after the working time") {
    Liquid liquid = steady_liquid();
    liquid.working_time_s = 100;
    Pad pad = foam_pad();
    pad.capacity_m = 10e-6;
    const double area = pi * pad.radius_m * pad.radius_m;
    Abrasive abrasive(liquid, pad, 1);
    abrasive.use(0, 10e-6 * area, 50);
    CHECK(abrasive.loading() == Approx(0.5));
    CHECK_FALSE(abrasive.dry());
    const double wet_drag = abrasive.friction(), wet_cut = abrasive.coefficient();
    abrasive.use(0, 0, 100); // 50 s past the working time, two decay times
    CHECK(abrasive.dry());
    CHECK(abrasive.coefficient() == Approx(wet_cut * std::exp(-2.0)));
    CHECK(abrasive.friction() == Approx(wet_drag * (1 + 0.5 * (1 - std::exp(-2.0)))));
    abrasive.recharge();
    CHECK_FALSE(abrasive.dry());
    CHECK(abrasive.loading() == 1);
    CHECK(abrasive.friction() == wet_drag);
}

} // namespace test_removal
