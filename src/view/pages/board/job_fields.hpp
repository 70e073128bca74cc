#pragma once
#include "picture/heatmap.hpp"
#include <string>

namespace sparecoat::view::board {

// What is typed into a form, in SI. @throws InputError that says what is allowed.

double seconds_of(const std::string& text);
/// A thickness; a bare number is in the unit shown.
double film_of(const std::string& field, std::string text, FilmUnit unit, double most_um);
double vibration_of(const std::string& machine, std::string text);
int whole_of(const std::string& field, const std::string& text, int low, int high);

} // namespace sparecoat::view::board
