#include "sim/kernels.hpp"
#include "sim/clones.hpp"
#include "sim/motion.hpp"
#include <algorithm>
#include <cmath>

// The arrays a kernel is given never overlap; told so, the compiler vectorises without run-time checks.
#define SPARECOAT_NO_ALIAS _Pragma("GCC ivdep")

namespace sparecoat::kernels {
SPARECOAT_CLONES
void rim_coverage(std::size_t n, const float* x, const float* y, float rim, float radius, float* coverage,
                  float* lean) {
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const RimPassage<float> passage = rim_passage(std::sqrt(x[i] * x[i] + y[i] * y[i]), rim, radius);
        coverage[i] = passage.share;
        lean[i] = passage.lean;
    }
}

SPARECOAT_CLONES
void orbit_speed(std::size_t n, const float* x, const float* y, const float* coverage, const float* lean,
                 float turning, float spin, float vx, float vy, float* speed) {
    const float slip = std::abs(turning), sense = turning < 0 ? -1.0f : 1.0f;
    SPARECOAT_NO_ALIAS
    for (std::size_t i = 0; i < n; ++i) {
        const float bx = vx - spin * y[i], by = vy + spin * x[i];
        const float b = std::sqrt(bx * bx + by * by), r = std::sqrt(x[i] * x[i] + y[i] * y[i]);
        const float along = sense * (by * x[i] - bx * y[i]) / (r * b + 1e-12f);
        speed[i] = coverage[i] * mean_speed(slip, b) + lean[i] * speed_swing(slip, b) * along;
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
void instant_speed(std::size_t n, const float* x, const float* y, float cx, float cy, float radius, float blur,
                   float weight, float ox, float oy, float spin, float px, float py, float* speed) {
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
        a.squash[i] = w;
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
        a.removed[i] += rate * a.coefficient_um;
    }
}

} // namespace sparecoat::kernels
