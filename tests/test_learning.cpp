// What test sections teach of hand, paint and marks, and what in them cannot be true together.
#include "support/learning.hpp"
#include "support/nonempty.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numeric>
#include <tuple>

namespace test_learning {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

const SeenShare all{0.97, 1.0}, better{0.10, 0.95};

/// sd of the cut of the next piece of work where nothing was seen: hand, paint and square, of the default
/// terms.
double prior_cut_sd(double paint_sd) { return std::sqrt(0.15 * 0.15 + paint_sd * paint_sd + 0.07 * 0.07); }

void check_same(const Belief1& a, const Belief1& b, double tolerance) {
    REQUIRE(a.weight.size() == b.weight.size());
    CHECK(a.first == b.first);
    for (std::size_t k = 0; k < a.weight.size(); ++k) CHECK(std::abs(a.weight[k] - b.weight[k]) <= tolerance);
}

void check_same(const Learned& a, const Learned& b, double tolerance) {
    check_same(a.hand, b.hand, tolerance);
    for (std::size_t p = 0; p < a.softness.size(); ++p) check_same(a.softness[p], b.softness[p], tolerance);
    for (std::size_t j = 0; j < a.panels.size(); ++j) {
        check_same(a.panels[j].cut, b.panels[j].cut, tolerance);
        check_same(a.panels[j].depth, b.panels[j].depth, tolerance);
    }
    CHECK(std::abs(a.log_evidence - b.log_evidence) <= 1e3 * tolerance);
}

/// Three panels of two paints, four squares, lamp and gauge here and there.
Evidence three_panels() {
    Evidence e;
    e.paint_sd = {0.3, 0.2};
    e.panels = {{0, severe_marks()}, {0, light_marks()}, {1, severe_marks()}};
    e.squares = {{0, {look(0.7, SeenShare{0.65, 0.92}, gauge_of(0.9, 0.4)), look(1.4, seen_number(0.95))}},
                 {1, {look(0.6, all)}},
                 {2, {look(0.8, seen_number(0.6), gauge_of(0.3, 0.3))}},
                 {2, {look(1.2, std::nullopt, gauge_of(0.9, 0.5))}}};
    return e;
}

} // namespace

// ---- what is learned --------------------------------------------------------------------------------

TEST_CASE("no evidence gives the presets back, as unsure as they are", "[learning]") {
    const Evidence nothing{{0.3, 0.12}, {{0, severe_marks()}, {1, light_marks()}}, {}};
    const Learned l = learn(nothing);
    // Nodes end at five standard deviations and the trapezoidal rule is exact before that: 1e-5 of an sd.
    CHECK(l.hand.mean() == Approx(0).margin(1e-9));
    CHECK(l.hand.sd() == Approx(0.15).epsilon(1e-4));
    CHECK(l.softness[0].sd() == Approx(0.3).epsilon(1e-4));
    CHECK(l.softness[1].sd() == Approx(0.12).epsilon(1e-4));
    for (std::size_t j = 0; j < 2; ++j) {
        CHECK(l.panels[j].cut.mean() == Approx(0).margin(1e-9));
        CHECK(l.panels[j].cut.sd() == Approx(prior_cut_sd(j == 0 ? 0.3 : 0.12)).epsilon(1e-4));
        CHECK(l.panels[j].depth.mean() == Approx(0).margin(1e-9));
        CHECK(l.panels[j].depth.sd() == Approx(0.3).epsilon(1e-4));
        // Bars a step wide under a bell: a bar's height is off by step² f''/24, 0.1 % of f here.
        CHECK(l.panels[j].cut.quantile(0.95) == Approx(1.6449 * l.panels[j].cut.sd()).epsilon(0.01));
    }
    CHECK(l.log_evidence == Approx(0).margin(1e-9)); // what was not seen was certain
    CHECK(l.conflicts.empty());
}

TEST_CASE("a gauge that reads more loss than the model makes the cut larger and surer", "[learning]") {
    const Learned more = learn(one_panel(severe_marks(), {look(1.0, {}, gauge_of(1.5, 0.2))}));
    const Learned less = learn(one_panel(severe_marks(), {look(1.0, {}, gauge_of(0.6, 0.2))}));
    CHECK(more.panels[0].cut.mean() > 0.2); // ln 1.5 is 0.41, of which the error leaves some three quarters
    CHECK(less.panels[0].cut.mean() < -0.2);
    CHECK(more.panels[0].cut.sd() < 0.7 * prior_cut_sd(0.3));
    // Who is at it, hand or paint, is told apart by how unsure each was: variances 0.0225 and 0.09.
    CHECK(more.hand.mean() / more.softness[0].mean() == Approx(0.25).epsilon(0.01));
    CHECK(more.panels[0].depth.mean() == Approx(0).margin(1e-9)); // a gauge sees no marks
    CHECK(more.panels[0].depth.sd() == Approx(0.3).epsilon(1e-3));
}

TEST_CASE("fewer marks left than predicted make them shallower or the cut larger, more left the reverse",
          "[learning]") {
    const Evidence nearly_out = one_panel(severe_marks(), {look(0.7, all)});
    const Evidence hardly_any = one_panel(severe_marks(), {look(0.7, seen_number(0.30))});
    const Learned up = learn(nearly_out), down = learn(hardly_any);
    CHECK(up.panels[0].depth.mean() < -0.05);
    CHECK(up.panels[0].cut.mean() > 0.05);
    CHECK(down.panels[0].depth.mean() > 0.05);
    CHECK(down.panels[0].cut.mean() < -0.05);
    CHECK(down.panels[0].depth.sd() < 0.3);
    CHECK(down.panels[0].cut.sd() < prior_cut_sd(0.3));
    // The lamp tells the two only together: what is believed of one depends on the other.
    double covariance = 0;
    const PanelBelief& b = down.panels[0];
    for (std::size_t k = 0; k < b.cut.weight.size(); ++k)
        for (std::size_t m = 0; m < b.depth.weight.size(); ++m)
            covariance += b.joint[k * b.depth.weight.size() + m] * (b.cut.at(k) - b.cut.mean()) *
                          (b.depth.at(m) - b.depth.mean());
    CHECK(covariance / (b.cut.sd() * b.depth.sd()) > 0.3);
}

TEST_CASE("a gauge beside the lamp tells depth from cut", "[learning]") {
    const Look lamp_only = look(0.7, seen_number(0.30));
    const Look both = look(0.7, seen_number(0.30), gauge_of(0.7, 0.1));
    const PanelBelief without = learn(one_panel(severe_marks(), {lamp_only})).panels[0];
    const PanelBelief with = learn(one_panel(severe_marks(), {both})).panels[0];
    CHECK(std::abs(with.cut.mean()) < 0.5 * std::abs(without.cut.mean()));
    CHECK(with.depth.mean() > without.depth.mean());
    CHECK(with.depth.sd() < without.depth.sd());
}

TEST_CASE("a second square narrows what the first has taught", "[learning]") {
    Evidence e = one_panel(severe_marks(), {look(0.7, seen_number(0.7), gauge_of(0.8, 0.3))});
    const Learned first = learn(e);
    e.squares.push_back(e.squares[0]);
    const Learned second = learn(e);
    CHECK(second.panels[0].cut.sd() < 0.95 * first.panels[0].cut.sd());
    CHECK(second.panels[0].depth.sd() < 0.99 * first.panels[0].depth.sd());
    CHECK(second.conflicts.empty());
}

TEST_CASE("marginal beliefs are those of the joint one, all weights sum to 1", "[learning]") {
    for (const PanelBelief& b : nonempty(learn(three_panels()).panels)) {
        REQUIRE(b.joint.size() == b.cut.weight.size() * b.depth.weight.size());
        CHECK(std::accumulate(b.joint.begin(), b.joint.end(), 0.0) == Approx(1).epsilon(1e-12)); // rounding
        for (const std::size_t m : {std::size_t{10}, std::size_t{30}}) {
            double column = 0;
            for (std::size_t k = 0; k < b.cut.weight.size(); ++k)
                column += b.joint[k * b.depth.weight.size() + m];
            CHECK(column == Approx(b.depth.weight[m]).epsilon(1e-12));
        }
        for (const std::size_t k : {std::size_t{30}, std::size_t{50}}) {
            const auto row = b.joint.begin() + static_cast<std::ptrdiff_t>(k * b.depth.weight.size());
            const double sum =
                std::accumulate(row, row + static_cast<std::ptrdiff_t>(b.depth.weight.size()), 0.0);
            CHECK(sum == Approx(b.cut.weight[k]).epsilon(1e-12));
        }
    }
}

TEST_CASE("panels of one paint teach each other its softness, another paint's only the hand", "[learning]") {
    Evidence e;
    e.paint_sd = {0.3, 0.3};
    e.panels = {{0, severe_marks()}, {0, severe_marks()}, {1, severe_marks()}};
    e.squares = {{0, {look(1.0, {}, gauge_of(1.6, 0.15))}}};
    const Learned l = learn(e);
    const double own = l.panels[0].cut.mean(), same_paint = l.panels[1].cut.mean(),
                 other = l.panels[2].cut.mean();
    CHECK(own > 0.3);
    CHECK(same_paint == Approx(own).epsilon(1e-9)); // it has the same hand and paint
    CHECK(other > 0.02);
    CHECK(other == Approx(l.hand.mean()).epsilon(1e-6));
    CHECK(other < 0.35 * own);
    CHECK(l.softness[1].mean() == Approx(0).margin(1e-9));
    CHECK(l.panels[2].cut.sd() < prior_cut_sd(0.3));
    CHECK(l.panels[2].cut.sd() > 0.9 * prior_cut_sd(0.3));
    CHECK(l.panels[1].depth.sd() == Approx(0.3).epsilon(1e-3)); // its marks are its own
}

TEST_CASE("what the rest says of the hand tells a soft paint from a heavy hand", "[learning]") {
    Evidence one{
        {0.3, 0.3}, {{0, severe_marks()}, {1, severe_marks()}}, {{0, {look(1.0, {}, gauge_of(1.6, 0.15))}}}};
    Evidence two = one;
    two.squares.push_back(
        {1, {look(1.0, {}, gauge_of(1.0, 0.15))}}); // the same hand takes no more off the other paint
    CHECK(learn(two).softness[0].mean() > learn(one).softness[0].mean());
    CHECK(learn(two).hand.mean() < learn(one).hand.mean());
}

TEST_CASE("looking at several paints in any order of squares teaches the same", "[learning]") {
    const Evidence e = three_panels();
    Evidence turned = e;
    std::ranges::reverse(turned.squares);
    check_same(learn(e), learn(turned), 1e-13); // sums in another order: rounding of logarithms of some tens
    const Learned a = learn(e), b = learn(e);
    check_same(a, b, 0); // and the same bits where nothing was turned
}

TEST_CASE("evidence that says better hardly narrows anything", "[learning]") {
    const Learned l = learn(one_panel(severe_marks(), {look(0.7, better)}));
    // It excludes the very ends alone, which takes a twentieth off; a number takes a tenth to a third.
    CHECK(l.panels[0].cut.sd() > 0.94 * prior_cut_sd(0.3));
    CHECK(l.panels[0].depth.sd() > 0.94 * 0.3);
    const Learned number = learn(one_panel(severe_marks(), {look(0.7, seen_number(0.6))}));
    CHECK(number.panels[0].cut.sd() < 0.9 * prior_cut_sd(0.3));
    CHECK(number.panels[0].depth.sd() < 0.9 * 0.3);
    CHECK(std::abs(l.panels[0].cut.mean()) < 0.2 * 0.3);
    CHECK(l.conflicts.empty());
}

TEST_CASE("half the step between nodes changes nothing that matters", "[learning]") {
    Evidence e = three_panels();
    e.squares[3].looks[0].gauge = gauge_of(0.9, 0.05); // one that has the step made finer
    LearningTerms finer;
    finer.step = 0.025;
    const Learned a = learn(e), b = learn(e, finer);
    // The sums are good to 1e-4 of an sd; a quantile is taken from bars a step wide, which leaves up to
    // step²/8 f'(x)/f(x), 0.3 step²/sd² of an sd at the 5 % point: 3 % where the sd is about 0.1.
    for (std::size_t j = 0; j < a.panels.size(); ++j)
        for (const auto& [x, y] :
             {std::pair{a.panels[j].cut, b.panels[j].cut}, {a.panels[j].depth, b.panels[j].depth}}) {
            CHECK(std::abs(x.mean() - y.mean()) < 2e-4 * y.sd());
            CHECK(x.sd() == Approx(y.sd()).epsilon(2e-4));
            for (const double share : {0.05, 0.5, 0.95})
                CHECK(std::abs(x.quantile(share) - y.quantile(share)) < 0.03 * y.sd());
        }
    CHECK(a.log_evidence == Approx(b.log_evidence).margin(2e-3));
}

TEST_CASE("a gauge surer than the step between nodes has the nodes moved closer", "[learning]") {
    const Learned l = learn(one_panel(severe_marks(), {look(6.0, {}, gauge_of(7.2, 0.15))}));
    CHECK(l.panels[0].cut.step == Approx(0.15 / 7.2));
    const Learned most = learn(one_panel(severe_marks(), {look(6.0, {}, gauge_of(7.2, 1e-6))}));
    CHECK(most.panels[0].cut.step == Approx(0.01)); // but no closer than a fifth of what was asked for
    // Two gauges on a square, each of 2 % of the loss, have one width; nine squares tell their paint to a
    // third.
    Evidence many = one_panel(severe_marks(), {});
    many.squares.assign(9, {0, {look(1.0, {}, gauge_of(1.0, 0.02)), look(1.5, {}, gauge_of(1.5, 0.03))}});
    const double two_looks = 0.02 / std::sqrt(2.0);
    CHECK(learn_without(many, {}).panels[0].cut.step == Approx(two_looks));
    many.squares.assign(9, {0, {look(1.0, {}, gauge_of(1.0, 0.04))}});
    CHECK(learn_without(many, {}).panels[0].cut.step == Approx(std::hypot(0.07, 0.04) / 3));
}

TEST_CASE("observations left out teach nothing", "[learning]") {
    const Evidence e = three_panels();
    Evidence less = e;
    less.squares[0].looks[0].gauge.reset();
    less.squares[1].looks[0].seen.reset();
    const std::vector<Observation> out{{0, 0, Witness::gauge}, {1, 0, Witness::lamp}};
    const Learned without = learn_without(e, out);
    check_same(without, learn(less), 1e-13);
    CHECK(without.conflicts.empty());
    CHECK(std::abs(learn(e).panels[0].cut.mean() - without.panels[0].cut.mean()) > 0.01);
}

TEST_CASE("the probability of all that was seen is that of the first and of the second given the first",
          "[learning]") {
    // One square, lamp: ln p is the logarithm of the seen share's expectation over the prior, summed here
    // plainly.
    const Evidence e = one_panel(severe_marks(), {look(0.7, seen_number(0.7))});
    const double cut_sd = prior_cut_sd(0.3);
    double sum = 0, weights = 0;
    for (double z = -4.95; z < 5; z += 0.1)
        for (double y = -4.95; y < 5; y += 0.1) {
            const double weight = std::exp(-0.5 * (z * z + y * y));
            const double q = share_cleared(e.panels[0].marks, e.squares[0].looks[0].removed,
                                           std::exp(cut_sd * z), std::exp(0.3 * y));
            sum += weight * seen_probability(seen_number(0.7), q), weights += weight;
        }
    CHECK(learn(e).log_evidence ==
          Approx(std::log(sum / weights)).margin(1e-4)); // both sums converge to 1e-5
}

TEST_CASE("evidence that cannot be meant is refused", "[learning]") {
    const Evidence good = one_panel(severe_marks(), {look(0.7, all, gauge_of(0.7, 0.3))});
    const auto refuses = [](Evidence e, LearningTerms terms = {}) {
        CHECK_THROWS_AS(learn(e, terms), std::invalid_argument);
        CHECK_THROWS_AS(learn_without(e, {}, terms), std::invalid_argument);
    };
    Evidence bad = good;
    refuses({});
    bad.panels.clear(), bad.squares.clear(), refuses(bad);
    bad = good, bad.panels[0].paint = 1, refuses(bad);
    bad = good, bad.squares[0].panel = 1, refuses(bad);
    bad = good, bad.squares[0].looks[0].gauge->repeat_sd_um = 0, refuses(bad);
    bad = good, bad.squares[0].looks[0].gauge->n_after = 0, refuses(bad);
    bad = good, bad.squares[0].looks[0].gauge->after_um = std::nan(""), refuses(bad);
    bad = good, bad.squares[0].looks[0].mean_um = std::nan(""), refuses(bad);
    for (const double sd : {0.0, -0.1, std::nan(""), std::numeric_limits<double>::infinity()}) {
        bad = good, bad.paint_sd[0] = sd, refuses(bad);
        for (double LearningTerms::*const term : {&LearningTerms::hand_sd, &LearningTerms::depth_sd,
                                                  &LearningTerms::square_sd, &LearningTerms::step}) {
            LearningTerms terms;
            terms.*term = sd;
            refuses(good, terms);
        }
    }
}

// ---- what cannot be true together -------------------------------------------------------------------

TEST_CASE("all of severe marks cleared with nothing removed is said, not averaged away", "[learning]") {
    const Learned l = learn(one_panel(severe_marks(), {look(0.7, all, gauge_of(0.0, 0.1))}));
    REQUIRE(l.conflicts.size() == 2); // each stands against the other
    const Conflict& lamp = l.conflicts[0];
    const Conflict& gauge = l.conflicts[1];
    CHECK((lamp.witness == Witness::lamp && gauge.witness == Witness::gauge));
    CHECK((lamp.chance < conflict_chance && gauge.chance < conflict_chance));
    CHECK_FALSE((lamp.impossible || gauge.impossible));
    // Without the gauge's word, the model's loss is what marks that are out ask for at the least.
    CHECK((gauge.low > 0.3 && gauge.low < gauge.median && gauge.median < gauge.high && gauge.high < 2.5));
    // A tenth of a micrometre clears little of marks some 1 um deep.
    CHECK((lamp.low >= 0 && lamp.low < lamp.median && lamp.median < lamp.high && lamp.high < 0.6));
}

TEST_CASE("the same on light marks with a coarse gauge is no conflict", "[learning]") {
    CHECK(learn(one_panel(light_marks(), {look(0.7, all, gauge_of(0.0, 0.5))})).conflicts.empty());
}

TEST_CASE("film that has grown by more than the gauge's error is impossible and teaches nothing",
          "[learning]") {
    const Evidence e = one_panel(severe_marks(), {look(0.7, seen_number(0.7), gauge_of(-0.9, 0.3))});
    const Learned l = learn(e);
    REQUIRE(l.conflicts.size() == 1);
    CHECK(l.conflicts[0].impossible);
    CHECK(
        (l.conflicts[0].witness == Witness::gauge && l.conflicts[0].square == 0 && l.conflicts[0].look == 0));
    CHECK(l.conflicts[0].chance < conflict_chance);
    CHECK((l.conflicts[0].median > 0.3 && l.conflicts[0].median < 1.2));
    Evidence without = e;
    without.squares[0].looks[0].gauge.reset();
    check_same(l, learn(without), 1e-13);
    check_same(learn_without(e, {}), learn(without), 1e-13);
    // By the limit: 2.33 sd. It is impossible even where the rest would expect nothing to be lost.
    CHECK(impossible(gauge_of(-2.34 * 0.3, 0.3)));
    CHECK_FALSE(impossible(gauge_of(-2.32 * 0.3, 0.3)));
    const Learned idle = learn(one_panel(severe_marks(), {look(0.0, {}, gauge_of(-0.72, 0.3))}));
    REQUIRE(idle.conflicts.size() == 1);
    CHECK(idle.conflicts[0].impossible);
}

TEST_CASE("film that has grown within the gauge's error is none", "[learning]") {
    CHECK(learn(one_panel(severe_marks(), {look(0.3, {}, gauge_of(-0.3, 0.4))})).conflicts.empty());
}

TEST_CASE("a square that stands against three others on its paint is the one that is told", "[learning]") {
    Evidence e = one_panel(severe_marks(), {look(1.0, {}, gauge_of(1.05, 0.1))});
    e.squares.push_back({0, {look(1.0, {}, gauge_of(0.95, 0.1))}});
    e.squares.push_back({0, {look(1.0, {}, gauge_of(1.7, 0.1))}});
    e.squares.push_back({0, {look(1.0, {}, gauge_of(1.0, 0.1))}});
    const Learned l = learn(e);
    REQUIRE(l.conflicts.size() == 1);
    CHECK(l.conflicts[0].square == 2);
    CHECK((l.conflicts[0].low > 0.6 && l.conflicts[0].high < 1.5));
}

TEST_CASE("the chance of a gauge's reading is that of its normal law where the rest leaves no doubt",
          "[learning]") {
    // Priors so narrow that the loss is 1 um: what the gauge read, 3 sd out, has a chance of 2 Phi(-3).
    const LearningTerms sure{0.01, 0.3, 0.01};
    const Learned l = learn(one_panel(severe_marks(), {look(1.0, {}, gauge_of(1.9, 0.3))}, 0.01), sure);
    REQUIRE(l.conflicts.size() == 1);
    // The loss itself is sure to 1.7 %, which adds 0.2 % to the sd and 3 sd 0.002 x 3 / ... 2 % to the
    // chance.
    CHECK(l.conflicts[0].chance == Approx(std::erfc(3 / std::sqrt(2.0))).epsilon(0.03));
    CHECK(l.conflicts[0].median == Approx(1.0).epsilon(0.002));
    CHECK(l.conflicts[0].low == Approx(1 - 1.645 * 0.3).epsilon(0.01));
    CHECK(l.conflicts[0].high == Approx(1 + 1.645 * 0.3).epsilon(0.01));
}

TEST_CASE("a word's own width speaks for it, and its open end is never against it", "[learning]") {
    const LearningTerms sure{0.01, 0.01, 0.01};
    const std::vector<MarkPopulation> marks = severe_marks();
    const Look plain = look(0.7);
    const double q = share_cleared(marks, plain.removed, 1, 1), sd = lamp_sd(q);
    const auto conflicts = [&](SeenShare seen) {
        return learn(one_panel(marks, {look(0.7, seen)}, 0.01), sure).conflicts.size();
    };
    // 2.576 sd is where the chance is 1 %; priors leave q unsure by 0.01, which next to sd = 0.1 is 0.5 %.
    CHECK(conflicts({q + 2.65 * sd, q + 4 * sd}) == 1);
    CHECK(conflicts({q + 2.50 * sd, q + 4 * sd}) == 0);
    CHECK(conflicts({q - 4 * sd, q - 2.65 * sd}) == 1);
    CHECK(conflicts({q - 4 * sd, q - 2.50 * sd}) == 0);
    const auto at_the_end = [](double um, SeenShare seen) {
        return learn(one_panel(light_marks(), {look(um, seen)}, 0.01), {0.01, 0.01, 0.01}).conflicts.size();
    };
    CHECK(at_the_end(9.0, {0.97, 1.0}) == 0);  // everything is gone, and everything was seen to be
    CHECK(at_the_end(0.0, {0.0, 0.005}) == 0); // nothing is gone, and nothing was seen to be
    CHECK(at_the_end(9.0, {0.0, 0.1}) == 1);
    CHECK(at_the_end(0.0, {0.97, 1.0}) == 1);
    // What was expected is a share: half of the impressions of nothing would be less than that.
    const Conflict c = learn(one_panel(light_marks(), {look(0.0, all)})).conflicts[0];
    CHECK((c.low == 0 && c.high == Approx(1.645 * 0.02).epsilon(1e-3)));
    const Conflict d = learn(one_panel(light_marks(), {look(9.0, SeenShare{0.0, 0.1})})).conflicts[0];
    CHECK((d.high == 1 && d.low == Approx(1 - 1.645 * 0.02).epsilon(1e-3)));
}

TEST_CASE("evidence mad beyond all numbers is answered with numbers", "[learning]") {
    Evidence e = one_panel(
        severe_marks(), {look(0.0, all, gauge_of(0, 0.001)), look(1.0, seen_number(0), gauge_of(80, 0.001))});
    e.squares.push_back({0, {look(5.0, seen_number(0), gauge_of(0.001, 0.001))}});
    const Learned l = learn(e);
    CHECK(std::isfinite(l.log_evidence));
    for (const double value : {l.hand.mean(), l.hand.sd(), l.panels[0].cut.mean(), l.panels[0].depth.sd()})
        CHECK(std::isfinite(value));
    CHECK(l.conflicts.size() >= 3);
    const auto place = [](const Conflict& c) { return std::tuple(c.square, c.look, c.witness); };
    CHECK(std::ranges::is_sorted(l.conflicts, std::ranges::less{}, place));
    for (const Conflict& c : l.conflicts)
        CHECK((std::isfinite(c.low) && std::isfinite(c.high) && c.chance >= 0));
}

// ---- beliefs ----------------------------------------------------------------------------------------

TEST_CASE("quantiles of a belief lie within its bars in proportion", "[learning]") {
    const Belief1 b{1.0, 0.5, {0.25, 0.5, 0.0, 0.25}}; // bars 0.75 .. 1.25 .. 1.75 .. 2.25 .. 2.75
    CHECK(b.quantile(0) == Approx(0.75));
    CHECK(b.quantile(0.125) == Approx(1.0));
    CHECK(b.quantile(0.25) == Approx(1.25));
    CHECK(b.quantile(0.5) == Approx(1.5));
    CHECK(b.quantile(0.8) == Approx(2.35));
    CHECK(b.quantile(1) == Approx(2.75));
    CHECK(b.mean() == Approx(0.25 * 1 + 0.5 * 1.5 + 0.25 * 2.5));
    CHECK(b.sd() == Approx(std::sqrt(0.25 * 0.625 * 0.625 + 0.5 * 0.125 * 0.125 + 0.25 * 0.875 * 0.875)));
}

TEST_CASE("a belief's points keep its means, spreads and correlation", "[learning]") {
    const PanelBelief b =
        learn(one_panel(severe_marks(), {look(0.7, seen_number(0.3), gauge_of(0.7, 0.4))})).panels[0];
    for (const std::size_t most : {std::size_t{100000}, std::size_t{400}, std::size_t{100}}) {
        const std::vector<BeliefPoint> points = points_of(b, most);
        CAPTURE(most, points.size());
        CHECK(points.size() <= most);
        CHECK(points.size() >= std::min<std::size_t>(most, 1000) / 8);
        double sum = 0, cut = 0, depth = 0, cut2 = 0, depth2 = 0;
        for (const BeliefPoint& p : points) {
            const double c = std::log(p.cut_scale), d = std::log(p.depth_scale);
            sum += p.weight, cut += p.weight * c, depth += p.weight * d;
            cut2 += p.weight * c * c, depth2 += p.weight * d * d;
        }
        CHECK(sum == Approx(1).epsilon(1e-12));
        // A thousandth dropped at some 3.3 sd takes about a hundredth of the variance; gathering leaves out
        // what lies within a cell, (cell)²/12: cells of 0.2 at the coarsest, 0.0033 of 0.04 to 0.09.
        const double coarse = most < 400 ? 0.06 : 0.02;
        CHECK(std::abs(cut - b.cut.mean()) < 0.01 * b.cut.sd());
        CHECK(std::abs(depth - b.depth.mean()) < 0.01 * b.depth.sd());
        CHECK(std::sqrt(cut2 - cut * cut) == Approx(b.cut.sd()).epsilon(coarse));
        CHECK(std::sqrt(depth2 - depth * depth) == Approx(b.depth.sd()).epsilon(coarse));
    }
    CHECK(points_of(b, 1).size() == 1);
}

} // namespace test_learning
