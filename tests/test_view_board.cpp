// The board of a job file in the window, and its bench.
#include "support/board_world.hpp"
#include <catch2/catch.hpp>

namespace test_view_board {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using namespace sparecoat::test::board_world;

// ---- the board of a job file ------------------------------------------------------------------------

TEST_CASE("A board says of every panel what is on file at the visit that is shown", "[view][board]") {
    const ScratchFolder scratch;
    JobFile job = JobFile::create(scratch.path / "bus.sparecoat", minibus());
    fill_every_table(job);
    const std::vector<Visit> visits = job.all<Visit>();
    const Board spring = board_of(job, visits.front().id);
    REQUIRE(spring.panels.size() == 2);
    const BoardPanel& door = spring.panels.front();
    CHECK((door.panel.name == "rear door" && door.shape == "rear-door" && door.paint == "typical"));
    CHECK((door.clean() && door.marks == "severe" && door.tries == 2));
    CHECK(door.readings.size() == 3);
    CHECK((door.film.size() == 2 && !door.film_of_earlier)); // before work, total and clear
    CHECK(door.stand == PanelStand::done);
    REQUIRE(door.lost);
    // The gauge's 1.5 ± 0.4082 µm and the model's 1.4 ± 0.3, weighted by 1/sd² (job-file.md): by hand 1.43506
    // ± 0.24175.
    CHECK(door.lost->um == Approx(1.43506).epsilon(1e-4));
    CHECK(door.lost->sd_um == Approx(0.24175).epsilon(1e-3));
    CHECK((door.spent_visits == 1 && spring.left_um(door) == Approx(10 - door.lost->um)));
    CHECK(spring.panels.back().stand == PanelStand::wash);
    REQUIRE(door.plan);
    CHECK_THAT(door.plan->fault, Contains("cannot be read")); // a plan of another make

    const Board later = board_of(job, {}); // the latest
    CHECK(later.visit->date == "2027-03-20");
    CHECK((later.panels.front().readings.empty() && later.panels.front().film_of_earlier));
    CHECK(later.panels.front().film.front().film_um == 110.8); // what the visit before left
    CHECK(later.panels.front().spent_visits == 1);
    CHECK(board_of(job, Id{999}).visit->date == "2027-03-20"); // one that is gone
}

TEST_CASE(
    "Film that went at several visits adds up with its uncertainty, and a gauge that rose counts as nothing",
    "[view][board]") {
    const ScratchFolder scratch;
    JobFile job = JobFile::create(scratch.path / "bus.sparecoat", minibus());
    const Id door = add_panel(job, "door", "test-plate");
    const auto work_at = [&](const char* date, double before_um, double after_um) {
        const Id visit = add_visit(job, date);
        job.edit("work", [&] {
            Work work;
            work.panel_visit = job.at_visit(visit, door).id, work.done = "polished";
            work.gauge = GaugeColumns(GaugePair{before_um, after_um, 4, 4, 1});
            job.add(work);
        });
        return visit;
    };
    work_at("2026-01-10", 112, 110); // 2 ± sqrt(2/4)
    work_at("2026-06-10", 110, 110.5);
    const Id last = work_at("2026-12-10", 110, 107); // 3 ± sqrt(2/4)
    const Board board = board_of(job, last);
    CHECK(board.panels.front().spent.um == Approx(5));
    CHECK(board.panels.front().spent.sd_um == Approx(std::sqrt(1.5)));
    CHECK(left_words(board, board.panels.front(), FilmUnit::um) == "5.0 ± 1.2 of 10 µm left");
    CHECK(left_words(board, board.panels.front(), FilmUnit::mil) == "0.197 ± 0.048 of 0.39 mil left");
    CHECK(board_of(job, board.visits.front().id).panels.front().spent.um ==
          Approx(2)); // later visits are not known then
}

TEST_CASE("A stored plan is told at a glance, and what is no plan says so", "[view][board]") {
    const PlanGlance plan = glance_at_plan(
        R"json({"fate": "less than the target", "holds": "reserve", "reason": "As far as it goes.",
            "plastic": true,
        "doubts": ["no gauge readings"], "time_s": 1800,
        "steps": [{"step": "a+b+c", "words": "polish on foam (orbital)", "sets": 2,
            "kept_off": ["tape the rim"], "open_panel_um": 1.2, "time_s": 900,
                   "technique": {"kind": "technique"}}],
        "outlook": {"chance_of_target": 0.42, "chance_of_keeping_everywhere": 0.97, "film_um": {"low": 1,
            "median": 1.5, "high": 2}},
        "at_risk": [{"place": "the rim", "chance": 0.021}]})json");
    CHECK(plan.fault == "");
    CHECK((plan.decision == name_of(PanelDecision::less) && plan.holds == "reserve" && plan.plastic));
    REQUIRE(plan.steps.size() == 1);
    CHECK((plan.steps[0].sets == 2 && plan.steps[0].kept_off.front() == "tape the rim" &&
           plan.steps[0].technique == R"({"kind":"technique"})"));
    CHECK((*plan.chance_of_target == 0.42 && *plan.chance_of_keeping == 0.97 && plan.film_um == 1.5));
    CHECK(plan.film_sd_um ==
          Approx(1 / 3.29).epsilon(1e-3)); // 5th to 95th percentile of a normal distribution
    CHECK(plan.at_risk.front() == "the rim: 2.1 % under the reserve");
    CHECK(steps_words(plan) == "2 x polish on foam");
    for (const char* text : {"", "{", "[]", "{}", R"({"fate": 3})", R"({"fate": "leave", "steps": [{}]})"}) {
        INFO(text);
        CHECK(glance_at_plan(text).fault != "");
    }
}

TEST_CASE("Film is told in the unit of the settings", "[view][board]") {
    BoardPanel panel;
    CHECK(film_words(panel, FilmUnit::um) == "nominal film");
    FilmReading spot;
    spot.film_um = 112;
    panel.film = {spot};
    CHECK(film_words(panel, FilmUnit::um) == "1 spot, 112.0 µm");
    spot.film_um = 98;
    panel.film.push_back(spot);
    CHECK(film_words(panel, FilmUnit::um) == "2 spots, mean 105.0, least 98.0 µm");
    CHECK(film_words(panel, FilmUnit::mil) == "2 spots, mean 4.13, least 3.86 mil");
}

// ---- the bench ----------------------------------------------------------------------------------------

TEST_CASE("Every entry is on file at once, undone and redone", "[view][board]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    const std::string before = bus.on_file();
    bench.toggle_clean();
    CHECK(bench.panel()->clean());
    CHECK(bus.on_file() != before);
    bench.set_marks("severe");
    CHECK(bench.panel()->marks == "severe");
    const std::string after = bus.on_file();
    CHECK_THAT(bench.undo(), Contains("the marks on the lid"));
    CHECK_THAT(bench.undo(), Contains("the state of the lid"));
    CHECK(bus.on_file() == before);
    CHECK_FALSE(bench.panel()->clean());
    bench.redo(), bench.redo();
    CHECK(bus.on_file() == after);
    CHECK_FALSE(bench.can_redo());
    CHECK(bench.redo() == "");
}

TEST_CASE("Panels are added from presets and visits by their day, and what is wrong is said in the form",
          "[view][board]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.ask(BoardForm::Kind::panel, FilmUnit::um);
    set(*bench.form, {"roof", "roof skin", "typical"});
    CHECK(bench.form->fields[1].value() == "roof-skin");
    REQUIRE(bench.enter_form(FilmUnit::um));
    CHECK((bench.board().panels.size() == 3 && bench.panel()->panel.name == "roof" &&
           bench.panel()->shape == "roof-skin"));
    bench.ask(BoardForm::Kind::panel, FilmUnit::um);
    set(*bench.form, {"roof", "roof skin", "typical"});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
    CHECK_THAT(bench.form->fault, Contains("\"roof\", which the job has"));
    set(*bench.form, {"door", "unicorn", "typical"});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
    CHECK_THAT(bench.form->fault, Contains("unicorn"));
    bench.form.reset();

    bench.ask(BoardForm::Kind::visit, FilmUnit::um);
    set(*bench.form, {"2026-13-01", ""});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
    CHECK_THAT(bench.form->fault, Contains("2026-13-01"));
    set(*bench.form, {"2026-09-01", "autumn"});
    REQUIRE(bench.enter_form(FilmUnit::um));
    CHECK(bench.board().visit->label == "autumn");
    bench.choose_visit(-1);
    CHECK(bench.board().visit->label == "spring");
    bench.choose_visit(-1); // there is none before
    CHECK(bench.board().visit->label == "spring");
    CHECK(bench.board().panels.size() == 3);
}

TEST_CASE(
    "Work is noted with the gauge's means, and what the plan foretold stands for what was planned alone",
    "[view][board]") {
    const SmallBus bus;
    {
        JobFile job = JobFile::open(bus.file());
        const Id panel = job.panel_named("lid")->id, visit = job.last_visit()->id;
        job.edit("a plan", [&] {
            const PanelVisit was = job.at_visit(visit, panel);
            PanelVisit now = was;
            now.plan = R"({"fate": "planned", "steps": [{"step": "a", "words": "polish on foam", "sets": 2}],
                "outlook": {"chance_of_target": 0.9, "chance_of_keeping_everywhere": 0.99,
                    "film_um": {"low": 1, "median": 1.5, "high": 2}}})";
            job.change(was, now);
        });
    }
    JobModel bench;
    open(bench, bus);
    bench.ask(BoardForm::Kind::work, FilmUnit::um);
    CHECK(bench.form->fields[0].text == "2 sets of polish on foam");
    set(*bench.form, {"2 sets of polish on foam", "112", "", ""});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
    CHECK_THAT(bench.form->fault, Contains("after"));
    set(*bench.form, {"2 sets of polish on foam", "112", "110,5", "5"});
    REQUIRE(bench.enter_form(FilmUnit::um));
    REQUIRE(bench.panel()->work);
    CHECK(bench.panel()->stand == PanelStand::done);
    CHECK(bench.panel()->work->gauge.pair()->loss_um() == Approx(1.5));
    CHECK(bench.panel()->work->predicted_um == 1.5);
    bench.move(1, 0);
    bench.ask(BoardForm::Kind::work, FilmUnit::um);
    set(*bench.form, {"by hand, with wax", "", "", ""});
    REQUIRE(bench.enter_form(FilmUnit::um));
    CHECK_FALSE(bench.panel()->work->predicted_um);
    CHECK_FALSE(bench.panel()->lost);
}

TEST_CASE("The cursor goes over the panels as they stand, and stays on them", "[view][board]") {
    const SmallBus bus;
    {
        JobFile job = JobFile::open(bus.file());
        for (const char* name : {"c", "d", "e"}) add_panel(job, name, "test-plate");
    }
    JobModel bench;
    open(bench, bus);
    bench.columns = 3; // 0 1 2 / 3 4
    bench.move(-1, 0);
    CHECK(bench.row == 0);
    bench.move(0, 1);
    CHECK(bench.row == 3);
    bench.move(-1, 0);
    CHECK(bench.row == 2);
    bench.move(0, 1); // nothing under it: the last
    CHECK(bench.row == 4);
    bench.move(0, 1);
    CHECK(bench.row == 4);
    bench.move(0, -1);
    CHECK(bench.row == 1);
}

TEST_CASE("What another program wrote is taken up, and an entry that rested on the old is not kept",
          "[view][board]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.toggle_clean(); // there is a row now
    CHECK(bench.tick(1) == "");
    JobFile other = JobFile::open(bus.file());
    const auto change = [&](const std::function<void(PanelVisit&)>& how) {
        other.edit("elsewhere", [&] {
            const PanelVisit was = *other.panel_visit(other.last_visit()->id, other.panel_named("lid")->id);
            PanelVisit now = was;
            how(now);
            other.change(was, now);
        });
    };
    change([](PanelVisit& at) { at.note = "sun side"; });
    CHECK_THAT(bench.tick(2), Contains("another program"));
    CHECK(bench.panel()->at->note == "sun side");
    CHECK(bench.tick(3) == "");
    change([](PanelVisit& at) { at.clean = false; });
    CHECK_THROWS_AS(bench.toggle_clean(), ChangedElsewhere); // the board showed it clean
    CHECK_FALSE(bench.panel()->clean());                     // and has looked again
    bench.toggle_clean();
    CHECK(bench.panel()->clean());
    other.edit("gone", [&] { other.remove<JobPanel>(other.panel_named("lid")->id); });
    bench.tick(4);
    CHECK((bench.board().panels.size() == 1 && bench.panel()->panel.name == "flap"));
}

TEST_CASE("A file that is not to be written is shown, and entries are refused with a word", "[view][board]") {
    const SmallBus bus;
    const std::string before = bus.on_file();
    JobModel bench;
    bench.open(bus.file(), JobFile::Access::read);
    CHECK(bench.read_only());
    CHECK(bench.board().panels.size() == 2);
    CHECK_THAT(refusal([&] { bench.toggle_clean(); }).found(), Contains("not to be written"));
    CHECK_THAT(refusal([&] { bench.undo(); }).found(), Contains("not to be written"));
    CHECK_THAT(refusal([&] { bench.work_out_plan(FilmUnit::um); }).found(), Contains("not to be written"));
    bench.begin_readings(); // to look at
    Typist typist{bench};
    typist.type("112");
    CHECK_THROWS_AS(typist.enter(), InputError);
    CHECK(bench.entry->text == "112"); // not lost
    CHECK_FALSE((bench.can_undo() || bench.can_redo()));
    CHECK(bus.on_file() == before);
}

} // namespace test_view_board
