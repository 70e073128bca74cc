#pragma once
#include "picture/compare_report.hpp"
#include "picture/heatmap.hpp"
#include "study/compare.hpp"
#include <filesystem>
#include <string>

namespace sparecoat::picture {

/// The table of a comparison as CSV (RFC 4180), a line for every measure of every technique and of every
/// difference.
std::string comparison_csv(const Comparison& comparison);

/// Writes everything a comparison gives into a folder that exists: compare.json, compare.csv, film_lost.png
/// (side by side) and film_lost-A.png ... on one scale, difference-B.png ... on another, measures.svg,
/// report.pdf, report.html.
/// @return the document as written.
nlohmann::json write_comparison(const std::filesystem::path& folder, const Comparison& comparison,
                                FilmUnit unit, PaperSize paper_size);

} // namespace sparecoat::picture
