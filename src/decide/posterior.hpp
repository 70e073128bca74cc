#pragma once
// The posterior over hand, paints and marks: what each look says at the nodes, and their sums.
#include "decide/learning_nodes.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <vector>

namespace sparecoat::decide::bayes {

/// A look at the nodes: rows c + e, columns d.
struct LookTable {
    Table share{0, 0}; ///< cleared; empty where nobody looked
    Table ln_lamp{0, 0};
    std::vector<double> loss_um; ///< per row
};

/// The error of a mean before, as looks measured against it tell one after the other. A look reads too much
/// by that error less the error of its own mean after, N(0, v): given the others before it,
///     N(mean, variance + v),
/// which then teaches by the share variance / (variance + v) of what was not foreseen (a Kalman filter for a
/// constant; Gelman et al., Bayesian Data Analysis, 3rd ed., eq. 2.11). A single look is left with the error
/// of both means.
struct BeforeError {
    double mean = 0, variance = 0;

    explicit BeforeError(const GaugePair& gauge)
        : variance(gauge.repeat_sd_um * gauge.repeat_sd_um / gauge.n_before) {}
    static double variance_after(const GaugePair& gauge) {
        return gauge.repeat_sd_um * gauge.repeat_sd_um / gauge.n_after;
    }
    /// @returns ln of the density of reading so much too much.
    double take(const GaugePair& gauge, double lost_um) {
        const double unforeseen = gauge.loss_um() - lost_um - mean, whole = variance + variance_after(gauge);
        const double gain = variance / whole;
        mean += gain * unforeseen;
        variance *= 1 - gain;
        return -0.5 * unforeseen * unforeseen / whole - 0.5 * std::log(2 * pi * whole);
    }
};

struct Expected;

/// No paint, no square: for sums that leave none out.
inline constexpr std::size_t none = static_cast<std::size_t>(-1);

/// What evidence says of everything unknown, some observations left out. Refers to the evidence, which has to
/// outlive it.
class Posterior {
public:
    Posterior(const Evidence& evidence, std::span<const Observation> left_out, const LearningTerms& terms);
    Learned learned() const;
    std::vector<Conflict> conflicts(double told_below) const;

private:
    bool used(std::size_t square, std::size_t look, Witness witness) const {
        return std::ranges::find(left_out_, Observation{square, look, witness}) == left_out_.end();
    }
    std::vector<std::size_t> gauges_with(const Observation& gauge) const;
    Table looks_at(std::size_t square, const std::optional<Observation>& without = {}) const;
    std::vector<double> hand_but(std::size_t paint) const;
    Table panel_but(std::size_t panel, std::size_t square) const;
    Table next_cut(const Table& cut_and_depth) const;
    PanelBelief panel_belief(std::size_t panel) const;
    std::vector<double> softness(std::size_t paint) const;
    Expected expected(const Observation& seen, const Table& cavity) const;

    const Evidence& evidence_;
    std::vector<Observation> left_out_;
    Nodes nodes_;
    std::vector<double> ln_hand_, ln_depth_, ln_own_;
    std::vector<std::vector<double>> ln_soft_; ///< per paint

    std::vector<std::vector<LookTable>> looks_;   ///< per square
    std::vector<Table> ln_square_;                ///< L_q(c, d), per square
    std::vector<std::vector<double>> ln_panel_;   ///< L_j(c), per panel
    std::vector<std::vector<double>> ln_through_; ///< per paint: what its panels say of h
};

} // namespace sparecoat::decide::bayes
