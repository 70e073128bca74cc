#pragma once
#include "picture/heatmap.hpp"
#include "study/evenness.hpp"
#include <string>

namespace sparecoat::cli {

/// A screen on evenness: what bands there are, which mode told them, which overlap evens best and what it
/// costs.
std::string evenness_text(const EvennessReport& report, FilmUnit unit);

} // namespace sparecoat::cli
