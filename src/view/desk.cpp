#include "view/desk.hpp"
#include "job/path_csv.hpp"
#include "job/reader.hpp"
#include "picture/map_drawing.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <chrono>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <nlohmann/json.hpp>

namespace sparecoat {
namespace {

namespace fs = std::filesystem;

constexpr double edit_every_s = 0.12;   // while a value is dragged
constexpr double assess_every_s = 0.35;
constexpr double scale_every_s = 0.2;
constexpr double notice_s = 6;
constexpr double hand_tilt_rad = 4 * deg, hand_tilt_rate_rad_s = 16 * deg;
// An arm's path file may not jump (2 m/s at most), and a pointer does. The second holds where a slow frame is
// followed by a quick one and both fall between two of the recorder's samples.
constexpr double hand_speed_m_s = 1.0, hand_step_m = 0.016;
constexpr double least_hand_force_n = 0, most_hand_force_n = 150;

bool is_of_this_moment(MapKind kind) { return kind == MapKind::pressure_now || kind == MapKind::speed_now; }

double towards(double from, double to, double by) { return from < to ? std::min(from + by, to) : std::max(from - by, to); }

} // namespace

std::string clock_text(double seconds) {
    const long whole = std::lround(std::floor(std::max(0.0, seconds)));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
}

void RunColumns::bring_up_to_date(const LiveView& view) {
    if (generation != view.generation || view.trace.size() < t_s.size()) {
        for (auto* column : {&t_s, &asked_n, &carried_n, &spin_per_min, &removal_mm3_min, &worst_percent}) column->clear();
        generation = view.generation;
    }
    for (std::size_t k = t_s.size(); k < view.trace.size(); ++k) {
        const StepReport& step = view.trace[k];
        t_s.push_back(static_cast<float>(step.t_s));
        asked_n.push_back(step.down ? static_cast<float>(step.force_n) : 0);
        carried_n.push_back(static_cast<float>(step.carried_n));
        spin_per_min.push_back(step.down ? static_cast<float>(step.spin_rad_s / per_min) : 0);
        removal_mm3_min.push_back(step.dt_s > 0 ? static_cast<float>(step.removed_m3 / step.dt_s * 60e9) : 0);
        worst_percent.push_back(static_cast<float>(100 * view.worst_share[k]));
    }
}

Desk::Desk(Library library, const RunRequest& request, Settings remembered)
    : bench(std::move(library), request), live(bench.job()), shown(bench.job()), settings(std::move(remembered)) {
    live.set_speed(settings.times_real_time);
    hand_force_n = choices().technique.force_n;
}

bool Desk::attempt(const std::function<void()>& what) {
    try {
        what();
        return true;
    } catch (const InputError& error) {
        messages.emplace_back(error.what());
        return false;
    }
}

void Desk::notify(const std::string& text) {
    notice = text;
    notice_until_s_ = now_s_ + notice_s;
}

// ---- choices --------------------------------------------------------------------------------------

void Desk::edit(const Choices& next, const std::string& label, int drag) {
    if (drag != 0 && now_s_ - applied_s_ < edit_pause_s_) {
        waiting_ = Waiting{next, label, drag};
        return;
    }
    apply(next, label, drag);
}

void Desk::apply(const Choices& next, const std::string& label, int drag) {
    waiting_.reset();
    applied_s_ = now_s_;
    const auto began = std::chrono::steady_clock::now();
    if (attempt([&] { bench.edit(next, label, drag); })) restart();
    // A large panel's path takes a while to lay: then a drag is followed less often and stays smooth.
    const double took_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
    edit_pause_s_ = std::max(edit_every_s, 3 * took_s);
}

void Desk::restart() {
    const bool worked = view.t_s > 0;
    live.restart(bench.job());
    hand_recorded = false;
    if (worked) live.play(); // a change is to be watched, not to blank the panel
}

void Desk::choose_machine(const std::string& id) {
    attempt([&] {
        Choices next = bench.choices();
        Technique& t = next.technique;
        t.machine = id;
        const Machine machine = bench.library().machine(id);
        t.speed_rad_s = std::clamp(t.speed_rad_s, machine.speed_min_rad_s, machine.speed_max_rad_s);
        const auto fits = [&](const std::string& pad) {
            const double diameter = 2 * bench.library().pad(pad).radius_m;
            return diameter > machine.pad_min_m - 1e-6 && diameter < machine.pad_max_m + 1e-6;
        };
        if (!fits(t.pad)) {
            const std::string family = t.pad.substr(0, t.pad.rfind('-'));
            std::string any;
            for (const Listing& pad : list(PresetKind::pad)) {
                if (!fits(pad.id)) continue;
                any = any.empty() ? pad.id : any;
                if (pad.id.substr(0, pad.id.rfind('-')) == family) {
                    any = pad.id;
                    break;
                }
            }
            if (!any.empty()) t.pad = any;
        }
        apply(next, "machine", 0);
    });
}

void Desk::choose_panel(const std::string& reference) {
    Choices next = bench.choices();
    next.request.panel = reference;
    next.request.path_csv.reset();          // recorded over another panel
    next.technique.hold_back_edge_m.clear(); // the edges' names are the panel's own
    next.technique.tape_edge_m.clear();
    next.technique.section_centre.reset();
    apply(next, "panel", 0);
}

void Desk::load_technique(const std::string& reference) {
    if (attempt([&] { bench.load_technique(reference); })) {
        hand_force_n = choices().technique.force_n;
        restart();
    }
}

void Desk::open(const fs::path& file) {
    attempt([&] {
        const std::string ending = lower_extension(file);
        if (ending == ".csv") {
            Choices next = bench.choices();
            next.request.path_csv = file;
            apply(next, "recorded path", 0);
        } else if (ending == ".obj" || ending == ".stl") {
            choose_panel(file.string());
        } else if (ending == ".json") {
            const nlohmann::json document = load_json(file);
            const std::string kind = document.is_object() && document.contains("kind") && document["kind"].is_string()
                                         ? document["kind"].get<std::string>() : "";
            if (kind == "panel") choose_panel(file.string());
            else if (kind == "technique") load_technique(file.string());
            else
                throw InputError(file.string(), "/kind", kind.empty() ? "no kind" : fmt::format("\"{}\"", kind),
                                 "\"panel\" or \"technique\"");
        } else {
            throw InputError(file.string(), "", "a file that ends in \"" + ending + "\"",
                             "a panel (.json, .obj, .stl), a technique (.json) or a recorded path (.csv)");
        }
    });
}

void Desk::save_path(const fs::path& csv) {
    if (!attempt([&] { write_path_csv(csv, live.path()); })) return;
    hand_recorded = false;
    notify("Path saved as " + csv.string());
}

const std::vector<Listing>& Desk::list(PresetKind kind) {
    std::vector<Listing>& listing = listings_[static_cast<std::size_t>(kind)];
    if (listing.empty()) attempt([&] { listing = bench.library().list(kind); });
    return listing;
}

// ---- keys -----------------------------------------------------------------------------------------

void Desk::act(Action action) {
    constexpr float turn = 0.09f, shift = 0.06f, nearer = 0.88f;
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
    case Action::slower:
    case Action::faster: {
        auto at = std::lower_bound(play_speeds.begin(), play_speeds.end(), settings.times_real_time);
        if (action == Action::faster && at + 1 < play_speeds.end()) ++at;
        if (action == Action::slower && at != play_speeds.begin()) --at;
        settings.times_real_time = *at;
        live.set_speed(*at);
        break;
    }
    case Action::map_film_lost: show(MapKind::film_lost); break;
    case Action::map_clear_left: show(MapKind::clear_left); break;
    case Action::map_pressure: show(MapKind::pressure_now); break;
    case Action::map_speed: show(MapKind::speed_now); break;
    case Action::map_contact: show(MapKind::contact_time); break;
    case Action::map_work: show(MapKind::friction_work); break;
    case Action::toggle_map: draw_map = !draw_map; break;
    case Action::toggle_contours: settings.contours = !settings.contours; break;
    case Action::toggle_unit:
        settings.unit = settings.unit == FilmUnit::um ? FilmUnit::mil : FilmUnit::um;
        refresh_scale();
        break;
    case Action::lock_range: {
        auto& range = settings.ranges[static_cast<std::size_t>(settings.map)];
        if (range) range.reset();
        else
            range = LockedRange{static_cast<float>(scale.low / shown_per_unit()),
                                static_cast<float>(scale.high / shown_per_unit())};
        refresh_scale();
        break;
    }
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
    case Action::next_spot: go_to_next_spot(); break;
    case Action::drop_spot: pinned.reset(); break;
    case Action::previous_value: value_row = value_row <= 0 ? value_rows - 1 : value_row - 1; break;
    case Action::next_value: value_row = value_row + 1 >= value_rows ? 0 : value_row + 1; break;
    case Action::lower_value: nudge = -1; break;
    case Action::raise_value: nudge = 1; break;
    case Action::type_value: begin_typing = true; break;
    case Action::undo:
    case Action::redo:
        waiting_.reset();
        if (action == Action::undo ? !bench.can_undo() : !bench.can_redo()) break;
        if (attempt([&] { action == Action::undo ? bench.undo() : bench.redo(); })) restart();
        break;
    case Action::open_file: chooser = Chooser::open; break;
    case Action::save_path: chooser = Chooser::save; break;
    case Action::hand_mode: set_hand_mode(!view.hand); break;
    case Action::trigger: trigger_key = true; break;
    case Action::tilt_left:
    case Action::tilt_right:
    case Action::tilt_up:
    case Action::tilt_down: held_.insert(action); break;
    case Action::less_force: change_force(-2); break;
    case Action::more_force: change_force(2); break;
    case Action::toggle_cards: cards = !cards; break;
    case Action::toggle_strips: settings.strip_charts = !settings.strip_charts; break;
    case Action::toggle_theme: settings.light_theme = !settings.light_theme; break;
    case Action::toggle_help: help = !help; break;
    case Action::toggle_timing: timing = !timing; break;
    case Action::full_screen: wants_full_screen = true; break;
    case Action::close:
        if (!messages.empty()) messages.erase(messages.begin());
        else if (chooser != Chooser::none) chooser = Chooser::none;
        else if (help) help = false;
        else if (view.hand) set_hand_mode(false);
        else pinned.reset(), value_row = -1;
        break;
    case Action::quit: quit = true; break;
    }
}

void Desk::release(Action action) {
    held_.erase(action);
    if (action == Action::trigger) trigger_key = false;
}

void Desk::seek(double t_s) {
    if (view.hand) return;
    live.seek(std::clamp(t_s, 0.0, view.end_s));
}

void Desk::go_to_next_event() {
    for (const Event& event : view.events)
        if (event.from_s > view.t_s + 0.05) return seek(event.from_s);
    if (!view.events.empty()) seek(view.events.front().from_s);
}

void Desk::go_to_next_spot() {
    if (!verdict || verdict->worst.empty()) return;
    pinned = verdict->worst[next_spot_ % verdict->worst.size()].at;
    next_spot_ = (next_spot_ + 1) % verdict->worst.size();
}

// ---- the hand -------------------------------------------------------------------------------------

void Desk::set_hand_mode(bool on) {
    trigger_key = trigger_button = false;
    held_.clear();
    tilt_ = {};
    if (!on) {
        live.end_hand();
        view.hand = false;
        hand_recorded = true;
        notify(fmt::format("Stroke kept. {} saves it.", keys_of(Action::save_path)));
        return;
    }
    pinned.reset();
    hand_at = pointer.value_or(view.now.at);
    live.hand(hand_input());
    live.begin_hand();
    live.play();
    view.hand = true;
    notify("Mouse moves, left button runs, wheel sets the force");
}

void Desk::change_force(double by_n) {
    hand_force_n = std::clamp(hand_force_n + by_n, least_hand_force_n, most_hand_force_n);
}

void Desk::feed_hand(double dt_s) {
    if (!view.hand) return;
    const auto want = [&](Action less, Action more) {
        return hand_tilt_rad * ((held_.contains(more) ? 1 : 0) - (held_.contains(less) ? 1 : 0));
    };
    const double by = hand_tilt_rate_rad_s * dt_s;
    tilt_.x = towards(tilt_.x, want(Action::tilt_left, Action::tilt_right), by);
    tilt_.y = towards(tilt_.y, want(Action::tilt_down, Action::tilt_up), by);
    if (pointer) {
        const Point2 way = *pointer - hand_at;
        const double reach = std::min(hand_speed_m_s * dt_s, hand_step_m), length = norm(way);
        hand_at = length <= reach ? *pointer : hand_at + (reach / length) * way;
    }
    live.hand(hand_input());
}

HandInput Desk::hand_input() const {
    HandInput input;
    input.at = hand_at;
    input.force_n = hand_force_n;
    input.tilt_rad = tilt_;
    // Off the panel the trigger is let go: nobody presses a running pad into the air.
    input.trigger = (trigger_key || trigger_button) && pointer.has_value();
    return input;
}

// ---- every frame ----------------------------------------------------------------------------------

void Desk::tick(double now_s) {
    const double dt_s = std::clamp(now_s - now_s_, 0.0, 0.1);
    now_s_ = now_s;
    if (waiting_ && now_s - applied_s_ >= edit_pause_s_) {
        const Waiting waiting = *waiting_;
        apply(waiting.next, waiting.label, waiting.drag);
    }
    if (now_s > notice_until_s_) notice.clear();
    feed_hand(dt_s);

    const std::uint64_t generation = view.generation;
    const std::vector<Tile> tiles = live.update(view);
    if (view.generation != generation) {
        const std::shared_ptr<const RunJob> job = live.job();
        panel_changed_ = generation == 0 || shown->request.panel != job->request.panel ||
                         shown->request.grid_m != job->request.grid_m;
        shown = job;
        verdict.reset(), contour_labels.clear(), history.clear();
        peak_low_ = peak_high_ = 0;
        next_spot_ = 0;
        map_stale_ = true;
        if (pinned && !cell_at(*pinned)) pinned.reset();
    } else {
        panel_changed_ = false;
    }
    if (view.fields.removed_um.size() != shown->panel.grid.cells()) return; // the first frame may come before the run
    refresh_map(tiles);
    if (map_stale_ || now_s - scaled_s_ > scale_every_s) refresh_scale();
    map_stale_ = false;
    keep_history();
    columns.bring_up_to_date(view);
    assess(now_s);
}

void Desk::show(MapKind kind) {
    draw_map = true;
    if (settings.map == kind) return;
    settings.map = kind;
    contour_labels.clear();
    peak_low_ = peak_high_ = 0;
    map_stale_ = true;
}

void Desk::refresh_map(const std::vector<Tile>& tiles) {
    const bool all = map_stale_ || map.size() != shown->panel.grid.cells();
    changed_ = all ? all_tiles(shown->panel.grid) : tiles;
    if (all) map.clear();
    map_values(settings.map, *shown, view, map, all ? nullptr : &changed_);
}

double Desk::shown_per_unit() const { return map_info(settings.map).film ? per_um(settings.unit) : 1.0; }

std::string Desk::unit_text() const {
    return map_info(settings.map).film ? text_of(settings.unit) : map_info(settings.map).unit;
}

void Desk::refresh_scale() {
    scaled_s_ = now_s_;
    const double factor = shown_per_unit();
    if (const auto& range = settings.ranges[static_cast<std::size_t>(settings.map)]) {
        scale = locked_scale(static_cast<double>(range->low) * factor, static_cast<double>(range->high) * factor);
        return;
    }
    float low = std::numeric_limits<float>::infinity(), high = -low;
    for (const float value : map) { // comparisons with NaN are false: cells outside drop out
        low = value < low ? value : low;
        high = value > high ? value : high;
    }
    if (!(low <= high)) low = high = 0;
    double from = static_cast<double>(low), to = static_cast<double>(high);
    if (is_of_this_moment(settings.map)) {
        peak_high_ = std::max(peak_high_, to);
        from = 0, to = peak_high_;
    }
    scale = round_scale(from * factor, to * factor);
}

std::optional<std::size_t> Desk::cell_at(Point2 at) const {
    const Grid& grid = shown->panel.grid;
    const auto i = static_cast<int>(std::lround((at.x - grid.x0_m) / grid.h_m));
    const auto j = static_cast<int>(std::lround((at.y - grid.y0_m) / grid.h_m));
    if (i < 0 || j < 0 || i >= grid.nu || j >= grid.nv || !shown->panel.inside[grid.index(i, j)]) return {};
    return grid.index(i, j);
}

std::optional<SpotAtRisk> Desk::described_spot() const {
    const std::optional<std::size_t> cell = spot() ? cell_at(*spot()) : std::nullopt;
    if (!cell || !verdict || view.fields.removed_um.size() <= *cell) return {};
    return describe_spot(shown->panel, view.fields, verdict->open, *cell);
}

void Desk::keep_history() {
    const std::optional<std::size_t> cell = spot() ? cell_at(*spot()) : std::nullopt;
    if (!cell) return history.clear();
    if (*cell != history_cell_) history.clear();
    history_cell_ = *cell;
    const auto t = static_cast<float>(view.t_s);
    while (!history.t_s.empty() && history.t_s.back() >= t) { // sought back, or standing still
        history.t_s.pop_back(), history.pressure_kpa.pop_back();
        history.speed_m_s.pop_back(), history.removed_um.pop_back();
    }
    history.t_s.push_back(t);
    history.pressure_kpa.push_back(view.pressure_pa[*cell] * 1e-3f);
    history.speed_m_s.push_back(view.speed_m_s[*cell]);
    history.removed_um.push_back(view.fields.removed_um[*cell]);
}

void Desk::assess(double now_s) {
    if (std::optional<Assessment> answer = assessor_.take(); answer && answer->generation == view.generation) {
        verdict = std::move(answer->verdict);
        contour_labels = std::move(answer->labels);
    }
    if (now_s - assessed_s_ < assess_every_s || !assessor_.idle()) return;
    assessed_s_ = now_s;
    AssessRequest request{shown, view.fields, map, {}, view.generation};
    if (settings.contours && !is_of_this_moment(settings.map))
        for (const double tick : scale.ticks)
            if (tick > scale.low && tick < scale.high) request.levels.push_back(tick / shown_per_unit());
    assessor_.ask(std::move(request));
}

} // namespace sparecoat
