// A lesson on the desk: what it puts aside, how it is stepped through, and how all is put back.
#include "units/error.hpp"
#include "view/app/session.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <fmt/format.h>

namespace sparecoat::view {

void Session::open_lesson(const std::string& reference) {
    unless_lost([this, reference] {
        lesson_list = false;
        if (lesson_maker_.ask(bench.library(), reference)) notify("Working the mistake and its remedy ...");
    });
}

bool Session::choose_lesson_by_key(int key) {
    const int rows = static_cast<int>(list(PresetKind::lesson).size());
    if (key == GLFW_KEY_DOWN) lesson_row = rows > 0 ? (lesson_row + 1) % rows : 0;
    else if (key == GLFW_KEY_UP) lesson_row = rows > 0 ? (lesson_row + rows - 1) % rows : 0;
    else if (key == GLFW_KEY_ENTER && lesson_row < rows)
        open_lesson(list(PresetKind::lesson)[static_cast<std::size_t>(lesson_row)].id);
    else return false;
    return true;
}

/// Takes up a lesson whose runs are done.
void Session::begin_lesson() {
    attempt([&] {
        std::shared_ptr<const LessonReport> report = lesson_maker_.take();
        if (!report) return;
        LessonHome home =
            lesson ? std::move(lesson->home)
                   : LessonHome{bench, settings.map, draw_map, camera, settings.ranges, pinned, view.t_s};
        lesson.emplace(std::move(report), std::move(home));
        notice.clear();
        show_lesson_step();
    });
}

/// What is still being made ready belongs to what is put aside or left.
void Session::drop_edits() {
    steps_.clear();
    making_ = false;
}

void Session::show_lesson_step() {
    drop_edits();
    pinned.reset();
    settings.ranges = lesson->home.ranges;
    const MapKind shown_map = map_kind(lesson->frame().map);
    show(shown_map);
    if (!range_locked()) settings.ranges[static_cast<std::size_t>(shown_map)] = lesson->range(shown_map);
    bench = EditHistory(bench.library(), lesson->choices(), lesson->job());
    lesson->view_due = true;
    live.pause();
    if (live.job() != lesson->job() || view.by_hand) live.restart(lesson->job());
    live.seek(lesson->scene().at_s);
}

void Session::go_in_lesson(int by) {
    if (!lesson || (by < 0 && lesson->step() == 0)) return;
    unless_lost([this, by] {
        if (lesson && lesson->go_to(lesson->step() + static_cast<std::size_t>(by))) show_lesson_step();
    });
}

void Session::turn_lesson_over() {
    if (!lesson || !lesson->has_other_side()) return;
    unless_lost([this] {
        if (!lesson) return;
        lesson->turn_over();
        show_lesson_step();
    });
}

void Session::leave_lesson() {
    if (!lesson) return;
    LessonHome home = std::move(lesson->home);
    lesson.reset();
    drop_edits();
    bench = std::move(home.bench);
    settings.ranges = home.ranges;
    show(home.map);
    draw_map = home.draw_map, pinned = home.pinned;
    camera_back_ = home.camera;
    live.pause();
    live.restart(bench.job());
    live.seek(home.t_s);
}

/// Played, a step stops at its moment; played again, it starts from the beginning.
void Session::play_lesson() {
    if (view.t_s >= lesson->scene().at_s - 1e-3) live.seek(0);
    rewinding_from_s_ = view.t_s;
    live.play();
}

void Session::tick_lesson() {
    if (lesson_maker_.working()) begin_lesson();
    if (!lesson) return;
    if (rewinding_from_s_ != view.t_s) rewinding_from_s_.reset();
    if (!view.playing || rewinding_from_s_ || view.t_s < lesson->scene().at_s) return;
    live.pause();
    live.seek(lesson->scene().at_s);
}

void Session::set_lesson_view() {
    if (camera_back_ && (!lesson && shown == bench.job()))
        camera = *std::exchange(camera_back_, std::nullopt);
    if (!lesson || !lesson->view_due || shown != lesson->job()) return;
    lesson->view_due = false;
    const LessonFrame& frame = lesson->frame();
    camera.look_from(frame.camera);
    if (frame.nearer <= 1) return;
    const Point2 at = frame.look_at.value_or(lesson->scene().at);
    camera.aim(glm::vec3(at.x, at.y, height_at(shown->panel, at)));
    camera.zoom(static_cast<float>(1 / frame.nearer));
}

} // namespace sparecoat::view
