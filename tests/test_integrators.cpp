// The two integrators against each other, grids against each other, and what a run may depend on.
#include "library/presets.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

namespace test_integrators {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

struct Scene {
    std::string name;
    Features shape;
    StraightRun run;
};

std::vector<Scene> scenes() {
    Scene flat{"flat", rectangle(0.4, 0.3), {{0.15, 0.15}, {0.25, 0.15}}};
    Scene crowned{"crowned", rectangle(0.4, 0.3), {{0.15, 0.15}, {0.25, 0.15}}};
    crowned.shape.radius_u_m = 1.2, crowned.shape.radius_v_m = 0.9;
    Scene edge{"edge", rectangle(0.4, 0.3), {{0.15, 0.03}, {0.25, 0.03}}};
    Scene line{"body line", rectangle(0.4, 0.3), {{0.15, 0.15}, {0.25, 0.17}}};
    line.shape.body_lines = {{"waist line", {{0.0, 0.17}, {0.4, 0.17}}, 3e-3, 8e-3, 0.04, 0.0}};
    return {flat, crowned, edge, line};
}

RunResult run_scene(const Scene& scene, double grid_m, Integrator integrator) {
    const Panel panel = panel_of(scene.shape, grid_m);
    Setup setup = setup_of(orbital(), foam_pad(), 30);
    setup.integrator = integrator;
    return simulate(panel, setup, straight(scene.run));
}

// For grid convergence: a geared head, whose spin is not summed from a sample of the cells.
RunResult run_geared(const Scene& scene, const Panel& panel) {
    Machine geared = orbital();
    geared.kind = MachineKind::gear_driven, geared.gear_ratio = 0.03;
    return simulate(panel, setup_of(geared, foam_pad(), 30), straight(scene.run));
}

// Points that the rim does not pass along or stop over: the rim's arc is drawn at the run's ends and its
// sides; both integrators smooth it there, each in its own way.
bool away_from_rim(const StraightRun& r, Point2 p) {
    constexpr double radius = 0.075, near = 0.0075 + 0.006;
    const Point2 along = (1 / norm(r.to - r.from)) * (r.to - r.from), d = p - r.from;
    const double side = std::abs(d.x * along.y - d.y * along.x);
    return std::abs(side - radius) > near && std::abs(norm(p - r.from) - radius) > near &&
           std::abs(norm(p - r.to) - radius) > near;
}

} // namespace

TEST_CASE("averaged and resolved agree within 2 % in total and 5 % at every cell away from the rim") {
    for (const Scene& scene : scenes()) {
        CAPTURE(scene.name);
        const Panel panel = panel_of(scene.shape, 0.002);
        const RunResult averaged = run_scene(scene, 0.002, Integrator::averaged);
        const RunResult resolved = run_scene(scene, 0.002, Integrator::resolved);
        const double total_a = total_removed_m3(panel, averaged.fields),
                     total_r = total_removed_m3(panel, resolved.fields);
        // 2 % is the promise; 0.03 % is what the four scenes show, and a wrong term would show as more than
        // 0.1.
        CHECK(total_a == Approx(total_r).epsilon(1e-3));

        float most = 0;
        for (const float r : resolved.fields.removed_um) most = std::max(most, r);
        double worst = 0;
        int compared = 0;
        for (std::size_t i = 0; i < panel.inside.size(); ++i) {
            const float r = resolved.fields.removed_um[i];
            if (r < 0.1f * most || !away_from_rim(scene.run, panel.grid.centre(i))) continue;
            worst = std::max(worst, std::abs(static_cast<double>(averaged.fields.removed_um[i] / r) - 1));
            ++compared;
        }
        CAPTURE(total_a / total_r - 1, compared);
        CHECK(compared > 1500);
        CHECK(worst < 0.03); // 5 % is the promise; 0.7 to 1.9 % seen
    }
}

TEST_CASE("averaged and resolved agree on the preset panels, at 1 mm and with every machine", "[long]") {
    const Library library(source_at("presets"));
    struct Stretch {
        const char* panel;
        Point2 from, to;
    };
    const Stretch stretches[] = {
        {"front-wing", {0.30, 0.45}, {0.45, 0.38}}, // out over the wheel arch
        {"rear-door", {0.40, 0.52}, {0.45, 0.64}},  // past the handle, over the waist line
        {"roof-skin", {0.60, 0.10}, {0.75, 0.03}},  // on to a rolled edge
        {"bumper-corner", {0.25, 0.25}, {0.35, 0.35}}};
    for (const Stretch& stretch : stretches)
        for (const char* machine : {"da-8", "da-21", "gear-8", "rotary-1000"}) {
            CAPTURE(stretch.panel, machine);
            const PanelSpec spec = library.panel(stretch.panel);
            Panel panel = build_panel(spec, 0.001);
            panel.substrate = library.substrate(spec.substrate);
            lay_film(panel, even_film());
            StraightRun r{stretch.from, stretch.to};
            Setup setup = setup_of(library.machine(machine), foam_pad(), 30);
            if (setup.machine.kind == MachineKind::rotary) r.speed_rad_s = 1500 * per_min;
            const double averaged = total_removed_m3(panel, simulate(panel, setup, straight(r)).fields);
            setup.integrator = Integrator::resolved;
            CHECK(averaged ==
                  Approx(total_removed_m3(panel, simulate(panel, setup, straight(r)).fields)).epsilon(0.02));
        }
}

TEST_CASE("averaged and resolved see the same spin") {
    for (const Scene& scene : scenes()) {
        CAPTURE(scene.name);
        const double a = run_scene(scene, 0.002, Integrator::averaged).trace.back().spin_rad_s;
        const double r = run_scene(scene, 0.002, Integrator::resolved).trace.back().spin_rad_s;
        CHECK(a == Approx(r).epsilon(6e-3)); // 0.43 % seen: what drives and brakes at the rim nearly cancel
    }
}

TEST_CASE(
    "refining the grid from 4 over 2 to 1 mm changes the total by no more than the balance's tolerance") {
    // The panels' edges lie on cell faces at all three spacings. The balance carries the force to 2e-4, and
    // that is what is left to see in totals: no order can be read off them (the next test shows one).
    for (const Scene& scene : scenes()) {
        CAPTURE(scene.name);
        std::vector<double> total;
        for (const double h : {0.004, 0.002, 0.001}) {
            const Panel panel = panel_of(scene.shape, h);
            total.push_back(total_removed_m3(panel, run_geared(scene, panel).fields));
        }
        const double d42 = std::abs(total[0] - total[1]) / total[2],
                     d21 = std::abs(total[1] - total[2]) / total[2];
        CAPTURE(d42, d21);
        CHECK(d42 < 2e-4); // 0.9e-4 seen
        CHECK(d21 < 2e-4); // 0.6e-4 seen
    }
}

TEST_CASE("the loss along an edge converges at better than first order in the grid") {
    // Mean over the outermost 4 mm of the edge, in the middle of an overhanging run: whole cells at each
    // spacing. Order from successive differences, log2(|d42| / |d21|); seen: 1.06.
    const Scene edge = scenes()[2];
    std::vector<double> loss;
    for (const double h : {0.004, 0.002, 0.001}) {
        const Panel panel = panel_of(edge.shape, h);
        const RunResult r = run_geared(edge, panel);
        double sum = 0;
        int n = 0;
        for (std::size_t i = 0; i < panel.inside.size(); ++i) {
            const Point2 c = panel.grid.centre(i);
            if (panel.inside[i] && c.y < 0.004 && std::abs(c.x - 0.2) < 0.004)
                sum += static_cast<double>(r.fields.removed_um[i]), ++n;
        }
        loss.push_back(sum / n);
    }
    const double d42 = std::abs(loss[0] - loss[1]), d21 = std::abs(loss[1] - loss[2]),
                 order = std::log2(d42 / d21);
    CAPTURE(loss[0], loss[1], loss[2], order);
    CHECK(d21 / loss[2] < 1e-3);
    CHECK(order > 1);
}

TEST_CASE("a snapshot of a simulation goes on to the same bytes") {
    // And so does what it was taken of: the two are stepped in turns, so that anything they shared would
    // show. A liquid that wears, loads and dries and a hand that tilts over an edge leave no state out.
    const Panel panel = plate(0.4, 0.3, 0.002);
    StraightRun slanting{{0.05, 0.0}, {0.35, 0.25}};
    slanting.tilt_rad = {0.02, -0.03};
    const ArmPath path = straight(slanting);
    Setup setup = setup_of(orbital(), foam_pad(), 10);
    setup.liquid.abrasive_start_m = 4e-6, setup.liquid.breakdown_j_m2 = 30e3, setup.liquid.working_time_s = 6;
    setup.pad.capacity_m = 1e-6;
    setup.softening = {21, 10}; // soft enough for the panel's heat to count
    const RunResult whole = simulate(panel, setup, path);
    REQUIRE_FALSE(whole.events.empty());
    Simulation first(panel, setup);
    std::size_t k = 0;
    for (; k < path.samples.size() / 2; ++k) first.step(path.samples[k], path.samples[k + 1]);
    Simulation second = first;
    second.step(path.samples[k], path.samples[k + 1]); // one step ahead, so that the two differ
    for (; k + 1 < path.samples.size(); ++k) {
        first.step(path.samples[k], path.samples[k + 1]);
        if (k + 2 < path.samples.size()) second.step(path.samples[k + 1], path.samples[k + 2]);
    }
    for (const Simulation* each : {&first, &second}) {
        CHECK(each->fields().removed_um == whole.fields.removed_um);
        CHECK(each->fields().friction_path_pa_m == whole.fields.friction_path_pa_m);
        CHECK(each->fields().pressure_time_pa_s == whole.fields.pressure_time_pa_s);
        CHECK(each->fields().contact_time_s == whole.fields.contact_time_s);
        CHECK(each->fields().removed_cold_um == whole.fields.removed_cold_um);
        CHECK(each->fields().removed_cold_um != whole.fields.removed_um);
        CHECK(each->heat().film_map_c() == whole.heat->film_map_c());
        CHECK(each->heat().peak_map_c() == whole.heat->peak_map_c());
        CHECK(each->heat().energy().lost_j == whole.heat->energy().lost_j);
        CHECK(each->totals().friction_work_j == whole.totals.friction_work_j);
        const std::vector<Event> events = each->events();
        REQUIRE(events.size() == whole.events.size());
        for (std::size_t e = 0; e < events.size(); ++e)
            CHECK((events[e].kind == whole.events[e].kind && events[e].from_s == whole.events[e].from_s &&
                   events[e].to_s == whole.events[e].to_s && events[e].value == whole.events[e].value));
    }
}

TEST_CASE("the resolved orbit's rim covers a point for its share of the orbit") {
    // A pad held in one place: contact time over time at each cell against the closed form of `averaged`.
    // 32 instants with the rim smoothed over one cell: a 32nd of an orbit at the steepest, less where the
    // cell smears several instants together.
    const Panel panel = plate(0.3, 0.3, 0.001);
    Machine geared = orbital();
    geared.kind = MachineKind::gear_driven, geared.gear_ratio = 0.03;
    Setup setup = setup_of(geared, foam_pad());
    setup.integrator = Integrator::resolved;
    ArmSample from, to;
    from.at = to.at = {0.15, 0.15};
    from.force_n = to.force_n = 45, from.speed_rad_s = to.speed_rad_s = 4500 * per_min, to.t_s = 0.1;
    Simulation simulation(panel, setup);
    simulation.step(from, to);
    double worst = 0;
    for (std::size_t i = 0; i < panel.inside.size(); ++i) {
        const double share = rim_passage(norm(panel.grid.centre(i) - from.at), 0.0075, 0.075).share;
        const double found = static_cast<double>(simulation.fields().contact_time_s[i]) / to.t_s;
        worst = std::max(worst, std::abs(found - share));
    }
    CAPTURE(worst);
    CHECK(worst < 0.05); // 0.040 seen
}

TEST_CASE("the balance converges at every step of an overhanging, tilted run") {
    const Panel panel = plate(0.4, 0.3, 0.002);
    for (const double hand : {0.0, 5.0, 30.0, static_cast<double>(INFINITY)}) {
        CAPTURE(hand);
        StraightRun r{{-0.05, 0.0}, {0.45, 0.02}};
        r.tilt_rad = {0.03, -0.05};
        const RunResult result = simulate(panel, setup_of(orbital(), foam_pad(), hand), straight(r));
        CHECK(result.totals.unbalanced_steps == 0);
        for (const float v : result.fields.removed_um) REQUIRE(std::isfinite(v));
    }
}

} // namespace test_integrators
