#pragma once
#include "job/fit.hpp"
#include "picture/heatmap.hpp"
#include <string>

namespace sparecoat {

/// A screen on a fit: what the measurements gave, what they could not, and how much each row has to do with it.
std::string fit_text(const FitReport& report, FilmUnit unit);

} // namespace sparecoat
