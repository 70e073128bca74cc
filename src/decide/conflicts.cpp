// Observations that stand against the rest: what was to be expected of each from all the others.
#include "decide/posterior.hpp"
#include "units/normal.hpp"
#include <algorithm>
#include <cmath>
#include <numeric>

namespace sparecoat::decide::bayes {

/// Normal densities, weighted: what an observation was expected to be.
struct Expected {
    struct Part {
        double weight, mean, sd;
    };
    std::vector<Part> parts;

    double chance_above(double value) const {
        double sum = 0;
        for (const Part& p : parts) sum += p.weight * normal_above((value - p.mean) / p.sd);
        return sum;
    }
    double chance_below(double value) const {
        double sum = 0;
        for (const Part& p : parts) sum += p.weight * normal_above((p.mean - value) / p.sd);
        return sum;
    }
    double quantile(double share) const {
        double low = infinity, high = -infinity;
        for (const Part& p : parts)
            low = std::min(low, p.mean - 9 * p.sd), high = std::max(high, p.mean + 9 * p.sd);
        for (int halving = 0; halving < 35; ++halving) { // to 1e-9 of where it starts
            const double middle = 0.5 * (low + high);
            (chance_below(middle) < share ? low : high) = middle;
        }
        return 0.5 * (low + high);
    }
    /// Two-sided, of something as far out as what stands for all from `low` to `high`: counted generously.
    double chance_of(double low, double high) const {
        return std::min(1.0, 2 * std::min(chance_above(low), chance_below(high)));
    }
};

namespace {

/// Parts of less weight do not move what is expected.
constexpr double least_weight = 1e-12;

Expected expected_seen(const Table& weight, const Table& share) {
    Expected e;
    for (std::size_t k = 0; k < weight.value.size(); ++k)
        if (weight.value[k] > least_weight)
            e.parts.push_back({weight.value[k], share.value[k], lamp_sd(share.value[k])});
    return e;
}

double weight_of_row(const Table& weight, std::size_t row) {
    return std::accumulate(weight.row(row), weight.row(row) + weight.columns, 0.0);
}

} // namespace

/// What was to be expected of one observation. @param cavity ln of the density of its square's (c + e, d)
/// from all but the square's own looks.
Expected Posterior::expected(const Observation& o, const Table& cavity) const {
    Table weight = cavity;
    weight += looks_at(o.square, o);
    weight.value = normalised(std::move(weight.value));
    if (o.witness == Witness::lamp) return expected_seen(weight, looks_[o.square][o.look].share);

    const std::vector<Look>& looks = evidence_.squares[o.square].looks;
    const GaugePair& gauge = *looks[o.look].gauge;
    const std::vector<std::size_t> others = gauges_with(o);
    Expected e;
    for (std::size_t r = 0; r < weight.rows; ++r) {
        const double of_row = weight_of_row(weight, r);
        if (of_row <= least_weight) continue;
        BeforeError before(gauge);
        for (const std::size_t k : others) before.take(*looks[k].gauge, looks_[o.square][k].loss_um[r]);
        e.parts.push_back({of_row, looks_[o.square][o.look].loss_um[r] + before.mean,
                           std::sqrt(before.variance + BeforeError::variance_after(gauge))});
    }
    return e;
}

std::vector<Conflict> Posterior::conflicts(double told_below) const {
    std::vector<Conflict> found;
    for (std::size_t q = 0; q < evidence_.squares.size(); ++q) {
        const Square& square = evidence_.squares[q];
        const Table cavity = next_cut(panel_but(square.panel, q));
        const auto weigh = [&](std::size_t look, Witness witness, double low, double high, bool cannot_be) {
            const Expected e = expected({q, look, witness}, cavity);
            const double chance = e.chance_of(low, high);
            if (!cannot_be && chance >= told_below) return;
            // A share is none under 0, and no loss was ever expected to be one.
            const auto at = [&](double share) {
                const double value = e.quantile(share);
                return witness == Witness::lamp ? std::clamp(value, 0.0, 1.0) : value;
            };
            found.push_back({q, look, witness, at(0.05), at(0.5), at(0.95), chance, cannot_be});
        };
        for (std::size_t k = 0; k < square.looks.size(); ++k) {
            const Look& look = square.looks[k];
            if (look.seen)
                weigh(k, Witness::lamp, look.seen->low <= 0 ? -infinity : look.seen->low,
                      look.seen->high >= 1 ? infinity : look.seen->high, false);
            if (look.gauge)
                weigh(k, Witness::gauge, look.gauge->loss_um(), look.gauge->loss_um(),
                      impossible(*look.gauge));
        }
    }
    return found;
}

} // namespace sparecoat::decide::bayes
