#pragma once
// A pad held in place over a straight edge: the published pressure under it, and what the program has there.
// For the checks in tests/published/test_edge_influence.cpp, which names the sources, and for the picture in
// docs/model.md.
#include "support/worlds.hpp"
#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

namespace sparecoat::test::held_pad {

constexpr double R = 0.075, force = 45, spacing = 0.001;
inline const double mean_pressure = force / (pi * R * R); // of the whole face
inline const double decay = 9.32e-3; // sqrt(G / k) of the test foam, see test_edge_and_crest

// ---- The published side ----

// x runs from the pad's centre towards the edge, which it meets at x = d = R (1 - 2 S).
inline double edge_at(double overhang) { return R * (1 - 2 * overhang); }

// What of the skin's reaction a layer that ends `out` past the edge has: the whole of it far out, none at no
// overhang.
inline double reaction(double out, double l) { return l > 0 && out > 0 ? std::tanh(out / l) : 0.0; }

// How much more than the linear pressure a skin at the edge lets through.
inline double skin_at(double distance_m, double l, double out) {
    return 1 + (l > 0 ? std::exp(-distance_m / l) * reaction(out, l) : 0.0);
}

struct Sums {
    double area, first, second;
}; // of 1, x, x^2 over part of the disc

// Over the disc's strip a < x < b, chord 2 sqrt(R^2 - x^2), in closed form with u = x / R:
//     1: R^2 [u r + asin u],   x: -(2/3) R^3 r^3,   x^2: (R^4 / 4) [asin u - u r (1 - 2 u^2)],
// r = sqrt(1 - u^2).
inline Sums strip(double a, double b) {
    const auto up_to = [](double x) {
        const double u = std::clamp(x / R, -1.0, 1.0), r = std::sqrt(1 - u * u);
        return Sums{R * R * (u * r + std::asin(u)), -2.0 / 3 * R * R * R * r * r * r,
                    R * R * R * R / 4 * (std::asin(u) - u * r * (1 - 2 * u * u))};
    };
    const Sums low = up_to(a), high = up_to(b);
    return {high.area - low.area, high.first - low.first, high.second - low.second};
}

// The same weighted with the skin, edge at x = d: midpoint sums over x = R sin t, in which the chord is
// smooth. What hangs over the edge falls along it, from R - d in the middle to none at sqrt(R² - d²).
inline Sums strip_with_skin(double a, double d, double l) {
    if (l == 0) return strip(a, d);
    constexpr int n = 2000;
    const double half = std::sqrt(std::max(0.0, R * R - d * d));
    double reacting = 0; // integral of the reaction's share along the edge
    for (int i = 0; i < n; ++i) {
        const double y = half * ((i + 0.5) / n * 2 - 1);
        reacting += reaction(std::sqrt(R * R - y * y) - d, l) * 2 * half / n;
    }
    const double from = std::asin(a / R), step = (std::asin(std::min(1.0, d / R)) - from) / n;
    Sums out{};
    for (int i = 0; i < n; ++i) {
        const double t = from + (i + 0.5) * step, x = R * std::sin(t);
        const double chord = 2 * R * std::cos(t) + std::exp(-(d - x) / l) * reacting;
        const double dA = chord * R * std::cos(t) * step;
        out.area += dA, out.first += x * dA, out.second += x * x * dA;
    }
    return out;
}

struct Line {
    double p0, p1; // Pa, Pa/m
    double at(double x) const { return p0 + p1 * x; }
};

// Wagner and Shannon's linear pressure over the disc with the cap beyond x = d cut off:
//     p0 A + p1 M1 = F,   p0 M1 + p1 M2 = 0   (a head free to level has no moment about its centre).
inline Line linear_pressure(double d, double l = 0) {
    const Sums s = strip_with_skin(-R, d, l);
    const double p0 = force / (s.area - s.first * s.first / s.second);
    return {p0, -p0 * s.first / s.second};
}

// The same where nothing pulls: the far side lets go at x = z, p = p1 (x - z) from there to the edge, and the
// moment now reads M2(z) - z M1(z) = 0.
inline Line lifting_pressure(double d, double l = 0) {
    const Line whole = linear_pressure(d, l);
    if (whole.at(-R) >= 0) return whole;
    double low = -R, high = d;
    for (int i = 0; i < 50; ++i) {
        const double z = 0.5 * (low + high);
        const Sums s = strip_with_skin(z, d, l);
        (s.second - z * s.first < 0 ? low : high) = z;
    }
    const Sums s = strip_with_skin(low, d, l);
    const double p1 = force / (s.first - low * s.area);
    return {-p1 * low, p1};
}

// ---- The program's side ----

enum class Tool { spinning, orbiting };
enum class Shear { off, on };
constexpr double shaft = 4500 * per_min, orbit = 7.5e-3;

// Removal rate at the rim (spinning) or anywhere (orbiting) under even pressure, um in the second simulated.
inline double open_rate_um(Tool tool) {
    return 1e-11 * mean_pressure * shaft * (tool == Tool::spinning ? R : orbit) * 1e6;
}

// What a pad held still for a second leaves across the edge.
struct Held {
    Tool tool;
    const Panel* panel;
    Fields fields;
    double d; // x of the edge

    // Both columns of cells next to the point; `aside` runs along the edge.
    template <class Of> double around(double x, double aside, Of of) const {
        const Grid& g = panel->grid;
        const int j = static_cast<int>(std::lround((d - x - g.y0_m) / g.h_m));
        const int i = static_cast<int>(std::floor((0.2 + aside - g.x0_m) / g.h_m));
        return 0.5 * (of(g.index(i, j)) + of(g.index(i + 1, j)));
    }
    double pressure(double x, double aside = 0) const { // mean while covered
        return around(x, aside, [&](std::size_t c) {
            const double time = static_cast<double>(fields.contact_time_s[c]);
            return time > 0 ? static_cast<double>(fields.pressure_time_pa_s[c]) / time : 0.0;
        });
    }
    double removed(double x) const { // over the open rate of the tool
        return around(x, 0, [&](std::size_t c) { return static_cast<double>(fields.removed_um[c]); }) /
               open_rate_um(tool);
    }
    double removed_at_edge() const { // mean of the outermost 4 mm
        double sum = 0;
        for (const double s : {0.5, 1.5, 2.5, 3.5}) sum += removed(d - s * spacing) / 4;
        return sum;
    }
};

inline Held hold(Tool tool, double overhang, Shear shear) {
    static const Panel panel = plate(0.4, 0.22, spacing); // the edge is the bottom one, at 0.2 m along it
    Machine machine;
    machine.kind = MachineKind::rotary;
    if (tool == Tool::orbiting) // without spin: a gear that does not turn
        machine.kind = MachineKind::gear_driven, machine.gear_ratio = 0, machine.throw_m = 2 * orbit;
    Pad pad = foam_pad(true);
    if (shear == Shear::off) pad.foam.poisson = 1e9; // enters G = E H / (6 (1 + nu)) and nothing else
    ArmPath path;
    for (const double t : {0.0, 1.0}) {
        ArmSample sample;
        sample.t_s = t, sample.at = {0.2, edge_at(overhang)};
        sample.force_n = force, sample.speed_rad_s = shaft;
        path.samples.push_back(sample);
    }
    const RunResult r = simulate(panel, setup_of(machine, pad, 0), path);
    if (r.totals.unbalanced_steps != 0) throw std::logic_error("a held pad that does not come to rest");
    return {tool, &panel, r.fields, edge_at(overhang)};
}

constexpr double overhangs[] = {0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35};

// Cell centres from the edge to the far rim.
inline std::vector<double> across(double d) {
    std::vector<double> out;
    for (double x = d - 0.5 * spacing; x > -R; x -= spacing) out.push_back(x);
    return out;
}

} // namespace sparecoat::test::held_pad
