// A vehicle's job on the desk, without a window.
#include "job_world.hpp"
#include "units/quantity.hpp"
#include "vehicle/job_board.hpp"
#include "view/app/session.hpp"
#include "view/pages/board/board_words.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;

namespace {

/// A minibus of two small panels and a kit of two steps, so that its plan takes no time.
class SmallBus {
public:
    SmallBus() {
        write_text(folder_.path / "kit.json", R"({"kind": "kit", "name": "Two steps", "machines": [
            {"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "60 mm/s", "passes": 2}],
            "pads": ["medium-foam-150"], "liquids": ["finishing-polish", "polish"]})");
        JobFile job = JobFile::create(file(), minibus(), [&](JobFile& fresh) {
            const Vehicle was = fresh.vehicle();
            Vehicle now = was;
            now.kit =
                bring_in(fresh, shipped_presets(), "kit", (folder_.path / "kit.json").string()).document;
            now.share = 0.5, now.haze = 20;
            fresh.change(was, now);
        });
        add_panel(job, "lid", "test-plate");
        add_panel(job, "flap", "test-plate");
        add_visit(job, "2026-03-14", "spring");
    }
    fs::path file() const { return folder_.path / "bus.sparecoat"; }
    const fs::path& folder() const { return folder_.path; }
    std::string on_file() const { return dump(JobFile::open(file(), JobFile::Access::read)); }

private:
    ScratchFolder folder_;
};

void open(JobModel& bench, const SmallBus& bus) { bench.open(bus.file()); }

/// Digits and Enter, counted.
struct Typist {
    JobModel& bench;
    int strokes = 0;
    void type(const std::string& text) {
        for (const char c : text) bench.type(static_cast<unsigned>(c)), ++strokes;
    }
    bool enter() {
        ++strokes;
        return bench.take_reading(FilmUnit::um);
    }
};

RunRequest plate_request() {
    RunRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.grid_m = 0.004;
    return request;
}

bool tick_until(Session& session, const std::function<bool()>& done, double at_most_s = 60) {
    const auto start = std::chrono::steady_clock::now();
    for (;;) {
        const double t = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        session.tick(t);
        if (done()) return true;
        if (t > at_most_s) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(3));
    }
}

void set(BoardForm& form, std::initializer_list<const char*> texts) {
    REQUIRE(form.fields.size() >= texts.size());
    std::size_t k = 0;
    for (const char* text : texts) form.fields[k++].text = text;
}

} // namespace

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
        R"json({"fate": "less than the target", "holds": "reserve", "reason": "As far as it goes.", "plastic": true,
        "doubts": ["no gauge readings"], "time_s": 1800,
        "steps": [{"step": "a+b+c", "words": "polish on foam (orbital)", "sets": 2, "kept_off": ["tape the rim"], "open_panel_um": 1.2, "time_s": 900,
                   "technique": {"kind": "technique"}}],
        "outlook": {"chance_of_target": 0.42, "chance_of_keeping_everywhere": 0.97, "film_um": {"low": 1, "median": 1.5, "high": 2}},
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
                "outlook": {"chance_of_target": 0.9, "chance_of_keeping_everywhere": 0.99, "film_um": {"low": 1, "median": 1.5, "high": 2}}})";
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

// ---- readings -------------------------------------------------------------------------------------

TEST_CASE("Sixty readings take their digits and one Enter each, whatever is typed with commas",
          "[view][board][readings]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.pattern_rows = 6, bench.pattern_columns = 10;
    bench.begin_readings();
    REQUIRE(bench.entry->spots() == 60);
    Typist typist{bench};
    int digits = 0;
    for (int k = 0; k < 60; ++k) {
        const std::string text =
            k % 3 == 0 ? fmt::format("{},{}", 105 + k % 9, k % 10) : fmt::format("{}", 105 + k % 9);
        digits += static_cast<int>(text.size());
        typist.type(text);
        REQUIRE(typist.enter());
    }
    CHECK(typist.strokes == digits + 60);
    CHECK(bench.entry->at_end());
    REQUIRE(bench.panel()->readings.size() == 60);
    // In the order of the walk: the eleventh stands under the tenth.
    const FilmReading* eleventh = bench.reading_at(19);
    REQUIRE(eleventh);
    CHECK(eleventh->film_um == 105 + 10 % 9);
    CHECK(bench.reading_at(0)->film_um == 105.0);
    CHECK(bench.reading_at(3)->film_um == 108.3);
}

TEST_CASE("Each reading is an edit of its own, put right where it stands, and undone",
          "[view][board][readings]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.gauge_n = 3, bench.gauge_sd_um = 0.8;
    bench.begin_readings();
    Typist typist{bench};
    typist.type("112"), typist.enter();
    typist.type("11x3.5.0"); // letters and a second point are passed over
    CHECK(bench.entry->text == "113.50");
    typist.enter();
    CHECK(bench.board().history.back().label == "a reading on the lid before work");
    REQUIRE(bench.panel()->readings.size() == 2);
    CHECK((bench.panel()->readings[0].n == 3 && bench.panel()->readings[0].sd_um == 0.8 &&
           !bench.panel()->readings[0].after_work));
    bench.rub_out(); // nothing is typed: one back
    CHECK(bench.entry->turn == 1);
    typist.type("1145"), bench.rub_out();
    typist.enter();
    CHECK((bench.panel()->readings.size() == 2 && bench.reading_at(1)->film_um == 114));
    bench.undo();
    CHECK(bench.reading_at(1)->film_um == 113.5);
    bench.go_to_spot(1), bench.remove_reading();
    CHECK((bench.panel()->readings.size() == 1 && !bench.reading_at(1)));
    bench.begin_readings(); // to the first without one
    CHECK(bench.entry->turn == 1);
    CHECK(bench.take_reading(FilmUnit::um)); // nothing typed: left out
    CHECK(bench.entry->turn == 2);
}

TEST_CASE("Totals and clear coat, before and after, stand beside each other", "[view][board][readings]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.begin_readings();
    Typist typist{bench};
    typist.type("112"), typist.enter();
    bench.switch_kind(true);
    CHECK_FALSE(bench.reading_at(0));
    typist.type("41"), typist.enter();
    bench.switch_kind(false), bench.switch_time(true);
    typist.type("110.5"), typist.enter();
    REQUIRE(bench.panel()->readings.size() == 3);
    CHECK((bench.panel()->readings[1].of_clear && bench.panel()->readings[2].after_work));
    CHECK(bench.readings_shown().size() == 1);
    REQUIRE(bench.panel()->lost);
    CHECK(bench.panel()->lost->um == Approx(1.5)); // over the spot that was read before and after
}

TEST_CASE(
    "Film that cannot be is refused in words where it was typed; film that is strange is marked and kept",
    "[view][board][readings]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.begin_readings();
    Typist typist{bench};
    for (const char* wrong : {"0", "4.4", "2500", "."}) {
        INFO(wrong);
        typist.type(wrong);
        CHECK_FALSE(typist.enter());
        CHECK_THAT(bench.entry->fault, Contains("allowed"));
        CHECK((bench.entry->turn == 0 && bench.panel()->readings.empty()));
        while (!bench.entry->text.empty()) bench.rub_out();
    }
    bench.type('4'), bench.type('.'), bench.type('4');
    CHECK(bench.take_reading(FilmUnit::mil));
    CHECK(bench.reading_at(0)->film_um == Approx(4.4 * um_per_mil));
    for (int k = 1; k < 12; ++k) typist.type(k == 5 ? "260" : k == 7 ? "72" : "111"), typist.enter();
    REQUIRE(bench.panel()->readings.size() == 12);
    const std::vector<const FilmReading*> shown = bench.readings_shown();
    std::vector<double> strange;
    for (const FilmReading* reading : shown)
        if (bench.remarks().is_suspicious(reading, shown)) strange.push_back(reading->film_um);
    CHECK(strange == std::vector<double>{260, 72});
}

TEST_CASE("A paste is one edit, and one with a fault leaves everything as it was",
          "[view][board][readings]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.pattern_rows = 2, bench.pattern_columns = 3;
    bench.begin_readings();
    const std::size_t edits = bench.board().history.size();
    const std::string before = bus.on_file();
    const InputError error = refusal([&] { bench.paste("110\t111\t112\n113\t9999\t115\n", FilmUnit::um); });
    CHECK(error.place() == "row 2, column 2");
    CHECK(bus.on_file() == before);
    bench.paste("110\t111,5\t112\n113\t114\t115\n", FilmUnit::um);
    REQUIRE(bench.panel()->readings.size() == 6);
    CHECK(bench.board().history.size() == edits + 1);
    CHECK(bench.board().history.back().label == "6 readings pasted on the lid before work");
    CHECK(bench.reading_at(4)->film_um == 114);
    bench.paste("120\n", FilmUnit::um); // in the place of what was there
    CHECK((bench.panel()->readings.size() == 6 && bench.reading_at(0)->film_um == 120));
    bench.undo(), bench.undo();
    CHECK(bench.panel()->readings.empty());
    CHECK(bus.on_file() == before);
}

TEST_CASE("A pattern and a gauge are set in words, and refused where they cannot be",
          "[view][board][readings]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.begin_readings();
    bench.ask(BoardForm::Kind::pattern, FilmUnit::um);
    set(*bench.form, {"2", "31"});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
    CHECK_THAT(bench.form->fault, Contains("1 to 30"));
    CHECK((bench.pattern_rows == 3 && bench.pattern_columns == 4));
    set(*bench.form, {"2", "5"});
    REQUIRE(bench.enter_form(FilmUnit::um));
    CHECK((bench.entry->pattern.rows == 2 && bench.entry->spots() == 10));
    bench.ask(BoardForm::Kind::gauge, FilmUnit::mil);
    set(*bench.form, {"5", "0,03"});
    REQUIRE(bench.enter_form(FilmUnit::mil));
    CHECK((bench.gauge_n == 5 && bench.gauge_sd_um == Approx(0.03 * 25.4)));
    bench.ask(BoardForm::Kind::gauge, FilmUnit::um);
    set(*bench.form, {"0", "1"});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
}

// ---- plan -------------------------------------------------------------------------------------------

TEST_CASE("A plan is worked out beside the drawing, kept, and told with its vibration",
          "[view][board][plan]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.toggle_clean(), bench.set_marks("light");
    bench.ask(BoardForm::Kind::plan, FilmUnit::um);
    REQUIRE(bench.form->fields.size() == 3);
    CHECK(bench.form->fields[2].label == "da-15");
    set(*bench.form, {"soon", "", ""});
    CHECK_FALSE(bench.enter_form(FilmUnit::um));
    CHECK_THAT(bench.form->fault, Contains("time limit") && Contains("soon"));
    set(*bench.form, {"6", "3", "3,5"});
    REQUIRE(bench.enter_form(FilmUnit::um));
    CHECK(bench.page == BoardPart::plan);
    CHECK(bench.planning());
    std::string told;
    double t = 1;
    while (bench.planning()) {
        bench.wait_for_plan();
        told = bench.tick(t += 1);
    }
    CHECK_THAT(told, Contains("The plan is on file"));
    REQUIRE(bench.plan());
    const Board& board = bench.board();
    REQUIRE(board.panels[0].plan);
    CHECK(board.panels[0].stand == PanelStand::planned);
    CHECK(board.panels[1].stand == PanelStand::wash);
    CHECK(board.edits_since_plan == 0);
    CHECK(board.panels[0].plan->time_s == Approx(bench.plan()->panels[0].time_s));
    CHECK(board.panels[0].plan->steps.front().technique != "");
    REQUIRE(bench.vibration().size() == 1);
    CHECK(bench.vibration().front().a_hv_m_s2 == 3.5);
    std::string lines;
    for (const PlanLine& line : plan_lines(*bench.plan(), bench.vibration(), FilmUnit::um))
        lines += line.text + "\n";
    CHECK_THAT(lines, Contains("Order of work") && Contains("A(8)") && Contains("polish") &&
                          Contains("lid") && Contains("ml"));
    bench.look_along_front(1);
    CHECK(bench.front_row == std::size_t{0});
    { // kept with the visit: another day has its totals and its vibration too
        JobModel later;
        open(later, bus);
        REQUIRE(later.plan());
        CHECK(later.plan()->time_s == Approx(bench.plan()->time_s));
        CHECK(later.plan()->front.size() == bench.plan()->front.size());
        CHECK(later.vibration().size() == 1);
    }
    bench.ask(BoardForm::Kind::sheet, FilmUnit::um); // and it goes on paper
    set(*bench.form, {"customer", "letter"});
    REQUIRE(bench.enter_form(FilmUnit::um));
    CHECK((bench.sheet_due && bench.sheet.reader == SheetFor::customer &&
           bench.sheet.page == SheetPage::letter));
    bench.write_sheet(bus.folder() / "sheet.html", FilmUnit::um, {});
    CHECK_THAT(bytes_of(bus.folder() / "sheet.html"), Contains("lid") && Contains("Minibus 3"));
    CHECK_THROWS_AS(bench.write_sheet(bus.folder() / "sheet.doc", FilmUnit::um, {}), InputError);

    bench.move(1, 0);
    bench.toggle_clean();
    CHECK(bench.board().edits_since_plan == 1);
    bench.undo(), bench.undo();
    CHECK_FALSE(bench.board().panels[0].plan);
}

TEST_CASE("A plan that is called off leaves the job as it was", "[view][board][plan]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.toggle_clean();
    const std::string before = bus.on_file();
    bench.work_out_plan(FilmUnit::um);
    bench.call_off_plan();
    CHECK_FALSE(bench.planning());
    bench.wait_for_plan();
    bench.tick(5);
    CHECK(bench.plan() == nullptr);
    CHECK(bus.on_file() == before);
}

// ---- on the desk ------------------------------------------------------------------------------------

TEST_CASE("A panel is opened with the plan's step and its readings, steps are switched, and all is put back",
          "[view][board]") {
    const SmallBus bus;
    {
        JobModel bench;
        open(bench, bus);
        bench.toggle_clean(), bench.set_marks("light");
        bench.begin_readings();
        for (const char* film : {"112", "113", "111"})
            Typist{bench}.type(film), bench.take_reading(FilmUnit::um);
    }
    Session session(Library::standard(), plate_request(), Settings{});
    session.open(bus.file());
    REQUIRE(session.messages.empty());
    CHECK(session.board.in_front());
    CHECK(session.key_context() == KeyContext::board);
    session.act(Action::board_open);
    CHECK(session.board.opening_panel());
    REQUIRE(tick_until(session, [&] { return !session.board.opening_panel() && session.shown->film; }));
    CHECK_FALSE(session.board.in_front());
    REQUIRE(session.board.opened_panel());
    CHECK(session.board.opened_panel()->panel.name == "lid");
    CHECK(session.shown->film->readings == 3);
    CHECK(session.settings.defects == "light");
    CHECK(session.edits.choices().request.panel == "test-plate");
    CHECK(session.board.opened()->steps == 0); // no plan: a technique stands in
    session.act(Action::board);
    CHECK(session.board.in_front());
    session.board.close_job();
    CHECK_FALSE(session.board.opened_panel());
    CHECK_FALSE(session.edits.choices().request.readings);
    CHECK(session.settings.defects == Settings{}.defects);
}

TEST_CASE("A planned step is on the bench with its hold-backs", "[view][board]") {
    const SmallBus bus;
    JobModel bench;
    open(bench, bus);
    bench.toggle_clean(), bench.set_marks("light");
    bench.work_out_plan(FilmUnit::um);
    for (double t = 1; bench.planning(); t += 1) bench.wait_for_plan(), bench.tick(t);
    REQUIRE(bench.plan());
    const JobModel::Opened opened = bench.lay_out(0);
    REQUIRE(opened.steps == bench.plan()->panels[0].steps.size());
    const Technique& planned = bench.plan()->panels[0].steps[0].technique;
    CHECK(opened.choices.technique.machine == planned.machine);
    CHECK(opened.choices.technique.pad == planned.pad);
    CHECK(opened.choices.technique.force_n == Approx(planned.force_n));
    CHECK(opened.choices.technique.speed_rad_s == Approx(planned.speed_rad_s));
    CHECK(opened.choices.technique.hold_back_m == Approx(planned.hold_back_m));
    CHECK(opened.choices.technique.hold_back_edge_m.size() == planned.hold_back_edge_m.size());
    CHECK(opened.choices.technique.tape_edge_m.size() == planned.tape_edge_m.size());
    CHECK(opened.choices.technique.passes == planned.passes);
    CHECK(bench.lay_out(99).step == opened.steps - 1);
}

TEST_CASE("On the board only its own keys and the window's count", "[view][board][keys]") {
    const auto on = [](int key, int mods, KeyContext page) {
        return binding_for(key, mods, false, false, page);
    };
    for (const KeyBinding& binding : key_bindings()) {
        INFO(binding.id);
        const KeyBinding* board = on(binding.key, binding.mods, KeyContext::board);
        if (binding.context == KeyContext::board) REQUIRE((board && board->action == binding.action));
        if (binding.context == KeyContext::always && !works_on(KeyContext::board, binding.action))
            CHECK((!board || board->context == KeyContext::board));
        const KeyBinding* bench = binding_for(binding.key, binding.mods, false);
        CHECK((!bench || (bench->context != KeyContext::board && bench->context != KeyContext::readings)));
    }
    // Digits are typed, so that no key of the readings may be one.
    for (const KeyBinding& binding : key_bindings())
        if (binding.context == KeyContext::readings) CHECK_FALSE((binding.key >= '0' && binding.key <= '9'));
}

TEST_CASE("A job that cannot be opened is told, and what was open stays", "[view][board]") {
    const SmallBus bus;
    Session session(Library::standard(), plate_request(), Settings{});
    session.act(Action::board);
    CHECK_THAT(session.notice, Contains("No job is open"));
    session.open(bus.file());
    write_text(bus.folder() / "none.sparecoat", "something else");
    session.open(bus.folder() / "none.sparecoat");
    REQUIRE(session.messages.size() == 1);
    CHECK_THAT(session.messages.front(), Contains("none.sparecoat") && Contains("a file of another kind"));
    CHECK(session.board.model.board().panels.size() == 2);
    session.messages.clear();
    session.act(Action::job_undo);
    CHECK(session.board.model.board().visits.empty());
    CHECK_THAT(session.notice, Contains("Undone: visit 2026-03-14"));
    session.act(Action::board_clean); // no visit: refused
    REQUIRE(session.messages.size() == 1);
    CHECK_THAT(session.messages.front(), Contains("no visit yet"));
}
