#pragma once
#include "decide/chance.hpp"
#include "run/remedies.hpp"
#include "run/run_job.hpp"
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace sparecoat::study {

/// What `risk` asks.
struct RiskRequest {
    RunRequest run;
    ChanceTerms terms;
    double threshold = 0.01; ///< chance from which a cell is at risk
    int spots = 3;           ///< regions for which single changes are tried
    int remedy_pairs = 8;    ///< draws for each of those
};

/// The chances of one job: what a steady hand removes, and what may become of it.
struct RiskMap {
    Fields steady;                                              ///< of the path as meant
    Verdict verdict;                                            ///< on those
    std::vector<float> chance, standard_error, mean_removed_um; ///< per cell; NaN off the panel
    /// The same with the work done so many times over that the open panel loses what it was asked to lose.
    double times = 1;
    std::vector<float> equal_chance, equal_standard_error;
    int pairs = 0;
    bool hand_varies = false; ///< else only film and cut are uncertain
    std::vector<RegionAtRisk> regions;
};

/// Draws the hand of a steady job `terms.pairs` times over a coarser copy of the job (cells of 4 mm or the
/// job's own, steps of up to 20 mm of arm travel) beside one run of the job as it stands. Shares the
/// geometry: panels, layer fields and the steady path are made once. The draws are dealt to a fixed number of
/// tallies that are merged in order, so that the outcome does not depend on `threads`.
RiskMap risk_map(const Library& library, const RunJob& job, const ChanceTerms& terms, double threshold,
                 int threads, const Progress& progress = {});

/// One change to the technique and what it does for a region.
struct Remedy {
    RemedyKind kind = RemedyKind::hold_back;
    std::string words;   ///< "hold the pad's rim 15 mm back from the wheel arch edge"
    Technique technique; ///< changed
    Peak peak;           ///< the highest chance in and around the region with it
    double open_um = 0;  ///< what the open panel still loses: how much of the work remains
    double time_s = 0;   ///< at the panel
    /// A change that takes less off is worked longer until the same marks are gone. How many times over, and
    /// the highest chance then: this is what changes are compared by.
    double times = 1;
    Peak equal;
};

struct SpotAdvice {
    RegionAtRisk region;
    std::vector<Remedy> remedies; ///< by the chance at equal work, lowest first; of equals, the quicker
};

/// What single changes do for each of some regions of a steady job, ordered as in SpotAdvice. Changes to the
/// technique as a whole are worked out once and read off at every region.
/// @param open_um what the open panel loses by the job as it stands. @throws InputError, Stopped.
std::vector<SpotAdvice> try_changes(const Library& library, const RunJob& job,
                                    std::vector<RegionAtRisk> regions, const ChanceTerms& terms,
                                    double threshold, double open_um, int threads,
                                    const Progress& progress = {});

struct RiskReport {
    RunJob job; ///< with a steady hand's path
    ChanceTerms terms;
    double threshold = 0;
    RiskMap map;
    std::vector<SpotAdvice> spots; ///< the first of map.regions
};

/// The whole answer. @throws InputError, Stopped.
RiskReport assess_risk(const Library& library, const RiskRequest& request, int threads,
                       const Progress& progress = {});

/// docs/schema/risk.schema.json.
nlohmann::json risk_json(const RiskReport& report);

} // namespace sparecoat::study
