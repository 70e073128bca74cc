// The document that a vehicle's plan is written as.
#include "decide/cautions.hpp"
#include "plan/interval_json.hpp"
#include "plan/plan.hpp"
#include "run/summary_parts.hpp"
#include "units/quantity.hpp"
#include <cmath>
#include <nlohmann/json.hpp>

namespace sparecoat::plan {

using nlohmann::json;

namespace {

template <class Value> json or_null(const std::optional<Value>& value) {
    return value ? json(*value) : json(nullptr);
}

json step_json(const PlannedStep& step) {
    return {{"step", step.id},
            {"words", step.words},
            {"machine", step.machine},
            {"pad", step.pad},
            {"liquid", step.liquid},
            {"paper", step.paper},
            {"sets", step.sets},
            {"kept_off", step.kept_off},
            {"technique", technique_json(step.id, step.technique)},
            {"open_panel_um", step.open_um},
            {"lost_mean_um", step.lost_mean_um},
            {"lost_median_um", step.lost_median_um},
            {"lost_worst_um", step.lost_worst_um},
            {"time_s", step.time_s},
            {"peak_film_c", step.peak_film_c},
            {"charges", step.charges},
            {"liquid_ml", step.liquid_ml}};
}

json region_json(const RegionAtRisk& region) {
    json spot = spot_json(region.spot);
    if (region.spot.removed_um <= 0) spot["factors"] = spot["against_open_panel"] = nullptr;
    spot["chance"] = region.chance;
    spot["standard_error"] = region.standard_error;
    spot["thin_before"] = region.thin_before;
    spot["area_cm2"] = region.area_m2 * 1e4;
    return spot;
}

json option_json(const PanelOption& option) {
    return {{"words", option.words},
            {"film_um", or_null(option.film_um)},
            {"share", or_null(option.share)},
            {"time_s", or_null(option.time_s)}};
}

json outlook_json(const PanelPlan& panel) {
    if (panel.steps.empty()) return nullptr;
    const Outlook& outlook = panel.outlook;
    return {{"share", interval_json(outlook.share)},
            {"sure_share", panel.sure_share},
            {"share_whole_panel", interval_json(panel.share_whole)},
            {"film_um", interval_json(outlook.film_um)},
            {"haze", outlook.haze},
            {"chance_of_target", outlook.chance_of_target},
            {"chance_of_keeping", outlook.chance_of_keeping},
            {"chance_of_keeping_open", panel.open_keeping},
            {"chance_of_keeping_everywhere", panel.chance_of_keeping},
            {"standard_error", panel.keeping_error},
            {"weakest", panel.weakest}};
}

json used_json(const std::vector<VehiclePlan::Used>& all, const char* what, const char* amount) {
    json out = json::array();
    for (const VehiclePlan::Used& used : all) out.push_back({{what, used.what}, {amount, used.amount}});
    return out;
}

json counted_json(const std::vector<VehiclePlan::Used>& all, const char* what) {
    json out = json::array();
    for (const VehiclePlan::Used& used : all)
        out.push_back({{what, used.what}, {"count", std::lround(used.amount)}});
    return out;
}

json point_json(const VehiclePlan::Point& point) {
    return {{"film_um", point.film_um}, {"share", point.share}, {"time_s", point.time_s}};
}

} // namespace

json panel_plan_json(const PanelPlan& panel) {
    json steps = json::array(), at_risk = json::array(), options = json::array();
    for (const PlannedStep& step : panel.steps) steps.push_back(step_json(step));
    for (const RegionAtRisk& region : panel.at_risk) at_risk.push_back(region_json(region));
    for (const PanelOption& option : panel.options) options.push_back(option_json(option));
    return {
        {"name", panel.name},
        {"panel", panel.panel.panel},
        {"paint", panel.panel.paint},
        {"defects", panel.panel.defects},
        {"plastic", panel.plastic},
        {"area_m2", panel.area_m2},
        {"fate", name_of(panel.decision)},
        {"holds", panel.limited_by == PlanLimit::nothing ? json(nullptr) : json(name_of(panel.limited_by))},
        {"reason", panel.reason},
        {"doubts", panel.doubts},
        {"clear", {{"mean_um", panel.clear_um}, {"sd_um", panel.clear_sd_um}}},
        {"allowance_left_um", or_null(panel.allowance_left_um)},
        {"chips", panel.chips},
        {"steps", steps},
        {"outlook", outlook_json(panel)},
        {"at_risk", at_risk},
        {"options", options},
        {"time_s", panel.time_s}};
}

json plan_json(const VehiclePlan& plan) {
    json panels = json::array(), order = json::array(), front = json::array();
    for (const PanelPlan& panel : plan.panels) panels.push_back(panel_plan_json(panel));
    for (const VehiclePlan::Turn& turn : plan.order) {
        json on = json::array();
        for (const std::size_t p : turn.panels) on.push_back(plan.panels[p].name);
        order.push_back(
            {{"step", turn.step}, {"words", turn.words}, {"panels", on}, {"time_s", turn.time_s}});
    }
    for (const VehiclePlan::Point& point : plan.front) front.push_back(point_json(point));
    const Target& target = plan.target;
    return {{"kind", "sparecoat-plan"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"vehicle", plan.name},
            {"target",
             {{"share", target.share},
              {"haze", target.haze},
              {"chance", target.chance},
              {"reserve_um", target.reserve_um},
              {"keep_chance", target.keep_chance}}},
            {"set_up",
             {{"each_step_s", plan.set_up.each_step_s},
              {"change_s", plan.set_up.change_s},
              {"each_tape_s", plan.set_up.each_tape_s}}},
            {"panels", panels},
            {"order", order},
            {"totals",
             {{"time_s", plan.time_s},
              {"film_um", plan.film_um},
              {"sure_share", plan.share},
              {"pads", counted_json(plan.pads, "pad")},
              {"papers", counted_json(plan.papers, "paper")},
              {"liquids", used_json(plan.liquids_ml, "liquid", "ml")},
              {"machines", used_json(plan.machine_s, "machine", "time_s")}}},
            {"front", front},
            {"chosen", plan.front.empty() ? json(nullptr) : point_json(plan.chosen)}};
}

} // namespace sparecoat::plan
