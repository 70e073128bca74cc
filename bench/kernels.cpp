// The pieces of a step one by one, on the footprint of a pad in the middle of the section. `items_per_second`
// counts cells.
#include "sim/kernels.hpp"
#include "section_case.hpp"
#include "units/quantity.hpp"
#include <benchmark/benchmark.h>
#include <optional>

namespace sparecoat::bench {
namespace {

/// A step in the middle of the section, its footprint as the step left it.
struct Moment {
    SectionCase section;
    Simulation simulation;
    Footprint footprint;
    Point2 centre;
    FoamCurve<float> foam;
    float throw_radius, radius, spin;
    StepReport report;

    explicit Moment(double spacing_m)
        : section(section_case(spacing_m)), simulation(section.panel, section.setup),
          foam(section.setup.pad.foam) {
        ArmSample from, to;
        from.at = {0.3, 0.3}, to.at = {0.304, 0.3};
        to.t_s = 0.1;
        from.force_n = to.force_n = 45;
        from.speed_rad_s = to.speed_rad_s = 4500 * per_min;
        report = simulation.step(from, to);
        footprint = simulation.footprint();
        centre = report.at;
        throw_radius = static_cast<float>(section.setup.machine.throw_m / 2);
        radius = static_cast<float>(section.setup.pad.radius_m);
        spin = static_cast<float>(report.spin_rad_s);
    }
    double reach_m() const { return static_cast<double>(radius + throw_radius) + section.panel.grid.h_m / 2; }
    HandLoad hand_load() const { return {45, {}, section.setup.hand_stiffness_nm_rad}; }
    PlatePose pose() const { return {report.depth_m, report.tilt_rad}; }
};

/// Runs work(moment) at the grid of the benchmark's argument (tenths of a millimetre).
template <class Work> void on_footprint(benchmark::State& state, Work work) {
    Moment moment(static_cast<double>(state.range(0)) * 1e-4);
    for (auto _ : state) {
        work(moment);
        benchmark::ClobberMemory();
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(moment.footprint.size));
}

#define SPARECOAT_ON_BOTH_GRIDS(name)                                                                        \
    BENCHMARK(name)->ArgName("grid_um/100")->Arg(20)->Arg(10)->Unit(benchmark::kMicrosecond)

void gather(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        m.footprint.gather(m.section.panel, m.simulation.layer(), m.centre, m.reach_m());
    });
}
SPARECOAT_ON_BOTH_GRIDS(gather);

void face_coverage(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        Footprint& f = m.footprint;
        static const OrbitTable table =
            orbit_table(m.section.setup.pad, 1e-3, static_cast<double>(m.throw_radius), 0);
        kernels::face_coverage(f.size, f.x.data(), f.y.data(), table.share(), table.bias(), f.coverage.data(),
                               f.rim_bias.data());
    });
}
SPARECOAT_ON_BOTH_GRIDS(face_coverage);

void rim_table(benchmark::State& state) {
    const Moment m(2 * mm);
    for (auto _ : state)
        benchmark::DoNotOptimize(
            orbit_table(m.section.setup.pad, 1e-3, static_cast<double>(m.throw_radius), 0));
}
BENCHMARK(rim_table)->Unit(benchmark::kMicrosecond);

void level(benchmark::State& state) {
    on_footprint(state, [](Moment& m) { benchmark::DoNotOptimize(m.footprint.level()); });
}
SPARECOAT_ON_BOTH_GRIDS(level);

void pressure(benchmark::State& state) {
    on_footprint(state, [](Moment& m) { press(m.footprint, m.section.setup.pad, m.foam, m.pose()); });
}
SPARECOAT_ON_BOTH_GRIDS(pressure);

void moments(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        const Footprint& f = m.footprint;
        benchmark::DoNotOptimize(kernels::moments(f.size, f.x.data(), f.y.data(), f.coverage.data(),
                                                  f.pressure.data(), f.stiffness.data()));
    });
}
SPARECOAT_ON_BOTH_GRIDS(moments);

/// From a plate held 2 degrees off and clear of the panel.
void balance_from_afar(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        benchmark::DoNotOptimize(
            balance_plate(m.footprint, m.section.setup.pad, m.foam, m.hand_load(), {-1 * mm, {2 * deg, 0}}));
    });
}
SPARECOAT_ON_BOTH_GRIDS(balance_from_afar);

void ring_sums(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        benchmark::DoNotOptimize(
            ring_loads(m.footprint, m.section.setup.pad, static_cast<double>(m.throw_radius)));
    });
}
SPARECOAT_ON_BOTH_GRIDS(ring_sums);

void spin_step(benchmark::State& state) {
    const Moment m(2 * mm);
    const Setup& setup = m.section.setup;
    const RingLoads loads = ring_loads(m.footprint, setup.pad, static_cast<double>(m.throw_radius));
    const double inertia = spin_inertia(setup.machine, setup.pad);
    for (auto _ : state)
        benchmark::DoNotOptimize(next_spin(setup.machine, inertia, setup.pad.friction, loads, 4500 * per_min,
                                           0.9 * m.report.spin_rad_s, 0.1));
}
BENCHMARK(spin_step)->Unit(benchmark::kMicrosecond);

void orbit_speed(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        Footprint& f = m.footprint;
        const float turning = m.throw_radius * (static_cast<float>(4500 * per_min) - m.spin);
        kernels::orbit_speed(f.size, f.x.data(), f.y.data(), f.coverage.data(), f.rim_bias.data(), turning,
                             m.spin, 0.04f, 0.0f, f.speed.data());
    });
}
SPARECOAT_ON_BOTH_GRIDS(orbit_speed);

void deposit(benchmark::State& state) {
    on_footprint(state, [fields = Fields()](Moment& m) mutable {
        const Footprint& f = m.footprint;
        if (fields.removed_um.empty()) fields = m.simulation.fields();
        for (const Footprint::Row& row : f.rows)
            kernels::deposit(
                {row.count, f.coverage.data() + row.packed, f.pressure.data() + row.packed,
                 f.speed.data() + row.packed, f.strength.data() + row.packed, f.heat.data() + row.packed,
                 1e-6f, 1e-6f, fields.contact_time_s.data() + row.grid,
                 fields.pressure_time_pa_s.data() + row.grid, fields.friction_path_pa_m.data() + row.grid,
                 fields.removed_cold_um.data() + row.grid, fields.removed_um.data() + row.grid});
    });
}
SPARECOAT_ON_BOTH_GRIDS(deposit);

/// The film's temperature under the pad and what it does to the cut.
void soften(benchmark::State& state) {
    on_footprint(state, [](Moment& m) {
        Footprint& f = m.footprint;
        m.simulation.heat().lay_under(f);
        kernels::soften({f.size, f.pressure.data(), f.speed.data(), f.temperature_rise.data(),
                         f.film_resistance.data(), 0.3f, 20, 0.05f, f.heat.data()});
    });
}
SPARECOAT_ON_BOTH_GRIDS(soften);

void let_heat_in(benchmark::State& state) {
    on_footprint(state, [heat = std::optional<PanelHeat>()](Moment& m) mutable {
        if (!heat) heat = m.simulation.heat();
        heat->warm(m.footprint, 0.35, 1e-6);
    });
}
SPARECOAT_ON_BOTH_GRIDS(let_heat_in);

/// A step of 0.2 s of the whole plate, warm all over: two steps of the simulation at 40 mm/s.
void heat_step(benchmark::State& state) {
    on_footprint(state, [heat = std::optional<PanelHeat>()](Moment& m) mutable {
        if (!heat) {
            heat = m.simulation.heat();
            const std::vector<std::uint8_t>& inside = m.section.panel.inside;
            for (std::size_t k = 0; k < inside.size(); ++k)
                if (inside[k]) heat->warm(k, 1e5);
        }
        heat->pass(0.2);
    });
}
SPARECOAT_ON_BOTH_GRIDS(heat_step);

/// The whole plate's layer, solved once a run.
void layer_set_up(benchmark::State& state) {
    const SectionCase section = section_case(static_cast<double>(state.range(0)) * 1e-4);
    for (auto _ : state) {
        const LayerFields layer = layer_fields(section.panel, section.setup.pad);
        benchmark::DoNotOptimize(layer.edge_gain.data());
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(section.panel.grid.cells()));
}
BENCHMARK(layer_set_up)->ArgName("grid_um/100")->Arg(20)->Arg(10)->Unit(benchmark::kMillisecond);

} // namespace
} // namespace sparecoat::bench
