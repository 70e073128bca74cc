#pragma once
// The inner loops. Each is a flat loop over arrays, compiled for the baseline processor and once more for
// AVX2 where the compiler can; contraction to fused multiply-add is off and every sum runs over eight
// fixed lanes, so both give the same bits.
#include "sim/foam.hpp"
#include <array>
#include <cstddef>

namespace sparecoat::sim::kernels {

inline constexpr std::size_t lanes = 8;

/// A quantity by distance from a centre, interpolated linearly: at r = 0, 1 / per_m, ... last / per_m, and as
/// at the end beyond.
struct RadialTable {
    const float* values;
    float per_m, last;
};

/// coverage[i], rim_bias[i] at |(x, y)| from two tables with the same steps.
void face_coverage(std::size_t n, const float* x, const float* y, const RadialTable& share,
                   const RadialTable& bias, float* coverage, float* rim_bias);

/// Mean over the orbit of |v| while covered. The fixed vector is b = spin z x (x, y) + (vx, vy); with
/// `turning` = e (w_o - W) the turning one is along z x (pad centre), so |v| = M + c1 cos(angle) + ..., the
/// angle from b, and while the rim leans towards the point, about t = z x (x, y) / r,
///     speed[i] = coverage x M + rim_bias x c1 (b . t) / |b|.
/// Harmonics above the first are left out: at the rim only, and there under 3 % for |b| < 0.4 turning.
void orbit_speed(std::size_t n, const float* x, const float* y, const float* coverage, const float* rim_bias,
                 float turning, float spin, float vx, float vy, float* speed);

/// One instant of a pad whose centre is at (cx, cy) from the mean one, its face's bearing by distance from
/// the centre: adds weight x bearing to coverage, and to rim_bias that times the cosine of the angle between
/// the directions of pad and cell.
void instant_coverage(std::size_t n, const float* x, const float* y, float cx, float cy,
                      const RadialTable& bearing, float weight, float* coverage, float* rim_bias);

/// The same instant: adds weight x bearing x |v|, v = (ox, oy) + spin z x (x - px, y - py) + (vx, vy),
/// (px, py) the arm's place at the instant.
void instant_speed(std::size_t n, const float* x, const float* y, float cx, float cy,
                   const RadialTable& bearing, float weight, float ox, float oy, float spin, float px,
                   float py, float* speed);

/// How much of the edge's load there is where the pad runs over an edge, see overhang in contact.hpp:
/// gain = 1 + (gain - 1) x sum over phases of chi tanh(o / l) / sum of chi.
struct OverhangArgs {
    std::size_t n;
    const float *x, *y, *edge_distance, *edge_x, *edge_y; ///< (edge_x, edge_y): unit vector towards the edge
    const float *phase_x, *phase_y;                       ///< of the pad's centre on its orbit, m
    std::size_t phases;
    float radius, orbit, inverse_decay;
    float* gain;
};
void overhang(const OverhangArgs& a);

struct PressureArgs {
    std::size_t n;
    const float *x, *y, *height, *on, *gain, *shear;
    float depth, tilt_x, tilt_y; ///< pose
    float inverse_thickness;     ///< 1/m
    float engage;                ///< 1/m: the shear layer pulls in full once pressed on by 1 / engage
    float *pressure, *stiffness, *compression;
};
void pressure(const FoamCurve<float>& foam, const PressureArgs& a);

/// Sums over coverage x pressure: [p, p x, p y], and over coverage x stiffness: [k, kx, ky, kxx, kxy, kyy].
struct Moments {
    std::array<double, 3> load{};
    std::array<double, 6> stiffness{};
};
Moments moments(std::size_t n, const float* x, const float* y, const float* coverage, const float* pressure,
                const float* stiffness);

/// Sum of a[i] b[i], and of all four.
double dot(std::size_t n, const float* a, const float* b);
double dot(std::size_t n, const float* a, const float* b, const float* c, const float* d);

/// out[i] = how much warmer than the pad a cell's film is where they touch, 0 elsewhere. @return the sum of
/// coverage x out.
double over_pad(std::size_t n, const float* coverage, const float* pressure, const float* temperature_rise,
                float pad_rise, float* out);

/// How the face lies: sums of coverage over all cells, over those on the panel and over those that carry
/// load, and the largest compression under the face.
struct Census {
    double face = 0, over = 0, bearing = 0;
    float deepest = 0;
};
Census census(std::size_t n, const float* coverage, const float* on, const float* pressure,
              const float* compression);

/// How many times more the film cuts for its temperature:
///     heat[i] = 2^x,   x = (rise + film_resistance x flux_share x pressure x speed - from) / doubling,
/// within 1 and Softening::most; rises over the air in K. Exactly 1 up to `from`; 5e-7 off elsewhere.
struct SoftenArgs {
    std::size_t n;
    const float *pressure, *speed, *temperature_rise, *film_resistance;
    float flux_share, from, inverse_doubling;
    float* heat;
};
void soften(const SoftenArgs& a);

/// What removal with exponents other than Preston's is over Preston's own p |v|:
///     strength[i] = (p / usual pressure)^(a - 1) (|v| / usual speed)^(b - 1),
/// |v| the orbit's mean while covered; 1 where nothing touches. Within 1e-6.
struct StrengthArgs {
    std::size_t n;
    const float *coverage, *pressure, *speed;
    float pressure_power, speed_power; ///< a - 1, b - 1
    float inverse_pressure, inverse_speed;
    float* strength;
};
void strength(const StrengthArgs& a);

/// One row's share of a step: adds to the five accumulators.
struct DepositArgs {
    std::size_t n;
    const float *coverage, *pressure, *speed, *strength, *heat;
    float dt, coefficient_um; ///< k x 1e6 x dt is applied to pressure x speed
    float *time, *pressure_time, *friction_path, *removed_cold, *removed;
};
void deposit(const DepositArgs& a);

} // namespace sparecoat::sim::kernels
