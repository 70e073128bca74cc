#pragma once
#include "picture/chart/chart.hpp"
#include "study/fit.hpp"
#include <filesystem>
#include <string>

namespace sparecoat::picture {

/// Residuals, each over its standard deviation, against the friction work behind the charge: a fit that has
/// breakdown wrong leans there.
Chart residual_chart(const FitReport& report);
/// Film measured, with its 90 % interval, against the fit's.
Chart fit_chart(const FitReport& report);

/// Writes everything that a fit gives into a folder that exists: fit.json, residuals and fit as charts with
/// the ending "png", "svg" or "pdf", and the presets. @return the document as written.
nlohmann::json write_fit(const std::filesystem::path& folder, const FitReport& report,
                         const std::string& ending);

/// What a fitted preset's file is called beside one called `liquid`: that, or with the pad's name added.
std::filesystem::path preset_file(const std::filesystem::path& liquid, const FittedPreset& preset);

} // namespace sparecoat::picture
