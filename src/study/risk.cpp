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

/// The draws' grid and steps. The hand's deviations are smooth over the pad's own size, so a quarter of the
/// cells and a fifth of the steps carry them; the fine run beside them has the edges.
constexpr double coarse_grid_m = 0.004;
constexpr StepLimits coarse_steps{0.02, 0.5};
/// The place's deviation that counts as its greatest.
constexpr double farthest_deviations = 3;
/// How far round a region a remedy is held to account: it must not push the trouble next door.
constexpr double around_m = 0.03;

/// The run on the job's own cells beside a map's draws counts as so many pairs of them.
constexpr double fine_run_pairs = 6;

/// A job's coarser copy: shape, tape and path, without what only the fine film needs.
struct CoarseJob {
    Panel panel;
    Setup setup;
    ArmPath path;
};

CoarseJob coarsened(const Library& library, const RunJob& job) {
    RunRequest request = job.request;
    request.readings.reset();
    request.grid_m = std::max(coarse_grid_m, request.grid_m);
    RunJob coarse = prepare(library, request, job.step.technique, nullptr, coarse_steps);
    if (request.path_csv) coarse.path = job.path; // as recorded, and as a change has left it
    coarse.setup.heat = false;
    return {std::move(coarse.panel), std::move(coarse.setup), std::move(coarse.path)};
}

std::vector<float> removed_by(Simulation simulation, const ArmPath& path) {
    for (std::size_t k = 0; k + 1 < path.samples.size(); ++k)
        simulation.step(path.samples[k], path.samples[k + 1]);
    return simulation.fields().removed_um;
}

RiskMap map_of(const Library& library, const RunJob& job, const ChanceTerms& terms, Meter& meter) {
    RiskMap out;
    const auto look = [](double share, void* to) {
        return static_cast<Meter*>(to)->look(share, fine_run_pairs);
    };
    out.steady = simulate(job.panel, job.setup, job.path, look, &meter).fields;
    meter.add(fine_run_pairs);
    const std::optional<Verdict> verdict = judge_if_worked(job.panel, out.steady, job.step.pad.radius_m);
    if (!verdict)
        throw InputError(job.request.technique, "", "a technique that takes no film off the panel",
                         "one that brings the pad onto the panel with some force");
    out.verdict = *verdict;
    const HandVariation hand = job.hand;
    out.hand_varies = varies(hand);
    out.pairs = out.hand_varies ? std::max(1, terms.pairs) : 1;

    const CoarseJob coarse = coarsened(library, job);
    const Simulation fresh(coarse.panel, coarse.setup);
    const std::vector<float> steady = removed_by(fresh, coarse.path);
    const Refinement refine(coarse.panel, job.panel);
    const DrawContext context{&job.panel, &out.steady, &coarse.panel,
                              steady,     &refine,     farthest_deviations * hand.spacing_m};
    std::vector<ChanceTally> parts(static_cast<std::size_t>(std::min(tallies, out.pairs)),
                                   ChanceTally(context, terms));
    oneapi::tbb::parallel_for(std::size_t{0}, parts.size(), [&](std::size_t part) {
        const auto count = static_cast<std::size_t>(out.pairs), deal = parts.size();
        for (std::size_t pair = part * count / deal; pair < (part + 1) * count / deal; ++pair) {
            if (!out.hand_varies) {
                parts[part].add(steady, steady);
            } else {
                const std::uint64_t seed = terms.seed + 0x9e3779b97f4a7c15ULL * (pair + 1);
                const std::vector<float> drawn = removed_by(fresh, vary(coarse.path, hand, seed, 1));
                parts[part].add(drawn, removed_by(fresh, vary(coarse.path, hand, seed, -1)));
            }
            meter.add(1);
        }
    });
    for (std::size_t part = 1; part < parts.size(); ++part) parts.front().merge(parts[part]);
    out.chance = parts.front().chance();
    out.standard_error = parts.front().standard_error();
    out.mean_removed_um = parts.front().mean_removed_um();
    return out;
}

/// A change worked out; nothing if it cannot be worked that way: no room for the pad, say, or nothing left to
/// polish.
struct Trial {
    RiskMap map;
    double time_s = 0;
};
std::optional<Trial> tried(const Library& library, const RunJob& job, const Change& change,
                           const ChanceTerms& terms, Meter& meter) {
    const std::optional<RunJob> changed = apply(library, job, change);
    if (!changed) return std::nullopt;
    try {
        return Trial{map_of(library, *changed, terms, meter), changed->path.duration_s()};
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
            trial.time_s};
}

/// Tries a chain of ever stronger changes until one brings the region under the threshold. The last one tried
/// stands; nothing if none can be worked at all.
std::optional<Remedy> try_chain(const Library& library, const RunJob& job, const RegionAtRisk& region,
                                const std::vector<Change>& chain, const ChanceTerms& terms, double threshold,
                                Meter& meter) {
    std::optional<Remedy> best;
    for (const Change& change : chain) {
        const std::optional<Trial> trial = tried(library, job, change, terms, meter);
        if (!trial) continue;
        best = remedy_of(job, region, change, *trial);
        if (best->peak.chance < threshold) break;
    }
    return best;
}

// What is to come is not known before the regions are; this is what it comes to in most cases.
constexpr double chains_a_spot = 3, changes_for_all = 4;
double expected_pairs(int pairs, int spots) {
    return (pairs + fine_run_pairs) * (changes_for_all + chains_a_spot * spots);
}

std::vector<SpotAdvice> advise(const Library& library, const RunJob& job, std::vector<RegionAtRisk> regions,
                               const ChanceTerms& terms, double threshold, Meter& meter) {
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
            trials[n] = tried(library, job, whole[n], terms, meter);
        } else {
            Chain& chain = chains[n - whole.size()];
            chain.result =
                try_chain(library, job, spots[chain.spot].region, chain.changes, terms, threshold, meter);
        }
    });

    for (std::size_t k = 0; k < spots.size(); ++k) {
        SpotAdvice& spot = spots[k];
        for (std::size_t n = 0; n < whole.size(); ++n)
            if (trials[n]) spot.remedies.push_back(remedy_of(job, spot.region, whole[n], *trials[n]));
        for (Chain& chain : chains)
            if (chain.spot == k && chain.result) spot.remedies.push_back(std::move(*chain.result));
        // Chances that differ by less than can be told apart are equal; then the one that leaves more work
        // done.
        const auto rank = [&](const Remedy& r) { return std::max(r.peak.chance, 0.1 * threshold); };
        std::stable_sort(spot.remedies.begin(), spot.remedies.end(), [&](const Remedy& a, const Remedy& b) {
            return rank(a) != rank(b) ? rank(a) < rank(b) : a.open_um > b.open_um;
        });
    }
    return spots;
}

} // namespace

RiskMap risk_map(const Library& library, const RunJob& job, const ChanceTerms& terms, double threshold,
                 int threads, const RiskProgress& progress) {
    RiskMap map;
    Meter meter(std::max(1, terms.pairs) + fine_run_pairs, progress);
    on_threads(threads, [&] { map = map_of(library, job, terms, meter); });
    map.regions = regions_at_risk(job.panel, map.steady, map.verdict.open, terms, map.chance,
                                  map.standard_error, threshold);
    return map;
}

std::vector<SpotAdvice> try_changes(const Library& library, const RunJob& job,
                                    std::vector<RegionAtRisk> regions, const ChanceTerms& terms,
                                    double threshold, int threads, const RiskProgress& progress) {
    Meter meter(expected_pairs(terms.pairs, static_cast<int>(regions.size())), progress);
    std::vector<SpotAdvice> spots;
    on_threads(threads, [&] { spots = advise(library, job, std::move(regions), terms, threshold, meter); });
    return spots;
}

RiskReport assess_risk(const Library& library, const RiskRequest& request, int threads,
                       const RiskProgress& progress) {
    RiskReport report{prepare_steady(library, request.run), request.terms, request.threshold, {}, {}};
    Meter meter(request.terms.pairs + fine_run_pairs + expected_pairs(request.remedy_pairs, request.spots),
                progress);
    ChanceTerms trial = request.terms;
    trial.pairs = request.remedy_pairs;
    on_threads(threads, [&] {
        report.map = map_of(library, report.job, request.terms, meter);
        report.map.regions =
            regions_at_risk(report.job.panel, report.map.steady, report.map.verdict.open, request.terms,
                            report.map.chance, report.map.standard_error, request.threshold);
        std::vector<RegionAtRisk> regions = report.map.regions;
        regions.resize(std::min(regions.size(), static_cast<std::size_t>(std::max(0, request.spots))));
        report.spots = advise(library, report.job, std::move(regions), trial, request.threshold, meter);
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
