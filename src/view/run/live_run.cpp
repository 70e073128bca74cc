#include "view/run/live_run.hpp"
#include "decide/verdict.hpp"
#include "formats/path_csv.hpp"
#include "units/quantity.hpp"
#include "view/run/tile_rows.hpp"
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <limits>
#include <utility>

namespace sparecoat::view {
namespace {

using Clock = std::chrono::steady_clock;

constexpr auto work_slice = std::chrono::milliseconds(8);  // simulate, then show
constexpr auto frame_pause = std::chrono::milliseconds(8); // when ahead of the clock
constexpr double hand_sample_s = 0.016;
constexpr double shown_orbit_turns_s = 1.5; // the true orbit is far too fast to be seen

/// Marks the tiles under a footprint.
void mark(TileSet& tiles, const Grid& grid, const Footprint& f) {
    for (const Footprint::Row& row : f.rows) {
        const auto nu = static_cast<std::size_t>(grid.nu);
        const int j = static_cast<int>(row.grid / nu) / Tile::side;
        const int first = static_cast<int>(row.grid % nu), last = first + static_cast<int>(row.count) - 1;
        for (int i = first / Tile::side; i <= last / Tile::side; ++i) tiles.mark({i, j});
    }
}

/// All of the accumulators: what is sized and copied here must not forget one.
constexpr std::array accumulators{&Fields::contact_time_s, &Fields::pressure_time_pa_s,
                                  &Fields::friction_path_pa_m, &Fields::removed_cold_um, &Fields::removed_um};
static_assert(sizeof(Fields) == accumulators.size() * sizeof(std::vector<float>));

void size_for(LiveView& view, const Panel& panel) {
    for (const auto field : accumulators) (view.fields.*field).assign(panel.grid.cells(), 0.0f);
    for (auto* field : {&view.pressure_pa, &view.speed_m_s, &view.film_c, &view.peak_c})
        field->assign(panel.grid.cells(), 0.0f);
    view.warmed = TileSet(panel.grid);
    view.chance_percent.clear();
}

/// The simulation and what goes with it at one moment: a value, so a snapshot is a copy.
struct Moment {
    Simulation simulation;
    std::size_t next = 0; ///< step to do next
    double spin_angle_rad = 0;
    double worst_share = 0;
};

/// Largest share of clear coat taken under the pad, or before.
double worst_share(const Panel& panel, const Simulation& simulation, double before) {
    const std::vector<float>& removed = simulation.fields().removed_um;
    float worst = static_cast<float>(before);
    for (const Footprint::Row& row : simulation.footprint().rows)
        for (std::size_t k = row.grid; k < row.grid + row.count; ++k)
            if (panel.inside[k]) worst = std::max(worst, removed[k] / panel.clear_um[k]);
    return static_cast<double>(worst);
}

} // namespace

TileSet::TileSet(const Grid& grid)
    : nu_((grid.nu + Tile::side - 1) / Tile::side), nv_((grid.nv + Tile::side - 1) / Tile::side),
      flags_(static_cast<std::size_t>(nu_) * static_cast<std::size_t>(nv_), 0) {}

std::size_t TileSet::at(Tile t) const {
    return static_cast<std::size_t>(t.j) * static_cast<std::size_t>(nu_) + static_cast<std::size_t>(t.i);
}

void TileSet::add(const TileSet& other) {
    for (std::size_t k = 0; k < flags_.size(); ++k) flags_[k] |= other.flags_[k];
}

std::vector<Tile> TileSet::list() const {
    std::vector<Tile> out;
    for (int j = 0; j < nv_; ++j)
        for (int i = 0; i < nu_; ++i)
            if (flags_[at({i, j})]) out.push_back({i, j});
    return out;
}

void copy_tile(const Grid& grid, Tile tile, const std::vector<float>& from, std::vector<float>& to) {
    for_each_row(grid, tile, [&](std::size_t first, std::size_t count) {
        std::copy_n(from.begin() + static_cast<std::ptrdiff_t>(first), count,
                    to.begin() + static_cast<std::ptrdiff_t>(first));
    });
}

void copy_tiles(const Grid& grid, const std::vector<Tile>& tiles, const Fields& from, Fields& to) {
    for (const Tile tile : tiles)
        for (const auto field : accumulators) copy_tile(grid, tile, from.*field, to.*field);
}

std::vector<Tile> all_tiles(const Grid& grid) {
    TileSet all(grid);
    all.mark_all();
    return all.list();
}

struct LiveRun::Shared {
    mutable std::mutex mutex;
    mutable std::condition_variable wake, idle;

    // Asked for by the window.
    bool quit = false, playing = false, restart = true;
    int steps = 0;
    double speed = 1;
    std::optional<double> seek_s;
    bool hand = false, hand_begin = false, hand_end = false;
    HandInput input;
    std::shared_ptr<const RunJob> job;

    // Shown by the worker. `front` is complete at every unlock.
    LiveView front;
    TileSet changed{Grid{}}, warmed{Grid{}}; ///< since the last update
    ArmPath path;
    std::uint64_t rewinds = 0; ///< trace was cut back
    std::uint64_t rewinds_seen = 0;
    bool busy = true;
};

LiveRun::LiveRun(std::shared_ptr<const RunJob> job) : shared_(std::make_unique<Shared>()) {
    shared_->job = std::move(job);
    thread_ = std::thread([this] { work(); });
}

LiveRun::~LiveRun() {
    {
        const std::lock_guard lock(shared_->mutex);
        shared_->quit = true;
    }
    shared_->wake.notify_all();
    thread_.join();
}

// Every command sets a wish and wakes the worker.
#define SPARECOAT_ASK(...)                                                                                   \
    {                                                                                                        \
        const std::lock_guard lock(shared_->mutex);                                                          \
        __VA_ARGS__;                                                                                         \
        shared_->busy = true;                                                                                \
    }                                                                                                        \
    shared_->wake.notify_all()

void LiveRun::restart(std::shared_ptr<const RunJob> job) {
    SPARECOAT_ASK(shared_->job = std::move(job); shared_->restart = true; shared_->seek_s.reset();
                  shared_->hand = false);
}
void LiveRun::play() { SPARECOAT_ASK(shared_->playing = true); }
void LiveRun::pause() { SPARECOAT_ASK(shared_->playing = false); }
void LiveRun::step() { SPARECOAT_ASK(shared_->playing = false; ++shared_->steps); }
void LiveRun::seek(double t_s) { SPARECOAT_ASK(shared_->seek_s = t_s); }
void LiveRun::set_speed(double times) { SPARECOAT_ASK(shared_->speed = std::clamp(times, 0.25, 200.0)); }
void LiveRun::begin_hand() { SPARECOAT_ASK(shared_->hand = shared_->hand_begin = true); }
void LiveRun::hand(const HandInput& input) { SPARECOAT_ASK(shared_->input = input); }
void LiveRun::end_hand() {
    SPARECOAT_ASK(shared_->hand_end = shared_->hand; shared_->hand = false; shared_->playing = false);
}

#undef SPARECOAT_ASK

ArmPath LiveRun::path() const {
    const std::lock_guard lock(shared_->mutex);
    return shared_->path;
}

std::shared_ptr<const RunJob> LiveRun::job() const {
    const std::lock_guard lock(shared_->mutex);
    return shared_->job;
}

void LiveRun::wait_idle() const {
    std::unique_lock lock(shared_->mutex);
    shared_->idle.wait(lock, [this] { return !shared_->busy; });
}

std::vector<Tile> LiveRun::update(LiveView& view) {
    const std::lock_guard lock(shared_->mutex);
    const LiveView& front = shared_->front;
    if (shared_->restart || front.fields.removed_um.empty()) return {}; // nothing to show of this job yet
    const Grid& grid = shared_->job->panel.grid;
    if (view.generation != front.generation ||
        view.fields.removed_um.size() != front.fields.removed_um.size()) {
        size_for(view, shared_->job->panel);
        view.trace.clear(), view.worst_share.clear(), view.stroke.clear();
        shared_->changed.mark_all(), shared_->warmed.mark_all();
    }
    const std::vector<Tile> tiles = shared_->changed.list();
    shared_->changed.clear();
    view.warmed = shared_->warmed;
    shared_->warmed.clear();
    for (const Tile tile : view.warmed.list()) {
        copy_tile(grid, tile, front.film_c, view.film_c);
        copy_tile(grid, tile, front.peak_c, view.peak_c);
    }
    copy_tiles(grid, tiles, front.fields, view.fields);
    for (const Tile tile : tiles) {
        copy_tile(grid, tile, front.pressure_pa, view.pressure_pa);
        copy_tile(grid, tile, front.speed_m_s, view.speed_m_s);
    }
    if (shared_->rewinds != shared_->rewinds_seen || view.trace.size() > front.trace.size()) {
        view.trace.clear(), view.worst_share.clear();
        shared_->rewinds_seen = shared_->rewinds;
    }
    view.trace.insert(view.trace.end(), front.trace.begin() + static_cast<std::ptrdiff_t>(view.trace.size()),
                      front.trace.end());
    view.worst_share.insert(view.worst_share.end(),
                            front.worst_share.begin() + static_cast<std::ptrdiff_t>(view.worst_share.size()),
                            front.worst_share.end());
    view.by_hand = front.by_hand;
    if (view.by_hand) {
        const std::vector<ArmSample>& samples = shared_->path.samples;
        view.stroke.insert(view.stroke.end(),
                           samples.begin() + static_cast<std::ptrdiff_t>(view.stroke.size()), samples.end());
    }
    view.t_s = front.t_s, view.end_s = front.end_s;
    view.playing = shared_->playing && !front.finished, view.finished = front.finished,
    view.hand = shared_->hand;
    view.spin_angle_rad = front.spin_angle_rad, view.orbit_angle_rad = front.orbit_angle_rad;
    view.now = front.now, view.events = front.events, view.generation = front.generation;
    return tiles;
}

/// The worker: keeps the current moment, its snapshots and the path, and turns wishes into steps.
class LiveWorker {
public:
    LiveWorker(const RunJob& job, ArmPath path)
        : job_(&job), path_(std::move(path)), changes_(job.panel.grid) {
        now_.emplace(Moment{Simulation(job.panel, setup_of(job))});
        most_snapshots_ = std::clamp<std::size_t>(LiveRun::snapshot_bytes / now_->simulation.bytes(), 2, 40);
        keep_snapshot(); // the first stays: there is always one to go back to
        changes_.mark_all();
    }

    const ArmPath& path() const { return path_; }
    ArmPath& path() { return path_; }
    bool finished() const { return now_->next + 1 >= path_.samples.size(); }
    double time_s() const {
        return path_.samples.empty() ? 0 : path_.samples[std::min(now_->next, path_.samples.size() - 1)].t_s;
    }
    double end_s() const { return path_.samples.empty() ? 0 : path_.samples.back().t_s; }
    const Moment& moment() const { return *now_; }
    const std::vector<StepReport>& trace() const { return trace_; }
    const std::vector<double>& worst() const { return worst_; }
    TileSet& changes() { return changes_; }

    /// The temperatures that differ from those told before: in which tiles. Kept at the nodes, so that little
    /// is looked through and nothing has to be done while the drawing side waits.
    std::vector<Tile> take_warmed() {
        const PanelHeat& heat = now_->simulation.heat();
        const Grid& grid = job_->panel.grid;
        const bool first = film_nodes_c_.empty();
        const std::vector<float> film = heat.film_nodes_c(), peak = heat.peak_nodes_c();
        if (first) film_nodes_c_ = film, peak_nodes_c_ = peak;
        const auto differs = [&](std::size_t n) {
            return std::abs(film[n] - film_nodes_c_[n]) > LiveRun::heat_step_k ||
                   std::abs(peak[n] - peak_nodes_c_[n]) > LiveRun::heat_step_k;
        };
        const auto each_node = [&](Tile tile, const auto& visit) { // nodes of a row follow each other
            for_each_row(grid, tile, [&](std::size_t from, std::size_t count) {
                const std::size_t last = heat.node_of(from + count - 1);
                for (std::size_t n = heat.node_of(from); n <= last; ++n) visit(n);
            });
        };
        std::vector<Tile> warmed;
        for (const Tile tile : all_tiles(grid)) {
            bool changed = first;
            each_node(tile, [&](std::size_t n) { changed = changed || differs(n); });
            if (changed) warmed.push_back(tile);
        }
        for (const Tile tile : warmed) // only now: a node may lie in two tiles
            each_node(tile, [&](std::size_t n) { film_nodes_c_[n] = film[n], peak_nodes_c_[n] = peak[n]; });
        return warmed;
    }
    /// What take_warmed() told of, laid out over the cells of its tiles.
    void lay_out_heat(const std::vector<Tile>& tiles, std::vector<float>& film_c,
                      std::vector<float>& peak_c) const {
        const PanelHeat& heat = now_->simulation.heat();
        for (const Tile tile : tiles)
            for_each_row(job_->panel.grid, tile, [&](std::size_t from, std::size_t count) {
                for (std::size_t k = from; k < from + count; ++k) {
                    const std::size_t node = heat.node_of(k);
                    film_c[k] = film_nodes_c_[node], peak_c[k] = peak_nodes_c_[node];
                }
            });
    }

    void step() {
        if (now_->next >= next_snapshot_) keep_snapshot();
        const StepReport report =
            now_->simulation.step(path_.samples[now_->next], path_.samples[now_->next + 1]);
        ++now_->next;
        if (report.down) {
            now_->spin_angle_rad = std::fmod(now_->spin_angle_rad + report.spin_rad_s * report.dt_s, 2 * pi);
            now_->worst_share = worst_share(job_->panel, now_->simulation, now_->worst_share);
            mark(changes_, job_->panel.grid, now_->simulation.footprint());
        }
        trace_.push_back(report);
        worst_.push_back(now_->worst_share);
    }

    /// Goes back to the last moment kept at or before step k. @return true if anything was undone.
    bool rewind_to(std::size_t k) {
        if (k >= now_->next) return false;
        while (snapshots_.size() > 1 && snapshots_.back().next > k) snapshots_.pop_back();
        now_.emplace(snapshots_.back());
        next_snapshot_ = now_->next + snapshot_every();
        trace_.resize(now_->next), worst_.resize(now_->next);
        changes_.mark_all();
        return true;
    }

    std::size_t step_at(double t_s) const {
        const auto it = std::upper_bound(path_.samples.begin(), path_.samples.end(), t_s + 1e-9,
                                         [](double t, const ArmSample& s) { return t < s.t_s; });
        const auto k = static_cast<std::size_t>(it - path_.samples.begin());
        return k == 0 ? 0 : std::min(k - 1, path_.samples.size() - 1);
    }

private:
    std::size_t snapshot_every() const {
        return std::max<std::size_t>(200, path_.samples.size() / most_snapshots_ + 1);
    }
    void keep_snapshot() {
        if (!snapshots_.empty() && snapshots_.back().next == now_->next) return;
        if (snapshots_.size() >= most_snapshots_) { // a long hand stroke: keep every second one
            std::size_t kept = 0;
            for (std::size_t i = 0; i < snapshots_.size(); i += 2)
                std::swap(snapshots_[kept++], snapshots_[i]);
            snapshots_.erase(snapshots_.begin() + static_cast<std::ptrdiff_t>(kept), snapshots_.end());
        }
        snapshots_.push_back(*now_);
        next_snapshot_ = now_->next + snapshot_every();
    }

    const RunJob* job_;
    ArmPath path_;
    std::optional<Moment> now_;
    std::vector<Moment> snapshots_;
    std::size_t most_snapshots_ = 2, next_snapshot_ = 0;
    std::vector<StepReport> trace_;
    std::vector<double> worst_;
    TileSet changes_;
    std::vector<float> film_nodes_c_, peak_nodes_c_; ///< as told
};

namespace {

/// Where an arm gets to in a while that wants to be somewhere.
Point2 within_reach(Point2 from, Point2 to, double dt_s) {
    const double reach_m = LiveRun::hand_speed_m_s * dt_s, way_m = norm(to - from);
    return way_m <= reach_m ? to : from + (reach_m / way_m) * (to - from);
}

/// Adds the hand's sample as it will read back from its file.
void add_hand_sample(ArmPath& path, const RunJob& job, const HandInput& input, double t_s) {
    ArmSample sample;
    sample.t_s = path.samples.empty() ? 0 : std::round(t_s * 1e3) * 1e-3;
    if (!path.samples.empty() && !(sample.t_s > path.samples.back().t_s)) return;
    const Point2 at = path.samples.empty() ? input.at
                                           : within_reach(path.samples.back().at, input.at,
                                                          sample.t_s - path.samples.back().t_s);
    sample.at = {std::round(at.x * 1e5) * 1e-5, std::round(at.y * 1e5) * 1e-5};
    sample.force_n = input.force_n;
    sample.down = input.trigger && input.force_n > 0;
    const double tilt = std::round(norm(input.tilt_rad) / deg * 100) / 100 * deg;
    const double toward = std::round(std::atan2(input.tilt_rad.y, input.tilt_rad.x) / deg * 10) / 10 * deg;
    sample.tilt_rad = tilt_vector(tilt, toward);
    sample.speed_rad_s = job.step.technique.speed_rad_s;
    if (path.samples.empty()) {
        path.samples.push_back(as_recorded(sample, nullptr));
        return;
    }
    ArmPath leg;
    leg.samples = {path.samples.back(), sample};
    // A fast hand's step is cut as the reader would cut it, and the cuts become samples of their own.
    const ArmPath fine = resample(leg, {0.9 * StepLimits{}.max_step_m, 0.9 * StepLimits{}.max_step_s});
    for (std::size_t k = 1; k < fine.samples.size(); ++k)
        path.samples.push_back(as_recorded(fine.samples[k], &path.samples.back()));
}

} // namespace

/// What the run's own thread does: takes up wishes, simulates up to where the run should be, and hands out
/// what changed. All but steps and new simulations is done with the lock held.
class LiveRun::Loop {
public:
    explicit Loop(Shared& shared) : s_(shared) {}
    void run();

private:
    struct Goal {
        std::size_t target = 0; ///< steps to have done
        bool seeking = false, rewound = false;
    };
    bool take_wish(std::unique_lock<std::mutex>& lock);
    Goal next_goal();
    void take_hand();
    void begin(bool by_hand);
    void show(bool rewound);
    void show_footprint();

    Shared& s_;
    std::shared_ptr<const RunJob> job_;
    std::optional<LiveWorker> worker_;
    std::vector<Tile> shown_footprint_; // tiles whose "now" fields are not 0
    std::vector<Tile> warmed_;          // not shown yet
    Clock::time_point clock_ = Clock::now();
    double due_s_ = 0; // simulated time that should be reached by now
};

/// Pressure and speed under the pad, where it is now and where it was.
void LiveRun::Loop::show_footprint() {
    const Panel& panel = job_->panel;
    LiveView& front = s_.front;
    const Footprint& f = worker_->moment().simulation.footprint();
    TileSet& changes = worker_->changes();
    for (const Tile tile : shown_footprint_) {
        changes.mark(tile);
        for_each_row(panel.grid, tile, [&](std::size_t first, std::size_t count) {
            std::fill_n(front.pressure_pa.begin() + static_cast<std::ptrdiff_t>(first), count, 0.0f);
            std::fill_n(front.speed_m_s.begin() + static_cast<std::ptrdiff_t>(first), count, 0.0f);
        });
    }
    TileSet under(panel.grid);
    const bool pressing = !worker_->trace().empty() && worker_->trace().back().down;
    if (pressing) {
        mark(under, panel.grid, f);
        for (const Footprint::Row& row : f.rows)
            for (std::size_t c = 0; c < row.count; ++c) {
                const float covered = f.coverage[row.packed + c];
                if (!panel.inside[row.grid + c] || covered <= 0.01f) continue;
                front.pressure_pa[row.grid + c] = covered * f.pressure[row.packed + c];
                front.speed_m_s[row.grid + c] = f.speed[row.packed + c] / covered;
            }
    }
    shown_footprint_ = under.list();
    for (const Tile tile : shown_footprint_) changes.mark(tile);
}

void LiveRun::Loop::show(bool rewound) {
    show_footprint();
    const Panel& panel = job_->panel;
    LiveView& front = s_.front;
    TileSet& changes = worker_->changes();
    copy_tiles(panel.grid, changes.list(), worker_->moment().simulation.fields(), front.fields);
    s_.changed.add(changes);
    changes.clear();
    worker_->lay_out_heat(warmed_, front.film_c, front.peak_c);
    for (const Tile tile : std::exchange(warmed_, {})) s_.warmed.mark(tile);
    if (rewound) front.trace.clear(), front.worst_share.clear(), ++s_.rewinds;
    const auto shown = static_cast<std::ptrdiff_t>(front.trace.size());
    front.trace.insert(front.trace.end(), worker_->trace().begin() + shown, worker_->trace().end());
    front.worst_share.insert(front.worst_share.end(), worker_->worst().begin() + shown,
                             worker_->worst().end());
    front.t_s = worker_->time_s(), front.end_s = worker_->end_s();
    front.finished = worker_->finished() && !s_.hand;
    front.spin_angle_rad = worker_->moment().spin_angle_rad;
    front.orbit_angle_rad = std::fmod(2 * pi * shown_orbit_turns_s * front.t_s, 2 * pi);
    front.now = worker_->trace().empty() ? StepReport{} : worker_->trace().back();
    if (worker_->trace().empty() && !worker_->path().samples.empty())
        front.now.at = worker_->path().samples.front().at;
    front.events = worker_->moment().simulation.events();
}

/// Shows a new worker_'s panel as it is before the first step.
void LiveRun::Loop::begin(bool by_hand) {
    const std::uint64_t generation = s_.front.generation + 1;
    s_.path = worker_->path();
    s_.front = LiveView{};
    s_.front.generation = generation;
    s_.front.by_hand = by_hand;
    size_for(s_.front, job_->panel);
    s_.changed = s_.warmed = TileSet(job_->panel.grid);
    s_.changed.mark_all();
    warmed_ = worker_->take_warmed();
    shown_footprint_.clear();
    due_s_ = 0;
    clock_ = Clock::now();
    show(false);
}

/// @return whether what was wished for is still wished for.
bool LiveRun::Loop::take_wish(std::unique_lock<std::mutex>& lock) {
    // Building a simulation takes a while (the pad's layer over the panel): not under the lock. A
    // newer wish that comes in meanwhile is taken up next time round.
    const std::shared_ptr<const RunJob> wanted = s_.job;
    const bool by_hand = s_.hand_begin;
    lock.unlock();
    worker_.reset();
    job_ = wanted;
    worker_.emplace(*job_, by_hand ? ArmPath{} : job_->path);
    lock.lock();
    if (s_.job != wanted || s_.hand_begin != by_hand) return false;
    s_.restart = s_.hand_begin = false;
    begin(by_hand);
    return true;
}

/// One more sample of the hand's path, once it is time.
void LiveRun::Loop::take_hand() {
    const double since_s = std::chrono::duration<double>(Clock::now() - clock_).count();
    if (since_s >= hand_sample_s || worker_->path().samples.empty()) {
        // Never more than the reader's longest gap, even if the machine was held up.
        const double t_s = worker_->end_s() + std::min(since_s, 0.4);
        add_hand_sample(worker_->path(), *job_, s_.input, t_s);
        clock_ = Clock::now();
        const std::vector<ArmSample>& samples = worker_->path().samples;
        s_.path.samples.insert(s_.path.samples.end(),
                               samples.begin() + static_cast<std::ptrdiff_t>(s_.path.samples.size()),
                               samples.end());
    }
}

LiveRun::Loop::Goal LiveRun::Loop::next_goal() {
    Goal goal;
    if (s_.hand_end) {
        s_.hand_end = false;
        s_.path = worker_->path();
    }
    goal.target = worker_->moment().next;
    if (s_.seek_s) {
        goal.target = worker_->step_at(*s_.seek_s);
        s_.seek_s.reset();
        goal.seeking = true;
        goal.rewound = worker_->rewind_to(goal.target);
        due_s_ = worker_->path().samples.empty() ? 0 : worker_->path().samples[goal.target].t_s;
        clock_ = Clock::now();
    } else if (s_.steps > 0) {
        --s_.steps;
        ++goal.target;
    } else if (s_.playing && s_.hand) {
        take_hand();
        goal.target = worker_->path().samples.empty() ? 0 : worker_->path().samples.size() - 1;
    } else if (s_.playing && !worker_->finished()) {
        const Clock::time_point t = Clock::now();
        due_s_ =
            std::min(due_s_ + s_.speed * std::chrono::duration<double>(t - clock_).count(),
                     worker_->time_s() + s_.speed * 0.25); // a machine that cannot keep up does not run away
        clock_ = t;
        goal.target = worker_->step_at(due_s_);
    } else {
        clock_ = Clock::now();
        due_s_ = worker_->time_s();
    }
    const std::size_t last = worker_->path().samples.empty() ? 0 : worker_->path().samples.size() - 1;
    goal.target = std::min(goal.target, last);
    return goal;
}

void LiveRun::Loop::run() {
    std::unique_lock lock(s_.mutex);
    for (;;) {
        if (s_.quit) return;
        if ((s_.restart || s_.hand_begin) && !take_wish(lock)) continue;
        const auto [target, seeking, rewound] = next_goal();

        if (rewound || worker_->moment().next < target) {
            const bool until_there = !s_.playing || seeking; // a seek is shown when it has arrived
            lock.unlock();
            const Clock::time_point slice = Clock::now() + work_slice;
            while (worker_->moment().next < target && (until_there || Clock::now() < slice)) worker_->step();
            warmed_ = worker_->take_warmed();
            lock.lock();
            if (!s_.restart && !s_.hand_begin) show(rewound);
            continue;
        }
        if (s_.restart || s_.hand_begin || s_.hand_end || s_.seek_s || s_.steps > 0) continue;
        if (s_.playing && (s_.hand || !worker_->finished())) {
            s_.wake.wait_for(lock, frame_pause);
            continue;
        }
        if (worker_->finished()) s_.playing = s_.playing && s_.hand;
        s_.busy = false;
        s_.idle.notify_all();
        s_.wake.wait(lock, [&] { return s_.busy || s_.quit; });
    }
}

void LiveRun::work() { Loop(*shared_).run(); }

} // namespace sparecoat::view
