#include "study/sweep/row.hpp"
#include "finish/clearing.hpp"
#include "finish/step_marks.hpp"
#include "formats/nearest.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <limits>
#include <vector>

namespace sparecoat::study {
namespace {

double highest_chance(const RunJob& job, const Fields& fields, const ChanceTerms& terms) {
    const Panel& panel = job.panel;
    const CellChance cell(terms);
    LossDoubt doubt(terms.cut_sd);
    doubt.add_step(fields, job.step.liquid);
    double highest = 0;
    for (std::size_t i = 0; i < fields.removed_um.size(); ++i) {
        if (!panel.inside[i] || fields.removed_um[i] <= 0) continue;
        const auto clear_um = static_cast<double>(panel.clear_um[i]),
                   sd_um = static_cast<double>(panel.clear_sd_um[i]);
        const auto removed_um = static_cast<double>(fields.removed_um[i]), loss_sd = doubt.sd_at(i);
        if (!cell.safe(clear_um, sd_um, removed_um, loss_sd))
            highest = std::max(highest, cell.at(clear_um, sd_um, removed_um, loss_sd));
    }
    return highest;
}

Finish finish_of_open(const RunJob& job, const RunResult& result, std::size_t cell, const Defects& defects) {
    MarkedPanel marked(job.panel, defects.marks);
    marked.step(result.fields.removed_um,
                step_marks(job.step.liquid, job.step.pad, work_since_fresh_j(job.path, result.trace),
                           job.paint.softness));
    return marked.finish_at(cell);
}

} // namespace

std::size_t sweep_output(const std::string& name, const std::string& place) {
    std::vector<std::string> known;
    for (const SweepOutput& output : sweep_outputs) {
        if (name == output.name) return known.size();
        known.emplace_back(output.name);
    }
    throw InputError("", place, fmt::format("\"{}\"", name), suggestion(name, known, "outputs"));
}

SweepRow failed_row(std::string error) {
    SweepRow row;
    row.values.fill(std::numeric_limits<double>::quiet_NaN());
    row.error = std::move(error);
    return row;
}

SweepRow row_of(const RunJob& job, const RunResult& result, const Verdict& verdict, const Defects& defects,
                const ChanceTerms& terms) {
    const Totals& totals = result.totals;
    const Finish finish = finish_of_open(job, result, verdict.open.cell, defects);
    SweepRow row;
    row.values = {
        verdict.open.median_um,
        verdict.removed_volume_m3 / verdict.worked_area_m2 * 1e6,
        verdict.most_removed_um,
        verdict.least_clear_left_um,
        verdict.open.sd_um / verdict.open.mean_um,
        clearing(job.panel, defects.marks, result.fields.removed_um).share(),
        finish.haze,
        finish.gloss[0],
        finish.gloss[1],
        highest_chance(job, result.fields, terms),
        result.heat->peak().film_c,
        totals.time_down_s > 0 ? totals.spin_turns / totals.time_down_s * 60 : 0,
        totals.stalled_s,
        totals.time_s / 60,
    };
    return row;
}

} // namespace sparecoat::study
