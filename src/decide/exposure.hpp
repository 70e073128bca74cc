#pragma once
#include "rooms.hpp"
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::decide {

// Hand-arm vibration over a day. With a_hv the vibration total value at the handle, as the machine's papers
// or a measurement give it, and T the time that the hand is on the running machine,
//     A(8) = sqrt(sum of a_hv² T / 8 h)                                   (ISO 5349-1:2001, equations 2 and
//     3)
// and each task's points are 100 (a_hv / 2.5 m/s²)² T / 8 h, which add up: 100 at the action value, 400 at
// the limit (the regulators' points; Directive 2002/44/EC, article 3: action 2.5 m/s², limit 5 m/s²). A
// hand-held estimate: the machine's state, pad balance and grip change a_hv; local rules and a measurement
// come first.

inline constexpr double exposure_action_m_s2 = 2.5, exposure_limit_m_s2 = 5.0;
inline constexpr double exposure_reference_s = 8 * 3600;

/// One task of a day.
struct VibrationTask {
    std::string what;
    double a_hv_m_s2 = 0;
    double time_s = 0;
};

/// Of one task alone. @throws std::invalid_argument for a value that is negative or no number, or over 24 h.
double daily_exposure_m_s2(const VibrationTask& task);
double exposure_points(const VibrationTask& task);

enum class ExposureStands { under_action, over_action, over_limit };
std::string_view name_of(ExposureStands stands);

/// A day's tasks together. Sums are exact; people round points to whole numbers.
struct DayExposure {
    double a8_m_s2 = 0, points = 0;
    ExposureStands stands = ExposureStands::under_action; ///< at a value counts as over it
    /// Seconds more of the last task that reach the action and the limit value; 0 where it is reached,
    /// infinite where the task does not vibrate.
    double to_action_s = 0, to_limit_s = 0;
};
/// @throws as above; for no task.
DayExposure day_exposure(std::span<const VibrationTask> tasks);

/// What a step asks of ears and lungs besides; in words, by what is done (common practice, no source).
std::vector<std::string_view> step_cautions(bool paper, bool rotary, bool plastic);

} // namespace sparecoat::decide
