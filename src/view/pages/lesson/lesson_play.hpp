#pragma once
#include "study/lesson_run.hpp"
#include "view/render/camera.hpp"
#include "view/run/background_task.hpp"
#include "view/run/edit_history.hpp"
#include "view/run/live_run.hpp"
#include "view/window/settings.hpp"
#include <array>
#include <atomic>
#include <exception>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::view::lesson {

/// What was on the desk before a lesson, to be put back after it.
struct LessonHome {
    EditHistory edits;
    MapKind map = MapKind::film_lost;
    bool draw_map = true;
    Camera camera;
    std::array<std::optional<LockedRange>, map_kinds> ranges;
    std::optional<Point2> pinned;
    double t_s = 0;
};

/// A lesson under way: both runs done, and where in it the person is.
class LessonPlay {
public:
    LessonPlay(std::shared_ptr<const LessonReport> report, LessonHome home);

    const Lesson& lesson() const { return report_->lesson; }
    const LessonReport& report() const { return *report_; }
    std::size_t step() const { return step_; }
    std::size_t steps() const { return report_->lesson.steps.size(); }
    LessonSide side() const { return frame().scenes[scene_].side; }
    /// More than one panel belongs to the step: the window shows them one after the other.
    bool has_other_side() const { return frame().scenes.size() > 1; }

    bool go_to(std::size_t step); ///< @return whether there is such a step and it is another one
    void turn_over();             ///< to the step's other side

    const LessonFrame& frame() const { return frames_[step_]; }
    const LessonFrame::Scene& scene() const { return frame().scenes[scene_]; }
    /// The step's caption, with film in this unit.
    const std::string& caption(FilmUnit unit);
    std::shared_ptr<const RunJob> job() const { return report_->jobs[static_cast<std::size_t>(side())]; }
    /// The choices that the side's job was made of.
    Choices choices() const;
    /// From the least to the most that a map of film shows when the runs are done, on both sides, µm: their
    /// colours are to mean the same. None for other maps.
    std::optional<LockedRange> range(MapKind map) const;

    LessonHome home;
    bool view_due = false; ///< the camera is to be set once the side's panel is shown

private:
    std::shared_ptr<const LessonReport> report_;
    std::vector<LessonFrame> frames_;
    FilmUnit unit_ = FilmUnit::um; ///< of the frames' captions
    std::size_t step_ = 0, scene_ = 0;
};

/// Works both sides of a lesson beside the drawing.
class LessonMaker {
public:
    LessonMaker() = default;
    ~LessonMaker() { *off_ = true; }
    LessonMaker(const LessonMaker&) = delete;
    LessonMaker& operator=(const LessonMaker&) = delete;

    /// @return false while another one is being worked.
    bool ask(const Library& library, const std::string& reference);
    bool working() const { return working_; }
    /// The finished lesson, once. @throws what working it threw.
    std::shared_ptr<const LessonReport> take();
    void wait() { maker_.wait(); }

private:
    struct Wish {
        Library library;
        std::string reference;
        std::shared_ptr<std::atomic<bool>> off;
    };
    struct Made {
        std::shared_ptr<const LessonReport> report;
        std::exception_ptr fault;
    };
    static Made make(Wish wish);

    bool working_ = false;
    std::shared_ptr<std::atomic<bool>> off_ = std::make_shared<std::atomic<bool>>(false); ///< nobody waits
    BackgroundTask<Wish, Made> maker_{make};
};

} // namespace sparecoat::view::lesson
