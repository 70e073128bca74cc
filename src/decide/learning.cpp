#include "decide/learning.hpp"
#include "decide/posterior.hpp"
#include <cmath>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

void require(bool holds, const char* what) {
    if (!holds) throw std::invalid_argument(what);
}

bool positive(double value) { return value > 0 && std::isfinite(value); }

void check(const Evidence& evidence, const LearningTerms& terms) {
    require(positive(terms.hand_sd) && positive(terms.depth_sd) && positive(terms.square_sd) &&
                positive(terms.step),
            "standard deviations and the step between nodes are above 0");
    require(!evidence.panels.empty(), "there is a panel to learn of");
    for (const double sd : evidence.paint_sd)
        require(positive(sd), "a paint's standard deviation is above 0");
    for (const PanelEvidence& panel : evidence.panels)
        require(panel.paint < evidence.paint_sd.size(), "a panel's paint is one of those given");
    for (const Square& square : evidence.squares) {
        require(square.panel < evidence.panels.size(), "a square is on one of the panels given");
        for (const Look& look : square.looks) {
            require(std::isfinite(look.mean_um), "what a square lost is a number");
            if (!look.gauge) continue;
            require(look.gauge->n_before > 0 && look.gauge->n_after > 0,
                    "a gauge mean is of a reading at least");
            require(positive(look.gauge->sd_um()), "a gauge's standard deviation is above 0");
            require(std::isfinite(look.gauge->loss_um()), "gauge means are numbers");
        }
    }
}

std::vector<Observation> impossible_gauges(const Evidence& evidence) {
    std::vector<Observation> found;
    for (std::size_t q = 0; q < evidence.squares.size(); ++q)
        for (std::size_t k = 0; k < evidence.squares[q].looks.size(); ++k) {
            const std::optional<GaugePair>& gauge = evidence.squares[q].looks[k].gauge;
            if (gauge && impossible(*gauge)) found.push_back({q, k, Witness::gauge});
        }
    return found;
}

} // namespace

bool impossible(const GaugePair& gauge) { return gauge.loss_um() < -impossible_deviations * gauge.sd_um(); }

Learned learn(const Evidence& evidence, const LearningTerms& terms) {
    check(evidence, terms);
    const bayes::Posterior posterior(evidence, impossible_gauges(evidence), terms);
    Learned learned = posterior.learned();
    learned.conflicts = posterior.conflicts(terms.told_below);
    return learned;
}

Learned learn_without(const Evidence& evidence, std::span<const Observation> left_out,
                      const LearningTerms& terms) {
    check(evidence, terms);
    std::vector<Observation> all = impossible_gauges(evidence);
    all.insert(all.end(), left_out.begin(), left_out.end());
    return bayes::Posterior(evidence, all, terms).learned();
}

} // namespace sparecoat::decide
