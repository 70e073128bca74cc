#pragma once
#include "decide/evidence.hpp"
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::formats {

/// A test plate on a balance, before and after.
struct WeighedPlate {
    double before_g = 0, after_g = 0;
    double repeat_sd_g = 0; ///< of one weighing
    double density_kg_m3 = 0;
    double area_m2 = 0; ///< that was worked
};

/// One row: a measured loss and the work it followed. SI but for what is named otherwise.
struct Measurement {
    int line = 0;
    std::string label;
    std::string machine, pad, paint; ///< empty: the one of the command line
    double force_n = 0, speed_rad_s = 0, arm_speed_m_s = 0;
    std::optional<int> passes;     ///< section passes between the two measurements, or
    std::optional<double> seconds; ///< time between them
    int sets_since_fresh = 0;      ///< as long as that, that the charge had done before
    double section_m = 0.4;        ///< side of the square that was worked
    double overlap = 0.5;
    std::optional<GaugePair> gauge;
    std::optional<WeighedPlate> plate;

    double loss_um() const;    ///< measured; a plate's, its mean over the worked area
    double loss_sd_um() const; ///< standard deviation, from the repeatability alone
};

/// The least loss that is told from none: with both errors at 5 % it is 3.29 standard deviations (Currie,
/// Anal. Chem. 40, 586 (1968)).
inline constexpr double told_from_none = 3.29;

inline constexpr std::size_t most_measurements = 1000;

/// Reads measurements of film removed; docs/formats.md has the columns. Values are separated by commas, or by
/// semicolons, and then decimal commas are read too. Blank lines and lines that start with # are skipped.
/// @throws InputError (csv, "line N"): no such column, one missing or twice, gauge and balance mixed in a
/// row, a value missing, no number or out of its range, a decimal comma between commas, film that grew by
/// more than its error explains.
std::vector<Measurement> read_measurements(const std::filesystem::path& csv);

} // namespace sparecoat::formats
