#include "decide/posterior.hpp"
#include <algorithm>
#include <cmath>
#include <utility>

namespace sparecoat::decide::bayes {
namespace {

/// What the lamp all but excludes is that unlikely and no less, so that it stays a number.
constexpr double least_probability = 1e-300;

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

bool same_before(const GaugePair& a, const GaugePair& b) {
    return a.before_um == b.before_um && a.n_before == b.n_before && a.repeat_sd_um == b.repeat_sd_um;
}

} // namespace

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

} // namespace sparecoat::decide::bayes
