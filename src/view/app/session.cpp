#include "view/app/session.hpp"
#include "formats/path_csv.hpp"
#include "formats/reader.hpp"
#include "picture/map_drawing.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

namespace sparecoat::view {
namespace {

namespace fs = std::filesystem;

constexpr double edit_every_s = 0.12; // while a value is dragged, so that a change is seen at work
constexpr double assess_every_s = 0.35;
constexpr double scale_every_s = 0.2;
constexpr double notice_s = 6;
constexpr double contour_number_size = 13; // in units of a window 720 high
constexpr double hand_tilt_rad = 4 * deg, hand_tilt_rate_rad_s = 16 * deg;
constexpr double least_hand_force_n = 0, most_hand_force_n = 150;

bool is_of_this_moment(MapKind kind) { return kind == MapKind::pressure_now || kind == MapKind::speed_now; }

/// Tells gauge readings from a recorded path by what their headers have: film, or times. What is neither is
/// left to the reader of paths to refuse.
bool looks_like_readings(const fs::path& csv) {
    std::ifstream in(csv);
    std::string line;
    for (int read = 0; read < 50 && std::getline(in, line); ++read) {
        if (line.starts_with("\xef\xbb\xbf")) line.erase(0, 3); // a byte order mark
        if (line.empty() || line[0] == '#') continue;
        if (line.starts_with("panel,")) return true;
        for (const char* column : {"total_um", "total_mil", "clear_um", "clear_mil"})
            if (line.find(column) != std::string::npos) return true;
        if (line.find("t_s") != std::string::npos) return false;
    }
    return false;
}

/// What a JSON document says it is; empty where it does not, and for other files.
std::string kind_of(const fs::path& file) {
    if (lower_extension(file) != ".json") return "";
    const nlohmann::json document = load_json(file);
    return document.is_object() && document.contains("kind") && document["kind"].is_string()
               ? document["kind"].get<std::string>()
               : "";
}

double towards(double from, double to, double by) {
    return from < to ? std::min(from + by, to) : std::max(from - by, to);
}

} // namespace

std::string clock_text(double seconds) {
    const long whole = std::lround(std::floor(std::max(0.0, seconds)));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
}

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

void RunColumns::bring_up_to_date(const LiveView& view) {
    if (generation != view.generation || view.trace.size() < t_s.size()) {
        for (auto* column : {&t_s, &asked_n, &carried_n, &spin_per_min, &removal_mm3_min, &worst_percent})
            column->clear();
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

Session::Session(Library library, const RunRequest& request, Settings remembered)
    : bench(std::move(library), request), live(bench.job()), shown(bench.job()),
      settings(std::move(remembered)) {
    live.set_speed(settings.times_real_time);
    hand_force_n = choices().technique.force_n;
    if (!choose_defects(settings.defects)) choose_defects(Settings{}.defects);
    if (settings.section) open_section(true);
}

bool Session::attempt(const std::function<void()>& what) {
    try {
        what();
        return true;
    } catch (const InputError& error) {
        messages.emplace_back(error.what());
        return false;
    }
}

void Session::notify(const std::string& text) {
    notice = text;
    notice_until_s_ = now_s_ + notice_s;
}

// ---- choices --------------------------------------------------------------------------------------

void Session::edit(const Choices& next, const std::string& label, int drag) {
    push({EditStep::Kind::edit, next, label, drag});
}

void Session::push(EditStep step) {
    unless_lost([this, step = std::move(step)] {
        const bool begun = making_ && steps_.size() == 1;
        const bool same_drag = !steps_.empty() && !begun && step.drag != 0 &&
                               steps_.back().drag == step.drag && steps_.back().label == step.label;
        if (steps_.empty()) preparing_since_s_ = now_s_;
        if (same_drag) steps_.back() = step;
        else steps_.push_back(step);
        begin_step();
    });
}

/// Undoes or redoes. An edit that is still being made ready is undone by calling it off.
void Session::step_history(EditStep::Kind kind) {
    const bool edit_waits = !steps_.empty() && steps_.back().kind == EditStep::Kind::edit;
    if (edit_waits) {
        if (kind == EditStep::Kind::redo) return;
        const bool begun_with_taken = steps_.size() == 1 && bench.goes_on(steps_.back());
        if (steps_.size() == 1) making_ = false;
        steps_.pop_back();
        if (!begun_with_taken) return;
    }
    int from = 0; // where the steps that wait lead to
    for (const EditStep& step : steps_) from += step.kind == EditStep::Kind::undo ? -1 : 1;
    const int by = kind == EditStep::Kind::undo ? -1 : 1;
    if (const Choices* choices = bench.choices_at(from + by)) push({kind, *choices, "", 0});
}

Session::Made Session::make(Making making) {
    try {
        return {make_job(making.library, making.choices, making.earlier.get()), nullptr};
    } catch (...) {
        return {nullptr, std::current_exception()};
    }
}

void Session::begin_step() {
    if (making_ || steps_.empty() || !maker_.idle()) return;
    const EditStep& step = steps_.front();
    if (step.drag != 0 && now_s_ - begun_s_ < edit_every_s) return;
    begun_s_ = now_s_;
    making_ = true;
    maker_.ask({bench.library(), step.choices, bench.job()});
}

void Session::take_made() {
    const std::optional<Made> made = maker_.take();
    if (!made || !std::exchange(making_, false)) return; // not done yet, or called off
    const EditStep step = steps_.front();
    steps_.pop_front();
    const bool taken = attempt([&] {
        if (made->fault) std::rethrow_exception(made->fault);
        bench.take(step, made->job);
    });
    if (!taken) return steps_.clear(); // what follows was built on it
    if (step.label == "technique") hand_force_n = step.choices.technique.force_n;
    if (step.kind == EditStep::Kind::edit && step.label == "gauge readings" && bench.job()->film)
        notify(fmt::format("Film from {} readings", bench.job()->film->readings));
    restart();
}

void Session::settle() {
    while (preparing()) {
        begun_s_ = -edit_every_s;
        begin_step();
        maker_.wait();
        take_made();
    }
}

void Session::restart() {
    const bool worked = view.t_s > 0;
    live.restart(bench.job());
    if (worked) live.play(); // a change is to be watched, not to blank the panel
}

/// Goes ahead unless that would lose a stroke by hand: then it is asked about first.
void Session::unless_lost(std::function<void()> what) {
    if (view.hand) end_hand();
    if (!stroke_unsaved) return what();
    if (!in_question_) in_question_ = std::move(what), question_ = Unsaved::stroke;
}

void Session::answer(Answer given) {
    const std::function<void()> what = std::exchange(in_question_, nullptr);
    if (!what || given == Answer::go_back) return;
    if (given == Answer::save) {
        after_save_ = what;
        chooser = question_ == Unsaved::stroke ? Chooser::save : Chooser::save_record;
        return;
    }
    if (question_ == Unsaved::stroke) stroke_unsaved = false;
    what();
}

void Session::choose_machine(const std::string& id) {
    attempt([&] {
        Choices next = choices();
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
        edit(next, "machine");
    });
}

void Session::choose_panel(const std::string& reference) {
    Choices next = choices();
    next.request.panel = reference;
    next.request.path_csv.reset();           // recorded over another panel
    next.request.readings.reset();           // read off another panel
    next.technique.hold_back_edge_m.clear(); // the edges' names are the panel's own
    next.technique.tape_edge_m.clear();
    next.technique.section_centre.reset();
    edit(next, "panel");
}

void Session::load_technique(const std::string& reference) {
    attempt([&] {
        Choices next = choices();
        next.technique = bench.library().technique(reference);
        next.request.technique = reference;
        next.request.path_csv.reset(); // a recorded path belongs to the technique it was recorded with
        edit(next, "technique");
    });
}

void Session::open(const fs::path& file) {
    attempt([&] {
        const std::string ending = lower_extension(file);
        if (shows_compare() && kind_of(file) == "technique") return compared.add(file.string());
        if (shows_board() && (ending == ".csv" || kind_of(file) == "record"))
            return notify(vehicle.take_in(file));
        if (ending != ".sparecoat") board = comparing = false, charts.close(); // what is opened is to be seen
        if (ending == ".csv") {
            Choices next = choices();
            const bool readings = looks_like_readings(file);
            if (readings) next.request.readings = load_gauge_csv(file);
            else next.request.path_csv = file;
            edit(next, readings ? "gauge readings" : "recorded path");
        } else if (ending == ".sparecoat") {
            open_job(file);
        } else if (ending == ".obj" || ending == ".stl") {
            choose_panel(file.string());
        } else if (ending == ".json") {
            const std::string kind = kind_of(file);
            if (kind == "lesson") open_lesson(file.string());
            else if (kind == "panel") choose_panel(file.string());
            else if (kind == "technique") load_technique(file.string());
            else if (kind == "defects") lamp.lit = choose_defects(file.string()) || lamp.lit;
            else if (kind == "record") load_record(file);
            else
                throw InputError(file.string(), "/kind",
                                 kind.empty() ? "no kind" : fmt::format("\"{}\"", kind),
                                 "\"panel\", \"technique\", \"defects\", \"record\" or \"lesson\"");
        } else {
            throw InputError(file.string(), "", "a file that ends in \"" + ending + "\"",
                             "a panel (.json, .obj, .stl), a technique or a record (.json), a recorded path "
                             "or gauge readings (.csv), a job (.sparecoat)");
        }
    });
}

bool Session::choose_defects(const std::string& reference) {
    return attempt([&] {
        lamp.set_defects(bench.library().defects(reference));
        settings.defects = reference;
    });
}

void Session::save_path(const fs::path& csv) {
    if (!attempt([&] { write_path_csv(csv, live.path()); })) return;
    stroke_unsaved = false;
    notify("Path saved as " + csv.string());
    if (const std::function<void()> what = std::exchange(after_save_, nullptr)) what();
}

const std::vector<Listing>& Session::list(PresetKind kind) {
    std::vector<Listing>& listing = listings_[kind];
    if (listing.empty()) attempt([&] { listing = bench.library().list(kind); });
    return listing;
}

// ---- keys -----------------------------------------------------------------------------------------

void Session::act(Action action) {
    constexpr double lamp_step_m = 0.02;
    if (act_on_charts(action) || act_on_compare(action) || act_on_job(action) || look_by_key(camera, action))
        return;
    if (action >= Action::map_film_lost && action <= Action::map_chance) return show(map_of(action));
    switch (action) {
    case Action::play_pause:
        if (view.playing) live.pause();
        else if (lesson && !view.by_hand) play_lesson();
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
    case Action::work_out_chance:
        show(MapKind::chance);
        work_out_chances();
        break;
    case Action::toggle_map:
        draw_map = lamp.lit || !draw_map;
        lamp.lit = false;
        break;
    case Action::lamp: lamp.lit = !lamp.lit; break;
    case Action::lamp_show:
        if (lamp.lit) lamp.show_next(shown->panel, camera.eye());
        lamp.lit = true;
        break;
    case Action::lamp_left: lamp.move(-lamp_step_m, 0); break;
    case Action::lamp_right: lamp.move(lamp_step_m, 0); break;
    case Action::lamp_up: lamp.move(0, lamp_step_m); break;
    case Action::lamp_down: lamp.move(0, -lamp_step_m); break;
    case Action::lamp_higher: lamp.raise(lamp_step_m); break;
    case Action::lamp_lower: lamp.raise(-lamp_step_m); break;
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
    case Action::next_spot: go_to_next_spot(); break;
    case Action::drop_spot: pinned.reset(); break;
    case Action::try_changes:
        if (const std::optional<std::size_t> region = held_region())
            risk.try_changes(bench.library(), *region);
        break;
    case Action::toggle_edge_profile: profile.open = !profile.open; break;
    case Action::next_edge:
        if (profile.chosen() && profile.open)
            profile.choose(shown->panel, (*profile.chosen() + 1) % profile.grounds().size());
        profile.open = true;
        break;
    case Action::previous_value: value_row = value_row <= 0 ? value_rows - 1 : value_row - 1; break;
    case Action::next_value: value_row = value_row + 1 >= value_rows ? 0 : value_row + 1; break;
    case Action::lower_value: nudge = -1; break;
    case Action::raise_value: nudge = 1; break;
    case Action::type_value: begin_typing = true; break;
    case Action::undo: step_history(EditStep::Kind::undo); break;
    case Action::redo: step_history(EditStep::Kind::redo); break;
    case Action::open_file: chooser = Chooser::open; break;
    case Action::save_path: chooser = Chooser::save; break;
    case Action::hand_mode: view.hand ? end_hand() : unless_lost([this] { begin_hand(); }); break;
    case Action::trigger: trigger_key = true; break;
    case Action::tilt_left:
    case Action::tilt_right:
    case Action::tilt_up:
    case Action::tilt_down: held_.insert(action); break;
    case Action::less_force: change_force(-2); break;
    case Action::more_force: change_force(2); break;
    case Action::toggle_section: open_section(!section.open); break;
    case Action::tape_square:
        open_section(true);
        section.drag.cancel();
        section.placing = !section.placing && !view.hand && !lesson;
        break;
    case Action::work_in_square:
        if (const std::vector<TapedSquare> squares = section.squares(); !squares.empty())
            work_in(squares.back());
        break;
    case Action::mark_clean:
        open_section(true);
        enter([this] { section.set_clean(!section.clean()); });
        break;
    case Action::enter_try:
        open_section(true);
        cards = section.begin_typing = true;
        break;
    case Action::take_back_entry:
        if (section.can_undo()) enter([this] { section.undo(); });
        break;
    case Action::work_out_advice:
        open_section(true);
        if (section.has_record()) section.work_out(bench.library());
        break;
    case Action::section_table: section.table = !section.table; break;
    case Action::new_record: new_record(); break;
    case Action::save_record:
        if (!section.has_record()) break;
        if (section.file().empty()) chooser = Chooser::save_record;
        else save_record(section.file());
        break;
    case Action::lessons: lesson_list = !lesson_list; break;
    case Action::lesson_on: go_in_lesson(1); break;
    case Action::lesson_back: go_in_lesson(-1); break;
    case Action::lesson_turn: turn_lesson_over(); break;
    case Action::lesson_leave: unless_lost([this] { leave_lesson(); }); break;
    case Action::toggle_cards: cards = !cards; break;
    case Action::toggle_strips:
        // The two share a place: asking for one puts the other away.
        settings.strip_charts = profile.open || !settings.strip_charts;
        profile.open = false;
        break;
    case Action::toggle_theme: settings.light_theme = !settings.light_theme; break;
    case Action::toggle_help: help = !help; break;
    case Action::toggle_timing: timing = !timing; break;
    case Action::full_screen: wants_full_screen = true; break;
    case Action::close:
        if (!messages.empty()) messages.erase(messages.begin());
        else if (asks()) answer(Answer::go_back);
        else if (chooser != Chooser::none) chooser = Chooser::none;
        else if (help) help = false;
        else if (lesson_list) lesson_list = false;
        else if (shows_board()) close_on_board();
        else if (shows_charts()) charts.close();
        else if (shows_compare()) close_compare();
        else if (section.drag.active()) section.drag.cancel();
        else if (section.placing) section.placing = false;
        else if (view.hand) end_hand();
        else if (pinned || value_row >= 0) pinned.reset(), value_row = -1;
        else if (profile.open) profile.open = false;
        else if (shows_section()) open_section(false);
        else unless_lost([this] { leave_lesson(); });
        break;
    case Action::quit: unless_lost([this] { unless_record_lost([this] { quit = true; }); }); break;
    default: break; // the job's own
    }
}

void Session::release(Action action) {
    held_.erase(action);
    if (action == Action::trigger) trigger_key = false;
}

void Session::seek(double t_s) {
    if (view.hand) return;
    live.seek(std::clamp(t_s, 0.0, view.end_s));
}

void Session::go_to_next_event() {
    for (const Event& event : view.events)
        if (event.from_s > view.t_s + 0.05) return seek(event.from_s);
    if (!view.events.empty()) seek(view.events.front().from_s);
}

void Session::go_to_next_spot() {
    const std::vector<Point2> spots = pins();
    if (spots.empty()) return;
    hold(spots[next_spot_ % spots.size()]);
    next_spot_ = (next_spot_ + 1) % spots.size();
}

void Session::hold(Point2 at) {
    pinned = at;
    if (const std::optional<std::size_t> cell = cell_at(at); cell && profile.open)
        profile.choose_near(shown->panel, *cell);
}

// ---- the chance of burning through, holding back --------------------------------------------------

void Session::work_out_chances() {
    next_spot_ = 0;
    map_stale_ = true;
    view.chance_percent.clear();
    risk.ask(bench.library(), bench.choices(), bench.job());
}

std::vector<Point2> Session::pins() const {
    constexpr std::size_t most = 9; // more would cover the panel
    std::vector<Point2> out;
    if (shows_chance()) {
        if (const RiskFinding* finding = risk.finding())
            for (const RegionAtRisk& region : finding->map.regions)
                if (out.size() < most) out.push_back(region.spot.at);
    } else if (verdict) {
        for (const SpotAtRisk& spot : verdict->worst) out.push_back(spot.at);
    }
    return out;
}

std::optional<std::size_t> Session::held_region() const {
    const RiskFinding* finding = risk.finding();
    const std::optional<std::size_t> cell = pinned ? cell_at(*pinned) : std::nullopt;
    if (!finding || !cell || *cell >= finding->region.size() || finding->region[*cell] < 0) return {};
    return static_cast<std::size_t>(finding->region[*cell]);
}

bool Session::can_apply(const Remedy& remedy) const {
    const bool by_pace = remedy.kind == RemedyKind::flatter || remedy.kind == RemedyKind::lighter ||
                         remedy.kind == RemedyKind::faster_arm;
    return !(choices().request.path_csv && by_pace);
}

void Session::apply(const Remedy& remedy) {
    if (!can_apply(remedy)) return;
    Choices next = choices();
    const HandVariation hand = next.technique.hand; // the trial's was set apart from it
    next.technique = remedy.technique;
    next.technique.hand = hand;
    edit(next, std::string(name_of(remedy.kind)));
}

double Session::held_back_m() const {
    const Technique& technique = choices().technique;
    const auto own = technique.hold_back_edge_m.find(profile.name(shown->panel));
    if (own != technique.hold_back_edge_m.end()) return own->second;
    const bool line = profile.chosen() && profile.grounds()[*profile.chosen()].crest >= 0;
    return line ? -shown->step.pad.radius_m : technique.hold_back_m;
}

std::string Session::hold_back_idle() const {
    if (choices().request.path_csv) return "A recorded path runs where it was recorded.";
    if (choices().technique.pattern == Pattern::line) return "A line runs where it was drawn.";
    return "";
}

void Session::try_hold_back(double hold_back_m) {
    profile.ask(bench.library(), choices(), hold_back_m, profile.name(shown->panel));
}

void Session::take_hold_back() {
    if (!profile.wanted_m) return;
    Choices next = choices();
    const std::string line = profile.name(shown->panel);
    next.technique.hold_back_edge_m[line] = *profile.wanted_m;
    edit(next, "hold-back, " + line);
}

// ---- the hand -------------------------------------------------------------------------------------

void Session::begin_hand() {
    trigger_key = trigger_button = false;
    section.drag.cancel(), section.placing = false;
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

void Session::end_hand() {
    trigger_key = trigger_button = false;
    live.end_hand();
    view.hand = false;
    const ArmPath stroke = live.path();
    stroke_unsaved =
        std::any_of(stroke.samples.begin(), stroke.samples.end(), [](const ArmSample& s) { return s.down; });
    if (stroke_unsaved) notify(fmt::format("Stroke kept. {} saves it.", keys_of(Action::save_path)));
}

void Session::change_force(double by_n) {
    hand_force_n = std::clamp(hand_force_n + by_n, least_hand_force_n, most_hand_force_n);
}

void Session::feed_hand(double dt_s) {
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

HandInput Session::hand_input() const {
    HandInput input;
    input.at = hand_target_;
    input.force_n = hand_force_n;
    input.tilt_rad = tilt_;
    // Off the panel the trigger is let go: nobody presses a running pad into the air.
    input.trigger = (trigger_key || trigger_button) && pointer.has_value();
    return input;
}

bool Session::works_in_background() const {
    return preparing() || lesson_working() || lamp.working() || risk.working() || risk.trying() ||
           section.working() || vehicle.planning() || opening_panel() || compared.works_in_background() ||
           charts.working();
}

// ---- every frame ----------------------------------------------------------------------------------

void Session::tick(double now_s) {
    const double dt_s = std::clamp(now_s - now_s_, 0.0, 0.1);
    now_s_ = now_s;
    take_made();
    begin_step();
    if (chooser == Chooser::none)
        after_save_ = nullptr; // left without saving: nothing is lost, nothing goes on
    if (now_s > notice_until_s_) notice.clear();
    tick_job();
    tick_compare();
    attempt([&] { charts.tick(); });
    if (shows_compare() || shows_charts()) { // the bench stands still, and what it showed is still there
        changed_.clear();
        panel_changed_ = false;
        return;
    }
    feed_hand(dt_s);

    const std::uint64_t generation = view.generation;
    const std::vector<Tile> tiles = live.update(view);
    if (view.generation != generation) {
        const std::shared_ptr<const RunJob> job = live.job();
        panel_changed_ = generation == 0 || shown->request.panel != job->request.panel ||
                         shown->request.grid_m != job->request.grid_m;
        const bool other_job = shown != job || generation == 0;
        shown = job;
        if (other_job) take_job();
        verdict.reset(), contour_labels.clear(), history.clear();
        peak_low_ = peak_high_ = 0;
        next_spot_ = 0;
        map_stale_ = true;
        if (pinned && !cell_at(*pinned)) pinned.reset();
    } else {
        panel_changed_ = false;
    }
    profile.tick();
    if (risk.tick()) next_spot_ = 0;
    if (const RiskFinding* finding = risk.finding();
        finding && view.chance_percent.size() != finding->percent.size()) {
        view.chance_percent = finding->percent; // new, or the run began anew and took it away
        map_stale_ = true;
    }
    if (view.fields.removed_um.size() != shown->panel.grid.cells())
        return; // the first frame may come before the run
    profile.refresh(shown->panel, view);
    if (panel_changed_) lamp.leave_panel();
    else lamp.tick(shown, view, tiles, camera.eye());
    refresh_map(tiles);
    if (map_stale_ || now_s - scaled_s_ > scale_every_s) refresh_scale();
    map_stale_ = false;
    keep_history();
    columns.bring_up_to_date(view);
    assess(now_s);
    tick_lesson();
    tick_section();
}

/// Another job than before is shown.
void Session::take_job() {
    profile.take_job(shown->panel, panel_changed_);
    risk.forget();
    view.chance_percent.clear();
    // Later the chances are worked out when they are asked for: an edit has no wish of its own.
    if (!std::exchange(begun_, true) && shows_chance()) work_out_chances();
}

void Session::show(MapKind kind) {
    draw_map = true;
    lamp.lit = false;
    if (kind == MapKind::chance && !risk.finding() && !risk.working()) work_out_chances();
    if (settings.map == kind) return;
    next_spot_ = 0;
    settings.map = kind;
    contour_labels.clear();
    peak_low_ = peak_high_ = 0;
    map_stale_ = true;
}

void Session::refresh_map(const std::vector<Tile>& tiles) {
    const bool all = map_stale_ || map.size() != shown->panel.grid.cells();
    const bool warm = settings.map == MapKind::temperature || settings.map == MapKind::peak_temperature;
    changed_ = all                               ? all_tiles(shown->panel.grid)
               : warm                            ? view.warmed.list()
               : settings.map == MapKind::chance ? std::vector<Tile>{}
                                                 : tiles;
    if (all) behind_ = TileSet(shown->panel.grid);
    for (const Tile tile : changed_) behind_.mark(tile);
    for (const Tile tile : tiles) behind_.mark(tile);
    if (all) map.clear();
    map_values(settings.map, *shown, view, map, all ? nullptr : &changed_);
}

double Session::shown_per_unit() const { return map_info(settings.map).film ? per_um(settings.unit) : 1.0; }

std::string Session::unit_text() const {
    return map_info(settings.map).film ? text_of(settings.unit) : map_info(settings.map).unit;
}

void Session::refresh_scale() {
    scaled_s_ = now_s_;
    const double factor = shown_per_unit();
    if (const auto& range = settings.ranges[static_cast<std::size_t>(settings.map)]) {
        scale =
            locked_scale(static_cast<double>(range->low) * factor, static_cast<double>(range->high) * factor);
        if (settings.map == MapKind::chance) scale = with_chance_ticks(scale);
        return;
    }
    if (settings.map == MapKind::temperature || settings.map == MapKind::peak_temperature) {
        // One range for both, that of the hottest so far: so it holds still and the two compare.
        const float hottest = *std::max_element(view.peak_c.begin(), view.peak_c.end());
        scale = temperature_scale(shown->request.air_c, static_cast<double>(hottest));
        return;
    }
    float low = std::numeric_limits<float>::infinity(), high = -low;
    for (const float value : map) { // comparisons with NaN are false: cells outside drop out
        low = value < low ? value : low;
        high = value > high ? value : high;
    }
    if (!(low <= high)) low = high = 0;
    double from = static_cast<double>(low), to = static_cast<double>(high);
    if (settings.map == MapKind::chance) {
        scale = chance_scale(to);
        return;
    }
    if (is_of_this_moment(settings.map)) {
        peak_high_ = std::max(peak_high_, to);
        from = 0, to = peak_high_;
    }
    scale = round_scale(from * factor, to * factor);
}

std::optional<std::size_t> Session::cell_at(Point2 at) const { return painted_cell(shown->panel, at); }

std::optional<SpotAtRisk> Session::described_spot() const {
    const std::optional<std::size_t> cell = spot() ? cell_at(*spot()) : std::nullopt;
    if (!cell || !verdict || view.fields.removed_um.size() <= *cell) return {};
    return describe_spot(shown->panel, view.fields, verdict->open, *cell);
}

void Session::keep_history() {
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

void Session::assess(double now_s) {
    if (std::optional<Assessment> answer = assessor_.take()) {
        copies_ = std::move(answer->copies);
        if (answer->generation == view.generation) {
            verdict = std::move(answer->verdict);
            contour_labels = std::move(answer->labels);
        }
    }
    if (now_s - assessed_s_ < assess_every_s || !assessor_.idle()) return;
    assessed_s_ = now_s;
    bring_copies_up_to_date();
    assessor_.ask({shown, std::move(copies_), label_view(), view.generation});
}

void Session::bring_copies_up_to_date() {
    const Grid& grid = shown->panel.grid;
    if (copies_.map.size() != map.size()) { // the first time, or another panel
        copies_.fields = view.fields;
        copies_.map = map;
    } else {
        const std::vector<Tile> tiles = behind_.list();
        copy_tiles(grid, tiles, view.fields, copies_.fields);
        for (const Tile tile : tiles) copy_tile(grid, tile, map, copies_.map);
    }
    behind_.clear();
}

std::optional<LabelView> Session::label_view() const {
    if (!settings.contours || !shows_map() || is_of_this_moment(settings.map)) return {};
    LabelView labels{shown_per_unit(), scale, camera, stage, {contour_number_size, true, {}}, {}};
    const auto seen = [&](Point2 at) {
        const auto z = static_cast<float>(height_at(shown->panel, at));
        const glm::vec3 share =
            camera.project({static_cast<float>(at.x), static_cast<float>(at.y), z}, stage.aspect());
        return Point2{stage.x + static_cast<double>(share.x) * stage.width,
                      stage.y + static_cast<double>(share.y) * stage.height};
    };
    const double pad_m = shown->step.pad.radius_m;
    const Point2 pad = view.hand ? hand_at() : view.now.at;
    labels.taken.push_back({seen(pad).x, seen(pad).y, norm(seen(pad + Point2{pad_m, 0}) - seen(pad))});
    for (const Point2 pin : pins()) { // their numbers stand there
        const Point2 foot = seen(pin);
        labels.taken.push_back({foot.x, foot.y, 8});
        labels.taken.push_back({foot.x, foot.y - 24, 14});
    }
    return labels;
}

} // namespace sparecoat::view
