#include "view/pages/board/board_words.hpp"
#include "decide/exposure.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::view::board {
namespace {

std::string without_unit(const std::string& film) { return film.substr(0, film.rfind(' ')); }

/// A film thickness with the decimals that a gauge has: "112.3 µm", "4.42 mil".
std::string gauge_text(double um, FilmUnit unit) {
    return unit == FilmUnit::mil ? fmt::format("{:.2f} mil", um / um_per_mil) : fmt::format("{:.1f} µm", um);
}

/// Without the machine in brackets at its end.
std::string without_machine(const std::string& words) { return words.substr(0, words.rfind(" (")); }

std::string amounts(const std::vector<VehiclePlan::Used>& all, const char* format) {
    std::vector<std::string> parts;
    for (const VehiclePlan::Used& used : all)
        parts.push_back(fmt::format(fmt::runtime(format), used.what, used.amount));
    return fmt::format("{}", fmt::join(parts, ", "));
}

} // namespace

std::string film_words(const BoardPanel& panel, FilmUnit unit) {
    const bool after = !panel.film.empty() && panel.film.front().after_work;
    for (const bool of_clear : {false, true}) {
        const auto s = statistics_of(panel.film, after, of_clear);
        if (!s) continue;
        const std::string kind = of_clear ? " of clear" : "",
                          whence = panel.film_of_earlier ? ", left by an earlier visit" : "";
        if (s->spots == 1) return fmt::format("1 spot{}, {}{}", kind, gauge_text(s->mean_um, unit), whence);
        return fmt::format("{} spots{}, mean {}, least {}{}", s->spots, kind,
                           without_unit(gauge_text(s->mean_um, unit)), gauge_text(s->least_um, unit), whence);
    }
    return "nominal film";
}

std::string steps_words(const PlanGlance& plan) {
    std::string words;
    for (const PlanGlance::Step& step : plan.steps)
        add_sets_briefly(words, step.sets, without_machine(step.words));
    return words;
}

std::string film_sum_words(const FilmSum& sum, FilmUnit unit) {
    return fmt::format("{} ± {}", without_unit(film_text(sum.um, unit)), film_text(sum.sd_um, unit));
}

std::string left_words(const Board& board, const BoardPanel& panel, FilmUnit unit) {
    const double left_um = board.left_um(panel), all_um = board.vehicle.allowance_um;
    const auto bare = [&](double um) {
        return unit == FilmUnit::mil ? fmt::format("{:.3f}", um / um_per_mil) : fmt::format("{:.1f}", um);
    };
    const std::string of = fmt::format("{} {}",
                                       unit == FilmUnit::mil ? fmt::format("{:.2f}", all_um / um_per_mil)
                                                             : fmt::format("{:.3g}", all_um),
                                       unit == FilmUnit::mil ? "mil" : "µm");
    if (panel.spent_visits == 0) return fmt::format("all of {} left", of);
    if (left_um <= 0) return fmt::format("nothing of {} left", of);
    return fmt::format("{} ± {} of {} left", bare(left_um), bare(panel.spent.sd_um), of);
}

std::string chance_words(double chance) {
    return chance < 0.01 ? "under 1 %" : percent_finer_near_all(chance);
}

std::string visit_words(const Visit& visit) {
    return visit.date + (visit.label.empty() ? "" : " " + visit.label);
}

std::vector<std::string_view> plan_cautions(const VehiclePlan& plan) {
    std::vector<std::string_view> found;
    for (const PanelPlan& panel : plan.panels)
        for (const PlannedStep& step : panel.steps)
            for (const std::string_view caution : step_cautions(step.paper, step.rotary, panel.plastic))
                if (std::ranges::find(found, caution) == found.end()) found.push_back(caution);
    return found;
}

std::vector<PlanLine> plan_lines(const VehiclePlan& plan, const std::vector<VibrationTask>& vibration,
                                 FilmUnit unit) {
    std::vector<PlanLine> lines;
    const auto heading = [&](const char* words) { lines.push_back({true, words}); };
    const auto line = [&](std::string words) { lines.push_back({false, std::move(words)}); };
    if (plan.machine_s.empty()) {
        heading("Nothing to be done");
        line("No panel has steps: see each panel's reason on the board.");
        return lines;
    }
    heading("Order of work");
    for (std::size_t k = 0; k < plan.order.size(); ++k) {
        const VehiclePlan::Turn& turn = plan.order[k];
        std::vector<std::string> names;
        for (const std::size_t p : turn.panels) names.push_back(plan.panels[p].name);
        line(fmt::format("{}. {}: {} ({})", k + 1, without_machine(turn.words), fmt::join(names, ", "),
                         hours_text(turn.time_s)));
    }
    heading("Time");
    std::vector<std::string> machines;
    for (const VehiclePlan::Used& used : plan.machine_s)
        machines.push_back(fmt::format("{} {}", used.what, hours_text(used.amount)));
    line(fmt::format("{} in all, set-up, changes and tape counted; machines run: {}", hours_text(plan.time_s),
                     fmt::join(machines, ", ")));
    heading("To have ready");
    if (!plan.pads.empty())
        line(fmt::format("{} (washed after {} charges each)", amounts(plan.pads, "{} x {:.0f}"),
                         charges_a_pad));
    if (!plan.papers.empty()) line(amounts(plan.papers, "{} x {:.0f}"));
    if (!plan.liquids_ml.empty()) line(amounts(plan.liquids_ml, "{} {:.0f} ml"));
    heading("Film");
    line(fmt::format("{} off open ground on average; {} of the marks cleared with a chance of {}",
                     film_text(plan.film_um, unit), chance_words(plan.share),
                     chance_words(plan.target.chance)));
    heading("Hand-arm vibration");
    if (vibration.empty()) {
        line("Not told: no machine's value was entered with the plan (m/s², from its papers).");
        return lines;
    }
    double all_s = 0;
    for (const VibrationTask& task : vibration) all_s += task.time_s;
    if (all_s > 24 * 3600.0) {
        line("More than 24 h of machine time: add up each day by itself.");
        return lines;
    }
    const DayExposure day = day_exposure(vibration);
    line(fmt::format("A(8) {:.1f} m/s², {:.0f} points: {}, were all of it one person's day (action {:g}, "
                     "limit {:g} m/s²).",
                     day.a8_m_s2, day.points, name_of(day.stands), exposure_action_m_s2,
                     exposure_limit_m_s2));
    for (const VehiclePlan::Used& machine : plan.machine_s)
        if (std::ranges::find(vibration, machine.what, &VibrationTask::what) == vibration.end())
            line(fmt::format("{} is not counted: no value was entered for it.", machine.what));
    line("An estimate from the values entered; a measurement and local rules come first.");
    return lines;
}

} // namespace sparecoat::view::board
