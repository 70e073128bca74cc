#pragma once
#include "formats/gauge_csv.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::formats {

/// What a gauge's own file is where it does not say so itself.
struct ExportTerms {
    std::string source = {};
    bool pasted = false;          ///< messages then give the row
    std::optional<bool> mil = {}; ///< unit of film; nothing: the file has to say it
    bool of_clear = false;        ///< where no heading says total or clear coat
    int spot_rows = 3, spot_columns = 4;
    int n = 1;
    double repeat_sd_um = 1;
};

/// Whether lines are in this program's own form: commas, columns of known names, x_mm and y_mm among them;
/// or have nothing at all to read.
bool is_plain_gauge_table(const std::vector<std::string>& lines);

/// Whether pasted lines have a heading that says more than a block of bare values: spots, units, kinds.
bool says_more_than_values(const std::vector<std::string>& lines);

/// Reads readings as a gauge or a spreadsheet writes them: tabs, semicolons or commas; decimal commas;
/// headings in any order and capitals; units in a heading, a cell, a column or a line "unit"; readings of one
/// spot in one row, or under one name. Rows without x and y lie on gauge spots: a spot named by its number
/// (row by row from the top left) or by letter and number ("B3": second row, third spot); other names, and
/// rows without one, in their order. A line "spots,4x4" gives another pattern than that of the terms. What
/// was understood is in words in `taken_for`.
/// @throws InputError (source, "line N"): a heading without film, an unknown or doubled column, film without
/// a unit, decimal commas and points in one file, a number of readings that the spots do not divide, a spot
/// that the pattern has not, and all that read_gauge_csv refuses of a value.
GaugeReadings read_gauge_export(const std::vector<std::string>& lines, const ExportTerms& terms);

} // namespace sparecoat::formats
