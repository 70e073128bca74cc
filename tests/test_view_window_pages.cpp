// The real window's pages, driven by keys and mouse: the lamp, heat and chances, an edge's profile, a test
// section.
#include "support/window_desk.hpp"
#include <catch2/catch.hpp>

namespace test_view_window_pages {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using namespace sparecoat::test::window_desk;

// Long because it is one sitting at the window: what is looked at stands on what was done just before.
TEST_CASE("The window shows the paint under a lamp that mouse and keys move, before, after and half, over a "
          "live run",
          "[view][window][lamp][long]") {
    const Display display;
    REQUIRE(display.there());
    const ScratchFolder scratch;
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
        CHECK(norm(lamp_image(session.shown->panel, session.lamp.model.lamp.place, session.camera.eye()) -
                   wanted) < 0.008); // two cells
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
        REQUIRE(fingers.until(
            [&] { return session.lamp.model.marks() != severe && !session.lamp.model.working(); }));
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
    const ScratchFolder scratch;
    const fs::path settings = scratch.path / "settings.json";
    write_text(settings, R"({"panel": "gone-panel"})");
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

// Long because it is one sitting at the window: what is looked at stands on what was done just before.
TEST_CASE(
    "The window shows heat and chances, reads film along an edge, holds back by slider and takes readings",
    "[view][window][long]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const ScratchFolder scratch;
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
    REQUIRE(
        fingers.until([&] { return session.edge.model.trial() != nullptr; }, 60)); // while it is held down
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
    write_text(csv, "panel,test-plate\nx_mm,y_mm,total_um\n60,60,118\n150,120,121\n240,60,75\n60,180,119\n");
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

// Long because it is one sitting at the window: a square taped, worked and advised on, each from the one
// before.
TEST_CASE("The window tapes a square by mouse, takes a try by keyboard and shows the advice",
          "[view][window][section][long]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const ScratchFolder scratch;
    const fs::path file = scratch.path / "bus.json";
    write_text(scratch.path / "kit.json", R"({"kind": "kit", "name": "Small kit",
        "machines": [{"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "60 mm/s",
            "passes": 2}],
        "pads": ["medium-foam-150"], "liquids": ["finishing-polish", "polish", "cutting-compound"]})");
    write_text(file,
               R"({"kind": "record", "name": "Bus 7", "kit": "./kit.json", "panels": [{"panel": "test-plate",
            "clean": false}]})");
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
        CHECK_THAT(session.section.model.form.fault,
                   Catch::Contains("lots") && Catch::Contains("nearly all"));
        CHECK(session.section.model.squares().front().tries.empty());
        fingers.act("enter-try");
        fingers.press(GLFW_KEY_TAB);
        fingers.press(GLFW_KEY_TAB);
        fingers.type("nearly all");
        fingers.press(GLFW_KEY_ENTER);
        REQUIRE(session.section.model.squares().front().tries.size() == 1);
        CHECK(session.section.model.squares().front().tries.front().seen == "nearly all");
        CHECK_THAT(bytes_of(file), Catch::Contains("da-15+medium-foam-150+cutting-compound") &&
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
        CHECK(norm(*session.edits.choices().technique.section_centre -
                   session.section.model.squares().front().at) < 1e-9);
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

} // namespace test_view_window_pages
