#pragma once
#include "job/compare.hpp"
#include "picture/heatmap.hpp"
#include <string>

namespace sparecoat {

/// A comparison on the terminal: what differs in the settings, what it comes to, and what of it is noise.
std::string compare_text(const Comparison& comparison, FilmUnit unit);

} // namespace sparecoat
