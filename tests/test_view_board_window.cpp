// The vehicle's board in the real window, by keys and mouse.
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/window.hpp"
#include <catch2/catch.hpp>
#include <imgui.h>

namespace test_view_board_window {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using Catch::Matchers::Contains;

// Long because it is one sitting at the board: a job made, read, planned and put on the bench, each from the
// one before.
TEST_CASE(
    "The window shows a job's board, takes panels, readings and work by keyboard, and a panel to the bench",
    "[view][window][board][long]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const ScratchFolder scratch;
    const fs::path file = scratch.path / "bus.sparecoat";
    {
        JobFile job = JobFile::create(file, minibus());
        add_panel(job, "lid", "test-plate");
    }
    WindowRequest request = window_request(scratch.path / "settings.json");
    request.job = file;
    {
        Window window(request);
        Fingers fingers(window);
        Session& session = window.session();
        JobModel& job = session.board.model;
        REQUIRE(fingers.until([&] { return session.view.generation > 0 && session.view.end_s > 0; }));
        REQUIRE(session.board.in_front());
        const Window::Image first = window.picture();

        // A visit: the form has the keyboard, its letters work no keys.
        fingers.act("add-visit");
        REQUIRE(job.form);
        fingers.type("2026-03-14");
        fingers.press(GLFW_KEY_TAB);
        fingers.type("spring");
        fingers.press(GLFW_KEY_ENTER);
        REQUIRE(job.board().visit);
        CHECK((job.board().visit->date == "2026-03-14" && job.board().visit->label == "spring"));

        // One more panel, its shape by some of its words.
        fingers.act("board-add-panel");
        fingers.type("flap");
        fingers.press(GLFW_KEY_TAB);
        fingers.type("test plate");
        fingers.press(GLFW_KEY_ENTER);
        REQUIRE(job.board().panels.size() == 2);
        CHECK(job.panel()->panel.name == "flap");
        CHECK(job.panel()->shape == "test-plate");
        fingers.act("board-left");
        CHECK(job.row == 0);
        fingers.act("board-clean");
        CHECK(job.panel()->clean());
        CHECK(difference(first, window.picture(), {0, 92, 936, 500}) >
              0.01); // a second tile's words and frame: 0.017 was seen

        // Readings: digits and Enter, a comma, something refused.
        fingers.act("board-readings");
        REQUIRE((job.entry && job.page == BoardPart::readings));
        const auto put = [&](const std::string& words) {
            fingers.type(words);
            fingers.press(GLFW_KEY_ENTER);
        };
        put("112"), put("113,5"), put("4.2");
        CHECK_THAT(job.entry->fault, Contains("did you mean mil"));
        for (int k = 0; k < 3; ++k) fingers.press(GLFW_KEY_BACKSPACE);
        put("111");
        REQUIRE(job.panel()->readings.size() == 3);
        CHECK(job.reading_at(1)->film_um == 113.5);
        CHECK(job.entry->turn == 3);

        // From a spreadsheet, and back.
        glfwSetClipboardString(nullptr, "110\t111\t112\t113\n114\t115\t116\t117\n");
        fingers.act("spot-paste");
        REQUIRE(session.messages.empty());
        CHECK(job.panel()->readings.size() == 8);
        fingers.press(GLFW_KEY_Z, GLFW_MOD_CONTROL);
        CHECK(job.panel()->readings.size() == 3);
        fingers.act("close");
        CHECK(job.page == BoardPart::panels);

        // Work, and the panel on the bench with its readings; its film is theirs.
        fingers.act("board-work");
        fingers.type("one set by hand");
        fingers.press(GLFW_KEY_ENTER);
        CHECK(job.panel()->stand == PanelStand::done);
        fingers.act("board-open");
        REQUIRE(
            fingers.until([&] { return !session.board.opening_panel() && session.shown->film.has_value(); }));
        CHECK_FALSE(session.board.in_front());
        fingers.frames(4);
        CHECK(session.shown->film->readings == 3);
        fingers.act("board");
        CHECK(session.board.in_front());

        // A double click opens the other.
        const ImVec2 other{500, 180};
        fingers.click(other), fingers.click(other);
        REQUIRE(fingers.until([&] {
            return session.board.opened_panel() && session.board.opened_panel()->panel.name == "flap";
        }));
        CHECK(session.messages.empty());
        CHECK(window.gl_errors() == 0);
    }
    // The file has it all; the settings know nothing of the job's panels.
    const JobFile job = JobFile::open(file, JobFile::Access::read);
    CHECK(job.all<FilmReading>().size() == 3);
    CHECK(job.all<Work>().size() == 1);
    CHECK(load_settings(scratch.path / "settings.json").settings.panel == "test-plate");
}

} // namespace test_view_board_window
