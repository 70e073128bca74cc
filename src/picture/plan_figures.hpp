#pragma once
#include "picture/heatmap.hpp"
#include "vehicle/film_spent.hpp"
#include <string>

namespace sparecoat::picture {

// Figures of a plan as text, for the terminal and the sheets.

/// "86 %", "99.4 %": nothing short of all is rounded to it.
std::string percent_text(double share);
/// A chance that is to be small: "0.3 %", "under 0.1 %".
std::string small_chance_text(double chance);
/// "6 h 20 min", "12 min".
std::string hours_text(double seconds);
/// "1.40 ± 0.41 µm".
std::string sum_text(const FilmSum& sum, FilmUnit unit);
/// "1 set", "2 sets".
std::string counted_text(int number, const char* one, const char* more);

} // namespace sparecoat::picture
