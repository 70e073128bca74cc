#include "view/pages/compare/compare_model.hpp"
#include "formats/output_folder.hpp"
#include "picture/compare_folder.hpp"
#include "picture/map_drawing.hpp"
#include "units/error.hpp"
#include "view/pages/risk/risk_model.hpp"
#include "view/render/shot.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <nlohmann/json.hpp>
#include <utility>

namespace sparecoat::view::compare {
namespace {

constexpr double scale_every_s = 0.2;

bool is_of_this_moment(MapKind kind) { return kind == MapKind::pressure_now || kind == MapKind::speed_now; }

/// Time of the step that a moment lies in, as LiveRun::seek() takes it.
double step_time(const ArmPath& path, double t_s) {
    const auto after = std::ranges::upper_bound(path.samples, t_s + 1e-9, {}, &ArmSample::t_s);
    return after == path.samples.begin() ? 0 : std::prev(after)->t_s;
}

float most_of(const std::vector<float>& values) {
    float most = -std::numeric_limits<float>::infinity();
    for (const float v : values)
        most = v > most ? v : most; // comparisons with NaN are false: cells outside drop out
    return most;
}

float least_of(const std::vector<float>& values) {
    float least = std::numeric_limits<float>::infinity();
    for (const float v : values) least = v < least ? v : least;
    return least;
}

/// A range that reaches as far to either side of 0 and ends at a round number.
Scale scale_round_zero(double most) {
    if (!(most > 0)) most = 1;
    const double step = round_step(most, 2.5), end = step * std::ceil(most / step - 1e-9);
    return locked_scale(-end, end);
}

} // namespace

CompareModel::CompareModel() : preparing_(prepare_runs), working_(work), saving_(write) {}
CompareModel::~CompareModel() = default;

// ---- which techniques -----------------------------------------------------------------------------

void CompareModel::open(const Library& library, CompareRequest request) {
    demand_compared(request);
    close();
    library_ = library;
    chosen = 1, row = 0;
    change(std::move(request));
}

void CompareModel::open_with_next(const Library& library, CompareRequest request,
                                  const std::vector<Listing>& list) {
    close();
    library_ = library;
    chosen = 1, row = 0;
    const std::string last = request.techniques.back();
    change_with_next(std::move(request), list, last);
}

void CompareModel::close() {
    preparing_.call_off();
    call_off();
    library_.reset();
    runs_.clear();
    comparison_.reset();
    pointer.reset(), pinned.reset();
    fault_.clear();
    request_ = wanted_ = {};
    playing_ = false, t_s_ = 0;
}

void CompareModel::change(CompareRequest request, std::vector<std::string> or_else) {
    demand_compared(request);
    wanted_ = std::move(request);
    chosen = std::min(chosen, sides() - 1);
    preparing_.ask({*library_, wanted_, std::move(or_else)});
}

void CompareModel::change_with_next(CompareRequest request, const std::vector<Listing>& list,
                                    const std::string& after) {
    std::vector<std::string> next;
    auto at = std::ranges::find(list, after, &Listing::id);
    for (std::size_t n = 0; n < list.size(); ++n) {
        at = at == list.end() || at + 1 == list.end() ? list.begin() : at + 1;
        if (std::ranges::find(request.techniques, at->id) == request.techniques.end()) next.push_back(at->id);
    }
    if (next.empty()) return;
    request.techniques.push_back(next.front());
    next.erase(next.begin());
    change(std::move(request), std::move(next));
}

void CompareModel::choose_next(int by) {
    const auto count = static_cast<std::ptrdiff_t>(sides());
    chosen = static_cast<std::size_t>((static_cast<std::ptrdiff_t>(chosen) + by + count) % count);
}

void CompareModel::add(const std::string& reference) {
    if (!can_add()) return;
    CompareRequest next = wanted_;
    next.techniques.push_back(reference);
    change(std::move(next));
    chosen = sides() - 1;
}

void CompareModel::add_next(const std::vector<Listing>& list) {
    if (!can_add()) return;
    change_with_next(wanted_, list, wanted_.techniques[chosen]);
    chosen = sides() - 1;
}

void CompareModel::replace(std::size_t side, const std::string& reference) {
    CompareRequest next = wanted_;
    next.techniques[side] = reference;
    if (side == 0) next.first.reset();
    change(std::move(next));
}

void CompareModel::drop(std::size_t side) {
    if (sides() <= fewest_compared) return;
    CompareRequest next = wanted_;
    next.techniques.erase(next.techniques.begin() + static_cast<std::ptrdiff_t>(side));
    if (side == 0) next.first.reset();
    change(std::move(next));
}

void CompareModel::make_first(std::size_t side) {
    if (side == 0 || wanted_.first) return;
    CompareRequest next = wanted_;
    std::swap(next.techniques[0], next.techniques[side]);
    change(std::move(next));
}

std::string CompareModel::name(std::size_t side) const {
    if (side < runs_.size()) return runs_[side]->job->step.technique.name;
    return side == 0 && wanted_.first ? wanted_.first->name : wanted_.techniques[side];
}

CompareModel::Prepared CompareModel::prepare_runs(const Wish& wish, TaskState&) {
    Prepared out{wish.request, {}, {}};
    for (std::size_t tried = 0;; ++tried) {
        try {
            for (ComparedTechnique& one : prepare_compared(wish.library, out.of))
                out.jobs.push_back(std::make_shared<const RunJob>(std::move(one.job)));
            out.fault.reset();
            return out;
        } catch (const InputError& error) {
            out.fault = error;
        }
        if (tried == wish.or_else.size()) return out;
        out.of.techniques.back() = wish.or_else[tried];
    }
}

void CompareModel::take_runs(Prepared prepared) {
    if (prepared.fault) {
        if (!has_runs()) close();
        else wanted_ = request_, chosen = std::min(chosen, sides() - 1);
        throw *prepared.fault;
    }
    const bool other_panel = runs_.empty() || request_.run.panel != prepared.of.run.panel;
    request_ = wanted_ = std::move(prepared.of);
    runs_.clear();
    for (const auto& job : prepared.jobs) runs_.push_back(std::make_unique<Run>(job));
    ++generation_;
    shown_.reset();
    peak_ = 0;
    if (other_panel) t_s_ = 0;
    seek(t_s_);
    work_out();
}

// ---- the clock ------------------------------------------------------------------------------------

double CompareModel::end_s() const {
    double end = 0;
    for (const auto& run : runs_) end = std::max(end, run->job->path.samples.back().t_s);
    return end;
}

bool CompareModel::arrived() const {
    return std::ranges::all_of(runs_, [](const auto& run) {
        return std::abs(run->view.t_s - run->due_s) < 1e-6 && run->view.generation > 0;
    });
}

void CompareModel::play_or_pause() {
    if (!has_runs()) return;
    if (!playing_ && t_s_ >= end_s() - 1e-9) seek(0);
    playing_ = !playing_;
}

void CompareModel::seek(double t_s) {
    if (!has_runs()) return;
    t_s_ = std::clamp(t_s, 0.0, end_s());
    for (const auto& run : runs_) {
        run->due_s = step_time(run->job->path, t_s_);
        run->live.seek(t_s_);
    }
}

void CompareModel::go_on(double dt_s, double speed) {
    if (!playing_ || !arrived()) return;
    seek(t_s_ + dt_s * speed);
    playing_ = t_s_ < end_s() - 1e-9;
}

// ---- the maps -------------------------------------------------------------------------------------

std::vector<ComparePane> CompareModel::panes() const {
    std::vector<ComparePane> out;
    const bool both = runs() == 2; // there is room for the second's own map as well
    for (std::size_t side = 0; side < runs(); ++side)
        if (side == 0 || both || !differences) out.push_back({side, false});
    for (std::size_t side = 1; side < runs() && differences; ++side) out.push_back({side, true});
    return out;
}

const std::vector<float>& CompareModel::values(const ComparePane& pane) const {
    return pane.over_first ? runs_[pane.side]->over : runs_[pane.side]->map;
}

const std::vector<Tile>& CompareModel::changed(const ComparePane& pane) const {
    return pane.over_first ? runs_[pane.side]->over_changed : runs_[pane.side]->changed;
}

std::optional<Point2> CompareModel::weakest(std::size_t side) const {
    if (!comparison_) return {};
    const ComparedTechnique& one = comparison_->techniques[side]; // of the runs: they are taken up together
    if (!(one.mean_chance[one.weakest_cell] > 0)) return {};
    return comparison_->panel().grid.centre(one.weakest_cell);
}

void CompareModel::refresh(Run& run, bool all) {
    const Grid& grid = run.job->panel.grid;
    if (all) run.changed = all_tiles(grid), run.map.clear();
    if (!shows_draws()) return map_values(map, *run.job, run.view, run.map, all ? nullptr : &run.changed);
    if (!all) return run.changed.clear();
    const auto side = static_cast<std::size_t>(
        std::ranges::find_if(runs_, [&](const auto& r) { return r.get() == &run; }) - runs_.begin());
    const ComparedTechnique& one = comparison_->techniques[side];
    const Panel& panel = run.job->panel;
    run.map = map == MapKind::chance ? one.mean_chance : one.mean_removed_um;
    for (std::size_t k = 0; k < run.map.size(); ++k) {
        if (!panel.inside[k]) continue; // NaN stays
        if (map == MapKind::chance) run.map[k] *= 100;
        if (map == MapKind::clear_left) run.map[k] = std::max(0.0f, panel.clear_um[k] - run.map[k]);
    }
}

void CompareModel::refresh_over(const Run& first, Run& run, bool all) {
    const Grid& grid = run.job->panel.grid;
    if (all) {
        run.over_changed = all_tiles(grid);
        run.over.resize(run.map.size());
    } else {
        TileSet tiles(grid);
        for (const Tile tile : first.changed) tiles.mark(tile);
        for (const Tile tile : run.changed) tiles.mark(tile);
        run.over_changed = tiles.list();
    }
    for (const Tile tile : run.over_changed)
        for (int j = tile.j * Tile::side; j < std::min((tile.j + 1) * Tile::side, grid.nv); ++j)
            for (int i = tile.i * Tile::side; i < std::min((tile.i + 1) * Tile::side, grid.nu); ++i) {
                const std::size_t k = grid.index(i, j);
                run.over[k] = run.map[k] - first.map[k];
            }
}

/// @param most of the values' sizes
double CompareModel::end_of_scale(std::vector<float> Run::*values, double most) const {
    const bool piles_up =
        map == MapKind::film_lost || map == MapKind::contact_time || map == MapKind::friction_work;
    if (whole_range || !piles_up) return most;
    std::vector<const std::vector<float>*> maps;
    for (const auto& run : runs_) maps.push_back(&((*run).*values));
    return usual_end(maps);
}

void CompareModel::refresh_scales(FilmUnit unit) {
    scaled_s_ = now_s_;
    const double factor = map_info(map).film ? per_um(unit) : 1;
    double low = std::numeric_limits<double>::infinity(), high = -low, apart = 0, hottest = -low;
    for (const auto& run : runs_) {
        low = std::min(low, static_cast<double>(least_of(run->map)));
        high = std::max(high, static_cast<double>(most_of(run->map)));
        if (!run->view.peak_c.empty())
            hottest = std::max(hottest, static_cast<double>(most_of(run->view.peak_c)));
        if (run->over.empty()) continue;
        apart = std::max(
            {apart, static_cast<double>(most_of(run->over)), -static_cast<double>(least_of(run->over))});
    }
    if (!(low <= high)) low = high = 0;
    if (map == MapKind::temperature || map == MapKind::peak_temperature) {
        scale_ = temperature_scale(request_.run.air_c, std::max(hottest, high));
    } else if (map == MapKind::chance) {
        scale_ = chance_scale(high);
    } else {
        if (is_of_this_moment(map)) low = 0, high = peak_ = std::max(peak_, high);
        scale_ = round_scale(low * factor, end_of_scale(&Run::map, high) * factor);
    }
    over_scale_ = scale_round_zero(end_of_scale(&Run::over, apart) * factor);
    most_ = high * factor, farthest_ = apart * factor;
}

// ---- the comparison -------------------------------------------------------------------------------

void CompareModel::work_out() {
    comparison_.reset();
    fault_.clear();
    working_.ask({*library_, request_});
}

void CompareModel::call_off() { working_.call_off(); }

CompareModel::Worked CompareModel::work(const Wish& wish, TaskState& task) {
    try {
        return {std::make_shared<const Comparison>(compare_techniques(
                    wish.library, wish.request, threads_beside_drawing(), watched_by(task))),
                ""};
    } catch (const Stopped&) {
        return {}; // called off: nobody will look at it
    } catch (const InputError& error) {
        return {nullptr, error.what()};
    }
}

void CompareModel::save(const std::filesystem::path& folder, FilmUnit unit, PaperSize sheet) {
    if (!comparison_) throw InputError("", "report", "a comparison that is not worked out", "one that is");
    OutputFolder{folder}; // a place that may not be written to is refused before the work
    saving_.ask({comparison_, folder, unit, sheet});
}

CompareModel::Saved CompareModel::write(const Saving& saving, TaskState&) {
    try {
        OutputFolder folder(saving.folder);
        write_comparison(folder.path(), *saving.comparison, saving.unit, saving.sheet);
        folder.commit();
        return {"Report written: " + (folder.target() / "report.pdf").string(), {}};
    } catch (const InputError& error) {
        return {"", error};
    }
}

// ---- every frame ----------------------------------------------------------------------------------

std::string CompareModel::tick(double now_s, double speed, FilmUnit unit) {
    const double dt_s = std::clamp(now_s - now_s_, 0.0, 0.1);
    now_s_ = now_s;
    std::string told;
    if (std::optional<Saved> saved = saving_.take()) {
        if (saved->fault) throw *saved->fault;
        told = saved->told;
    }
    if (!is_open()) return told;
    if (std::optional<Prepared> prepared = preparing_.take()) take_runs(std::move(*prepared));
    if (std::optional<Worked> worked = working_.take()) {
        comparison_ = std::move(worked->comparison);
        fault_ = std::move(worked->fault);
    }
    if (!has_runs()) return told;
    go_on(dt_s, speed);
    bool all = false;
    std::vector<std::vector<Tile>> tiles;
    for (const auto& run : runs_) {
        const std::uint64_t generation = run->view.generation;
        tiles.push_back(run->live.update(run->view));
        all = all || run->view.generation != generation;
    }
    if (std::ranges::any_of(runs_, [](const auto& run) { return run->view.generation == 0; })) return told;
    const Shown shown{map, shows_draws(), whole_range, comparison_.get()};
    if (shown_ != shown) {
        if (!shown_ || shown_->map != map) peak_ = 0;
        all = true;
    }
    shown_ = shown;
    const bool warm = map == MapKind::temperature || map == MapKind::peak_temperature;
    for (std::size_t k = 0; k < runs_.size(); ++k) {
        runs_[k]->changed = warm ? runs_[k]->view.warmed.list() : std::move(tiles[k]);
        refresh(*runs_[k], all);
    }
    for (std::size_t k = 1; k < runs_.size(); ++k) refresh_over(*runs_.front(), *runs_[k], all);
    if (all || unit_ != unit || now_s - scaled_s_ > scale_every_s) refresh_scales(unit);
    unit_ = unit;
    return told;
}

void CompareModel::settle(FilmUnit unit) {
    while (preparing() || working() || saving()) {
        preparing_.wait(), working_.wait(), saving_.wait();
        tick(now_s_, 1, unit);
    }
    for (const auto& run : runs_) run->live.wait_idle();
    tick(now_s_, 1, unit);
    scaled_s_ = -1;
    tick(now_s_ + 1e-3, 1, unit);
}

} // namespace sparecoat::view::compare
