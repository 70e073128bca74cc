#pragma once
#include "picture/heatmap.hpp"
#include "study/lesson_run.hpp"
#include <string>

namespace sparecoat::cli {

/// A lesson for a terminal: its name, what is worked, and its steps' captions.
std::string lesson_text(const LessonReport& report, FilmUnit unit);

} // namespace sparecoat::cli
