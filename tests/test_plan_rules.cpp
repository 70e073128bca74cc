// What a skilled hand keeps to, in plans and advice: order of steps, heads, heat, finish, and one voice.
#include "decide/work_rules.hpp"
#include "plan/plan.hpp"
#include "support/nonempty.hpp"
#include "support/plan_shop.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

namespace test_plan_rules {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

/// A step by what the rules look at.
StepEffect step(double own_depth_um, double firmness_pa, double pad_radius_m = 0.075) {
    StepEffect s;
    s.own.depth_um = own_depth_um, s.firmness_pa = firmness_pa, s.pad_radius_m = pad_radius_m;
    s.removed_um = {1}, s.mean_um = 1, s.time_s = 60;
    return s;
}

/// Three large pads and, of two liquids, small ones.
std::string kit_with_small_heads() {
    return R"({"kind": "kit", "name": "With small heads", "machines": [
    {"machine": "da-15", "speed": "3500/min", "force": "30 N", "arm_speed": "40 mm/s",
        "pads": ["soft-foam-150"], "liquids": ["finishing-polish"]},
    {"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "40 mm/s",
        "pads": ["medium-foam-150"], "liquids": ["polish"]},
    {"machine": "da-mini-12", "speed": "4500/min", "force": "12 N", "arm_speed": "40 mm/s",
        "pads": ["soft-foam-75", "medium-foam-75"], "liquids": ["finishing-polish", "polish"]}],
    "pads": ["soft-foam-150", "medium-foam-150", "soft-foam-75", "medium-foam-75"],
    "liquids": ["finishing-polish", "polish"]})";
}

/// Under any haze, so that every step asks for a finer one.
constexpr double no_haze = -1;

bool is_small(const PlannedStep& step) { return step.id.find("-75") != std::string::npos; }

} // namespace

// ---- the rules ------------------------------------------------------------------------------------

TEST_CASE("a finer step follows a coarser one, and a pad that is no firmer", "[plan][rules]") {
    const StepEffect cut = step(0.6, 14e3), polish_on_firm = step(0.25, 7e3), polish_on_soft = step(0.2, 3e3),
                     finish_on_firm = step(0.1, 7e3);
    CHECK(may_follow(polish_on_firm, cut));
    CHECK(may_follow(polish_on_soft, polish_on_firm));
    CHECK_FALSE(may_follow(cut, polish_on_firm));            // finer, then coarser
    CHECK_FALSE(may_follow(finish_on_firm, polish_on_soft)); // soft, then firm
    CHECK_FALSE(may_follow(cut, cut));                       // that is one step in two sets
}

TEST_CASE("no sequence has more than three steps, two sets of each, nor a small head or a hot one",
          "[plan][rules]") {
    std::vector<StepEffect> steps{step(0.6, 14e3), step(0.5, 12e3), step(0.3, 7e3),
                                  step(0.2, 3e3),  step(0.1, 3e3),  step(0.15, 3e3, 0.0375)};
    steps[1].too_hot = true;
    const std::vector<Sequence> all = allowed_sequences(steps, {}, no_haze);
    CHECK(all.size() == 2 * 4 + 4 * 6 + 8 * 4); // of four steps in a row: one, two or three of them
    for (const Sequence& sequence : nonempty(all)) {
        CHECK(sequence.size() <= most_steps);
        for (const Sets& part : sequence) {
            CHECK(part.sets <= most_sets);
            CHECK(part.step != 1);
            CHECK(part.step != 5);
        }
    }
}

TEST_CASE("found haze is ended with the finest step there is", "[plan][rules]") {
    const std::vector<StepEffect> steps{step(0.6, 14e3), step(0.3, 7e3), step(0.1, 3e3)};
    const std::vector<MarkPopulation> haze{population_of({MarkKind::haze, Visible::plain, false})};
    for (const Sequence& sequence : nonempty(allowed_sequences(steps, haze, 2.5)))
        CHECK(sequence.back().step == 2);
    const std::vector<MarkPopulation> swirls{population_of({MarkKind::swirls, Visible::plain, false})};
    const std::vector<Sequence> free = allowed_sequences(steps, swirls, no_haze);
    CHECK(std::ranges::any_of(free, [](const Sequence& s) { return s.back().step != 2; }));
}

TEST_CASE("a finer step follows for the finish alone, and in no more sets than that takes", "[plan][rules]") {
    std::vector<StepEffect> steps{step(0.6, 14e3), step(0.3, 7e3)};
    for (StepEffect& one : steps) { // grooves as many and as wide as a liquid's
        one.own.kind = MarkKind::haze, one.own.depth_sd = 0.4, one.own.length_m = 0.15;
        one.own.width_m = 8 * one.own.depth_um * 1e-6;
        one.own.per_m2 = 35e9 * one.own.depth_um * 1e-6 / one.own.length_m;
    }
    const CutRange cuts{1, 1};
    const double after_cut = worst_haze(steps, {{0, 1}}, cuts),
                 after_both = worst_haze(steps, {{0, 1}, {1, 1}}, cuts);
    REQUIRE(after_both < after_cut);
    const auto allowed = [&](const Sequence& sequence, double haze) {
        return is_for_the_finish(steps, sequence, {}, haze, cuts);
    };
    CHECK(allowed({{0, 1}}, 0.01));
    CHECK(allowed({{0, 1}, {1, 1}}, 0.5 * (after_cut + after_both)));
    CHECK_FALSE(allowed({{0, 1}, {1, 1}}, 1.1 * after_cut));                // the cut's own finish does
    CHECK_FALSE(allowed({{0, 1}, {1, 2}}, 0.5 * (after_cut + after_both))); // one set does
    CHECK(allowed({{0, 1}, {1, 2}}, 0.9 * after_both));
}

// ---- plans that keep to them ----------------------------------------------------------------------

TEST_CASE("a small head is no milder step: open ground is worked with the large one", "[plan][rules]") {
    const Shop shop;
    shop.write("kit.json", kit_with_small_heads());
    for (const char* defects : {"light", "moderate"}) {
        const VehiclePlan plan = plan_of(shop.record({shop.entry("lid", defects)}));
        REQUIRE(!plan.panels[0].steps.empty());
        CHECK_FALSE(is_small(plan.panels[0].steps.front()));
    }
}

TEST_CASE("a panel that no pad has room on is told, and the others are planned", "[plan][rules]") {
    const Shop shop;
    shop.panel("pillar", "steel", 65, 900);
    const VehiclePlan plan =
        plan_of(shop.record({shop.entry("pillar", "light"), shop.entry("flap", "light")}));
    CHECK(plan.panels[0].decision == PanelDecision::cannot);
    CHECK(plan.panels[0].steps.empty());
    CHECK_THAT(plan.panels[0].reason, Contains("cannot be worked with this kit") && Contains("no room"));
    CHECK(plan.panels[1].decision == PanelDecision::planned);
    CHECK_THROWS_AS(
        advise_on(shop_presets(), shop.record({shop.entry("pillar", "light")}), shop.path("pillar.json"), 0),
        InputError);
}

TEST_CASE("a step that gets the film too hot is slowed down, or left out", "[plan][rules]") {
    const Shop shop;
    const auto kit_at = [&](const char* speed) {
        shop.write("kit.json", fmt::format(R"({{"kind": "kit", "name": "Rotary", "machines": [
            {{"machine": "da-15", "speed": "3500/min", "force": "30 N", "arm_speed": "40 mm/s",
              "pads": ["soft-foam-150"], "liquids": ["finishing-polish"]}},
            {{"machine": "rotary-1000", "speed": "{}", "force": "40 N", "arm_speed": "30 mm/s",
              "pads": ["wool-150"], "liquids": ["cutting-compound"]}}],
            "pads": ["soft-foam-150", "wool-150"], "liquids": ["finishing-polish", "cutting-compound"]}})",
                                           speed));
        return advise_on(shop_presets(), shop.record({shop.entry("cover", "severe")}), "", 0).panels.front();
    };
    const auto rotary_of = [](const PanelAdvice& panel) {
        const auto at = std::ranges::find_if(panel.ground.effects,
                                             [](const StepEffect& e) { return e.id.starts_with("rotary"); });
        REQUIRE(at != panel.ground.effects.end());
        return static_cast<std::size_t>(at - panel.ground.effects.begin());
    };
    const PanelAdvice fast = kit_at("2200/min");
    const std::size_t at = rotary_of(fast);
    const StepEffect& rotary = fast.ground.effects[at];
    CAPTURE(rotary.words, rotary.peak_film_c);
    CHECK((rotary.too_hot || rotary.peak_film_c <= sparecoat::sim::Surroundings{}.film_limit_c));
    CHECK(fast.ground.techniques[at].speed_rad_s < 0.9 * 2200 * per_min);
    CHECK_THAT(rotary.words, Contains("slowed to"));
    for (const Outlook& outlook : nonempty(fast.advice.outlooks))
        for (const Sets& part : outlook.sequence) CHECK_FALSE(fast.ground.effects[part.step].too_hot);
}

TEST_CASE("plan and advice speak of one sequence", "[plan][rules]") {
    const Shop shop;
    for (const char* defects : {"light", "moderate", "severe"}) {
        const SectionRecord record = shop.record({shop.entry("lid", defects)});
        const PanelAdvice advice =
            advise_on(shop_presets(), record, "", 0, {}, &worked_sets()).panels.front();
        const VehiclePlan plan = plan_of(record);
        REQUIRE(advice.advice.choice);
        const Outlook& choice = advice.advice.outlooks[*advice.advice.choice];
        const bool kept_off = std::ranges::any_of(plan.panels[0].steps,
                                                  [](const PlannedStep& s) { return !s.kept_off.empty(); });
        if (kept_off) continue; // hold-backs and tape have their say
        CAPTURE(defects);
        CHECK(plan.panels[0].outlook.sequence == choice.sequence);
        CHECK(plan.panels[0].outlook.film_um.median == Approx(choice.film_um.median));
        CHECK(plan.panels[0].outlook.share.median == Approx(choice.share.median));
    }
}

// ---- what was worked out before -------------------------------------------------------------------

TEST_CASE("what was seen is answered without a run, and as with one", "[plan][section]") {
    const Shop shop;
    SectionRecord record = shop.record({shop.entry("lid", "moderate")});
    record.panels[0].squares.push_back({{0.26, 0.22}, {0.3, 0.3}, {{polish, 1, {}, {}, {}}}, {}});
    WorkedSets kept;
    advise_on(shop_presets(), record, "", 0, {}, &kept);
    const std::size_t before = kept.worked_out();
    CHECK(before >= 4); // three steps on open ground, one on the square
    record.panels[0].squares[0].tries[0].seen = "70 %";
    const SectionReport again = advise_on(shop_presets(), record, "", 0, {}, &kept);
    CHECK(kept.worked_out() == before);
    CHECK(advice_json(again) == advice_json(advise_on(shop_presets(), record, "", 0)));
    record.panels[0].squares[0].size = {0.28, 0.3};
    advise_on(shop_presets(), record, "", 0, {}, &kept);
    CHECK(kept.worked_out() == before + 1);
}

TEST_CASE("jobs that differ in anything a run depends on have other digests", "[plan][section]") {
    const Shop shop;
    RunRequest request;
    request.panel = shop.path("lid.json"), request.technique = "polish-da-15", request.grid_m = 0.004;
    const auto digest = [&](auto change) {
        RunJob job = prepare(shop_presets(), request);
        change(job);
        return digest_of(job);
    };
    const std::string same = digest([](RunJob&) {});
    CHECK(same == digest([](RunJob& job) { job.request.technique = "another name"; }));
    CHECK(same != digest([](RunJob& job) { job.panel.clear_um[9] += 1; }));
    CHECK(same != digest([](RunJob& job) { job.panel.height_m[9] += 1e-4f; }));
    CHECK(same != digest([](RunJob& job) { job.paint.softness *= 1.01; }));
    CHECK(same != digest([](RunJob& job) { job.path.samples[20].force_n += 1; }));
    CHECK(same != digest([](RunJob& job) { job.step.liquid.cut_per_size_pa_m *= 1.01; }));
    CHECK(same != digest([](RunJob& job) { job.step.pad.plate_radius_m *= 0.99; }));
    CHECK(same != digest([](RunJob& job) { job.request.air_c += 1; }));
}

} // namespace test_plan_rules
