#pragma once
// Small worlds for tests: plates, a foam pad, an orbital, straight runs.
#include "panel/shape.hpp"
#include "sim/kernels.hpp"
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <vector>

namespace sparecoat::test {
using namespace cli;

/// Rectangle with sides "bottom", "right", "top", "left", its lower left corner at the origin.
inline Features rectangle(double width_m, double height_m) {
    Features shape;
    shape.outline = {{{0, 0}, 0, "bottom"},
                     {{width_m, 0}, 0, "right"},
                     {{width_m, height_m}, 0, "top"},
                     {{0, height_m}, 0, "left"}};
    return shape;
}

inline Paint even_film() {
    Paint paint;
    paint.name = "even film";
    paint.clear_m = 40e-6, paint.base_m = 15e-6, paint.primer_m = 30e-6, paint.ecoat_m = 20e-6;
    paint.thinning = 0, paint.thinning_length_m = 6e-3;
    return paint;
}

inline Substrate steel() { return {"steel", 0.7e-3, 7850, 460, 50, false}; }
inline Substrate plastic() { return {"plastic", 3e-3, 1000, 1750, 0.22, true}; }

inline Panel panel_of(Features shape, double spacing_m, const Paint& paint = even_film(),
                      const Substrate& substrate = steel()) {
    Panel panel = build_panel({"test panel", substrate.name, std::move(shape)}, spacing_m);
    panel.substrate = substrate;
    lay_film(panel, paint);
    return panel;
}

inline Panel plate(double width_m, double height_m, double spacing_m) {
    return panel_of(rectangle(width_m, height_m), spacing_m);
}

/// 150 mm pad of 25 mm foam, 60 kPa; a plateau far above any pressure here makes it linear.
inline Pad foam_pad(bool linear = false) {
    Pad pad;
    pad.name = "test foam";
    pad.radius_m = 0.075, pad.thickness_m = 0.025;
    pad.foam = {60e3, linear ? 1e8 : 5e3, linear ? 1e3 : 0.8, 0.2};
    pad.loss_factor = 0.25, pad.friction = 0.35, pad.cut_factor = 1, pad.capacity_m = 0;
    pad.area_density_kg_m2 = 1.2;
    return pad;
}

/// Covers the cells under a pad on an orbit; a rim is smoothed over `blur_m` at the least.
inline void cover(Footprint& f, const Pad& pad, double orbit_m, double blur_m) {
    const OrbitTable table = orbit_table(pad, 1e-3, orbit_m, blur_m);
    kernels::face_coverage(f.size, f.x.data(), f.y.data(), table.share(), table.bias(), f.coverage.data(),
                           f.rim_bias.data());
}

inline Machine orbital(double throw_m = 15 * mm) {
    Machine machine;
    machine.kind = MachineKind::free_spinning;
    machine.throw_m = throw_m;
    machine.bearing_torque_nm = 0.1, machine.bearing_drag_nms = 0, machine.spin_inertia_kgm2 = 2.5e-4;
    return machine;
}

/// Cuts the same from first to last: no breakdown, no drying, so that k is one number.
inline Liquid steady_liquid(double coefficient_per_pa = 1e-11) {
    Liquid liquid;
    liquid.abrasive_start_m = liquid.abrasive_end_m = 1e-6;
    liquid.cut_per_size_pa_m = coefficient_per_pa / 1e-6;
    return liquid;
}

inline Setup setup_of(Machine machine, Pad pad, double hand_stiffness_nm_rad = INFINITY) {
    Setup setup{std::move(machine),    std::move(pad),      steady_liquid(), 1,
                hand_stiffness_nm_rad, Integrator::averaged};
    setup.softening = Softening::none(); // the closed forms know no paint that softens
    return setup;
}

/// A straight run at constant speed, force and orbit speed.
struct StraightRun {
    Point2 from, to;
    double arm_speed_m_s = 0.04, force_n = 45, speed_rad_s = 4500 * per_min, step_m = 0.004;
    Point2 tilt_rad{};
};
inline ArmPath straight(const StraightRun& r) {
    const double length = norm(r.to - r.from);
    const int steps = std::max(1, static_cast<int>(std::ceil(length / r.step_m - 1e-9)));
    ArmPath path;
    for (int k = 0; k <= steps; ++k) {
        ArmSample sample;
        const double share = static_cast<double>(k) / steps;
        sample.t_s = share * length / r.arm_speed_m_s;
        sample.at = (1 - share) * r.from + share * r.to;
        sample.force_n = r.force_n, sample.speed_rad_s = r.speed_rad_s, sample.tilt_rad = r.tilt_rad;
        path.samples.push_back(sample);
    }
    return path;
}

inline double total_removed_m3(const Panel& panel, const Fields& fields) {
    double sum = 0;
    for (const float r : fields.removed_um) sum += static_cast<double>(r) * 1e-6;
    return sum * panel.grid.h_m * panel.grid.h_m;
}

inline std::size_t cell_at(const Panel& panel, Point2 p) {
    const Grid& g = panel.grid;
    return g.index(static_cast<int>(std::lround((p.x - g.x0_m) / g.h_m)),
                   static_cast<int>(std::lround((p.y - g.y0_m) / g.h_m)));
}

} // namespace sparecoat::test
