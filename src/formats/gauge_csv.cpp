#include "formats/gauge_csv.hpp"
#include "formats/csv.hpp"
#include "formats/gauge_export.hpp"
#include "panel/reading_spots.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <optional>
#include <string_view>

namespace sparecoat::formats {
namespace {

constexpr const char *no_readings = "no readings", *one_or_more = "one reading or more";
constexpr double thickest_um = 2000;
constexpr double widest_repeat = 0.3; ///< between two readings of one spot, relative

/// Below the first no film is read as total or clear coat of a painted panel, so it is mil taken for µm; film
/// over the second, given in mil, is µm taken for mil (common practice, no source: 100 to 180 µm of total are
/// usual, which is 4 to 7 mil).
struct Plausible {
    const char* kind;
    double least_um, most_mil;
};
constexpr Plausible plausible_total{"total", 20, 40}, plausible_clear{"clear", 8, 20};

/// Reads a file's rows, whatever panel they are of.
class GaugeReader {
public:
    explicit GaugeReader(const std::filesystem::path& csv) : table_(csv.string(), form) {
        out_.source = csv.string();
    }

    static constexpr std::string_view panel_column = "panel";

    GaugeReadings read(const std::vector<std::string>& lines) {
        out_.last_line = static_cast<int>(lines.size());
        std::size_t k = 0;
        const auto next_line = [&] {
            while (k < lines.size() && csv_skipped(lines[k])) ++k;
            return k < lines.size();
        };
        if (!next_line()) table_.refuse(1, "no line of text", "a line \"panel,NAME\", a header and readings");
        if (const std::vector<std::string> first = csv_values(lines[k]);
            first.size() == 2 && first[0] == panel_column) {
            out_.all_of = {first[1], static_cast<int>(k + 1)};
            ++k;
            if (!next_line()) table_.refuse(lines.size(), "no header", form.header);
        }
        read_header(k + 1, lines[k]);
        for (++k; next_line(); ++k) add_row(k + 1, lines[k]);
        if (out_.rows.empty()) table_.refuse(lines.size(), no_readings, one_or_more);
        return std::move(out_);
    }

private:
    enum Column : std::size_t {
        panel_name,
        x_mm,
        y_mm,
        total_um,
        total_mil,
        clear_um,
        clear_mil,
        count,
        sd_um,
        sd_mil,
        column_count
    };
    static constexpr std::array<CsvColumn, column_count> columns{
        {{panel_column},
         {.name = "x_mm", .needed = true},
         {.name = "y_mm", .needed = true},
         {"total_um"},
         {"total_mil"},
         {"clear_um"},
         {"clear_mil"},
         {.name = "n",
          .low = 1,
          .high = most_gauge_n,
          .whole = true,
          .allowed = "a whole number from 1 to 1000"},
         {"sd_um"},
         {"sd_mil"}}};
    static constexpr std::string_view allowed_header =
        "x_mm, y_mm, one or both of total and clear as total_um or "
        "total_mil, clear_um or clear_mil, and if wanted n, "
        "sd_um or sd_mil, panel";
    static constexpr CsvForm form{.columns = columns,
                                  .header = allowed_header,
                                  .twice = allowed_header,
                                  .number = "a finite number, such as 112.5"};

    void read_header(std::size_t line, std::string_view header) {
        table_.read_header(line, csv_values(header));
        table_.hold_to_one_of(line, total_um, total_mil);
        table_.hold_to_one_of(line, clear_um, clear_mil);
        table_.hold_to_one_of(line, sd_um, sd_mil);
        const auto has = [this](Column column) { return table_.has(column); };
        if (!has(x_mm) || !has(y_mm)) table_.refuse(line, "a header without x_mm and y_mm", form.header);
        if (!has(total_um) && !has(total_mil) && !has(clear_um) && !has(clear_mil))
            table_.refuse(line, "a header without a film thickness", form.header);
        out_.header_line = static_cast<int>(line), out_.panel_column = has(panel_name);
    }

    void add_row(std::size_t line, std::string_view text) {
        GaugeRow out;
        CsvRow row = table_.empty_row();
        const std::vector<std::string> values = csv_values(text);
        for (const CsvCell& cell : table_.cells(line, values)) {
            if (cell.column == panel_name) out.panel = cell.text;
            else row[cell.column] = table_.number(cell);
        }
        GaugeReading& reading = out.reading;
        reading.line = static_cast<int>(line);
        reading.at = {*row[x_mm] * mm, *row[y_mm] * mm};
        if (row[count]) {
            if (!table_.in_range(count, *row[count]))
                table_.refuse_range(line, count, fmt::to_string(*row[count]));
            reading.n = static_cast<int>(*row[count]);
        }
        if (row[sd_um] || row[sd_mil]) {
            reading.repeat_sd_um = row[sd_um] ? *row[sd_um] : *row[sd_mil] * um_per_mil;
            if (!(reading.repeat_sd_um > 0) || reading.repeat_sd_um > largest_gauge_sd_um)
                table_.refuse(line, fmt::format("a repeatability of {:.4g} µm", reading.repeat_sd_um),
                              "over 0 up to 50 µm");
        }
        check_parts(line, row);
        bool any = false;
        for (const bool of_clear : {false, true}) {
            const std::optional<double>& um = row[of_clear ? clear_um : total_um];
            const std::optional<double>& mil = row[of_clear ? clear_mil : total_mil];
            if (!um && !mil) continue;
            any = true;
            reading.of_clear = of_clear;
            reading.film_um = um ? *um : *mil * um_per_mil;
            check_film(line, um, mil, of_clear);
            out_.rows.push_back(out);
        }
        if (!any) table_.refuse(line, "no film thickness", "a total, a clear coat or both");
    }

    void check_parts(std::size_t line, const CsvRow& row) const {
        const auto film_um = [&](Column um, Column mil) {
            return row[um] ? *row[um] : row[mil].value_or(0) * um_per_mil;
        };
        const double total = film_um(total_um, total_mil), clear = film_um(clear_um, clear_mil);
        if (total > 0 && clear > total)
            table_.refuse(line, fmt::format("{:.4g} µm of clear coat in a total of {:.4g}", clear, total),
                          "a part of the total");
    }

    void check_film(std::size_t line, const std::optional<double>& um, const std::optional<double>& mil,
                    bool of_clear) const {
        const std::optional<FilmFault> fault = film_fault(um ? *um : *mil, !um, of_clear);
        if (!fault) return;
        const char* kind = of_clear ? "clear" : "total";
        std::string allowed = fault->allowed;
        if (fault->other_unit)
            allowed += um ? fmt::format(", or a column {}_mil", kind)
                          : fmt::format("; thicker filler is given in µm, in a column {}_um", kind);
        table_.refuse(line, fault->found, allowed);
    }

    CsvTable table_;
    GaugeReadings out_;
};

/// Holds readings to a panel, and makes one of those at one spot.
class GaugeHolder {
public:
    GaugeHolder(const GaugeReadings& readings, const Panel& panel, const std::string& asked_for,
                GaugeRows rows)
        : from_(readings), panel_(panel), asked_for_(asked_for), rows_(rows) {}

    GaugeFile hold() {
        if (from_.all_of) check_panel(from_.all_of->line, from_.all_of->panel);
        else if (from_.header_line > 0 && !from_.panel_column && from_.spot_rows == 0)
            refuse(from_.header_line, "no name of the panel",
                   fmt::format("a first line \"panel,{}\" or a column \"panel\"", asked_for_));
        for (const GaugeRow& row : from_.rows) {
            if (from_.panel_column && of_another_panel(row.panel)) continue;
            if (from_.panel_column) check_panel(row.reading.line, row.panel);
            GaugeReading reading = row.reading;
            if (row.spot >= 0) reading.at = place_of(row.spot);
            else check_on_panel(reading.line, reading.at);
            if (from_.header_line == 0) check_film(reading); // of a file it was looked at in its own unit
            add(reading.line, reading, row.spot >= 0);
        }
        if (out_.readings.empty()) refuse(from_.last_line, no_readings, one_or_more);
        flag_repeats();
        if (!from_.taken_for.empty())
            out_.flags.push_back({FilmFlagKind::taken_for, {}, false, {}, from_.taken_for});
        return std::move(out_);
    }

private:
    struct Spot {
        std::size_t reading = 0; ///< in out_.readings
        std::vector<int> lines;
        double low_um = 0, high_um = 0;
        bool laid =
            false; ///< on a gauge spot: that it was read several times is told for all of them at once
    };

    Point2 place_of(int spot) {
        if (places_.empty()) places_ = reading_spots(panel_, from_.spot_rows, from_.spot_columns).spots;
        return places_[static_cast<std::size_t>(spot)];
    }

    [[noreturn]] void refuse(int line, std::string found, std::string_view allowed) const {
        throw InputError(from_.source, fmt::format("{} {}", from_.row, line), std::move(found),
                         std::string(allowed));
    }

    bool of_another_panel(std::string_view name) const {
        return rows_ == GaugeRows::of_the_panel && lower_case(name) != lower_case(asked_for_);
    }

    void check_panel(int line, std::string_view name) {
        const std::filesystem::path asked(asked_for_);
        const std::string given = lower_case(name);
        const std::array<std::string, 4> known = {lower_case(asked_for_),
                                                  lower_case(asked.filename().string()),
                                                  lower_case(asked.stem().string()), lower_case(panel_.name)};
        if (given.empty() || std::find(known.begin(), known.end(), given) == known.end())
            refuse(line, fmt::format("readings of the panel \"{}\"", name),
                   fmt::format("those of the panel asked for, \"{}\"", asked_for_));
    }

    void check_on_panel(int line, Point2 at) const {
        int edge = -1;
        const double inside_m = signed_distance(panel_.outline, at, &edge);
        if (inside_m >= 0) return;
        const bool named = edge >= 0 && static_cast<std::size_t>(edge) < panel_.edge_names.size();
        refuse(line,
               fmt::format(
                   "a reading at {:.4g}, {:.4g} mm, {:.0f} mm off the panel{}", at.x / mm, at.y / mm,
                   -inside_m / mm,
                   named ? fmt::format(" (nearest: {})", panel_.edge_names[static_cast<std::size_t>(edge)])
                         : std::string()),
               fmt::format("a place on the painted panel \"{}\"", panel_.name));
    }

    void check_film(const GaugeReading& reading) const {
        if (const std::optional<FilmFault> fault = film_fault(reading.film_um, false, reading.of_clear))
            refuse(reading.line, fault->found, fault->allowed);
    }

    /// A spot that was read before is one reading of more measurements: mean by their numbers, the larger
    /// repeatability.
    void add(int line, const GaugeReading& reading, bool laid) {
        for (Spot& spot : spots_) {
            GaugeReading& known = out_.readings[spot.reading];
            if (known.of_clear != reading.of_clear || norm(known.at - reading.at) >= one_spot_m) continue;
            if (std::abs(known.film_um - reading.film_um) >
                widest_repeat * std::min(known.film_um, reading.film_um))
                refuse(
                    line,
                    fmt::format("{:.4g} µm where line {} has {:.4g} µm at the same spot", reading.film_um,
                                spot.lines.front(), known.film_um),
                    "readings of one spot (within 2 mm) at most 30 % apart: one of the two is not this spot");
            const double n = known.n, more = reading.n;
            known.film_um = (n * known.film_um + more * reading.film_um) / (n + more);
            known.n += reading.n;
            known.repeat_sd_um = std::max(known.repeat_sd_um, reading.repeat_sd_um);
            spot.lines.push_back(reading.line);
            spot.low_um = std::min(spot.low_um, reading.film_um),
            spot.high_um = std::max(spot.high_um, reading.film_um);
            return;
        }
        if (out_.readings.size() == most_readings)
            refuse(line, fmt::format("more than {} readings", most_readings),
                   "fewer: a reading every 30 mm is plenty");
        out_.readings.push_back(reading);
        spots_.push_back({out_.readings.size() - 1, {reading.line}, reading.film_um, reading.film_um, laid});
    }

    void flag_repeats() {
        for (const Spot& spot : spots_) {
            if (spot.lines.size() < 2 || spot.laid) continue;
            const GaugeReading& reading = out_.readings[spot.reading];
            out_.flags.push_back(
                {FilmFlagKind::repeated_spot, spot.lines, true, reading.at,
                 fmt::format("one spot read {} times, {:.4g} to {:.4g} µm: averaged to {:.4g}",
                             spot.lines.size(), spot.low_um, spot.high_um, reading.film_um)});
        }
    }

    const GaugeReadings& from_;
    const Panel& panel_;
    const std::string& asked_for_;
    GaugeRows rows_;
    std::vector<Spot> spots_;
    std::vector<Point2> places_; ///< of the gauge spots, once one is wanted
    GaugeFile out_;
};

} // namespace

GaugeReadings read_gauge_csv(const std::filesystem::path& csv) {
    const std::vector<std::string> lines = csv_lines(csv, "gauge readings as CSV");
    if (!is_plain_gauge_table(lines)) return read_gauge_export(lines, {.source = csv.string()});
    return GaugeReader(csv).read(lines);
}

SharedReadings load_gauge_csv(const std::filesystem::path& csv) {
    return std::make_shared<const GaugeReadings>(read_gauge_csv(csv));
}

GaugeFile held_to_panel(const GaugeReadings& readings, const Panel& panel, const std::string& asked_for,
                        GaugeRows rows) {
    return GaugeHolder(readings, panel, asked_for, rows).hold();
}

GaugeFile read_gauge_csv(const std::filesystem::path& csv, const Panel& panel, const std::string& asked_for,
                         GaugeRows rows) {
    return held_to_panel(read_gauge_csv(csv), panel, asked_for, rows);
}

std::vector<NamedRow> panels_named(const GaugeReadings& readings) {
    std::vector<NamedRow> named;
    if (!readings.panel_column) return named;
    for (const GaugeRow& row : readings.rows)
        if (std::ranges::none_of(
                named, [&](const NamedRow& one) { return lower_case(one.panel) == lower_case(row.panel); }))
            named.push_back({row.panel, row.reading.line});
    return named;
}

std::optional<FilmFault> film_fault(double value, bool mil, bool of_clear) {
    const Plausible& plausible = of_clear ? plausible_clear : plausible_total;
    const std::string found = fmt::format("{} {} {}", plausible.kind, value, mil ? "mil" : "µm");
    if (!(value > 0)) return FilmFault{found, "film over 0"};
    if (!mil && value < plausible.least_um)
        return FilmFault{fmt::format("{}: did you mean mil ({:.0f} µm)?", found, value * um_per_mil),
                         fmt::format("{:g} to {:g} µm", plausible.least_um, thickest_um), true};
    if (!mil && value > thickest_um)
        return FilmFault{found, fmt::format("{:g} to {:g} µm", plausible.least_um, thickest_um)};
    if (mil && value > plausible.most_mil)
        return FilmFault{fmt::format("{}: did you mean µm?", found),
                         fmt::format("up to {:g} mil", plausible.most_mil), true};
    if (mil && value * um_per_mil < plausible.least_um)
        return FilmFault{
            found, fmt::format("{:.2g} to {:g} mil", plausible.least_um / um_per_mil, plausible.most_mil)};
    return std::nullopt;
}

} // namespace sparecoat::formats
