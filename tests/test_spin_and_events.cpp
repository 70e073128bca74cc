// What a pad does on a panel: spin, stall, lifting, tipping, bottoming, drying.
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

namespace test_spin_and_events {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

const StraightRun middle{{0.15, 0.2}, {0.35, 0.2}};

double spin_per_min(const Panel& panel, const Setup& setup, const StraightRun& r) {
    return simulate(panel, setup, straight(r)).trace.back().spin_rad_s / per_min;
}

const Event* find(const std::vector<Event>& events, EventKind kind) {
    const auto it =
        std::find_if(events.begin(), events.end(), [&](const Event& e) { return e.kind == kind; });
    return it == events.end() ? nullptr : &*it;
}

} // namespace

TEST_CASE("a larger throw spins the pad faster") {
    // As seen in the trade (common practice, no source), and by the balance: sliding speed e w_o grows.
    const Panel panel = plate(0.5, 0.4, 0.002);
    double last = 0;
    for (const double throw_mm : {8.0, 12.0, 15.0, 21.0}) {
        const double spin = spin_per_min(panel, setup_of(orbital(throw_mm * mm), foam_pad()), middle);
        CHECK(spin > last);
        last = spin;
    }
    CHECK(last > 150);
    CHECK(last < 250);
}

TEST_CASE("a lighter hand spins the pad faster") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    StraightRun light = middle, heavy = middle;
    light.force_n = 20, heavy.force_n = 80;
    const Setup setup = setup_of(orbital(), foam_pad());
    CHECK(spin_per_min(panel, setup, light) > 1.5 * spin_per_min(panel, setup, heavy));
}

TEST_CASE("on open flat ground a run's pad spins where its bearing meets the friction of a uniform disc") {
    // Friction over the pad's own face, point by point, as Farkas et al. 2003 have it: a face that slides at
    // v and spins at W moves at v + W r across the radius, and its torque is mu p r times that over the whole
    // speed. The rings of the run are laid on the panel, where the orbit widens the face.
    const Panel panel = plate(0.5, 0.4, 0.002);
    for (const double throw_mm : {8.0, 15.0, 21.0}) {
        const double spin =
            spin_per_min(panel, setup_of(orbital(throw_mm * mm), foam_pad()), middle) * per_min;
        const double sliding = 0.5 * throw_mm * mm * 4500 * per_min;
        double torque = 0;
        constexpr int n = 400;
        for (int k = 0; k < n; ++k)
            for (int turn = 0; turn < n; ++turn) {
                const double r = 0.075 * (k + 0.5) / n, angle = 2 * pi * (turn + 0.5) / n;
                const double across = spin * r + sliding * std::cos(angle), along = sliding * std::sin(angle);
                const double load_n = 45 * 2 * (k + 0.5) / n / n / n; // of even pressure, on this piece
                torque += 0.35 * load_n * r * across / std::hypot(across, along);
            }
        CAPTURE(throw_mm);
        CHECK(torque == Approx(0.1).epsilon(0.012)); // cells of 2 mm beside an orbit of 4 mm: 1.1 % seen
    }
}

TEST_CASE("a pad held tilted stalls, and the run says where") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    StraightRun tilted = middle;
    tilted.tilt_rad = {0, 7 * deg};
    const Setup locked = setup_of(orbital(8 * mm), foam_pad());
    const RunResult level = simulate(panel, locked, straight(middle)),
                    stalled = simulate(panel, locked, straight(tilted));
    CHECK(find(level.events, EventKind::stalled_pad) == nullptr);
    const Event* stall = find(stalled.events, EventKind::stalled_pad);
    REQUIRE(stall);
    CHECK(stall->to_s - stall->from_s > 4);
    CHECK(stall->value < 60);
    CHECK(stalled.totals.stalled_s > 4);
    CHECK(stalled.trace.back().spin_rad_s < level.trace.back().spin_rad_s);
}

TEST_CASE("a pad that bridges a curve loses spin to its foam, on a flat or a ball it does not") {
    Features tube = rectangle(0.5, 0.4);
    tube.radius_v_m = 0.4; // curved one way only: the face swings as the pad turns
    Features ball = rectangle(0.5, 0.4);
    ball.radius_u_m = ball.radius_v_m = 1.5; // every piece of the face keeps its load as it turns
    // Share of the spin that the foam's loss takes: the same pad without loss for comparison.
    const auto taken = [](const Panel& panel) {
        Pad lossless = foam_pad();
        lossless.loss_factor = 0;
        return 1 - spin_per_min(panel, setup_of(orbital(), foam_pad()), middle) /
                       spin_per_min(panel, setup_of(orbital(), lossless), middle);
    };
    CHECK(taken(plate(0.5, 0.4, 0.002)) == Approx(0).margin(1e-3));
    CHECK(taken(panel_of(ball, 0.002)) ==
          Approx(0).margin(1e-2));              // cells of a ring are not all at one radius
    CHECK(taken(panel_of(tube, 0.002)) > 0.05); // of a spin that friction drives as well
}

TEST_CASE("geared and rotary pads turn as their shaft says whatever the load") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    Machine geared = orbital(8 * mm);
    geared.kind = MachineKind::gear_driven, geared.gear_ratio = -0.09;
    StraightRun heavy = middle;
    heavy.force_n = 100;
    CHECK(spin_per_min(panel, setup_of(geared, foam_pad()), heavy) == Approx(-0.09 * 4500));
    Machine rotary;
    heavy.speed_rad_s = 1200 * per_min;
    CHECK(spin_per_min(panel, setup_of(rotary, foam_pad()), heavy) == Approx(1200));
    // 0.2 m at 40 mm/s: 5 s of 20 turns.
    CHECK(simulate(panel, setup_of(rotary, foam_pad()), straight(heavy)).totals.spin_turns == Approx(100));
}

TEST_CASE("a pad takes its time to answer a heavier hand, the longer the more inertia it has") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    StraightRun light = middle, heavy = middle;
    light.force_n = 25, heavy.force_n = 75;
    ArmPath path = straight(light);
    const std::size_t half = path.samples.size() / 2;
    for (std::size_t k = half; k < path.samples.size(); ++k) path.samples[k].force_n = heavy.force_n;
    const auto share_left_after_3_steps = [&](double inertia_kgm2) {
        Machine machine = orbital();
        machine.spin_inertia_kgm2 = inertia_kgm2;
        const RunResult r = simulate(panel, setup_of(machine, foam_pad()), path);
        const double before = r.trace[half - 2].spin_rad_s, after = r.trace.back().spin_rad_s;
        return (r.trace[half + 2].spin_rad_s - after) / (before - after);
    };
    CHECK(share_left_after_3_steps(1e-6) < 0.05); // the pad's own 6e-5 kg m2: 10 ms, steps of 100 ms
    CHECK(share_left_after_3_steps(1e-2) > 0.5);  // about 1 s
}

TEST_CASE("turning against the orbit does the same work as turning with it, in other places") {
    // About the pad's own axis the face slides at w_o z x c + W z x r', whose mean length depends on |W|
    // alone: the total is the same. On the panel, though, the orbit's slip e |w_o - W| grows against it, so
    // the middle of the track gets more and its sides less.
    const Panel panel = plate(0.5, 0.4, 0.002);
    Machine with = orbital(8 * mm), against = orbital(8 * mm);
    with.kind = against.kind = MachineKind::gear_driven;
    with.gear_ratio = 0.09, against.gear_ratio = -0.09;
    const RunResult w = simulate(panel, setup_of(with, foam_pad()), straight(middle));
    const RunResult a = simulate(panel, setup_of(against, foam_pad()), straight(middle));
    CHECK(a.totals.friction_work_j == Approx(w.totals.friction_work_j).epsilon(0.01));
    const auto at = [&](const RunResult& r, double y) {
        return r.fields.removed_um[cell_at(panel, {0.25, y})];
    };
    CHECK(at(a, 0.2) > 1.05f * at(w, 0.2));
    CHECK(at(a, 0.273) < at(w, 0.273));
}

TEST_CASE("a pad run past the edge with a soft hand tips, with a firm one it does not") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    const StraightRun off{{0.15, -0.035}, {0.35, -0.035}};
    const RunResult soft = simulate(panel, setup_of(orbital(), foam_pad(), 4), straight(off));
    const RunResult firm = simulate(panel, setup_of(orbital(), foam_pad(), INFINITY), straight(off));
    CHECK(find(soft.events, EventKind::pad_tipping));
    CHECK_FALSE(find(firm.events, EventKind::pad_tipping));
}

TEST_CASE("a tilt that was asked for is not tipping, nor is one that the open panel forces") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    StraightRun leaning{{0.15, -0.01}, {0.35, -0.01}};
    leaning.tilt_rad = {0, 4 * deg};
    const RunResult asked = simulate(panel, setup_of(orbital(), foam_pad(), INFINITY), straight(leaning));
    CHECK_FALSE(find(asked.events, EventKind::pad_tipping));

    // A ridge beside the centre throws a soft hand off level with all of the face over the panel.
    Features ridge = rectangle(0.5, 0.4);
    ridge.body_lines = {{"ridge", {{0.0, 0.24}, {0.5, 0.24}}, 12e-3, 6e-3, 0.02, 0.0}};
    const RunResult r =
        simulate(panel_of(ridge, 0.002), setup_of(orbital(), foam_pad(), 0), straight(middle));
    double most_rad = 0;
    for (const StepReport& step : r.trace) most_rad = std::max(most_rad, norm(step.tilt_rad));
    REQUIRE(most_rad > tipping_rad);
    CHECK_FALSE(find(r.events, EventKind::pad_tipping));
}

TEST_CASE("a pad that touches with part of its face, or not at all, is reported as lifting") {
    Features ball = rectangle(0.5, 0.4);
    ball.radius_u_m = ball.radius_v_m = 0.4; // touched by a third of the face under a light hand
    StraightRun light = middle;
    light.force_n = 10;
    const RunResult on_ball =
        simulate(panel_of(ball, 0.002), setup_of(orbital(), foam_pad()), straight(light));
    const Event* part = find(on_ball.events, EventKind::pad_lifting);
    REQUIRE(part);
    CHECK(part->value < lifting_share);
    // All of the face is over the panel.
    CHECK(part->value == Approx(on_ball.trace.back().contact_share).epsilon(0.1));

    const Panel flat = plate(0.5, 0.4, 0.002);
    CHECK_FALSE(find(simulate(flat, setup_of(orbital(), foam_pad()), straight(light)).events,
                     EventKind::pad_lifting));
    const RunResult off = simulate(flat, setup_of(orbital(), foam_pad()), straight({{0.3, 0.2}, {0.8, 0.2}}));
    const Event* beyond = find(off.events, EventKind::pad_lifting);
    REQUIRE(beyond);
    CHECK(beyond->value == 0);
    CHECK(beyond->to_s == Approx(12.5));
}

TEST_CASE("an event shorter than 0.3 s is not reported, and one with a short gap is one") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    Pad soft = foam_pad();
    soft.foam = {20e3, 1.5e3, 0.7, 0.2};
    // Force of 250 N bottoms the pad (see below); steps are 0.1 s.
    const auto bottomed = [&](std::initializer_list<std::pair<int, int>> heavy_steps) {
        ArmPath path = straight(middle);
        for (const auto& [first, last] : heavy_steps)
            for (int k = first; k < last; ++k) path.samples[static_cast<std::size_t>(k)].force_n = 250;
        std::vector<Event> found;
        for (const Event& e : simulate(panel, setup_of(orbital(), soft), path).events)
            if (e.kind == EventKind::bottomed_foam) found.push_back(e);
        return found;
    };
    // A step takes the mean of its ends' forces, and half way to 250 N bottoms this pad too.
    CHECK(bottomed({{10, 11}}).empty());               // 0.2 s
    CHECK(bottomed({{10, 13}}).size() == 1);           // 0.4 s
    CHECK(bottomed({{10, 20}, {24, 34}}).size() == 1); // 0.3 s apart
    CHECK(bottomed({{10, 20}, {28, 38}}).size() == 2); // 0.7 s apart
}

TEST_CASE("a soft pad under a heavy hand bottoms out") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    Pad soft = foam_pad();
    soft.foam = {20e3, 1.5e3, 0.7, 0.2};
    StraightRun heavy = middle;
    heavy.force_n = 250;
    const Event* event = nullptr;
    const RunResult r = simulate(panel, setup_of(orbital(), soft), straight(heavy));
    event = find(r.events, EventKind::bottomed_foam);
    REQUIRE(event);
    CHECK(event->value > 0.85 * 0.7);
    CHECK_FALSE(
        find(simulate(panel, setup_of(orbital(), soft), straight(middle)).events, EventKind::bottomed_foam));
}

TEST_CASE("a dry pad is reported from the end of the working time") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    Setup setup = setup_of(orbital(), foam_pad());
    setup.liquid.working_time_s = 3;
    const RunResult r = simulate(panel, setup, straight(middle)); // 5 s
    const Event* dry = find(r.events, EventKind::dry_pad);
    REQUIRE(dry);
    CHECK(dry->from_s == Approx(3.0).margin(0.11)); // one step
}

TEST_CASE("a lifted pad takes nothing off") {
    const Panel panel = plate(0.5, 0.4, 0.002);
    ArmPath path = straight(middle);
    for (ArmSample& s : path.samples) s.down = false;
    const RunResult r = simulate(panel, setup_of(orbital(), foam_pad()), path);
    CHECK(
        std::all_of(r.fields.removed_um.begin(), r.fields.removed_um.end(), [](float v) { return v == 0; }));
    CHECK(r.totals.friction_work_j == 0);
    CHECK(r.totals.time_s == Approx(5));
}

} // namespace test_spin_and_events
