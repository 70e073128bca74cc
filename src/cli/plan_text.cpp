#include "cli/plan_text.hpp"
#include "cli/page.hpp"
#include "picture/plan_figures.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <iterator>
#include <set>

namespace sparecoat::cli {
namespace {

/// Chances under it are told as no more than that.
constexpr double least_told_chance = 0.001;

void write_step(Page& page, const std::string& label, const PlannedStep& step, FilmUnit unit) {
    page.line(label,
              fmt::format(
                  "{} {} of {}: {:.0f} N, {:.0f}/min, arm {:.0f} mm/s, {} passes; {}, {} off the open panel",
                  step.sets, step.sets == 1 ? "set" : "sets", step.words, step.technique.force_n,
                  step.technique.speed_rad_s / per_min, step.technique.arm_speed_m_s / mm,
                  step.technique.passes, hours_text(step.time_s), film_text(step.open_um, unit)));
    if (!step.kept_off.empty()) page.line("", fmt::format("  {}", fmt::join(step.kept_off, "; ")));
}

void write_risk(Page& page, const PanelPlan& panel) {
    constexpr std::size_t most = 4;
    if (panel.steps.empty()) return;
    if (panel.at_risk.empty()) {
        const double chance = 1 - panel.chance_of_keeping;
        page.line("  At risk", chance < least_told_chance
                                   ? "nowhere as much as 0.1 %"
                                   : fmt::format("nowhere more than {} ({})", percent_finer_near_none(chance),
                                                 panel.weakest));
        return;
    }
    for (std::size_t k = 0; k < std::min(most, panel.at_risk.size()); ++k) {
        const RegionAtRisk& region = panel.at_risk[k];
        page.line(
            k == 0 ? "  At risk" : "",
            fmt::format("{} at {:.0f}, {:.0f} mm: {} ± {} that less than the reserve stays, over {:.0f} cm²",
                        region.spot.place, region.spot.at.x / mm, region.spot.at.y / mm,
                        percent_finer_near_none(region.chance),
                        percent_finer_near_none(region.standard_error), region.area_m2 * 1e4));
    }
    if (panel.at_risk.size() > most) page.line("", fmt::format("and {} more", panel.at_risk.size() - most));
}

void write_options(Page& page, const PanelPlan& panel, FilmUnit unit) {
    for (std::size_t k = 0; k < panel.options.size(); ++k) {
        const PanelOption& option = panel.options[k];
        std::vector<std::string> numbers;
        if (option.share && *option.share > 0)
            numbers.push_back(percent_finer_near_all(*option.share) + " cleared");
        if (option.film_um && *option.film_um > 0) numbers.push_back(film_text(*option.film_um, unit));
        if (option.time_s && *option.time_s > 0) numbers.push_back(hours_text(*option.time_s));
        page.line(k == 0 ? "  Or" : "",
                  option.words + (numbers.empty() ? "" : fmt::format(" ({})", fmt::join(numbers, ", "))));
    }
}

void write_panel(Page& page, const PanelPlan& panel, FilmUnit unit) {
    page.raw(fmt::format("\n{}: {}{}", panel.name, name_of(panel.decision),
                         panel.time_s > 0 ? ", " + hours_text(panel.time_s) : ""));
    page.line("  Why", panel.reason);
    for (std::size_t k = 0; k < panel.steps.size(); ++k)
        write_step(page, k == 0 ? "  Steps" : "", panel.steps[k], unit);
    if (!panel.steps.empty())
        page.line("  Comes to",
                  fmt::format("{} of the marks cleared on open ground, {} over the whole panel; {} of {} "
                              "clear coat lost; haze {:.1f}",
                              percent_finer_near_all(panel.outlook.share.median),
                              percent_finer_near_all(panel.share_whole.median),
                              film_text(panel.outlook.film_um.median, unit), film_text(panel.clear_um, unit),
                              panel.outlook.haze));
    write_risk(page, panel);
    if (panel.allowance_left_um)
        page.line("  Allowance", film_text(*panel.allowance_left_um, unit) + " left before this");
    for (std::size_t k = 0; k < panel.doubts.size(); ++k)
        page.line(k == 0 ? "  Unsure" : "", panel.doubts[k]);
    write_options(page, panel, unit);
}

std::string used_text(const std::vector<VehiclePlan::Used>& all, const char* format) {
    std::vector<std::string> parts;
    for (const VehiclePlan::Used& used : all)
        parts.push_back(fmt::format(fmt::runtime(format), used.what, used.amount));
    return fmt::format("{}", fmt::join(parts, ", "));
}

void write_totals(Page& page, const VehiclePlan& plan, FilmUnit unit) {
    page.raw("\nThe vehicle");
    for (std::size_t k = 0; k < plan.order.size(); ++k) {
        const VehiclePlan::Turn& turn = plan.order[k];
        std::vector<std::string> names;
        for (const std::size_t p : turn.panels) names.push_back(plan.panels[p].name);
        page.line(k == 0 ? "Order" : "", fmt::format("{}. {}: {} ({})", k + 1, turn.words,
                                                     fmt::join(names, ", "), hours_text(turn.time_s)));
    }
    page.line("Time", hours_text(plan.time_s) + ", set-up, changes of step and tape counted");
    if (!plan.machine_s.empty()) {
        std::vector<std::string> parts;
        for (const VehiclePlan::Used& used : plan.machine_s)
            parts.push_back(fmt::format("{} {}", used.what, hours_text(used.amount)));
        page.line("Machines", fmt::format("{}", fmt::join(parts, ", ")));
        page.line("Pads", used_text(plan.pads, "{} x {:.0f}") +
                              fmt::format(", {} charges a pad before it is washed", charges_a_pad));
        if (!plan.papers.empty()) page.line("Papers", used_text(plan.papers, "{} x {:.0f}"));
        if (!plan.liquids_ml.empty()) page.line("Liquids", used_text(plan.liquids_ml, "{} {:.0f} ml"));
        page.line("Film", fmt::format("{} off open ground on average; {} of the marks surely cleared",
                                      film_text(plan.film_um, unit), percent_finer_near_all(plan.share)));
    }
    std::set<std::string_view> by_step;
    std::vector<std::string_view> in_order;
    for (const PanelPlan& panel : plan.panels)
        for (const PlannedStep& step : panel.steps)
            for (const std::string_view caution : step_cautions(step.paper, step.rotary, panel.plastic))
                if (by_step.insert(caution).second) in_order.push_back(caution);
    for (std::size_t k = 0; k < in_order.size(); ++k)
        page.line(k == 0 ? "By step" : "", std::string(in_order[k]));
}

/// Rows of the front for a screen: those whose film is nearest to evenly spaced ones.
std::vector<VehiclePlan::Point> rows_of(const VehiclePlan& plan) {
    constexpr std::size_t most = 10;
    if (plan.front.size() <= most) return plan.front;
    std::vector<VehiclePlan::Point> rows;
    for (std::size_t n = 0; n < most; ++n)
        rows.push_back(plan.front[n * (plan.front.size() - 1) / (most - 1)]);
    return rows;
}

void write_front(Page& page, const VehiclePlan& plan, FilmUnit unit) {
    if (plan.front.size() < 2) return;
    page.raw(fmt::format("\nWhat a limit trades: choices that no other beats in all three ({} in all)",
                         plan.front.size()));
    page.raw("  " + padded("film lost", 14) + padded("surely cleared", 16) + "time");
    const auto row = [&](const VehiclePlan::Point& point, const char* mark) {
        page.raw(mark + padded(film_text(point.film_um, unit), 14) +
                 padded(percent_finer_near_all(point.share), 16) + hours_text(point.time_s));
    };
    bool shown = false;
    const auto same = [](const VehiclePlan::Point& a, const VehiclePlan::Point& b) {
        return a.film_um == b.film_um && a.share == b.share && a.time_s == b.time_s;
    };
    for (const VehiclePlan::Point& point : rows_of(plan)) {
        const bool here = same(point, plan.chosen);
        if (!shown && !here && point.film_um > plan.chosen.film_um) row(plan.chosen, "> "), shown = true;
        row(point, here ? "> " : "  ");
        shown = shown || here;
    }
    if (!shown) row(plan.chosen, "> ");
    page.raw("  > the plan, with its hold-backs and tape; the others are before theirs");
}

} // namespace

std::string plan_text(const VehiclePlan& plan, const std::vector<std::string>& assumed, FilmUnit unit) {
    Page page;
    const Target& target = plan.target;
    page.line("Plan", plan.name);
    page.line("Wanted", fmt::format("{} of the marks cleared and haze up to {:g}, with a chance of {}; {} of "
                                    "clear coat to stay, with a chance of {}",
                                    percent_finer_near_all(target.share), target.haze,
                                    percent_finer_near_all(target.chance), film_text(target.reserve_um, unit),
                                    percent_finer_near_all(target.keep_chance)));
    for (std::size_t k = 0; k < assumed.size(); ++k) page.line(k == 0 ? "Assumed" : "", assumed[k]);
    for (const PanelPlan& panel : plan.panels) write_panel(page, panel, unit);
    write_totals(page, plan, unit);
    write_front(page, plan, unit);
    return page.take();
}

std::string exposure_text(const std::vector<VibrationTask>& tasks) {
    Page page;
    page.raw("\nHand-arm vibration, were all of it done on one day by one person");
    for (const VibrationTask& task : tasks)
        page.line("", fmt::format("{}: {:g} m/s² for {}: {:.0f} points", task.what, task.a_hv_m_s2,
                                  hours_text(task.time_s), exposure_points(task)));
    const DayExposure day = day_exposure(tasks);
    page.line("A(8)",
              fmt::format("{:.1f} m/s², {:.0f} points: {} (action {:g}, limit {:g} m/s²; 100 and 400 points)",
                          day.a8_m_s2, day.points, name_of(day.stands), exposure_action_m_s2,
                          exposure_limit_m_s2));
    page.line("", "An estimate from the values given: the machine's state, the pad's balance and the grip "
                  "change them. A "
                  "measurement and local rules come first.");
    return page.take();
}

} // namespace sparecoat::cli
