#pragma once
#include "finish/described.hpp"
#include "run/run_job.hpp"
#include "view/render/lamp.hpp"
#include "view/run/background_task.hpp"
#include "view/run/live_run.hpp"
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::view::lamp {

/// The inspection lamp over the run in the window: where it is, the marks it shows, made ready beside the
/// drawing, and what of them the run has left.
class LampModel {
public:
    LampModel();

    bool lit = false; ///< the person wants it; shown once shown() says so
    LampState lamp;
    /// The marks are there and so is the panel that they are of.
    bool shown() const { return lit && marks_ && !cells_.cells().empty(); }
    bool working() const { return maker_.working(); }

    /// What the panel was found with; marks are made for it when the lamp is lit.
    void set_defects(Defects defects);
    const Defects& defects() const { return defects_; }

    /// Puts the lamp's mirror image there, as the eye sees it; its height stays.
    void show_at(const Panel& panel, Point2 at, glm::vec3 eye);
    void move(double right_m, double up_m); ///< over the panel
    void raise(double by_m);
    /// From before to after to half; half has its tape through the lamp's image.
    void show_next(const Panel& panel, glm::vec3 eye);
    void show(LampShow what, const Panel& panel, glm::vec3 eye);

    /// Another panel comes: no mark holds any more. The lamp is placed over it at the next tick, when the
    /// view has been framed anew.
    void leave_panel();
    /// Brings marks and cells up to date with the run. @param tiles of its film that changed since the last
    /// call.
    void tick(const std::shared_ptr<const RunJob>& job, const LiveView& view, const std::vector<Tile>& tiles,
              glm::vec3 eye);

    const std::shared_ptr<const LampMarks>& marks() const { return marks_; }
    const LampCells& cells() const { return cells_; }
    /// The tiles that changed since they were asked for last.
    std::vector<Tile> take_changed();

private:
    struct Making {
        std::shared_ptr<const RunJob> job;
        std::vector<MarkPopulation> defects;
        std::string stamp;
    };
    struct Made {
        std::shared_ptr<const LampMarks> marks;
        std::string stamp;
    };
    static Made make(const Making& making, TaskState& task);
    std::string stamp_of(const RunJob& job) const;

    Defects defects_;
    int defects_set_ = 0;      ///< how often: other defects of the same name are other marks
    std::string asked_, made_; ///< what the marks under way, and those there, are of
    bool placed_ = false;      ///< the lamp, over this panel
    std::shared_ptr<const LampMarks> marks_;
    LampCells cells_;
    TileSet changed_{Grid{}};
    LatestBackgroundTask<Making, Made> maker_;
};

} // namespace sparecoat::view::lamp
