#pragma once
#include "picture/heatmap.hpp"
#include "picture/plan_figures.hpp"
#include "plan/plan.hpp"
#include "vehicle/job_board.hpp"
#include <string>
#include <vector>

namespace sparecoat::view::board {

// What the board says of a panel, in words with numbers.

/// "12 spots, mean 112.3, least 98.0 µm"; "nominal film" where nothing was read.
std::string film_words(const BoardPanel& panel, FilmUnit unit);
/// "2 x polish on medium foam 150 mm, then 1 x ...", machines left out.
std::string steps_words(const PlanGlance& plan);
/// "8.6 ± 0.4 of 10 µm left".
std::string left_words(const Board& board, const BoardPanel& panel, FilmUnit unit);
/// "12.3 ± 0.4 µm".
std::string film_sum_words(const FilmSum& sum, FilmUnit unit);
/// "97 %", "99.6 %", "under 1 %".
std::string chance_words(double chance);
/// "2026-03-14 spring".
std::string visit_words(const Visit& visit);

/// The plan's order of work, what it needs and what it comes to, a line each, under headings.
struct PlanLine {
    bool heading = false;
    std::string text;
};
std::vector<PlanLine> plan_lines(const VehiclePlan& plan, const std::vector<VibrationTask>& vibration,
                                 FilmUnit unit);
/// What the plan's steps ask of ears and lungs.
std::vector<std::string_view> plan_cautions(const VehiclePlan& plan);

} // namespace sparecoat::view::board
