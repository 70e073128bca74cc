#pragma once
#include "panel/gauge.hpp"
#include "panel/reading_spots.hpp"
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::formats {

/// What pasted readings are held against, and what they are where they do not say it themselves.
struct PasteTerms {
    const Panel& panel;
    const SpotPattern& pattern;
    std::string shape; ///< what the panel is called besides its name
    bool mil = false;  ///< unit of film where no heading has one
    bool of_clear = false;
    int n = 1;
    double repeat_sd_um = 1;
};

/// Reads film readings as a spreadsheet or a gauge's software puts them on the clipboard. Values are parted
/// by tabs, else by semicolons, else by commas; with tabs and semicolons, and where a line has one number, a
/// comma is a decimal sign.
/// - A heading with x_mm and y_mm: a spot a line, with any of total_um, total_mil, total, clear_um,
/// clear_mil, clear, n,
///   sd_um, sd_mil, panel (as read_gauge_csv; total and clear alone are in the unit of the terms). A first
///   line "panel,NAME" may stand over it.
/// - A heading of the same names without x_mm and y_mm: a line for each spot of the pattern, row by row, from
/// the left.
/// - Bare values, under any other heading or none: as wide as the pattern, a line for each of its rows; or in
/// one column or
///   one line, row by row. An empty place leaves its spot out.
/// - Any other heading that names spots, units or kinds: as read_gauge_export, on the spots of the pattern.
/// Lines that start with # are passed over.
/// @param told what the last of these was taken for, in words; else left as it is.
/// @return in the order of the text, one a spot and kind; `line` is its line in the text.
/// @throws InputError whose place is the row and column of the text ("row 3, column 2"); nothing is half
/// read.
std::vector<GaugeReading> read_pasted(std::string_view text, const PasteTerms& terms,
                                      std::string* told = nullptr);

} // namespace sparecoat::formats
