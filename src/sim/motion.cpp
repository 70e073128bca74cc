#include "sim/motion.hpp"
#include "units/quantity.hpp"
#include <algorithm>

namespace sparecoat::sim {

double mean_direction(double turning, double fixed) {
    if (fixed <= 0) return 0;
    // M = larger f(h), h = (smaller / larger)²; f from mean_speed.
    const double ratio = turning > fixed ? fixed / turning : turning / fixed;
    const double h = ratio * ratio;
    const double root = std::sqrt(4 - 3 * h), sum = 10 + root;
    constexpr double last = 4 / pi - 14.0 / 11.0;
    const double h2 = h * h, h4 = h2 * h2, h11 = h4 * h4 * h2 * h;
    const double f = 1 + 3 * h / sum + last * h11 * h;
    const double df = 3 / sum + 4.5 * h / (root * sum * sum) + 12 * last * h11;
    return turning > fixed ? 2 * ratio * df : f - 2 * h * df;
}

double spin_friction_torque(const RingLoads& loads, double friction, double sliding_m_s, double spin_rad_s) {
    double torque = 0;
    for (std::size_t k = 0; k < loads.load_n.size(); ++k)
        torque +=
            loads.load_n[k] * loads.radius_m[k] * mean_direction(sliding_m_s, spin_rad_s * loads.radius_m[k]);
    return friction * torque;
}

double spin_inertia(const Machine& machine, const Pad& pad) {
    const double r2 = pad.radius_m * pad.radius_m;
    const double pad_mass = pad.area_density_kg_m2 * pi * r2;
    return machine.spin_inertia_kgm2 + 0.5 * pad_mass * r2;
}

double next_spin(const Machine& machine, double inertia_kgm2, double friction, const RingLoads& loads,
                 double speed_rad_s, double spin_rad_s, double dt_s) {
    if (machine.kind == MachineKind::rotary) return speed_rad_s;
    if (machine.kind == MachineKind::gear_driven) return machine.gear_ratio * speed_rad_s;

    const double sliding = 0.5 * machine.throw_m * speed_rad_s;
    // The excess torque falls as the spin rises, so the step's equation has one root; the foam's loss and
    // the friction only ever hold back, so the root lies between standing still and turning with the orbit.
    const auto excess = [&](double spin) {
        return machine.bearing_torque_nm + machine.bearing_drag_nms * (speed_rad_s - spin) -
               spin_friction_torque(loads, friction, sliding, spin) - loads.hysteresis_nm -
               inertia_kgm2 / dt_s * (spin - spin_rad_s);
    };
    double low = 0, high = std::max(speed_rad_s, 0.0);
    double f_low = excess(low), f_high = excess(high);
    if (f_low <= 0) return low;
    if (f_high >= 0) return high;
    // Bracketed regula falsi, Illinois variant (Dowell and Jarratt, BIT 11, 1971).
    double spin = std::clamp(spin_rad_s, low, high);
    int side = 0;
    for (int i = 0; i < 60; ++i) {
        if (i > 0) spin = (low * f_high - high * f_low) / (f_high - f_low);
        const double f = excess(spin);
        if (f > 0) {
            low = spin, f_low = f;
            if (side == +1) f_high *= 0.5;
            side = +1;
        } else {
            high = spin, f_high = f;
            if (side == -1) f_low *= 0.5;
            side = -1;
        }
        if (high - low < 1e-9 * speed_rad_s || std::abs(f) < 1e-9) break;
    }
    return spin;
}

} // namespace sparecoat::sim
