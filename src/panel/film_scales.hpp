#pragma once
#include "panel/panel.hpp"

namespace sparecoat::panel {

// Apart from film_process.hpp, whose linear algebra is slow to compile: the gauge report, which many include,
// needs these alone.

/// Standard deviations of the logarithm (so, near enough, relative ones) and the length scale.
struct FilmScales {
    double offset = 0.10, edge = thinning_sd, split = 0.08;
    double length_m = 0.25, signal = 0.05, texture = 0.015;
};

} // namespace sparecoat::panel
