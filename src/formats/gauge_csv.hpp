#pragma once
#include "panel/gauge.hpp"
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::formats {

/// A panel that readings name, and the line where they first do.
struct NamedRow {
    std::string panel;
    int line = 0;
};

/// A reading, and the panel that it is of, where each of them says so.
struct GaugeRow {
    GaugeReading reading; ///< its line counts from 1
    std::string panel;
    int spot = -1; ///< of the gauge spots, row by row, where the file has no place for it; -1: it has one
};

/// Gauge readings as they were taken, each sound in itself; held_to_panel() looks at them together and beside
/// the panel.
struct GaugeReadings {
    std::string source;             ///< what messages call the place they are from: a file, or a job's panel
    std::string row = "line";       ///< and the place of one of them there, before its line
    std::vector<GaugeRow> rows;     ///< one at the least
    std::optional<NamedRow> all_of; ///< the panel that all of them are of, where the source says so
    int header_line = 0, last_line = 0;  ///< of a file; 0: no file, and nothing need name a panel
    bool panel_column = false;           ///< each row names its panel
    int spot_rows = 0, spot_columns = 0; ///< the pattern that rows without a place lie on; 0: all have one
    std::string taken_for;               ///< what a gauge's own file was taken for; empty: it was in our form
};
using SharedReadings = std::shared_ptr<const GaugeReadings>; ///< a run's copies have them in common

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

/// Reads a file of gauge readings: comma-separated, the panel named in a first line "panel,NAME" or in a
/// column `panel`; then a header with x_mm and y_mm, at least one of total_um, total_mil, clear_um, clear_mil
/// (one unit a kind), and, if wanted, n and sd_um or sd_mil (the gauge's repeatability). A row may leave one
/// of total and clear empty, and n and sd. Windows line ends, blanks round a value, blank lines and a byte
/// order mark are accepted; lines that start with # are skipped. Any other header is a gauge's own and is
/// read by read_gauge_export().
/// @throws InputError (csv, place): no such file (""); "line N": bad header, wrong number of values, not a
/// finite number, film not positive or over 2,000 µm, more clear coat than total, film that looks like the
/// other unit, n not 1 to 1,000, sd not over 0 up to 50 µm, no reading.
GaugeReadings read_gauge_csv(const std::filesystem::path& csv);
SharedReadings load_gauge_csv(const std::filesystem::path& csv);

/// The readings of one panel, with those of one spot made one.
/// @param panel in place; @param asked_for the panel as asked for: preset name or file. The readings' name
/// for it must be that, that without folder and extension, or the panel's own name; readings that are of no
/// file need not name it.
/// @throws InputError (source, "line N"): no panel or another one, off the panel, film that no painted panel
/// has, one spot read twice with more than 30 % between, no reading, more than 2,000.
GaugeFile held_to_panel(const GaugeReadings& readings, const Panel& panel, const std::string& asked_for,
                        GaugeRows rows = GaugeRows::all);

/// Both in one.
GaugeFile read_gauge_csv(const std::filesystem::path& csv, const Panel& panel, const std::string& asked_for,
                         GaugeRows rows = GaugeRows::all);

/// The panels that rows name one by one, in their order; empty where they do not.
std::vector<NamedRow> panels_named(const GaugeReadings& readings);

} // namespace sparecoat::formats
