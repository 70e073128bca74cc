#pragma once
#include "decide/exposure.hpp"
#include "plan/plan.hpp"
#include <map>
#include <string>
#include <vector>

namespace sparecoat::plan {

/// What is known of a day's vibration besides its plan.
struct AskedExposure {
    std::map<std::string, double> a_hv; ///< m/s² at the handle, by a machine's reference
    std::vector<VibrationTask> others;  ///< of the same day
};

/// The plan's machines with the values that were given for them, then the day's other tasks.
std::vector<VibrationTask> day_of(const VehiclePlan& plan, const AskedExposure& asked);

/// More than this is no day's work: each day is then to be added up by itself.
inline constexpr double day_s = 24 * 3600;
double time_of(const std::vector<VibrationTask>& tasks);

} // namespace sparecoat::plan
