#pragma once
#include "study/sweep/report.hpp"
#include <string>

namespace sparecoat::cli {

// The screens of `sparecoat sweep`.

std::string count_text(const Sweep& sweep, const SweepCount& count, const std::string& file);
/// Panel, technique, points and factors.
std::string design_text(const Sweep& sweep, const SweepKeys& keys);
/// How many rows there are, and over them the least, the median and the most of every output.
std::string rows_text(const Sweep& sweep, const std::vector<std::optional<SweepRow>>& rows);
std::string indices_text(const Sweep& sweep, const SweepReport& report);
/// The points that are not beaten, thinned to a screenful.
std::string front_text(const Sweep& sweep, const SweepReport& report);

} // namespace sparecoat::cli
