#include "sim/kernels.hpp"
#include "panel/panel.hpp"
#include "sim/clones.hpp"
#include "sim/motion.hpp"
#include <algorithm>
#include <bit>
#include <cmath>

// The arrays a kernel is given never overlap; told so, the compiler vectorises without run-time checks.
#define SPARECOAT_NO_ALIAS _Pragma("GCC ivdep")

namespace sparecoat::sim::kernels {
SPARECOAT_CLONES
void rim_coverage(std::size_t n, const float* x, const float* y, float rim, float radius, float* coverage,
                  float* rim_bias) {
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const RimPassage<float> passage = rim_passage(std::sqrt(x[i] * x[i] + y[i] * y[i]), rim, radius);
        coverage[i] = passage.share;
        rim_bias[i] = passage.rim_bias;
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
void instant_coverage(std::size_t n, const float* x, const float* y, float cx, float cy, float radius,
                      float blur, float weight, float* coverage) {
    const float inverse = 1.0f / blur;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const float dx = x[i] - cx, dy = y[i] - cy;
        const float share = 0.5f + (radius - std::sqrt(dx * dx + dy * dy)) * inverse;
        coverage[i] += weight * std::min(std::max(share, 0.0f), 1.0f);
    }
}

SPARECOAT_CLONES
void instant_speed(std::size_t n, const float* x, const float* y, float cx, float cy, float radius,
                   float blur, float weight, float ox, float oy, float spin, float px, float py,
                   float* speed) {
    const float inverse = 1.0f / blur;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const float dx = x[i] - cx, dy = y[i] - cy;
        const float share = 0.5f + (radius - std::sqrt(dx * dx + dy * dy)) * inverse;
        const float ux = ox - spin * (y[i] - py), uy = oy + spin * (x[i] - px);
        speed[i] += weight * std::min(std::max(share, 0.0f), 1.0f) * std::sqrt(ux * ux + uy * uy);
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
        const float cold = rate * a.coefficient_um;
        a.removed_cold[i] += cold;
        a.removed[i] += cold * a.heat[i];
    }
}

} // namespace sparecoat::sim::kernels
