#pragma once
#include "picture/scale.hpp"
#include "view/assessor.hpp"
#include "view/camera.hpp"
#include "view/keys.hpp"
#include "view/live_run.hpp"
#include "view/settings.hpp"
#include "view/workbench.hpp"
#include <array>
#include <filesystem>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace sparecoat {

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
class Desk {
public:
    /// @throws InputError where the request cannot be prepared.
    Desk(Library library, const RunRequest& request, Settings settings);

    void act(Action action);
    /// A key going up: only the hand's keys care.
    void release(Action action);

    // ---- choices ----
    /// Takes an edit; with `drag` not 0 it may wait a little, so that dragging stays smooth.
    void edit(const Choices& next, const std::string& label, int drag = 0);
    /// The choices with an edit that is still waiting.
    const Choices& choices() const { return waiting_ ? waiting_->next : bench.choices(); }
    /// Another machine may not take the pad or reach the speed: the nearest that it does.
    void choose_machine(const std::string& id);
    void choose_panel(const std::string& reference);
    void load_technique(const std::string& reference);
    /// Panel JSON, OBJ or STL; technique JSON; path CSV: told apart by ending and "kind".
    void open(const std::filesystem::path& file);
    void save_path(const std::filesystem::path& csv);
    const std::vector<Listing>& list(PresetKind kind);

    // ---- every frame ----
    /// Brings everything up to date. @param now_s a clock that only goes forward.
    void tick(double now_s);
    /// Tiles of `map` that changed since the last tick; all of them after a change of map, panel or range.
    const std::vector<Tile>& changed_tiles() const { return changed_; }
    bool panel_changed() const { return panel_changed_; }

    // ---- the map ----
    void show(MapKind kind);
    std::vector<float> map;  ///< values in the map's unit, NaN outside
    Scale scale;             ///< in the unit shown
    double shown_per_unit() const; ///< multiplies a map's value to the unit shown
    std::string unit_text() const;
    bool range_locked() const { return settings.ranges[static_cast<std::size_t>(settings.map)].has_value(); }

    // ---- the spot ----
    std::optional<Point2> pointer; ///< on the panel, under the mouse
    std::optional<Point2> pinned;
    std::optional<Point2> spot() const { return pinned ? pinned : pointer; }
    /// Cell of a point, if it is on painted panel.
    std::optional<std::size_t> cell_at(Point2 at) const;
    std::optional<SpotAtRisk> described_spot() const;
    SpotHistory history;
    RunColumns columns;

    // ---- the hand ----
    Point2 hand_at;                ///< where the hand holds the pad: it follows the pointer as fast as an arm can
    double hand_force_n = 40;
    bool trigger_key = false, trigger_button = false;
    bool hand_recorded = false; ///< a stroke that has not been saved
    void change_force(double by_n);

    /// Runs what may throw; an InputError becomes a message. @return whether it went well.
    bool attempt(const std::function<void()>& what);
    void notify(const std::string& text);
    std::vector<std::string> messages; ///< shown one after the other, until closed
    std::string notice;                ///< one line, for a while

    Workbench bench;
    LiveRun live;
    LiveView view;
    std::shared_ptr<const RunJob> shown; ///< the job that `view` is of
    Camera camera;
    Settings settings;
    std::optional<Verdict> verdict;
    std::vector<ContourLabel> contour_labels;

    bool draw_map = true, cards = true, help = false, timing = false, quit = false;
    bool wants_full_screen = false;
    enum class Chooser { none, open, save } chooser = Chooser::none;

    // The technique card's cursor; it takes the last two up when it is drawn.
    int value_row = -1, value_rows = 0, nudge = 0;
    bool begin_typing = false;

private:
    struct Waiting {
        Choices next;
        std::string label;
        int drag = 0;
    };
    void apply(const Choices& next, const std::string& label, int drag);
    void restart();
    void seek(double t_s);
    void go_to_next_event();
    void go_to_next_spot();
    void set_hand_mode(bool on);
    HandInput hand_input() const;
    void feed_hand(double dt_s);
    void refresh_map(const std::vector<Tile>& tiles);
    void refresh_scale();
    void keep_history();
    void assess(double now_s);

    std::optional<Waiting> waiting_;
    std::array<std::vector<Listing>, 7> listings_;
    Assessor assessor_;
    std::vector<Tile> changed_;
    bool panel_changed_ = true, map_stale_ = true;
    double now_s_ = 0, applied_s_ = -1, edit_pause_s_ = 0, assessed_s_ = -1, scaled_s_ = -1, notice_until_s_ = 0;
    double peak_low_ = 0, peak_high_ = 0; ///< of a map of this moment, so that its range holds still
    std::size_t history_cell_ = 0, next_spot_ = 0;
    std::set<Action> held_;
    Point2 tilt_;
};

/// "0.83 µm" or "0.033 mil".
/// "4:05"
std::string clock_text(double seconds);

} // namespace sparecoat
