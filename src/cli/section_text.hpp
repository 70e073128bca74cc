#pragma once
#include "picture/heatmap.hpp"
#include "plan/section.hpp"
#include <string>

namespace sparecoat::cli {

/// What candidates are expected to do on a panel before any test section: the marks assumed, the steps of the
/// kit, a table of sequences by predicted film.
std::string predict_text(const SectionReport& report, FilmUnit unit);

/// Panel by panel: what to do next and why, what was seen beside what was expected, what was learned, the
/// candidates, the section that would teach most, what is unsure, what is left for touch-up.
std::string advice_text(const SectionReport& report, FilmUnit unit);

/// A sentence a panel, what to do next, how long it takes and what is to be expected; then the cautions in
/// one line.
std::string brief_advice_text(const SectionReport& report, FilmUnit unit);

/// All that a record holds. @param steps of its kit.
std::string record_text(const SectionRecord& record, const std::vector<KitStep>& steps, FilmUnit unit);

/// "400 x 400 mm at 290 mm, 300 mm".
std::string square_text(const TapedSquare& square);

} // namespace sparecoat::cli
