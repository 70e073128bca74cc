#pragma once
#include "picture/heatmap.hpp"
#include "study/risk.hpp"
#include <string>

namespace sparecoat::cli {

/// One screen on what may burn through: the spots, why, and the single change that helps most.
std::string risk_text(const RiskReport& report, FilmUnit unit);

} // namespace sparecoat::cli
