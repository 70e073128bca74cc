#pragma once
#include "library/lesson_caption.hpp"
#include "study/lesson_report.hpp"
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::study {

/// What a figure came to: as a number in the unit of its words (µm for film; 0 where it is words alone).
struct Figure {
    double value = 0;
    std::string words; ///< with its unit: "4.83 µm", "41 s", "at the wheel arch edge"
};

/// @throws InputError at `place` for an edge that the panel does not have.
Figure figure_of(const LessonReport& report, const Placeholder& placeholder, const FilmWords& film,
                 const Place& place);

/// How the mistake's worst spot came to lose its share of film against the open panel, multiplied out: "time
/// 0.97 x pressure 3.11 x ... = 8.35".
std::string split_text(const Split& split);

} // namespace sparecoat::study
