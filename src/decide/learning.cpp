#include "decide/learning.hpp"
#include "units/normal.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

// All densities are kept as logarithms: two gauges that contradict each other leave every node with a
// probability that a double cannot hold, and the answer has to be said all the same.

/// Nodes reach this many standard deviations to either side: 6e-7 of a normal density lies beyond.
constexpr double reach = 5;

/// The step may be made this many times finer than asked for, and no more: a gauge that would need it reads a
/// paint's softness to 1 %, which no hand holds to.
constexpr double most_refined = 5;

/// What the lamp all but excludes is that unlikely and no less, so that it stays a number.
constexpr double least_probability = 1e-300;

double ln_sum(std::span<const double> ln_terms) {
    const double most = *std::ranges::max_element(ln_terms);
    double sum = 0;
    for (const double ln : ln_terms) sum += std::exp(ln - most);
    return most + std::log(sum);
}

/// Turns logarithms of weights into weights that sum to 1.
std::vector<double> normalised(std::vector<double> ln_weight) {
    const double whole = ln_sum(ln_weight);
    for (double& w : ln_weight) w = std::exp(w - whole);
    return ln_weight;
}

/// Rows of columns, row by row: a function of the cut and the depth.
struct Table {
    std::size_t rows = 0, columns = 0;
    std::vector<double> value;
    Table(std::size_t r, std::size_t c, double fill = 0) : rows(r), columns(c), value(r * c, fill) {}
    double* row(std::size_t r) { return value.data() + r * columns; }
    const double* row(std::size_t r) const { return value.data() + r * columns; }
    Table& operator+=(const Table& other) {
        for (std::size_t k = 0; k < value.size(); ++k) value[k] += other.value[k];
        return *this;
    }
};

// ---- nodes ------------------------------------------------------------------------------------------
//
// Hand, softness and what differs between squares share one step, so that their sums are nodes again:
//     cut c = h + s_p      rows 0 .. 2 (hand + soft)
//     of a square, c + e   rows 0 .. 2 (hand + soft + own)
// each axis from -n to n steps around 0, n the number below.

struct Nodes {
    double cut_step = 0, depth_step = 0;
    std::size_t hand = 0, soft = 0, own = 0, depth = 0;

    std::size_t cut() const { return hand + soft; }
    std::size_t square() const { return cut() + own; }
    double cut_at(std::size_t row) const { return place(row, square(), cut_step); }
    double depth_at(std::size_t column) const { return place(column, depth, depth_step); }

    static std::size_t count(std::size_t half) { return 2 * half + 1; }
    static double place(std::size_t k, std::size_t half, double step) {
        return (static_cast<double>(k) - static_cast<double>(half)) * step;
    }
};

/// The step. The trapezoidal rule integrates a density as wide as its step to 5e-9 (2 exp(-2 pi²
/// width²/step²) for a normal one), so 0.05 suits the priors, of which e is the narrowest with 0.07. A lamp
/// tells shares apart to no less than 0.02, and shares change by less than the cut does; a gauge is narrow,
/// though, where much was taken off: its width in c + e is sd/loss. All gauges on a square are about one c +
/// e, all squares on a paint about one c.
double cut_step(const Evidence& evidence, const LearningTerms& terms) {
    double width = std::min({terms.step, terms.hand_sd, terms.square_sd});
    for (const double sd : evidence.paint_sd) width = std::min(width, sd);
    std::vector<double> of_paint(evidence.paint_sd.size(), 0.0); // 1/width², as the next
    for (const Square& square : evidence.squares) {
        double of_square = 0;
        for (const Look& look : square.looks)
            if (look.gauge)
                of_square += std::pow(std::max(look.gauge->loss_um(), 0.0) / look.gauge->sd_um(), 2);
        if (of_square <= 0) continue;
        width = std::min(width, 1 / std::sqrt(of_square));
        double& paint = of_paint[evidence.panels[square.panel].paint];
        paint += 1 / (terms.square_sd * terms.square_sd + 1 / of_square);
        width = std::min(width, 1 / std::sqrt(paint));
    }
    return std::max(width, terms.step / most_refined);
}

Nodes nodes_for(const Evidence& evidence, const LearningTerms& terms) {
    Nodes n;
    n.cut_step = cut_step(evidence, terms);
    n.depth_step = std::max(std::min(terms.step, terms.depth_sd), terms.step / most_refined);
    const auto half = [](double sd, double step) {
        return static_cast<std::size_t>(std::ceil(reach * sd / step));
    };
    const double widest_paint = evidence.paint_sd.empty() ? 0 : *std::ranges::max_element(evidence.paint_sd);
    n.hand = half(terms.hand_sd, n.cut_step);
    n.soft = half(widest_paint, n.cut_step);
    n.own = half(terms.square_sd, n.cut_step);
    n.depth = half(terms.depth_sd, n.depth_step);
    return n;
}

/// ln of the weights of N(0, sd²) on 2 half + 1 nodes.
std::vector<double> ln_normal(std::size_t half, double step, double sd) {
    std::vector<double> ln(Nodes::count(half));
    for (std::size_t k = 0; k < ln.size(); ++k) {
        const double z = Nodes::place(k, half, step) / sd;
        ln[k] = -0.5 * z * z;
    }
    const double whole = ln_sum(ln);
    for (double& value : ln) value -= whole;
    return ln;
}

Belief1 belief(std::vector<double> ln_weight, std::size_t half, double step) {
    return {Nodes::place(0, half, step), step, normalised(std::move(ln_weight))};
}

/// ln of the sum over e of exp(ln_kernel(e) + in(row + e)), rows counted so that row 0 of the outcome meets
/// the kernel's end at row `first` of the input; rows beyond the input count nothing.
Table smeared(const Table& in, std::span<const double> ln_kernel, std::size_t rows, std::ptrdiff_t first) {
    Table out(rows, in.columns);
    std::vector<double> most(in.columns), sum(in.columns);
    for (std::size_t r = 0; r < rows; ++r) {
        std::ranges::fill(most, -infinity);
        std::ranges::fill(sum, 0.0);
        const auto each_row = [&](auto&& take) {
            for (std::size_t e = 0; e < ln_kernel.size(); ++e) {
                const std::ptrdiff_t from = static_cast<std::ptrdiff_t>(r + e) + first;
                if (from < 0 || from >= static_cast<std::ptrdiff_t>(in.rows)) continue;
                const double* row = in.row(static_cast<std::size_t>(from));
                for (std::size_t m = 0; m < in.columns; ++m) take(m, ln_kernel[e] + row[m]);
            }
        };
        each_row([&](std::size_t m, double ln) { most[m] = std::max(most[m], ln); });
        each_row([&](std::size_t m, double ln) { sum[m] += std::exp(ln - most[m]); });
        for (std::size_t m = 0; m < in.columns; ++m) out.row(r)[m] = most[m] + std::log(sum[m]);
    }
    return out;
}

// ---- what one look says -----------------------------------------------------------------------------

/// A look at the nodes: rows c + e, columns d.
struct LookTable {
    Table share{0, 0}; ///< cleared; empty where nobody looked
    Table ln_lamp{0, 0};
    std::vector<double> loss_um; ///< per row
};

LookTable tabulated(const Look& look, std::span<const MarkPopulation> marks, const Nodes& n) {
    LookTable t;
    const std::size_t rows = Nodes::count(n.square()), columns = Nodes::count(n.depth);
    for (std::size_t r = 0; r < rows; ++r) t.loss_um.push_back(look.mean_um * std::exp(n.cut_at(r)));
    if (!look.seen) return t;
    t.share = t.ln_lamp = Table(rows, columns);
    for (std::size_t r = 0; r < rows; ++r)
        for (std::size_t m = 0; m < columns; ++m) {
            const double share =
                share_cleared(marks, look.removed, std::exp(n.cut_at(r)), std::exp(n.depth_at(m)));
            t.share.row(r)[m] = share;
            t.ln_lamp.row(r)[m] = std::log(std::max(seen_probability(*look.seen, share), least_probability));
        }
    return t;
}

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

bool same_before(const GaugePair& a, const GaugePair& b) {
    return a.before_um == b.before_um && a.n_before == b.n_before && a.repeat_sd_um == b.repeat_sd_um;
}

// ---- what would have been expected ------------------------------------------------------------------

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

// ---- the posterior ----------------------------------------------------------------------------------

constexpr std::size_t none = static_cast<std::size_t>(-1);

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

Posterior::Posterior(const Evidence& evidence, std::span<const Observation> left_out,
                     const LearningTerms& terms)
    : evidence_(evidence), left_out_(left_out.begin(), left_out.end()), nodes_(nodes_for(evidence, terms)),
      ln_hand_(ln_normal(nodes_.hand, nodes_.cut_step, terms.hand_sd)),
      ln_depth_(ln_normal(nodes_.depth, nodes_.depth_step, terms.depth_sd)),
      ln_own_(ln_normal(nodes_.own, nodes_.cut_step, terms.square_sd)) {
    const std::size_t cuts = Nodes::count(nodes_.cut()), depths = Nodes::count(nodes_.depth);
    for (const double sd : evidence.paint_sd) ln_soft_.push_back(ln_normal(nodes_.soft, nodes_.cut_step, sd));

    for (std::size_t q = 0; q < evidence.squares.size(); ++q) {
        const Square& square = evidence.squares[q];
        looks_.emplace_back();
        for (const Look& look : square.looks)
            looks_.back().push_back(tabulated(look, evidence.panels[square.panel].marks, nodes_));
        ln_square_.push_back(smeared(looks_at(q), ln_own_, cuts, 0));
    }
    for (std::size_t j = 0; j < evidence.panels.size(); ++j) {
        Table sum(cuts, depths);
        for (std::size_t q = 0; q < evidence.squares.size(); ++q)
            if (evidence.squares[q].panel == j) sum += ln_square_[q];
        std::vector<double> ln(cuts);
        for (std::size_t c = 0; c < cuts; ++c) {
            for (std::size_t m = 0; m < depths; ++m) sum.row(c)[m] += ln_depth_[m];
            ln[c] = ln_sum({sum.row(c), depths});
        }
        ln_panel_.push_back(std::move(ln));
    }
    for (std::size_t p = 0; p < evidence.paint_sd.size(); ++p) {
        std::vector<double> through(ln_hand_.size()), terms_of_s(ln_soft_[p].size());
        for (std::size_t h = 0; h < through.size(); ++h) {
            for (std::size_t s = 0; s < terms_of_s.size(); ++s) {
                terms_of_s[s] = ln_soft_[p][s];
                for (std::size_t j = 0; j < evidence.panels.size(); ++j)
                    if (evidence.panels[j].paint == p) terms_of_s[s] += ln_panel_[j][h + s];
            }
            through[h] = ln_sum(terms_of_s);
        }
        ln_through_.push_back(std::move(through));
    }
}

/// Looks whose gauge counts and shares the mean before of this one, itself left out, in order.
std::vector<std::size_t> Posterior::gauges_with(const Observation& gauge) const {
    const std::vector<Look>& looks = evidence_.squares[gauge.square].looks;
    std::vector<std::size_t> found;
    for (std::size_t k = 0; k < looks.size(); ++k)
        if (k != gauge.look && looks[k].gauge && used(gauge.square, k, Witness::gauge) &&
            same_before(*looks[k].gauge, *looks[gauge.look].gauge))
            found.push_back(k);
    return found;
}

/// ln of the probability of what was seen of a square at (c + e, d), all together.
Table Posterior::looks_at(std::size_t square, const std::optional<Observation>& without) const {
    Table sum(Nodes::count(nodes_.square()), Nodes::count(nodes_.depth));
    const std::vector<Look>& looks = evidence_.squares[square].looks;
    const auto counts = [&](std::size_t k, Witness w) {
        return used(square, k, w) && without != Observation{square, k, w};
    };
    std::vector<double> ln_gauges(sum.rows, 0.0);
    std::vector<bool> taken(looks.size(), false);
    for (std::size_t k = 0; k < looks.size(); ++k) {
        if (looks[k].seen && counts(k, Witness::lamp)) sum += looks_[square][k].ln_lamp;
        if (!looks[k].gauge || taken[k] || !counts(k, Witness::gauge)) continue;
        std::vector<std::size_t> together{k};
        for (const std::size_t other : gauges_with({square, k, Witness::gauge}))
            if (counts(other, Witness::gauge)) together.push_back(other);
        for (const std::size_t look : together) taken[look] = true;
        for (std::size_t r = 0; r < sum.rows; ++r) {
            BeforeError before(*looks[k].gauge);
            for (const std::size_t look : together)
                ln_gauges[r] += before.take(*looks[look].gauge, looks_[square][look].loss_um[r]);
        }
    }
    for (std::size_t r = 0; r < sum.rows; ++r)
        for (std::size_t m = 0; m < sum.columns; ++m) sum.row(r)[m] += ln_gauges[r];
    return sum;
}

/// ln of what is known of the hand from all but one paint's panels, prior within.
std::vector<double> Posterior::hand_but(std::size_t paint) const {
    std::vector<double> ln = ln_hand_;
    for (std::size_t p = 0; p < ln_through_.size(); ++p)
        for (std::size_t h = 0; p != paint && h < ln.size(); ++h) ln[h] += ln_through_[p][h];
    return ln;
}

/// ln of the density of (c, d) on a panel from all but one of its squares.
Table Posterior::panel_but(std::size_t panel, std::size_t square) const {
    const std::size_t paint = evidence_.panels[panel].paint;
    const std::vector<double> hand = hand_but(paint);
    const std::vector<double>& soft = ln_soft_[paint];
    Table ln(Nodes::count(nodes_.cut()), Nodes::count(nodes_.depth));
    for (std::size_t c = 0; c < ln.rows; ++c) {
        std::vector<double> sums; // over h + s = c
        for (std::size_t h = 0; h < hand.size(); ++h)
            if (c >= h && c - h < soft.size()) sums.push_back(hand[h] + soft[c - h]);
        double of_cut = ln_sum(sums);
        for (std::size_t j = 0; j < evidence_.panels.size(); ++j)
            if (j != panel && evidence_.panels[j].paint == paint) of_cut += ln_panel_[j][c];
        for (std::size_t m = 0; m < ln.columns; ++m) ln.row(c)[m] = of_cut + ln_depth_[m];
    }
    for (std::size_t q = 0; q < evidence_.squares.size(); ++q)
        if (q != square && evidence_.squares[q].panel == panel) ln += ln_square_[q];
    return ln;
}

/// From (c, d) to (c + e, d) of a piece of work that is yet to come.
Table Posterior::next_cut(const Table& cut_and_depth) const {
    return smeared(cut_and_depth, ln_own_, Nodes::count(nodes_.square()),
                   -2 * static_cast<std::ptrdiff_t>(nodes_.own));
}

PanelBelief Posterior::panel_belief(std::size_t panel) const {
    const Table next = next_cut(panel_but(panel, none));
    PanelBelief b;
    b.joint = normalised(next.value);
    std::vector<double> cut(next.rows, 0.0), depth(next.columns, 0.0);
    for (std::size_t r = 0; r < next.rows; ++r)
        for (std::size_t m = 0; m < next.columns; ++m) {
            cut[r] += b.joint[r * next.columns + m];
            depth[m] += b.joint[r * next.columns + m];
        }
    b.cut = {nodes_.cut_at(0), nodes_.cut_step, std::move(cut)};
    b.depth = {nodes_.depth_at(0), nodes_.depth_step, std::move(depth)};
    return b;
}

/// ln of a paint's density of s.
std::vector<double> Posterior::softness(std::size_t paint) const {
    const std::vector<double> hand = hand_but(paint);
    std::vector<double> ln = ln_soft_[paint], over_hand(hand.size());
    for (std::size_t s = 0; s < ln.size(); ++s) {
        for (std::size_t h = 0; h < hand.size(); ++h) {
            over_hand[h] = hand[h];
            for (std::size_t j = 0; j < evidence_.panels.size(); ++j)
                if (evidence_.panels[j].paint == paint) over_hand[h] += ln_panel_[j][h + s];
        }
        ln[s] += ln_sum(over_hand);
    }
    return ln;
}

Learned Posterior::learned() const {
    Learned l;
    std::vector<double> hand = hand_but(none);
    l.log_evidence = ln_sum(hand);
    l.hand = belief(std::move(hand), nodes_.hand, nodes_.cut_step);
    for (std::size_t p = 0; p < evidence_.paint_sd.size(); ++p)
        l.softness.push_back(belief(softness(p), nodes_.soft, nodes_.cut_step));
    for (std::size_t j = 0; j < evidence_.panels.size(); ++j) l.panels.push_back(panel_belief(j));
    return l;
}

// ---- conflicts --------------------------------------------------------------------------------------

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

// ---- what may be asked ------------------------------------------------------------------------------

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
    const Posterior posterior(evidence, impossible_gauges(evidence), terms);
    Learned learned = posterior.learned();
    learned.conflicts = posterior.conflicts(terms.told_below);
    return learned;
}

Learned learn_without(const Evidence& evidence, std::span<const Observation> left_out,
                      const LearningTerms& terms) {
    check(evidence, terms);
    std::vector<Observation> all = impossible_gauges(evidence);
    all.insert(all.end(), left_out.begin(), left_out.end());
    return Posterior(evidence, all, terms).learned();
}

// ---- beliefs ----------------------------------------------------------------------------------------

double Belief1::mean() const {
    double sum = 0;
    for (std::size_t k = 0; k < weight.size(); ++k) sum += weight[k] * at(k);
    return sum;
}

double Belief1::sd() const {
    const double middle = mean();
    double sum = 0;
    for (std::size_t k = 0; k < weight.size(); ++k) sum += weight[k] * (at(k) - middle) * (at(k) - middle);
    return std::sqrt(sum);
}

double Belief1::quantile(double share) const {
    double below = 0;
    for (std::size_t k = 0; k < weight.size(); ++k) {
        if (below + weight[k] >= share && weight[k] > 0)
            return at(k) + step * ((share - below) / weight[k] - 0.5);
        below += weight[k];
    }
    return at(weight.size() - 1) + 0.5 * step; // a share of 1 that rounding kept from being reached
}

namespace {

/// Points on a grid, gathered: each with its weight and its weighted means.
struct Gathered {
    std::size_t cuts = 0, depths = 0;
    struct Point {
        double weight = 0, cut = 0, depth = 0;
    };
    std::vector<Point> points; ///< cut by cut
};

Gathered gathered_by_two(const Gathered& fine) {
    Gathered coarse{(fine.cuts + 1) / 2, (fine.depths + 1) / 2, {}};
    coarse.points.resize(coarse.cuts * coarse.depths);
    for (std::size_t c = 0; c < fine.cuts; ++c)
        for (std::size_t d = 0; d < fine.depths; ++d) {
            const Gathered::Point& from = fine.points[c * fine.depths + d];
            Gathered::Point& to = coarse.points[c / 2 * coarse.depths + d / 2];
            to.weight += from.weight;
            to.cut += from.weight * from.cut;
            to.depth += from.weight * from.depth;
        }
    for (Gathered::Point& p : coarse.points)
        if (p.weight > 0) p.cut /= p.weight, p.depth /= p.weight;
    return coarse;
}

/// The heaviest points that carry all but a thousandth, heaviest first.
std::vector<Gathered::Point> carrying(const Gathered& all) {
    std::vector<Gathered::Point> points = all.points;
    std::ranges::stable_sort(points, std::ranges::greater{}, &Gathered::Point::weight);
    double sum = 0;
    std::size_t kept = 0;
    while (kept < points.size() && sum < 0.999) sum += points[kept++].weight;
    points.resize(kept);
    return points;
}

} // namespace

std::vector<BeliefPoint> points_of(const PanelBelief& belief, std::size_t most) {
    Gathered all{belief.cut.weight.size(), belief.depth.weight.size(), {}};
    for (std::size_t c = 0; c < all.cuts; ++c)
        for (std::size_t d = 0; d < all.depths; ++d)
            all.points.push_back({belief.joint[c * all.depths + d], belief.cut.at(c), belief.depth.at(d)});
    std::vector<Gathered::Point> kept = carrying(all);
    while (kept.size() > std::max<std::size_t>(most, 1)) {
        all = gathered_by_two(all);
        kept = carrying(all);
    }
    double whole = 0;
    for (const Gathered::Point& p : kept) whole += p.weight;
    std::vector<BeliefPoint> points;
    for (const Gathered::Point& p : kept)
        points.push_back({std::exp(p.cut), std::exp(p.depth), p.weight / whole});
    return points;
}

} // namespace sparecoat::decide
