// What a panel's film has cost over the vehicle's life and what it can still give.
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "vehicle/film_life.hpp"
#include "vehicle/job_plan.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <random>

namespace test_film_life {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;

namespace {

constexpr double z = 1.6448536269514722; // of the normal law, 90 % lie within so many standard deviations

/// A door that may lose 10 µm, with a reserve of 15.
struct Door {
    ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    Id panel = add_panel(job, "rear door", "rear-door");

    JobPanel row() const { return job.get<JobPanel>(panel); }
    Visit visit(const std::string& date) { return job.get<Visit>(add_visit(job, date)); }

    /// Work that the model alone tells the film of.
    void work(const Visit& visit, double um, double sd_um) {
        job.edit("work", [&] {
            Work work;
            work.panel_visit = job.at_visit(visit.id, panel).id;
            work.predicted_um = um, work.predicted_sd_um = sd_um;
            job.add(work);
        });
    }
    void plan(const Visit& visit, const json& plan) {
        job.edit("plan", [&] {
            const PanelVisit was = job.at_visit(visit.id, panel);
            PanelVisit now = was;
            now.plan = plan.dump();
            job.change(was, now);
        });
    }
    FilmLife life() const { return film_life(job, row()); }
};

json plan_of(double low_um, double median_um, double high_um, double clear_um = 40, double clear_sd_um = 3) {
    return {
        {"fate", "planned"},
        {"steps",
         {{{"sets", 2}, {"words", "polish on medium foam"}}, {{"sets", 1}, {"words", "finishing polish"}}}},
        {"outlook", {{"film_um", {{"low", low_um}, {"median", median_um}, {"high", high_um}}}}},
        {"clear", {{"mean_um", clear_um}, {"sd_um", clear_sd_um}}}};
}

} // namespace

TEST_CASE("what is left of the allowance is what no visit has cost, and the visits' variances add up",
          "[job][life]") {
    Door door;
    CHECK(door.life().left.um == 10);
    CHECK(door.life().left.sd_um == 0);
    CHECK_FALSE(door.life().corrections);
    door.work(door.visit("2026-03-14"), 1.2, 0.3);
    door.work(door.visit("2027-03-20"), 0.8, 0.4);
    const FilmLife life = door.life();
    CHECK(life.spent.um == Approx(2.0));
    CHECK(life.spent.sd_um == Approx(0.5)); // sqrt(0.09 + 0.16)
    CHECK(life.left.um == Approx(8.0));
    CHECK(life.left.sd_um == Approx(0.5));
    REQUIRE(life.costs.size() == 2);
    CHECK(life.costs[1].visit.date == "2027-03-20");
}

TEST_CASE("a visit's film counts for the plans of later visits and not for its own", "[job][life]") {
    Door door;
    const Visit first = door.visit("2026-03-14"), second = door.visit("2027-03-20");
    door.work(first, 1.2, 0.3);
    door.work(second, 0.8, 0.4);
    CHECK(film_life(door.job, door.row(), first).left.um == 10);
    CHECK(film_life(door.job, door.row(), second).left.um == Approx(8.8));
    door.job.edit("kit", [&] {
        const Vehicle was = door.job.vehicle();
        Vehicle now = was;
        now.kit = bring_in(door.job, shipped_presets(), "kit", "workshop").document;
        door.job.change(was, now);
    });
    CHECK(job_for_plan(door.job, second).tasks.front().allowance_left_um == Approx(8.8));
    CHECK(job_for_plan(door.job, first).tasks.front().allowance_left_um == 10.0);
}

TEST_CASE("an overdrawn allowance leaves a plan nothing, and a gauge that rose gives nothing back",
          "[job][life]") {
    Door door;
    const Visit first = door.visit("2026-03-14");
    door.work(first, 11, 0.5);
    const Visit second = door.visit("2027-03-20");
    CHECK(film_life(door.job, door.row(), second).left.um == Approx(-1.0));
    CHECK(door.life().corrections->number == 0);
    CHECK(door.life().corrections->low == 0);

    Door risen;
    const Visit visit = risen.visit("2026-03-14");
    risen.job.edit("readings", [&] {
        const Id at = risen.job.at_visit(visit.id, risen.panel).id;
        risen.job.add(reading(at, 0.3, 110.0));
        risen.job.add(reading(at, 0.3, 110.4, true));
    });
    CHECK(risen.life().spent.um == Approx(-0.4)); // as it was read: sums of several visits stay unbiased
    CHECK_FALSE(risen.life().corrections);        // what costs nothing fits in for ever
}

TEST_CASE("corrections still affordable are those like the plan's as long as its work waits, then like those "
          "so far",
          "[job][life]") {
    Door door;
    const Visit first = door.visit("2026-03-14");
    door.plan(first, plan_of(2 - z * 0.3, 2, 2 + z * 0.3));
    const FilmLife before = door.life();
    REQUIRE(before.each);
    CHECK(before.each_is_planned);
    CHECK(before.each->um == Approx(2.0));
    CHECK(before.each->sd_um == Approx(0.3)); // a 90 % interval is 2 z standard deviations wide
    CHECK(before.corrections->number == Approx(5.0));
    // What is left is known exactly here, so the interval is that of the plan's film turned over.
    CHECK(before.corrections->low == Approx(10 / (2 + z * 0.3)));
    CHECK(before.corrections->high == Approx(10 / (2 - z * 0.3)));

    door.work(first, 1.2, 0.3);
    CHECK_FALSE(door.life().each_is_planned);
    CHECK(door.life().each->um == Approx(1.2));
    door.work(door.visit("2027-03-20"), 0.8, 0.4);
    const FilmLife after = door.life();
    CHECK(after.each->um == Approx(1.0));
    CHECK(after.each->sd_um == Approx(0.25)); // mean of two: sqrt(0.09 + 0.16) / 2
    CHECK(after.corrections->number == Approx(8.0));
    // Both rest on the same two figures: (10 - 2 e) / e with e = 1 ± 0.25 z, turned over.
    CHECK(after.corrections->low == Approx(10 / (1 + z * 0.25) - 2));
    CHECK(after.corrections->high == Approx(10 / (1 - z * 0.25) - 2));
}

TEST_CASE("where the reserve is nearer than the allowance's end it is what holds", "[job][life]") {
    Door door;
    const Visit visit = door.visit("2026-03-14");
    door.plan(visit, plan_of(1.5, 2, 2.5, 20, 1.2));
    FilmLife life = door.life();
    CHECK(life.over_reserve->um == Approx(5.0)); // 20 - 15
    CHECK(life.over_reserve->sd_um == Approx(1.2));
    CHECK(life.reserve_holds);
    CHECK(life.corrections->number == Approx(2.5));
    door.work(visit, 1.0, 0.5);
    life = door.life();
    CHECK(life.over_reserve->um == Approx(4.0));    // the work came after that film was known
    CHECK(life.over_reserve->sd_um == Approx(1.3)); // sqrt(1.44 + 0.25)
    CHECK(life.corrections->number == Approx(4.0));
    door.plan(door.visit("2027-03-20"), plan_of(1.5, 2, 2.5, 40));
    CHECK_FALSE(door.life().reserve_holds);
    CHECK(door.life().corrections->number == Approx(4.5)); // 9 of the allowance
}

TEST_CASE("a plan from elsewhere that says less is taken for what it says", "[job][life]") {
    for (const char* plan : {"{}", "[]", "5", R"({"outlook": null, "steps": []})",
                             R"({"outlook": {"film_um": {"low": 1}}, "clear": {"mean_um": "x"}})",
                             R"({"steps": [{"sets": "two"}], "fate": 7})"}) {
        INFO(plan);
        const PlannedFilm planned = planned_film(plan);
        CHECK((planned.decision.empty() && planned.steps.empty() && !planned.loss && !planned.clear));
    }
    json plan = plan_of(1, 2, 3);
    const auto steps_with = [&](const char* first, const char* second) {
        plan["steps"][0]["words"] = first, plan["steps"][1]["words"] = second;
        return planned_film(plan.dump()).steps;
    };
    CHECK(planned_film(plan.dump()).steps ==
          "2 sets of polish on medium foam, then 1 set of finishing polish");
    CHECK(steps_with("cut (orbital)", "polish (orbital)") ==
          "2 sets of cut, then 1 set of polish"); // one machine needs no name
    CHECK(steps_with("cut (rotary)", "polish (orbital)") ==
          "2 sets of cut (rotary), then 1 set of polish (orbital)");
    CHECK(steps_with("cut", "polish (orbital)") == "2 sets of cut, then 1 set of polish (orbital)");
}

TEST_CASE("how often one film fits into another has the interval of Fieller's theorem", "[job][life]") {
    // Fieller, J. R. Stat. Soc. B 16, 175 (1954): at either end r the difference a - r b is z of its own
    // standard deviations from 0.
    const FilmSum a{7, 0.6}, b{1.4, 0.3};
    for (const double covariance : {0.0, -0.1, 0.1}) {
        const HowOften often = how_often(a, b, covariance).value();
        CHECK(often.number == Approx(5.0));
        for (const double r : {often.low, often.high})
            CHECK(std::abs(a.um - r * b.um) ==
                  Approx(z * std::sqrt(a.sd_um * a.sd_um - 2 * r * covariance + r * r * b.sd_um * b.sd_um)));
        CHECK((often.low < 5 && often.high > 5));
    }
    CHECK(std::isinf(how_often(a, {0.4, 0.3})->high)); // 0.3 z is more than 0.4: it may cost next to nothing
    CHECK(how_often(a, {0.4, 0.3})->low > 0);
    CHECK(how_often({0.5, 1.0}, b)->low == 0);
    CHECK_FALSE(how_often(a, {0, 0.3}));
    CHECK_FALSE(how_often(a, {-0.2, 0.3}));
}

TEST_CASE("nine such intervals in ten hold the true number", "[job][life]") {
    // Drawn from normal laws with a known ratio. 4000 draws: sd of the share 0.47 %, four of them allowed.
    std::mt19937_64 random(7);
    std::normal_distribution<double> noise;
    constexpr double left_um = 6, each_um = 1.5, left_sd_um = 0.5, each_sd_um = 0.4;
    int held = 0;
    constexpr int draws = 4000;
    for (int k = 0; k < draws; ++k) {
        const FilmSum left{left_um + left_sd_um * noise(random), left_sd_um},
            each{each_um + each_sd_um * noise(random), each_sd_um};
        const auto often = how_often(left, each);
        held += often && often->low <= left_um / each_um && often->high >= left_um / each_um;
    }
    CHECK(held / double{draws} == Approx(0.9).margin(0.019));
}

} // namespace test_film_life
