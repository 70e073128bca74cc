#pragma once
#include "decide/evidence.hpp"
#include <array>
#include <span>
#include <vector>

namespace sparecoat::decide {

// Learning from test sections. Unknown are, all as logarithms of factors on the presets' values,
//     h    the shop's hand: how much more it takes off than the model says         N(0, hand_sd²)
//     s_p  the softness of each paint                                               N(0, paint_sd²)
//     d_j  the depth of the marks on each panel                                     N(0, depth_sd²)
//     e_q  what else differs from square to square                                  N(0, square_sd²)
// A square q on panel j of paint p loses the model's film times exp(h + s_p + e_q); its marks are exp(d_j) as
// deep. Given the unknowns the looks are independent, but for a mean before that looks of a square have in
// common: the gauge reads the loss with a normal error, the lamp shows the share cleared as seen_probability
// has it.
//
// A square's likelihood depends on h and s_p through their sum c alone, so that all integrals are sums over
// nodes a fixed step apart (the trapezoidal rule, which for a density that fades to nothing is exact to far
// below what matters; Trefethen and Weideman, SIAM Rev. 56, 385, 2014):
//     L_q(c, d) = sum over e of N(e) product of its looks at (c + e, d)
//     L_j(c)    = sum over d of N(d) product of its squares' L_q(c, d)
//     p(h, s)  ~  N(h) product over paints of [N(s_p) product of its panels' L_j(h + s_p)].

/// An observation less likely than this stands against the rest.
inline constexpr double conflict_chance = 0.01;

struct LearningTerms {
    double hand_sd = 0.15;   ///< from memory
    double depth_sd = 0.30;  ///< words for marks are coarse (from memory)
    double square_sd = 0.07; ///< from memory
    double step = 0.05;      ///< between nodes, at the most: narrow gauges and priors are given a finer one
    double told_below = conflict_chance; ///< chance under which an observation is told as a conflict
};

/// A density over nodes a fixed step apart; weights sum to 1.
struct Belief1 {
    double first = 0, step = 0;
    std::vector<double> weight;
    double at(std::size_t k) const { return first + step * static_cast<double>(k); }
    double mean() const;
    double sd() const;
    /// The value below which a share of the weight lies, linear within a node's own stretch of a step.
    double quantile(double share) const;
};

/// What is believed of one panel: cut c = h + s_p for the next piece of work there (its own e within) and
/// depth d.
struct PanelBelief {
    Belief1 cut, depth;        ///< each on its own
    std::vector<double> joint; ///< weight at (cut k, depth m) = joint[k * depth.weight.size() + m]
};

enum class Witness { lamp, gauge };

/// An observation that the rest of the evidence, and the presets, all but exclude.
struct Conflict {
    std::size_t square = 0, look = 0;
    Witness witness = Witness::lamp;
    double low = 0, median = 0, high = 0; ///< 90 % interval of what would have been expected, share or µm
    double chance = 0;                    ///< two-sided, of something as far out as this
    bool impossible =
        false; ///< a gauge that says film has grown by more than its error: left out of learning
};
/// Film cannot grow: a gauge that says it did by more than this many of its standard deviations, which chance
/// does once in a hundred squares that lost nothing, is impossible.
inline constexpr double impossible_deviations = 2.33;
bool impossible(const GaugePair& gauge);

/// One observation, to be left out.
struct Observation {
    std::size_t square = 0, look = 0;
    Witness witness = Witness::lamp;
    bool operator==(const Observation&) const = default;
};

struct Learned {
    Belief1 hand;
    std::vector<Belief1> softness; ///< per paint
    std::vector<PanelBelief> panels;
    std::vector<Conflict> conflicts; ///< in the order of squares and looks, lamp before gauge
    double log_evidence = 0;         ///< ln of the probability of all that was seen
};

/// The posterior from all evidence, but for gauges that are impossible, and what in it conflicts. Panels
/// without squares get what the others teach. Deterministic. @throws std::invalid_argument: an index out of
/// range, no panel, a standard deviation that is not positive.
Learned learn(const Evidence& evidence, const LearningTerms& terms = {});

/// The posterior without some observations; conflicts are left empty.
Learned learn_without(const Evidence& evidence, std::span<const Observation> left_out,
                      const LearningTerms& terms = {});

/// A belief about a panel boiled down to weighted points for sums over outcomes.
struct BeliefPoint {
    double cut_scale = 1, depth_scale = 1; ///< exp(c), exp(d)
    double weight = 0;                     ///< they sum to 1
};
/// Neighbouring nodes are gathered two by two along each axis at their weighted means until no more than
/// `most` carry all but a thousandth of the weight; the rest is dropped.
std::vector<BeliefPoint> points_of(const PanelBelief& belief, std::size_t most = 400);

} // namespace sparecoat::decide
