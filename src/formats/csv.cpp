#include "formats/csv.hpp"
#include "units/error.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <iterator>

namespace sparecoat::formats {

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

bool finite_number(std::string_view text, double& value) {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc() && end == text.data() + text.size() && std::isfinite(value);
}

// ---- lines ---------------------------------------------------------------------------------------

std::vector<std::string_view> csv_lines_of(std::string_view text) {
    std::vector<std::string_view> lines;
    for (std::string_view rest = text; !rest.empty();) {
        const std::size_t end = std::min(rest.find('\n'), rest.size());
        lines.push_back(rest.substr(0, end));
        rest.remove_prefix(std::min(end + 1, rest.size()));
    }
    while (!lines.empty() && trimmed(lines.back()).empty()) lines.pop_back();
    constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
    if (!lines.empty() && lines.front().starts_with(byte_order_mark))
        lines.front().remove_prefix(byte_order_mark.size());
    return lines;
}

std::vector<std::string> csv_lines(const std::filesystem::path& csv, const std::string& wanted) {
    std::ifstream in(csv, std::ios::binary);
    if (!in || std::filesystem::is_directory(csv))
        throw InputError(csv.string(), "", "no such file, or no leave to read it", wanted);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    const std::vector<std::string_view> lines = csv_lines_of(text);
    return {lines.begin(), lines.end()};
}

bool csv_remark(std::string_view line) { return trimmed(line).starts_with('#'); }
bool csv_skipped(std::string_view line) { return trimmed(line).empty() || csv_remark(line); }

std::vector<std::string> csv_values(std::string_view line, char separator) {
    std::vector<std::string> values;
    for (;;) {
        const auto end = line.find(separator);
        values.emplace_back(trimmed(line.substr(0, end)));
        if (end == std::string_view::npos) return values;
        line.remove_prefix(end + 1);
    }
}

// ---- tables --------------------------------------------------------------------------------------

void CsvTable::refuse(std::size_t line, std::string found, std::string_view allowed) const {
    throw InputError(file_, fmt::format("{} {}", form_.pasted ? "row" : "line", line), std::move(found),
                     std::string(allowed));
}

void CsvTable::refuse(std::size_t line, std::size_t place, std::string found,
                      std::string_view allowed) const {
    if (!form_.pasted) refuse(line, std::move(found), allowed);
    throw InputError(file_, fmt::format("row {}, column {}", line, place + 1), std::move(found),
                     std::string(allowed));
}

std::optional<std::size_t> CsvTable::column_called(std::string_view name) const {
    const std::string wanted = form_.pasted ? lower_case(name) : std::string(name);
    const auto known = std::ranges::find(form_.columns, wanted, &CsvColumn::name);
    if (known == form_.columns.end()) return std::nullopt;
    return static_cast<std::size_t>(known - form_.columns.begin());
}

void CsvTable::read_header(std::size_t line, const std::vector<std::string>& names) {
    for (std::size_t place = 0; place < names.size(); ++place) {
        const std::optional<std::size_t> column = column_called(names[place]);
        if (!column) refuse(line, place, fmt::format("a column \"{}\"", names[place]), form_.header);
        if (has(*column))
            refuse(line, place, fmt::format("the column \"{}\" twice", names[place]), form_.twice);
        columns_.push_back(*column);
    }
}

void CsvTable::take_all_columns() {
    for (std::size_t column = 0; column < form_.columns.size(); ++column) columns_.push_back(column);
}

bool CsvTable::has(std::size_t column) const { return place_of(column) < columns_.size(); }

std::size_t CsvTable::place_of(std::size_t column) const {
    return static_cast<std::size_t>(std::ranges::find(columns_, column) - columns_.begin());
}

void CsvTable::hold_to_one_of(std::size_t line, std::size_t one, std::size_t other) const {
    if (has(one) && has(other))
        refuse(line, fmt::format("both {} and {}", form_.columns[one].name, form_.columns[other].name),
               "one of them");
}

std::vector<CsvCell> CsvTable::cells(std::size_t line, const std::vector<std::string>& values,
                                     std::string_view more) const {
    if (values.size() != columns_.size())
        refuse(line, fmt::format("{} values", values.size()),
               fmt::format("{}, as in the {}{}", columns_.size(), form_.pasted ? "heading" : "header", more));
    std::vector<CsvCell> cells;
    for (std::size_t place = 0; place < values.size(); ++place)
        cells.push_back({line, place, columns_[place], values[place]});
    return cells;
}

std::optional<double> CsvTable::number(const CsvCell& cell) const {
    const CsvColumn& column = form_.columns[cell.column];
    if (cell.text.empty()) {
        if (!column.needed) return std::nullopt;
        if (form_.pasted) refuse(cell.line, cell.place, "nothing", column.allowed);
    }
    double value = 0;
    if (!finite_number(cell.text, value))
        refuse(cell.line, cell.place,
               form_.pasted ? fmt::format("\"{}\"", cell.text)
                            : fmt::format("{} \"{}\"", column.name, cell.text),
               form_.number);
    return value;
}

bool CsvTable::in_range(std::size_t column, double value) const {
    const CsvColumn& c = form_.columns[column];
    return value >= c.low && value <= c.high && (!c.whole || value == std::floor(value));
}

void CsvTable::refuse_range(std::size_t line, std::size_t column, std::string_view shown) const {
    const CsvColumn& c = form_.columns[column];
    refuse(line, fmt::format("{} {}", c.name, shown),
           !c.allowed.empty()
               ? std::string(c.allowed)
               : fmt::format("{}{:g} to {:g}", c.whole ? "a whole number, " : "", c.low, c.high));
}

} // namespace sparecoat::formats
