// What is learned from test sections against two independent evaluations of the same posterior. The first
// sums the densities themselves, as the model has them, on a finer grid; it shares the likelihoods of single
// looks with the program and nothing else. The second shares not even those: it draws vehicles from the prior
// and weighs each by how well it explains what was seen (importance sampling; Gelman et al., Bayesian Data
// Analysis, 3rd ed., section 10.4), with the marks taken one by one.
#include "support/learning.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <numeric>

namespace test_learning_reference {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double hand_sd = 0.15, depth_sd = 0.30, square_sd = 0.07;

MarkPopulation swirls(Visible visible) { return population_of({MarkKind::swirls, visible, false}); }

/// Two paints, three panels, four squares, five looks; the first square's two were measured against one mean
/// before.
Evidence small_vehicle() {
    const auto lost = [](double um, std::optional<SeenShare> seen, std::optional<GaugePair> gauge) {
        return Look{RemovedSpread{{0.85 * um, 1.15 * um}}, um, seen, gauge};
    };
    Evidence e;
    e.paint_sd = {0.3, 0.2};
    e.panels = {
        {0, {swirls(Visible::glaring), population_of({MarkKind::scratches, Visible::glaring, false})}},
        {0, {swirls(Visible::plain)}},
        {1, {swirls(Visible::glaring)}}};
    e.squares = {{0,
                  {lost(0.7, SeenShare{0.65, 0.92}, GaugePair{110.9, 110, 4, 6, 1.2}),
                   lost(1.2, seen_number(0.9), GaugePair{110.9, 109.2, 4, 9, 1.2})}},
                 {1, {lost(0.4, seen_number(0.65), {})}},
                 {2, {lost(0.8, seen_number(0.6), gauge_of(0.4, 0.3))}},
                 {2, {lost(1.1, {}, gauge_of(0.8, 0.4))}}};
    return e;
}

/// What is compared.
struct Figures {
    double mean = 0, sd = 0, low = 0, high = 0; ///< low and high: 5 and 95 %
};
struct Vehicle {
    Figures hand;
    std::array<Figures, 2> softness;
    std::array<Figures, 3> cut, depth; ///< cut of the next piece of work
    double log_evidence = 0;
};

Figures figures_of(const Belief1& b) { return {b.mean(), b.sd(), b.quantile(0.05), b.quantile(0.95)}; }

Vehicle program_answer(const Evidence& e) {
    const Learned l = learn(e);
    Vehicle v;
    v.hand = figures_of(l.hand), v.log_evidence = l.log_evidence;
    for (std::size_t p = 0; p < 2; ++p) v.softness[p] = figures_of(l.softness[p]);
    for (std::size_t j = 0; j < 3; ++j)
        v.cut[j] = figures_of(l.panels[j].cut), v.depth[j] = figures_of(l.panels[j].depth);
    return v;
}

/// Tolerances in standard deviations.
struct Tolerance {
    double mean, sd, quantile;
};
void check_close(const Figures& found, const Figures& wanted, const Tolerance& t) {
    CHECK(std::abs(found.mean - wanted.mean) < t.mean * wanted.sd);
    CHECK(std::abs(found.sd - wanted.sd) < t.sd * wanted.sd);
    CHECK(std::abs(found.low - wanted.low) < t.quantile * wanted.sd);
    CHECK(std::abs(found.high - wanted.high) < t.quantile * wanted.sd);
}
void check_close(const Vehicle& found, const Vehicle& wanted, const Tolerance& t) {
    check_close(found.hand, wanted.hand, t);
    for (std::size_t p = 0; p < 2; ++p) check_close(found.softness[p], wanted.softness[p], t);
    for (std::size_t j = 0; j < 3; ++j) {
        CAPTURE(j);
        check_close(found.cut[j], wanted.cut[j], t);
        check_close(found.depth[j], wanted.depth[j], t);
    }
}

// ---- sums on a finer grid ---------------------------------------------------------------------------

double bell(double x, double sd) { return std::exp(-0.5 * x * x / (sd * sd)) / (sd * std::sqrt(2 * pi)); }

constexpr double fine = 0.018; ///< of hand and softness; no multiple or part of the program's 0.05
std::vector<double> fine_nodes(double sd, double step) {
    std::vector<double> nodes;
    for (double x = -5.2 * sd; x <= 5.2 * sd; x += step) nodes.push_back(x);
    return nodes;
}

/// Figures of a density given at any places; what comes on top is normal and known.
Figures figures_of(const std::vector<double>& at, std::vector<double> density, double extra_sd = 0) {
    const double whole = std::accumulate(density.begin(), density.end(), 0.0);
    double mean = 0, square = 0;
    for (std::size_t k = 0; k < at.size(); ++k) density[k] /= whole, mean += density[k] * at[k];
    for (std::size_t k = 0; k < at.size(); ++k) square += density[k] * (at[k] - mean) * (at[k] - mean);
    Figures f{mean, std::sqrt(square + extra_sd * extra_sd), 0, 0};
    const double step = at[1] - at[0];
    // A node stands for a normal bump half a step wide, which adds 0.4 % to an sd of 0.2, or for one as wide
    // as what comes on top.
    const double width = extra_sd > 0 ? extra_sd : 0.5 * step;
    const auto quantile = [&](double share) {
        double low = at.front() - 1, high = at.back() + 1;
        for (int halving = 0; halving < 60; ++halving) {
            const double middle = 0.5 * (low + high);
            double below = 0;
            for (std::size_t k = 0; k < at.size(); ++k)
                below += density[k] * 0.5 * std::erfc((at[k] - middle) / (width * std::sqrt(2.0)));
            (below < share ? low : high) = middle;
        }
        return low;
    };
    f.low = quantile(0.05), f.high = quantile(0.95);
    return f;
}

/// Probability of what was seen on a square whose cut is c + e.
double square_likelihood(const Evidence& e, const Square& square, double cut, double depth) {
    double product = 1;
    for (const Look& look : square.looks) {
        if (look.seen)
            product *= seen_probability(*look.seen, share_cleared(e.panels[square.panel].marks, look.removed,
                                                                  std::exp(cut), std::exp(depth)));
        if (look.gauge && &square != e.squares.data())
            product *= bell(look.gauge->loss_um() - look.mean_um * std::exp(cut), look.gauge->sd_um());
    }
    if (&square != e.squares.data()) return product;
    // Two losses with one mean before: the bivariate normal density with covariance [a + b, b; b, c + b].
    const GaugePair &first = *square.looks[0].gauge, &second = *square.looks[1].gauge;
    const double b = 1.44 / 4, a = 1.44 / 6 + b, c = 1.44 / 9 + b, determinant = a * c - b * b;
    const double x = first.loss_um() - square.looks[0].mean_um * std::exp(cut);
    const double y = second.loss_um() - square.looks[1].mean_um * std::exp(cut);
    const double exponent = (c * x * x - 2 * b * x * y + a * y * y) / determinant;
    return product * std::exp(-0.5 * exponent) / (2 * pi * std::sqrt(determinant));
}

Vehicle by_fine_sums(const Evidence& e) {
    const std::vector<double> hand = fine_nodes(hand_sd, fine), soft = fine_nodes(0.3, fine);
    const std::vector<double> own = fine_nodes(square_sd, 0.031), deep = fine_nodes(depth_sd, 0.037);
    const std::size_t cuts = hand.size() + soft.size() - 1;
    const auto cut_at = [&](std::size_t k) { return hand[0] + soft[0] + static_cast<double>(k) * fine; };

    // For each panel the joint probability of what was seen on it and its depth, at each cut.
    std::array<std::vector<std::vector<double>>, 3> seen_and_depth;
    std::array<std::vector<double>, 3> seen;
    for (std::size_t j = 0; j < 3; ++j)
        for (std::size_t c = 0; c < cuts; ++c) {
            std::vector<double> row;
            for (const double d : deep) {
                double product = bell(d, depth_sd) * 0.037;
                for (const Square& square : e.squares) {
                    if (square.panel != j) continue;
                    double sum = 0;
                    for (const double x : own)
                        sum += bell(x, square_sd) * 0.031 * square_likelihood(e, square, cut_at(c) + x, d);
                    product *= sum;
                }
                row.push_back(product);
            }
            seen[j].push_back(std::accumulate(row.begin(), row.end(), 0.0));
            seen_and_depth[j].push_back(std::move(row));
        }

    // All of h, s_0 and s_1, one after the other.
    std::vector<double> of_hand(hand.size());
    std::array<std::vector<double>, 2> of_soft{std::vector<double>(soft.size()),
                                               std::vector<double>(soft.size())};
    std::array<std::vector<double>, 2> of_cut{std::vector<double>(cuts), std::vector<double>(cuts)};
    double whole = 0;
    for (std::size_t h = 0; h < hand.size(); ++h)
        for (std::size_t a = 0; a < soft.size(); ++a)
            for (std::size_t b = 0; b < soft.size(); ++b) {
                const double p = bell(hand[h], hand_sd) * bell(soft[a], 0.3) * bell(soft[b], 0.2) *
                                 seen[0][h + a] * seen[1][h + a] * seen[2][h + b];
                whole += p * fine * fine * fine;
                of_hand[h] += p, of_soft[0][a] += p, of_soft[1][b] += p;
                of_cut[0][h + a] += p, of_cut[1][h + b] += p;
            }

    Vehicle v;
    v.log_evidence = std::log(whole);
    v.hand = figures_of(hand, of_hand);
    for (std::size_t p = 0; p < 2; ++p) v.softness[p] = figures_of(soft, of_soft[p]);
    std::vector<double> all_cuts;
    for (std::size_t c = 0; c < cuts; ++c) all_cuts.push_back(cut_at(c));
    for (std::size_t j = 0; j < 3; ++j) {
        const std::size_t paint = e.panels[j].paint;
        v.cut[j] = figures_of(all_cuts, of_cut[paint], square_sd);
        std::vector<double> of_depth(deep.size());
        for (std::size_t c = 0; c < cuts; ++c)
            for (std::size_t m = 0; m < deep.size(); ++m)
                if (seen[j][c] > 0) of_depth[m] += of_cut[paint][c] * seen_and_depth[j][c][m] / seen[j][c];
        v.depth[j] = figures_of(deep, of_depth);
    }
    return v;
}

// ---- vehicles drawn from the prior ------------------------------------------------------------------

/// Marks one by one: depths of equal frequency, with the area that one of median depth covers.
struct SingleMarks {
    std::vector<double> depth_um;
    double area_per_um = 0;
};
SingleMarks one_by_one(const MarkPopulation& p) {
    constexpr int count = 200;
    SingleMarks marks;
    marks.area_per_um = p.per_m2 * p.length_m * p.width_m / p.depth_um; // lines
    for (int k = 0; k < count; ++k) {
        double low = -8, high = 8;
        for (int halving = 0; halving < 50; ++halving) {
            const double z = 0.5 * (low + high);
            (0.5 * (1 + std::erf(z / std::sqrt(2.0))) < (k + 0.5) / count ? low : high) = z;
        }
        marks.depth_um.push_back(p.depth_um * std::exp(p.depth_sd * low));
    }
    return marks;
}

/// As the model tells it: a mark is as wide as what is left of it is deep, and gone from 0.2 um on.
double area_left(const SingleMarks& marks, double removed_um, double depth_scale) {
    double sum = 0;
    for (const double depth : marks.depth_um) {
        const double left = depth * depth_scale - removed_um;
        sum += left > 0.2 ? left : 0;
    }
    // A depth scale deepens the marks and leaves their size at the median alone.
    return sum * marks.area_per_um / depth_scale;
}

double share_by_single_marks(const std::vector<SingleMarks>& panel, const Look& look, double cut,
                             double depth) {
    double before = 0, after = 0;
    for (const SingleMarks& marks : panel) {
        before += area_left(marks, 0, depth);
        for (const double um : look.removed.um)
            after += area_left(marks, um * cut, depth) / static_cast<double>(look.removed.um.size());
    }
    return 1 - after / before;
}

double impression_within(double low, double high, double share) {
    const double sd = 0.02 + 0.2 * std::sqrt(share * (1 - share));
    return 0.5 * (std::erf((high - share) / (sd * std::sqrt(2.0))) -
                  std::erf((low - share) / (sd * std::sqrt(2.0))));
}

struct Drawn {
    double value, weight;
};
Figures figures_of(std::vector<Drawn> drawn) {
    double whole = 0, mean = 0, square = 0;
    for (const Drawn& d : drawn) whole += d.weight, mean += d.weight * d.value;
    mean /= whole;
    for (const Drawn& d : drawn) square += d.weight * (d.value - mean) * (d.value - mean);
    std::ranges::sort(drawn, std::ranges::less{}, &Drawn::value);
    Figures f{mean, std::sqrt(square / whole), 0, 0};
    double below = 0;
    for (const Drawn& d : drawn) {
        if (below < 0.05 * whole) f.low = d.value;
        if (below < 0.95 * whole) f.high = d.value;
        below += d.weight;
    }
    return f;
}

struct Sampled {
    Vehicle figures;
    double effective = 0; ///< number of draws of equal weight that would be worth as much (Kish)
};

Sampled by_draws(const Evidence& e, int count) {
    std::vector<std::vector<SingleMarks>> marks;
    for (const PanelEvidence& panel : e.panels) {
        marks.emplace_back();
        for (const MarkPopulation& p : panel.marks) marks.back().push_back(one_by_one(p));
    }
    Deviates deviate(20);
    std::vector<Drawn> hand;
    std::array<std::vector<Drawn>, 2> softness;
    std::array<std::vector<Drawn>, 3> cut, depth;
    double sum = 0, squares = 0;
    for (int k = 0; k < count; ++k) {
        const double h = hand_sd * deviate();
        const std::array<double, 2> s{0.3 * deviate(), 0.2 * deviate()};
        const std::array<double, 3> d{depth_sd * deviate(), depth_sd * deviate(), depth_sd * deviate()};
        double weight = 1;
        for (const Square& square : e.squares) {
            const std::size_t paint = e.panels[square.panel].paint;
            const double factor = std::exp(h + s[paint] + square_sd * deviate());
            // What the mean before was off by is drawn too, for each square one.
            const double off = deviate();
            for (const Look& look : square.looks) {
                if (look.gauge) {
                    const double true_before =
                        look.gauge->before_um -
                        off * look.gauge->repeat_sd_um / std::sqrt(1.0 * look.gauge->n_before);
                    const double z = look.gauge->after_um - (true_before - factor * look.mean_um);
                    const double variance =
                        look.gauge->repeat_sd_um * look.gauge->repeat_sd_um / look.gauge->n_after;
                    weight *= std::exp(-z * z / (2 * variance)) / std::sqrt(2 * pi * variance);
                }
                if (look.seen && weight > 1e-12)
                    weight *= impression_within(
                        look.seen->low, look.seen->high,
                        share_by_single_marks(marks[square.panel], look, factor, std::exp(d[square.panel])));
            }
        }
        sum += weight, squares += weight * weight;
        hand.push_back({h, weight});
        for (std::size_t p = 0; p < 2; ++p) softness[p].push_back({s[p], weight});
        for (std::size_t j = 0; j < 3; ++j) {
            cut[j].push_back({h + s[e.panels[j].paint] + square_sd * deviate(), weight});
            depth[j].push_back({d[j], weight});
        }
    }
    Sampled out;
    out.effective = sum * sum / squares;
    out.figures.log_evidence = std::log(sum / count);
    out.figures.hand = figures_of(std::move(hand));
    for (std::size_t p = 0; p < 2; ++p) out.figures.softness[p] = figures_of(std::move(softness[p]));
    for (std::size_t j = 0; j < 3; ++j)
        out.figures.cut[j] = figures_of(std::move(cut[j])),
        out.figures.depth[j] = figures_of(std::move(depth[j]));
    return out;
}

} // namespace

TEST_CASE("what is learned is what the densities themselves sum to on a finer grid", "[learning]") {
    const Evidence e = small_vehicle();
    const Vehicle found = program_answer(e), wanted = by_fine_sums(e);
    // Seen: 1e-7. Sums over densities that fade to nothing converge that fast; quantiles come from bars a
    // step wide, 0.05 where the sds are 0.14 to 0.3.
    check_close(found, wanted, {1e-6, 1e-6, 0.02});
    CHECK(found.log_evidence == Approx(wanted.log_evidence).margin(1e-5));
    // Something was learned, or the prior would do.
    CHECK(wanted.cut[0].sd < 0.8 * std::sqrt(hand_sd * hand_sd + 0.09 + square_sd * square_sd));
    CHECK(wanted.depth[2].sd < 0.9 * depth_sd);
}

TEST_CASE("what is learned is what vehicles drawn from the prior say that explain what was seen",
          "[learning]") {
    const Evidence e = small_vehicle();
    const Sampled wanted = by_draws(e, 200000);
    CAPTURE(wanted.effective);
    REQUIRE(wanted.effective > 6000);
    // 6000 draws leave 1/sqrt(6000) = 1.3 % of an sd in a mean, 0.9 % in the sd and 0.218 / 0.103 /
    // sqrt(6000) = 2.7 % in a 5 % quantile; three of each, as 32 figures are compared, and 200 marks for a
    // population another 1 %.
    check_close(program_answer(e), wanted.figures, {0.05, 0.04, 0.09});
    CHECK(program_answer(e).log_evidence == Approx(wanted.figures.log_evidence).margin(0.05));
}

} // namespace test_learning_reference
