#pragma once
#include "job/risk.hpp"
#include "picture/heatmap.hpp"
#include <string>

namespace sparecoat {

/// One screen on what may burn through: the spots, why, and the single change that helps most.
std::string risk_text(const RiskReport& report, FilmUnit unit);

} // namespace sparecoat
