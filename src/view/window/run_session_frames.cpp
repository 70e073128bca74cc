// Every frame of the run: its map, its scale, the spot looked at, and what is made of them beside the
// drawing.
#include "picture/map_drawing.hpp"
#include "units/quantity.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include "view/window/run_session.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace sparecoat::view {
namespace {

constexpr double assess_every_s = 0.35;
constexpr double scale_every_s = 0.2;
constexpr double contour_number_size = 13; // in units of a window 720 high

bool is_of_this_moment(MapKind kind) { return kind == MapKind::pressure_now || kind == MapKind::speed_now; }

} // namespace

std::string clock_text(double seconds) {
    const long whole = std::lround(std::floor(std::max(0.0, seconds)));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
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

void RunSession::tick(double now_s) {
    const double dt_s = std::clamp(now_s - now_s_, 0.0, 0.1);
    now_s_ = now_s;
    take_made();
    begin_step();
    if (chooser == Chooser::none)
        after_save_ = nullptr; // left without saving: nothing is lost, nothing goes on
    if (now_s > notice_until_s_) notice.clear();
    for (Page* page : pages_) page->tick(now_s);
    if (front() && front()->stills_run()) { // what the run showed is still there
        changed_.clear();
        panel_changed_ = false;
        return;
    }
    feed_hand(dt_s);
    const std::vector<Tile> tiles = update_run();
    for (Page* page : pages_) page->follow_run(tiles);
    if (!has_frame()) return;
    refresh_map(tiles);
    if (map_stale_ || now_s - scaled_s_ > scale_every_s) refresh_scale();
    map_stale_ = false;
    keep_history();
    columns.bring_up_to_date(view);
    assess(now_s);
    for (Page* page : pages_) page->end_tick();
}

/// Copies out what the run has changed. @return the tiles.
std::vector<Tile> RunSession::update_run() {
    const std::uint64_t generation = view.generation;
    std::vector<Tile> tiles = live.update(view);
    panel_changed_ = false;
    if (view.generation == generation) return tiles;
    const std::shared_ptr<const RunJob> job = live.job();
    panel_changed_ = generation == 0 || shown->request.panel != job->request.panel ||
                     shown->request.grid_m != job->request.grid_m;
    const bool other_job = shown != job || generation == 0;
    shown = job;
    if (other_job)
        for (Page* page : pages_) page->job_shown(panel_changed_);
    verdict.reset(), contour_labels.clear(), history.clear();
    peak_low_ = peak_high_ = 0;
    next_spot_ = 0;
    map_stale_ = true;
    if (pinned && !cell_at(*pinned)) pinned.reset();
    return tiles;
}

bool RunSession::works_in_background() const {
    return preparing() ||
           std::ranges::any_of(pages_, [](const Page* page) { return page->works_in_background(); });
}

// ---- the map --------------------------------------------------------------------------------------

bool RunSession::shows_map() const {
    return draw_map && std::ranges::none_of(pages_, [](const Page* page) { return page->hides_map(); });
}

void RunSession::show(MapKind kind) {
    draw_map = true;
    for (Page* page : pages_) page->map_chosen(kind);
    if (settings.map == kind) return;
    next_spot_ = 0;
    settings.map = kind;
    contour_labels.clear();
    peak_low_ = peak_high_ = 0;
    map_stale_ = true;
}

void RunSession::refresh_map(const std::vector<Tile>& tiles) {
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

double RunSession::shown_per_unit() const {
    return map_info(settings.map).film ? per_um(settings.unit) : 1.0;
}

std::string RunSession::unit_text() const {
    return map_info(settings.map).film ? text_of(settings.unit) : map_info(settings.map).unit;
}

void RunSession::refresh_scale() {
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

// ---- the spot -------------------------------------------------------------------------------------

void RunSession::hold(Point2 at) {
    pinned = at;
    for (Page* page : pages_) page->spot_held(at);
}

std::vector<Point2> RunSession::pins() const {
    for (const Page* page : pages_)
        if (std::optional<std::vector<Point2>> places = page->pins()) return *std::move(places);
    std::vector<Point2> out;
    if (verdict)
        for (const SpotAtRisk& spot : verdict->worst) out.push_back(spot.at);
    return out;
}

std::optional<std::size_t> RunSession::cell_at(Point2 at) const { return painted_cell(shown->panel, at); }

std::optional<SpotAtRisk> RunSession::described_spot() const {
    const std::optional<std::size_t> cell = spot() ? cell_at(*spot()) : std::nullopt;
    if (!cell || !verdict || view.fields.removed_um.size() <= *cell) return {};
    return describe_spot(shown->panel, view.fields, verdict->open, *cell);
}

void RunSession::keep_history() {
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

void RunSession::assess(double now_s) {
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

void RunSession::bring_copies_up_to_date() {
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

std::optional<LabelView> RunSession::label_view() const {
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
