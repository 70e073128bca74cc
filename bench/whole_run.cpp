// Whole runs: how many times faster than the hand the simulation is, on one core. `times_real_time` is
// simulated seconds over seconds of processor time, set-up of the run included.
#include "section_case.hpp"
#include <benchmark/benchmark.h>

namespace sparecoat::bench {
namespace {

double mean_cells_per_step(const SectionCase& c) {
    Simulation simulation(c.panel, c.setup);
    double cells = 0;
    for (std::size_t k = 0; k + 1 < c.path.samples.size(); ++k) {
        simulation.step(c.path.samples[k], c.path.samples[k + 1]);
        cells += static_cast<double>(simulation.footprint().size);
    }
    return cells / static_cast<double>(c.path.samples.size() - 1);
}

void run_section(benchmark::State& state, const SectionCase& c) {
    double iterations = 0;
    for (auto _ : state) {
        const RunResult result = simulate(c.panel, c.setup, c.path);
        iterations = static_cast<double>(result.totals.balance_iterations);
        benchmark::DoNotOptimize(result.fields.removed_um.data());
    }
    const auto runs = static_cast<double>(state.iterations());
    const auto steps = static_cast<double>(c.path.samples.size() - 1);
    state.counters["times_real_time"] = {c.path.duration_s() * runs, benchmark::Counter::kIsRate};
    state.counters["steps_per_second"] = {steps * runs, benchmark::Counter::kIsRate};
    state.counters["cells_per_step"] = mean_cells_per_step(c);
    state.counters["balances_per_step"] = iterations / steps;
}

constexpr double per_tenth_mm = 1e-4;

/// Argument: grid spacing in tenths of a millimetre.
void flat_section(benchmark::State& state) {
    run_section(state, section_case(static_cast<double>(state.range(0)) * per_tenth_mm));
}
BENCHMARK(flat_section)->ArgName("grid_um/100")->Arg(40)->Arg(20)->Arg(10)->Unit(benchmark::kMillisecond);

/// The same on a crown of 2 m, where every step has to find its balance anew.
void crowned_section(benchmark::State& state) {
    run_section(state, section_case(static_cast<double>(state.range(0)) * per_tenth_mm, 2.0));
}
BENCHMARK(crowned_section)->ArgName("grid_um/100")->Arg(40)->Arg(20)->Arg(10)->Unit(benchmark::kMillisecond);

} // namespace
} // namespace sparecoat::bench
