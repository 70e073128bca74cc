#pragma once
#include "picture/heatmap.hpp"
#include "study/fit.hpp"
#include <string>

namespace sparecoat::cli {

/// A screen on a fit: what the measurements gave, what they could not, and how much each row has to do with
/// it.
std::string fit_text(const FitReport& report, FilmUnit unit);

} // namespace sparecoat::cli
