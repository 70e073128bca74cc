#include "decide/advice.hpp"
#include "decide/work_rules.hpp"
#include "finish/described.hpp"
#include "finish/step_marks.hpp"
#include "support/nonempty.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

namespace test_advice {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

/// A step that takes about the same everywhere: 0.8 to 1.2 times its mean over four cells.
StepEffect step(const char* words, double mean_um, double own_depth_um, double minutes) {
    StepEffect s;
    s.id = words, s.words = words;
    for (const double times : {0.8, 0.95, 1.05, 1.2})
        s.removed_um.push_back(static_cast<float>(times * mean_um));
    s.mean_um = mean_um;
    s.own.kind = MarkKind::haze;
    s.own.depth_um = own_depth_um;
    s.own.depth_sd = groove_depth_sd;
    s.own.width_m = groove_width_per_depth * own_depth_um * 1e-6;
    s.own.length_m = 0.15;
    s.own.per_m2 = liquid_grooves_per_m2 * own_depth_um * 1e-6 / s.own.length_m;
    s.time_s = 60 * minutes;
    return s;
}

constexpr std::size_t finishing = 0, polish = 1, compound = 2;
std::vector<StepEffect> usual_kit() {
    return {step("finishing polish", 0.15, 0.10, 2), step("polish", 0.7, 0.18, 2.5),
            step("compound", 2.6, 0.63, 2.5)};
}

std::vector<MarkPopulation> swirls(Visible visible) {
    return {population_of({MarkKind::swirls, visible, false})};
}

/// A belief with all its weight on few nodes of the cut, at depths as described.
PanelBelief known_cuts(std::vector<double> weight, double first = 0, double apart = 0.5) {
    PanelBelief belief;
    belief.joint = weight;
    belief.cut = {first, apart, std::move(weight)};
    belief.depth = {0, 0.05, {1}};
    return belief;
}
PanelBelief certain(double cut = 0) { return known_cuts({1}, cut); }

const ClearCoat plenty{40, 1.5};

Advice advise_usual(Visible visible, const std::optional<Done>& done = {}, const ClearCoat& clear = plenty,
                    const Target& target = {}) {
    return advise(usual_kit(), swirls(visible), certain(), clear, target, done);
}

Sequence chosen(const Advice& advice) {
    REQUIRE(advice.choice);
    return advice.outlooks[*advice.choice].sequence;
}

} // namespace

TEST_CASE("Film, time and spread of a sequence add up over its sets", "[advice]") {
    const auto kit = usual_kit();
    const Sequence both{{compound, 1}, {polish, 2}};
    CHECK_THAT(mean_removed_um(kit, both), WithinRel(2.6 + 2 * 0.7, 1e-12));
    CHECK_THAT(time_of(kit, both), WithinRel(60 * (2.5 + 2 * 2.5), 1e-12));
    const RemovedSpread spread = removed_by(kit, both);
    REQUIRE(spread.um.size() == 4);
    CHECK_THAT(spread.um.front(), WithinRel(0.8 * 4.0, 1e-6)); // single precision
    CHECK_THAT(spread.um.back(), WithinRel(1.2 * 4.0, 1e-6));
    CHECK(words_of(kit, both) == "1 set of compound, then 2 sets of polish");
}

TEST_CASE("A polish wears down the haze of a compound, and finishing polish that of the polish", "[advice]") {
    const auto kit = usual_kit();
    const double cut = haze_after(kit, {{compound, 1}}),
                 polished = haze_after(kit, {{compound, 1}, {polish, 2}}),
                 finished = haze_after(kit, {{compound, 1}, {polish, 2}, {finishing, 2}});
    CHECK(cut > 3 * polished);
    CHECK(polished > 1.5 * finished);
    SECTION("but not where it takes next to nothing") {
        // What is worn off is 0.007 of grooves 0.63 µm deep, and as much of the polish's own comes.
        const auto hardly = [&] {
            auto k = kit;
            k[polish].mean_um = 0.007;
            return k;
        }();
        CHECK_THAT(haze_after(hardly, {{compound, 1}, {polish, 1}}),
                   WithinRel(haze_after(kit, {{compound, 1}}), 0.03));
    }
}

TEST_CASE("A coarse step is followed by finer ones as far as its haze needs, a fine one stands alone",
          "[advice]") {
    const auto kit = usual_kit();
    const Target target{.haze = 2.5};
    const auto all = candidates(kit, target);
    for (const Sequence& s : all) {
        for (std::size_t k = 1; k < s.size(); ++k)
            CHECK(kit[s[k].step].own.depth_um < kit[s[k - 1].step].own.depth_um);
        CHECK(s.size() <= 3);
        for (const double at : {0.7, 1.4}) CHECK(haze_after(kit, s, at) <= target.haze);
        if (s.front().step == compound) CHECK(s.size() > 1);
        if (s.front().step == finishing) CHECK(s.size() == 1);
    }
    CHECK(all.size() == 6); // three first steps in one or two sets
    CHECK(std::ranges::is_sorted(all, {}, [&](const Sequence& s) { return mean_removed_um(kit, s); }));
    SECTION("with the least film that does") {
        const Sequence& cut =
            *std::ranges::find_if(all, [](const Sequence& s) { return s.front().step == compound; });
        int with_less = 0;
        for (std::size_t one = 0; one < compound; ++one)
            for (int sets = 1; sets <= 2; ++sets) {
                const Sequence other{cut.front(), {one, sets}};
                if (mean_removed_um(kit, other) >= mean_removed_um(kit, cut) - 1e-9) continue;
                ++with_less;
                CHECK(std::max(haze_after(kit, other, 0.7), haze_after(kit, other, 1.4)) > target.haze);
            }
        CHECK(with_less > 0);
    }
}

TEST_CASE("Where nothing in the kit brings the haze down far enough, what comes nearest follows",
          "[advice]") {
    const auto kit = usual_kit();
    int polished = 0;
    for (const Sequence& s : candidates(kit, {.haze = 0.01}))
        if (s.front().step == polish) {
            ++polished;
            REQUIRE(s.size() == 2);
            CHECK(s.back() == Sets{finishing, 2});
        }
    CHECK(polished == 2); // in one set or two
}

TEST_CASE("Of sequences that take the same film only the quickest is a candidate", "[advice]") {
    auto kit = usual_kit();
    kit.push_back(kit[polish]);
    kit.back().time_s *= 0.5;
    const std::vector<Sequence> all = candidates(kit, {});
    const auto begins_with = [](std::size_t step) {
        return [step](const Sequence& s) { return s.front().step == step; };
    };
    CHECK(std::ranges::any_of(all, begins_with(kit.size() - 1)));
    CHECK(std::ranges::none_of(all, begins_with(polish)));
}

TEST_CASE("An outlook is the sum over the points of a belief", "[advice]") {
    const auto kit = usual_kit();
    const auto marks = swirls(Visible::plain);
    const Sequence one{{polish, 1}};
    // Two cuts, a factor of e^0.5 apart.
    const std::vector<BeliefPoint> belief{{1, 1, 0.25}, {std::exp(0.5), 1, 0.75}};
    const ClearCoat thin{16.5, 0.5};
    const Target target{.share = 0.95};
    const AtPoints at = at_points(kit, one, marks, belief, thin, target.reserve_um);
    const Outlook o = outlook_of(at, kit, one, belief, target);
    const double low = share_cleared(marks, removed_by(kit, one), 1, 1),
                 high = share_cleared(marks, removed_by(kit, one), std::exp(0.5), 1);
    REQUIRE(low < 0.95);
    REQUIRE(high > 0.95); // so that the target lies between
    CHECK_THAT(o.chance_of_target, WithinAbs(0.75, 1e-12));
    CHECK_THAT(o.share.low, WithinRel(low, 1e-12));
    CHECK_THAT(o.share.high, WithinRel(high, 1e-12));
    // The hardest worked cell loses 0.84 or 1.385 µm of the 1.5 to spare; normal with sd 0.5.
    const auto phi = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
    CHECK_THAT(
        o.chance_of_keeping,
        WithinAbs(0.25 * phi((1.5 - 0.84) / 0.5) + 0.75 * phi((1.5 - 0.84 * std::exp(0.5)) / 0.5), 1e-6));
    CHECK_THAT(o.film_um.high, WithinRel(0.7 * std::exp(0.5), 1e-12));
}

TEST_CASE("The mildest that reaches the target is recommended", "[advice]") {
    // Common practice, no source: light swirls go with the polish alone, severe ones need the compound.
    SECTION("light swirls: one polish") {
        CHECK(chosen(advise_usual(Visible::faint)) == Sequence{{polish, 1}});
    }
    SECTION("severe ones: a compound, and what refines it") {
        const Sequence s = chosen(advise_usual(Visible::glaring));
        CHECK(s.front().step == compound);
        CHECK(s.size() > 1);
    }
    SECTION("nothing milder among the candidates does it") {
        std::size_t milder = 0;
        for (const Visible visible : all_visible) {
            const Advice advice = advise_usual(visible);
            REQUIRE(advice.choice);
            milder += *advice.choice;
            for (std::size_t k = 0; k < *advice.choice; ++k)
                CHECK(advice.outlooks[k].chance_of_target < Target{}.chance);
        }
        CHECK(milder > 0);
    }
    SECTION("a softer paint takes a milder step") {
        const auto marks = swirls(Visible::glaring);
        const Advice soft = advise(usual_kit(), marks, certain(std::log(1.8)), plenty, {}, {});
        CHECK(chosen(soft).front().step == polish);
    }
}

TEST_CASE("Of candidates that take the same film but for what no gauge tells the quickest is taken",
          "[advice]") {
    auto kit = usual_kit();
    kit.push_back(step("quick polish", 0.7 + 0.8 * tied_film_um, 0.18, 1));
    const Advice advice = advise(kit, swirls(Visible::faint), certain(), plenty, {}, {});
    CHECK(chosen(advice) == Sequence{{3, 1}});
    SECTION("but not one that takes more") {
        kit.back() = step("quick polish", 0.7 + 1.2 * tied_film_um, 0.18, 1);
        CHECK(chosen(advise(kit, swirls(Visible::faint), certain(), plenty, {}, {})) ==
              Sequence{{polish, 1}});
    }
}

TEST_CASE("What comes next follows from what was done on the square", "[advice]") {
    const auto next = [](Visible visible, Sequence done) {
        return advise_usual(visible, Done{std::move(done), true}).next;
    };
    CHECK(advise_usual(Visible::faint).next == Next::try_first);
    CHECK(advise_usual(Visible::faint, Done{{{polish, 1}}, false}).next ==
          Next::try_first); // worked, not looked at
    CHECK(next(Visible::faint, {{polish, 1}}) == Next::enough);
    CHECK(next(Visible::faint, {{compound, 1}}) == Next::milder);
    CHECK(next(Visible::faint, {{polish, 2}}) == Next::milder);
    CHECK(next(Visible::glaring, {{polish, 2}}) == Next::stronger);
    CHECK(next(Visible::glaring, {{compound, 1}}) == Next::refine);
    CHECK(next(Visible::plain, {{polish, 1}}) == Next::more_sets);
    SECTION("a sequence that is no candidate and does it is enough as well") {
        // As much film as two polishes, to what no gauge tells, by a way that nobody would plan.
        auto kit = usual_kit();
        kit[finishing] = step("finishing polish", 0.18, 0.10, 2);
        const Done done{{{polish, 1}, {finishing, 2}, {finishing, 2}}, true};
        CHECK(advise(kit, swirls(Visible::plain), certain(), plenty, {}, done).next == Next::enough);
    }
}

TEST_CASE("Where nothing does it the advice is to stop, and says what stands in the way", "[advice]") {
    SECTION("film that has nothing to spare") {
        const Advice advice = advise_usual(Visible::glaring, {}, {16.5, 0.5});
        CHECK(advice.next == Next::stop);
        CHECK(advice.limited_by == LimitedBy::reserve);
        REQUIRE(advice.best_kept);
        CHECK(advice.outlooks[*advice.best_kept].chance_of_keeping >= Target{}.keep_chance);
        CHECK(advice.outlooks[*advice.best_kept].sequence.front().step != compound);
    }
    SECTION("film that is under the reserve already") {
        const Advice advice = advise_usual(Visible::faint, {}, {14, 0.5});
        CHECK(advice.next == Next::stop);
        CHECK(advice.limited_by == LimitedBy::reserve);
        CHECK_FALSE(advice.best_kept);
    }
    SECTION("marks too deep to chase") {
        const Advice advice =
            advise(usual_kit(), std::vector{population_of({MarkKind::scratches, Visible::glaring, true})},
                   certain(), plenty, {}, {});
        CHECK(advice.next == Next::stop);
        CHECK(advice.limited_by == LimitedBy::target);
        CHECK(advice.best_kept);
    }
    SECTION("both") {
        const Advice advice =
            advise(usual_kit(), std::vector{population_of({MarkKind::scratches, Visible::glaring, true})},
                   certain(), {14, 0.5}, {}, {});
        CHECK(advice.limited_by == LimitedBy::both);
    }
}

TEST_CASE("Stone chips alone are touched up, not polished", "[advice]") {
    const Advice advice =
        advise(usual_kit(), std::vector{population_of({MarkKind::chips, Visible::glaring, false})}, certain(),
               plenty, {}, {});
    CHECK(advice.next == Next::touch_up);
    CHECK(advice.outlooks.empty());
}

TEST_CASE("A trial is worth nothing where everything is known", "[advice]") {
    for (const TrialWorth& t : nonempty(advise_usual(Visible::plain).trials)) {
        CHECK_THAT(t.worth_um, WithinAbs(0, 1e-9));
        CHECK_THAT(t.changes, WithinAbs(0, 1e-9));
    }
}

TEST_CASE(
    "A trial is worth at the most what full knowledge is, and nearly that where its outcome gives it away",
    "[advice]") {
    // Two paints as likely as each other, one cutting 4.5 times as fast: which it is decides between polish
    // and compound.
    const PanelBelief belief = known_cuts({0.5, 0, 0, 0.5}, -0.9);
    const auto kit = usual_kit();
    const auto marks = swirls(Visible::glaring);
    AdviceTerms terms;
    const Advice advice = advise(kit, marks, belief, plenty, {}, {}, terms);

    // Full knowledge, written out: the least loss at each point instead of the least mean loss.
    const auto points = points_of(belief);
    REQUIRE(points.size() == 2);
    double knowing = 0, least_mean = std::numeric_limits<double>::infinity();
    std::vector<std::vector<double>> loss;
    for (const Sequence& sequence : advice.weighed) {
        const AtPoints at = at_points(kit, sequence, marks, points, plenty, Target{}.reserve_um);
        std::vector<double>& row = loss.emplace_back();
        for (std::size_t k = 0; k < 2; ++k)
            row.push_back(at.film_um[k] + terms.strike_um * (1 - at.keeping[k]) +
                          (at.share[k] >= Target{}.share && at.haze[k] <= Target{}.haze ? 0 : terms.miss_um));
        least_mean = std::min(least_mean, 0.5 * (row[0] + row[1]));
    }
    for (std::size_t k = 0; k < 2; ++k)
        knowing += 0.5 * std::ranges::min_element(loss, {}, [&](const auto& row) { return row[k]; })->at(k);
    const double full = least_mean - knowing;
    REQUIRE(full > 0.1);
    for (const TrialWorth& t : nonempty(advice.trials)) {
        CHECK(t.worth_um >= 0);
        CHECK(t.worth_um <= full + 1e-9);
        CHECK(t.changes <= 1 + 1e-9);
    }
    // A polish clears 20 or 90 per cent: the lamp alone gives it away.
    CHECK(advice.trials.front().worth_um > 0.95 * full);
    CHECK(std::ranges::is_sorted(advice.trials, std::ranges::greater{}, &TrialWorth::worth_um));
    SECTION("less without a gauge, never more") {
        terms.gauge_sd_um = std::numeric_limits<double>::infinity();
        const Advice blind = advise(kit, marks, belief, plenty, {}, {}, terms);
        for (const TrialWorth& t : nonempty(blind.trials)) {
            const auto with = std::ranges::find(advice.trials, t.trial, &TrialWorth::trial);
            REQUIRE(with != advice.trials.end());
            CHECK(t.worth_um <= with->worth_um + 1e-9);
        }
    }
}

TEST_CASE("No trial is stronger than what the recommendation begins with", "[advice]") {
    const Advice advice = advise_usual(Visible::faint);
    REQUIRE_FALSE(advice.trials.empty());
    for (const TrialWorth& t : nonempty(advice.trials)) CHECK(t.trial.step != compound);
}

} // namespace test_advice
