#pragma once
#include "run/run_job.hpp"
#include "sim/simulate.hpp"
#include <algorithm>
#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

namespace sparecoat::view {

/// The maps a panel can wear.
enum class MapKind {
    film_lost,
    clear_left,
    pressure_now,
    speed_now,
    contact_time,
    friction_work,
    temperature,
    peak_temperature,
    chance
};
inline constexpr int map_kinds = 9;

/// A square block of cells; what is drawn is brought up to date block by block.
struct Tile {
    static constexpr int side = 64;
    int i = 0, j = 0; ///< in tiles
};

std::vector<Tile> all_tiles(const Grid& grid);

/// Some of a grid's tiles: those that have changed.
class TileSet {
public:
    explicit TileSet(const Grid& grid = {});
    void mark(Tile t) { flags_[at(t)] = 1; }
    void mark_all() { std::fill(flags_.begin(), flags_.end(), std::uint8_t{1}); }
    /// @param other of the same grid.
    void add(const TileSet& other);
    void clear() { std::fill(flags_.begin(), flags_.end(), std::uint8_t{0}); }
    std::vector<Tile> list() const;

private:
    std::size_t at(Tile t) const;
    int nu_ = 0, nv_ = 0;
    std::vector<std::uint8_t> flags_;
};

/// Copies a tile's cells from one field to another of the same grid.
void copy_tile(const Grid& grid, Tile tile, const std::vector<float>& from, std::vector<float>& to);
void copy_tiles(const Grid& grid, const std::vector<Tile>& tiles, const Fields& from, Fields& to);

/// What the drawing side knows of a run: copied out of the simulation's thread, never shared with it.
struct LiveView {
    double t_s = 0, end_s = 0; ///< simulated so far shown, and the path's length
    bool playing = false, finished = false, hand = false;
    double spin_angle_rad = 0;                 ///< of the backing plate, for its mark
    double orbit_angle_rad = 0;                ///< slowed down to be seen: not the true orbit
    StepReport now;                            ///< the last step
    Fields fields;                             ///< the five accumulators as of t_s
    std::vector<float> pressure_pa, speed_m_s; ///< under the pad now; 0 elsewhere
    std::vector<float> film_c, peak_c; ///< of the film's outer face, now and the most so far, to heat_step_k
    TileSet warmed{Grid{}};            ///< tiles whose temperatures changed at the last update
    /// Chance of burning through, %, NaN off the panel. Not the run's: worked out beside it by whoever shows
    /// it; empty where it is not known.
    std::vector<float> chance_percent;
    std::vector<StepReport> trace;   ///< of the steps up to t_s
    std::vector<double> worst_share; ///< with trace: share of clear taken at the worst cell so far
    std::vector<Event> events;
    bool by_hand = false;          ///< the path is a hand's, and not the job's
    std::vector<ArmSample> stroke; ///< the hand's path so far
    std::uint64_t generation = 0;  ///< changes when the run was restarted: panel and all fields are new
};

/// What the hand does, sampled by the window; in hand mode the path is made of these.
struct HandInput {
    Point2 at; ///< where it wants to be: the pad gets there as fast as an arm can, at hand_speed_m_s
    double force_n = 0;
    Point2 tilt_rad;
    bool trigger = false; ///< pad down and turning
};

/// A run on its own thread: played, paused, stepped, sought through, or driven by hand. Every call returns
/// at once. The steps are those of simulate(): drawing and speed change nothing in the result.
///
/// Seeking back starts from the nearest snapshot (a copy of the simulation kept every so often, as many as
/// fit in snapshot_bytes) and simulates forward: exact, since a simulation is a value.
class LiveRun {
public:
    /// A pointer may jump, an arm may not: a path file takes 2 m/s at the most.
    static constexpr double hand_speed_m_s = 1.0;
    static constexpr std::size_t snapshot_bytes = 256u << 20;
    /// A temperature is handed out anew once it has changed by as much: under what colours or numbers show.
    static constexpr float heat_step_k = 0.02f;

    explicit LiveRun(std::shared_ptr<const RunJob> job);
    ~LiveRun();
    LiveRun(const LiveRun&) = delete;
    LiveRun& operator=(const LiveRun&) = delete;

    /// A new job (an edited technique, another panel) from its start; plays on if it was playing.
    void restart(std::shared_ptr<const RunJob> job);
    void play();
    void pause();
    void step(); ///< one simulation step, then pause
    void seek(double t_s);
    void set_speed(double times_real_time); ///< 0.25 to 200

    /// Hand mode: starts with an untouched panel; the pad follows hand() in real time while playing.
    void begin_hand();
    void hand(const HandInput& input);
    /// Ends hand mode; the stroke stays as the path, to be sought through and saved.
    void end_hand();
    /// The path in use: the job's, or the hand's so far.
    ArmPath path() const;

    std::shared_ptr<const RunJob> job() const;

    /// Brings `view` up to date. @return tiles whose cells changed since the last call (all of them, after
    /// a restart or a seek back); view.generation tells a restart.
    std::vector<Tile> update(LiveView& view);

    /// Waits until nothing is left to do (paused, finished, or a seek done); for tests and pictures.
    void wait_idle() const;

private:
    struct Shared;
    class Loop;
    void work();

    std::unique_ptr<Shared> shared_;
    std::thread thread_;
};

/// The values of a map over a panel, in its unit: µm, µm, kPa, m/s, s, kJ/m², °C, °C, %. Cells outside the
/// panel, and all of a chance that is not known: NaN.
/// @param cells if given, only these flat indices are filled, the rest of `out` is left alone.
void map_values(MapKind kind, const RunJob& job, const LiveView& view, std::vector<float>& out,
                const std::vector<Tile>* tiles = nullptr);

struct MapInfo {
    const char* id;   ///< "film_lost": for --map
    const char* name; ///< "Film lost"
    const char* unit; ///< "µm"
    bool film;        ///< shown in µm or mil
    bool low_is_bad;  ///< clear left
};
const MapInfo& map_info(MapKind kind);

} // namespace sparecoat::view
