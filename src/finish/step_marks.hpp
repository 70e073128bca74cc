#pragma once
#include "finish/finish.hpp"
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include "tool/tool.hpp"
#include <span>
#include <vector>

namespace sparecoat::finish {

// The marks that a step leaves of its own. All constants here are from memory, chosen so that what the trade
// says of its steps comes out (common practice, no source): a cut leaves haze that a polish takes out, the
// polish a faint one that a finishing polish takes out, which leaves next to nothing; paper leaves marks
// that need a cut.

/// Groove depth over grain size, for a pad and a paint that cut as the typical do.
inline constexpr double groove_per_grain = 0.14;
/// The same of paper. Its grains stand side by side in one binder and share the load, loose ones stand out
/// singly; P2000 so leaves 0.3 µm rms, about what is remembered of sanded clear coat. No measurement was
/// found to hold it against: of all numbers here it deserves least trust.
inline constexpr double paper_groove_per_grain = 0.04;
/// Standard deviation of the logarithm of the grooves' depth: graded grain is even.
inline constexpr double groove_depth_sd = 0.4;
/// Width over depth of a groove.
inline constexpr double groove_width_per_depth = 8;
/// Metres of groove on a square metre that a liquid leaves, per metre of the grooves' depth. Most of its
/// loose grain rolls and leaves none, the finer the less is held by the pad; what a polish leaves is few
/// marks as well as faint ones. Paper, whose grain is fixed, grooves the paint all over.
inline constexpr double liquid_grooves_per_m2 = 35e9;

/// Friction work since liquid and pad were last fresh, J. @param trace of a run along the path, one report a
/// step.
double work_since_fresh_j(const ArmPath& path, std::span<const StepReport> trace);

/// Median grain size once `work_j` of friction was done with a fresh load, m.
double grain_at_end_m(const Liquid& liquid, const Pad& pad, double work_j);

/// The marks that a step leaves where it has worked the surface all over. A pad that cuts more with the same
/// grain presses it in deeper; the paint taken along a groove goes with its cross-section, so with depth
/// squared:
///     depth = groove_per_grain x grain at the end x sqrt(pad's cut x paint's softness).
MarkPopulation step_marks(const Liquid& liquid, const Pad& pad, double work_j, double softness = 1);

/// Share of a step's own marks that is there once it took `removed_um` off: their grooves lie at random, so
/// the share of the old surface left falls by e with every groove's depth removed: 1 - exp(-removed /
/// depth).
double marks_made(const MarkPopulation& own, double removed_um);

/// A place after a step. What was there is worn by `removed_um`: marks deeper than that stay, as deep as is
/// left of them, shallower ones are gone and the step's own lie in their place. Populations with nothing
/// left are dropped.
std::vector<Marks> after_step(std::vector<Marks> before, const MarkPopulation& own, double removed_um);

/// The same for every cell of a panel, step by step.
class MarkedPanel {
public:
    /// One population on the panel: at a cell it is {made, worn_um, share}.
    struct Layer {
        MarkPopulation made;
        std::vector<float> worn_um;
        std::vector<float> share; ///< 0 off the panel and outside of the population's region
    };

    /// Keeps a reference to the panel, which must outlive it.
    MarkedPanel(const Panel& panel, std::span<const MarkPopulation> defects);

    /// @param removed_um one value a cell. @throws std::invalid_argument for another number of them.
    void step(std::span<const float> removed_um, const MarkPopulation& own);

    /// The defects first, then the steps' own in order.
    const std::vector<Layer>& layers() const { return layers_; }
    std::vector<Marks> at(std::size_t cell) const;
    Finish finish_at(std::size_t cell) const { return finish_of(at(cell)); }

private:
    const Panel* panel_;
    std::vector<Layer> layers_;
};

} // namespace sparecoat::finish
