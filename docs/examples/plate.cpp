// A polish over a steel plate, with no file, no preset and no window: what the middle and an edge of it lose.
// README.md beside this file goes through it. SI units inside; `mm` and `per_min` are factors to them.
#include "panel/shape.hpp"
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include <cstdio>

using namespace sparecoat::sim;

int main() {
    Features shape; // 600 x 500 mm, its corners rounded by 5 mm, from the lower left one on
    shape.outline = {{{0, 0}, 5 * mm, "bottom"},
                     {{600 * mm, 0}, 5 * mm, "right"},
                     {{600 * mm, 500 * mm}, 5 * mm, "top"},
                     {{0, 500 * mm}, 5 * mm, "left"}};
    Panel panel = build_panel({.name = "plate", .substrate = "steel", .shape = shape}, 2 * mm);
    panel.substrate = {.name = "steel",
                       .thickness_m = 0.7 * mm,
                       .density_kg_m3 = 7850,
                       .heat_capacity_j_kgk = 460,
                       .conductivity_w_mk = 50};
    lay_film(panel, {.name = "typical",
                     .clear_m = 40e-6,
                     .base_m = 15e-6,
                     .primer_m = 30e-6,
                     .ecoat_m = 20e-6,
                     .thinning = 0.3,
                     .thinning_length_m = 6 * mm});

    const Setup setup{.machine = {.name = "orbital, 15 mm throw",
                                  .kind = MachineKind::free_spinning,
                                  .throw_m = 15 * mm,
                                  .bearing_torque_nm = 0.1,
                                  .bearing_drag_nms = 1e-5,
                                  .spin_inertia_kgm2 = 2.5e-4},
                      .pad = {.name = "medium foam, 150 mm",
                              .material = "medium foam",
                              .radius_m = 75 * mm,
                              .thickness_m = 25 * mm,
                              .plate_radius_m = 70 * mm,
                              .rim = {RimKind::rounded, 3 * mm, 3 * mm},
                              .foam = {60e3, 5e3, 0.8, 0.2},
                              .loss_factor = 0.45,
                              .friction = 0.35,
                              .capacity_m = 60e-6,
                              .area_density_kg_m2 = 1.2},
                      .liquid = {.name = "polish",
                                 .abrasive_start_m = 1.6e-6,
                                 .abrasive_end_m = 0.8e-6,
                                 .breakdown_j_m2 = 400e3,
                                 .working_time_s = 330,
                                 .cut_per_size_pa_m = 2.55e-6,
                                 .water_kg_m2 = 0.225}};
    Technique technique; // four passes of a raster, every other one across the one before, by a steady hand
    technique.force_n = 45, technique.speed_rad_s = 4500 * per_min, technique.arm_speed_m_s = 40 * mm;
    const ArmPath path = lay_path(technique, setup.pad.radius_m, panel, 1);

    const RunResult run = simulate(panel, setup, path);
    for (const Point2 at : {Point2{300 * mm, 250 * mm}, Point2{599 * mm, 250 * mm}}) {
        const std::size_t cell = nearest_cell(panel.grid, at);
        std::printf("at %3.0f, %3.0f mm: %.3f of %.1f um of clear coat lost\n", at.x / mm, at.y / mm,
                    static_cast<double>(run.fields.removed_um[cell]),
                    static_cast<double>(panel.clear_um[cell]));
    }
}
