#include "decide/exposure.hpp"
#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

constexpr double day_s = 24 * 3600;
constexpr double points_at_action = 100;

void hold_to_sense(const VibrationTask& task) {
    const bool magnitude = std::isfinite(task.a_hv_m_s2) && task.a_hv_m_s2 >= 0;
    const bool time = task.time_s >= 0 && task.time_s <= day_s;
    if (!magnitude || !time) throw std::invalid_argument("a vibration of 0 or more, and a time of 0 to 24 h");
}

/// Points per second.
double points_rate(double a_hv_m_s2) {
    const double ratio = a_hv_m_s2 / exposure_action_m_s2;
    return points_at_action * ratio * ratio / exposure_reference_s;
}

double points_at(double a8_m_s2) { return points_rate(a8_m_s2) * exposure_reference_s; }

double seconds_until(double goal_points, double points, const VibrationTask& task) {
    if (points >= goal_points) return 0;
    const double rate = points_rate(task.a_hv_m_s2);
    return rate > 0 ? (goal_points - points) / rate : std::numeric_limits<double>::infinity();
}

} // namespace

double daily_exposure_m_s2(const VibrationTask& task) {
    hold_to_sense(task);
    return task.a_hv_m_s2 * std::sqrt(task.time_s / exposure_reference_s);
}

double exposure_points(const VibrationTask& task) {
    hold_to_sense(task);
    return points_rate(task.a_hv_m_s2) * task.time_s;
}

std::string_view name_of(ExposureStands stands) {
    switch (stands) {
    case ExposureStands::under_action: return "under the action value";
    case ExposureStands::over_action: return "at or over the action value";
    case ExposureStands::over_limit: return "at or over the limit value";
    }
    return "";
}

DayExposure day_exposure(std::span<const VibrationTask> tasks) {
    if (tasks.empty()) throw std::invalid_argument("at least one task");
    DayExposure day;
    double time_s = 0;
    for (const VibrationTask& task : tasks) {
        day.points += exposure_points(task);
        time_s += task.time_s;
    }
    if (time_s > day_s) throw std::invalid_argument("tasks of 24 h together at the most");
    day.a8_m_s2 = exposure_action_m_s2 * std::sqrt(day.points / points_at_action);
    const double action = points_at(exposure_action_m_s2), limit = points_at(exposure_limit_m_s2);
    day.stands = day.points >= limit    ? ExposureStands::over_limit
                 : day.points >= action ? ExposureStands::over_action
                                        : ExposureStands::under_action;
    day.to_action_s = seconds_until(action, day.points, tasks.back());
    day.to_limit_s = seconds_until(limit, day.points, tasks.back());
    return day;
}

std::vector<std::string_view> step_cautions(bool paper, bool rotary, bool plastic) {
    std::vector<std::string_view> all{
        "ear protection while the machine runs, its noise adds up like its vibration",
        "eye protection: liquid and pad fibres fly"};
    if (paper)
        all.push_back(
            "a dust mask or suction: sanded clear coat is fine dust; wet where the paper allows it");
    else all.push_back("a dust mask where the residue dries to powder");
    if (rotary)
        all.push_back(
            "a rotary catches on edges, trim and cords: both hands on it, rim never against an edge");
    if (plastic) all.push_back("plastic overheats within seconds: keep moving, feel often");
    return all;
}

} // namespace sparecoat::decide
