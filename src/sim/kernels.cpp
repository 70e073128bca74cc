#include "sim/kernels.hpp"
#include "panel/panel.hpp"
#include "sim/clones.hpp"
#include "sim/motion.hpp"
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

// The arrays a kernel is given never overlap; told so, the compiler vectorises without run-time checks.
#define SPARECOAT_NO_ALIAS _Pragma("GCC ivdep")

namespace sparecoat::sim::kernels {
namespace {

/// Where in a table, and how far on to the next entry.
struct Place {
    int at;
    float on;
};
inline Place place_in(const RadialTable& table, float x, float y) {
    const float steps0 = std::sqrt(x * x + y * y) * table.per_m;
    const float steps = steps0 < table.last ? steps0 : table.last;
    const int at = static_cast<int>(steps);
    return {at, steps - static_cast<float>(at)};
}
/// tanh(x), x >= 0, by Lambert's continued fraction cut at x²/13: 1e-4 at the most. The library's own need
/// not be the same on every processor.
inline float hyperbolic_tangent(float x) {
    const float y = x * x;
    const float t = x * (135135.0f + y * (17325.0f + y * (378.0f + y))) /
                    (135135.0f + y * (62370.0f + y * (3150.0f + y * 28.0f)));
    return t < 1.0f ? t : 1.0f;
}
inline float read(const float* values, Place p) {
    return values[p.at] + p.on * (values[p.at + 1] - values[p.at]);
}

} // namespace

SPARECOAT_CLONES
void face_coverage(std::size_t n, const float* x, const float* y, const RadialTable& share,
                   const RadialTable& bias, float* coverage, float* rim_bias) {
    const RadialTable table = share;
    const float *shares = share.values, *biases = bias.values;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const Place place = place_in(table, x[i], y[i]);
        coverage[i] = read(shares, place);
        rim_bias[i] = read(biases, place);
    }
}

SPARECOAT_CLONES
void orbit_speed(std::size_t n, const float* x, const float* y, const float* coverage, const float* rim_bias,
                 float turning, float spin, float vx, float vy, float* speed) {
    const float slip = std::abs(turning), sense = turning < 0 ? -1.0f : 1.0f;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const float bx = vx - spin * y[i], by = vy + spin * x[i];
        const float b = std::sqrt(bx * bx + by * by), r = std::sqrt(x[i] * x[i] + y[i] * y[i]);
        const float along = sense * (by * x[i] - bx * y[i]) / (r * b + 1e-12f);
        speed[i] = coverage[i] * mean_speed(slip, b) + rim_bias[i] * speed_swing(slip, b) * along;
    }
}

SPARECOAT_CLONES
void instant_coverage(std::size_t n, const float* x, const float* y, float cx, float cy,
                      const RadialTable& bearing, float weight, float* coverage, float* rim_bias) {
    const RadialTable table = bearing;
    const float away = 1.0f / (std::sqrt(cx * cx + cy * cy) + 1e-12f);
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const float share = weight * read(table.values, place_in(table, x[i] - cx, y[i] - cy));
        const float r = std::sqrt(x[i] * x[i] + y[i] * y[i]) + 1e-12f;
        coverage[i] += share;
        rim_bias[i] += share * ((cx * x[i] + cy * y[i]) * away / r);
    }
}

SPARECOAT_CLONES
void instant_speed(std::size_t n, const float* x, const float* y, float cx, float cy,
                   const RadialTable& bearing, float weight, float ox, float oy, float spin, float px,
                   float py, float* speed) {
    const RadialTable table = bearing;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const float share = weight * read(table.values, place_in(table, x[i] - cx, y[i] - cy));
        const float ux = ox - spin * (y[i] - py), uy = oy + spin * (x[i] - px);
        speed[i] += share * std::sqrt(ux * ux + uy * uy);
    }
}

SPARECOAT_CLONES
void overhang(const OverhangArgs& args) {
    const OverhangArgs a = args;
    const float radius2 = a.radius * a.radius;
    constexpr float least = 1.001f;
    for (std::size_t i = 0; i < a.n; ++i) {
        if (!(a.gain[i] > 1.0f)) continue;
        const float nx = a.edge_x[i], ny = a.edge_y[i], s = a.edge_distance[i];
        // Most cells feel next to nothing of the edge, or lie where the pad never reaches past it.
        const float nearest = std::max(0.0f, std::abs(ny * a.x[i] - nx * a.y[i]) - a.orbit);
        const float inside = nx * a.x[i] + ny * a.y[i] + s - a.orbit;
        if (a.gain[i] < least || (inside > 0.0f && inside * inside > radius2 - nearest * nearest)) {
            a.gain[i] = 1.0f;
            continue;
        }
        float sum = 0, covered = 0;
        for (std::size_t k = 0; k < a.phases; ++k) {
            const float x = a.x[i] - a.phase_x[k], y = a.y[i] - a.phase_y[k];
            const float beside = ny * x - nx * y, before = nx * x + ny * y; // cell from the pad's centre
            const float chord2 = radius2 - beside * beside;
            if (!(x * x + y * y < radius2)) continue;
            covered += 1.0f;
            const float out = (std::sqrt(chord2) - (before + s)) * a.inverse_decay;
            if (out > 0.0f) sum += hyperbolic_tangent(out);
        }
        a.gain[i] = 1.0f + (covered > 0.0f ? (a.gain[i] - 1.0f) * (sum / covered) : 0.0f);
    }
}

SPARECOAT_CLONES
void pressure(const FoamCurve<float>& foam, const PressureArgs& args) {
    const FoamCurve<float> curve = foam; // copies: writes through the arrays cannot touch them
    const PressureArgs a = args;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < a.n; ++i) {
        const float w0 = (a.height[i] + a.depth + a.tilt_x * a.x[i] + a.tilt_y * a.y[i]) * a.on[i];
        const float w = w0 > 0.0f ? w0 : 0.0f;
        float sigma, slope;
        curve.at(w * a.inverse_thickness, sigma, slope);
        const float held0 = w * a.engage;
        const float held = held0 < 1.0f ? held0 : 1.0f;
        const float pull = held0 < 1.0f ? a.engage : 0.0f;
        // With no compression both terms are 0, so this also is what "not touching" gives.
        const float p = sigma * a.gain[i] - a.shear[i] * held;
        const float k = slope * a.inverse_thickness * a.gain[i] - a.shear[i] * pull;
        const float touching = p > 0.0f ? 1.0f : 0.0f;
        a.pressure[i] = p * touching;
        a.stiffness[i] = k * touching;
        a.compression[i] = w;
    }
}

SPARECOAT_CLONES
void soften(const SoftenArgs& args) {
    const SoftenArgs a = args;
    constexpr auto most_doublings =
        static_cast<float>(std::bit_width(static_cast<unsigned>(Softening::most)) - 1);
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < a.n; ++i) {
        const float film =
            a.temperature_rise[i] + a.film_resistance[i] * (a.flux_share * (a.pressure[i] * a.speed[i]));
        const float x0 = (film - a.from) * a.inverse_doubling;
        const float x1 = x0 > 0.0f ? x0 : 0.0f;
        const float x = x1 < most_doublings ? x1 : most_doublings;
        // Taylor's series of exp(u) for a quarter of the exponent, which is at most ln(2) / 2, then squared
        // twice.
        const float u = x * static_cast<float>(0.25 * 0.69314718055994530942);
        const float high = u * u * u * (1.0f / 6 + u * (1.0f / 24 + u * (1.0f / 120 + u * (1.0f / 720))));
        const float quarter = 1.0f + (u + (0.5f * (u * u) + high));
        const float half = quarter * quarter;
        a.heat[i] = half * half;
    }
}

namespace {

/// log2 of x > 0: the exponent, and for the rest, m in 1..2, the series of the inverse hyperbolic tangent of
/// (m - sqrt 2) / (m + sqrt 2), which is at most 0.172.
inline float log2_of(float x) {
    const auto bits = std::bit_cast<std::int32_t>(x);
    const auto whole = static_cast<float>((bits >> 23) - 127);
    const float m = std::bit_cast<float>((bits & 0x7fffff) | 0x3f800000);
    constexpr float root = 1.41421356f, scale = 2.88539008f; // sqrt 2, 2 / ln 2
    const float t = (m - root) / (m + root), t2 = t * t;
    return whole + 0.5f + scale * t * (1.0f + t2 * (1.0f / 3 + t2 * (0.2f + t2 * (1.0f / 7))));
}

/// 2^y for |y| < 100: Taylor's series of exp for what is over the nearest whole number, at most ln(2) / 2.
inline float exp2_of(float y) {
    const float shifted = y + 128.5f; // > 0, so that cutting off rounds
    const int whole = static_cast<int>(shifted) - 128;
    const float u = (y - static_cast<float>(whole)) * 0.69314718f;
    const float e =
        1.0f +
        u * (1.0f + u * (0.5f + u * (1.0f / 6 + u * (1.0f / 24 + u * (1.0f / 120 + u * (1.0f / 720))))));
    return e * std::bit_cast<float>((whole + 127) << 23);
}

} // namespace

SPARECOAT_CLONES
void strength(const StrengthArgs& args) {
    const StrengthArgs a = args;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < a.n; ++i) {
        const float p = a.pressure[i] * a.inverse_pressure;
        const float v = a.speed[i] / (a.coverage[i] + 1e-12f) * a.inverse_speed;
        const float power = a.pressure_power * log2_of(p > 1e-6f ? p : 1e-6f) +
                            a.speed_power * log2_of(v > 1e-6f ? v : 1e-6f);
        a.strength[i] = p > 0.0f ? exp2_of(power) : 1.0f;
    }
}

SPARECOAT_CLONES
void deposit(const DepositArgs& args) {
    const DepositArgs a = args;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < a.n; ++i) {
        const float rate = a.pressure[i] * a.speed[i] * a.dt;
        const float touching = a.pressure[i] > 0.0f ? a.dt : 0.0f;
        a.time[i] += a.coverage[i] * touching;
        a.pressure_time[i] += a.coverage[i] * a.pressure[i] * a.dt;
        a.friction_path[i] += rate;
        const float cold = rate * a.strength[i] * a.coefficient_um;
        a.removed_cold[i] += cold;
        a.removed[i] += cold * a.heat[i];
    }
}

} // namespace sparecoat::sim::kernels
