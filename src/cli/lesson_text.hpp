#pragma once
#include "job/lesson_run.hpp"
#include "picture/heatmap.hpp"
#include <string>

namespace sparecoat {

/// A lesson for a terminal: its name, what is worked, and its steps' captions.
std::string lesson_text(const LessonReport& report, FilmUnit unit);

} // namespace sparecoat
