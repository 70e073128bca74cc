#pragma once
#include "panel/gauge.hpp"
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::formats {

/// Readings of one panel, and what of them a person should know (spots averaged, a single reading, plastic).
struct GaugeFile {
    std::vector<GaugeReading> readings;
    std::vector<FilmFlag> flags;
};

/// Spots nearer than this are one: nobody puts a probe down more exactly.
inline constexpr double one_spot_m = 2e-3;
inline constexpr std::size_t most_readings = 2000;

/// Which rows of a file with a column `panel` are read.
enum class GaugeRows {
    all,         ///< one that names another panel is refused
    of_the_panel ///< those that name the panel exactly as it was asked for; the others are passed over
};

/// Most measurements behind a reading, and the largest repeatability.
inline constexpr double most_gauge_n = 1000, largest_gauge_sd_um = 50;

/// Why a number cannot be the film of a painted panel, as total or as clear coat.
struct FilmFault {
    std::string found, allowed;
    bool other_unit = false; ///< it would do in the other unit
};
std::optional<FilmFault> film_fault(double value, bool mil, bool of_clear);

/// Reads gauge readings: comma-separated, the panel named in a first line "panel,NAME" or in a column
/// `panel`; then a header with x_mm and y_mm, at least one of total_um, total_mil, clear_um, clear_mil (one
/// unit a kind), and, if wanted, n and sd_um or sd_mil (the gauge's repeatability). A row may leave one of
/// total and clear empty, and n and sd. Two readings of a kind within 2 mm are averaged and flagged. Windows
/// line ends, blanks round a value, blank lines and a byte order mark are accepted; lines that start with #
/// are skipped.
/// @param panel in place; @param asked_for the panel as asked for: preset name or file. The file's name for
/// it must be that, that without folder and extension, or the panel's own name.
/// @throws InputError (csv, place): no such file (""); "line N": bad header, no panel or another one, wrong
/// number of values, not a finite number, off the panel, film not positive or over 2,000 µm, more clear coat
/// than total, film that looks like the other unit, n not 1 to 1,000, sd not over 0 up to 50 µm, one spot
/// read twice with more than 30 % between, no reading, more than 2,000.
GaugeFile read_gauge_csv(const std::filesystem::path& csv, const Panel& panel, const std::string& asked_for,
                         GaugeRows rows = GaugeRows::all);

/// A panel that a file names, and the line where it first does.
struct NamedRow {
    std::string panel;
    int line = 0;
};
/// The panels that a file's column `panel` names, in their order; empty where it has no such column. @throws
/// InputError where the file cannot be read.
std::vector<NamedRow> panels_of_gauge_csv(const std::filesystem::path& csv);

} // namespace sparecoat::formats
