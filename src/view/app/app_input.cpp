// Keys and mouse of the window.
#include "library/sweep_design.hpp"
#include "units/error.hpp"
#include "view/app/app.hpp"
#include "view/render/shot.hpp"
#include <glad/gl.h>
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <algorithm>
#include <backends/imgui_impl_opengl3.h>
#include <cmath>
#include <imgui.h>
#include <imgui_internal.h> // ClosePopupToLevel, WantTextInputNextFrame

namespace sparecoat::app {

// ---- input ----------------------------------------------------------------------------------------

void Window::on_key(int key, int action, int mods) {
    events_.push_back({Event::Kind::key, key, action, mods, 0, 0});
}
void Window::on_text(unsigned code_point) {
    events_.push_back({Event::Kind::text, static_cast<int>(code_point), 0, 0, 0, 0});
}
void Window::on_cursor(double x, double y) { events_.push_back({Event::Kind::cursor, 0, 0, 0, x, y}); }
void Window::on_button(int button, int action, int mods) {
    events_.push_back({Event::Kind::button, button, action, mods, 0, 0});
}
void Window::on_scroll(double x, double y) { events_.push_back({Event::Kind::scroll, 0, 0, 0, x, y}); }

void Window::on_drop(const std::vector<std::filesystem::path>& files) {
    for (const std::filesystem::path& file : files) session_->open(file);
}

/// Hands events to ImGui in order, but no button or key twice in a frame: a click faster than a frame
/// would leave no trace in a state that is only looked at once a frame.
void Window::take_events() {
    ImGuiIO& io = ImGui::GetIO();
    bool button_seen = false;
    while (!events_.empty()) {
        const Event event = events_.front();
        if (button_seen && (event.kind == Event::Kind::button || event.kind == Event::Kind::cursor)) return;
        events_.pop_front();
        switch (event.kind) {
        case Event::Kind::cursor:
            io.MousePos = {static_cast<float>(event.x) * per_screen_x_,
                           static_cast<float>(event.y) * per_screen_y_};
            break;
        case Event::Kind::button:
            if (event.code >= 0 && event.code < ImGuiMouseButton_COUNT)
                io.MouseDown[event.code] = event.action != GLFW_RELEASE;
            button_seen = true;
            break;
        case Event::Kind::scroll:
            io.MouseWheelH += static_cast<float>(event.x);
            io.MouseWheel += static_cast<float>(event.y);
            break;
        case Event::Kind::text:
            if (Page* page = session_->front(); page && page->takes_text() && !io.WantTextInput)
                page->type(static_cast<unsigned>(event.code));
            else
                io.AddInputCharacter(
                    static_cast<unsigned>(event.code)); // dropped by ImGui where nobody types
            break;
        case Event::Kind::key: take_key(event); return; // what a key opens may want the next one
        }
    }
}

void Window::take_key(const Event& event) {
    ImGuiIO& io = ImGui::GetIO();
    if (event.code < 0 || event.code > GLFW_KEY_LAST) return;
    const bool down = event.action != GLFW_RELEASE;
    // A modifier's own event may or may not count itself among the modifiers, by platform.
    const auto held = [&](int bit, int left, int right) {
        return event.code == left || event.code == right ? down : (event.mods & bit) != 0;
    };
    io.KeyCtrl = held(GLFW_MOD_CONTROL, GLFW_KEY_LEFT_CONTROL, GLFW_KEY_RIGHT_CONTROL);
    io.KeyShift = held(GLFW_MOD_SHIFT, GLFW_KEY_LEFT_SHIFT, GLFW_KEY_RIGHT_SHIFT);
    io.KeyAlt = held(GLFW_MOD_ALT, GLFW_KEY_LEFT_ALT, GLFW_KEY_RIGHT_ALT);
    if (!down) {
        io.KeysDown[event.code] = false;
        for (const KeyBinding& binding : key_bindings())
            if (binding.key == event.code && binding.context == KeyContext::hand)
                session_->release(binding.action);
        return;
    }
    if (ImGui::IsPopupOpen("", ImGuiPopupFlags_AnyPopupId | ImGuiPopupFlags_AnyPopupLevel)) {
        if (event.code == GLFW_KEY_ESCAPE) ImGui::ClosePopupToLevel(0, true);
        return;
    }
    // The second tells of a field that was opened in the very last frame.
    const bool typing = io.WantTextInput || ImGui::GetCurrentContext()->WantTextInputNextFrame > 0;
    const bool leaves = event.code == GLFW_KEY_ESCAPE &&
                        (session_->chooser != Session::Chooser::none || session_->board.model.form);
    if (typing && !leaves) {
        io.KeysDown[event.code] = true;
        return;
    }
    const int key = event.code == GLFW_KEY_KP_ENTER ? GLFW_KEY_ENTER : event.code;
    const KeyBinding* binding =
        binding_for(key, event.mods, session_->view.hand, session_->in_lesson, session_->key_context());
    if (session_->dialog()) {
        if (session_->messages.empty())
            for (Page* page : session_->pages())
                if (page->dialog() && page->key_in_dialog(key)) return;
        if (!session_->messages.empty() && key == GLFW_KEY_ENTER) return session_->act(Action::close);
        if (session_->messages.empty() && session_->asks()) {
            if (key == GLFW_KEY_ENTER) return session_->answer(Session::Answer::save);
            if (key == GLFW_KEY_D) return session_->answer(Session::Answer::drop);
        }
        const bool allowed =
            binding && (binding->action == Action::close || binding->action == Action::quit ||
                        binding->action == Action::toggle_help || binding->action == Action::lessons);
        if (!allowed) return;
    }
    if (binding && (event.action == GLFW_PRESS || binding->repeats)) session_->act(binding->action);
}

/// A click on the panel holds the spot there; one on a pin's head the pin's.
void Window::hold_spot(float x, float y) {
    Session& session = *session_;
    const Box& stage = layout_.stage;
    const Panel& panel = session.shown->panel;
    for (const Point2 pin : session.shows_map() ? session.pins() : std::vector<Point2>{}) {
        const glm::vec3 foot(static_cast<float>(pin.x), static_cast<float>(pin.y),
                             static_cast<float>(height_at(panel, pin)));
        const glm::vec3 seen = session.camera.project(foot, stage.w / stage.h);
        if (seen.z < 0 || !faces(panel, pin, session.camera.eye())) continue;
        const float dx = stage.x + seen.x * stage.w - x,
                    dy = stage.y + seen.y * stage.h - pin_head * fonts_.scale - y;
        if (std::hypot(dx, dy) < pin_size * fonts_.scale) return session.hold(pin);
    }
    if (session.pointer) session.hold(*session.pointer);
    else session.pinned.reset();
}

/// How near on the panel a corner of tape counts as meant: a finger's breadth on the screen.
double Window::tape_reach_m(Point2 at) const {
    constexpr double away_m = 0.01;
    const Box& stage = layout_.stage;
    const auto seen = [&](Point2 p) {
        const glm::vec3 q =
            session_->camera.project({static_cast<float>(p.x), static_cast<float>(p.y),
                                      static_cast<float>(height_at(session_->shown->panel, at))},
                                     stage.w / stage.h);
        return ImVec2{q.x * stage.w, q.y * stage.h};
    };
    const ImVec2 here = seen(at), right = seen(at + Point2{away_m, 0}), up = seen(at + Point2{0, away_m});
    const float pixels =
        0.5f * (std::hypot(right.x - here.x, right.y - here.y) + std::hypot(up.x - here.x, up.y - here.y));
    return away_m * static_cast<double>(12 * fonts_.scale / std::max(pixels, 1e-3f));
}

/// Tape in hand: laid on to where the pointer is, let go with the button.
void Window::work_tape() {
    Session& session = *session_;
    if (session.pointer) session.section.lay_tape(*session.pointer);
    if (!ImGui::IsMouseDown(stage_button_)) session.section.let_tape_go();
}

/// The mouse over the panel: lays tape, turns, moves and zooms the view, holds a spot, or drives the pad.
void Window::work_stage() {
    Session& session = *session_;
    if (session.front()) {
        session.pointer.reset();
        stage_button_ = -1, taping_ = false;
        session.front()->work_mouse();
        return;
    }
    const ImGuiIO& io = ImGui::GetIO();
    const Box& stage = layout_.stage;
    const float aspect = stage.w / stage.h;
    const bool over = stage.holds(io.MousePos) && !io.WantCaptureMouse;
    session.pointer.reset();
    if (over || stage_button_ >= 0) {
        const float x = (io.MousePos.x - stage.x) / stage.w, y = (io.MousePos.y - stage.y) / stage.h;
        if (const auto at = pick(session.shown->panel, session.camera.ray(x, y, aspect)))
            session.pointer = *at;
    }
    for (int button = 0; button < 3; ++button)
        if (over && stage_button_ < 0 && ImGui::IsMouseClicked(button)) {
            stage_button_ = button, moved_ = false;
            taping_ = button == 0 && session.section.model.placing && session.pointer;
            if (taping_) session.section.take_tape(*session.pointer, tape_reach_m(*session.pointer));
        }
    const bool hand = session.view.hand;
    if (stage_button_ >= 0) {
        if (const ImVec2 d = ImGui::GetMouseDragDelta(stage_button_, 4); d.x != 0 || d.y != 0) moved_ = true;
        const float dx = io.MouseDelta.x / stage.h, dy = io.MouseDelta.y / stage.h;
        const int turning = hand ? 1 : 0;
        if (taping_) work_tape();
        const bool lamp = session.lamp.model.lit && io.KeyShift && !hand && stage_button_ == 0;
        if (lamp && session.pointer)
            session.lamp.model.show_at(session.shown->panel, *session.pointer, session.camera.eye());
        if (lamp) moved_ = true;         // no click either
        else if (taping_) moved_ = true; // no click either
        else if (moved_ && stage_button_ == turning) session.camera.orbit(-3 * dx, 3 * dy);
        else if (moved_ && !(hand && stage_button_ == 0)) session.camera.pan(dx, -dy);
        if (hand && stage_button_ == 0) session.trigger_button = true;
        if (!ImGui::IsMouseDown(stage_button_)) {
            if (stage_button_ == 0 && !moved_ && !hand) hold_spot(io.MousePos.x, io.MousePos.y);
            if (stage_button_ == 0) session.trigger_button = false;
            stage_button_ = -1, taping_ = false;
        }
    }
    if (over && io.MouseWheel != 0) {
        if (session.lamp.model.lit && io.KeyShift && !hand)
            session.lamp.model.raise(0.02 * static_cast<double>(io.MouseWheel));
        else if (hand) session.change_force(2 * static_cast<double>(io.MouseWheel));
        else session.camera.zoom(std::pow(0.88f, io.MouseWheel));
    }
}

} // namespace sparecoat::app
