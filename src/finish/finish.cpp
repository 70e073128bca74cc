#include "finish/finish.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::finish {
namespace {

/// E[(d - r)³; d > r], µm³.
double cubed_depth_left(const MarkPopulation& marks, double worn_um) {
    const auto moment = [&](int k) { return depth_moment(marks, k, worn_um); };
    const double r = worn_um;
    return std::max(0.0, moment(3) - 3 * r * moment(2) + 3 * r * r * moment(1) - r * r * r * moment(0));
}

/// 1 - sin(p)/p, without cancellation where p is small.
double one_minus_sinc(double p) {
    constexpr double small = 0.05; // the next term of the series is p⁴/5040 of it there: under 1e-8
    return p < small ? p * p / 6 * (1 - p * p / 20) : 1 - std::sin(p) / p;
}

/// E[(d - r) (1 - sinc(p)); d > r] over the lognormal depths, µm, by the trapezoidal rule in ln d. Its kink
/// at d = r costs about step²/12 of the density there; with 193 nodes over six standard deviations that is
/// 1e-4.
double dulled_depth(const MarkPopulation& marks, double worn_um, double phase_per_um) {
    constexpr int intervals = 192;
    constexpr double far = 6, step = 2 * far / intervals;
    double sum = 0;
    for (int k = 0; k <= intervals; ++k) {
        const double z = -far + k * step;
        const double left_um = marks.depth_um * std::exp(marks.depth_sd * z) - worn_um;
        if (left_um > 0) sum += std::exp(-0.5 * z * z) * left_um * one_minus_sinc(phase_per_um * left_um);
    }
    return sum * step / std::sqrt(2 * pi);
}

} // namespace

double rms_um(std::span<const Marks> marks) {
    double variance = 0;
    for (const Marks& m : marks)
        if (made_of_lines(m.made.kind))
            variance +=
                m.share * m.made.covered() / (3 * m.made.depth_um) * cubed_depth_left(m.made, m.worn_um);
    return std::sqrt(variance);
}

double mirror_share(std::span<const Marks> marks, double angle_rad, double wavelength_m) {
    const double phase_per_um = 4 * pi * 1e-6 * std::cos(angle_rad) / wavelength_m;
    double lost = 0;
    for (const Marks& m : marks) {
        const double times = made_of_lines(m.made.kind) ? 2 : 1;
        lost += times * m.share * m.made.covered() / m.made.depth_um *
                dulled_depth(m.made, m.worn_um, phase_per_um);
    }
    return std::exp(-lost);
}

Finish finish_of(std::span<const Marks> marks, double index) {
    Finish finish;
    for (std::size_t k = 0; k < finish.gloss.size(); ++k)
        finish.gloss[k] = smooth_gloss(index, gloss_angles_rad[k]) * mirror_share(marks, gloss_angles_rad[k]);
    finish.haze = 100 * (1 - mirror_share(marks, gloss_angles_rad[0]));
    finish.rms_um = rms_um(marks);
    double covered = 0;
    for (const Marks& m : marks) covered += m.share * visible_share(m.made, m.worn_um);
    finish.marked = 1 - std::exp(-covered);
    return finish;
}

std::vector<Marks> marks_of(std::span<const MarkPopulation> populations) {
    std::vector<Marks> marks;
    for (const MarkPopulation& p : populations) marks.push_back({p});
    return marks;
}

} // namespace sparecoat::finish
