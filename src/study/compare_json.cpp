#include "decide/cautions.hpp"
#include "run/summary_parts.hpp"
#include "study/compare.hpp"
#include "units/quantity.hpp"
#include <nlohmann/json.hpp>

namespace sparecoat::study {

using nlohmann::json;

namespace {

std::string letter_text(const ComparedTechnique& technique) { return std::string(1, technique.letter); }

json technique_row(const ComparedTechnique& technique) {
    const Panel& panel = technique.job.panel;
    json weakest = point_mm(panel.grid.centre(technique.weakest_cell));
    weakest["place"] = place_of(panel, technique.weakest_cell);
    return {{"letter", letter_text(technique)},
            {"machine", technique.job.step.machine.name},
            {"pad", technique.job.step.pad.name},
            {"liquid", technique.job.step.liquid.name},
            {"technique", technique_json(technique.job.request.technique, technique.job.step.technique)},
            {"weakest", weakest}};
}

json measure_json(const Comparison& comparison, Measure measure) {
    const auto m = static_cast<std::size_t>(measure);
    json techniques = json::array(), against = json::array();
    for (const ComparedTechnique& technique : comparison.techniques) {
        const Estimate& estimate = technique.estimates[m];
        techniques.push_back({{"letter", letter_text(technique)},
                              {"mean", estimate.mean},
                              {"low", estimate.low},
                              {"high", estimate.high},
                              {"draws", technique.draws[m]}});
    }
    for (std::size_t t = 1; t < comparison.techniques.size(); ++t) {
        const ComparedDifference& difference = comparison.difference(t, measure);
        const PairedDifference& paired = difference.paired;
        against.push_back({{"letter", letter_text(comparison.techniques[t])},
                           {"difference", paired.estimate.mean},
                           {"low", paired.estimate.low},
                           {"high", paired.estimate.high},
                           {"p", paired.p},
                           {"p_adjusted", difference.p_adjusted},
                           {"more_than_noise", difference.more_than_noise}});
    }
    return {{"id", info_of(measure).id},
            {"name", info_of(measure).name},
            {"unit", info_of(measure).unit},
            {"techniques", techniques},
            {"against_first", against}};
}

} // namespace

json comparison_json(const Comparison& comparison) {
    const ComparedTechnique& first = comparison.techniques.front();
    const CompareTerms& terms = comparison.request.terms;
    json inputs = inputs_json(first.job);
    for (const char* key : {"technique", "path_csv", "integrator"}) inputs.erase(key);
    inputs["defects"] = comparison.request.defects;
    json techniques = json::array(), settings = json::array(), measures = json::array();
    for (const ComparedTechnique& technique : comparison.techniques)
        techniques.push_back(technique_row(technique));
    for (const SettingRow& row : comparison.settings)
        settings.push_back({{"setting", row.name}, {"values", row.values}});
    for (const Measure measure : all_measures) measures.push_back(measure_json(comparison, measure));
    return {{"kind", "sparecoat-comparison"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"inputs", inputs},
            {"film", film_json(first.job)},
            {"terms",
             {{"draws", comparison.hand_varies ? comparison.draws : 0},
              {"confidence", terms.confidence},
              {"reserve_um", terms.reserve_um},
              {"cut_sd_log", terms.cut_sd}}},
            {"techniques", techniques},
            {"settings", settings},
            {"measures", measures}};
}

} // namespace sparecoat::study
