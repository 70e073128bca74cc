#include "view/pages/lesson/lesson_page.hpp"
#include "units/error.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <utility>

namespace sparecoat::view::lesson {

void LessonPage::open(const std::string& reference) {
    session_.unless_lost([this, reference] {
        list = false;
        if (maker_.ask(session_.edits.library(), reference))
            session_.notify("Working the mistake and its remedy ...");
    });
}

bool LessonPage::key_in_dialog(int key) {
    const int rows = static_cast<int>(session_.list(PresetKind::lesson).size());
    if (key == GLFW_KEY_DOWN) row = rows > 0 ? (row + 1) % rows : 0;
    else if (key == GLFW_KEY_UP) row = rows > 0 ? (row + rows - 1) % rows : 0;
    else if (key == GLFW_KEY_ENTER && row < rows)
        open(session_.list(PresetKind::lesson)[static_cast<std::size_t>(row)].id);
    else return false;
    return true;
}

/// Takes up a lesson whose runs are done.
void LessonPage::begin() {
    session_.attempt([&] {
        std::shared_ptr<const LessonReport> report = maker_.take();
        if (!report) return;
        LessonHome home = play ? std::move(play->home)
                               : LessonHome{session_.edits,   session_.settings.map,    session_.draw_map,
                                            session_.camera,  session_.settings.ranges, session_.pinned,
                                            session_.view.t_s};
        if (!play) session_.put_aside.push_back({home.edits.choices().request, {}});
        play.emplace(std::move(report), std::move(home));
        session_.in_lesson = true;
        session_.notice.clear();
        show_step();
    });
}

void LessonPage::show_step() {
    session_.pinned.reset();
    session_.settings.ranges = play->home.ranges;
    const MapKind shown_map = map_kind(play->frame().map);
    session_.show(shown_map);
    if (!session_.range_locked())
        session_.settings.ranges[static_cast<std::size_t>(shown_map)] = play->range(shown_map);
    session_.replace_edits(EditHistory(session_.edits.library(), play->choices(), play->job()));
    play->view_due = true;
    session_.live.pause();
    if (session_.live.job() != play->job() || session_.view.by_hand) session_.live.restart(play->job());
    session_.live.seek(play->scene().at_s);
}

void LessonPage::go(int by) {
    if (!play || (by < 0 && play->step() == 0)) return;
    session_.unless_lost([this, by] {
        if (play && play->go_to(play->step() + static_cast<std::size_t>(by))) show_step();
    });
}

void LessonPage::turn_over() {
    if (!play || !play->has_other_side()) return;
    session_.unless_lost([this] {
        if (!play) return;
        play->turn_over();
        show_step();
    });
}

void LessonPage::leave() {
    if (!play) return;
    LessonHome home = std::move(play->home);
    play.reset();
    session_.in_lesson = false;
    session_.put_aside.pop_back();
    session_.replace_edits(std::move(home.edits));
    session_.settings.ranges = home.ranges;
    session_.show(home.map);
    session_.draw_map = home.draw_map, session_.pinned = home.pinned;
    camera_back_ = home.camera;
    session_.live.pause();
    session_.live.restart(session_.edits.job());
    session_.live.seek(home.t_s);
}

/// Played, a step stops at its moment; played again, it starts from the beginning.
void LessonPage::play_step() {
    if (session_.view.t_s >= play->scene().at_s - 1e-3) session_.live.seek(0);
    rewinding_from_s_ = session_.view.t_s;
    session_.live.play();
}

bool LessonPage::act(Action action) {
    switch (action) {
    case Action::play_pause:
        if (!play || session_.view.playing || session_.view.by_hand) return false;
        play_step();
        break;
    case Action::lessons: list = !list; break;
    case Action::lesson_on: go(1); break;
    case Action::lesson_back: go(-1); break;
    case Action::lesson_turn: turn_over(); break;
    case Action::lesson_leave: session_.unless_lost([this] { leave(); }); break;
    default: return false;
    }
    return true;
}

bool LessonPage::close() {
    session_.unless_lost([this] { leave(); });
    return true;
}

void LessonPage::end_tick() {
    if (maker_.working()) begin();
    if (!play) return;
    if (rewinding_from_s_ != session_.view.t_s) rewinding_from_s_.reset();
    if (!session_.view.playing || rewinding_from_s_ || session_.view.t_s < play->scene().at_s) return;
    session_.live.pause();
    session_.live.seek(play->scene().at_s);
}

void LessonPage::set_view() {
    if (camera_back_ && (!play && session_.shown == session_.edits.job()))
        session_.camera = *std::exchange(camera_back_, std::nullopt);
    if (!play || !play->view_due || session_.shown != play->job()) return;
    play->view_due = false;
    const LessonFrame& frame = play->frame();
    session_.camera.look_from(frame.camera);
    if (frame.nearer <= 1) return;
    const Point2 at = frame.look_at.value_or(play->scene().at);
    session_.camera.aim(glm::vec3(at.x, at.y, height_at(session_.shown->panel, at)));
    session_.camera.zoom(static_cast<float>(1 / frame.nearer));
}

} // namespace sparecoat::view::lesson
