#include "study/risk.hpp"
#include "decide/cautions.hpp"
#include "run/draws.hpp"
#include "run/meter.hpp"
#include "run/remedies.hpp"
#include "run/summary_parts.hpp"
#include "run/threads.hpp"
#include "tool/vary.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <oneapi/tbb/parallel_for.h>

namespace sparecoat::study {
namespace {

/// How far round a region a remedy is held to account: it must not push the trouble next door.
constexpr double around_m = 0.03;

/// The run on the job's own cells beside a map's draws counts as so many pairs of them.
constexpr double fine_run_pairs = 6;

/// The chances of the work as it is and, where that is another, of as much as takes the same off the open
/// panel.
struct TwoTallies {
    ChanceTally as_is;
    std::optional<ChanceTally> equal;
    void add(std::span<const float> drawn, std::span<const float> mirrored) {
        as_is.add(drawn, mirrored);
        if (equal) equal->add(drawn, mirrored);
    }
    void merge(const TwoTallies& other) {
        as_is.merge(other.as_is);
        if (equal) equal->merge(*other.equal);
    }
};

/// @param open_um what the open panel has to lose at equal work; 0: what it loses.
RiskMap map_of(const Library& library, const RunJob& job, const ChanceTerms& terms, double open_um,
               Meter& meter) {
    RiskMap out;
    {
        Meter::Task fine(meter, fine_run_pairs);
        out.steady = simulate(job, [&](double share) { return fine.look(share); }).fields;
    }
    meter.add(0); // tells that the whole of it is done
    const std::optional<Verdict> verdict = judge_if_worked(job.panel, out.steady, job.step.pad.radius_m);
    if (!verdict)
        throw InputError(job.request.technique, "", "a technique that takes no film off the panel",
                         "one that brings the pad onto the panel with some force");
    out.verdict = *verdict;
    const HandVariation hand = hand_to_draw(job);
    out.hand_varies = varies(hand);
    out.pairs = out.hand_varies ? std::max(1, terms.pairs) : 1;

    const RunJob coarse = coarsened(library, job);
    const Simulation fresh(coarse.panel, cold_setup_of(coarse));
    const std::vector<float> steady_um = removed_along(fresh, coarse.path);
    const Refinement refine(coarse.panel, job.panel);
    LossDoubt doubt(terms.cut_sd);
    doubt.add_step(out.steady, job.step.liquid);
    const DrawContext context{.fine = &job.panel,
                              .steady_fine = &out.steady,
                              .coarse = &coarse.panel,
                              .steady_coarse_um = steady_um,
                              .refine = &refine,
                              .reach_m = farthest_deviations * hand.spacing_m,
                              .doubt = &doubt};
    TwoTallies none{ChanceTally(context, terms), {}};
    if (open_um > 0 && out.verdict.open.median_um > 0) {
        DrawContext equal = context;
        out.times = equal.times = open_um / out.verdict.open.median_um;
        none.equal.emplace(equal, terms);
    }
    const auto draw = [&](TwoTallies& tally, std::size_t pair) {
        if (!out.hand_varies) {
            tally.add(steady_um, steady_um);
        } else {
            const DrawnPair of = drawn_pair(fresh, coarse.path, hand, seed_of_draw(terms.seed, pair));
            tally.add(of.drawn, of.mirrored);
        }
        meter.add(1);
    };
    const TwoTallies tally = tally_draws(out.pairs, none, draw);
    out.chance = tally.as_is.chance();
    out.standard_error = tally.as_is.standard_error();
    out.mean_removed_um = tally.as_is.mean_removed_um();
    out.equal_chance = tally.equal ? tally.equal->chance() : out.chance;
    out.equal_standard_error = tally.equal ? tally.equal->standard_error() : out.standard_error;
    return out;
}

/// A change worked out; nothing if it cannot be worked that way: no room for the pad, say, or nothing left to
/// polish.
struct Trial {
    RiskMap map;
    double time_s = 0;
};
std::optional<Trial> tried(const Library& library, const RunJob& job, const Change& change,
                           const ChanceTerms& terms, double open_um, Meter& meter) {
    const std::optional<RunJob> changed = apply(library, job, change);
    if (!changed) return std::nullopt;
    try {
        return Trial{map_of(library, *changed, terms, open_um, meter), changed->path.duration_s()};
    } catch (const InputError&) {
        return std::nullopt;
    }
}

Remedy remedy_of(const RunJob& job, const RegionAtRisk& region, const Change& change, const Trial& trial) {
    return {change.kind,
            change.words,
            change.technique,
            peak_around(job.panel, region, trial.map.chance, trial.map.standard_error, around_m),
            trial.map.verdict.open.median_um,
            trial.time_s,
            trial.map.times,
            peak_around(job.panel, region, trial.map.equal_chance, trial.map.equal_standard_error, around_m)};
}

/// Tries a chain of ever stronger changes until one brings the region under the threshold. The last one tried
/// stands; nothing if none can be worked at all.
std::optional<Remedy> try_chain(const Library& library, const RunJob& job, const RegionAtRisk& region,
                                const std::vector<Change>& chain, const ChanceTerms& terms, double threshold,
                                double open_um, Meter& meter) {
    std::optional<Remedy> best;
    for (const Change& change : chain) {
        const std::optional<Trial> trial = tried(library, job, change, terms, open_um, meter);
        if (!trial) continue;
        best = remedy_of(job, region, change, *trial);
        if (best->equal.chance < threshold) break;
    }
    return best;
}

// What is to come is not known before the regions are; this is what it comes to in most cases.
constexpr double chains_a_spot = 3, changes_for_all = 4;
double expected_pairs(int pairs, int spots) {
    return (pairs + fine_run_pairs) * (changes_for_all + chains_a_spot * spots);
}

std::vector<SpotAdvice> advise(const Library& library, const RunJob& job, std::vector<RegionAtRisk> regions,
                               const ChanceTerms& terms, double threshold, double open_um, Meter& meter) {
    std::vector<SpotAdvice> spots;
    for (RegionAtRisk& region : regions) spots.push_back({std::move(region), {}});
    if (spots.empty()) return spots;

    // Changes to the technique as a whole are worked out once and read off at every spot.
    const std::vector<Change> whole = changes_of_technique(library, job);
    std::vector<std::optional<Trial>> trials(whole.size());
    struct Chain {
        std::size_t spot;
        std::vector<Change> changes;
        std::optional<Remedy> result;
    };
    std::vector<Chain> chains;
    for (std::size_t k = 0; k < spots.size(); ++k)
        for (std::vector<Change>& changes : changes_at(job, spots[k].region))
            chains.push_back({k, std::move(changes), {}});
    oneapi::tbb::parallel_for(std::size_t{0}, whole.size() + chains.size(), [&](std::size_t n) {
        if (n < whole.size()) {
            trials[n] = tried(library, job, whole[n], terms, open_um, meter);
        } else {
            Chain& chain = chains[n - whole.size()];
            chain.result = try_chain(library, job, spots[chain.spot].region, chain.changes, terms, threshold,
                                     open_um, meter);
        }
    });

    for (std::size_t k = 0; k < spots.size(); ++k) {
        SpotAdvice& spot = spots[k];
        for (std::size_t n = 0; n < whole.size(); ++n)
            if (trials[n]) spot.remedies.push_back(remedy_of(job, spot.region, whole[n], *trials[n]));
        for (Chain& chain : chains)
            if (chain.spot == k && chain.result) spot.remedies.push_back(std::move(*chain.result));
        // Chances that differ by less than can be told apart are equal; then the quicker one.
        const auto rank = [&](const Remedy& r) { return std::max(r.equal.chance, 0.1 * threshold); };
        std::stable_sort(spot.remedies.begin(), spot.remedies.end(), [&](const Remedy& a, const Remedy& b) {
            return rank(a) != rank(b) ? rank(a) < rank(b) : a.times * a.time_s < b.times * b.time_s;
        });
    }
    return spots;
}

} // namespace

RiskMap risk_map(const Library& library, const RunJob& job, const ChanceTerms& terms, double threshold,
                 int threads, const Progress& progress) {
    RiskMap map;
    Meter meter(std::max(1, terms.pairs) + fine_run_pairs, progress);
    on_threads(threads, [&] { map = map_of(library, job, terms, 0, meter); });
    map.regions = regions_at_risk(job.panel, map.steady, map.verdict.open, terms, map.chance,
                                  map.standard_error, threshold);
    return map;
}

std::vector<SpotAdvice> try_changes(const Library& library, const RunJob& job,
                                    std::vector<RegionAtRisk> regions, const ChanceTerms& terms,
                                    double threshold, double open_um, int threads, const Progress& progress) {
    Meter meter(expected_pairs(terms.pairs, static_cast<int>(regions.size())), progress);
    std::vector<SpotAdvice> spots;
    on_threads(threads,
               [&] { spots = advise(library, job, std::move(regions), terms, threshold, open_um, meter); });
    return spots;
}

RiskReport assess_risk(const Library& library, const RiskRequest& request, int threads,
                       const Progress& progress) {
    RiskReport report{steady(prepare(library, request.run)), request.terms, request.threshold, {}, {}};
    Meter meter(request.terms.pairs + fine_run_pairs + expected_pairs(request.remedy_pairs, request.spots),
                progress);
    ChanceTerms trial = request.terms;
    trial.pairs = request.remedy_pairs;
    on_threads(threads, [&] {
        report.map = map_of(library, report.job, request.terms, 0, meter);
        report.map.regions =
            regions_at_risk(report.job.panel, report.map.steady, report.map.verdict.open, request.terms,
                            report.map.chance, report.map.standard_error, request.threshold);
        std::vector<RegionAtRisk> regions = report.map.regions;
        regions.resize(std::min(regions.size(), static_cast<std::size_t>(std::max(0, request.spots))));
        report.spots = advise(library, report.job, std::move(regions), trial, request.threshold,
                              report.map.verdict.open.median_um, meter);
    });
    return report;
}

nlohmann::json risk_json(const RiskReport& report) {
    using nlohmann::json;
    const RunJob& job = report.job;
    const RiskMap& map = report.map;
    json spots = json::array();
    for (std::size_t k = 0; k < map.regions.size(); ++k) {
        const RegionAtRisk& region = map.regions[k];
        json spot = spot_json(region.spot);
        if (region.spot.removed_um <= 0) spot["factors"] = spot["against_open_panel"] = nullptr;
        spot["chance"] = region.chance;
        spot["standard_error"] = region.standard_error;
        spot["thin_before"] = region.thin_before;
        spot["area_cm2"] = region.area_m2 * 1e4;
        spot["remedies"] = json::array();
        if (k < report.spots.size())
            for (const Remedy& remedy : report.spots[k].remedies)
                spot["remedies"].push_back(
                    {{"kind", name_of(remedy.kind)},
                     {"words", remedy.words},
                     {"chance", remedy.peak.chance},
                     {"standard_error", remedy.peak.standard_error},
                     {"open_panel_um", remedy.open_um},
                     {"time_s", remedy.time_s},
                     {"equal_work",
                      {{"times", remedy.times},
                       {"chance", remedy.equal.chance},
                       {"standard_error", remedy.equal.standard_error}}},
                     {"technique", technique_json(job.request.technique, remedy.technique)}});
        spots.push_back(std::move(spot));
    }
    return {{"kind", "sparecoat-risk"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"inputs", inputs_json(job)},
            {"film", film_json(job)},
            {"terms",
             {{"reserve_um", report.terms.reserve_um},
              {"cut_sd_log", report.terms.cut_sd},
              {"threshold", report.threshold},
              {"draws", map.hand_varies ? 2 * map.pairs : 0},
              {"seed", report.terms.seed}}},
            {"open_panel_um", map.verdict.open.median_um},
            {"spots", spots}};
}

} // namespace sparecoat::study
