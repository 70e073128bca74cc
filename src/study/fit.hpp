#pragma once
#include "decide/cut_fit.hpp"
#include "formats/measurements.hpp"
#include "library/presets.hpp"
#include "run/progress.hpp"
#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::study {

/// What a person asks for. A row of the measurements may name its own machine, pad and paint.
struct FitRequest {
    std::filesystem::path measurements;
    std::string liquid, pad, machine, paint = "typical", panel = "test-plate"; ///< preset names or paths
    std::optional<std::string> day; ///< of the fit, for the preset's provenance
    bool exponents = false;         ///< on pressure and speed, fitted too
};

/// A preset with fitted values, held to its form.
struct FittedPreset {
    std::string pad; ///< reference of the pad; empty: the liquid
    nlohmann::json document;
};

struct FitReport {
    FitRequest request;
    std::string sha256; ///< of the file of measurements
    Liquid liquid;
    std::vector<std::string> pads;   ///< references; the rows' pad is an index into these
    std::vector<double> pad_factors; ///< of their presets
    std::vector<Measurement> measurements;
    std::vector<MeasuredLoss> rows; ///< one for each measurement
    std::vector<double> work_j_m2;  ///< friction work behind the charge half way through each row's work
    CutFit fit;
    std::vector<std::string> notes; ///< what a person should know, most important first
    std::vector<FittedPreset> presets;

    double preset_value(const CutParameter& parameter) const; ///< 1/(Pa m), J/m², an exponent or a factor
};

/// The name of a parameter with its unit: "breakdown, J/m²".
std::string words_of(const FitReport& report, const CutParameter& parameter);

/// Simulates the work of every row and fits. The same for any number of threads.
/// @param progress is told the share done; returns false to stop. @throws InputError, Stopped.
FitReport fit_measurements(const Library& library, const FitRequest& request, int threads,
                           const Progress& progress = {});

/// docs/schema/fit.schema.json.
nlohmann::json fit_json(const FitReport& report);

} // namespace sparecoat::study
