// The real window, driven by keys and mouse.
#include "support/window_desk.hpp"
#include <catch2/catch.hpp>
#include <iostream>
#include <memory>

namespace test_view_window {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using namespace sparecoat::test::window_desk;

// ---- the real window ------------------------------------------------------------------------------

namespace {

/// The film lost when the command line runs a recorded path.
std::string film_by_command(const fs::path& csv, const fs::path& out) {
    said_by(fmt::format("{} run --panel test-plate --technique polish-da-15 --grid '4 mm' --path {} --out {}",
                        shell_word(built_program()), shell_word(csv), shell_word(out)));
    for (const auto& entry : fs::directory_iterator(out))
        if (entry.path().filename().string().starts_with("film_lost") && entry.path().extension() == ".npy")
            return bytes_of(entry.path());
    FAIL("no film_lost*.npy in " << out);
    return {};
}

/// The window on the plate, its run under way.
struct OpenWindow {
    Display display;
    ScratchFolder scratch;
    fs::path settings = scratch.path / "settings.json";
    std::unique_ptr<Window> window;
    Fingers fingers;
    Session& session;

    OpenWindow() : window(opened()), fingers(*window), session(window->session()) {
        REQUIRE(fingers.until([&] { return session.view.generation > 0 && session.view.end_s > 0; }));
        fingers.frames(3);
    }
    /// Through half of the run, by a click on the track.
    void half_way() {
        const Box track = window->layout().track;
        fingers.click({track.x + track.w / 2, track.y + track.h / 2});
        REQUIRE(fingers.until([&] { return session.view.t_s > 0.45 * session.view.end_s; }));
    }
    /// Closed without a word from OpenGL; what was chosen is remembered, and nothing of what was only looked
    /// at.
    void close() {
        INFO(window->gl_message());
        CHECK(window->gl_errors() == 0);
        const auto& times = window->times();
        std::cout << fmt::format(
            "[window] frame {:.1f} ms: run {:.1f}, panel {:.1f}, cards {:.1f}, type {:.1f}, swap {:.1f}\n",
            times.whole_ms, times.update_ms, times.scene_ms, times.cards_ms, times.gui_ms, times.swap_ms);
        window.reset();
        const LoadedSettings kept = load_settings(settings);
        CHECK(kept.notice == "");
        CHECK(kept.settings.panel == "test-plate");
        CHECK(kept.settings.technique == "polish-da-15");
    }

private:
    std::unique_ptr<Window> opened() const {
        REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
        return std::make_unique<Window>(window_request(settings));
    }
};

/// A stroke by hand across the middle of the plate, leaning to the left on the way. @return the film it took
std::vector<float> stroke_by_hand(OpenWindow& open) {
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    const Window::Image untouched = open.window->picture();
    fingers.act("hand-mode");
    REQUIRE(session.view.hand);
    REQUIRE(fingers.until([&] { return session.view.generation > 1; }));
    const Grid grid = session.shown->panel.grid; // a copy: another job comes
    const Point2 from{grid.x0_m + 0.3 * grid.nu * grid.h_m, grid.y0_m + 0.4 * grid.nv * grid.h_m};
    const Point2 to{grid.x0_m + 0.7 * grid.nu * grid.h_m, grid.y0_m + 0.6 * grid.nv * grid.h_m};
    fingers.move_to(fingers.over(from));
    REQUIRE(fingers.until([&] { return norm(session.hand_at() - from) < 0.005; }));
    const double force = session.hand_force_n;
    window.on_scroll(0, 3), fingers.frames(2);
    CHECK(session.hand_force_n == force + 6);
    fingers.hold(0);
    window.on_key(GLFW_KEY_A, GLFW_PRESS, 0); // lean to the left on the way
    const auto start = std::chrono::steady_clock::now();
    const double stroke_s = 1.5;
    for (double t = 0; t < stroke_s;) {
        t = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        const double share = std::min(1.0, t / stroke_s);
        fingers.move_to(fingers.over((1 - share) * from + share * to));
        fingers.frames(1);
    }
    window.on_key(GLFW_KEY_A, GLFW_RELEASE, 0);
    fingers.let_go(0), fingers.frames(3);
    const Window::Image stroked = window.picture();
    CHECK(difference(untouched, stroked, window.layout().stage) > 0.01);
    fingers.act("hand-mode");
    CHECK_FALSE(session.view.hand);
    session.live.wait_idle();
    fingers.frames(3);
    const std::vector<float> by_hand = session.view.fields.removed_um;
    CHECK(*std::max_element(by_hand.begin(), by_hand.end()) > 0);
    const auto& trace = session.view.trace;
    CHECK(std::any_of(trace.begin(), trace.end(),
                      [](const StepReport& s) { return s.down && s.tilt_rad.x < 0; }));
    return by_hand;
}

/// A lesson opened from the list, by key, at its first step.
void open_lesson(OpenWindow& open, const char* id) {
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    fingers.act("lessons");
    REQUIRE(session.lesson.list);
    const std::vector<Listing>& lessons = session.list(PresetKind::lesson);
    const auto row = std::ranges::find(lessons, id, &Listing::id) - lessons.begin();
    for (std::ptrdiff_t k = 0; k < row; ++k) fingers.press(GLFW_KEY_DOWN);
    CHECK(session.lesson.row == row);
    fingers.press(GLFW_KEY_ENTER);
    CHECK_FALSE(session.lesson.list);
    REQUIRE(fingers.until([&] { return session.lesson.play.has_value(); }));
}

/// Whether a lesson's step is on the stage at its moment.
bool on_its_step(const Session& session) {
    return session.shown == session.lesson.play->job() &&
           std::abs(session.view.t_s - session.lesson.play->scene().at_s) < 0.2;
}

} // namespace

TEST_CASE("The window plays, pauses, and scrubs there and back to the same film", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    const Window::Image untouched = open.window->picture();
    // Play and pause.
    fingers.act("faster");
    fingers.act("play-pause");
    REQUIRE(fingers.until([&] { return session.view.t_s > 3; }));
    CHECK(session.view.playing);
    fingers.act("play-pause");
    REQUIRE(fingers.until([&] { return !session.view.playing; }));
    const Window::Image worked = window.picture();
    CHECK(difference(untouched, worked, window.layout().stage) > 0.01); // film went, the pad moved

    // Scrub to the middle and back by the mouse.
    const Box track = window.layout().track;
    fingers.click({track.x + track.w / 2, track.y + track.h / 2});
    REQUIRE(fingers.until([&] { return session.view.t_s > 0.45 * session.view.end_s; }));
    CHECK(session.view.t_s ==
          Approx(0.5 * session.view.end_s).epsilon(0.02)); // a pixel of the track and a step
    const std::vector<float> halfway = session.view.fields.removed_um;
    fingers.act("start");
    REQUIRE(fingers.until([&] { return session.view.t_s == 0; }));
    CHECK(std::all_of(session.view.fields.removed_um.begin(), session.view.fields.removed_um.end(),
                      [](float r) { return r == 0; }));
    fingers.click({track.x + track.w / 2, track.y + track.h / 2});
    REQUIRE(fingers.until([&] { return session.view.t_s > 0.45 * session.view.end_s; }));
    CHECK(same_bytes(session.view.fields.removed_um, halfway)); // there and back is the same film
    open.close();
}

TEST_CASE("Each map in the window is another picture", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    open.half_way();
    REQUIRE(fingers.until([&] { return session.verdict.has_value(); }));
    Window::Image before = window.picture();
    for (const char* id : {"map-clear-left", "map-pressure", "map-contact", "map-work",
                           "map-peak-temperature", "map-film-lost"}) {
        INFO(id);
        fingers.act(id);
        fingers.frames(3);
        Window::Image now = window.picture();
        CHECK(difference(before, now, window.layout().stage) > 0.02);
        before = std::move(now);
    }
    open.close();
}

TEST_CASE("A spot held in the window has factors that multiply to its film", "[view][window]") {
    OpenWindow open;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    open.half_way();
    REQUIRE(fingers.until([&] { return session.verdict.has_value(); }));
    fingers.click(fingers.over(session.verdict->worst.front().at));
    REQUIRE(session.pinned);
    CHECK(norm(*session.pinned - session.verdict->worst.front().at) <
          0.004); // within a pixel's view of the panel
    const auto spot = session.described_spot();
    REQUIRE(spot);
    CHECK(spot->factors.removed_um() == Approx(spot->removed_um).epsilon(1e-5));
    fingers.act("drop-spot");
    CHECK_FALSE(session.pinned);
    open.close();
}

TEST_CASE("A value is raised by a key, typed, refused in words, undone and redone in the window",
          "[view][window]") {
    OpenWindow open;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    open.half_way(); // a run that has been begun is begun anew with the edit
    // Edit by key, by typing, wrongly, and undo.
    for (int k = 0; k < 7; ++k) fingers.act("next-value"); // panel, work, machine, pad, liquid, paint, force
    const double force = session.choices().technique.force_n;
    const std::uint64_t generation = session.view.generation;
    const auto edited = std::chrono::steady_clock::now();
    fingers.act("raise-value");
    CHECK(session.edits.choices().technique.force_n == force + 1);
    REQUIRE(fingers.until([&] { return session.view.generation > generation && session.view.t_s > 0; }));
    std::cout << fmt::format(
        "[window] edit to first new step: {:.0f} ms\n",
        1e3 * std::chrono::duration<double>(std::chrono::steady_clock::now() - edited).count());
    fingers.act("type-value");
    fingers.type("6 kgf");
    fingers.press(GLFW_KEY_ENTER);
    CHECK(session.edits.choices().technique.force_n == Approx(6 * 9.80665)); // the standard kilogram-force
    CHECK(session.edits.undo_label() == "force");
    fingers.act("type-value");
    fingers.type("9000");
    fingers.press(GLFW_KEY_ENTER);
    REQUIRE(session.messages.size() == 1);
    CHECK(session.messages.front() == "/force: found 9 kN; allowed: 1 N to 500 N");
    fingers.press(GLFW_KEY_ENTER);
    CHECK(session.messages.empty());
    fingers.act("undo");
    CHECK(session.edits.choices().technique.force_n == force + 1);
    fingers.act("undo");
    CHECK(session.edits.choices().technique.force_n == force);
    fingers.act("redo");
    CHECK(session.edits.choices().technique.force_n == force + 1);
    fingers.act("undo");
    open.close();
}

TEST_CASE("A value dragged in the window is one edit to undo", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    for (int k = 0; k < 7; ++k) fingers.act("next-value"); // panel, work, machine, pad, liquid, paint, force
    const double force = session.choices().technique.force_n;
    const Box card = window.layout().technique;
    const float force_y = card.y + 8 + 31 + 6 * 25 + 6 + 12, force_x = card.x + card.w - 16 - 56;
    fingers.move_to({force_x, force_y}), fingers.frames(2);
    fingers.hold(0), fingers.frames(2);
    for (int k = 1; k <= 10; ++k)
        fingers.move_to({force_x + 4 * static_cast<float>(k), force_y}), fingers.frames(1);
    fingers.let_go(0);
    REQUIRE(fingers.until([&] { return session.edits.choices().technique.force_n > force + 10; }, 5));
    fingers.frames(12);
    fingers.act("undo");
    CHECK(session.edits.choices().technique.force_n == force);
    open.close();
}

TEST_CASE("A stroke by hand replays to the same film, in the window and on the command line",
          "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    const Grid grid = session.shown->panel.grid; // a copy: another job comes
    const std::vector<float> by_hand = stroke_by_hand(open);
    // Back and forth through it: the same film.
    fingers.act("start");
    REQUIRE(fingers.until([&] { return session.view.t_s == 0; }));
    fingers.act("end");
    REQUIRE(fingers.until([&] { return session.view.t_s == session.view.end_s; }));
    CHECK(same_bytes(session.view.fields.removed_um, by_hand));

    // Save through the chooser, read again by dropping it on the window.
    const fs::path csv = open.scratch.path / "stroke.csv";
    fingers.act("save-path");
    fingers.frames(3);
    fingers.press(GLFW_KEY_A, GLFW_MOD_CONTROL);
    fingers.type(csv.string());
    fingers.press(GLFW_KEY_ENTER);
    REQUIRE(fs::exists(csv));
    CHECK(session.chooser == Session::Chooser::none);
    window.on_drop({csv});
    REQUIRE(fingers.until([&] { return !session.preparing(); }));
    REQUIRE(session.messages.empty());
    REQUIRE(session.edits.choices().request.path_csv == csv);
    fingers.frames(3);
    REQUIRE(fingers.until([&] { return session.view.t_s > 0; }));
    fingers.act("end");
    REQUIRE(fingers.until([&] { return session.view.t_s == session.view.end_s && session.view.finished; }));
    CHECK(same_bytes(session.view.fields.removed_um, by_hand));

    const RunResult plain = simulate(session.shown->panel, setup_of(*session.shown), session.shown->path);
    CHECK(same_bytes(plain.fields.removed_um, by_hand));
    const fs::path npy = open.scratch.path / "window.npy";
    write_npy(npy, grid, session.view.fields.removed_um);
    const std::string by_command = film_by_command(csv, open.scratch.path / "out"), in_window = bytes_of(npy);
    CHECK((by_command == in_window)); // not expanded: thousands of bytes
    open.close();
}

TEST_CASE("An edit or closing that would lose a stroke by hand is asked about", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    stroke_by_hand(open);
    const Window::Image stroked = window.picture();
    fingers.act("next-value"), fingers.act("raise-value"); // of the panel's list
    fingers.act("quit");
    REQUIRE(session.asks());
    CHECK_FALSE(session.quit);
    CHECK(difference(stroked, window.picture(), {0, 0, 1280, 720}) > 0.3); // all behind it is dimmed
    fingers.press(GLFW_KEY_ESCAPE);
    CHECK_FALSE(session.asks());
    CHECK(session.stroke_unsaved);
    open.close();
}

TEST_CASE("A lesson is opened from the list, stepped through and played in the window", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    const Window::Image untouched = open.window->picture();
    open_lesson(open, "tilt-on-a-line");
    // The first step: the mistake's run at its moment, with its technique on the card.
    REQUIRE(fingers.until([&] { return on_its_step(session); }));
    CHECK((session.lesson.play->step() == 0 && session.lesson.play->side() == LessonSide::mistake));
    CHECK(session.choices().request.panel == "rear-door");
    CHECK(session.choices().technique.tilt_rad > 0);
    CHECK(session.settings.map == MapKind::film_lost);
    fingers.frames(3);
    const Window::Image first = window.picture();
    CHECK(difference(untouched, first, window.layout().stage) > 0.2); // another panel, nearer
    fingers.act("lesson-back");                                       // there is none before the first
    CHECK(session.lesson.play->step() == 0);

    // On to the next: another map and view. Played, it starts from the beginning and stops at the
    // moment.
    fingers.act("lesson-on");
    CHECK((session.lesson.play->step() == 1 && session.settings.map == MapKind::pressure_now));
    REQUIRE(fingers.until([&] { return on_its_step(session); }));
    CHECK(difference(first, window.picture(), window.layout().stage) > 0.1);
    for (int k = 0; k < 3; ++k) fingers.act("slower"); // so that a frame sees it on its way
    fingers.act("play-pause");
    REQUIRE(fingers.until([&] { return session.view.playing && !on_its_step(session); }));
    REQUIRE(fingers.until([&] { return !session.view.playing && on_its_step(session); }));
    open.close();
}

TEST_CASE("A lesson ends with the remedy, and the mistake beside it in the same colours, with the captions "
          "of the command line",
          "[view][window]") {
    OpenWindow open;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    open_lesson(open, "tilt-on-a-line");
    // The last shows the remedy, and the mistake beside it on asking, in the same colours.
    while (session.lesson.play->step() + 1 < session.lesson.play->steps()) fingers.act("lesson-on");
    CHECK(session.lesson.play->side() == LessonSide::remedy);
    REQUIRE(fingers.until([&] { return on_its_step(session) && session.view.finished; }));
    const auto most = [&] { return *std::ranges::max_element(session.view.fields.removed_um); };
    const float remedy = most();
    const double high = session.scale.high;
    fingers.act("lesson-turn");
    CHECK(session.lesson.play->side() == LessonSide::mistake);
    REQUIRE(fingers.until([&] { return on_its_step(session) && session.view.finished; }));
    CHECK(most() > 2 * remedy);
    CHECK(session.scale.high == high);

    // Its captions are the command line's.
    const auto in_a_line = [](const std::string& text) {
        std::istringstream words(text);
        std::string line, word;
        while (words >> word) line += word + ' ';
        return line;
    };
    const std::string printed = said_by(shell_word(built_program()) + " lesson tilt-on-a-line");
    CHECK_THAT(in_a_line(printed), Catch::Contains(in_a_line(session.lesson.play->caption(FilmUnit::um))));
    open.close();
}

TEST_CASE("A lesson that is left leaves everything as it was", "[view][window]") {
    OpenWindow open;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    fingers.act("map-contact");
    const std::string technique = session.choices().technique.name;
    open_lesson(open, "tilt-on-a-line");
    fingers.act("lesson-leave");
    CHECK_FALSE(session.lesson.play);
    CHECK(session.choices().request.panel == "test-plate");
    CHECK(session.choices().technique.name == technique);
    CHECK_FALSE(session.edits.can_undo());
    CHECK(session.settings.map == MapKind::contact_time);
    CHECK_FALSE(session.range_locked());
    REQUIRE(fingers.until([&] { return session.shown->request.panel == "test-plate"; }));
    open.close();
}

TEST_CASE("A window closed in the middle of a lesson remembers the choices from before it",
          "[view][window]") {
    OpenWindow open;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    session.lesson.open("tilt-on-a-line");
    REQUIRE(fingers.until([&] { return session.lesson.play.has_value(); }));
    open.close();
}

TEST_CASE("Theme, help, charts, cards and the unit of film are each a key in the window", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    const Window::Image untouched = open.window->picture();
    const ImVec4 light = ImGui::ColorConvertU32ToFloat4(palette(true).card);
    const ImVec4 dark = ImGui::ColorConvertU32ToFloat4(palette(false).card);
    const auto is = [](const std::array<int, 3>& p, const ImVec4& c) {
        const auto near = [](int byte, float part) {
            return std::abs(static_cast<float>(byte) - part * 255) < 1.5f;
        };
        return near(p[0], c.x) && near(p[1], c.y) && near(p[2], c.z);
    };
    CHECK(is(pixel(untouched, 4, 360), light));
    fingers.act("theme");
    CHECK(is(pixel(window.picture(), 4, 360), dark));
    fingers.act("theme");
    fingers.act("help");
    CHECK(session.help);
    CHECK(difference(untouched, window.picture(), {0, 0, 1280, 720}) > 0.3);
    fingers.act("map-pressure"); // does nothing behind an open page
    CHECK(session.settings.map == MapKind::film_lost);
    fingers.act("close");
    CHECK_FALSE(session.help);
    const float stage = window.layout().stage.h;
    fingers.act("strip-charts");
    CHECK(window.layout().stage.h < stage);
    fingers.act("strip-charts");
    fingers.act("cards");
    CHECK(window.layout().stage.w == 1280);
    fingers.act("cards");
    fingers.act("unit");
    CHECK(session.unit_text() == "mil");
    fingers.act("unit");
    open.close();
}

TEST_CASE("The view is turned by the mouse and set back by a key", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    Session& session = open.session;
    // Turn the view by the mouse and set it back by key.
    const Window::Image straight = window.picture();
    const Box box = window.layout().stage;
    fingers.move_to({box.x + 20, box.y + 20}), fingers.frames(2);
    fingers.hold(0), fingers.frames(2);
    for (int k = 1; k <= 6; ++k)
        fingers.move_to({box.x + 20 + 12 * static_cast<float>(k), box.y + 20}), fingers.frames(1);
    fingers.let_go(0), fingers.frames(2);
    CHECK_FALSE(session.pinned); // a drag is no click
    CHECK(difference(straight, window.picture(), box) > 0.05);
    fingers.move_to({2, 2});
    fingers.act("view-reset");
    fingers.frames(2);
    open.close();
}

TEST_CASE("Type and spacing grow with the window", "[view][window]") {
    OpenWindow open;
    Window& window = *open.window;
    Fingers& fingers = open.fingers;
    window.resize(2560, 1440);
    REQUIRE(fingers.until([&] { return window.layout().headline.w == 2560; }, 10));
    CHECK(window.layout().headline.h == Approx(2 * 66)); // type and spacing grow with the window
    open.close();
}

} // namespace test_view_window
