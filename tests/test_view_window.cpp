#include "files.hpp"
#include "formats/fields_export.hpp"
#include "formats/path_csv.hpp"
#include "places.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/app/app.hpp"
#include "view/render/shot.hpp"
#include "window_support.hpp"
#include <GLFW/glfw3.h>
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fmt/format.h>
#include <fstream>
#include <functional>
#include <iostream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

namespace {

using Scratch = sparecoat::test::ScratchFolder;

std::string read_file(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

void write_file(const fs::path& file, const std::string& text) {
    std::ofstream(file, std::ios::binary) << text;
}

RunRequest plate_request() {
    RunRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.grid_m = 0.004;
    return request;
}

bool same_bytes(const std::vector<float>& a, const std::vector<float>& b) {
    return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(float)) == 0;
}

bool same_path(const ArmPath& a, const ArmPath& b) {
    return a.samples.size() == b.samples.size() &&
           std::equal(a.samples.begin(), a.samples.end(), b.samples.begin(),
                      [](const ArmSample& p, const ArmSample& q) {
                          return p.t_s == q.t_s && p.at.x == q.at.x && p.at.y == q.at.y &&
                                 p.force_n == q.force_n && p.tilt_rad.x == q.tilt_rad.x &&
                                 p.tilt_rad.y == q.tilt_rad.y && p.down == q.down;
                      });
}

} // namespace

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
    const Scratch scratch;
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
    const Scratch scratch;
    const fs::path file = scratch.path / "settings.json";
    const auto [text, word] = GENERATE(table<std::string, std::string>({
        {"{ \"theme\": ", "parse error"},
        {"[1, 2]", "no JSON object"},
        {R"({"theme": "purple"})", "allowed: light, dark"},
        {R"({"panel": 7})", "type"},
        {R"({"window": [10, 720]})", "window/0"},
        {R"({"ranges": {"film_lost": [4, 1]}})", "/ranges/film_lost"},
    }));
    write_file(file, text);
    const LoadedSettings loaded = load_settings(file);
    CHECK_THAT(loaded.notice, Catch::Contains(file.string()) && Catch::Contains(word));
    CHECK(loaded.settings.panel == Settings{}.panel);
    CHECK(loaded.settings.light_theme);
}

TEST_CASE("A missing settings file is nothing to speak of, and unknown keys are passed over",
          "[view][settings]") {
    const Scratch scratch;
    CHECK(load_settings(scratch.path / "none.json").notice == "");
    write_file(scratch.path / "s.json", R"({"from_the_future": true, "unit": "mil"})");
    const LoadedSettings loaded = load_settings(scratch.path / "s.json");
    CHECK(loaded.notice == "");
    CHECK(loaded.settings.unit == FilmUnit::mil);
}

TEST_CASE("Settings that cannot be saved are refused with the file's name", "[view][settings]") {
    const Scratch scratch;
    write_file(scratch.path / "in-the-way", "");
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
    const Scratch scratch;
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
    const Scratch scratch;
    Session session(Library::standard(), plate_request(), {});
    const Library library = Library::standard();
    session.open(library.root() / "panels" / "roof-skin.json");
    session.settle();
    CHECK(session.messages.empty());
    CHECK(session.edits.job()->panel.name != "");
    CHECK(session.edits.choices().request.panel.ends_with("roof-skin.json"));
    session.open(library.root() / "techniques" / "finishing-pass.json");
    session.settle();
    CHECK(session.messages.empty());
    CHECK(session.edits.undo_label() == "technique");
    session.open(library.root() / "pads" / "wool.json");
    REQUIRE(session.messages.size() == 1);
    CHECK_THAT(session.messages[0], Catch::Contains("wool.json: /kind: found \"pad\"; allowed: \"panel\", "
                                                    "\"technique\", \"defects\", \"record\" or \"lesson\""));
    write_file(scratch.path / "notes.txt", "hello");
    session.open(scratch.path / "notes.txt");
    CHECK(session.messages.size() == 2);
    write_file(scratch.path / "bad.csv", "t_s,x_mm,y_mm\n0,100,100\nx,1,1\n");
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

// ---- the real window ------------------------------------------------------------------------------

namespace {

/// The film lost when the command line runs a recorded path.
std::string film_by_command(const fs::path& csv, const fs::path& out) {
    const std::string command = fmt::format(
        "'{}' run --panel test-plate --technique polish-da-15 --grid '4 mm' --path '{}' --out '{}' "
        ">/dev/null 2>&1",
        built_program(), csv.string(), out.string());
    REQUIRE(std::system(command.c_str()) == 0);
    for (const auto& entry : fs::directory_iterator(out))
        if (entry.path().filename().string().starts_with("film_lost") && entry.path().extension() == ".npy")
            return read_file(entry.path());
    FAIL("no film_lost*.npy in " << out);
    return {};
}

} // namespace

TEST_CASE("The window plays, scrubs, switches maps, edits, undoes and takes a hand", "[view][window]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const Scratch scratch;
    const fs::path settings = scratch.path / "settings.json";
    {
        Window window(window_request(settings));
        Fingers fingers(window);
        Session& session = window.session();
        REQUIRE(fingers.until([&] { return session.view.generation > 0 && session.view.end_s > 0; }));
        fingers.frames(3);
        const Window::Image untouched = window.picture();

        SECTION("one after the other, as a person would") {
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

            // Maps by key, each another picture.
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

            // HandLoad on to a spot: its factors multiply to its film.
            fingers.click(fingers.over(session.verdict->worst.front().at));
            REQUIRE(session.pinned);
            CHECK(norm(*session.pinned - session.verdict->worst.front().at) <
                  0.004); // within a pixel's view of the panel
            const auto spot = session.described_spot();
            REQUIRE(spot);
            CHECK(spot->factors.removed_um() == Approx(spot->removed_um).epsilon(1e-5));
            fingers.act("drop-spot");
            CHECK_FALSE(session.pinned);

            // Edit by key, by typing, wrongly, and undo.
            for (int k = 0; k < 7; ++k)
                fingers.act("next-value"); // panel, work, machine, pad, liquid, paint, force
            const double force = session.choices().technique.force_n;
            const std::uint64_t generation = session.view.generation;
            const auto edited = std::chrono::steady_clock::now();
            fingers.act("raise-value");
            CHECK(session.edits.choices().technique.force_n == force + 1);
            REQUIRE(
                fingers.until([&] { return session.view.generation > generation && session.view.t_s > 0; }));
            std::cout << fmt::format(
                "[window] edit to first new step: {:.0f} ms\n",
                1e3 * std::chrono::duration<double>(std::chrono::steady_clock::now() - edited).count());
            fingers.act("type-value");
            fingers.type("6 kgf");
            fingers.press(GLFW_KEY_ENTER);
            CHECK(session.edits.choices().technique.force_n ==
                  Approx(6 * 9.80665)); // the standard kilogram-force
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

            // Drag a value: one edit to undo.
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
        }

        SECTION("a stroke by hand replays to the same film, in the window and on the command line") {
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

            // Back and forth through it: the same film.
            fingers.act("start");
            REQUIRE(fingers.until([&] { return session.view.t_s == 0; }));
            fingers.act("end");
            REQUIRE(fingers.until([&] { return session.view.t_s == session.view.end_s; }));
            CHECK(same_bytes(session.view.fields.removed_um, by_hand));

            // An edit, or closing, would lose the stroke: it is asked about.
            fingers.act("next-value"), fingers.act("raise-value"); // of the panel's list
            fingers.act("quit");
            REQUIRE(session.asks());
            CHECK_FALSE(session.quit);
            CHECK(difference(stroked, window.picture(), {0, 0, 1280, 720}) > 0.3); // all behind it is dimmed
            fingers.press(GLFW_KEY_ESCAPE);
            CHECK_FALSE(session.asks());
            CHECK(session.stroke_unsaved);

            // Save through the chooser, read again by dropping it on the window.
            const fs::path csv = scratch.path / "stroke.csv";
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
            REQUIRE(fingers.until(
                [&] { return session.view.t_s == session.view.end_s && session.view.finished; }));
            CHECK(same_bytes(session.view.fields.removed_um, by_hand));

            const RunResult plain = simulate(session.shown->panel, session.shown->setup, session.shown->path);
            CHECK(same_bytes(plain.fields.removed_um, by_hand));
            const fs::path npy = scratch.path / "window.npy";
            write_npy(npy, grid, session.view.fields.removed_um);
            const std::string by_command = film_by_command(csv, scratch.path / "out"),
                              in_window = read_file(npy);
            CHECK((by_command == in_window)); // not expanded: thousands of bytes
        }

        SECTION("a lesson is opened from the list, stepped through, played and left") {
            fingers.act("map-contact");
            const std::string technique = session.choices().technique.name;
            // From the list, by key.
            fingers.act("lessons");
            REQUIRE(session.lesson.list);
            const std::vector<Listing>& lessons = session.list(PresetKind::lesson);
            const auto row = std::ranges::find(lessons, "tilt-on-a-line", &Listing::id) - lessons.begin();
            for (std::ptrdiff_t k = 0; k < row; ++k) fingers.press(GLFW_KEY_DOWN);
            CHECK(session.lesson.row == row);
            fingers.press(GLFW_KEY_ENTER);
            CHECK_FALSE(session.lesson.list);
            REQUIRE(fingers.until([&] { return session.lesson.play.has_value(); }));
            const auto is_there = [&] {
                return session.shown == session.lesson.play->job() &&
                       std::abs(session.view.t_s - session.lesson.play->scene().at_s) < 0.2;
            };
            // The first step: the mistake's run at its moment, with its technique on the card.
            REQUIRE(fingers.until(is_there));
            CHECK((session.lesson.play->step() == 0 && session.lesson.play->side() == LessonSide::mistake));
            CHECK(session.choices().request.panel == "rear-door");
            CHECK(session.choices().technique.tilt_rad > 0);
            CHECK(session.settings.map == MapKind::film_lost);
            fingers.frames(3);
            const Window::Image first = window.picture();
            CHECK(difference(untouched, first, window.layout().stage) > 0.2); // another panel, nearer
            fingers.act("lesson-back"); // there is none before the first
            CHECK(session.lesson.play->step() == 0);

            // On to the next: another map and view. Played, it starts from the beginning and stops at the
            // moment.
            fingers.act("lesson-on");
            CHECK((session.lesson.play->step() == 1 && session.settings.map == MapKind::pressure_now));
            REQUIRE(fingers.until(is_there));
            CHECK(difference(first, window.picture(), window.layout().stage) > 0.1);
            for (int k = 0; k < 3; ++k) fingers.act("slower"); // so that a frame sees it on its way
            fingers.act("play-pause");
            REQUIRE(fingers.until([&] { return session.view.playing && !is_there(); }));
            REQUIRE(fingers.until([&] { return !session.view.playing && is_there(); }));

            // The last shows the remedy, and the mistake beside it on asking, in the same colours.
            while (session.lesson.play->step() + 1 < session.lesson.play->steps()) fingers.act("lesson-on");
            CHECK(session.lesson.play->side() == LessonSide::remedy);
            REQUIRE(fingers.until([&] { return is_there() && session.view.finished; }));
            const auto most = [&] { return *std::ranges::max_element(session.view.fields.removed_um); };
            const float remedy = most();
            const double high = session.scale.high;
            fingers.act("lesson-turn");
            CHECK(session.lesson.play->side() == LessonSide::mistake);
            REQUIRE(fingers.until([&] { return is_there() && session.view.finished; }));
            CHECK(most() > 2 * remedy);
            CHECK(session.scale.high == high);

            // Its captions are the command line's.
            const auto in_a_line = [](const std::string& text) {
                std::istringstream words(text);
                std::string line, word;
                while (words >> word) line += word + ' ';
                return line;
            };
            const fs::path printed = scratch.path / "printed.txt";
            REQUIRE(
                std::system(fmt::format("'{}' lesson tilt-on-a-line >'{}'", built_program(), printed.string())
                                .c_str()) == 0);
            CHECK_THAT(in_a_line(read_file(printed)),
                       Catch::Contains(in_a_line(session.lesson.play->caption(FilmUnit::um))));

            // Left, everything is as it was.
            fingers.act("lesson-leave");
            CHECK_FALSE(session.lesson.play);
            CHECK(session.choices().request.panel == "test-plate");
            CHECK(session.choices().technique.name == technique);
            CHECK_FALSE(session.edits.can_undo());
            CHECK(session.settings.map == MapKind::contact_time);
            CHECK_FALSE(session.range_locked());
            REQUIRE(fingers.until([&] { return session.shown->request.panel == "test-plate"; }));

            // The window may be closed in the middle of one: the lesson's choices are not remembered for the
            // person's.
            session.lesson.open("tilt-on-a-line");
            REQUIRE(fingers.until([&] { return session.lesson.play.has_value(); }));
        }

        SECTION("light and dark, help, charts, units and sizes") {
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

            window.resize(2560, 1440);
            REQUIRE(fingers.until([&] { return window.layout().headline.w == 2560; }, 10));
            CHECK(window.layout().headline.h == Approx(2 * 66)); // type and spacing grow with the window
        }
        INFO(window.gl_message());
        CHECK(window.gl_errors() == 0);
        std::cout << fmt::format(
            "[window] frame {:.1f} ms: run {:.1f}, panel {:.1f}, cards {:.1f}, type {:.1f}, swap {:.1f}\n",
            window.times().whole_ms, window.times().update_ms, window.times().scene_ms,
            window.times().cards_ms, window.times().gui_ms, window.times().swap_ms);
    }
    // Closed: what was chosen is remembered.
    const LoadedSettings kept = load_settings(settings);
    CHECK(kept.notice == "");
    CHECK(kept.settings.panel == "test-plate");
    CHECK(kept.settings.technique == "polish-da-15");
}

TEST_CASE("The window shows the paint under a lamp that mouse and keys move, before, after and half, over a "
          "live run",
          "[view][window][lamp][long]") {
    const Display display;
    REQUIRE(display.there());
    const Scratch scratch;
    const fs::path settings = scratch.path / "settings.json";
    {
        Window window(window_request(settings));
        Fingers fingers(window);
        Session& session = window.session();
        REQUIRE(fingers.until([&] { return session.view.generation > 0 && session.view.end_s > 0; }));
        fingers.act("end");
        REQUIRE(fingers.until([&] { return session.view.finished; }));
        const Window::Image map = window.picture();
        const Box stage = window.layout().stage;
        const auto moved_from = [&](const Window::Image& before) {
            fingers.frames(2);
            return difference(before, window.picture(), stage);
        };

        fingers.act("lamp");
        CHECK_FALSE(session.shows_map());
        REQUIRE(fingers.until([&] { return session.lamp.model.shown(); }));
        CHECK(moved_from(map) > 0.2);
        CHECK(session.lamp.model.lamp.show == LampShow::after);

        // The lamp's place, by keys and by dragging its image.
        Window::Image before = window.picture();
        const glm::vec3 placed = session.lamp.model.lamp.place;
        for (int k = 0; k < 4; ++k) fingers.act("lamp-left");
        fingers.act("lamp-higher");
        CHECK(session.lamp.model.lamp.place.x == Approx(placed.x - 0.08));
        CHECK(session.lamp.model.lamp.place.z == Approx(placed.z + 0.02));
        CHECK(moved_from(before) > 0.005);
        const Point2 wanted{0.3, 0.2};
        window.on_key(GLFW_KEY_LEFT_SHIFT, GLFW_PRESS, 0);
        fingers.move_to(fingers.over({0.2, 0.25})), fingers.frames(2);
        fingers.hold(0), fingers.frames(2);
        fingers.move_to(fingers.over(wanted)), fingers.frames(2);
        fingers.let_go(0), fingers.frames(2);
        window.on_key(GLFW_KEY_LEFT_SHIFT, GLFW_RELEASE, GLFW_MOD_SHIFT);
        fingers.frames(2);
        CHECK(norm(lamp_image(session.shown->panel, session.lamp.model.lamp.place, session.camera.eye()) - wanted) <
              0.008);                // two cells
        CHECK_FALSE(session.pinned); // no click

        // Half and half, before, after: the key goes round.
        before = window.picture();
        fingers.act("lamp-show");
        CHECK(session.lamp.model.lamp.show == LampShow::half);
        CHECK(session.lamp.model.lamp.half_at_m == Approx(wanted.x).margin(0.008));
        CHECK(moved_from(before) > 0.02);
        fingers.act("lamp-show");
        CHECK(session.lamp.model.lamp.show == LampShow::before);
        CHECK(std::ranges::all_of(session.lamp.model.cells().cells(),
                                  [](const LampCell& cell) { return cell.x == 0; }));
        fingers.act("lamp-show");
        CHECK(session.lamp.model.lamp.show == LampShow::after);

        // Film that comes back by seeking comes back under the lamp, and goes again as the pad works.
        const auto worn = [&] {
            float most = 0;
            for (const LampCell& cell : session.lamp.model.cells().cells()) most = std::max(most, cell.x);
            return most;
        };
        CHECK(worn() > 0.3f);
        fingers.act("start");
        REQUIRE(fingers.until([&] { return session.view.t_s == 0; }));
        CHECK(worn() == 0);
        fingers.act("play-pause");
        REQUIRE(fingers.until([&] { return worn() > 0; }));
        fingers.act("play-pause");

        // Other defects are other marks; another panel is lit anew.
        const std::shared_ptr<const LampMarks> severe = session.lamp.model.marks();
        REQUIRE(session.choose_defects("light"));
        REQUIRE(fingers.until([&] { return session.lamp.model.marks() != severe && !session.lamp.model.working(); }));
        CHECK(session.lamp.model.marks()->scattered().marks.size() < severe->scattered().marks.size());
        CHECK_FALSE(session.choose_defects("rust"));
        CHECK(session.messages.size() == 1);
        fingers.act("close");
        session.choose_panel("front-wing");
        REQUIRE(fingers.until([&] {
            return !session.preparing() && session.shown->panel.name != "" && session.lamp.model.shown() &&
                   session.lamp.model.cells().cells().size() == session.shown->panel.grid.cells();
        }));
        fingers.frames(3);

        fingers.act("map-pressure");
        CHECK(session.shows_map());
        INFO(window.gl_message());
        CHECK(window.gl_errors() == 0);
    }
    CHECK(load_settings(settings).settings.defects == "light");
}

TEST_CASE("What the settings remember and is no more does not keep the window from opening",
          "[view][window]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const Scratch scratch;
    const fs::path settings = scratch.path / "settings.json";
    write_file(settings, R"({"panel": "gone-panel"})");
    WindowRequest request = window_request(settings);
    request.panel.clear();
    {
        Window window(request);
        window.frame();
        REQUIRE(window.session().messages.size() == 1);
        CHECK_THAT(window.session().messages.front(), Catch::Contains("gone-panel"));
        CHECK(window.session().edits.choices().request.panel == Settings{}.panel);
    }
    request.panel = "no-such-panel"; // asked for by name: refused
    CHECK_THROWS_AS(Window(request), InputError);
}

TEST_CASE(
    "The window shows heat and chances, reads film along an edge, holds back by slider and takes readings",
    "[view][window][long]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const Scratch scratch;
    WindowRequest request = window_request(scratch.path / "settings.json");
    request.technique = "edge-overrun", request.paint = "old-thin"; // so that there is something at risk
    Window window(request);
    Fingers fingers(window);
    Session& session = window.session();
    REQUIRE(fingers.until([&] { return session.view.generation > 0; }));
    fingers.act("end");
    REQUIRE(fingers.until([&] { return session.view.finished && session.verdict; }, 120));

    // Temperatures.
    const Window::Image film = window.picture();
    fingers.act("map-peak-temperature");
    fingers.frames(3);
    const Window::Image warm = window.picture();
    CHECK(difference(film, warm, window.layout().stage) > 0.1);
    CHECK(session.unit_text() == "°C");
    fingers.act("map-temperature");
    CHECK(session.scale.high ==
          temperature_scale(20, static_cast<double>(*std::max_element(session.view.peak_c.begin(),
                                                                      session.view.peak_c.end())))
              .high);

    // Chances: the panel says that they are being worked out, then shows them.
    fingers.act("map-chance");
    REQUIRE(session.risk.model.working());
    fingers.frames(2);
    const Window::Image waiting = window.picture();
    REQUIRE(fingers.until([&] { return session.risk.model.finding() != nullptr; }, 300));
    fingers.frames(3);
    CHECK(difference(waiting, window.picture(), window.layout().stage) > 0.02);
    REQUIRE_FALSE(session.pins().empty());

    // A click on a pin's head holds its spot.
    const ImVec2 foot = fingers.over(session.pins().front());
    fingers.click({foot.x, foot.y - pin_head});
    REQUIRE(session.pinned);
    CHECK(session.risk.held_region() == std::size_t{0});

    // Changes are tried, and a click takes one over.
    fingers.act("try-changes");
    REQUIRE(fingers.until([&] { return session.risk.model.advice(0) != nullptr; }, 300));
    fingers.frames(3);
    const Box card = window.layout().spot;
    for (float y = 222; y < 330 && !session.edits.can_undo(); y += 9) {
        fingers.click({card.x + 120, card.y + y});
        fingers.until([&] { return !session.preparing(); });
    }
    REQUIRE(session.edits.can_undo());
    CHECK(fingers.until(
        [&] { return session.risk.model.finding() == nullptr; })); // of another technique, once that is shown
    fingers.act("undo");
    CHECK_FALSE(session.edits.can_undo());
    fingers.act("map-film-lost");
    fingers.act("end");
    REQUIRE(fingers.until([&] { return session.view.finished && session.verdict; }, 120));

    // The graph along an edge: hovering shows the place, clicking holds it.
    const Window::Image without = window.picture();
    fingers.act("edge-ribbon");
    fingers.frames(2);
    const Box graph = window.layout().strips;
    REQUIRE(graph.h > 0);
    CHECK(difference(without, window.picture(), graph) > 0.5);
    fingers.move_to({graph.x + 0.5f * graph.w, graph.y + 0.4f * graph.h}), fingers.frames(3);
    REQUIRE(session.edge.model.hovered);
    const std::optional<Point2> place = session.edge.model.hovered_at(session.shown->panel);
    REQUIRE(place);
    fingers.click({graph.x + 0.5f * graph.w, graph.y + 0.4f * graph.h});
    REQUIRE(session.pinned);
    CHECK(norm(*session.pinned - *place) < 1e-9);

    // What if it were held back: dragged, shown, taken, undone.
    const float slider_y = graph.y + graph.h - 20, slider_x = graph.x + 14 + 92;
    fingers.move_to({slider_x + 20, slider_y}), fingers.frames(2);
    fingers.hold(0), fingers.frames(2);
    for (int k = 1; k <= 10; ++k)
        fingers.move_to({slider_x + 20 + 8 * static_cast<float>(k), slider_y}), fingers.frames(1);
    REQUIRE(session.edge.model.wanted_m);
    REQUIRE(fingers.until([&] { return session.edge.model.trial() != nullptr; }, 60)); // while it is held down
    fingers.let_go(0), fingers.frames(2);
    REQUIRE(fingers.until(
        [&] {
            return session.edge.model.trial()->hold_back_m == *session.edge.model.wanted_m &&
                   session.edge.model.trial_chance();
        },
        120));
    fingers.frames(2);
    const std::string edge = session.edge.model.name(session.shown->panel);
    const double wanted = *session.edge.model.wanted_m;
    CHECK(wanted > -0.06);
    fingers.click({graph.x + graph.w - 14 - 32, slider_y});
    REQUIRE(fingers.until([&] { return session.edits.can_undo() && !session.preparing(); }));
    CHECK(session.edits.choices().technique.hold_back_edge_m.at(edge) == wanted);
    fingers.act("undo");
    CHECK_FALSE(session.edits.can_undo());
    fingers.act("edge-ribbon");
    CHECK(window.layout().strips.h == 0);

    // Readings are dropped on the window, and let go by a click.
    const fs::path csv = scratch.path / "readings.csv";
    write_file(csv, "panel,test-plate\nx_mm,y_mm,total_um\n60,60,118\n150,120,121\n240,60,75\n60,180,119\n");
    window.on_drop({csv});
    REQUIRE(fingers.until([&] { return !session.preparing(); }));
    REQUIRE(session.messages.empty());
    CHECK(session.edits.job()->film.has_value());
    fingers.frames(3);
    const Box technique = window.layout().technique;
    fingers.click({technique.x + technique.w - 16 - 36, technique.y + 8 + 31 + 6 * 25 + 12});
    REQUIRE(fingers.until([&] { return !session.preparing(); }));
    CHECK_FALSE(session.edits.choices().request.readings);
    INFO(window.gl_message());
    CHECK(window.gl_errors() == 0);
}

TEST_CASE("The window tapes a square by mouse, takes a try by keyboard and shows the advice",
          "[view][window][section][long]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const Scratch scratch;
    const fs::path file = scratch.path / "bus.json";
    write_file(scratch.path / "kit.json", R"({"kind": "kit", "name": "Small kit",
        "machines": [{"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "60 mm/s", "passes": 2}],
        "pads": ["medium-foam-150"], "liquids": ["finishing-polish", "polish", "cutting-compound"]})");
    write_file(
        file,
        R"({"kind": "record", "name": "Bus 7", "kit": "./kit.json", "panels": [{"panel": "test-plate", "clean": false}]})");
    {
        Window window(window_request(scratch.path / "settings.json"));
        Fingers fingers(window);
        Session& session = window.session();
        REQUIRE(fingers.until([&] { return session.view.generation > 0 && session.view.end_s > 0; }));
        window.on_drop({file});
        fingers.frames(3);
        REQUIRE(session.section.model.has_record());
        CHECK(session.section.shown());
        CHECK(window.layout().strips.h > 0);
        CHECK_FALSE(session.section.model.working()); // withheld until it is clean
        const Window::Image untouched = window.picture();

        // Tape, dragged over the panel; the view stays.
        fingers.act("tape-square");
        const glm::vec3 eye = session.camera.eye();
        const auto drag = [&](Point2 from, Point2 to, bool let_go) {
            fingers.move_to(fingers.over(from)), fingers.frames(2);
            fingers.hold(0), fingers.frames(2);
            for (int k = 1; k <= 4; ++k)
                fingers.move_to(fingers.over(from + (0.25 * k) * (to - from))), fingers.frames(1);
            fingers.frames(2);
            if (let_go) fingers.let_go(0), fingers.frames(2);
        };
        drag({0.15, 0.1}, {0.25, 0.2}, true); // too small
        CHECK(session.section.model.squares().empty());
        CHECK_THAT(session.notice, Catch::Contains("smaller than 1.5 pads"));
        drag({0.15, 0.1}, {0.45, 0.4}, false);
        CHECK(session.section.model.drag.active());
        fingers.act("close"); // in the midst of it
        fingers.let_go(0), fingers.frames(2);
        CHECK(session.section.model.squares().empty());
        CHECK(session.section.model.placing);
        drag({0.15, 0.1}, {0.45, 0.4}, true);
        REQUIRE(session.section.model.squares().size() == 1);
        const TapedSquare& square = session.section.model.squares().front();
        CHECK(norm(square.at - Point2{0.3, 0.25}) < 0.006); // a step of the tape and a pixel's view
        CHECK(norm(square.size - Point2{0.3, 0.3}) < 0.012);
        CHECK(session.camera.eye() == eye);
        CHECK_FALSE(session.pinned);
        fingers.move_to({2, 2}), fingers.frames(3);
        CHECK(difference(untouched, window.picture(), window.layout().stage) > 0.005);

        // Moved by its middle.
        fingers.act("tape-square");
        drag({0.3, 0.25}, {0.32, 0.26}, true);
        REQUIRE(session.section.model.squares().size() == 1);
        CHECK(norm(session.section.model.squares().front().at - Point2{0.32, 0.26}) < 0.008);

        // Clean: the advice comes by itself.
        fingers.act("mark-clean");
        REQUIRE(fingers.until([&] { return session.section.model.finding() != nullptr; }, 120));
        REQUIRE(session.section.model.fault() == "");
        fingers.frames(3);

        // A try by keyboard: step, sets, seen; letters go into the fields and work no keys.
        fingers.act("enter-try");
        fingers.type("cutting");
        fingers.press(GLFW_KEY_ENTER); // takes the step that matches
        REQUIRE(session.section.model.form.chosen == std::size_t{2});
        fingers.press(GLFW_KEY_TAB);
        fingers.type("lots");
        fingers.press(GLFW_KEY_ENTER);
        CHECK_THAT(session.section.model.form.fault, Catch::Contains("lots") && Catch::Contains("nearly all"));
        CHECK(session.section.model.squares().front().tries.empty());
        fingers.act("enter-try");
        fingers.press(GLFW_KEY_TAB);
        fingers.press(GLFW_KEY_TAB);
        fingers.type("nearly all");
        fingers.press(GLFW_KEY_ENTER);
        REQUIRE(session.section.model.squares().front().tries.size() == 1);
        CHECK(session.section.model.squares().front().tries.front().seen == "nearly all");
        CHECK_THAT(read_file(file), Catch::Contains("da-15+medium-foam-150+cutting-compound") &&
                                        Catch::Contains("nearly all"));
        CHECK(session.section.model.stale());
        CHECK(session.messages.empty());
        REQUIRE(fingers.until([&] { return !session.section.model.working(); }, 120));
        CHECK_FALSE(session.section.model.stale());
        CHECK(session.section.model.finding()->panel().tries.size() == 1);

        // Curves with numbers under the pointer, and the table.
        const Box chart = window.layout().strips;
        fingers.move_to({2, 2}), fingers.frames(3);
        const Window::Image curves = window.picture();
        bool told = false;
        for (float x = 60; x < 300 && !told; x += 6) {
            fingers.move_to({chart.x + x, chart.y + 90}), fingers.frames(1);
            told = session.section.model.hovered.has_value();
        }
        CHECK(told);
        fingers.act("section-table");
        fingers.move_to({2, 2}), fingers.frames(3);
        CHECK(difference(curves, window.picture(), chart) > 0.05);

        // The run works inside it.
        fingers.act("work-in-square");
        REQUIRE(fingers.until([&] { return !session.preparing(); }));
        REQUIRE(session.edits.choices().technique.section_centre);
        CHECK(norm(*session.edits.choices().technique.section_centre - session.section.model.squares().front().at) <
              1e-9);
        fingers.act("take-back");
        CHECK(session.section.model.squares().front().tries.empty());
        for (const bool light : {false, true}) {
            session.settings.light_theme = light;
            fingers.act("lamp");
            REQUIRE(fingers.until([&] { return !session.lamp.model.lit || session.lamp.model.shown(); }, 60));
            fingers.frames(2);
        }
        INFO(window.gl_message());
        CHECK(window.gl_errors() == 0);
    }
    const LoadedSettings kept = load_settings(scratch.path / "settings.json");
    CHECK(kept.settings.record == file.string());
    CHECK(kept.settings.section);
}
