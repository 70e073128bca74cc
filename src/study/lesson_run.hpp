#pragma once
#include "study/lesson_report.hpp"
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::study {

/// Both sides of a lesson made ready. A panel that both work is built once.
/// @param grid_m instead of the lesson's own.
/// @throws InputError with the lesson's file and the JSON pointer where the lesson is at fault: a panel,
/// paint or technique that does not exist, a change that a technique may not have.
std::vector<RunJob> prepare_lesson(const Library& library, const Lesson& lesson,
                                   std::optional<double> grid_m = {});

/// Runs what prepare_lesson made ready. @throws what run_jobs does.
LessonReport run_lesson(const Lesson& lesson, std::vector<RunJob> jobs, int threads,
                        const Progress& progress = {});

/// One step of a lesson as it is shown.
struct LessonFrame {
    struct Scene {
        LessonSide side = LessonSide::mistake;
        double at_s = 0;
        bool over = false; ///< the run is done and the pad gone
        Point2 at;         ///< where the pad is then, or the worst spot once it is gone
    };
    std::vector<Scene> scenes; ///< one, or two beside each other
    std::string map, camera;
    double nearer = 1;
    std::optional<Point2> look_at; ///< none: the pad, or the worst spot once it is gone
    std::string caption;           ///< filled
};

/// The steps in order, their moments found and their captions filled.
/// @throws InputError with the lesson's file and the JSON pointer: a moment that does not come, an edge that
/// the panel does not have.
std::vector<LessonFrame> frames_of(const LessonReport& report, const FilmWords& film);

/// The figure that the lesson is about, of one side, in µm, s or °C.
double topic_value(const LessonReport& report, LessonSide side);
bool mistake_is_worse(const LessonReport& report);

/// The figures of a lesson, docs/output.md: steps with what their captions say and the numbers in them, and
/// both runs' summaries.
nlohmann::json lesson_document(const LessonReport& report, const FilmWords& film);

} // namespace sparecoat::study
