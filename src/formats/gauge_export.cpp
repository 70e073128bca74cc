#include "formats/gauge_export.hpp"
#include "formats/csv.hpp"
#include "formats/gauge_words.hpp"
#include "panel/reading_spots.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <array>
#include <charconv>
#include <fmt/format.h>
#include <map>
#include <set>

namespace sparecoat::formats {
namespace {

struct Line {
    int number = 0;
    std::vector<std::string> cells;
};

/// A reading before it has its place.
struct Loose {
    GaugeRow row;
    std::string spot; ///< as the file names it
    int nth = 0;      ///< among the rows of the table
};

class ExportReader {
public:
    explicit ExportReader(const ExportTerms& terms)
        : terms_(terms), rows_(terms.spot_rows), columns_(terms.spot_columns), mil_(terms.mil) {}

    GaugeReadings read(const std::vector<std::string>& lines) {
        out_.source = terms_.source, out_.last_line = static_cast<int>(lines.size());
        if (terms_.pasted) out_.row = "row";
        separator_ = separator_of(lines);
        std::vector<Line> table;
        for (std::size_t k = 0; k < lines.size(); ++k)
            if (!csv_skipped(lines[k])) add_line(table, static_cast<int>(k) + 1, lines[k]);
        const std::size_t first = take_heading(table);
        for (std::size_t k = first; k < table.size(); ++k) take_row(table[k]);
        if (loose_.empty()) refuse(out_.last_line, "no readings", "one reading or more");
        if (commas_ > 0 && points_ > 0)
            refuse(first_mixed_, "decimal commas and decimal points in one file",
                   "one of the two throughout");
        const bool placed = has(Head::x);
        if (!placed) lay();
        for (Loose& loose : loose_) out_.rows.push_back(std::move(loose.row));
        tell(placed);
        return std::move(out_);
    }

private:
    [[noreturn]] void refuse(int line, std::string found, std::string allowed) const {
        throw InputError(terms_.source, fmt::format("{} {}", terms_.pasted ? "row" : "line", line),
                         std::move(found), std::move(allowed));
    }

    // ---- lines --------------------------------------------------------------------------------------

    /// Tabs and semicolons never stand within a number. Where there are commas alone, under a heading of one
    /// column, they are decimal signs.
    static char separator_of(const std::vector<std::string>& lines) {
        for (const char c : {'\t', ';'})
            for (const std::string& line : lines)
                if (!csv_remark(line) && trimmed(line).find(c) != std::string_view::npos) return c;
        for (const std::string& line : lines) {
            if (csv_skipped(line)) continue;
            if (split_quoted(line, ',').size() > 1 && !is_number(split_quoted(line, ',').front())) return ',';
            const std::vector<std::string> cells{std::string(trimmed(line))};
            const std::optional<NumberCell> alone = number_in(cells.front(), true);
            if (heads_of(cells).front().role == Head::film || (alone && alone->comma && !alone->unit.empty()))
                return '\t';
        }
        return ',';
    }

    static bool is_number(const std::string& text) { return number_in(text, true).has_value(); }

    void add_line(std::vector<Line>& table, int number, const std::string& text) const {
        Line line{number, split_quoted(text, separator_)};
        while (!line.cells.empty() && line.cells.back().empty()) line.cells.pop_back();
        if (!line.cells.empty()) table.push_back(std::move(line));
    }

    // ---- heading ------------------------------------------------------------------------------------

    bool has(Head::Role role) const {
        return std::ranges::any_of(heads_, [role](const Head& head) { return head.role == role; });
    }

    /// Lines over the heading that say something: the panel, the pattern of spots, the unit.
    bool take_remark(const Line& line) {
        if (line.cells.size() != 2) return false;
        const std::string word = lower_case(line.cells[0]), &value = line.cells[1];
        if (word == "panel") return out_.all_of = {value, line.number}, true;
        if (word == "unit" || word == "units") {
            const std::optional<double> um = film_unit_um(value);
            if (!um) refuse(line.number, fmt::format("the unit \"{}\"", value), "µm, mil or mm");
            return line_unit_um_ = um, true;
        }
        if (word != "spots") return false;
        const std::size_t by = lower_case(value).find('x');
        const auto whole = [&](std::string_view text) {
            int number = 0;
            text = trimmed(text);
            const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
            return error == std::errc() && end == text.data() + text.size() ? number : 0;
        };
        rows_ = by == std::string::npos ? 0 : whole(std::string_view(value).substr(0, by));
        columns_ = by == std::string::npos ? 0 : whole(std::string_view(value).substr(by + 1));
        if (rows_ < 1 || columns_ < 1 || rows_ > most_spot_rows || columns_ > most_spot_rows)
            refuse(line.number, fmt::format("spots \"{}\"", value),
                   fmt::format("rows x columns, 1 to {} of each, such as 3x4", most_spot_rows));
        return true;
    }

    /// A heading names film, has no number in it, and film stands under it.
    bool is_heading(const std::vector<Line>& table, std::size_t at) const {
        const std::vector<Head> heads = heads_of(table[at].cells);
        const auto film = std::ranges::find(heads, Head::film, &Head::role);
        if (film == heads.end() || std::ranges::any_of(table[at].cells, is_number)) return false;
        const auto place = static_cast<std::size_t>(film - heads.begin());
        for (std::size_t k = at + 1; k < std::min(table.size(), at + 4); ++k)
            if (place < table[k].cells.size() && is_number(table[k].cells[place])) return true;
        return at + 1 == table.size();
    }

    /// @return the first row under the heading.
    std::size_t take_heading(const std::vector<Line>& table) {
        std::size_t at = 0;
        for (; at < table.size(); ++at) {
            if (take_remark(table[at])) continue;
            if (is_heading(table, at)) break;
            if (table[at].cells.size() == 1 && is_number(table[at].cells[0])) { // a list without a heading
                heads_.resize(1), heads_[0].role = Head::film;
                out_.header_line = table[at].number;
                return at;
            }
            if (std::ranges::any_of(table[at].cells, is_number)) at = table.size();
            else ++passed_lines_;
        }
        if (at >= table.size()) {
            const int line = table.empty() ? 1 : table.front().number;
            refuse(line, "no heading with a film thickness in it",
                   "a heading such as \"spot; total µm\" or \"x_mm, y_mm, clear_um\"; or nothing but a "
                   "column of "
                   "readings, each with its unit");
        }
        names_ = table[at].cells;
        heads_ = heads_of(table[at].cells), out_.header_line = table[at].number;
        check_heading(table[at]);
        return at + 1;
    }

    void check_heading(const Line& line) {
        std::set<std::pair<Head::Role, bool>> seen;
        std::map<bool, std::set<bool>> numbered;
        for (std::size_t k = 0; k < heads_.size(); ++k) {
            const Head& head = heads_[k];
            const std::string& name = line.cells[k];
            if (head.role == Head::unknown)
                refuse(line.number, fmt::format("a column \"{}\"", name),
                       "spot, x_mm, y_mm, total, clear, reading 1, reading 2 and so on with a unit, n, sd, "
                       "panel, unit; date, time, number and note are passed over");
            if (head.role == Head::passed) {
                passed_ += (passed_.empty() ? "" : ", ") + name;
                continue;
            }
            if (head.role == Head::film && numbered[head.of_clear].insert(head.numbered).second &&
                numbered[head.of_clear].size() > 1)
                refuse(line.number, "single readings and their mean side by side", "the one or the other");
            if (!seen.insert({head.role, head.of_clear}).second && !head.numbered)
                refuse(line.number, fmt::format("the column \"{}\" twice, or in two units", name),
                       "one; several readings of a spot in a row are \"reading 1\", \"reading 2\"");
        }
        if (has(Head::x) != has(Head::y))
            refuse(line.number, has(Head::x) ? "x without y" : "y without x", "both or neither");
        out_.panel_column = has(Head::panel);
    }

    // ---- rows ---------------------------------------------------------------------------------------

    double number(const Line& line, std::size_t column, std::optional<double>& unit_um) {
        const std::string& cell = line.cells[column];
        const std::optional<NumberCell> read =
            number_in(cell, separator_ != ',' || cell.find(',') != cell.npos);
        if (!read)
            refuse(line.number, fmt::format("\"{}\"", cell), "a number, such as 112.5, 112,5 or 112 µm");
        commas_ += read->comma, points_ += read->point;
        if (commas_ > 0 && points_ > 0 && first_mixed_ == 0) first_mixed_ = line.number;
        if (!read->unit.empty()) {
            unit_um = film_unit_um(read->unit);
            if (!unit_um)
                refuse(line.number, fmt::format("\"{}\"", cell), "a film thickness in µm, mil or mm");
        }
        return read->value;
    }

    /// A line that heads a group: "Spot 3", or "Group; roof".
    bool heads_group(const Line& line) {
        if (has(Head::spot) || line.cells.size() > 2 || is_number(line.cells[0])) return false;
        const std::string name = group_named(line.cells);
        if (name.empty()) return false;
        group_ = name;
        return true;
    }

    void take_row(const Line& line) {
        if (heads_group(line)) return;
        if (line.cells.size() > heads_.size())
            refuse(line.number, counted(line.cells.size(), "value", "values"),
                   fmt::format("{}, as in the heading{}", heads_.size(),
                               separator_ == ',' ? "; with decimal commas, semicolons or tabs between values"
                                                 : ""));
        Loose loose;
        loose.spot = group_, loose.nth = nth_++;
        loose.row.reading.line = line.number;
        loose.row.reading.n = terms_.n, loose.row.reading.repeat_sd_um = terms_.repeat_sd_um;
        std::optional<double> row_unit = line_unit_um_;
        for (std::size_t k = 0; k < line.cells.size(); ++k)
            if (!line.cells[k].empty() && heads_[k].role != Head::film) take_side(line, k, loose, row_unit);
        if (has(Head::x) && sides_ != 3) refuse(line.number, "no place", "x and y in every row");
        sides_ = 0;
        std::map<bool, double> most_um;
        bool any = false;
        for (std::size_t k = 0; k < line.cells.size(); ++k) {
            if (line.cells[k].empty() || heads_[k].role != Head::film) continue;
            take_film(line, k, loose, row_unit);
            const GaugeReading& reading = loose_.back().row.reading;
            most_um[reading.of_clear] = std::max(most_um[reading.of_clear], reading.film_um), any = true;
        }
        if (!any && loose.spot.empty())
            refuse(line.number, "no film thickness", "a reading in every row that names no spot");
        if (most_um.size() == 2 && most_um[true] > most_um[false])
            refuse(line.number,
                   fmt::format("{:.4g} µm of clear coat in a total of {:.4g}", most_um[true], most_um[false]),
                   "a part of the total");
    }

    void take_side(const Line& line, std::size_t k, Loose& loose, std::optional<double>& row_unit) {
        const Head& head = heads_[k];
        GaugeReading& reading = loose.row.reading;
        std::optional<double> unit = head.unit_um;
        switch (head.role) {
        case Head::panel: loose.row.panel = line.cells[k]; break;
        case Head::spot: loose.spot = line.cells[k]; break;
        case Head::unit:
            row_unit = film_unit_um(line.cells[k]);
            if (!row_unit)
                refuse(line.number, fmt::format("the unit \"{}\"", line.cells[k]), "µm, mil or mm");
            break;
        case Head::x:
        case Head::y: {
            const double at_m =
                number(line, k, unit) * unit.value_or(1000) * 1e-6; // mm where nothing says it
            (head.role == Head::x ? reading.at.x : reading.at.y) = at_m;
            sides_ |= head.role == Head::x ? 1 : 2;
            break;
        }
        case Head::count: {
            const double n = number(line, k, unit);
            if (n < 1 || n > most_gauge_n || n != static_cast<int>(n))
                refuse(line.number, fmt::format("n {:g}", n), "a whole number from 1 to 1000");
            reading.n = static_cast<int>(n);
            break;
        }
        case Head::sd: {
            const double sd = number(line, k, unit);
            if (!unit) unit = terms_.mil ? std::optional(*terms_.mil ? um_per_mil : 1.0) : row_unit;
            reading.repeat_sd_um = sd * unit.value_or(1);
            if (!(reading.repeat_sd_um > 0) || reading.repeat_sd_um > largest_gauge_sd_um)
                refuse(line.number, fmt::format("a repeatability of {:.4g} µm", reading.repeat_sd_um),
                       "over 0 up to 50 µm");
            break;
        }
        default: break;
        }
    }

    void take_film(const Line& line, std::size_t k, const Loose& row, const std::optional<double>& row_unit) {
        const Head& head = heads_[k];
        std::optional<double> unit;
        const double value = number(line, k, unit);
        if (unit && head.unit_um && *unit != *head.unit_um)
            refuse(line.number, fmt::format("\"{}\" under a heading in another unit", line.cells[k]),
                   "the heading's unit");
        if (!unit) unit = head.unit_um ? head.unit_um : row_unit;
        if (!unit && mil_) unit = *mil_ ? um_per_mil : 1.0;
        if (!unit)
            refuse(line.number,
                   fmt::format("\"{}\"{} without a unit", line.cells[k],
                               k < names_.size() ? " under \"" + names_[k] + "\"" : ""),
                   "µm or mil: in the heading (\"total µm\"), in the cell (\"112 µm\"), in a column "
                   "\"unit\", or in "
                   "a first line \"unit;µm\"");
        Loose loose = row;
        GaugeReading& reading = loose.row.reading;
        reading.of_clear = head.kind_said ? head.of_clear : terms_.of_clear;
        kinds_said_ = kinds_said_ && head.kind_said;
        reading.film_um = value * *unit;
        units_.insert(*unit);
        const bool mil = *unit == um_per_mil;
        if (const auto fault = film_fault(mil ? value : reading.film_um, mil, reading.of_clear))
            refuse(line.number, fault->found, fault->allowed);
        loose_.push_back(std::move(loose));
    }

    // ---- spots --------------------------------------------------------------------------------------

    void lay() {
        out_.spot_rows = rows_, out_.spot_columns = columns_;
        std::map<std::string, std::vector<Loose*>> panels;
        for (Loose& loose : loose_) panels[lower_case(loose.row.panel)].push_back(&loose);
        for (auto& [name, readings] : panels) {
            const auto unnamed =
                std::ranges::count_if(readings, [](const Loose* l) { return l->spot.empty(); });
            if (unnamed > 0 && static_cast<std::size_t>(unnamed) < readings.size())
                refuse((*std::ranges::find_if(readings, [](const Loose* l) { return l->spot.empty(); }))
                           ->row.reading.line,
                       "a reading without a spot, where others name one", "a spot for each, or for none");
            if (unnamed > 0) lay_in_order(readings);
            else lay_by_name(readings);
        }
    }

    int spots() const { return rows_ * columns_; }
    std::string other_pattern() const {
        return "a first line such as \"spots;4x4\" for another pattern; or columns x_mm and y_mm";
    }

    void lay_in_order(const std::vector<Loose*>& readings) {
        std::vector<int> rows; // of the table, each once
        for (const Loose* loose : readings)
            if (rows.empty() || rows.back() != loose->nth) rows.push_back(loose->nth);
        const int count = static_cast<int>(rows.size());
        int each = count / spots(), over = count % spots();
        if (each == 0 && terms_.pasted)
            each = 1, over = 0; // the pattern is on the screen, begun at its first
        if (each == 0 || over != 0)
            refuse(readings.back()->row.reading.line,
                   each == 0
                       ? fmt::format("{} for {} gauge spots", counted(count, "reading", "readings"), spots())
                       : fmt::format("{} readings for {} gauge spots: {} each, and {} left over", count,
                                     spots(), each, over),
                   fmt::format("{}, or a multiple of it; a column \"spot\" that says where each belongs; {}",
                               spots(), other_pattern()));
        std::size_t at = 0;
        for (Loose* loose : readings) {
            while (rows[at] != loose->nth) ++at;
            loose->row.spot = static_cast<int>(at) / each;
        }
    }

    /// Number, row by row from 1; or letter of the row and number in it. @return -1: neither.
    int spot_called(const std::string& name, bool& number) const {
        int value = 0;
        const std::string lower = lower_case(name);
        const bool letter = !lower.empty() && lower[0] >= 'a' && lower[0] <= 'z';
        const char* const first = lower.data() + (letter ? 1 : 0);
        const auto [end, error] = std::from_chars(first, lower.data() + lower.size(), value);
        number = error == std::errc() && end == lower.data() + lower.size();
        if (!number) return -1;
        if (!letter) return value >= 1 && value <= spots() ? value - 1 : -1;
        number = lower[0] - 'a' < rows_ && value >= 1 && value <= columns_; // else it is a name like another
        return number ? (lower[0] - 'a') * columns_ + value - 1 : -1;
    }

    void lay_by_name(const std::vector<Loose*>& readings) {
        bool all_numbered = true;
        const Loose* outside = nullptr;
        for (Loose* loose : readings) {
            bool number = false;
            loose->row.spot = spot_called(loose->spot, number);
            all_numbered = all_numbered && number;
            if (loose->row.spot < 0 && outside == nullptr) outside = loose;
        }
        named_by_number_ = all_numbered;
        if (all_numbered) {
            if (outside != nullptr)
                refuse(outside->row.reading.line, fmt::format("the spot \"{}\"", outside->spot),
                       fmt::format("1 to {}, or A1 to {}{}, of the pattern of {} x {}; {}", spots(),
                                   static_cast<char>('A' + std::min(rows_, 26) - 1), columns_, rows_,
                                   columns_, other_pattern()));
            return;
        }
        std::map<std::string, int> known;
        for (Loose* loose : readings)
            loose->row.spot =
                known.try_emplace(lower_case(loose->spot), static_cast<int>(known.size())).first->second;
        if (static_cast<int>(known.size()) != spots())
            refuse(readings.front()->row.reading.line,
                   fmt::format("{} of readings for {} gauge spots", counted(known.size(), "group", "groups"),
                               spots()),
                   fmt::format("as many groups as spots; spots named 1 to {}; {}", spots(), other_pattern()));
    }

    // ---- words --------------------------------------------------------------------------------------

    void tell(bool placed) {
        std::set<bool> kinds;
        std::map<std::pair<std::string, int>, int> per_spot;
        for (const GaugeRow& row : out_.rows) {
            kinds.insert(row.reading.of_clear);
            ++per_spot[{lower_case(row.panel), row.spot * 2 + (row.reading.of_clear ? 1 : 0)}];
        }
        std::string text = counted(out_.rows.size(), "reading", "readings");
        if (commas_ > 0) text += ", decimal comma";
        for (const double unit : units_) text += unit == 1 ? ", µm" : unit == um_per_mil ? ", mil" : ", mm";
        text += kinds.size() == 2 ? ", total film and clear coat"
                : *kinds.begin()  ? ", clear coat"
                                  : ", total film";
        if (!kinds_said_) text += " (the file does not say which film)";
        if (!placed) {
            const auto [least, most] =
                std::ranges::minmax_element(per_spot, {}, [](const auto& entry) { return entry.second; });
            text += fmt::format(
                ", laid on {} gauge spots ({} x {}, row by row from the top left) {}, {} each", spots(),
                rows_, columns_, named_by_number_ ? "by their names" : "in order",
                least->second == most->second ? fmt::format("{}", most->second)
                                              : fmt::format("{} to {}", least->second, most->second));
        }
        if (!passed_.empty() || passed_lines_ > 0)
            text += fmt::format(
                "; passed over: {}{}{}", passed_, !passed_.empty() && passed_lines_ > 0 ? ", " : "",
                passed_lines_ > 0 ? counted(passed_lines_, "line", "lines") + " over the heading" : "");
        if (sides_in_mm_) text += "; x and y in mm";
        out_.taken_for = std::move(text);
    }

    const ExportTerms& terms_;
    int rows_, columns_;
    std::optional<bool> mil_;
    char separator_ = ',';
    std::optional<double> line_unit_um_;
    std::vector<Head> heads_;
    std::vector<std::string> names_; ///< of the columns, as the file has them
    std::vector<Loose> loose_;
    std::set<double> units_;
    std::string group_, passed_;
    int passed_lines_ = 0, nth_ = 0, sides_ = 0, commas_ = 0, points_ = 0, first_mixed_ = 0;
    bool kinds_said_ = true, sides_in_mm_ = false, named_by_number_ = false;
    GaugeReadings out_;
};

} // namespace

bool is_plain_gauge_table(const std::vector<std::string>& lines) {
    constexpr std::array<std::string_view, 10> names = {
        "panel", "x_mm", "y_mm", "total_um", "total_mil", "clear_um", "clear_mil", "n", "sd_um", "sd_mil"};
    bool panel_line = false;
    for (const std::string& line : lines) {
        if (csv_skipped(line)) continue;
        const std::vector<std::string> cells = csv_values(line);
        if (!panel_line && cells.size() == 2 && cells[0] == "panel") {
            panel_line = true;
            continue;
        }
        return std::ranges::find(cells, "x_mm") != cells.end() &&
               std::ranges::find(cells, "y_mm") != cells.end() &&
               std::ranges::all_of(cells,
                                   [&](const auto& c) { return std::ranges::find(names, c) != names.end(); });
    }
    return true; // nothing to read, which that reader says best
}

bool says_more_than_values(const std::vector<std::string>& lines) {
    constexpr std::array<std::string_view, 12> ours = {"panel",     "x_mm",  "y_mm",     "total_um",
                                                       "total_mil", "total", "clear_um", "clear_mil",
                                                       "clear",     "n",     "sd_um",    "sd_mil"};
    for (const std::string& line : lines) {
        if (csv_skipped(line)) continue;
        const char separator = line.find('\t') != std::string::npos  ? '\t'
                               : line.find(';') != std::string::npos ? ';'
                                                                     : ',';
        const std::vector<std::string> cells = split_quoted(line, separator);
        if (std::ranges::all_of(cells, [&](const std::string& cell) {
                return std::ranges::find(ours, lower_case(cell)) != ours.end();
            }))
            return false;
        bool film = false, more = false, unknown = false;
        for (const Head& head : heads_of(cells)) {
            film = film || head.role == Head::film;
            unknown = unknown || head.role == Head::unknown;
            more = more || head.role == Head::spot ||
                   (head.role == Head::film && (head.unit_um || head.kind_said || head.numbered));
        }
        if (film && more && !unknown) return true;
        if (cells.size() == 1 && !group_named(cells).empty()) return true;
    }
    return false;
}

GaugeReadings read_gauge_export(const std::vector<std::string>& lines, const ExportTerms& terms) {
    return ExportReader(terms).read(lines);
}

} // namespace sparecoat::formats
