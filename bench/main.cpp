// The benchmarks, and two further uses of the same program that bench/run needs:
//   sparecoat_bench --write DIR       the section's arm path, setup and results for bench/reference.py
//   sparecoat_bench --large-panel     one run on a panel of 1.5 x 1.2 m at 1 mm; prints its peak memory
#include "decide/verdict.hpp"
#include "formats/path_csv.hpp"
#include "section_case.hpp"
#include "units/quantity.hpp"
#include <benchmark/benchmark.h>
#include <cstring>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sys/resource.h>
#include <tuple>

namespace sparecoat::bench {
namespace {

using Json = nlohmann::ordered_json;

Json as_json(const Setup& setup) {
    const auto& [machine, pad, liquid] = std::tie(setup.machine, setup.pad, setup.liquid);
    return {{"machine",
             {{"throw_m", machine.throw_m},
              {"bearing_torque_nm", machine.bearing_torque_nm},
              {"bearing_drag_nms", machine.bearing_drag_nms},
              {"spin_inertia_kgm2", machine.spin_inertia_kgm2}}},
            {"pad",
             {{"radius_m", pad.radius_m},
              {"thickness_m", pad.thickness_m},
              {"modulus_pa", pad.foam.modulus_pa},
              {"plateau_pa", pad.foam.plateau_pa},
              {"densification_strain", pad.foam.densification_strain},
              {"poisson", pad.foam.poisson},
              {"loss_factor", pad.loss_factor},
              {"friction", pad.friction},
              {"cut_factor", pad.cut_factor},
              {"capacity_m", pad.capacity_m},
              {"area_density_kg_m2", pad.area_density_kg_m2}}},
            {"liquid",
             {{"abrasive_start_m", liquid.abrasive_start_m},
              {"abrasive_end_m", liquid.abrasive_end_m},
              {"breakdown_j_m2", liquid.breakdown_j_m2},
              {"working_time_s", liquid.working_time_s},
              {"cut_per_size_pa_m", liquid.cut_per_size_pa_m},
              {"friction_factor", liquid.friction_factor}}},
            {"softness", setup.softness},
            {"hand_stiffness_nm_rad", setup.hand_stiffness_nm_rad}};
}

/// What bench/reference.py has to come to, one entry a grid.
Json result_on(double spacing_m) {
    const SectionCase c = section_case(spacing_m);
    const RunResult result = simulate(c.panel, c.setup, c.path);
    const Verdict verdict = judge(c.panel, result.fields, c.setup.pad.radius_m);
    return {{"spacing_m", spacing_m},
            {"removed_m3", verdict.removed_volume_m3},
            {"open_median_um", verdict.open.median_um},
            {"most_removed_um", verdict.most_removed_um},
            {"mean_spin_per_min", result.totals.spin_turns / result.totals.time_down_s * 60}};
}

void write_section(const std::filesystem::path& folder) {
    std::filesystem::create_directories(folder);
    const SectionCase c = section_case(2 * mm);
    write_path_csv(folder / "path.csv", c.path);
    Json json = as_json(c.setup);
    json["plate_m"] = {0.6, 0.6};
    for (const double spacing_m : {4 * mm, 2 * mm, 1 * mm}) json["results"].push_back(result_on(spacing_m));
    std::ofstream(folder / "section.json") << json.dump(1) << '\n';
}

void run_large_panel() {
    const Panel panel = plate(1.5, 1.2, 1 * mm);
    const Setup setup = random_orbital();
    const ArmPath path = lay_path(crossed_passes(panel, 0), setup.pad.radius_m, panel, 1);
    const RunResult result = simulate(panel, setup, path);
    const Verdict verdict = judge(panel, result.fields, setup.pad.radius_m);
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    const double seconds =
        static_cast<double>(usage.ru_utime.tv_sec) + 1e-6 * static_cast<double>(usage.ru_utime.tv_usec);
    fmt::print("{}\n", Json{{"cells", panel.grid.cells()},
                            {"simulated_s", path.duration_s()},
                            {"cpu_s", seconds},
                            {"open_median_um", verdict.open.median_um},
                            {"peak_memory_mb", static_cast<double>(usage.ru_maxrss) / 1024}}
                           .dump());
}

} // namespace
} // namespace sparecoat::bench

int main(int argc, char** argv) {
    if (argc == 3 && std::strcmp(argv[1], "--write") == 0) {
        sparecoat::bench::write_section(argv[2]);
        return 0;
    }
    if (argc == 2 && std::strcmp(argv[1], "--large-panel") == 0) {
        sparecoat::bench::run_large_panel();
        return 0;
    }
    benchmark::Initialize(&argc, argv);
    if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
    benchmark::RunSpecifiedBenchmarks();
    return 0;
}
