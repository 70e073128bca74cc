// The document that an advice on test sections is written as.
#include "decide/cautions.hpp"
#include "plan/interval_json.hpp"
#include "plan/section.hpp"
#include "run/summary_parts.hpp"
#include "units/quantity.hpp"
#include <cmath>
#include <nlohmann/json.hpp>

namespace sparecoat::plan {

using nlohmann::json;

namespace {

/// A logarithm's belief as the factor it stands for.
json factor_json(const Belief1& belief) {
    return interval_json(
        {std::exp(belief.quantile(0.05)), std::exp(belief.quantile(0.5)), std::exp(belief.quantile(0.95))});
}

json sequence_json(std::span<const StepEffect> steps, const Sequence& sequence) {
    json parts = json::array();
    for (const Sets& part : sequence) parts.push_back({{"step", steps[part.step].id}, {"sets", part.sets}});
    return parts;
}

json outlook_json(std::span<const StepEffect> steps, const Outlook& outlook) {
    return {{"sequence", sequence_json(steps, outlook.sequence)},
            {"words", words_of(steps, outlook.sequence)},
            {"share", interval_json(outlook.share)},
            {"film_um", interval_json(outlook.film_um)},
            {"haze", outlook.haze},
            {"chance_of_target", outlook.chance_of_target},
            {"chance_of_keeping", outlook.chance_of_keeping},
            {"time_s", outlook.time_s}};
}

const char* name_of(LimitedBy limited_by) {
    switch (limited_by) {
    case LimitedBy::nothing: return nullptr;
    case LimitedBy::target: return "target";
    case LimitedBy::reserve: return "reserve";
    case LimitedBy::both: return "both";
    }
    return nullptr;
}

json index_or_null(const std::optional<std::size_t>& index) { return index ? json(*index) : json(nullptr); }

json weighed_json(std::span<const StepEffect> steps, const Advice& advice) {
    json outlooks = json::array(), trials = json::array();
    for (const Outlook& outlook : advice.outlooks) outlooks.push_back(outlook_json(steps, outlook));
    for (const TrialWorth& trial : advice.trials)
        trials.push_back({{"step", steps[trial.trial.step].id},
                          {"sets", trial.trial.sets},
                          {"worth_um", trial.worth_um},
                          {"changes", trial.changes}});
    const char* limited_by = name_of(advice.limited_by);
    return {{"next", name_of(advice.next)},
            {"choice", index_or_null(advice.choice)},
            {"so_far", advice.so_far ? outlook_json(steps, *advice.so_far) : json(nullptr)},
            {"outlooks", outlooks},
            {"binds", limited_by ? json(limited_by) : json(nullptr)},
            {"best_kept", index_or_null(advice.best_kept)},
            {"trials", trials}};
}

json mark_json(const MarkPopulation& marks) {
    return {{"kind", name_of(marks.kind)},
            {"clearable", clearable(marks.kind)},
            {"depth_um", marks.depth_um},
            {"depth_sd_log", marks.depth_sd},
            {"width_um", in_unit(marks.width_m, 1e-6)},
            {"per_m2", marks.per_m2},
            {"covered", marks.covered()}};
}

json effect_json(const StepEffect& effect) {
    return {{"id", effect.id},
            {"words", effect.words},
            {"film_um", effect.mean_um},
            {"time_s", effect.time_s},
            {"peak_film_c", effect.peak_film_c},
            {"own_depth_um", effect.own.depth_um}};
}

json square_json(const PanelAdvice& panel) {
    json out = point_mm(panel.ground.square.at);
    out["width_mm"] = in_unit(panel.ground.square.size.x, mm);
    out["height_mm"] = in_unit(panel.ground.square.size.y, mm);
    out["usual"] = panel.usual;
    return out;
}

json try_json(const PanelAdvice& panel, const TryReport& report) {
    const Try& work = panel.panel.squares[report.square].tries[report.work];
    json gauge = nullptr;
    if (work.gauge) gauge = {{"loss_um", work.gauge->loss_um()}, {"sd_um", work.gauge->sd_um()}};
    return {{"square", report.square},
            {"try", report.work},
            {"step", work.step},
            {"sets", work.sets},
            {"seen", work.seen ? json(*work.seen) : json(nullptr)},
            {"gauge", gauge},
            {"expected_share", report.expected_share},
            {"expected_film_um", report.expected_um},
            {"learned_share", interval_json(report.share)},
            {"learned_film_um", interval_json(report.film_um)}};
}

json conflict_json(const PanelAdvice& panel, std::size_t k) {
    const Conflict& conflict = panel.conflicts[k];
    const EitherWay* alternatives = k < panel.either_way.size() ? &panel.either_way[k] : nullptr;
    const std::span<const StepEffect> steps = panel.ground.effects;
    return {{"square", conflict.square},
            {"try", conflict.look},
            {"witness", conflict.witness == Witness::lamp ? "lamp" : "gauge"},
            {"expected", interval_json({conflict.low, conflict.median, conflict.high})},
            {"chance", conflict.chance},
            {"impossible", conflict.impossible},
            {"without", alternatives ? weighed_json(steps, alternatives->without) : json(nullptr)},
            {"believed", alternatives && alternatives->believed ? weighed_json(steps, *alternatives->believed)
                                                                : json(nullptr)}};
}

json panel_json(const PanelAdvice& panel) {
    json marks = json::array(), steps = json::array(), tries = json::array(), conflicts = json::array();
    for (const MarkPopulation& population : panel.ground.marks) marks.push_back(mark_json(population));
    for (const StepEffect& effect : panel.ground.effects) steps.push_back(effect_json(effect));
    for (const TryReport& report : panel.tries) tries.push_back(try_json(panel, report));
    for (std::size_t k = 0; k < panel.conflicts.size(); ++k) conflicts.push_back(conflict_json(panel, k));
    return {{"panel", panel.panel.panel},
            {"name", panel.ground.panel->name},
            {"paint", panel.panel.paint},
            {"defects", panel.panel.defects},
            {"readings", panel.panel.readings ? json(*panel.panel.readings) : json(nullptr)},
            {"clean", panel.panel.clean},
            {"plastic", panel.ground.panel->substrate.polymer},
            {"square", square_json(panel)},
            {"clear", {{"mean_um", panel.ground.clear.mean_um}, {"sd_um", panel.ground.clear.sd_um}}},
            {"chips", panel.ground.chips},
            {"marks", marks},
            {"depth", factor_json(panel.belief.depth)},
            {"steps", steps},
            {"tries", tries},
            {"conflicts", conflicts},
            {"advice", weighed_json(panel.ground.effects, panel.advice)}};
}

} // namespace

json advice_json(const SectionReport& report) {
    const Target& target = report.record.target;
    json softness = json::array(), panels = json::array();
    for (std::size_t k = 0; k < report.paints.size(); ++k)
        softness.push_back({{"paint", report.paints[k]},
                            {"factor", factor_json(report.learned.softness[k])},
                            {"sd_log_before", report.paint_sd[k]}});
    for (const PanelAdvice& panel : report.panels) panels.push_back(panel_json(panel));
    return {{"kind", "sparecoat-advice"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"record", {{"name", report.record.name}, {"kit", report.record.kit}}},
            {"target",
             {{"share", target.share},
              {"haze", target.haze},
              {"chance", target.chance},
              {"reserve_um", target.reserve_um},
              {"keep_chance", target.keep_chance}}},
            {"learned", {{"hand", factor_json(report.learned.hand)}, {"softness", softness}}},
            {"panels", panels}};
}

} // namespace sparecoat::plan
