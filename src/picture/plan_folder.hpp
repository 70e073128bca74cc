#pragma once
#include "picture/heatmap.hpp"
#include "plan/plan.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>

namespace sparecoat::picture {

/// Draws what a choice for the vehicle trades: film lost against marks cleared, time as colour, and the plan.
/// For a plan with a front. @throws InputError where it cannot be written.
void draw_front_chart(const std::filesystem::path& png, const VehiclePlan& plan, FilmUnit unit);

/// Writes plan.json and, where there is a front, front.png into a folder that exists. @return the document.
nlohmann::json write_plan(const std::filesystem::path& folder, const VehiclePlan& plan, FilmUnit unit);

} // namespace sparecoat::picture
