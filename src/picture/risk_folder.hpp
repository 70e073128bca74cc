#pragma once
#include "picture/heatmap.hpp"
#include "study/risk.hpp"
#include <filesystem>
#include <string>
#include <vector>

namespace sparecoat::picture {

/// The chance of burning through, in per cent, with the spots at risk. `percent` must outlive the spec.
HeatmapSpec chance_map(const RiskReport& report, std::span<const float> percent, FilmUnit unit);
/// Clear coat left on average over the hand's draws. `left_um` must outlive the spec.
HeatmapSpec mean_clear_left_map(const RiskReport& report, std::span<const float> left_um, FilmUnit unit);

/// A chance to read: "3.2 %", "under 0.1 %".
std::string chance_text(double chance);
/// With its standard error, where that shows in the digits that are given: "3.2 ± 0.4 %".
std::string chance_text(double chance, double standard_error);

/// Per cell, from the report: the chance in per cent, and the clear coat left on average, NaN off the panel.
std::vector<float> chance_percent(const RiskReport& report);
std::vector<float> mean_clear_left_um(const RiskReport& report);

/// Writes everything an assessment gives into a folder that exists: risk.json, chance.png, clear_left.png,
/// fields.vti, chance.npy, chance_error.npy, mean_removed_um.npy. @return the document as written.
nlohmann::json write_risk(const std::filesystem::path& folder, const RiskReport& report, FilmUnit unit);

} // namespace sparecoat::picture
