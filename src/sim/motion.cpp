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

double swing_slope(double turning, double fixed) {
    // c1 = smaller g(h), h = (smaller / larger)²; g from speed_swing.
    const double larger = std::max(turning, fixed), ratio = std::min(turning, fixed) / (larger + 1e-12);
    const double h = ratio * ratio;
    constexpr double last = 0.875 - 1.0 / 64 - 8 / (3 * pi);
    const double g = 1 - h * (0.125 + h * (1.0 / 64 + h * last));
    const double h_dg = -h * (0.125 + h * (2.0 / 64 + h * 3 * last));
    return turning > fixed ? g + 2 * h_dg : -2 * ratio * h_dg;
}

double second_swing_slope(double turning, double fixed) {
    const double larger = std::max(turning, fixed), ratio = std::min(turning, fixed) / (larger + 1e-12);
    const double h = ratio * ratio;
    constexpr double last = 1 - 0.25 - 5.0 / 128 - 32 / (15 * pi);
    const double g = 1 - h * (0.25 + h * (5.0 / 128 + h * last));
    const double h_dg = -h * (0.25 + h * (10.0 / 128 + h * 3 * last));
    return turning > fixed ? -0.5 * ratio * (g + h_dg) : 0.25 * h * (g + 2 * h_dg);
}

double spin_friction_moment(const RingLoads& loads, double friction, double orbit_radius_m,
                            double speed_rad_s, double spin_rad_s) {
    const double turning = orbit_radius_m * std::abs(speed_rad_s - spin_rad_s);
    const double e = spin_rad_s > speed_rad_s ? -orbit_radius_m : orbit_radius_m; // - d turning / dW
    const double sense = spin_rad_s < 0 ? -1 : 1;
    double moment = 0;
    for (std::size_t k = 0; k < loads.load_n.size(); ++k) {
        const double r = loads.radius_m[k], fixed = std::abs(spin_rad_s) * r;
        moment +=
            loads.load_n[k] *
                (sense * r * mean_direction(turning, fixed) - e * mean_direction(fixed, turning)) +
            loads.bias_n[k] * (r * swing_slope(turning, fixed) - sense * e * swing_slope(fixed, turning)) +
            loads.second_n[k] *
                (sense * r * second_swing_slope(turning, fixed) - e * second_swing_slope(fixed, turning));
    }
    return friction * moment;
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

    const double orbit = 0.5 * machine.throw_m;
    const auto held_back = [&](double spin) { // by all but the foam's loss
        return spin_friction_moment(loads, friction, orbit, speed_rad_s, spin) - machine.bearing_torque_nm -
               machine.bearing_drag_nms * (speed_rad_s - spin) + inertia_kgm2 / dt_s * (spin - spin_rad_s);
    };
    // What is held back only grows with the spin, so the step's equation has one root; the foam's loss, which
    // opposes either sense, makes a rest of its own at 0.
    const double at_rest = held_back(0), loss = loads.hysteresis_nm;
    if (std::abs(at_rest) <= loss) return 0;
    const bool forwards = at_rest < 0;
    const auto excess = [&](double spin) { return -held_back(spin) - (forwards ? loss : -loss); };
    double low = forwards ? 0 : -speed_rad_s, high = forwards ? speed_rad_s : 0;
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
