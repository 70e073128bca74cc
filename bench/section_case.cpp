#include "section_case.hpp"
#include "panel/shape.hpp"
#include "units/quantity.hpp"

namespace sparecoat::bench {

namespace {
constexpr double plate_m = 0.6, section_side_m = 0.5;
constexpr std::uint64_t seed = 1; // the hand does not vary here
} // namespace

Panel plate(double width_m, double height_m, double spacing_m, double crown_radius_m) {
    Features shape;
    shape.outline = {{{0, 0}, 0, "bottom"},
                     {{width_m, 0}, 0, "right"},
                     {{width_m, height_m}, 0, "top"},
                     {{0, height_m}, 0, "left"}};
    shape.radius_u_m = shape.radius_v_m = crown_radius_m;
    Panel panel = build_panel({"plate", "steel", shape}, spacing_m);
    panel.substrate = {"steel", 0.7 * mm, 7850, 460, 50, false};
    Paint paint;
    paint.clear_m = 40e-6, paint.base_m = 15e-6, paint.primer_m = 30e-6, paint.ecoat_m = 20e-6;
    lay_film(panel, paint);
    return panel;
}

Setup random_orbital() {
    Setup setup;
    Machine& machine = setup.machine;
    machine.kind = MachineKind::free_spinning;
    machine.throw_m = 15 * mm;
    machine.bearing_torque_nm = 0.1;
    machine.bearing_drag_nms = 2e-5;
    machine.spin_inertia_kgm2 = 2.5e-4;

    Pad& pad = setup.pad;
    pad.radius_m = 75 * mm;
    pad.thickness_m = 25 * mm;
    pad.foam = {60e3, 5e3, 0.8, 0.2};
    pad.loss_factor = 0.25;
    pad.friction = 0.35;
    pad.cut_factor = 1;
    pad.capacity_m = 12e-6;
    pad.area_density_kg_m2 = 1.2;

    Liquid& liquid = setup.liquid;
    liquid.abrasive_start_m = 3e-6;
    liquid.abrasive_end_m = 1e-6;
    liquid.breakdown_j_m2 = 40e3;
    liquid.working_time_s = 600; // wet to the end, so that every step cuts
    liquid.cut_per_size_pa_m = 3.3e-6;

    setup.hand_stiffness_nm_rad = 30;
    // Heat is worked out, but changes no film: bench/reference.py knows none.
    setup.softening = Softening::none();
    return setup;
}

Technique crossed_passes(const Panel& panel, double section_m) {
    Technique technique;
    technique.pattern = Pattern::raster;
    technique.force_n = 45;
    technique.speed_rad_s = 4500 * per_min;
    technique.arm_speed_m_s = 40 * mm;
    technique.arm_acceleration_m_s2 = 1;
    technique.overlap = 0.5;
    technique.passes = 4;
    technique.crossed = true;
    if (section_m > 0) {
        const Grid& grid = panel.grid;
        technique.section_centre = 0.5 * (grid.centre(0) + grid.centre(grid.cells() - 1));
        technique.section_size = {section_m, section_m};
    }
    return technique;
}

SectionCase section_case(double spacing_m, double crown_radius_m) {
    SectionCase out{plate(plate_m, plate_m, spacing_m, crown_radius_m), random_orbital(), {}};
    out.path = lay_path(crossed_passes(out.panel, section_side_m), out.setup.pad.radius_m, out.panel, seed);
    return out;
}

} // namespace sparecoat::bench
