#pragma once
#include "picture/heatmap.hpp"
#include "study/lesson_run.hpp"
#include <filesystem>
#include <functional>

namespace sparecoat::view {

/// How a lesson's pictures look.
struct LessonLook {
    int width_px = 1280, height_px = 800;
    bool light_theme = true;
    FilmUnit unit = FilmUnit::um;
};

/// Writes film thicknesses in a unit.
FilmWords film_words(FilmUnit unit);

/// Writes a lesson into a folder that exists: step-1.png and so on, each with its caption under it; lesson.md
/// with the pictures, the captions and the cautions; lesson.json with the figures.
/// @param before_step told of each step before it is drawn; may throw to stop.
/// @throws what write_page and frames_of do.
void write_lesson(
    const std::filesystem::path& folder, const LessonReport& report, const LessonLook& look,
    const std::function<void()>& before_step = [] {});

/// "Edge overrun: step 2 of 5, the mistake".
std::string frame_title(const Lesson& lesson, const LessonFrame& frame, std::size_t step);

} // namespace sparecoat::view
