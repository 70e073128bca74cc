#pragma once
#include "decide/chance.hpp"
#include "picture/scale.hpp"
#include "view/render/assessor.hpp"
#include "view/render/camera.hpp"
#include "view/run/edit_history.hpp"
#include "view/run/live_run.hpp"
#include "view/window/page.hpp"
#include "view/window/settings.hpp"
#include <array>
#include <deque>
#include <exception>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace sparecoat::view {

/// Pressure, speed and film at one spot over time, kept as frames are drawn.
struct SpotHistory {
    std::vector<float> t_s, pressure_kpa, speed_m_s, removed_um;
    void clear() { t_s.clear(), pressure_kpa.clear(), speed_m_s.clear(), removed_um.clear(); }
};

/// The steps of a run as columns for charts.
struct RunColumns {
    std::vector<float> t_s, asked_n, carried_n, spin_per_min, removal_mm3_min, worst_percent;
    std::uint64_t generation = 0;
    void bring_up_to_date(const LiveView& view);
};

/// Speeds of play to choose from, times real time.
inline constexpr std::array<double, 10> play_speeds{0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200};

/// The run in the window and everything that a key or a control does to it: its choices with undo, the live
/// run, its map, the spot looked at, and the hand. Without a window: no GL, no widgets. It knows pages by
/// what each of them may be asked.
class RunSession {
public:
    /// @throws InputError where the request cannot be prepared.
    RunSession(Library library, const RunRequest& request, Settings settings);
    RunSession(const RunSession&) = delete;
    RunSession& operator=(const RunSession&) = delete;
    virtual ~RunSession() = default;

    /// What a key or a button asks for: the page in front first, then the others, then the run.
    void act(Action action);
    /// A key going up: only the hand's keys care.
    void release(Action action);
    /// Whether an action's button is drawn as on.
    bool is_on(Action action) const;
    /// Opens a file of any kind that the window knows.
    virtual void open(const std::filesystem::path& file) = 0;
    /// Writes what the list of files was opened for.
    void take_file(Chooser what, const std::filesystem::path& file);

    // ---- pages ----
    const std::vector<Page*>& pages() const { return pages_; }
    /// The page that fills the window; none while the panel is seen.
    Page* front() const { return in_lesson || !front_ || !front_->is_open() ? nullptr : front_; }
    void bring_to_front(Page& page) { front_ = &page; }
    void show_run() { front_ = nullptr; }
    /// Shows the run again if this page is in front.
    void put_away(const Page& page) { front_ = front_ == &page ? nullptr : front_; }
    /// Where keys count.
    KeyContext key_context() const { return front() ? front()->keys() : KeyContext::always; }
    bool in_lesson = false; ///< a lesson shows a run of its own, whatever was in front
    /// A person's own run, put aside while a lesson or a vehicle's panel is shown.
    struct OwnRun {
        RunRequest request;
        std::optional<std::string> defects; ///< where those are put aside too
    };
    std::vector<OwnRun> put_aside; ///< the first is the person's own
    bool on_vehicle_panel = false; ///< a panel of the vehicle's job is shown

    /// A vehicle's panel takes the place of what is shown.
    void leave_pages();
    /// A page's card takes the place under the panel.
    void take_strips();

    // ---- choices ----
    /// Takes an edit. The job is made ready as a background task and taken up by a later tick().
    void edit(const Choices& next, const std::string& label, int drag = 0);
    /// The choices with what is still being made ready.
    const Choices& choices() const { return steps_.empty() ? edits.choices() : steps_.back().choices; }
    bool preparing() const { return !steps_.empty(); }
    /// How long what is being made ready has taken so far.
    double preparing_s() const { return preparing() ? now_s_ - preparing_since_s_ : 0; }
    /// Waits until everything is made ready and taken up.
    void settle();
    /// What is still being made ready is given up: it belongs to what is put aside or left.
    void drop_edits();
    /// Shows other choices and the run of their job, paused.
    void replace_edits(EditHistory other);
    /// Another machine may not take the pad or reach the speed: the nearest that it does.
    void choose_machine(const std::string& id);
    void choose_panel(const std::string& reference);
    void load_technique(const std::string& reference);
    /// Takes what the panel was found with, preset or file, and remembers it.
    /// @throws InputError where there is no such thing.
    void take_defects(const std::string& reference);
    /// The same, told as a message where there is no such thing. @return whether there is.
    bool choose_defects(const std::string& reference);
    const Defects& defects() const { return defects_; }
    void save_path(const std::filesystem::path& csv);
    const std::vector<Listing>& list(PresetKind kind);
    void forget_lists() { listings_.clear(); } ///< another library's presets are to be chosen from

    /// Something would lose a stroke by hand or a record that is not saved: a question is to be answered
    /// first.
    bool asks() const { return static_cast<bool>(in_question_); }
    enum class Unsaved { stroke, record };
    Unsaved asks_about() const { return question_; }
    enum class Answer { save, drop, go_back };
    void answer(Answer answer);
    /// Goes ahead unless that would lose a stroke by hand: then it is asked about first.
    void unless_lost(std::function<void()> what);
    void ask_first(Unsaved about, std::function<void()> what);
    /// What was not saved has been: what waited for that goes on.
    void saved();

    // ---- every frame ----
    /// Brings everything up to date. @param now_s a clock that only goes forward.
    void tick(double now_s);
    /// Tiles of `map` that changed since the last tick; all of them after a change of map, panel or range.
    const std::vector<Tile>& changed_tiles() const { return changed_; }
    bool panel_changed() const { return panel_changed_; }
    /// The first frame of the panel may come before its run.
    bool has_frame() const { return view.fields.removed_um.size() == shown->panel.grid.cells(); }
    /// Something is being made ready or worked out beside the drawing.
    bool works_in_background() const;

    // ---- the map ----
    void show(MapKind kind);
    void renew_map() { map_stale_ = true; } ///< of every cell, in the next tick
    std::vector<float> map;                 ///< values in the map's unit, NaN outside
    Scale scale;                            ///< in the unit shown
    double shown_per_unit() const;          ///< multiplies a map's value to the unit shown
    std::string unit_text() const;
    bool range_locked() const { return settings.ranges[static_cast<std::size_t>(settings.map)].has_value(); }
    /// Whether a map is to be seen: not on plain paint, and not under the lamp.
    bool shows_map() const;
    bool shows_chance() const { return shows_map() && settings.map == MapKind::chance; }

    /// Clear coat that is to stay, by what the chances were worked out with.
    double reserve_um = ChanceTerms{}.reserve_um;

    // ---- the spot ----
    /// Holds on to a spot.
    void hold(Point2 at);
    std::optional<Point2> pointer; ///< on the panel, under the mouse
    std::optional<Point2> pinned;
    std::optional<Point2> spot() const { return pinned ? pinned : pointer; }
    /// Cell of a point, if it is on painted panel.
    std::optional<std::size_t> cell_at(Point2 at) const;
    std::optional<SpotAtRisk> described_spot() const;
    /// The places that are numbered on the panel: those of a page, else the worst spots so far.
    std::vector<Point2> pins() const;
    void number_from_first() { next_spot_ = 0; } ///< the places are other ones
    SpotHistory history;
    RunColumns columns;

    // ---- the hand ----
    /// Where the hand holds the pad: it follows the pointer as fast as an arm can.
    Point2 hand_at() const { return view.stroke.empty() ? hand_target_ : view.stroke.back().at; }
    double hand_force_n = 40;
    bool trigger_key = false, trigger_button = false;
    bool stroke_unsaved = false;
    void change_force(double by_n);
    /// A page has the mouse over the panel.
    bool mouse_taken() const;

    // ---- what is told ----
    /// Runs what may throw; an InputError becomes a message. @return whether it went well.
    bool attempt(const std::function<void()>& what);
    void notify(const std::string& text);
    std::vector<std::string> messages; ///< shown one after the other, until closed
    std::string notice;                ///< one line, for a while
    /// Something in front has the keyboard.
    bool dialog() const;
    std::function<std::string()> clipboard; ///< the window's

    EditHistory edits;
    LiveRun live;
    LiveView view;
    std::shared_ptr<const RunJob> shown; ///< the job that `view` is of
    Camera camera;
    Settings settings;
    std::optional<Verdict> verdict;
    std::vector<ContourNumber> contour_labels; ///< placed as the panel was seen a moment ago
    SceneFrame stage{0, 0, 672, 548};          ///< where the panel is seen, in units of a window 720 high

    bool draw_map = true, cards = true, help = false, timing = false, quit = false;
    bool wants_full_screen = false;
    using Chooser = view::Chooser;
    Chooser chooser = Chooser::none;

    // The technique card's cursor; it takes the last two up when it is drawn.
    int value_row = -1, value_rows = 0, nudge = 0;
    bool begin_typing = false;

protected:
    std::vector<Page*> pages_; ///< in the order that they are asked in

private:
    /// What is made ready beside the drawing, and what became of it.
    struct Making {
        Library library;
        Choices choices;
        std::shared_ptr<const RunJob> earlier;
    };
    struct Made {
        std::shared_ptr<const RunJob> job;
        std::exception_ptr fault;
    };
    static Made make(Making making);
    void push(EditStep step);
    void step_history(EditStep::Kind kind);
    void begin_step();
    void take_made();
    void restart();

    bool act_on_time(Action action);
    bool act_on_map(Action action);
    bool act_on_technique(Action action);
    bool act_on_hand(Action action);
    void act_on_window(Action action);
    void close_what_is_open();
    void change_speed(bool faster);
    void lock_or_free_range();
    void seek(double t_s);
    void go_to_next_event();
    void go_to_next_spot();
    void begin_hand();
    void end_hand();
    HandInput hand_input() const;
    void feed_hand(double dt_s);

    std::vector<Tile> update_run();
    void refresh_map(const std::vector<Tile>& tiles);
    void refresh_scale();
    void keep_history();
    void assess(double now_s);
    void bring_copies_up_to_date();
    std::optional<LabelView> label_view() const;

    Page* front_ = nullptr;
    std::deque<EditStep> steps_; ///< not taken yet; undos and redos first, then edits
    bool making_ = false;        ///< the first of them is being made ready
    std::function<void()> in_question_, after_save_;
    Unsaved question_ = Unsaved::stroke;
    std::map<PresetKind, std::vector<Listing>> listings_;
    Defects defects_;
    Assessor assessor_{assess_run};
    AssessCopies copies_;
    TileSet behind_; ///< of the copies
    std::vector<Tile> changed_;
    bool panel_changed_ = true, map_stale_ = true;
    double now_s_ = 0, begun_s_ = -1, preparing_since_s_ = 0, assessed_s_ = -1, scaled_s_ = -1,
           notice_until_s_ = 0;
    double peak_low_ = 0, peak_high_ = 0; ///< of a map of this moment, so that its range holds still
    std::size_t history_cell_ = 0, next_spot_ = 0;
    std::set<Action> held_;
    Point2 tilt_, hand_target_;
    BackgroundTask<Making, Made> maker_{make};
};

/// "4:05"
std::string clock_text(double seconds);

/// The map of one of the map's actions.
MapKind map_of(Action action);
/// @return whether the action is one of the view's, which then was turned, moved or brought nearer.
bool look_by_key(Camera& camera, Action action);

} // namespace sparecoat::view
