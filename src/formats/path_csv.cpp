#include "formats/path_csv.hpp"
#include "formats/csv.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <optional>
#include <sstream>
#include <string_view>

namespace sparecoat::formats {

namespace {

constexpr double longest_gap_s = 0.5;
constexpr double fastest_m_s = 2.0;
constexpr double near_panel_m = 0.1;

class PathReader {
public:
    PathReader(const std::filesystem::path& csv, const Technique& technique)
        : table_(csv.string(), form), technique_(technique) {}

    /// The header of a file with every column.
    static std::string whole_header() {
        std::string header;
        for (const CsvColumn& column : columns)
            header += (header.empty() ? "" : ",") + std::string(column.name);
        return header;
    }

    ArmPath read(const std::vector<std::string>& lines) {
        read_header(lines.empty() ? std::string() : lines.front());
        if (lines.size() < 3)
            table_.refuse(std::max<std::size_t>(1, lines.size()),
                          fmt::format("{} rows of values", lines.empty() ? 0 : lines.size() - 1),
                          "two rows or more");
        for (std::size_t k = 1; k < lines.size(); ++k) add(k + 1, row_of(k + 1, lines[k]));
        for (ArmSample& sample : path_.samples) sample.t_s -= start_s_;
        return std::move(path_);
    }

    /// A row as a sample; `before` is the one before it, if any.
    ArmSample sample_of(const CsvRow& row, const ArmSample* before) const {
        ArmSample sample;
        sample.t_s = *row[t_s];
        sample.at = {*row[x_mm] * mm, *row[y_mm] * mm};
        sample.force_n = row[force_n].value_or(technique_.force_n);
        sample.down = sample.force_n > 0;
        // Lifting off ends the step before at its own force; a ramp to 0 N was not asked for.
        if (!sample.down && before) sample.force_n = before->force_n;
        const double tilt_rad = row[tilt_deg] ? *row[tilt_deg] * deg : technique_.tilt_rad;
        const double toward_rad =
            row[tilt_toward_deg] ? *row[tilt_toward_deg] * deg : technique_.tilt_toward_rad;
        sample.tilt_rad = tilt_vector(tilt_rad, toward_rad);
        sample.speed_rad_s = row[rpm] ? *row[rpm] * per_min : technique_.speed_rad_s;
        sample.pass = static_cast<int>(row[pass].value_or(0));
        sample.recharge = row[recharge].value_or(0) > 0;
        return sample;
    }

    /// One row in the order of all columns, as write_path_csv writes it.
    ArmSample written_row(const std::string& text, const ArmSample* before) {
        table_.take_all_columns();
        return sample_of(row_of(1, text), before);
    }

    /// Line 1 is the header, so the samples start on line 2.
    void check_on_panel(const ArmPath& path, const Panel& panel) const {
        const auto near = [&](const ArmSample& s) {
            return signed_distance(panel.outline, s.at) >= -near_panel_m;
        };
        if (std::any_of(path.samples.begin(), path.samples.end(), near)) return;
        table_.refuse(2,
                      fmt::format("a path off the panel \"{}\": its first place is {:.4g}, {:.4g} mm",
                                  panel.name, path.samples.front().at.x / mm, path.samples.front().at.y / mm),
                      "a pad centre within 100 mm of the panel somewhere");
    }

private:
    enum Column : std::size_t {
        t_s,
        x_mm,
        y_mm,
        force_n,
        tilt_deg,
        tilt_toward_deg,
        rpm,
        pass,
        recharge,
        column_count
    };
    static constexpr std::array<CsvColumn, column_count> columns{
        {{.name = "t_s", .needed = true},
         {.name = "x_mm", .needed = true},
         {.name = "y_mm", .needed = true},
         {.name = "force_n", .low = 0, .high = 400, .needed = true, .allowed = "0 to 400 N"},
         {.name = "tilt_deg", .low = 0, .high = 30, .needed = true, .allowed = "0 to 30°"},
         {.name = "tilt_toward_deg", .needed = true},
         {.name = "rpm", .low = 0, .high = 10000, .needed = true, .allowed = "0 to 10000"},
         {.name = "pass", .low = 0, .high = 100000, .needed = true, .allowed = "0 to 100000"},
         {.name = "recharge", .low = 0, .high = 1, .needed = true, .allowed = "0 or 1"}}};
    static constexpr std::size_t required_columns = 3; ///< the first ones, in this order
    static constexpr std::string_view allowed_header =
        "t_s,x_mm,y_mm and after these any of force_n, tilt_deg, tilt_toward_deg, rpm, pass, recharge";
    static constexpr CsvForm form{.columns = columns,
                                  .header = allowed_header,
                                  .twice = allowed_header,
                                  .number = "a finite number, such as 12.5"};

    void read_header(std::string_view header) {
        table_.read_header(1, csv_values(header));
        for (std::size_t k = 0; k < required_columns; ++k)
            if (!table_.has(k) || table_.place_of(k) != k)
                table_.refuse(1, fmt::format("a header \"{}\"", trimmed(header)), form.header);
    }

    CsvRow row_of(std::size_t line, std::string_view text) const {
        const std::vector<std::string> values = csv_values(text);
        CsvRow row = table_.empty_row();
        for (const CsvCell& cell : table_.cells(line, values)) row[cell.column] = table_.number(cell);
        for (std::size_t column = 0; column < column_count; ++column)
            if (row[column] && !table_.in_range(column, *row[column]))
                table_.refuse_range(line, column, fmt::to_string(*row[column]));
        for (const Column whole : {pass, recharge})
            if (row[whole] && *row[whole] != std::floor(*row[whole]))
                table_.refuse(line, fmt::format("{} {}", columns[whole].name, *row[whole]), "a whole number");
        return row;
    }

    void add(std::size_t line, const CsvRow& row) {
        const ArmSample* before = path_.samples.empty() ? nullptr : &path_.samples.back();
        const ArmSample sample = sample_of(row, before);
        if (before) check_step(line, *before, sample);
        else start_s_ = sample.t_s;
        path_.samples.push_back(sample);
    }

    void check_step(std::size_t line, const ArmSample& before, const ArmSample& here) const {
        const double step_s = here.t_s - before.t_s;
        if (!(step_s > 0))
            table_.refuse(line, fmt::format("time {} s after {} s", here.t_s, before.t_s),
                          "times that increase");
        if (step_s > longest_gap_s + 1e-9)
            table_.refuse(line, fmt::format("a gap of {:.4g} s before {} s", step_s, here.t_s),
                          "rows at most 0.5 s apart");
        const double speed_m_s = norm(here.at - before.at) / step_s;
        if (speed_m_s > fastest_m_s)
            table_.refuse(line, fmt::format("a jump at {:.3g} m/s before {} s", speed_m_s, here.t_s),
                          "2 m/s at the most");
    }

    CsvTable table_;
    const Technique& technique_;
    ArmPath path_;
    double start_s_ = 0;
};

std::string path_row(const ArmSample& s) {
    const double tilt = norm(s.tilt_rad);
    const double toward = tilt > 0 ? std::atan2(s.tilt_rad.y, s.tilt_rad.x) : 0.0;
    // 12 digits: a decimal that was read comes out as itself, whatever the units' factors did to its last
    // bit.
    return fmt::format("{:.12g},{:.12g},{:.12g},{:.12g},{:.12g},{:.12g},{:.12g},{},{}", s.t_s, s.at.x / mm,
                       s.at.y / mm, s.down ? s.force_n : 0.0, tilt / deg, toward / deg,
                       s.speed_rad_s / per_min, s.pass, s.recharge ? 1 : 0);
}

} // namespace

ArmPath read_path_csv(const std::filesystem::path& csv, const Technique& technique, const Panel& panel,
                      StepLimits limits) {
    PathReader reader(csv, technique);
    const ArmPath path = reader.read(csv_lines(csv, "a path recorded as CSV"));
    reader.check_on_panel(path, panel);
    return resample(path, limits);
}

ArmSample as_recorded(const ArmSample& sample, const ArmSample* before) {
    static const Technique none;
    return PathReader({}, none).written_row(path_row(sample), before);
}

void write_path_csv(const std::filesystem::path& csv, const ArmPath& path) {
    std::ostringstream text;
    text << PathReader::whole_header() << '\n';
    for (const ArmSample& sample : path.samples) text << path_row(sample) << '\n';
    std::ofstream out(csv, std::ios::binary);
    out << text.str() << std::flush;
    if (!out)
        throw InputError(csv.string(), "", "a file that cannot be written",
                         "a folder with leave to write and room");
}

} // namespace sparecoat::formats
