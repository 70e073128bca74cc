// Paired differences, their intervals and many of them at once, against reference implementations and worked
// figures.
#include "decide/stats/paired.hpp"
#include "tool/hand.hpp"
#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>

namespace test_paired {
using namespace sparecoat::cli;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

double normal(std::uint64_t seed, int n) { return normal_at(seed, HandChannel::force, n); }

/// Share of repetitions in which the interval of `draws` paired differences holds the true one.
/// @param draw gives the two sides of a draw.
template <class DrawPair> double coverage(int repetitions, int draws, double true_difference, DrawPair draw) {
    int covered = 0;
    for (int r = 0; r < repetitions; ++r) {
        std::vector<double> a, b;
        for (int n = 0; n < draws; ++n) {
            const auto [first, second] = draw(static_cast<std::uint64_t>(r), n);
            a.push_back(first), b.push_back(second);
        }
        const Estimate e = paired_difference(a, b, 0.95).estimate;
        covered += e.low <= true_difference && true_difference <= e.high ? 1 : 0;
    }
    return static_cast<double>(covered) / repetitions;
}

} // namespace

TEST_CASE("Student's t and its quantiles are Boost.Math's", "[compare]") {
    for (const int freedom : {1, 2, 3, 4, 7, 8, 15, 16, 39, 40, 399}) {
        const boost::math::students_t reference(freedom);
        for (const double t : {0.0, 0.1, 0.7, 1.0, 2.131, 4.0, 9.0}) {
            INFO(freedom << " degrees, t " << t);
            // Sums of up to 200 terms near 1; what is far out of 400 degrees' tail is lost in the last digits
            // of 1.
            CHECK_THAT(student_within(t, freedom), WithinAbs(1 - 2 * cdf(complement(reference, t)), 1e-13));
        }
        for (const double confidence : {0.5, 0.9, 0.95, 0.99, 0.999}) {
            INFO(freedom << " degrees, confidence " << confidence);
            CHECK_THAT(student_bound(confidence, freedom),
                       WithinRel(quantile(reference, 0.5 + confidence / 2), 1e-9));
        }
    }
}

TEST_CASE("The sleep of ten patients differs as the paired test of them is tabulated", "[compare]") {
    // Additional hours of sleep by two drugs: Student, "The probable error of a mean", Biometrika 6, 1
    // (1908), from Cushny and Peebles (1905). Mean difference 1.58 h, t = 4.0621, p = 0.002833, 95 % interval
    // 0.7001 to 2.4599: the example of a paired test in R's documentation (t.test, data set sleep).
    const std::vector<double> first{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0};
    const std::vector<double> second{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    const PairedDifference d = paired_difference(first, second, 0.95);
    CHECK_THAT(d.estimate.mean, WithinAbs(1.58, 1e-12));
    CHECK_THAT(d.estimate.low, WithinAbs(0.7001, 5e-5));
    CHECK_THAT(d.estimate.high, WithinAbs(2.4599, 5e-5));
    CHECK_THAT(d.p, WithinAbs(0.002833, 5e-7));
}

TEST_CASE("A paired interval covers the true difference as often as it claims", "[compare]") {
    // What both sides share is ten times what tells them apart. 2000 repetitions: standard error 0.5 %, three
    // of them.
    const auto draw = [](std::uint64_t r, int n) {
        const double shared = 10 * normal(4 * r, n);
        return std::pair{shared + normal(4 * r + 1, n), shared + 0.3 + normal(4 * r + 2, n)};
    };
    CHECK_THAT(coverage(2000, 16, 0.3, draw), WithinAbs(0.95, 0.015));
    CHECK_THAT(coverage(2000, 4, 0.3, draw), WithinAbs(0.95, 0.015));
}

TEST_CASE(
    "A lopsided measure is covered a little less often than claimed, and no less than nine times in ten",
    "[compare]") {
    // Lognormal, as a worst spot may be: Student's interval leans on the mean being near normal at 16 draws.
    const double mean = std::exp(0.125);
    const double share = coverage(2000, 16, mean, [](std::uint64_t r, int n) {
        return std::pair{0.0, std::exp(0.5 * normal(r, n))};
    });
    CHECK(share > 0.9);
    CHECK(share < 0.965);
}

TEST_CASE("Holm's adjusted chances call those significant that his procedure rejects", "[compare]") {
    // Holm, Scand. J. Stat. 6, 65 (1979): in the order of p reject while p <= alpha / (how many are left),
    // then stop.
    for (std::uint64_t set = 0; set < 40; ++set) {
        std::vector<double> p;
        for (int n = 0; n < 11; ++n) p.push_back(std::pow(uniform_at(set, 1, n), 3));
        const std::vector<double> adjusted = holm_adjusted(p);
        for (const double alpha : {0.001, 0.01, 0.05, 0.2}) {
            std::vector<std::size_t> order(p.size());
            std::iota(order.begin(), order.end(), std::size_t{0});
            std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return p[a] < p[b]; });
            bool rejecting = true;
            for (std::size_t rank = 0; rank < order.size(); ++rank) {
                rejecting = rejecting && p[order[rank]] <= alpha / static_cast<double>(order.size() - rank);
                REQUIRE((adjusted[order[rank]] <= alpha) == rejecting);
            }
        }
    }
}

TEST_CASE("Of eleven measures without any difference one is called more than noise once in twenty "
          "comparisons at most",
          "[compare]") {
    int wrong = 0, wrong_alone = 0;
    constexpr int repetitions = 1000;
    for (int r = 0; r < repetitions; ++r) {
        std::vector<double> p;
        for (int m = 0; m < 11; ++m) {
            std::vector<double> a, b;
            for (int n = 0; n < 8; ++n) {
                a.push_back(normal(static_cast<std::uint64_t>(22 * r + m), n));
                b.push_back(normal(static_cast<std::uint64_t>(22 * r + 11 + m), n));
            }
            p.push_back(paired_difference(a, b, 0.95).p);
        }
        const auto any = [](const std::vector<double>& of) {
            return *std::min_element(of.begin(), of.end()) <= 0.05;
        };
        wrong += any(holm_adjusted(p)) ? 1 : 0;
        wrong_alone += any(p) ? 1 : 0;
    }
    CHECK(wrong < 0.05 * repetitions + 21);  // three standard errors of one in twenty
    CHECK(wrong_alone > 0.35 * repetitions); // 1 - 0.95^11 = 0.43: what the caution is for
}

TEST_CASE("Draws that are all the same leave an interval of no width and no doubt", "[compare]") {
    const std::vector<double> one{3, 3, 3}, other{3.5, 3.5, 3.5};
    const PairedDifference none = paired_difference(one, one, 0.95),
                           some = paired_difference(one, other, 0.95);
    CHECK(none.estimate.mean == 0);
    CHECK(none.p == 1);
    CHECK(some.estimate.low == some.estimate.high);
    CHECK(some.p == 0);
    CHECK(mean_estimate(std::vector{2.0}, 0.95).high == 2);
    CHECK_THROWS_AS(paired_difference(one, std::vector{1.0}, 0.95), std::invalid_argument);
    CHECK_THROWS_AS(mean_estimate(std::vector<double>{}, 0.95), std::invalid_argument);
    CHECK_THROWS_AS(student_bound(1, 3), std::invalid_argument);
}

} // namespace test_paired
