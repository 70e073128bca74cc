// Choosing a way for every panel at once, against looking at every choice there is.
#include "decide/choice.hpp"
#include "tool/hand.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <optional>
#include <stdexcept>
#include <tuple>

namespace test_choice {
using namespace sparecoat::cli;

namespace {

/// Invented vehicles: every panel can be left as it is, and has a few ways besides.
std::vector<PanelAlternatives> vehicle(std::uint64_t seed, std::size_t panels, int alternatives) {
    std::int64_t next = 0;
    const auto draw = [&] {
        return 0.5 * std::erfc(-normal_at(seed, HandChannel::force, next++) / std::sqrt(2.0));
    }; // 0 to 1
    std::vector<PanelAlternatives> out(panels);
    for (PanelAlternatives& panel : out) {
        panel.area_m2 = 0.2 + draw();
        panel.alternatives.push_back({});
        for (int w = 0; w < alternatives; ++w)
            panel.alternatives.push_back(
                {0.2 + 0.8 * draw(), 0.2 + 3 * draw(), 600 + 3000 * draw(), draw() > 0.15, false});
    }
    return out;
}

using Choice = std::vector<std::size_t>;

void each_choice(const std::vector<PanelAlternatives>& panels,
                 const std::function<void(const Choice&)>& see) {
    Choice choice(panels.size(), 0);
    for (;;) {
        see(choice);
        std::size_t p = 0;
        while (p < panels.size() && ++choice[p] == panels[p].alternatives.size()) choice[p++] = 0;
        if (p == panels.size()) return;
    }
}

/// Shortfall from the wanted share in twentieths, film, time, each summed by area: the lower the better, in
/// this order.
std::tuple<double, double, double> rank(const std::vector<PanelAlternatives>& panels, const Choice& choice,
                                        double wanted, std::optional<double> limit_um) {
    double share = 0, film = 0, time_s = 0;
    for (std::size_t p = 0; p < panels.size(); ++p) {
        const Alternative& alternative = panels[p].alternatives[choice[p]];
        const auto counted = [&](const Alternative& one) {
            return one.share >= wanted ? wanted : std::floor(one.share * 20) / 20;
        };
        double film_um =
            alternative.film_um; // that of the mildest which clears as much, where no gauge tells them apart
        for (const Alternative& other : panels[p].alternatives)
            if (other.allowed && counted(other) == counted(alternative) &&
                (!limit_um || other.film_um <= *limit_um) && other.film_um < alternative.film_um &&
                alternative.film_um - other.film_um <= 0.05)
                film_um = std::min(film_um, other.film_um);
        share += panels[p].area_m2 * counted(alternative), film += panels[p].area_m2 * film_um,
            time_s += alternative.time_s;
    }
    // Sums of the same numbers in another order differ in the last digits.
    return {-std::round(share * 1e9), std::round(film * 1e9), time_s};
}

bool permitted(const std::vector<PanelAlternatives>& panels, const Choice& choice, const ChoiceTerms& terms) {
    double time_s = 0;
    for (std::size_t p = 0; p < panels.size(); ++p) {
        const Alternative& alternative = panels[p].alternatives[choice[p]];
        if (!alternative.allowed || (terms.film_um && alternative.film_um > *terms.film_um)) return false;
        time_s += alternative.time_s;
    }
    return !terms.time_s || time_s <= *terms.time_s;
}

Choice best_of_all(const std::vector<PanelAlternatives>& panels, const ChoiceTerms& terms) {
    std::optional<Choice> best;
    each_choice(panels, [&](const Choice& choice) {
        if (permitted(panels, choice, terms) &&
            (!best || rank(panels, choice, terms.share, terms.film_um) <
                          rank(panels, *best, terms.share, terms.film_um)))
            best = choice;
    });
    return *best;
}

} // namespace

TEST_CASE("a choice for the vehicle is the best of all there are, by share, film, then time, with limits and "
          "without",
          "[choice]") {
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        const std::vector<PanelAlternatives> panels = vehicle(seed, 4, 6);
        for (const std::optional<double> time_s :
             {std::optional<double>(), std::optional(9000.0), std::optional(5000.0), std::optional(1500.0)})
            for (const std::optional<double> film_um : {std::optional<double>(), std::optional(1.5)}) {
                const ChoiceTerms terms{0.85, time_s, film_um};
                INFO("seed " << seed << ", time " << time_s.value_or(-1) << ", film "
                             << film_um.value_or(-1));
                CHECK(choose_alternatives(panels, terms) == best_of_all(panels, terms));
            }
    }
}

TEST_CASE("the front holds every choice that no other beats in film, share and time, and no other",
          "[choice]") {
    for (std::uint64_t seed = 21; seed <= 24; ++seed) {
        const std::vector<PanelAlternatives> panels = vehicle(seed, 3, 4);
        const std::vector<FrontPoint> front = front_of(panels, 10000);
        std::vector<FrontPoint> all;
        each_choice(panels, [&](const Choice& choice) {
            if (permitted(panels, choice, {})) all.push_back(point_of(panels, choice));
        });
        REQUIRE(all.size() > 1);
        std::size_t unbeaten = 0;
        for (const FrontPoint& point : all) {
            const bool beaten =
                std::ranges::any_of(all, [&](const FrontPoint& other) { return beats(other, point); });
            const bool there = std::ranges::any_of(
                front, [&](const FrontPoint& other) { return other.alternatives == point.alternatives; });
            CHECK(there == !beaten);
            unbeaten += !beaten;
        }
        CHECK(front.size() == unbeaten);
    }
}

TEST_CASE(
    "a front that is too long is thinned to so many that none of them beats another, its ends among them",
    "[choice]") {
    const std::vector<PanelAlternatives> panels = vehicle(31, 6, 8);
    const std::vector<FrontPoint> whole = front_of(panels, 100000), thin = front_of(panels, 60);
    REQUIRE(whole.size() > 120);
    CHECK(thin.size() <= 60);
    CHECK(thin.size() > 10);
    const auto most = [](const std::vector<FrontPoint>& front) {
        return std::ranges::max(front, {}, &FrontPoint::share).share;
    };
    CHECK(most(thin) == Approx(most(whole)).margin(1e-12));
    CHECK(thin.front().film_um == 0.0);
    for (const FrontPoint& one : thin)
        CHECK(std::ranges::none_of(thin, [&](const FrontPoint& other) { return beats(other, one); }));
}

TEST_CASE("film is not spent on a gain that nobody sees, nor on more than is wanted", "[choice]") {
    const std::vector<PanelAlternatives> panel{
        {1, {{}, {0.62, 0.5, 600, true, false}, {0.64, 2.0, 600, true, false}}}};
    CHECK(choose_alternatives(panel, {0.95, {}, {}}) == Choice{1});
    const std::vector<PanelAlternatives> enough{
        {1, {{}, {0.95, 1.0, 600, true, false}, {0.99, 1.3, 300, true, false}}}};
    CHECK(choose_alternatives(enough, {0.95, {}, {}}) == Choice{1});
    CHECK(choose_alternatives(enough, {0.95, 400.0, {}}) == Choice{2}); // the limit leaves the quick one
}

TEST_CASE("of ways that no gauge tells apart the quickest is taken", "[choice]") {
    const auto with = [](double film_um) {
        return std::vector<PanelAlternatives>{
            {1, {{}, {0.96, 1.00, 900, true, false}, {0.97, film_um, 600, true, false}}}};
    };
    CHECK(choose_alternatives(with(1.19), {0.95, {}, {}}) == Choice{2});
    CHECK(choose_alternatives(with(1.21), {0.95, {}, {}}) == Choice{1});
}

TEST_CASE("of ways that no gauge tells apart the preferred one is taken, slow as it may be", "[choice]") {
    const auto with = [](double film_um) {
        return std::vector<PanelAlternatives>{
            {1, {{}, {0.96, 1.00, 600, true, false}, {0.97, film_um, 900, true, true}}}};
    };
    CHECK(choose_alternatives(with(1.19), {0.95, {}, {}}) == Choice{2});
    CHECK(choose_alternatives(with(1.21), {0.95, {}, {}}) == Choice{1});
}

TEST_CASE("a vehicle that may take no time is left, and a panel without a way is refused", "[choice]") {
    CHECK(choose_alternatives(vehicle(3, 3, 4), {0.95, 0.0, {}}) == Choice{0, 0, 0});
    CHECK_THROWS_AS(
        choose_alternatives(std::vector<PanelAlternatives>{{1, {{0.9, 1, 60, false, false}}}}, {}),
        std::invalid_argument);
}

} // namespace test_choice
