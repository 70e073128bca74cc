#include "view/pages/lamp/lamp_model.hpp"
#include "view/render/scene.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::view::lamp {
namespace {

/// Fewer than a picture takes: the window draws them again and again, perhaps without a graphics card.
constexpr std::size_t most_marks_in_motion = 60'000;

constexpr float lowest_m = 0.05f, highest_m = 2, farthest_m = 4;

MarkPopulation own_marks(const RunJob& job, double work_j) {
    return step_marks(job.step.liquid, job.step.pad, work_j, job.paint.softness);
}

} // namespace

LampModel::LampModel() : maker_(make) {}

LampModel::Made LampModel::make(const Making& making, TaskState&) {
    const RunJob& job = *making.job;
    return {std::make_shared<const LampMarks>(job.panel, making.defects, own_marks(job, 0), job.request.seed,
                                              most_marks_in_motion),
            making.stamp};
}

/// All that the marks depend on: an edit of force or speed leaves them as they are.
std::string LampModel::stamp_of(const RunJob& job) const {
    return fmt::format("{}\n{}\n{}\n{}\n{}\n{}\n{}", job.request.panel, job.request.grid_m, defects_set_,
                       job.step.technique.pad, job.step.technique.liquid, job.paint.softness,
                       job.request.seed);
}

void LampModel::set_defects(Defects defects) {
    defects_ = std::move(defects);
    ++defects_set_;
}

void LampModel::show_at(const Panel& panel, Point2 at, glm::vec3 eye) {
    const double foot_m = height_at(panel, at);
    lamp.place = lamp_mirrored_at(panel, at, eye, static_cast<double>(lamp.place.z) - foot_m);
}

void LampModel::move(double right_m, double up_m) {
    lamp.place.x = std::clamp(lamp.place.x + static_cast<float>(right_m), -farthest_m, farthest_m);
    lamp.place.y = std::clamp(lamp.place.y + static_cast<float>(up_m), -farthest_m, farthest_m);
}

void LampModel::raise(double by_m) {
    lamp.place.z = std::clamp(lamp.place.z + static_cast<float>(by_m), lowest_m, highest_m);
}

void LampModel::show(LampShow what, const Panel& panel, glm::vec3 eye) {
    if (what == LampShow::half && lamp.show != what) lamp.half_at_m = lamp_image(panel, lamp.place, eye).x;
    lamp.show = what;
}

void LampModel::show_next(const Panel& panel, glm::vec3 eye) {
    constexpr int ways = 3;
    show(static_cast<LampShow>((static_cast<int>(lamp.show) + 1) % ways), panel, eye);
}

void LampModel::leave_panel() {
    marks_.reset();
    cells_ = LampCells();
    asked_.clear(), made_.clear();
    placed_ = false;
}

void LampModel::tick(const std::shared_ptr<const RunJob>& job, const LiveView& view,
                     const std::vector<Tile>& tiles, glm::vec3 eye) {
    if (std::optional<Made> made = maker_.take(); made && made->stamp == asked_)
        marks_ = std::move(made->marks), made_ = std::move(made->stamp);
    if (!lit) {
        cells_ = LampCells(); // what changes from now on is not followed
        return;
    }
    if (!std::exchange(placed_, true)) {
        const Point2 at = open_place(job->panel);
        lamp.place = lamp_mirrored_at(job->panel, at, eye, usual_lamp_height_m);
        lamp.half_at_m = at.x;
    }
    if (const std::string stamp = stamp_of(*job); stamp != made_ && stamp != asked_) {
        asked_ = stamp;
        maker_.ask({job, defects_.marks, stamp});
    }
    if (!marks_ || view.fields.removed_um.size() != job->panel.grid.cells()) return;
    if (cells_.cells().size() != job->panel.grid.cells()) changed_ = TileSet(job->panel.grid);
    const MarkPopulation own =
        own_marks(*job, work_since_fresh_j(view.by_hand ? ArmPath{} : job->path, view.trace));
    for (const Tile tile : cells_.update(job->panel, marks_, view.fields.removed_um, own, lamp, tiles))
        changed_.mark(tile);
}

std::vector<Tile> LampModel::take_changed() {
    std::vector<Tile> tiles = changed_.list();
    changed_.clear();
    return tiles;
}

} // namespace sparecoat::view::lamp
