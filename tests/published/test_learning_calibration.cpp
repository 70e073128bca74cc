// Vehicles drawn from the prior, sections on them drawn from the likelihood: what is learned from these has
// to hold the truth as often as it says. S. R. Cook, A. Gelman and D. B. Rubin, "Validation of software for
// Bayesian models using posterior quantiles", J. Comput. Graph. Stat. 15, 675 (2006): the posterior quantile
// at which the truth lies is uniform, whatever was seen.
#include "support/learning.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>

namespace test_learning_calibration {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double paint_sd = 0.3;

/// A vehicle of one panel, with what nobody knows of it.
struct TrueVehicle {
    double cut = 0, depth = 0; ///< ln; hand and paint together
    std::vector<MarkPopulation> marks;
};

TrueVehicle vehicle_from(Deviates& deviate, int number) {
    const LearningTerms terms;
    const double hand = terms.hand_sd * deviate(), softness = paint_sd * deviate();
    const std::vector<MarkPopulation> marks{population_of(
        {MarkKind::swirls, all_visible[static_cast<std::size_t>(number) % all_visible.size()], false})};
    return {hand + softness, terms.depth_sd * deviate(), marks};
}

/// What a person sees and reads of a square that the model has lose so much, after each of some sets.
Square square_from(const TrueVehicle& v, std::initializer_list<double> model_um, Deviates& deviate) {
    const double cut = std::exp(v.cut + LearningTerms{}.square_sd * deviate());
    Square square;
    for (const double um : model_um) {
        Look l = look(um);
        const double share = share_cleared(v.marks, l.removed, cut, std::exp(v.depth));
        l.seen = said_of(share + lamp_sd(share) * deviate());
        l.gauge = gauge_of(um * cut + 0.4 * deviate(), 0.4);
        square.looks.push_back(l);
    }
    return square;
}

/// Share of a belief below a value; the inverse of its quantiles.
double share_below(const Belief1& b, double value) {
    double below = 0;
    for (std::size_t k = 0; k < b.weight.size(); ++k)
        below += b.weight[k] * std::clamp((value - b.at(k)) / b.step + 0.5, 0.0, 1.0);
    return below;
}

/// Where the truth lies among what was believed, over many vehicles.
struct Ranks {
    std::vector<double> rank;
    double count_in(double low, double high) const {
        return static_cast<double>(
            std::ranges::count_if(rank, [&](double r) { return r > low && r < high; }));
    }
};

} // namespace

TEST_CASE("intervals of 90 % hold the truth nine times in ten, and ranks of the truth are spread evenly",
          "[learning]") {
    constexpr int vehicles = 150;
    Ranks cut, depth;
    for (int number = 0; number < vehicles; ++number) {
        Deviates deviate(1000 + static_cast<std::uint64_t>(number));
        const TrueVehicle v = vehicle_from(deviate, number);
        Evidence e = one_panel(v.marks, {}, paint_sd);
        e.squares = {square_from(v, {0.5}, deviate), square_from(v, {1.0}, deviate)};
        const double next_cut = v.cut + LearningTerms{}.square_sd * deviate(); // of a third square
        const PanelBelief b = learn_without(e, {}).panels[0];
        cut.rank.push_back(share_below(b.cut, next_cut));
        depth.rank.push_back(share_below(b.depth, v.depth));
    }
    for (const Ranks* ranks : {&cut, &depth}) {
        // Binomial: 0.9 of 150 with an sd of 3.7, three of them; a quarter of 150 with one of 5.3.
        CHECK(ranks->count_in(0.05, 0.95) == Approx(0.9 * vehicles).margin(3 * 3.7));
        for (const double from : {0.0, 0.25, 0.5, 0.75})
            CHECK(ranks->count_in(from, from + 0.25) == Approx(0.25 * vehicles).margin(3 * 5.3));
    }
}

TEST_CASE("conflicts are told about as often as stated where the evidence is the model's own", "[learning]") {
    constexpr int vehicles = 150;
    LearningTerms terms;
    terms.told_below = 0.2; // one in a hundred is too rare to count; at one in five the law is the same
    int lamps = 0, gauges = 0, rare = 0, gauges_possible = 0;
    for (int number = 0; number < vehicles; ++number) {
        Deviates deviate(5000 + static_cast<std::uint64_t>(number));
        const TrueVehicle v = vehicle_from(deviate, number);
        Evidence e = one_panel(v.marks, {}, paint_sd);
        e.squares = {square_from(v, {0.6, 1.2}, deviate)};
        for (const Look& l : e.squares[0].looks) gauges_possible += !impossible(*l.gauge);
        for (const Conflict& c : learn(e, terms).conflicts) {
            if (c.impossible) continue;
            (c.witness == Witness::lamp ? lamps : gauges) += 1;
            rare += c.chance < conflict_chance;
        }
    }
    INFO(fmt::format("told of {} looks: {} lamps, {} gauges; {} below one in a hundred", 2 * vehicles, lamps,
                     gauges, rare));
    // A fifth of 300 gauges is 60 with a binomial sd of 6.9, somewhat more as two looks of a square hang
    // together: three of 8.
    CHECK(gauges_possible > 290);
    CHECK(gauges == Approx(0.2 * gauges_possible).margin(3 * 8));
    // A lamp is told less often, as a number's whole width speaks for it: from a quarter as often up to as
    // often.
    CHECK(lamps > 15);
    CHECK(lamps < 60 + 3 * 8);
    // One in a hundred of 600 at the most: 6, with three times 2.4 and the same for looks that hang together.
    CHECK(rare <= 6 + 9);
    CHECK(rare >= 1);
}

} // namespace test_learning_calibration
