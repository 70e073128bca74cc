#pragma once
#include "decide/verdict.hpp"
#include "panel/panel.hpp"
#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::decide {

/// What is asked of a chance of burning through.
struct ChanceTerms {
    /// Clear coat that has to stay, µm: under it the film no longer keeps the light off the base coat (from
    /// memory).
    double reserve_um = 15;
    /// Standard deviation of the logarithm of the cut: how far one paint, batch of liquid and operator's
    /// usual weight of hand lie from the presets (from memory). The test section is what narrows it.
    double cut_sd = 0.3;
    int pairs = 64; ///< draws of the hand, each with its mirror image
    std::uint64_t seed = 1;
};

/// The chance that a cell keeps less clear coat than the reserve, given what it loses when the cut is as
/// the model says. With film t ~ N(clear, sd²) and cut factor c, ln c ~ N(0, cut_sd²),
///     P = E_c[ Phi((reserve + c removed - clear) / sd) ],
/// the expectation over ln c by the trapezoidal rule, whose error for a normal density falls faster than any
/// power of the step (Trefethen and Weideman, "The exponentially convergent trapezoidal rule", SIAM Rev. 56,
/// 385, 2014). Phi steps within a width of sd / (cut_sd removed) in standard deviations of ln c; nodes half
/// of that apart, or one where it is wide, leave an error under 1e-5. Nothing removed is no chance: what is
/// thin before any work is `thin_before`'s to tell.
class CellChance {
public:
    explicit CellChance(const ChanceTerms& terms);
    /// @param loss_sd of the logarithm of what is lost, see LossDoubt: in place of cut_sd where given.
    double at(double clear_um, double sd_um, double removed_um, double loss_sd) const;
    double at(double clear_um, double sd_um, double removed_um) const {
        return at(clear_um, sd_um, removed_um, cut_sd_);
    }
    /// A bound that costs little: where it holds, the chance is under 1e-6 for any loss up to `removed_um`.
    bool safe(double clear_um, double sd_um, double removed_um, double loss_sd) const;
    bool safe(double clear_um, double sd_um, double removed_um) const {
        return safe(clear_um, sd_um, removed_um, cut_sd_);
    }
    /// The chance that the film is under the reserve before any work.
    double thin_before(double clear_um, double sd_um) const;

private:
    double reserve_um_, cut_sd_;
    std::array<std::vector<double>, 4> weights_; ///< of nodes 1, 1/2, 1/4, 1/8 standard deviations apart
};

/// How well a cell's loss is known beyond its film and the hand. The cut c is that of the usual pressure and
/// speed; elsewhere the exponents a, b of the removal law count as well. With r ~ c p^a v^b and independent
/// doubts of ln c, a and b,
///     sd(ln r)² = cut_sd² + (sd_a ln(p / p_usual))² + (sd_b ln(v / v_usual))²,
/// to first order in what is small, p and v the cell's means over its contact. Of several steps, whose
/// doubts are taken for one, the logarithms are weighed by what each takes off.
class LossDoubt {
public:
    explicit LossDoubt(double cut_sd) : cut_sd_(cut_sd) {}
    /// @param fields, liquid kept, to outlive this. @param times so many sets of it.
    void add_step(const Fields& fields, const Liquid& liquid, double times = 1) {
        steps_.push_back({&fields, &liquid, times});
    }
    /// Standard deviation of the logarithm of the loss; that of the cut where nothing is lost.
    double sd_at(std::size_t cell) const;

private:
    struct Step {
        const Fields* fields;
        const Liquid* liquid;
        double times;
    };
    double cut_sd_;
    std::vector<Step> steps_;
};

/// Values of a coarse grid's cells at the cells of a finer one over the same panel: bilinear between the
/// coarse cells that are on the panel, the nearest ones' where fewer than four are.
class Refinement {
public:
    Refinement(const Panel& coarse, const Panel& fine);
    float at(std::size_t fine_cell, std::span<const float> coarse_values) const {
        const Stencil& s = stencils_[fine_cell];
        float sum = 0;
        for (std::size_t k = 0; k < 4; ++k) sum += s.weight[k] * coarse_values[s.cell[k]];
        return sum;
    }

private:
    struct Stencil {
        std::array<std::uint32_t, 4> cell{};
        std::array<float, 4> weight{};
    };
    std::vector<Stencil> stencils_; ///< all weights 0 off the panel
};

/// Everything the draws of one run have in common.
struct DrawContext {
    const Panel* fine = nullptr;
    const Fields* steady_fine = nullptr; ///< of the path as meant, on the fine grid
    const Panel* coarse = nullptr;
    std::span<const float> steady_coarse_um; ///< what it removes on the coarse grid
    const Refinement* refine = nullptr;
    /// No draw brings the pad to cells farther than this from worked ones: three standard deviations of its
    /// place.
    double reach_m = 0;
    /// How many times over the work is done: everything that goes is multiplied by it.
    double times = 1;
    const LossDoubt* doubt = nullptr; ///< null: that of the cut alone
};

/// Chances of all cells from draws of the hand. What a draw removes at a fine cell is
///     removed(fine, as meant) + heat [removed(coarse, drawn) - removed(coarse, as meant)],
/// the second term carried over bilinearly: the fine grid has the edges right, and the hand's deviations,
/// which are smooth, come cheap (a two-level estimate; Giles, "Multilevel Monte Carlo path simulation",
/// Oper. Res. 56, 607, 2008). Coarse runs are of paint that stays cold; heat is the cell's factor on the path
/// as meant, so what a draw itself warms more or less is left out. Film and cut are not drawn but integrated
/// for each draw, which leaves the hand as the only source of sampling error, and mirror images cancel what
/// is odd in its deviations.
///
/// A tally is a sum: add pairs in any number of tallies and merge them in a fixed order.
class ChanceTally {
public:
    ChanceTally(const DrawContext& ground, const ChanceTerms& terms);
    /// @param drawn, mirrored what the two runs of a pair remove on the coarse grid, µm.
    void add(std::span<const float> drawn, std::span<const float> mirrored);
    void merge(const ChanceTally& other);
    int pairs() const { return pairs_; }

    /// Per fine cell; NaN off the panel. The standard error is that of the mean over pairs; 0 for one pair.
    std::vector<float> chance() const;
    std::vector<float> standard_error() const;
    /// Mean loss over the draws, µm.
    std::vector<float> mean_removed_um() const;

private:
    template <class Value> std::vector<float> per_cell(Value value) const;

    DrawContext ground_;
    CellChance cell_;
    int pairs_ = 0;
    std::vector<std::uint32_t> cells_; ///< those a draw could put at risk
    std::vector<double> loss_sd_;      ///< of cells_
    std::vector<double> sum_, squares_;
    std::vector<float> removed_; ///< of cells_
};

/// A gap that a region at risk is taken across: the staircase of cells along a slanting edge, and the pad's
/// own unevenness, would else cut one spot into dozens.
inline constexpr double region_gap_m = 0.012;

/// A connected region of cells whose chance is at or above a threshold and which are named after the same
/// edge, line or open panel; cells that are no more than region_gap_m apart along both axes count as
/// touching.
struct RegionAtRisk {
    SpotAtRisk spot; ///< at the cell of the highest chance (of several, the least clear left)
    double chance = 0, standard_error = 0;
    double thin_before = 0; ///< chance that the spot is under the reserve without any work
    double area_m2 = 0;
    int edge = -1, crest = -1; ///< what it is named after, as an index into the panel's names; -1: not that
    std::vector<std::uint32_t> cells;
};

/// By chance, highest first; of equals, the larger. @param chance, standard_error per cell of the panel.
std::vector<RegionAtRisk> regions_at_risk(const Panel& panel, const Fields& fields, const OpenPanel& open,
                                          const ChanceTerms& terms, std::span<const float> chance,
                                          std::span<const float> standard_error, double threshold);

/// The highest chance in and around a region: within `around_m` of its cells, on ground named alike.
struct Peak {
    double chance = 0, standard_error = 0;
};
Peak peak_around(const Panel& panel, const RegionAtRisk& region, std::span<const float> chance,
                 std::span<const float> standard_error, double around_m);

} // namespace sparecoat::decide
