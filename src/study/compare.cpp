#include "study/compare.hpp"
#include "decide/open_cells.hpp"
#include "decide/stats/median.hpp"
#include "finish/clearing.hpp"
#include "finish/step_marks.hpp"
#include "run/draws.hpp"
#include "run/meter.hpp"
#include "run/threads.hpp"
#include "study/compare_settings.hpp"
#include "study/risk.hpp"
#include "tool/vary.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <memory>
#include <numeric>
#include <oneapi/tbb/parallel_for.h>
#include <set>

namespace sparecoat::study {
namespace {

constexpr double no_limit = std::numeric_limits<double>::infinity();
constexpr ByMeasure<MeasureInfo> infos{
    {{"film_open", "film lost, open panel", "um", 0, no_limit},
     {"film_worst", "film lost, worst spot", "um", 0, no_limit},
     {"cleared", "marks cleared", "share", 0, 1},
     {"gloss", "gloss at 20°", "GU", 0, no_limit},
     {"haze", "haze index", "", 0, 100},
     {"chance", "chance of burning through", "share", 0, 1},
     {"peak", "hottest film", "C", -no_limit, no_limit},
     {"turning", "pad turning", "s", 0, no_limit},
     {"stalled", "pad stalled", "s", 0, no_limit},
     {"time", "time at the panel", "s", 0, no_limit},
     {"unevenness", "unevenness of the open panel", "share", 0, no_limit}}};

/// Cells whose finish stands for the panel's: they lie all over it, the same for every technique and draw.
constexpr std::size_t finish_cells = 400;

/// Steps of the path: no pad moves on by more than a sixth of its radius, so that they do not show as
/// ripples.
StepLimits steps_for(double pad_radius_m) { return {std::min(0.02, pad_radius_m / 6), 0.5}; }

ComparedTechnique prepared(const Library& library, const CompareRequest& asked, const std::string& name,
                           const ComparedTechnique* first) {
    RunRequest request = asked.run;
    request.technique = name;
    request.path_csv.reset();
    if (first) request.readings.reset(); // the film is the first one's
    const Technique technique = !first && asked.first ? *asked.first : library.technique(name);
    const std::string file = library.file_of(PresetKind::technique, name).string();
    Resolved step = resolve(library, technique, file);
    const StepLimits limits = steps_for(step.pad.radius_m);
    ComparedTechnique out;
    out.job = steady(prepare(request, std::move(step),
                             lay_panel(library, request, first ? &first->job.panel : nullptr), limits, file));
    if (first) {
        out.job.request.readings = asked.run.readings;
        out.job.panel = first->job.panel, out.job.film = first->job.film;
    }
    return out;
}

/// Cells spread evenly over the painted ones, by the golden ratio's multiples.
std::vector<std::size_t> cells_for_finish(const Panel& panel) {
    std::vector<std::size_t> inside;
    for (std::size_t k = 0; k < panel.inside.size(); ++k)
        if (panel.inside[k]) inside.push_back(k);
    if (inside.size() <= finish_cells) return inside;
    constexpr double golden = 0.61803398874989484820;
    std::vector<std::size_t> cells;
    for (std::size_t n = 0; n < finish_cells; ++n) {
        const double share = std::fmod(static_cast<double>(n) * golden, 1.0);
        cells.push_back(inside[static_cast<std::size_t>(share * static_cast<double>(inside.size()))]);
    }
    return cells;
}

/// What all draws of all techniques have in common.
struct MeasureContext {
    const Panel& panel;
    std::span<const MarkPopulation> marks;
    std::vector<std::size_t> finish_at;
    double clear_of_m; ///< the largest pad's radius: one open panel for all
    ChanceTerms terms;
    CellChance chance{terms};
};

/// A cell's chance in one draw; cells without any are left out.
struct CellOfDraw {
    std::uint32_t cell;
    float chance;
};

struct Draw {
    ByMeasure<double> values{};
    Fields fields;
    std::vector<CellOfDraw> chances;
};

void measure_film(const MeasureContext& context, const RunJob& job, Draw& draw) {
    const std::vector<float>& removed = draw.fields.removed_um;
    std::vector<double> lost;
    for (const std::size_t k : open_cells(context.panel, draw.fields, context.clear_of_m).cells)
        lost.push_back(static_cast<double>(removed[k]));
    const auto count = static_cast<double>(lost.size());
    const double mean = std::accumulate(lost.begin(), lost.end(), 0.0) / count;
    double squares = 0;
    for (const double um : lost) squares += (um - mean) * (um - mean);
    const auto value = [&](Measure measure) -> double& {
        return draw.values[static_cast<std::size_t>(measure)];
    };
    value(Measure::film_open) = lower_median(lost);
    value(Measure::unevenness) = std::sqrt(squares / count) / mean;
    LossDoubt doubt(context.terms.cut_sd);
    doubt.add_step(draw.fields, job.step.liquid);
    for (std::size_t k = 0; k < removed.size(); ++k) {
        if (!context.panel.inside[k] || removed[k] <= 0) continue;
        const auto um = static_cast<double>(removed[k]), clear = static_cast<double>(job.panel.clear_um[k]),
                   sd = static_cast<double>(job.panel.clear_sd_um[k]);
        value(Measure::film_worst) = std::max(value(Measure::film_worst), um);
        const double loss_sd = doubt.sd_at(k);
        if (context.chance.safe(clear, sd, um, loss_sd)) continue;
        draw.chances.push_back(
            {static_cast<std::uint32_t>(k), static_cast<float>(context.chance.at(clear, sd, um, loss_sd))});
    }
}

void measure_finish(const MeasureContext& context, const RunJob& job, double work_j, Draw& draw) {
    const MarkPopulation own = step_marks(job.step.liquid, job.step.pad, work_j, job.paint.softness);
    MarkedPanel marked(context.panel, context.marks);
    marked.step(draw.fields.removed_um, own);
    double gloss = 0, haze = 0;
    for (const std::size_t cell : context.finish_at) {
        const Finish finish = marked.finish_at(cell);
        gloss += finish.gloss.front(), haze += finish.haze;
    }
    const auto count = static_cast<double>(context.finish_at.size());
    draw.values[static_cast<std::size_t>(Measure::gloss)] = gloss / count;
    draw.values[static_cast<std::size_t>(Measure::haze)] = haze / count;
    draw.values[static_cast<std::size_t>(Measure::cleared)] =
        clearing(context.panel, context.marks, draw.fields.removed_um).share();
}

Draw drawn(const MeasureContext& context, const RunJob& job, Simulation simulation, const ArmPath& path,
           Meter::Task& task) {
    const std::size_t steps = path.samples.size() - 1;
    std::vector<StepReport> trace;
    for (std::size_t k = 0; k < steps; ++k) {
        trace.push_back(simulation.step(path.samples[k], path.samples[k + 1]));
        if (k % 64 == 0 && !task.look(static_cast<double>(k) / static_cast<double>(steps))) throw Stopped();
    }
    Draw draw;
    draw.fields = simulation.fields();
    if (std::ranges::none_of(draw.fields.removed_um, [](float um) { return um > 0; }))
        throw InputError(job.request.technique, "", "a technique that takes no film off the panel",
                         "one that brings the pad onto the panel with some force");
    const Totals totals = simulation.totals();
    const auto set = [&](Measure measure, double value) {
        draw.values[static_cast<std::size_t>(measure)] = value;
    };
    set(Measure::peak, simulation.heat().peak().film_c);
    set(Measure::turning, std::max(0.0, totals.time_down_s - totals.stalled_s));
    set(Measure::stalled, totals.stalled_s);
    set(Measure::time, totals.time_s);
    measure_film(context, job, draw);
    measure_finish(context, job, work_since_fresh_j(path, trace), draw);
    return draw;
}

/// The draws of one technique, added up.
struct Tally {
    std::vector<float> removed_um;
    std::vector<ByMeasure<double>> values;
    std::vector<std::vector<CellOfDraw>> chances;

    void add(Draw draw) {
        removed_um.resize(draw.fields.removed_um.size(), 0.0f);
        for (std::size_t k = 0; k < removed_um.size(); ++k) removed_um[k] += draw.fields.removed_um[k];
        values.push_back(draw.values);
        chances.push_back(std::move(draw.chances));
    }
    void merge(Tally other) {
        for (std::size_t k = 0; k < removed_um.size(); ++k) removed_um[k] += other.removed_um[k];
        std::ranges::copy(other.values, std::back_inserter(values));
        std::ranges::move(other.chances, std::back_inserter(chances));
    }
};

/// Every cell's chance, added up over all draws.
std::vector<double> sums_of_chances(const Tally& tally) {
    std::vector<double> sum(tally.removed_um.size(), 0.0);
    for (const std::vector<CellOfDraw>& draw : tally.chances)
        for (const CellOfDraw& at : draw) sum[at.cell] += static_cast<double>(at.chance);
    return sum;
}

double chance_at(const std::vector<CellOfDraw>& draw, std::size_t cell) {
    const auto at =
        std::ranges::lower_bound(draw, cell, {}, [](const CellOfDraw& c) { return std::size_t{c.cell}; });
    return at != draw.end() && at->cell == cell ? static_cast<double>(at->chance) : 0;
}

void take_over(ComparedTechnique& technique, const Tally& tally, double confidence) {
    const Panel& panel = technique.job.panel;
    const std::vector<double> chances = sums_of_chances(tally);
    technique.weakest_cell = static_cast<std::size_t>(std::ranges::max_element(chances) - chances.begin());
    for (std::size_t n = 0; n < tally.values.size(); ++n) {
        for (const Measure measure : all_measures) {
            const auto m = static_cast<std::size_t>(measure);
            technique.draws[m].push_back(measure == Measure::chance
                                             ? chance_at(tally.chances[n], technique.weakest_cell)
                                             : tally.values[n][m]);
        }
    }
    for (const Measure measure : all_measures) {
        const auto m = static_cast<std::size_t>(measure);
        Estimate& estimate = technique.estimates[m] = mean_estimate(technique.draws[m], confidence);
        estimate.low = std::max(estimate.low, info_of(measure).least);
        estimate.high = std::min(estimate.high, info_of(measure).most);
    }
    technique.mean_removed_um.assign(panel.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    technique.mean_chance = technique.mean_removed_um;
    const auto draws = static_cast<float>(tally.values.size());
    for (std::size_t k = 0; k < technique.mean_removed_um.size(); ++k) {
        if (!panel.inside[k]) continue;
        technique.mean_removed_um[k] = tally.removed_um[k] / draws;
        technique.mean_chance[k] = static_cast<float>(chances[k]) / draws;
    }
}

void hold_against_first(Comparison& comparison) {
    const double confidence = comparison.request.terms.confidence;
    std::vector<double> p;
    for (std::size_t t = 1; t < comparison.techniques.size(); ++t)
        for (const Measure measure : all_measures) {
            const auto m = static_cast<std::size_t>(measure);
            ComparedDifference one{t, measure,
                                   paired_difference(comparison.techniques.front().draws[m],
                                                     comparison.techniques[t].draws[m], confidence)};
            const double widest = info_of(measure).most - info_of(measure).least; // between what two can be
            one.paired.estimate.low = std::max(one.paired.estimate.low, -widest);
            one.paired.estimate.high = std::min(one.paired.estimate.high, widest);
            p.push_back(one.paired.p);
            comparison.differences.push_back(one);
        }
    const std::vector<double> adjusted = holm_adjusted(p);
    for (std::size_t k = 0; k < p.size(); ++k) {
        comparison.differences[k].p_adjusted = adjusted[k];
        comparison.differences[k].more_than_noise = adjusted[k] <= 1 - confidence;
    }
}

std::vector<Tally> draw_all(const Comparison& comparison, Meter& meter) {
    const std::vector<ComparedTechnique>& techniques = comparison.techniques;
    double largest_m = 0;
    for (const ComparedTechnique& technique : techniques)
        largest_m = std::max(largest_m, technique.job.step.pad.radius_m);
    ChanceTerms terms;
    terms.reserve_um = comparison.request.terms.reserve_um, terms.cut_sd = comparison.request.terms.cut_sd;
    const MeasureContext context{comparison.panel(), comparison.defects.marks,
                                 cells_for_finish(comparison.panel()), largest_m, terms};
    std::vector<std::unique_ptr<const Simulation>> fresh(techniques.size());
    oneapi::tbb::parallel_for(std::size_t{0}, techniques.size(), [&](std::size_t t) {
        fresh[t] = std::make_unique<const Simulation>(comparison.panel(), setup_of(techniques[t].job));
    });
    const auto draw = [&](Tally& tally, std::size_t t, std::size_t number) {
        const RunJob& job = techniques[t].job;
        const HandVariation hand = hand_to_draw(job);
        const ArmPath path =
            varies(hand) ? vary(job.path, hand, seed_of_draw(job.request.seed, number)) : job.path;
        {
            Meter::Task task(meter, 1);
            tally.add(drawn(context, job, *fresh[t], path, task));
        }
        meter.add(0); // tells that the whole of it is done
    };
    return tally_draws(techniques.size(), comparison.draws, Tally{}, draw);
}

} // namespace

const MeasureInfo& info_of(Measure measure) { return infos[static_cast<std::size_t>(measure)]; }

void demand_compared(const CompareRequest& request) {
    const std::vector<std::string>& techniques = request.techniques;
    const std::string allowed = fmt::format("{} to {} techniques, each once", fewest_compared, most_compared);
    if (techniques.size() < fewest_compared || techniques.size() > most_compared)
        throw InputError("", "techniques", techniques.size() == 1 ? "one" : std::to_string(techniques.size()),
                         allowed);
    std::set<std::string> seen;
    for (std::size_t t = request.first ? 1 : 0; t < techniques.size(); ++t) // a changed one is another one
        if (!seen.insert(techniques[t]).second)
            throw InputError("", "techniques", "\"" + techniques[t] + "\" twice", allowed);
}

std::vector<ComparedTechnique> prepare_compared(const Library& library, const CompareRequest& request) {
    demand_compared(request);
    std::vector<ComparedTechnique> techniques;
    for (const std::string& name : request.techniques) {
        techniques.push_back(
            prepared(library, request, name, techniques.empty() ? nullptr : &techniques.front()));
        techniques.back().letter = static_cast<char>('A' + techniques.size() - 1);
    }
    return techniques;
}

Comparison compare_techniques(const Library& library, const CompareRequest& request, int threads,
                              const Progress& progress) {
    Comparison comparison;
    comparison.request = request;
    comparison.techniques = prepare_compared(library, request);
    comparison.defects = library.defects(request.defects);
    std::vector<ComparedTechnique>& techniques = comparison.techniques;
    comparison.hand_varies = std::ranges::any_of(
        techniques, [](const ComparedTechnique& t) { return varies(hand_to_draw(t.job)); });
    comparison.draws = comparison.hand_varies ? std::max(1, request.terms.replicates) : 1;
    Meter meter(static_cast<double>(techniques.size()) * comparison.draws, progress);
    std::vector<Tally> tallies_of;
    on_threads(threads, [&] { tallies_of = draw_all(comparison, meter); });
    for (std::size_t t = 0; t < techniques.size(); ++t)
        take_over(techniques[t], tallies_of[t], request.terms.confidence);
    hold_against_first(comparison);
    comparison.settings = settings_that_differ(techniques);
    return comparison;
}

std::vector<float> lost_over_first_um(const Comparison& comparison, std::size_t technique) {
    std::vector<float> over = comparison.techniques[technique].mean_removed_um;
    const std::vector<float>& first = comparison.techniques.front().mean_removed_um;
    for (std::size_t k = 0; k < over.size(); ++k) over[k] -= first[k];
    return over;
}

} // namespace sparecoat::study
