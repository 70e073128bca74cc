#include "formats/reading_paste.hpp"
#include "formats/csv.hpp"
#include "formats/gauge_csv.hpp"
#include "formats/gauge_export.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <optional>

namespace sparecoat::formats {
namespace {

bool has_letter(std::string_view text) {
    return std::ranges::any_of(
        text, [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c & 0x80) != 0; });
}

/// One line of the text, taken apart.
struct PastedRow {
    int line = 0; ///< in the text, from 1
    std::vector<std::string> cells;
    bool empty() const {
        return std::ranges::all_of(cells, [](const std::string& c) { return c.empty(); });
    }
};

class PasteReader {
public:
    explicit PasteReader(const PasteTerms& terms) : terms_(terms) {}

    std::vector<GaugeReading> read(std::string_view text) {
        take_lines(text);
        if (rows_.empty()) throw InputError("", "row 1", "no text", "readings, a value a cell");
        take_panel_line();
        if (has_heading() && !take_heading()) { // it names no column of ours
            rows_.erase(rows_.begin());
            rows_.erase(rows_.begin(), std::ranges::find_if_not(rows_, &PastedRow::empty));
        }
        if (table_.has_header()) read_table();
        else read_block();
        if (out_.empty())
            throw InputError("", fmt::format("row {}", rows_.empty() ? 1 : rows_.back().line), "no readings",
                             "one reading or more");
        return std::move(out_);
    }

private:
    enum Column : std::size_t {
        panel_name,
        x_mm,
        y_mm,
        total_um,
        total_mil,
        total,
        clear_um,
        clear_mil,
        clear,
        count,
        sd_um,
        sd_mil,
        column_count
    };
    static constexpr std::array<CsvColumn, column_count> columns{
        {{"panel"},
         {.name = "x_mm", .needed = true, .allowed = "a place in mm"},
         {.name = "y_mm", .needed = true, .allowed = "a place in mm"},
         {"total_um"},
         {"total_mil"},
         {"total"},
         {"clear_um"},
         {"clear_mil"},
         {"clear"},
         {.name = "n", .low = 1, .high = most_gauge_n, .whole = true},
         {"sd_um"},
         {"sd_mil"}}};
    static constexpr CsvForm form{.columns = columns,
                                  .header = "x_mm, y_mm, total_um, total_mil or total, clear_um, clear_mil "
                                            "or clear, n, sd_um or sd_mil, panel",
                                  .twice = "each once",
                                  .number = "a number, such as 112.5",
                                  .pasted = true};

    [[noreturn]] void refuse(int line, std::size_t place, std::string found, std::string_view allowed) const {
        table_.refuse(static_cast<std::size_t>(line), place, std::move(found), allowed);
    }
    [[noreturn]] void refuse(int line, std::string found, std::string_view allowed) const {
        table_.refuse(static_cast<std::size_t>(line), std::move(found), allowed);
    }

    // ---- lines and cells ----------------------------------------------------------------------------

    void take_lines(std::string_view text) {
        std::vector<std::pair<int, std::string_view>> lines;
        for (int number = 0; const std::string_view line : csv_lines_of(text))
            if (++number; !csv_remark(line)) lines.emplace_back(number, line);
        const auto blank = [](const auto& line) { return trimmed(line.second).empty(); };
        while (!lines.empty() && blank(lines.back())) lines.pop_back();
        lines.erase(lines.begin(), std::ranges::find_if_not(lines, blank));
        const char separator = separator_of(lines);
        for (const auto& [line, words] : lines) rows_.push_back({line, cells_of(words, separator)});
    }

    char separator_of(const std::vector<std::pair<int, std::string_view>>& lines) const {
        const auto any = [&](char c) {
            return std::ranges::any_of(
                lines, [c](const auto& line) { return line.second.find(c) != std::string_view::npos; });
        };
        for (const char c : {'\t', ';'})
            if (any(c)) return c;
        if (!any(',') || lines.empty()) return '\t';
        if (has_letter(lines.front().second))
            return lines.front().second.find(',') != std::string_view::npos ? ',' : '\t';
        if (any('.')) return ',';
        return commas_part(lines) ? ',' : '\t';
    }

    /// Whether commas between bare digits part values, or are decimal signs: as many values as the pattern is
    /// wide, or more than one comma in a line, speak for the first.
    bool commas_part(const std::vector<std::pair<int, std::string_view>>& lines) const {
        bool one_a_line = true, blank_after = false;
        for (const auto& [line, words] : lines) {
            one_a_line = one_a_line && std::ranges::count(words, ',') <= 1;
            blank_after = blank_after || words.find(", ") != std::string_view::npos;
        }
        if (!one_a_line || blank_after) return true;
        if (terms_.pattern.columns != 2) return false;
        refuse(lines.front().first, "commas that may part two values or be decimal signs",
               "tabs or semicolons between values, or decimal points");
    }

    static std::vector<std::string> cells_of(std::string_view words, char separator) {
        std::vector<std::string> cells = csv_values(words, separator);
        if (separator != ',')
            for (std::string& cell : cells)
                if (cell.find('.') == std::string::npos && std::ranges::count(cell, ',') == 1)
                    cell[cell.find(',')] = '.';
        return cells;
    }

    // ---- headings -----------------------------------------------------------------------------------

    void take_panel_line() {
        const PastedRow& first = rows_.front();
        if (first.cells.size() < 2 || lower_case(first.cells[0]) != "panel" ||
            table_.column_called(first.cells[1]))
            return;
        hold_to_panel(first.line, 1, first.cells[1]);
        rows_.erase(rows_.begin());
        if (rows_.empty()) refuse(first.line, "no readings", "a heading and readings under it");
    }

    void hold_to_panel(int line, std::size_t column, const std::string& name) const {
        const std::string given = lower_case(name);
        if (given == lower_case(terms_.panel.name) || given == lower_case(terms_.shape)) return;
        refuse(line, column, fmt::format("readings of the panel \"{}\"", name),
               fmt::format("those of the {}", terms_.panel.name));
    }

    bool has_heading() const {
        return std::ranges::any_of(rows_.front().cells, [](const std::string& cell) {
            double value = 0;
            return !finite_number(cell, value) && has_letter(cell);
        });
    }

    /// @return whether the first row names columns of ours.
    bool take_heading() {
        const PastedRow heading = rows_.front();
        const auto names = [&](Column column) {
            return std::ranges::any_of(
                heading.cells, [&](const std::string& cell) { return table_.column_called(cell) == column; });
        };
        const bool places = names(x_mm) || names(y_mm);
        const bool all_known = std::ranges::all_of(heading.cells, [this](const std::string& cell) {
            return table_.column_called(cell).has_value();
        });
        if (!places && !all_known) return false;
        table_.read_header(static_cast<std::size_t>(heading.line), heading.cells);
        hold_columns(heading.line);
        rows_.erase(rows_.begin());
        return true;
    }

    bool has(Column column) const { return table_.has(column); }
    std::size_t place_of(Column column) const { return table_.place_of(column); }

    void hold_columns(int line) const {
        if (has(x_mm) != has(y_mm))
            refuse(line, has(x_mm) ? "x_mm without y_mm" : "y_mm without x_mm", "both or neither");
        const auto one_at_most = [&](std::initializer_list<Column> ways) {
            if (std::ranges::count_if(ways, [&](Column c) { return has(c); }) > 1)
                refuse(line, "one film in several units",
                       "one column for the total, one for the clear coat, one for sd");
        };
        one_at_most({total_um, total_mil, total}), one_at_most({clear_um, clear_mil, clear}),
            one_at_most({sd_um, sd_mil});
        if (!has(total_um) && !has(total_mil) && !has(total) && !has(clear_um) && !has(clear_mil) &&
            !has(clear))
            refuse(line, "no column with film", form.header);
    }

    // ---- tables -------------------------------------------------------------------------------------

    CsvRow values_of(const PastedRow& row) const {
        CsvRow values = table_.empty_row();
        for (const CsvCell& cell : table_.cells(static_cast<std::size_t>(row.line), row.cells)) {
            if (cell.column == panel_name) hold_to_panel(row.line, cell.place, row.cells[cell.place]);
            else values[cell.column] = table_.number(cell);
        }
        return values;
    }

    void read_table() {
        std::size_t spot = 0;
        for (const PastedRow& row : rows_) {
            if (row.empty()) continue;
            const CsvRow values = values_of(row);
            if (!has(x_mm) && spot == terms_.pattern.spots.size())
                refuse(row.line, fmt::format("more than {} readings", spot),
                       "one for each spot of the pattern");
            GaugeReading reading;
            reading.line = row.line;
            reading.at =
                has(x_mm) ? Point2{*values[x_mm] * mm, *values[y_mm] * mm} : terms_.pattern.spots[spot++];
            if (has(x_mm)) hold_on_panel(row.line, place_of(x_mm), reading.at);
            take_measure(row, values, reading);
            take_films(row, values, reading);
        }
    }

    void hold_on_panel(int line, std::size_t column, Point2 at) const {
        const double inside_m = signed_distance(terms_.panel.outline, at);
        if (inside_m < 0)
            refuse(line, column,
                   fmt::format("a spot at {:.4g}, {:.4g} mm, {:.0f} mm off the panel", at.x / mm, at.y / mm,
                               -inside_m / mm),
                   fmt::format("a place on the {}", terms_.panel.name));
    }

    void take_measure(const PastedRow& row, const CsvRow& values, GaugeReading& reading) const {
        reading.n = terms_.n, reading.repeat_sd_um = terms_.repeat_sd_um;
        if (const auto& n = values[count]) {
            if (!table_.in_range(count, *n))
                refuse(row.line, place_of(count), fmt::format("n {:g}", *n), "a whole number from 1 to 1000");
            reading.n = static_cast<int>(*n);
        }
        const Column column = has(sd_um) ? sd_um : sd_mil;
        if (const auto& sd = values[column]) {
            reading.repeat_sd_um = *sd * (column == sd_mil ? um_per_mil : 1);
            if (!(reading.repeat_sd_um > 0) || reading.repeat_sd_um > largest_gauge_sd_um)
                refuse(row.line, place_of(column),
                       fmt::format("a repeatability of {:.4g} µm", reading.repeat_sd_um),
                       "over 0 up to 50 µm");
        }
    }

    void take_films(const PastedRow& row, const CsvRow& values, GaugeReading reading) {
        std::optional<double> total_film_um;
        bool any = false;
        for (const Column column : {total_um, total_mil, total, clear_um, clear_mil, clear}) {
            if (!values[column]) continue;
            const bool of_clear = column >= clear_um,
                       mil = column == total_mil || column == clear_mil ||
                             ((column == total || column == clear) && terms_.mil);
            take(row.line, place_of(column), *values[column], mil, of_clear, reading);
            if (of_clear && total_film_um && out_.back().film_um > *total_film_um)
                refuse(row.line, place_of(column),
                       fmt::format("{:.4g} µm of clear coat in a total of {:.4g}", out_.back().film_um,
                                   *total_film_um),
                       "a part of the total");
            if (!of_clear) total_film_um = out_.back().film_um;
            any = true;
        }
        // Of a spot of the pattern nothing need be read; one that is named was.
        if (!any && has(x_mm)) refuse(row.line, "no film", "a total, a clear coat or both");
    }

    void take(int line, std::size_t column, double value, bool mil, bool of_clear, GaugeReading reading) {
        if (const auto fault = film_fault(value, mil, of_clear))
            refuse(line, column, fault->found, fault->allowed);
        reading.of_clear = of_clear, reading.film_um = mil ? value * um_per_mil : value;
        for (const GaugeReading& known : out_)
            if (known.of_clear == of_clear && norm(known.at - reading.at) < one_spot_m)
                refuse(line, column, fmt::format("the spot of row {} again", known.line),
                       "a spot once: the mean of its readings, and n");
        if (out_.size() == most_readings)
            refuse(line, fmt::format("more than {} readings", most_readings), "fewer");
        out_.push_back(reading);
    }

    // ---- bare values --------------------------------------------------------------------------------

    double bare_number(const PastedRow& row, std::size_t place) const {
        double value = 0;
        if (!finite_number(row.cells[place], value))
            refuse(row.line, place, fmt::format("\"{}\"", row.cells[place]), form.number);
        return value;
    }

    void read_block() {
        std::size_t wide = 0;
        for (PastedRow& row : rows_) {
            while (row.cells.size() > 1 && row.cells.back().empty()) row.cells.pop_back();
            wide = std::max(wide, row.cells.size());
        }
        const SpotPattern& pattern = terms_.pattern;
        const auto across = static_cast<std::size_t>(pattern.columns),
                   down = static_cast<std::size_t>(pattern.rows);
        const bool as_pattern = wide == across && rows_.size() <= down && wide > 1;
        if (!as_pattern && wide > 1 && rows_.size() > 1) {
            const bool too_many = wide == across;
            refuse(rows_[too_many ? down : 0].line,
                   too_many ? fmt::format("{} lines", rows_.size())
                            : fmt::format("up to {} values in a line", wide),
                   fmt::format("{}, as the pattern of {} x {}, or all in one column",
                               too_many ? fmt::format("up to {}", down) : fmt::format("{}", across),
                               pattern.rows, pattern.columns));
        }
        for (std::size_t r = 0; r < rows_.size(); ++r)
            for (std::size_t c = 0; c < rows_[r].cells.size(); ++c) {
                if (rows_[r].cells[c].empty()) continue;
                const std::size_t spot = as_pattern ? r * across + c : r + c; // else one of the two is 0
                if (spot >= pattern.spots.size())
                    refuse(rows_[r].line, c, fmt::format("more than {} readings", pattern.spots.size()),
                           "one for each spot of the pattern");
                GaugeReading reading;
                reading.at = pattern.spots[spot], reading.line = rows_[r].line;
                reading.n = terms_.n, reading.repeat_sd_um = terms_.repeat_sd_um;
                take(rows_[r].line, c, bare_number(rows_[r], c), terms_.mil, terms_.of_clear, reading);
            }
    }

    const PasteTerms& terms_;
    CsvTable table_{"", form}; ///< without a header: bare values
    std::vector<PastedRow> rows_;
    std::vector<GaugeReading> out_;
};

} // namespace

std::vector<GaugeReading> read_pasted(std::string_view text, const PasteTerms& terms, std::string* told) {
    const std::vector<std::string_view> views = csv_lines_of(text);
    const std::vector<std::string> lines(views.begin(), views.end());
    if (says_more_than_values(lines)) {
        const GaugeReadings taken = read_gauge_export(lines, {.pasted = true,
                                                              .mil = terms.mil,
                                                              .of_clear = terms.of_clear,
                                                              .spot_rows = terms.pattern.rows,
                                                              .spot_columns = terms.pattern.columns,
                                                              .n = terms.n,
                                                              .repeat_sd_um = terms.repeat_sd_um});
        if (told) *told = taken.taken_for;
        return held_to_panel(taken, terms.panel, terms.shape).readings;
    }
    return PasteReader(terms).read(text);
}

} // namespace sparecoat::formats
