// The plan of a whole vehicle.
#include "decide/choice.hpp"
#include "decide/work_rules.hpp"
#include "plan/plan.hpp"
#include "plan/plan_panel.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/plan_shop.hpp"
#include "tool/vary.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>

namespace test_plan {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

std::string words_of(const PanelPlan& panel) {
    std::string out = panel.reason;
    for (const std::string& doubt : panel.doubts) out += " | " + doubt;
    for (const PanelOption& option : panel.options) out += " | " + option.words;
    return out;
}

/// Every sequence of one to three different steps of up to two sets each, in any order, finer before coarser
/// as well.
std::vector<Sequence> every_sequence(std::size_t steps) {
    std::vector<Sequence> all{{}}, longer;
    for (std::size_t from = 0, length = 0; length < 3; ++length) {
        const std::size_t to = all.size();
        for (; from < to; ++from)
            for (std::size_t step = 0; step < steps; ++step)
                for (int sets = 1; sets <= 2; ++sets) {
                    if (std::ranges::find(all[from], step, &Sets::step) != all[from].end()) continue;
                    Sequence next = all[from];
                    next.push_back({step, sets});
                    all.push_back(std::move(next));
                }
    }
    all.erase(all.begin());
    return all;
}

} // namespace

TEST_CASE("a panel's plan is the best of every sequence that the kit allows: no film less does it",
          "[plan]") {
    const Shop shop;
    for (const char* defects : {"light", "moderate", "severe"}) {
        INFO(defects);
        const SectionRecord record = shop.record({shop.entry("lid", defects)});
        const PanelAdvice advice = advise_on(shop_presets(), record, "", 0).panels.front();
        const std::vector<BeliefPoint> belief = points_of(advice.belief, 2000); // as advise() weighs
        double least_um = INFINITY;
        std::string least;
        const double mean = advice.belief.cut.mean(),
                     far = 1.645 * advice.belief.cut.sd(); // nine cuts in ten
        const CutRange cuts{std::exp(mean - far), std::exp(mean + far)};
        for (const Sequence& sequence : every_sequence(advice.ground.effects.size())) {
            // Marks that the first step leaves are no reason for a finer one.
            if (!is_for_the_finish(advice.ground.effects, sequence, advice.ground.marks, record.target.haze,
                                   cuts))
                continue;
            const AtPoints at = at_points(advice.ground.effects, sequence, advice.ground.marks, belief,
                                          advice.ground.clear, record.target.reserve_um);
            const Outlook outlook = outlook_of(at, advice.ground.effects, sequence, belief, record.target);
            if (outlook.chance_of_target >= record.target.chance &&
                outlook.chance_of_keeping >= record.target.keep_chance)
                if (outlook.film_um.median < least_um)
                    least_um = outlook.film_um.median, least = words_of(advice.ground.effects, sequence);
        }
        INFO(least);
        const PanelPlan plan = plan_of(record).panels.front();
        INFO(plan.reason);
        REQUIRE(plan.decision == PanelDecision::planned);
        CHECK(plan.outlook.chance_of_target >= record.target.chance);
        CHECK(plan.outlook.film_um.median <= least_um + tied_film_um);
    }
}

TEST_CASE("a plan lays its steps over the whole panel and adds up what they take", "[plan]") {
    const Shop shop;
    const VehiclePlan plan =
        plan_of(shop.record({shop.entry("lid", "severe"), shop.entry("flap", "moderate")}));
    REQUIRE(plan.panels.size() == 2);
    double machine_s = 0, all_s = 0;
    for (const PanelPlan& panel : plan.panels) {
        REQUIRE_FALSE(panel.steps.empty());
        double open_um = 0;
        int tapes = 0;
        for (const PlannedStep& step : panel.steps) {
            open_um += step.open_um, machine_s += step.time_s, all_s += step.time_s + plan.set_up.each_step_s;
            tapes = std::max(tapes, static_cast<int>(step.technique.tape_edge_m.size()));
            CHECK(step.liquid_ml == Approx(charge_ml * step.charges));
            CHECK_FALSE(step.technique.section_centre); // all of it, and not a square
        }
        // What the advice expects of the open panel and what the panel's own runs take, within a tenth; on a
        // panel this small a hold-back takes some of that away.
        const bool held =
            std::ranges::any_of(panel.steps, [](const PlannedStep& step) { return !step.kept_off.empty(); });
        CHECK(open_um < 1.1 * panel.outlook.film_um.median);
        CHECK(open_um > (held ? 0.6 : 0.9) * panel.outlook.film_um.median);
        CHECK(panel.share_whole.median <= panel.outlook.share.median + 0.02); // edges get less
        CHECK(panel.share_whole.median > 0.5 * panel.outlook.share.median);
        all_s += tapes * plan.set_up.each_tape_s;
    }
    all_s += plan.set_up.change_s * static_cast<double>(plan.order.size());
    CHECK(plan.time_s == Approx(all_s));
    REQUIRE(plan.machine_s.size() == 1);
    CHECK(plan.machine_s.front().what == "da-15");
    CHECK(plan.machine_s.front().amount == Approx(machine_s));
    double turns_s = 0;
    for (const VehiclePlan::Turn& turn : plan.order) turns_s += turn.time_s;
    CHECK(turns_s <= plan.time_s + 1e-6);
}

TEST_CASE("a plan's totals as JSON are the sums of its panels by hand", "[plan]") {
    const Shop shop;
    const json plan = plan_json(plan_of(shop.record(
        {shop.entry("lid", "severe"), shop.entry("flap", "moderate"), shop.entry("cover", "light")})));
    std::map<std::string, double> charges, ml, machine_s; // by pad, liquid, machine
    double area_m2 = 0, film_um_m2 = 0, share_m2 = 0, panels_s = 0;
    for (const json& panel : nonempty(plan["panels"])) {
        REQUIRE_FALSE(panel["steps"].empty());
        const double area = panel["area_m2"];
        area_m2 += area;
        film_um_m2 += area * panel["outlook"]["film_um"]["median"].get<double>();
        share_m2 += area * panel["outlook"]["sure_share"].get<double>();
        panels_s += panel["time_s"].get<double>();
        for (const json& step : panel["steps"]) {
            charges[step["pad"]] += step["charges"].get<double>();
            ml[step["liquid"]] += step["liquid_ml"].get<double>();
            machine_s[step["machine"]] += step["time_s"].get<double>();
        }
    }
    const json& totals = plan["totals"];
    CHECK(totals["film_um"].get<double>() == Approx(film_um_m2 / area_m2)); // means by area
    CHECK(totals["sure_share"].get<double>() == Approx(share_m2 / area_m2));
    CHECK(totals["time_s"].get<double>() == Approx(panels_s + plan["set_up"]["change_s"].get<double>() *
                                                                  static_cast<double>(plan["order"].size())));
    REQUIRE(totals["pads"].size() == charges.size());
    for (const json& pad : totals["pads"])
        CHECK(pad["count"].get<double>() ==
              std::ceil(charges.at(pad["pad"]) / 6)); // six charges, then it is washed
    REQUIRE(totals["liquids"].size() == ml.size());
    for (const json& liquid : totals["liquids"])
        CHECK(liquid["ml"].get<double>() == Approx(ml.at(liquid["liquid"])));
    REQUIRE(totals["machines"].size() == machine_s.size());
    for (const json& machine : totals["machines"])
        CHECK(machine["time_s"].get<double>() == Approx(machine_s.at(machine["machine"])));
}

TEST_CASE("work goes from the coarsest step on all panels to the finest, each in its own panel's order",
          "[plan]") {
    const Shop shop;
    const VehiclePlan plan =
        plan_of(shop.record({shop.entry("lid", "moderate"), shop.entry("flap", "severe")}));
    std::vector<std::size_t> done(plan.panels.size(), 0);
    for (const VehiclePlan::Turn& turn : plan.order)
        for (const std::size_t p : turn.panels) {
            REQUIRE(done[p] < plan.panels[p].steps.size());
            CHECK(plan.panels[p].steps[done[p]++].id == turn.step);
        }
    for (std::size_t p = 0; p < plan.panels.size(); ++p) CHECK(done[p] == plan.panels[p].steps.size());
    const auto place = [&](const std::string& id) {
        const auto found = std::ranges::find(plan.order, id, &VehiclePlan::Turn::step);
        return found == plan.order.end() ? -1 : found - plan.order.begin();
    };
    REQUIRE(place(compound) >= 0);
    const auto finer = std::max(place(polish), place(finishing));
    REQUIRE(finer >= 0);
    CHECK(place(compound) < finer);
    if (place(polish) >= 0 && place(finishing) >= 0) CHECK(place(polish) < place(finishing));
}

TEST_CASE("what becomes of a panel follows from what it is and what may go", "[plan]") {
    const Shop shop;
    const auto decision_of = [&](const RecordedPanel& entry, double reserve_um = 15,
                                 std::optional<double> allowance_um = {}) {
        SectionRecord record = shop.record({entry});
        record.target.reserve_um = reserve_um;
        return plan_of(record, quick(), 0, {{"the panel", allowance_um}}).panels.front();
    };
    SECTION("not clean: no advice") {
        RecordedPanel entry = shop.entry("flap", "moderate");
        entry.clean = false;
        const PanelPlan plan = decision_of(entry);
        CHECK(plan.decision == PanelDecision::not_clean);
        CHECK(plan.steps.empty());
        CHECK_THAT(plan.reason, Contains("Wash and decontaminate"));
    }
    SECTION("chips alone: touch up") {
        const PanelPlan plan = decision_of(shop.entry("flap", shop.path("chips.json")));
        CHECK(plan.decision == PanelDecision::touch_up);
        CHECK(plan.steps.empty());
        CHECK(plan.chips > 0);
    }
    SECTION("light marks: planned, and mild") {
        const PanelPlan plan = decision_of(shop.entry("flap", "light"));
        CHECK(plan.decision == PanelDecision::planned);
        CHECK(plan.outlook.film_um.median < 1.5);
        CHECK(plan.limited_by == PlanLimit::nothing);
    }
    SECTION("severe marks: planned with more film than light ones") {
        const PanelPlan plan = decision_of(shop.entry("flap", "severe"));
        CHECK(plan.decision == PanelDecision::planned);
        CHECK(plan.outlook.film_um.median > decision_of(shop.entry("flap", "light")).outlook.film_um.median);
    }
    SECTION("severe marks on thin film: held back from the edges, and the steps' own techniques say by how "
            "much") {
        const PanelPlan plan = decision_of(shop.entry("flap", "severe", "old-thin"), 12);
        REQUIRE_FALSE(plan.steps.empty());
        for (const PlannedStep& step : plan.steps) {
            CHECK_FALSE(step.kept_off.empty());
            CHECK(step.technique.hold_back_edge_m.size() + step.technique.tape_edge_m.size() > 0);
        }
    }
    SECTION("a thin film: less than the target, with what binds and what else can be done") {
        const PanelPlan plan = decision_of(shop.entry("flap", "severe", "old-thin"), 19);
        CHECK((plan.decision == PanelDecision::less || plan.decision == PanelDecision::finish_only ||
               plan.decision == PanelDecision::leave));
        CHECK((plan.limited_by == PlanLimit::reserve || plan.limited_by == PlanLimit::both));
        CHECK_THAT(words_of(plan), Contains("19.0 µm") && Contains("respray"));
    }
    SECTION("a film under the reserve already: leave it") {
        const PanelPlan plan = decision_of(shop.entry("flap", "severe", "old-thin"), 30);
        CHECK(plan.decision == PanelDecision::leave);
        CHECK(plan.steps.empty());
        CHECK(plan.time_s == 0.0);
    }
    SECTION("an allowance that is nearly spent: what it leaves") {
        const PanelPlan plan = decision_of(shop.entry("flap", "severe"), 15, 0.6);
        CHECK(plan.decision != PanelDecision::planned);
        CHECK(plan.limited_by == PlanLimit::allowance);
        CHECK(plan.outlook.film_um.median <= 0.6);
        CHECK_THAT(plan.reason, Contains("over the vehicle's life"));
    }
    SECTION("plastic: said, and watched for heat") {
        const PanelPlan plan = decision_of(shop.entry("cover", "light"));
        CHECK(plan.plastic);
        CHECK(plan.decision == PanelDecision::planned);
    }
    SECTION("a thick repaint: planned; what is known of its film is said") {
        const PanelPlan plan = decision_of(shop.entry("flap", "moderate", "thick-repaint"));
        CHECK(plan.decision == PanelDecision::planned);
        CHECK(plan.clear_um > 60);
        CHECK_THAT(words_of(plan), Contains("no gauge readings"));
    }
}

TEST_CASE("a plan says where the paint is so thin that the trade would leave it", "[plan]") {
    const Shop shop;
    const auto words_with = [&](const char* paint) {
        return words_of(plan_of(shop.record({shop.entry("lid", "light", paint)})).panels.front());
    };
    // Nominal layers of old-thin: 22 + 14 + 25 + 18 µm, the open ground far from its edges.
    CHECK_THAT(
        words_with("old-thin"),
        Contains("thin paint: 100 % of the open ground has under 80 µm of all layers, 79 µm at the least"));
    CHECK_THAT(words_with("typical"), !Contains("thin paint"));
}

TEST_CASE("hold-backs and tape are put on where an edge would else be worked through, and help", "[plan]") {
    const Shop shop;
    SectionRecord record = shop.record({shop.entry("flap", "moderate", "old-thin")});
    record.target.reserve_um = 12;
    const VehiclePlan plan = plan_of(record);
    const PanelPlan& panel = plan.panels.front();
    REQUIRE_FALSE(panel.steps.empty());
    std::size_t kept_off = 0;
    for (const PlannedStep& step : panel.steps) kept_off += step.kept_off.size();
    REQUIRE(kept_off > 0);
    // The same steps without any of that.
    const PanelAdvice advice = advise_on(shop_presets(), record, "", 0).panels.front();
    WholePanel whole;
    whole.panel = advice.ground.panel;
    whole.request.panel = record.panels.front().panel, whole.request.paint = "old-thin",
    whole.request.grid_m = 0.004;
    whole.cut = std::exp(advice.belief.cut.mean()), whole.cut_sd = advice.belief.cut.sd();
    std::vector<StepWork> bare;
    for (const PlannedStep& step : panel.steps) {
        Technique technique = step.technique;
        technique.hold_back_edge_m.clear(), technique.tape_edge_m.clear();
        bare.push_back({technique, step.sets});
    }
    PanelWorkTerms terms;
    terms.reserve_um = 12, terms.pairs = 4, terms.threshold = 2; // nothing is ever put on
    const PanelWork without = work_panel(shop_presets(), whole, bare, terms);
    CHECK(without.highest_chance > 0.01);
    CHECK(1 - panel.chance_of_keeping < without.highest_chance);
    // What is left at risk is listed; open ground is only where it is more than the target allows.
    CHECK((!panel.at_risk.empty() || 1 - panel.chance_of_keeping < 0.01 || panel.weakest == "open panel"));
}

TEST_CASE("what a plan claims of open ground is what its steps do there, hold-backs and tape counted",
          "[plan][long]") {
    SectionRecord record;
    RecordedPanel entry;
    entry.panel = "front-wing", entry.paint = "old-thin", entry.defects = "light", entry.clean = true;
    record.name = "a wing", record.kit = "workshop", record.panels = {entry};
    const PanelPlan panel = plan_of(record).panels.front();
    const PanelAdvice advice = advise_on(shop_presets(), record, "", 0).panels.front();
    RunRequest request;
    request.panel = record.panels.front().panel, request.paint = "old-thin", request.grid_m = 0.004;
    double um = 0;
    std::size_t kept_off = 0;
    for (const PlannedStep& step : panel.steps) {
        const RunJob job =
            prepare(shop_presets(), request, step.technique, advice.ground.panel.get(), coarse_steps);
        StepEffect effect;
        take_removed(effect, advice.ground.cells,
                     simulate(job.panel, setup_of(job), job.path).fields.removed_um);
        um += step.sets * effect.mean_um;
        kept_off += step.kept_off.size();
    }
    REQUIRE(kept_off > 0); // hold-backs of 30 mm all round would leave it a tenth less
    const double cut = std::exp(advice.belief.cut.mean());
    CHECK(panel.outlook.film_um.median ==
          Approx(cut * um).epsilon(0.04)); // a median over nodes of the belief, 5 % apart
}

TEST_CASE("a limit on time or film moves the choice along the front and is kept", "[plan]") {
    const Shop shop;
    const SectionRecord record = shop.record({shop.entry("lid", "severe"), shop.entry("flap", "moderate")});
    const VehiclePlan free = plan_of(record);
    REQUIRE(free.front.size() > 2);
    const auto on_front = [](const VehiclePlan& plan) {
        return std::ranges::any_of(plan.front, [&](const VehiclePlan::Point& p) {
            // Within what no gauge tells apart; see tied_film_um.
            return std::abs(p.film_um - plan.chosen.film_um) <= tied_film_um &&
                   std::abs(p.share - plan.chosen.share) < 0.02;
        });
    };
    CHECK(on_front(free));
    PlanTerms terms = quick();
    terms.time_s = 0.6 * free.time_s;
    const VehiclePlan hurried = plan_of(record, terms);
    CHECK(hurried.time_s <= *terms.time_s);
    CHECK(on_front(hurried));
    CHECK(hurried.share < free.share);
    bool told = false;
    for (const PanelPlan& panel : hurried.panels) told = told || panel.limited_by == PlanLimit::time_limit;
    CHECK(told);
    terms = quick();
    terms.film_um = 0.7;
    const VehiclePlan sparing = plan_of(record, terms);
    std::size_t worked = 0;
    for (const PanelPlan& panel : sparing.panels) {
        if (panel.steps.empty()) continue;
        ++worked;
        CHECK(panel.outlook.film_um.median <= 0.7);
    }
    CHECK(worked > 0);
    CHECK(sparing.film_um < free.film_um);
    CHECK(sparing.panels.front().limited_by == PlanLimit::film_limit);
    terms.film_um.reset(), terms.time_s = 0;
    const VehiclePlan none = plan_of(record, terms);
    CHECK(none.time_s == 0.0);
    for (const PanelPlan& panel : nonempty(none.panels)) CHECK(panel.decision == PanelDecision::leave);
}

TEST_CASE("a plan does not depend on the number of threads", "[plan]") {
    const Shop shop;
    const SectionRecord record = shop.record({shop.entry("lid", "severe", "old-thin"),
                                              shop.entry("cover", "light"), shop.entry("flap", "moderate")});
    const json one = plan_json(plan_of(record, quick(), 1));
    CHECK(one == plan_json(plan_of(record, quick(), 3)));
}

TEST_CASE("planning can be stopped, tells how far it is, and never goes back", "[plan]") {
    const Shop shop;
    const SectionRecord record = shop.record({shop.entry("flap", "light"), shop.entry("lid", "light")});
    std::vector<double> said;
    std::vector<std::string> panels;
    plan_vehicle(shop_presets(), record, {{"bonnet", {}}, {}}, quick(), 2,
                 [&](const std::string& panel, double share) {
                     said.push_back(share), panels.push_back(panel);
                     return true;
                 });
    CHECK(std::ranges::is_sorted(said));
    CHECK(said.back() == 1.0);
    CHECK(std::ranges::find(panels, "bonnet") != panels.end());
    CHECK(std::ranges::find(panels, "lid") != panels.end());
    for (const std::size_t after : {std::size_t{1}, said.size() / 2, said.size() - 3}) {
        std::size_t count = 0;
        CHECK_THROWS_AS(plan_vehicle(shop_presets(), record, {{}, {}}, quick(), 2,
                                     [&](const std::string&, double) { return ++count < after; }),
                        Stopped);
    }
}

TEST_CASE("two panels of one shape are two panels", "[plan]") {
    const Shop shop;
    const SectionRecord record = shop.record({shop.entry("flap", "light"), shop.entry("flap", "severe")});
    const VehiclePlan plan = plan_of(record, quick(), 0, {{"left flap", {}}, {"right flap", {}}});
    CHECK(plan.panels[0].name == "left flap");
    CHECK(plan.panels[1].outlook.film_um.median > plan.panels[0].outlook.film_um.median);
    CHECK_THROWS_AS(plan_vehicle(shop_presets(), record, {{}}, quick(), 0), std::invalid_argument);
}

TEST_CASE("the usual hand is that of the technique presets", "[plan]") {
    int by_hand = 0;
    for (const Listing& listing : shop_presets().list(PresetKind::technique)) {
        const HandVariation hand = shop_presets().technique(listing.id).hand;
        if (!varies(hand)) continue;
        ++by_hand;
        INFO(listing.id);
        CHECK(hand.force == Approx(usual_hand.force));
        CHECK(hand.arm_speed == Approx(usual_hand.arm_speed));
        CHECK(hand.tilt_rad == Approx(usual_hand.tilt_rad));
        CHECK(hand.spacing_m == Approx(usual_hand.spacing_m));
        CHECK(hand.correlation_s == Approx(usual_hand.correlation_s));
    }
    CHECK(by_hand > 3);
}

} // namespace test_plan
