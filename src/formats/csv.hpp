#pragma once
#include "rooms.hpp"
#include <filesystem>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// Tables as text: lines, values, a header held to the columns that a kind of table has. Quotes have no
// meaning here: no gauge, recorder or spreadsheet needs them for numbers and names.

namespace sparecoat::formats {

/// Without blanks, tabs and carriage returns at both ends.
std::string_view trimmed(std::string_view text);

/// The whole of the text as a finite number, such as "12.5" or "-3e2". @return false where it is none.
bool finite_number(std::string_view text, double& value);

/// A text's lines, without a byte order mark and without blank lines at the end.
std::vector<std::string_view> csv_lines_of(std::string_view text);

/// The same of a file. @param wanted what is allowed, for the message.
/// @throws InputError (csv, "") where there is no such file.
std::vector<std::string> csv_lines(const std::filesystem::path& csv, const std::string& wanted);

/// Whether a line is a remark, which starts with #; whether it holds nothing to read, a remark or nothing at
/// all.
bool csv_remark(std::string_view line);
bool csv_skipped(std::string_view line);

/// A line's values, trimmed; one more than it has separators.
std::vector<std::string> csv_values(std::string_view line, char separator = ',');

/// A column that a kind of table may have.
struct CsvColumn {
    std::string_view name;
    double low = -std::numeric_limits<double>::infinity(); ///< in the unit that the name says
    double high = std::numeric_limits<double>::infinity();
    bool whole = false;            ///< whole numbers alone
    bool needed = false;           ///< no row may leave it empty
    std::string_view allowed = {}; ///< in words, where the range does not say it well enough
};

/// A kind of table: what it may hold, and how its refusals say that.
struct CsvForm {
    std::span<const CsvColumn> columns;
    std::string_view header; ///< what a header may name
    std::string_view twice;  ///< what is allowed where it names a column twice
    std::string_view number; ///< what a value may be
    /// Pasted text: there is no file to name, so a refusal gives row and column; headings in any case of
    /// letters.
    bool pasted = false;
};

/// One value of a row, by its column.
struct CsvCell {
    std::size_t line = 0;   ///< from 1
    std::size_t place = 0;  ///< among the row's values, from 0
    std::size_t column = 0; ///< in CsvForm::columns
    std::string_view text;
};

/// Values of one row by column; what is empty or not in the table stays empty.
using CsvRow = std::vector<std::optional<double>>;

/// A table's header, held to a form; rows come out by column.
class CsvTable {
public:
    /// @param file for messages; @param form has to outlive the table.
    CsvTable(std::string file, const CsvForm& form) : file_(std::move(file)), form_(form) {}

    /// @throws InputError always. The second is of a value.
    [[noreturn]] void refuse(std::size_t line, std::string found, std::string_view allowed) const;
    [[noreturn]] void refuse(std::size_t line, std::size_t place, std::string found,
                             std::string_view allowed) const;

    /// The column of a name, if there is one.
    std::optional<std::size_t> column_called(std::string_view name) const;

    /// @throws InputError where a name is no column, or is there twice.
    void read_header(std::size_t line, const std::vector<std::string>& names);
    /// All columns, in the order of the form: of a table that this program wrote.
    void take_all_columns();
    bool has_header() const { return !columns_.empty(); }
    const std::vector<std::size_t>& columns() const { return columns_; } ///< in the header's order
    bool has(std::size_t column) const;
    std::size_t place_of(std::size_t column) const; ///< the number of columns where the table has it not
    /// @throws InputError where the table has both.
    void hold_to_one_of(std::size_t line, std::size_t one, std::size_t other) const;

    CsvRow empty_row() const { return CsvRow(form_.columns.size()); }
    /// A row's values by column. @param more is added to what is allowed where their number is wrong.
    /// @throws InputError where there are more or fewer than in the header.
    std::vector<CsvCell> cells(std::size_t line, const std::vector<std::string>& values,
                               std::string_view more = {}) const;
    /// @return nothing where the value is empty and may be. @throws InputError where it is no number.
    std::optional<double> number(const CsvCell& cell) const;
    /// Whether a number is in its column's range, and whole where that is asked.
    bool in_range(std::size_t column, double value) const;
    /// @throws InputError always, for a number out of range. @param shown the number as the message has it.
    [[noreturn]] void refuse_range(std::size_t line, std::size_t column, std::string_view shown) const;

private:
    std::string file_;
    const CsvForm& form_;
    std::vector<std::size_t> columns_;
};

} // namespace sparecoat::formats
