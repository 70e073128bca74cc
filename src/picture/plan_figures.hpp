#pragma once
#include "picture/heatmap.hpp"
#include "units/percent.hpp"
#include "units/words.hpp"
#include "vehicle/film_spent.hpp"
#include <string>

namespace sparecoat::picture {

// Figures of a plan as text, for the terminal and the sheets.

/// "1.40 ± 0.41 µm".
std::string sum_text(const FilmSum& sum, FilmUnit unit);

} // namespace sparecoat::picture
