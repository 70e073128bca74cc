// The board of a job file in the window: readings, the plan, and on the desk.
#include "support/board_world.hpp"
#include <catch2/catch.hpp>

namespace test_view_readings {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using namespace sparecoat::test::board_world;

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
           bench.sheet.page == PaperSize::letter));
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

} // namespace test_view_readings
