#pragma once
#include "job/lesson_report.hpp"
#include "job/reader.hpp"
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat {

/// A figure that a caption asks for: {mistake.worst.clear_left}, {remedy.hold_back wheel arch},
/// {mistake.at crown of the arch.lost}, and {times.worst.lost}: the mistake's over the remedy's.
struct Placeholder {
    bool ratio = false;
    LessonSide side = LessonSide::mistake;
    std::string of;       ///< "worst", "open", "at", or empty: the run itself
    std::string figure;   ///< as the tables below name it
    std::string argument; ///< the edge of a hold-back, the spot after "at"
};

/// A stretch of a caption as it stands, or what is to be put in its place.
struct CaptionPiece {
    std::string text; ///< as written
    std::optional<Placeholder> figure;
};

/// @throws InputError at `place`: a brace without its fellow, a figure that does not exist (with the nearest
/// that do), a spot that is not among the lesson's.
std::vector<CaptionPiece> take_apart(const std::string& caption, const std::map<std::string, Point2>& spots,
                                     const Place& place);

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

/// Every figure with its meaning, as the Markdown table of docs/formats.md.
std::string markdown_of_figures();

} // namespace sparecoat
