#include "finish/gloss.hpp"
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

namespace sparecoat::finish {

Reflectance fresnel(double index, double angle_rad) {
    if (!(index >= 1) || !(angle_rad >= 0) || !(angle_rad <= pi / 2))
        throw std::invalid_argument(fmt::format("no reflectance for index {} at {} rad", index, angle_rad));
    const double in = std::cos(angle_rad), sine = std::sin(angle_rad);
    const double refracted = std::sqrt(index * index - sine * sine); // index x cosine inside, by Snell's law
    const double across = (in - refracted) / (in + refracted);
    const double along = (index * index * in - refracted) / (index * index * in + refracted);
    return {across * across, along * along};
}

double smooth_gloss(double index, double angle_rad) {
    return 100 * fresnel(index, angle_rad).mean() / fresnel(gloss_standard_index, angle_rad).mean();
}

double mirror_share(double rms_m, double angle_rad, double wavelength_m) {
    const double phase = 4 * pi * rms_m * std::cos(angle_rad) / wavelength_m;
    return std::exp(-phase * phase);
}

} // namespace sparecoat::finish
