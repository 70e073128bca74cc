// What keys do to the run, and the hand that drives the pad.
#include "units/quantity.hpp"
#include "view/window/run_session.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::view {
namespace {

constexpr double hand_tilt_rad = 4 * deg, hand_tilt_rate_rad_s = 16 * deg;
constexpr double least_hand_force_n = 0, most_hand_force_n = 150;

double towards(double from, double to, double by) {
    return from < to ? std::min(from + by, to) : std::max(from - by, to);
}

} // namespace

MapKind map_of(Action action) { // in one order
    return static_cast<MapKind>(static_cast<int>(action) - static_cast<int>(Action::map_film_lost));
}

bool look_by_key(Camera& camera, Action action) {
    constexpr float turn = 0.09f, shift = 0.06f, nearer = 0.88f;
    switch (action) {
    case Action::view_corner: camera.look_from("corner"); break;
    case Action::view_front: camera.look_from("front"); break;
    case Action::view_left: camera.look_from("left"); break;
    case Action::view_right: camera.look_from("right"); break;
    case Action::view_top: camera.look_from("top"); break;
    case Action::view_bottom: camera.look_from("bottom"); break;
    case Action::orbit_left: camera.orbit(-turn, 0); break;
    case Action::orbit_right: camera.orbit(turn, 0); break;
    case Action::orbit_up: camera.orbit(0, turn); break;
    case Action::orbit_down: camera.orbit(0, -turn); break;
    case Action::pan_left: camera.pan(-shift, 0); break;
    case Action::pan_right: camera.pan(shift, 0); break;
    case Action::pan_up: camera.pan(0, shift); break;
    case Action::pan_down: camera.pan(0, -shift); break;
    case Action::nearer: camera.zoom(nearer); break;
    case Action::farther: camera.zoom(1 / nearer); break;
    default: return false;
    }
    return true;
}

void RunSession::act(Action action) {
    if (Page* page = front(); page && page->act(action)) return;
    for (Page* page : pages_)
        if (page != front() && page->act(action)) return;
    if (look_by_key(camera, action) || act_on_time(action) || act_on_map(action) ||
        act_on_technique(action) || act_on_hand(action))
        return;
    act_on_window(action);
}

bool RunSession::is_on(Action action) const {
    return std::ranges::any_of(pages_, [&](const Page* page) { return page->is_on(action); });
}

bool RunSession::act_on_time(Action action) {
    switch (action) {
    case Action::play_pause:
        if (view.playing) live.pause();
        else {
            if (view.finished) live.seek(0);
            live.play();
        }
        break;
    case Action::step: live.step(); break;
    case Action::back: seek(view.t_s - 1); break;
    case Action::on: seek(view.t_s + 1); break;
    case Action::back_far: seek(view.t_s - 10); break;
    case Action::on_far: seek(view.t_s + 10); break;
    case Action::to_start: seek(0); break;
    case Action::to_end: seek(view.end_s); break;
    case Action::next_event: go_to_next_event(); break;
    case Action::slower: change_speed(false); break;
    case Action::faster: change_speed(true); break;
    default: return false;
    }
    return true;
}

void RunSession::change_speed(bool faster) {
    auto at = std::lower_bound(play_speeds.begin(), play_speeds.end(), settings.times_real_time);
    if (faster && at + 1 < play_speeds.end()) ++at;
    if (!faster && at != play_speeds.begin()) --at;
    settings.times_real_time = *at;
    live.set_speed(*at);
}

bool RunSession::act_on_map(Action action) {
    if (action >= Action::map_film_lost && action <= Action::map_chance) {
        show(map_of(action));
        return true;
    }
    switch (action) {
    case Action::toggle_map: draw_map = !draw_map; break;
    case Action::toggle_contours: settings.contours = !settings.contours; break;
    case Action::toggle_unit:
        settings.unit = settings.unit == FilmUnit::um ? FilmUnit::mil : FilmUnit::um;
        refresh_scale();
        break;
    case Action::lock_range: lock_or_free_range(); break;
    case Action::next_spot: go_to_next_spot(); break;
    case Action::drop_spot: pinned.reset(); break;
    default: return false;
    }
    return true;
}

void RunSession::lock_or_free_range() {
    auto& range = settings.ranges[static_cast<std::size_t>(settings.map)];
    if (range) range.reset();
    else
        range = LockedRange{static_cast<float>(scale.low / shown_per_unit()),
                            static_cast<float>(scale.high / shown_per_unit())};
    refresh_scale();
}

bool RunSession::act_on_technique(Action action) {
    switch (action) {
    case Action::previous_value: value_row = value_row <= 0 ? value_rows - 1 : value_row - 1; break;
    case Action::next_value: value_row = value_row + 1 >= value_rows ? 0 : value_row + 1; break;
    case Action::lower_value: nudge = -1; break;
    case Action::raise_value: nudge = 1; break;
    case Action::type_value: begin_typing = true; break;
    case Action::undo: step_history(EditStep::Kind::undo); break;
    case Action::redo: step_history(EditStep::Kind::redo); break;
    case Action::open_file: chooser = Chooser::open; break;
    case Action::save_path: chooser = Chooser::save; break;
    default: return false;
    }
    return true;
}

bool RunSession::act_on_hand(Action action) {
    switch (action) {
    case Action::hand_mode: view.hand ? end_hand() : unless_lost([this] { begin_hand(); }); break;
    case Action::trigger: trigger_key = true; break;
    case Action::tilt_left:
    case Action::tilt_right:
    case Action::tilt_up:
    case Action::tilt_down: held_.insert(action); break;
    case Action::less_force: change_force(-2); break;
    case Action::more_force: change_force(2); break;
    default: return false;
    }
    return true;
}

void RunSession::act_on_window(Action action) {
    switch (action) {
    case Action::toggle_cards: cards = !cards; break;
    case Action::toggle_strips: settings.strip_charts = !settings.strip_charts; break;
    case Action::toggle_theme: settings.light_theme = !settings.light_theme; break;
    case Action::toggle_help: help = !help; break;
    case Action::toggle_timing: timing = !timing; break;
    case Action::full_screen: wants_full_screen = true; break;
    case Action::close: close_what_is_open(); break;
    case Action::quit:
        unless_lost([this] {
            if (std::ranges::any_of(pages_, [](const Page* page) { return page->unsaved(); }))
                ask_first(Unsaved::record, [this] { quit = true; });
            else quit = true;
        });
        break;
    default: break; // a page's own, which means nothing now
    }
}

/// Escape: of all that is open the foremost.
void RunSession::close_what_is_open() {
    const auto any = [&](bool (Page::*closes)()) {
        return std::ranges::any_of(pages_, [&](Page* page) { return (page->*closes)(); });
    };
    if (!messages.empty()) messages.erase(messages.begin());
    else if (asks()) answer(Answer::go_back);
    else if (chooser != Chooser::none) chooser = Chooser::none;
    else if (help) help = false;
    else if (any(&Page::close_dialog)) return;
    else if (front()) front()->close();
    else if (any(&Page::let_go)) return;
    else if (view.hand) end_hand();
    else if (pinned || value_row >= 0) pinned.reset(), value_row = -1;
    else any(&Page::close);
}

void RunSession::release(Action action) {
    held_.erase(action);
    if (action == Action::trigger) trigger_key = false;
}

void RunSession::seek(double t_s) {
    if (view.hand) return;
    live.seek(std::clamp(t_s, 0.0, view.end_s));
}

void RunSession::go_to_next_event() {
    for (const Event& event : view.events)
        if (event.from_s > view.t_s + 0.05) return seek(event.from_s);
    if (!view.events.empty()) seek(view.events.front().from_s);
}

void RunSession::go_to_next_spot() {
    const std::vector<Point2> spots = pins();
    if (spots.empty()) return;
    hold(spots[next_spot_ % spots.size()]);
    next_spot_ = (next_spot_ + 1) % spots.size();
}

bool RunSession::mouse_taken() const {
    return std::ranges::any_of(pages_, [](const Page* page) { return page->takes_mouse(); });
}

// ---- the hand -------------------------------------------------------------------------------------

void RunSession::begin_hand() {
    trigger_key = trigger_button = false;
    for (Page* page : pages_) page->hand_begins();
    held_.clear();
    tilt_ = {};
    pinned.reset();
    hand_target_ = pointer.value_or(view.now.at);
    view.stroke.clear();
    live.hand(hand_input());
    live.begin_hand();
    live.play();
    view.hand = true;
    notify("Mouse moves, left button runs, wheel sets the force");
}

void RunSession::end_hand() {
    trigger_key = trigger_button = false;
    live.end_hand();
    view.hand = false;
    const ArmPath stroke = live.path();
    stroke_unsaved =
        std::any_of(stroke.samples.begin(), stroke.samples.end(), [](const ArmSample& s) { return s.down; });
    if (stroke_unsaved) notify(fmt::format("Stroke kept. {} saves it.", keys_of(Action::save_path)));
}

void RunSession::change_force(double by_n) {
    hand_force_n = std::clamp(hand_force_n + by_n, least_hand_force_n, most_hand_force_n);
}

void RunSession::feed_hand(double dt_s) {
    if (!view.hand) return;
    const auto want = [&](Action less, Action more) {
        return hand_tilt_rad * ((held_.contains(more) ? 1 : 0) - (held_.contains(less) ? 1 : 0));
    };
    const double by = hand_tilt_rate_rad_s * dt_s;
    tilt_.x = towards(tilt_.x, want(Action::tilt_left, Action::tilt_right), by);
    tilt_.y = towards(tilt_.y, want(Action::tilt_down, Action::tilt_up), by);
    hand_target_ = pointer.value_or(hand_at()); // off the panel it stays
    live.hand(hand_input());
}

HandInput RunSession::hand_input() const {
    HandInput input;
    input.at = hand_target_;
    input.force_n = hand_force_n;
    input.tilt_rad = tilt_;
    // Off the panel the trigger is let go: nobody presses a running pad into the air.
    input.trigger = (trigger_key || trigger_button) && pointer.has_value();
    return input;
}

} // namespace sparecoat::view
