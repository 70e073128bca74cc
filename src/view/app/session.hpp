#pragma once
#include "picture/scale.hpp"
#include "view/pages/board/job_model.hpp"
#include "view/pages/charts/chart_model.hpp"
#include "view/pages/compare/compare_model.hpp"
#include "view/pages/edge/edge_profile_model.hpp"
#include "view/pages/lamp/lamp_model.hpp"
#include "view/pages/lesson/lesson_play.hpp"
#include "view/pages/risk/risk_model.hpp"
#include "view/pages/section/section_model.hpp"
#include "view/render/assessor.hpp"
#include "view/render/camera.hpp"
#include "view/render/tape_frames.hpp"
#include "view/run/edit_history.hpp"
#include "view/run/live_run.hpp"
#include "view/window/keys.hpp"
#include "view/window/settings.hpp"
#include <array>
#include <deque>
#include <exception>
#include <filesystem>
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

/// Everything the window shows and everything a key or a control does, without a window: no GL, no widgets.
/// The cards read it and call it; tests drive it headless.
class Session {
public:
    /// @throws InputError where the request cannot be prepared.
    Session(Library library, const RunRequest& request, Settings settings);

    void act(Action action);
    /// A key going up: only the hand's keys care.
    void release(Action action);

    // ---- choices ----
    /// Takes an edit. The job is made ready on a thread of its own and taken up by a later tick().
    void edit(const Choices& next, const std::string& label, int drag = 0);
    /// The choices with what is still being made ready.
    const Choices& choices() const { return steps_.empty() ? bench.choices() : steps_.back().choices; }
    bool preparing() const { return !steps_.empty(); }
    /// How long what is being made ready has taken so far.
    double preparing_s() const { return preparing() ? now_s_ - preparing_since_s_ : 0; }
    /// Waits until everything is made ready and taken up.
    void settle();
    /// Another machine may not take the pad or reach the speed: the nearest that it does.
    void choose_machine(const std::string& id);
    void choose_panel(const std::string& reference);
    void load_technique(const std::string& reference);
    /// Panel JSON, OBJ or STL; technique, defects or record JSON; path CSV: told apart by ending and "kind".
    void open(const std::filesystem::path& file);
    void save_path(const std::filesystem::path& csv);

    /// Something would lose a stroke by hand or a record that is not saved: a question is to be answered
    /// first.
    bool asks() const { return static_cast<bool>(in_question_); }
    enum class Unsaved { stroke, record };
    Unsaved asks_about() const { return question_; }
    enum class Answer { save, drop, go_back };
    void answer(Answer answer);
    const std::vector<Listing>& list(PresetKind kind);

    // ---- every frame ----
    /// Brings everything up to date. @param now_s a clock that only goes forward.
    void tick(double now_s);
    /// Tiles of `map` that changed since the last tick; all of them after a change of map, panel or range.
    const std::vector<Tile>& changed_tiles() const { return changed_; }
    bool panel_changed() const { return panel_changed_; }

    // ---- the map ----
    void show(MapKind kind);
    std::vector<float> map;        ///< values in the map's unit, NaN outside
    Scale scale;                   ///< in the unit shown
    double shown_per_unit() const; ///< multiplies a map's value to the unit shown
    std::string unit_text() const;
    bool range_locked() const { return settings.ranges[static_cast<std::size_t>(settings.map)].has_value(); }

    // ---- the chance of burning through ----
    RiskModel risk;
    bool shows_chance() const { return shows_map() && settings.map == MapKind::chance; }
    /// The places that are numbered on the panel: the spots at risk where their chance is shown, else the
    /// worst so far.
    std::vector<Point2> pins() const;
    /// The region at risk that is held; none while no chance is known or another place is held.
    std::optional<std::size_t> held_region() const;
    /// Takes a change that was tried over into the technique. Can be undone.
    void apply(const Remedy& remedy);
    /// Whether a change says anything for the path that is worked: a recorded one keeps its own force, tilt
    /// and pace.
    bool can_apply(const Remedy& remedy) const;

    // ---- the inspection lamp ----
    LampModel lamp;
    /// Takes what the panel was found with, preset or file, and remembers it. @return whether there is such a
    /// thing.
    bool choose_defects(const std::string& reference);
    /// Whether a map is to be seen: not on plain paint, and not under the lamp.
    bool shows_map() const { return draw_map && !lamp.lit; }

    // ---- film along an edge ----
    EdgeProfileModel profile;
    /// Asks what holding back so far from the ribbon's line would do, and takes what was asked over.
    void try_hold_back(double hold_back_m);
    void take_hold_back();
    /// How far the pad is held back from the ribbon's line now; a body line that is not named: not at all.
    double held_back_m() const;
    /// Why holding back changes nothing; empty where it does.
    std::string hold_back_idle() const;

    // ---- test sections ----
    SectionModel section;
    /// Whether the cards are to be seen: a lesson has its own panel, and a job its own squares.
    bool shows_section() const { return section.open && !lesson && !opened_; }
    void open_section(bool open);
    void new_record();
    void load_record(const std::filesystem::path& file);
    void save_record(const std::filesystem::path& file);
    /// Makes an entry, a record being begun where there is none, and has the advice worked out anew. What was
    /// refused becomes a message. @return whether it went well.
    bool enter(const std::function<void()>& what);
    /// Puts the form in; what was refused is said in the form itself.
    void enter_form();
    /// The mouse lays tape: takes hold at a point, goes on to others, lets go.
    void take_tape(Point2 at, double reach_m);
    void lay_tape(Point2 at);
    void let_tape_go();
    /// The squares as tape on the panel: the last one, and one in the hand, clearly, the others faint.
    std::vector<TapeFrame> tape_frames() const;
    /// The technique's section becomes a square, so that the run works inside it.
    void work_in(const TapedSquare& square);
    /// The same with a step of the kit, one set.
    void watch_step(std::size_t step, const TapedSquare& square);
    /// Puts the record's paint on the bench.
    void take_record_paint();

    // ---- a vehicle's job ----
    JobModel vehicle;
    bool board = false; ///< wanted in front, where a job is open
    bool shows_board() const { return board && vehicle.is_open() && !lesson; }

    // ---- charts ----
    ChartModel charts;
    bool shows_charts() const { return charts.is_open() && !lesson && !shows_board(); }
    /// Charts of how even the technique on the bench works.
    void open_evenness();
    void save_chart(const std::filesystem::path& file);

    // ---- techniques side by side ----
    CompareModel compared;
    bool comparing = false;         ///< wanted in front
    bool choosing_compared = false; ///< the list of techniques for the chosen one is to be opened
    bool shows_compare() const {
        return comparing && compared.is_open() && !lesson && !shows_board() && !shows_charts();
    }
    /// Holds presets or files against what lies on the bench; none: the preset that follows it in the list.
    void open_compare(const std::vector<std::string>& against = {});
    void close_compare();
    void save_comparison(const std::filesystem::path& folder);

    /// Where keys count.
    KeyContext key_context() const;
    /// Opens a job file and its board. What cannot be opened is told, and what was open stays.
    void open_job(const std::filesystem::path& file);
    void save_sheet(const std::filesystem::path& file);
    /// Lets go of the job; the bench is as it was before the first of its panels.
    void close_job();
    /// Works the chosen panel's run ready beside the drawing, with a step of its plan; a later tick() shows
    /// it.
    void open_panel(std::size_t step);
    /// The panel of the job that is on the bench, if one is, and its row on the board.
    const BoardPanel* opened_panel() const;
    const std::optional<JobModel::Opened>& opened() const { return opened_; }
    bool opening_panel() const { return opening_.working(); }
    /// What is typed goes to the readings.
    bool board_takes_text() const {
        return shows_board() && vehicle.page == BoardPage::readings && !dialog();
    }
    /// Something in front has the keyboard.
    bool dialog() const;
    /// Something is being made ready or worked out beside the drawing.
    bool works_in_background() const;
    std::function<std::string()> clipboard; ///< the window's
    /// Takes the form on the board in; what is refused is said in it.
    void enter_board_form();

    // ---- the spot ----
    /// Holds on to a spot, and lets the ribbon follow.
    void hold(Point2 at);
    std::optional<Point2> pointer; ///< on the panel, under the mouse
    std::optional<Point2> pinned;
    std::optional<Point2> spot() const { return pinned ? pinned : pointer; }
    /// Cell of a point, if it is on painted panel.
    std::optional<std::size_t> cell_at(Point2 at) const;
    std::optional<SpotAtRisk> described_spot() const;
    SpotHistory history;
    RunColumns columns;

    // ---- lessons ----
    std::optional<LessonPlay> lesson; ///< the one under way
    bool lesson_list = false;         ///< the list to choose from is shown
    int lesson_row = 0;               ///< in it
    bool lesson_working() const { return lesson_maker_.working(); }
    /// Works both sides beside the drawing; a later tick() begins the lesson.
    void open_lesson(const std::string& reference);
    /// Up, down and Enter in the list. @return whether the key was one of them.
    bool choose_lesson_by_key(int key);
    void leave_lesson();       ///< everything is as it was before it
    void go_in_lesson(int by); ///< steps
    void turn_lesson_over();   ///< shows the step's other side
    /// Sets the camera as the step wants it, once its panel is shown and framed.
    void set_lesson_view();

    // ---- the hand ----
    /// Where the hand holds the pad: it follows the pointer as fast as an arm can.
    Point2 hand_at() const { return view.stroke.empty() ? hand_target_ : view.stroke.back().at; }
    double hand_force_n = 40;
    bool trigger_key = false, trigger_button = false;
    bool stroke_unsaved = false;
    void change_force(double by_n);

    /// Runs what may throw; an InputError becomes a message. @return whether it went well.
    bool attempt(const std::function<void()>& what);
    void notify(const std::string& text);
    std::vector<std::string> messages; ///< shown one after the other, until closed
    std::string notice;                ///< one line, for a while

    EditHistory bench;
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
    enum class Chooser {
        none,
        open,
        save,
        save_record,
        save_sheet,
        save_report,
        save_chart
    } chooser = Chooser::none;

    // The technique card's cursor; it takes the last two up when it is drawn.
    int value_row = -1, value_rows = 0, nudge = 0;
    bool begin_typing = false;

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
    void unless_lost(std::function<void()> what);
    void restart();
    void seek(double t_s);
    void go_to_next_event();
    void go_to_next_spot();
    void begin_hand();
    void end_hand();
    HandInput hand_input() const;
    void feed_hand(double dt_s);
    void begin_lesson();
    void drop_edits();
    void show_lesson_step();
    void play_lesson();
    void tick_lesson();
    struct MadePanel {
        JobModel::Opened opened;
        std::shared_ptr<const RunJob> job;
        std::string fault;
    };
    struct PanelWish {
        JobModel::Opened opened;
        std::shared_ptr<const RunJob> earlier;
    };
    static MadePanel make_panel(const PanelWish& wish, TaskState& task);
    bool act_on_job(Action action);
    bool act_on_compare(Action action);
    bool act_on_charts(Action action);
    void take_compared();
    void tick_compare();
    void close_on_board();
    void tick_job();
    void take_panel(MadePanel made);
    void leave_panels();
    void tick_section();
    void load_last_record();
    void unless_record_lost(std::function<void()> what);
    PanelInUse panel_in_use() const;
    void work_out_chances();
    void take_job();
    void refresh_map(const std::vector<Tile>& tiles);
    void refresh_scale();
    void keep_history();
    void assess(double now_s);
    void bring_copies_up_to_date();
    std::optional<LabelView> label_view() const;

    std::deque<EditStep> steps_; ///< not taken yet; undos and redos first, then edits
    bool begun_ = false;         ///< a first job has been shown
    bool making_ = false;        ///< the first of them is being made ready
    std::function<void()> in_question_, after_save_;
    Unsaved question_ = Unsaved::stroke;
    LessonMaker lesson_maker_;
    std::optional<Camera> camera_back_;      ///< after a lesson
    std::optional<double> rewinding_from_s_; ///< to play a step anew: until then the view is still there
    std::map<PresetKind, std::vector<Listing>> listings_;
    struct Home {
        EditHistory bench;
        std::string defects;
    };
    std::optional<Home> home_; ///< what was on the bench before the job's panels
    std::optional<JobModel::Opened> opened_;
    LatestBackgroundTask<PanelWish, MadePanel> opening_{make_panel};
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
