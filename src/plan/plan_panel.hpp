#pragma once
#include "plan/plan.hpp"
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::plan {

// One panel worked all over: its steps laid, simulated and kept off where they would burn through.

/// A panel with what is known of it.
struct WholePanel {
    std::shared_ptr<const Panel> panel; ///< on cells of 4 mm, with its film as far as it is known
    RunRequest request; ///< without technique and readings: the film has no say in what a step removes
    std::vector<MarkPopulation> marks;
    double cut = 1,
           cut_sd = 0.3; ///< median of what the sections taught of the cut, and the sd of its logarithm
    double depth = 1;    ///< and of the marks' depth
};

/// One set of a step over all of the panel, a steady hand; nothing where its pad has no room. @throws
/// InputError.
std::optional<RunJob> lay_over(const Library& library, const WholePanel& whole, const Technique& technique);

/// Chance that the thinnest open ground keeps the reserve when every cell of it loses what the most worked of
/// the judged ground would. Open ground is `clear_of_m` and more from edges and lines; where a panel has none
/// such, half of that.
double open_keeping(const WholePanel& whole, double removed_um, double reserve_um, double clear_of_m);

/// One of the steps of a sequence.
struct StepWork {
    Technique technique; ///< of one set
    int sets = 1;
};

/// A sequence over the whole panel.
struct PanelWork {
    std::vector<StepWork> steps;                    ///< with their hold-backs and tape
    std::vector<std::vector<std::string>> kept_off; ///< per step, in words
    std::vector<RunJob> jobs;                       ///< per step, of one set
    std::vector<RunResult> results;
    std::vector<double> open_um;                   ///< per step, of one set at the median cut
    Fields sum;                                    ///< of all sets at the median cut
    std::vector<RegionAtRisk> regions;             ///< that are left
    double highest_chance = 0, standard_error = 0; ///< of any spot
    std::size_t weakest_cell = 0;                  ///< where that is
    double peak_film_c = 0;                        ///< the hottest anywhere, of any step
    std::size_t hottest_step = 0;                  ///< and of which
    double time_s = 0;                             ///< that machines run
    int tapes = 0;                                 ///< edges and lines that are taped
};

struct PanelWorkTerms {
    double reserve_um = 15, threshold = 0.01;
    int pairs = 16;
    std::uint64_t seed = 1;
    HandVariation hand = usual_hand;
    bool tape_first = false; ///< at edges too; else they are held back from first, which takes no time
};

/// Works a sequence over the panel. Where an edge or a line passes the threshold, the steps that take most
/// there hold the pad back from it or tape it (PanelWorkTerms::tape_first), a notch at a time, until it does
/// not or there is nothing milder left to do. Where a step gets the film hotter at one than it may, that step
/// holds back from it.
///
/// The chance at a cell is that of section 9 of docs/model.md for the sum of all sets: film and cut, which
/// all sets have in common, are integrated; the hand is drawn anew for every set of the steps that take a
/// fifth of the film or more. A step's draws serve all of its sets, each set taking them up one later than
/// the one before.
///
/// Within the caller's oneTBB arena; how much there is to do is not known before, so that the share told only
/// nears 1; the outcome does not depend on its threads. @throws InputError, Stopped.
PanelWork work_panel(const Library& library, const WholePanel& whole, std::vector<StepWork> steps,
                     const PanelWorkTerms& terms, const Progress& progress = {});

} // namespace sparecoat::plan
