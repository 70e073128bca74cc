// What test sections teach against published closed forms: the normal model with known variances. A. Gelman
// et al., Bayesian Data Analysis, 3rd ed. (2013): eq. 2.10 to 2.12 (one normal mean), eq. 3.13 (the
// multivariate normal).
//
// A gauge reads y = m exp(c + e) + error, with c ~ N(0, t²), t² = hand² + paint², e ~ N(0, q²). Where all of
// these are small, ln(y / m) = c + e + error / (m exp(c)) to first order, a normal observation of c with
// variance
//     v = q² + (sd / y)²
// so that after n squares of mean z = ln(y / m) the posterior is normal with
//     precision 1/t² + n/v,   mean (n z / v) / precision.
// With sds of 2 to 6 % what is left out, of second order, is some 0.06²/2 of 1, and a few per cent of the
// sds.
#include "support/learning.hpp"
#include <catch2/catch.hpp>
#include <cmath>

namespace test_learning_published {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double hand_sd = 0.04, paint_sd = 0.06, square_sd = 0.03, gauge_um = 0.06, model_um = 2;
const LearningTerms small_terms{hand_sd, 0.3, square_sd, 0.01};

Look reads(double loss_um) { return look(model_um, {}, gauge_of(loss_um, gauge_um)); }

/// Of ln(y / m), about c.
double variance_of(double loss_um) { return square_sd * square_sd + std::pow(gauge_um / loss_um, 2); }

} // namespace

TEST_CASE("gauge readings alone teach the cut as the conjugate normal model has it", "[learning]") {
    const double prior = hand_sd * hand_sd + paint_sd * paint_sd;
    for (const double loss_um : {1.85, 2.0, 2.2})
        for (const int squares : {1, 4}) {
            CAPTURE(loss_um, squares);
            Evidence e = one_panel(severe_marks(), {}, paint_sd);
            e.squares.assign(static_cast<std::size_t>(squares), {0, {reads(loss_um)}});
            const double v = variance_of(loss_um), z = std::log(loss_um / model_um);
            const double precision = 1 / prior + squares / v, mean = squares * z / v / precision;
            const Learned l = learn(e, small_terms);
            const Belief1& cut = l.panels[0].cut;
            CHECK(cut.mean() == Approx(mean).margin(0.002));
            CHECK(cut.sd() == Approx(std::sqrt(1 / precision + square_sd * square_sd)).epsilon(0.01));
            // The share of the hand in what was learned, as a regression of h on c: cov(h, c) / var(c) =
            // hand²/t².
            const double share = hand_sd * hand_sd / prior;
            CHECK(l.hand.mean() == Approx(share * mean).margin(0.001));
            CHECK(l.softness[0].mean() == Approx((1 - share) * mean).margin(0.001));
            const double left = hand_sd * hand_sd * (1 - share); // variance of h given c
            CHECK(l.hand.sd() == Approx(std::sqrt(left + share * share / precision)).epsilon(0.01));
        }
}

TEST_CASE("two paints under one hand teach each other as the bivariate normal has it", "[learning]") {
    const double loss_um = 2.25, z = std::log(loss_um / model_um);
    Evidence e;
    e.paint_sd = {paint_sd, paint_sd};
    e.panels = {{0, severe_marks()}, {1, severe_marks()}};
    e.squares = {{0, {reads(loss_um)}}};
    const Learned l = learn(e, small_terms);
    // cov(c_1, c_0) = hand²: its mean is that covariance over the variance of what was read, times the
    // reading.
    const double t2 = hand_sd * hand_sd + paint_sd * paint_sd, h2 = hand_sd * hand_sd;
    const double read = t2 + variance_of(loss_um);
    CHECK(l.panels[1].cut.mean() == Approx(h2 / read * z).margin(0.001));
    CHECK(l.panels[1].cut.sd() ==
          Approx(std::sqrt(t2 - h2 * h2 / read + square_sd * square_sd)).epsilon(0.005));
    // The probability of what was read, from ln(y / m) to y by its derivative.
    const double ln_normal = -0.5 * z * z / read - 0.5 * std::log(2 * std::acos(-1.0) * read);
    CHECK(l.log_evidence == Approx(ln_normal - std::log(loss_um)).margin(0.05));
}

TEST_CASE("looks measured against one mean before share its error", "[learning]") {
    // Two means of n after it and one of m before it: the losses' average has the variance s²/m + s²/(2n),
    // where looks with means of their own before them would leave half of s²/m + s²/n. Both looks are of one
    // square.
    const double s = 0.12, prior = hand_sd * hand_sd + paint_sd * paint_sd;
    const auto cut_sd = [&](const GaugePair& first, const GaugePair& second) {
        const Evidence e =
            one_panel(severe_marks(), {look(model_um, {}, first), look(model_um, {}, second)}, paint_sd);
        const Learned l = learn(e, small_terms);
        CHECK(l.conflicts.empty());
        return l.panels[0].cut.sd();
    };
    const auto normal_sd = [&](double gauge_variance) {
        const double v = square_sd * square_sd + gauge_variance / (model_um * model_um);
        return std::sqrt(1 / (1 / prior + 1 / v) + square_sd * square_sd);
    };
    CHECK(cut_sd({112, 110, 2, 3, s}, {112, 110, 2, 3, s}) ==
          Approx(normal_sd(s * s / 2 + s * s / 6)).epsilon(0.005));
    CHECK(cut_sd({112, 110, 2, 3, s}, {113, 111, 2, 3, s}) ==
          Approx(normal_sd(s * s / 4 + s * s / 6)).epsilon(0.005));
}

TEST_CASE("what was to be expected of a gauge allows for the mean before that it shares", "[learning]") {
    // All but known is the loss, 2 um; the first look read 0.3 too much. With as many readings before as
    // after, half of that is laid on the mean before (BDA eq. 2.11), which is then known to s²/(2m); the
    // second look's own mean adds s²/m.
    LearningTerms sure{0.01, 0.3, 0.01, 0.01};
    sure.told_below = 1.1; // all is told
    const double s = 0.3, m = 4;
    const Evidence e = one_panel(
        severe_marks(),
        {look(2, {}, GaugePair{112.3, 110, 4, 4, s}), look(2, {}, GaugePair{112.3, 109, 4, 4, s})}, 0.01);
    const Learned l = learn(e, sure);
    REQUIRE(l.conflicts.size() == 2);
    const Conflict& c = l.conflicts[1];
    CHECK(c.median == Approx(2 + 0.15).epsilon(0.005)); // the loss gives way by a hundredth of the reading
    // Paint, hand and square leave the loss itself unsure by 0.035, 2 % on top of an sd of 0.18.
    CHECK(c.high - c.low == Approx(2 * 1.645 * s * std::sqrt(1.5 / m)).epsilon(0.02));
}

TEST_CASE("what was to be expected of a gauge is the conjugate model's prediction", "[learning]") {
    // The second square's reading given the first's: N(mean, posterior variance + v), BDA eq. 2.11 and below.
    const double t2 = hand_sd * hand_sd + paint_sd * paint_sd, v = variance_of(2.0);
    const double out_of_line = 2 * std::exp(0.35);
    const Evidence e{{paint_sd}, {{0, severe_marks()}}, {{0, {reads(2.0)}}, {0, {reads(out_of_line)}}}};
    const Learned l = learn(e, small_terms);
    REQUIRE(!l.conflicts.empty());
    const Conflict& c = l.conflicts.back();
    CHECK(c.square == 1);
    const double sd = std::sqrt(1 / (1 / t2 + 1 / v) + v);
    CHECK(c.median == Approx(2.0).epsilon(0.003));
    // The error is normal in y where the model has it in ln y: the ends shift by some sd²/2, their distance
    // stays.
    CHECK(std::log(c.high / c.low) == Approx(2 * 1.645 * sd).epsilon(0.01));
    CHECK(std::log(c.high / 2) == Approx(1.645 * sd).margin(sd * sd));
}

} // namespace test_learning_published
