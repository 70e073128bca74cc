#include "plan/plan_reading.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

namespace sparecoat::plan {

using nlohmann::json;

namespace {

Interval interval_of(const json& j) { return {j.at("low"), j.at("median"), j.at("high")}; }

template <class Value> std::optional<Value> maybe(const json& value) {
    return value.is_null() ? std::nullopt : std::optional<Value>(value.get<Value>());
}

/// The value whose name this is; the first where it is none of them.
template <class Enum, std::size_t N> Enum named(const std::array<Enum, N>& all, const std::string& name) {
    const auto found = std::ranges::find_if(all, [&](Enum value) { return name_of(value) == name; });
    return found == all.end() ? all.front() : *found;
}
constexpr std::array decisions{PanelDecision::leave,       PanelDecision::planned,  PanelDecision::less,
                               PanelDecision::finish_only, PanelDecision::touch_up, PanelDecision::not_clean,
                               PanelDecision::cannot};
constexpr std::array all_plan_limits{PlanLimit::nothing,    PlanLimit::target,    PlanLimit::reserve,
                                     PlanLimit::both,       PlanLimit::heat,      PlanLimit::allowance,
                                     PlanLimit::film_limit, PlanLimit::time_limit};
constexpr std::array<std::pair<Pattern, const char*>, 5> patterns{{{Pattern::raster, "raster"},
                                                                   {Pattern::spiral, "spiral"},
                                                                   {Pattern::line, "line"},
                                                                   {Pattern::recorded, "recorded"},
                                                                   {Pattern::strips, "strips"}}};
constexpr std::array strip_sides{StripSide::both, StripSide::inside, StripSide::outside};

std::map<std::string, double> lengths_of(const json& j) {
    std::map<std::string, double> lengths_m;
    for (const auto& [name, length_mm] : j.items()) lengths_m[name] = length_mm.get<double>() * mm;
    return lengths_m;
}

Technique technique_of(const json& j) {
    Technique t;
    t.name = j.at("name"), t.machine = j.at("machine"), t.pad = j.at("pad"), t.liquid = j.at("liquid");
    for (const auto& [pattern, name] : patterns)
        if (j.at("pattern") == name) t.pattern = pattern;
    t.force_n = j.at("force_n"), t.speed_rad_s = j.at("speed_per_min").get<double>() * per_min;
    t.arm_speed_m_s = j.at("arm_speed_mm_s").get<double>() * mm;
    t.overlap = j.at("overlap"), t.passes = j.at("passes"), t.crossed = j.at("crossed");
    t.tilt_rad = j.at("tilt_deg").get<double>() * deg;
    t.hold_back_m = j.at("hold_back_mm").get<double>() * mm,
    t.hold_back_edge_m = lengths_of(j.at("hold_back_edge_mm"));
    t.tape_m = j.at("tape_mm").get<double>() * mm, t.tape_edge_m = lengths_of(j.at("tape_edge_mm"));
    if (t.pattern != Pattern::strips) return t;
    for (const json& strips : j.at("strips")) {
        StripsAlong& one = t.strips.emplace_back();
        one.along = strips.at("along"), one.side = named(strip_sides, strips.at("side"));
        one.clear_of_m = strips.at("clear_of_mm").get<double>() * mm;
        for (const json& at_mm : strips.at("at_mm")) one.at_m.push_back(at_mm.get<double>() * mm);
    }
    t.charge_every_m = j.at("charge_every_mm").get<double>() * mm;
    return t;
}

PlannedStep step_of(const json& j) {
    PlannedStep s;
    s.id = j.at("step"), s.words = j.at("words"), s.machine = j.at("machine"), s.pad = j.at("pad"),
    s.liquid = j.at("liquid");
    s.paper = j.at("paper"), s.sets = j.at("sets"), s.technique = technique_of(j.at("technique"));
    s.kept_off = j.at("kept_off").get<std::vector<std::string>>();
    s.open_um = j.at("open_panel_um"), s.time_s = j.at("time_s"), s.peak_film_c = j.at("peak_film_c");
    s.charges = j.at("charges"), s.liquid_ml = j.at("liquid_ml");
    s.lost_mean_um = j.at("lost_mean_um"), s.lost_median_um = j.at("lost_median_um"),
    s.lost_worst_um = j.at("lost_worst_um");
    return s;
}

RegionAtRisk region_of(const json& j) {
    RegionAtRisk region;
    region.spot.at = {j.at("x_mm").get<double>() * mm, j.at("y_mm").get<double>() * mm};
    region.spot.place = j.at("place");
    region.spot.removed_um = j.at("removed_um"), region.spot.clear_before_um = j.at("clear_before_um");
    region.spot.clear_left_um = j.at("clear_left_um");
    region.chance = j.at("chance"), region.standard_error = j.at("standard_error"),
    region.thin_before = j.at("thin_before");
    region.area_m2 = j.at("area_cm2").get<double>() / 1e4;
    return region;
}

void read_outlook(PanelPlan& panel, const json& j) {
    if (j.is_null()) return;
    panel.outlook.share = interval_of(j.at("share")), panel.outlook.film_um = interval_of(j.at("film_um"));
    panel.outlook.haze = j.at("haze");
    panel.outlook.chance_of_target = j.at("chance_of_target"),
    panel.outlook.chance_of_keeping = j.at("chance_of_keeping");
    panel.sure_share = j.at("sure_share");
    const json& whole = j.at("share_whole_panel"); // plans of old have one number
    panel.share_whole = whole.is_number() ? Interval{whole, whole, whole} : interval_of(whole);
    panel.open_keeping = j.at("chance_of_keeping_open"),
    panel.chance_of_keeping = j.at("chance_of_keeping_everywhere");
    panel.keeping_error = j.at("standard_error"), panel.weakest = j.at("weakest");
}

std::vector<VehiclePlan::Used> used_of(const json& list, const char* what, const char* amount) {
    std::vector<VehiclePlan::Used> all;
    for (const json& j : list) all.push_back({j.at(what), j.at(amount)});
    return all;
}

VehiclePlan::Point point_of(const json& j) { return {j.at("film_um"), j.at("share"), j.at("time_s")}; }

void read_totals(VehiclePlan& plan, const json& j) {
    plan.time_s = j.at("time_s"), plan.film_um = j.at("film_um"), plan.share = j.at("sure_share");
    plan.pads = used_of(j.at("pads"), "pad", "count"),
    plan.papers = used_of(j.at("papers"), "paper", "count");
    plan.liquids_ml = used_of(j.at("liquids"), "liquid", "ml"),
    plan.machine_s = used_of(j.at("machines"), "machine", "time_s");
}

VehiclePlan::Turn turn_of(const json& j, const std::vector<PanelPlan>& panels) {
    VehiclePlan::Turn turn{j.at("step"), j.at("words"), {}, j.at("time_s")};
    for (const json& name : j.at("panels")) {
        const auto found = std::ranges::find(panels, name.get<std::string>(), &PanelPlan::name);
        if (found != panels.end()) turn.panels.push_back(static_cast<std::size_t>(found - panels.begin()));
    }
    return turn;
}

AskedExposure asked_of(const json& j) {
    AskedExposure asked;
    for (const json& machine : j.at("machines")) asked.a_hv[machine.at("machine")] = machine.at("a_hv_m_s2");
    for (const json& task : j.at("tasks"))
        asked.others.push_back({task.at("what"), task.at("a_hv_m_s2"), task.at("time_s")});
    return asked;
}

} // namespace

json visit_plan_json(const VehiclePlan& plan, const std::vector<std::string>& assumed,
                     const AskedExposure& asked) {
    json document = plan_json(plan), machines = json::array(), tasks = json::array();
    for (const auto& [machine, a_hv] : asked.a_hv)
        machines.push_back({{"machine", machine}, {"a_hv_m_s2", a_hv}});
    for (const VibrationTask& task : asked.others)
        tasks.push_back({{"what", task.what}, {"a_hv_m_s2", task.a_hv_m_s2}, {"time_s", task.time_s}});
    document.erase("panels");
    document["kind"] = "sparecoat-visit-plan";
    document["assumed"] = assumed;
    document["exposure"] = {{"machines", machines}, {"tasks", tasks}};
    return document;
}

PanelPlan panel_plan_of(const json& j) {
    PanelPlan panel;
    panel.name = j.at("name");
    panel.panel.panel = j.at("panel"), panel.panel.paint = j.at("paint"),
    panel.panel.defects = j.at("defects");
    panel.plastic = j.at("plastic"), panel.area_m2 = j.at("area_m2");
    panel.decision = named(decisions, j.at("fate"));
    panel.limited_by = j.at("holds").is_null() ? PlanLimit::nothing : named(all_plan_limits, j.at("holds"));
    panel.reason = j.at("reason"), panel.doubts = j.at("doubts").get<std::vector<std::string>>();
    panel.clear_um = j.at("clear").at("mean_um"), panel.clear_sd_um = j.at("clear").at("sd_um");
    panel.allowance_left_um = maybe<double>(j.at("allowance_left_um"));
    panel.chips = j.at("chips"), panel.time_s = j.at("time_s");
    for (const json& step : j.at("steps")) panel.steps.push_back(step_of(step));
    read_outlook(panel, j.at("outlook"));
    for (const json& region : j.at("at_risk")) panel.at_risk.push_back(region_of(region));
    for (const json& option : j.at("options"))
        panel.options.push_back({option.at("words"), maybe<double>(option.at("film_um")),
                                 maybe<double>(option.at("share")), maybe<double>(option.at("time_s"))});
    return panel;
}

KeptPlan visit_plan_of(const json& j, std::vector<PanelPlan> panels) {
    KeptPlan kept;
    kept.whole = true;
    VehiclePlan& plan = kept.plan;
    plan.name = j.at("vehicle");
    const json &target = j.at("target"), &set_up = j.at("set_up");
    plan.target = {target.at("share"), target.at("haze"), target.at("chance"), target.at("reserve_um"),
                   target.at("keep_chance")};
    plan.set_up = {set_up.at("each_step_s"), set_up.at("change_s"), set_up.at("each_tape_s")};
    for (const json& turn : j.at("order")) plan.order.push_back(turn_of(turn, panels));
    read_totals(plan, j.at("totals"));
    for (const json& point : j.at("front")) plan.front.push_back(point_of(point));
    if (!j.at("chosen").is_null()) plan.chosen = point_of(j.at("chosen"));
    kept.assumed = j.at("assumed").get<std::vector<std::string>>();
    kept.asked = asked_of(j.at("exposure"));
    plan.panels = std::move(panels);
    return kept;
}

} // namespace sparecoat::plan
