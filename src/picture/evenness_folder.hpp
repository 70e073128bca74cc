#pragma once
#include "picture/chart/chart.hpp"
#include "picture/heatmap.hpp"
#include "study/evenness.hpp"
#include <filesystem>
#include <string>

namespace sparecoat::picture {

/// Power against wavelength, both logarithmic, with the named peaks.
Chart spectra_chart(const EvennessReport& report);
/// The same of the strip whose every orbit was resolved.
Chart marks_chart(const EvennessReport& report, const MarksOfOrbits& marks);
/// Unevenness against overlap; film and minutes, over their least, against overlap.
Chart overlap_chart(const EvennessReport& report);
Chart cost_chart(const EvennessReport& report);

/// Writes everything into a folder that exists: evenness.json, the map, the charts with the ending "png",
/// "svg" or "pdf".
/// @return the document as written.
nlohmann::json write_evenness(const std::filesystem::path& folder, const EvennessReport& report,
                              FilmUnit unit, const std::string& ending);

} // namespace sparecoat::picture
