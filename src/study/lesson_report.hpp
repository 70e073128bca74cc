#pragma once
#include "library/lesson.hpp"
#include "run/run_job.hpp"
#include <array>
#include <functional>
#include <memory>
#include <string>

namespace sparecoat::study {

/// Both sides of a lesson, run.
struct LessonReport {
    Lesson lesson;
    std::array<std::shared_ptr<const RunJob>, 2> jobs;
    std::array<Outcome, 2> outcomes;

    const RunJob& job(LessonSide side) const { return *jobs[static_cast<std::size_t>(side)]; }
    const Outcome& outcome(LessonSide side) const { return outcomes[static_cast<std::size_t>(side)]; }
};

/// Writes a film thickness in the unit that a person reads.
using FilmWords = std::function<std::string(double thickness_um)>;

} // namespace sparecoat::study
