// What the window does, without the window: keys, settings, the workbench, the desk, the layout, the colours.
#include "support/window_desk.hpp"
#include <catch2/catch.hpp>

namespace test_view_desk {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using namespace sparecoat::test::window_desk;

// ---- keys -----------------------------------------------------------------------------------------

TEST_CASE("No two keys of one context do different things", "[view][keys]") {
    std::set<std::tuple<int, int, KeyContext>> seen;
    for (const KeyBinding& binding : key_bindings()) {
        INFO(binding.id);
        CHECK(seen.insert({binding.key, binding.mods, binding.context}).second);
    }
}

TEST_CASE("Every action has a key, an id of its own and words for the help page", "[view][keys]") {
    std::map<std::string, Action> by_id;
    std::set<Action> bound;
    for (const KeyBinding& binding : key_bindings()) {
        INFO(binding.id);
        CHECK(std::string(binding.words) != "");
        CHECK(std::string(binding.group) != "");
        CHECK(key_text(binding) != "");
        const auto [it, is_new] = by_id.emplace(binding.id, binding.action);
        CHECK((is_new || it->second == binding.action));
        CHECK(action_called(binding.id) == binding.action);
        bound.insert(binding.action);
    }
    for (int k = 0; k <= static_cast<int>(Action::quit); ++k) {
        INFO("action " << k);
        CHECK(bound.contains(static_cast<Action>(k)));
    }
    CHECK_THROWS_AS(action_called("no such thing"), std::invalid_argument);
}

TEST_CASE("Space plays, and is the trigger in hand mode; lock keys change nothing", "[view][keys]") {
    CHECK(binding_for(GLFW_KEY_SPACE, 0, false)->action == Action::play_pause);
    CHECK(binding_for(GLFW_KEY_SPACE, GLFW_MOD_NUM_LOCK, false)->action == Action::play_pause);
    CHECK(binding_for(GLFW_KEY_SPACE, 0, true)->action == Action::trigger);
    CHECK(binding_for(GLFW_KEY_Z, GLFW_MOD_CONTROL, true)->action == Action::undo);
    CHECK(binding_for(GLFW_KEY_Z, 0, false) == nullptr);
    CHECK(keys_of(Action::redo) == "Ctrl+Shift+Z");
}

// ---- settings -------------------------------------------------------------------------------------

TEST_CASE("Settings come back as they were saved", "[view][settings]") {
    const ScratchFolder scratch;
    const fs::path file = scratch.path / "deep" / "settings.json";
    Settings s;
    s.light_theme = false, s.unit = FilmUnit::mil, s.panel = "roof-skin", s.technique = "gear-cut",
    s.paint = "soft";
    s.defects = "moderate";
    s.width = 1920, s.height = 1080, s.map = MapKind::friction_work, s.contours = false,
    s.strip_charts = true;
    s.times_real_time = 50, s.ranges[1] = LockedRange{12.5f, 40};
    s.record = "/vehicles/bus.json", s.section = true;
    save_settings(file, s);
    const LoadedSettings loaded = load_settings(file);
    CHECK(loaded.notice == "");
    const Settings& r = loaded.settings;
    CHECK_FALSE(r.light_theme);
    CHECK(r.unit == FilmUnit::mil);
    CHECK((r.panel == "roof-skin" && r.technique == "gear-cut" && r.paint == "soft" &&
           r.defects == "moderate"));
    CHECK((r.width == 1920 && r.height == 1080));
    CHECK(r.map == MapKind::friction_work);
    CHECK((!r.contours && r.strip_charts && r.times_real_time == 50));
    CHECK((r.record == "/vehicles/bus.json" && r.section));
    REQUIRE(r.ranges[1]);
    CHECK((r.ranges[1]->low == 12.5f && r.ranges[1]->high == 40));
    CHECK_FALSE(r.ranges[0]);
    CHECK(std::distance(fs::directory_iterator(file.parent_path()), {}) ==
          1); // nothing half-written is left about
}

TEST_CASE("A broken settings file gives the usual settings and says what is wrong with it",
          "[view][settings]") {
    const ScratchFolder scratch;
    const fs::path file = scratch.path / "settings.json";
    const auto [text, word] = GENERATE(table<std::string, std::string>({
        {"{ \"theme\": ", "parse error"},
        {"[1, 2]", "no JSON object"},
        {R"({"theme": "purple"})", "allowed: light, dark"},
        {R"({"panel": 7})", "type"},
        {R"({"window": [10, 720]})", "window/0"},
        {R"({"ranges": {"film_lost": [4, 1]}})", "/ranges/film_lost"},
    }));
    write_text(file, text);
    const LoadedSettings loaded = load_settings(file);
    CHECK_THAT(loaded.notice, Catch::Contains(file.string()) && Catch::Contains(word));
    CHECK(loaded.settings.panel == Settings{}.panel);
    CHECK(loaded.settings.light_theme);
}

TEST_CASE("A missing settings file is nothing to speak of, and unknown keys are passed over",
          "[view][settings]") {
    const ScratchFolder scratch;
    CHECK(load_settings(scratch.path / "none.json").notice == "");
    write_text(scratch.path / "s.json", R"({"from_the_future": true, "unit": "mil"})");
    const LoadedSettings loaded = load_settings(scratch.path / "s.json");
    CHECK(loaded.notice == "");
    CHECK(loaded.settings.unit == FilmUnit::mil);
}

TEST_CASE("Settings that cannot be saved are refused with the file's name", "[view][settings]") {
    const ScratchFolder scratch;
    write_text(scratch.path / "in-the-way", "");
    CHECK_THROWS_WITH(save_settings(scratch.path / "in-the-way" / "settings.json", {}),
                      Catch::Contains("in-the-way"));
}

TEST_CASE("Settings live where the XDG directories say", "[view][settings]") {
    const char* before = std::getenv("XDG_CONFIG_HOME");
    const std::string kept = before ? before : "";
    ::setenv("XDG_CONFIG_HOME", "/some/config", 1);
    CHECK(settings_path() == "/some/config/sparecoat/settings.json");
    ::setenv("XDG_CONFIG_HOME", "not/absolute", 1); // to be ignored, says the specification
    const fs::path home = std::getenv("HOME") ? std::getenv("HOME") : "";
    if (home.is_absolute()) CHECK(settings_path() == home / ".config/sparecoat/settings.json");
    before ? ::setenv("XDG_CONFIG_HOME", kept.c_str(), 1) : ::unsetenv("XDG_CONFIG_HOME");
}

// ---- workbench ------------------------------------------------------------------------------------

TEST_CASE("An edit on the bench gives the job that preparing it afresh gives", "[view][workbench]") {
    const Library library = Library::standard();
    EditHistory bench(library, plate_request());
    Choices next = bench.choices();
    next.technique.force_n = 60, next.technique.hold_back_m = 0.02;
    next.request.paint = "old-thin";
    bench.edit(next, "force");
    const RunJob afresh = prepare(library, next.request, next.technique, nullptr);
    CHECK(same_path(bench.job()->path, afresh.path));
    CHECK(same_bytes(bench.job()->panel.clear_um,
                     afresh.panel.clear_um)); // the kept shape got the new paint's film
    CHECK(same_bytes(bench.job()->panel.height_m, afresh.panel.height_m));
    CHECK(bench.job()->step.technique.force_n == 60);
}

TEST_CASE("Undo and redo go back and forth between the same jobs", "[view][workbench]") {
    EditHistory bench(Library::standard(), plate_request());
    const ArmPath first = bench.job()->path;
    CHECK_FALSE(bench.can_undo());
    Choices next = bench.choices();
    next.technique.arm_speed_m_s = 0.08;
    bench.edit(next, "arm speed");
    const ArmPath second = bench.job()->path;
    CHECK_FALSE(same_path(first, second));
    CHECK(bench.undo_label() == "arm speed");
    bench.undo();
    CHECK(same_path(bench.job()->path, first));
    CHECK(bench.redo_label() == "arm speed");
    bench.redo();
    CHECK(same_path(bench.job()->path, second));
    CHECK_FALSE(bench.can_redo());
}

TEST_CASE("One drag is one step to undo, two drags are two", "[view][workbench]") {
    EditHistory bench(Library::standard(), plate_request());
    const double before = bench.choices().technique.force_n;
    const auto drag_to = [&](double force_n, int drag) {
        Choices next = bench.choices();
        next.technique.force_n = force_n;
        bench.edit(next, "force", drag);
    };
    drag_to(50, 1), drag_to(55, 1), drag_to(58, 1), drag_to(62, 2);
    bench.undo();
    CHECK(bench.choices().technique.force_n == 58);
    bench.undo();
    CHECK(bench.choices().technique.force_n == before);
    CHECK_FALSE(bench.can_undo());
}

TEST_CASE("A new edit after an undo takes the place of what was undone", "[view][workbench]") {
    EditHistory bench(Library::standard(), plate_request());
    Choices next = bench.choices();
    next.technique.force_n = 60;
    bench.edit(next, "force");
    bench.undo();
    next.technique.force_n = 30;
    bench.edit(next, "force");
    CHECK_FALSE(bench.can_redo());
    CHECK(bench.job()->step.technique.force_n == 30);
}

TEST_CASE("A refused edit leaves choices, job and undo as they were", "[view][workbench]") {
    EditHistory bench(Library::standard(), plate_request());
    const auto job = bench.job();
    Choices next = bench.choices();
    next.technique.machine = "rotary-mini"; // does not take a 150 mm pad
    CHECK_THROWS_AS(bench.edit(next, "machine"), InputError);
    CHECK(bench.job() == job);
    CHECK_FALSE(bench.can_undo());
    CHECK(bench.choices().technique.machine == "da-15");
}

// ---- desk -----------------------------------------------------------------------------------------

namespace {

/// Ticks a desk as a window would until something has come about.
bool tick_until(Session& session, const std::function<bool()>& done, double at_most_s = 20) {
    const auto start = std::chrono::steady_clock::now();
    for (;;) {
        const double t = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        session.tick(t);
        if (done()) return true;
        if (t > at_most_s) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
}

} // namespace

TEST_CASE("Another machine takes pad and speed along to what it allows", "[view][desk]") {
    Session session(Library::standard(), plate_request(), {});
    session.choose_machine("rotary-mini");
    session.settle();
    REQUIRE(session.messages.empty());
    const RunJob& job = *session.edits.job();
    CHECK(job.step.machine.kind == MachineKind::rotary);
    CHECK(2 * job.step.pad.radius_m <= job.step.machine.pad_max_m + 1e-9);
    CHECK(job.step.technique.pad.starts_with("medium-foam-"));
    CHECK(job.step.technique.speed_rad_s <= job.step.machine.speed_max_rad_s);
}

TEST_CASE("Edits are made ready beside the drawing, in their order, and undone whether ready or not",
          "[view][desk]") {
    Session session(Library::standard(), plate_request(), {});
    const double force = session.choices().technique.force_n,
                 arm_speed = session.choices().technique.arm_speed_m_s;
    const auto edit_force = [&](double force_n) {
        Choices next = session.choices();
        next.technique.force_n = force_n;
        session.edit(next, "force");
    };
    edit_force(60);
    CHECK(session.preparing());
    CHECK(session.choices().technique.force_n == 60);          // what a control shows at once
    CHECK(session.edits.choices().technique.force_n == force); // what is being worked
    Choices next = session.choices();
    next.technique.arm_speed_m_s = 0.08;
    session.edit(next, "arm speed");
    session.settle();
    CHECK_FALSE(session.preparing());
    CHECK(session.edits.job()->step.technique.force_n == 60);
    CHECK(session.edits.job()->step.technique.arm_speed_m_s == 0.08);
    CHECK(session.edits.undo_label() == "arm speed");

    edit_force(70);
    session.act(Action::undo); // before it is ready: called off
    session.settle();
    CHECK(session.edits.job()->step.technique.force_n == 60);
    session.act(Action::undo), session.act(Action::undo); // one behind the other
    CHECK(session.choices().technique.force_n == force);
    session.settle();
    CHECK(session.edits.job()->step.technique.force_n == force);
    CHECK(session.edits.job()->step.technique.arm_speed_m_s == arm_speed);
    session.act(Action::redo), session.act(Action::undo), session.act(Action::redo);
    session.settle();
    CHECK(session.edits.job()->step.technique.force_n == 60);
    CHECK(session.messages.empty());
}

TEST_CASE(
    "An edit that cannot be is told with the command line's words, and what was built on it is given up",
    "[view][desk]") {
    Session session(Library::standard(), plate_request(), {});
    Choices next = session.choices();
    next.technique.hold_back_m = 0.5; // no room left
    session.edit(next, "hold-back");
    next.technique.force_n = 60;
    session.edit(next, "force");
    session.settle();
    REQUIRE(session.messages.size() == 1);
    std::string told;
    try {
        prepare(session.edits.library(), next.request, next.technique, nullptr);
    } catch (const InputError& error) {
        told = error.what();
    }
    CHECK(session.messages.front() == told);
    CHECK_FALSE(session.preparing());
    CHECK_FALSE(session.edits.can_undo());
}

namespace {

/// Rubs the middle of the panel by hand for a moment.
void rub(Session& session) {
    const Grid& grid = session.shown->panel.grid;
    session.pointer = Point2{grid.x0_m + 0.5 * grid.nu * grid.h_m, grid.y0_m + 0.5 * grid.nv * grid.h_m};
    session.act(Action::hand_mode);
    REQUIRE(tick_until(session, [&] { return session.view.by_hand; }));
    session.trigger_key = true;
    REQUIRE(tick_until(session, [&] { return session.view.stroke.size() > 10 && session.view.now.down; }));
    session.act(Action::hand_mode);
    REQUIRE(session.stroke_unsaved);
}

} // namespace

TEST_CASE("A stroke by hand that is not saved is not lost without a question", "[view][desk]") {
    const ScratchFolder scratch;
    Session session(Library::standard(), plate_request(), {});
    REQUIRE(tick_until(session, [&] { return session.view.generation > 0; }));
    rub(session);
    Choices next = session.choices();
    next.technique.force_n = 61;
    const std::vector<std::function<void()>> losing{
        [&] { session.edit(next, "force"); }, [&] { session.choose_panel("roof-skin"); },
        [&] { session.load_technique("finishing-pass"); }, [&] { session.act(Action::quit); },
        [&] { session.act(Action::hand_mode); }};
    for (std::size_t k = 0; k < losing.size(); ++k) {
        INFO("way " << k);
        losing[k]();
        CHECK(session.asks());
        CHECK_FALSE(session.preparing());
        session.act(Action::close); // goes back
        CHECK_FALSE(session.asks());
        CHECK((session.stroke_unsaved && !session.quit && !session.view.hand));
    }
    SECTION("dropped, the edit goes on") {
        losing[0]();
        session.answer(Session::Answer::drop);
        session.settle();
        CHECK(session.edits.choices().technique.force_n == 61);
        CHECK_FALSE(session.stroke_unsaved);
    }
    SECTION("saved, the edit goes on") {
        losing[0]();
        session.answer(Session::Answer::save);
        REQUIRE(session.chooser == Session::Chooser::save);
        tick_until(
            session, [] { return false; }, 0.05);
        CHECK_FALSE(session.preparing());
        session.chooser = Session::Chooser::none; // as the chooser does when a name is given
        session.save_path(scratch.path / "stroke.csv");
        session.settle();
        CHECK(fs::exists(scratch.path / "stroke.csv"));
        CHECK(session.edits.choices().technique.force_n == 61);
    }
    SECTION("the chooser left without saving, nothing goes on") {
        losing[3]();
        session.answer(Session::Answer::save);
        session.act(Action::close);
        tick_until(
            session, [] { return false; }, 0.05);
        session.save_path(scratch.path / "later.csv");
        CHECK_FALSE(session.quit);
    }
}

TEST_CASE("A held range stays when the map changes, in the unit of the film", "[view][desk]") {
    Session session(Library::standard(), plate_request(), {});
    session.live.seek(20);
    REQUIRE(tick_until(session,
                       [&] { return session.view.t_s > 19 && session.verdict && session.scale.high != 1; }));
    session.act(Action::lock_range);
    const Scale held = session.scale;
    session.live.seek(60);
    REQUIRE(tick_until(session, [&] { return session.view.t_s > 59; }));
    tick_until(
        session, [] { return false; }, 0.4); // longer than the range's own pace
    CHECK(session.scale.high == held.high);
    session.act(Action::toggle_unit);
    CHECK(session.scale.high == Approx(held.high / um_per_mil).epsilon(1e-6)); // kept as a float in µm
    CHECK(session.unit_text() == "mil");
    session.act(Action::lock_range);
    session.act(Action::toggle_unit);
    CHECK_FALSE(session.range_locked());
}

TEST_CASE("Files are told apart by what they hold, and others are refused with what is allowed",
          "[view][desk]") {
    const ScratchFolder scratch;
    Session session(Library::standard(), plate_request(), {});
    session.open(source_at("presets/panels/roof-skin.json"));
    session.settle();
    CHECK(session.messages.empty());
    CHECK(session.edits.job()->panel.name != "");
    CHECK(session.edits.choices().request.panel.ends_with("roof-skin.json"));
    session.open(source_at("presets/techniques/finishing-pass.json"));
    session.settle();
    CHECK(session.messages.empty());
    CHECK(session.edits.undo_label() == "technique");
    session.open(source_at("presets/pads/wool.json"));
    REQUIRE(session.messages.size() == 1);
    CHECK_THAT(session.messages[0], Catch::Contains("wool.json: /kind: found \"pad\"; allowed: \"panel\", "
                                                    "\"technique\", \"defects\", \"record\" or \"lesson\""));
    write_text(scratch.path / "notes.txt", "hello");
    session.open(scratch.path / "notes.txt");
    CHECK(session.messages.size() == 2);
    write_text(scratch.path / "bad.csv", "t_s,x_mm,y_mm\n0,100,100\nx,1,1\n");
    session.open(scratch.path / "bad.csv");
    session.settle();
    REQUIRE(session.messages.size() == 3);
    CHECK_THAT(session.messages[2], Catch::Contains("line 3")); // as the command line says it
}

TEST_CASE("Nothing overlaps at the sizes a window may have", "[view][layout]") {
    const auto [w, h] = GENERATE(table<float, float>(
        {{1280, 720}, {900, 560}, {1920, 1080}, {2560, 1440}, {3840, 2160}, {1280, 1024}}));
    const bool cards = GENERATE(true, false), strips = GENERATE(true, false), lesson = GENERATE(true, false);
    const float s = std::max(0.7f, std::min(w / 1280, h / 720));
    const Layout l = lay_out(w, h, s, cards, strips, lesson);
    INFO(w << " x " << h << " cards " << cards << " strips " << strips << " lesson " << lesson);
    const std::array boxes{l.headline, l.technique, l.stage, l.maps, l.spot, l.strips, l.lesson, l.time};
    for (std::size_t a = 0; a < boxes.size(); ++a) {
        const Box& p = boxes[a];
        CHECK((p.x >= 0 && p.y >= 0 && p.x + p.w <= w + 0.5f && p.y + p.h <= h + 0.5f));
        for (std::size_t b = a + 1; b < boxes.size(); ++b) {
            const Box& q = boxes[b];
            const float across = std::min(p.x + p.w, q.x + q.w) - std::max(p.x, q.x);
            const float up = std::min(p.y + p.h, q.y + q.h) - std::max(p.y, q.y);
            CHECK((across <= 0.5f || up <= 0.5f));
        }
    }
    CHECK(l.stage.w * l.stage.h > (lesson ? 0.18f : 0.3f) * w * h); // the panel has the largest part
}

TEST_CASE("The map's colours of pressure, speed and time get steadily darker", "[view][theme]") {
    const ColourMap& map = colours_of(MapKind::pressure_now);
    double before = 101;
    for (int k = 0; k <= 50; ++k) {
        const Rgb colour = map.at(k / 50.0);
        const double lightness = lab_of(colour).l;
        CHECK(lightness < before);
        CHECK(std::min({colour.r, colour.g, colour.b}) >
              0.002); // a part at 0 or 1 would have been cut off to fit sRGB
        CHECK(std::max({colour.r, colour.g, colour.b}) < 0.998);
        before = lightness;
    }
}

} // namespace test_view_desk
