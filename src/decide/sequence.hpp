#pragma once
#include "decide/learning.hpp"
#include "finish/finish.hpp"
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::decide {

/// What one set of a step does to some ground, a square's or the open panel's, as simulated on its paint
/// preset: the piece from which sequences are put together, for removal is in proportion to the sets
/// (Preston) while each set starts with fresh liquid on a clean pad.
struct StepEffect {
    std::string id;                ///< "da-15+medium-foam-150+polish"
    std::string words;             ///< "polish on a medium foam 150 mm pad, free-spinning orbital 15 mm"
    std::vector<float> removed_um; ///< per cell of the ground, the same cells in the same order for all steps
    double mean_um = 0;
    MarkPopulation own;     ///< marks that it leaves, where it has worked the surface all over
    double time_s = 0;      ///< of one set on the square
    double peak_film_c = 0; ///< on the ground
    bool too_hot = false;   ///< for the panel, however slow
    double pad_radius_m = 0;
    double firmness_pa = 0; ///< of its pad: the pressure at which its cells or fibres give way
};

/// So many sets of one step, by its index.
struct Sets {
    std::size_t step = 0;
    int sets = 1;
    bool operator==(const Sets&) const = default;
};
using Sequence = std::vector<Sets>;

/// What a sequence takes off the judged cells, all together.
RemovedSpread removed_by(std::span<const StepEffect> steps, const Sequence& sequence);
double mean_removed_um(std::span<const StepEffect> steps, const Sequence& sequence);
double time_of(std::span<const StepEffect> steps, const Sequence& sequence);

/// The marks that the steps have left of their own where the judged ground lost the mean: each step wears
/// down the marks of those before it. What was there before the first step is left out.
std::vector<Marks> marks_after(std::span<const StepEffect> steps, const Sequence& sequence,
                               double cut_scale = 1);
/// Finish::haze of those.
double haze_after(std::span<const StepEffect> steps, const Sequence& sequence, double cut_scale = 1);

/// A range of factors on the removal.
struct CutRange {
    double low = 0.7,
           high = 1.4; ///< a standard deviation to each side, of a paint and a hand that nothing is known of
};
/// The most haze over a range of cuts. What a step leaves of its own grows with the cut, what it leaves of a
/// coarser step's falls, so the most is at an end.
double worst_haze(std::span<const StepEffect> steps, const Sequence& sequence, CutRange cuts);

/// "2 sets of polish on ..., then 1 set of ...".
std::string words_of(std::span<const StepEffect> steps, const Sequence& sequence);

/// What the panel is to look like at the end, how surely, and what has to stay.
struct Target {
    double share = 0.95;       ///< of the marks cleared
    double haze = 2.5;         ///< Finish::haze of the steps' own marks at the most; a polish leaves about 2
    double chance = 0.8;       ///< of reaching both
    double reserve_um = 15;    ///< clear coat that has to stay
    double keep_chance = 0.95; ///< of its staying
};

/// Sequences to look at, by predicted film lost with the presets, ties by time: each step of the kit that is
/// for open ground (work_rules.hpp) in one set or two, followed, where its haze or found haze needs it, by
/// one or two finer steps: those that bring the haze down to the target over the whole range of cuts at the
/// least film. Where none of the kit can, those that come nearest. Of sequences that take as much film to the
/// hundredth of a micrometre only the quickest is kept.
std::vector<Sequence> candidates(std::span<const StepEffect> steps, const Target& target,
                                 std::span<const MarkPopulation> marks = {}, CutRange cuts = {});

/// Clear coat of the ground where it is thinnest.
struct ClearCoat {
    double mean_um = 0, sd_um = 0;
};

struct Interval {
    double low = 0, median = 0, high = 0; ///< 5th, 50th, 95th percentile
};

/// What may come of a sequence.
struct Outlook {
    Sequence sequence;
    Interval share;              ///< of the marks cleared
    Interval film_um;            ///< lost, mean of the ground
    double haze = 0;             ///< at the median cut
    double chance_of_target = 0; ///< share and haze
    double chance_of_keeping =
        0; ///< that the reserve stays in the ground's most worked sixteenth, were its film the thinnest
    double time_s = 0;
};

/// A sequence at the points of a belief.
struct AtPoints {
    std::vector<double> share, film_um, haze;
    std::vector<double> keeping; ///< chance that the reserve is kept
};
AtPoints at_points(std::span<const StepEffect> steps, const Sequence& sequence,
                   std::span<const MarkPopulation> marks, std::span<const BeliefPoint> belief,
                   const ClearCoat& clear, double reserve_um);

/// The share of marks that is cleared with a chance, along with the haze where `haze` says how much may stay.
double sure_share(const AtPoints& at, std::span<const BeliefPoint> belief, double chance,
                  std::optional<double> haze);

/// Of all sequences that the rules allow and that take less film than `limit_um`, those that may be the
/// mildest which does it: candidates() refines each first step in the one way that is safe over all cuts that
/// are likely; a way that is not may still be sure enough with less film. They are screened at few points of
/// the belief; what comes near the chance that is asked for is worth weighing in full, and so is what none of
/// the others beats in share, film and time.
std::vector<Sequence> sequences_worth(std::span<const StepEffect> steps,
                                      std::span<const MarkPopulation> marks, const PanelBelief& belief,
                                      const ClearCoat& clear, const Target& target, double limit_um,
                                      CutRange cuts = {});

Outlook outlook_of(const AtPoints& at, std::span<const StepEffect> steps, const Sequence& sequence,
                   std::span<const BeliefPoint> belief, const Target& target);

} // namespace sparecoat::decide
