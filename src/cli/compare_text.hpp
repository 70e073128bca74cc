#pragma once
#include "picture/heatmap.hpp"
#include "study/compare.hpp"
#include <string>

namespace sparecoat::cli {

/// A comparison on the terminal: what differs in the settings, what it comes to, and what of it is noise.
std::string compare_text(const Comparison& comparison, FilmUnit unit);

} // namespace sparecoat::cli
