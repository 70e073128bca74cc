#pragma once
#include "decide/exposure.hpp"
#include "picture/heatmap.hpp"
#include "plan/plan.hpp"
#include <string>
#include <vector>

namespace sparecoat::cli {

/// Panel by panel what is done and why, in numbers, with what keeps it off and what stays at risk; then the
/// order of work, what it takes, and what a limit would trade.
std::string plan_text(const VehiclePlan& plan, const std::vector<std::string>& assumed, FilmUnit unit);

/// A day's hand-arm vibration, task by task.
std::string exposure_text(const std::vector<VibrationTask>& tasks);

} // namespace sparecoat::cli
