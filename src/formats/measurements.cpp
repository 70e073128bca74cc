#include "formats/measurements.hpp"
#include "formats/csv.hpp"
#include "formats/kinds.hpp"
#include "formats/nearest.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::formats {
namespace {

class MeasurementReader {
public:
    explicit MeasurementReader(const std::filesystem::path& csv) : table_(csv.string(), form()) {}

    std::vector<Measurement> read(const std::vector<std::string>& lines) {
        bool headed = false;
        for (std::size_t k = 0; k < lines.size(); ++k) {
            if (csv_skipped(lines[k])) continue;
            line_ = k + 1;
            if (!headed) read_header(trimmed(lines[k]));
            else add_row(trimmed(lines[k]));
            headed = true;
        }
        line_ = std::max<std::size_t>(1, lines.size());
        if (!headed) refuse("no line of text", allowed_header);
        if (out_.empty()) refuse("no measurement", "one row or more under the header");
        return std::move(out_);
    }

private:
    enum Column : std::size_t {
        label,
        machine,
        pad,
        paint,
        force_n,
        rpm,
        arm_mm_s,
        passes,
        seconds,
        sets_since_fresh,
        section_mm,
        overlap_pct,
        before_um,
        after_um,
        before_mil,
        after_mil,
        sd_um,
        sd_mil,
        n,
        n_before,
        n_after,
        before_g,
        after_g,
        sd_g,
        density_kg_m3,
        area_cm2,
        column_count
    };
    /// A column whose range is that of a technique's key. @param unit_si one of the column's unit, in SI
    static CsvColumn of_technique(std::string_view name, std::string_view pointer, double unit_si) {
        const Limits limits = limits_of(PresetKind::technique, pointer).in(unit_si);
        return {name, limits.low, limits.high};
    }
    /// The first four are text.
    static constexpr std::size_t text_columns = 4;
    static const std::array<CsvColumn, column_count>& columns() {
        static const std::array<CsvColumn, column_count> made{{{"label"},
                                                               {"machine"},
                                                               {"pad"},
                                                               {"paint"},
                                                               of_technique("force_n", "/force", 1),
                                                               of_technique("rpm", "/speed", per_min),
                                                               of_technique("arm_mm_s", "/arm_speed", mm),
                                                               {"passes", 1, 200, true},
                                                               {"seconds", 1, 3600},
                                                               {"sets_since_fresh", 0, 20, true},
                                                               {"section_mm", 20, 4000},
                                                               of_technique("overlap_pct", "/overlap", 0.01),
                                                               {"before_um", 5, 2000},
                                                               {"after_um", 5, 2000},
                                                               {"before_mil", 0.2, 80},
                                                               {"after_mil", 0.2, 80},
                                                               {"sd_um", 0.001, 50},
                                                               {"sd_mil", 0.00004, 2},
                                                               {"n", 1, 1000, true},
                                                               {"n_before", 1, 1000, true},
                                                               {"n_after", 1, 1000, true},
                                                               {"before_g", 0.1, 100000},
                                                               {"after_g", 0.1, 100000},
                                                               {"sd_g", 1e-6, 10},
                                                               {"density_kg_m3", 500, 3000},
                                                               {"area_cm2", 1, 160000}}};
        return made;
    }
    static constexpr std::string_view allowed_header =
        "force_n, rpm, arm_mm_s, passes or seconds; with a gauge "
        "before_um, after_um and sd_um (or _mil), with a balance "
        "before_g, after_g, sd_g, density_kg_m3 and area_cm2; if wanted "
        "n or n_before and n_after, sets_since_fresh, "
        "section_mm, overlap_pct, machine, pad, paint, label";
    static const CsvForm& form() {
        static const CsvForm made{
            .columns = columns(),
            .header = allowed_header,
            .twice = "each once",
            .number = "a number without a unit, such as 12.5; the column's name has the unit"};
        return made;
    }

    [[noreturn]] void refuse(std::string found, std::string_view allowed) const {
        table_.refuse(line_, std::move(found), allowed);
    }
    static std::string_view name_of(Column column) { return columns()[column].name; }
    bool has(Column column) const { return table_.has(column); }

    void read_header(std::string_view text) {
        if (text.find(';') != std::string_view::npos) separator_ = ';';
        const std::vector<std::string> names = csv_values(text, separator_);
        for (const std::string& name : names)
            if (!table_.column_called(name)) refuse_column(name);
        table_.read_header(line_, names);
        for (const Column column : {force_n, rpm, arm_mm_s})
            if (!has(column)) refuse(fmt::format("no column \"{}\"", name_of(column)), allowed_header);
        if (!has(passes) && !has(seconds))
            refuse("neither \"passes\" nor \"seconds\"", "how long each piece of work took, in one of them");
        table_.hold_to_one_of(line_, before_um, before_mil);
        table_.hold_to_one_of(line_, after_um, after_mil);
        table_.hold_to_one_of(line_, sd_um, sd_mil);
        if (!has(before_um) && !has(before_mil) && !has(before_g))
            refuse("no film and no mass", allowed_header);
    }

    [[noreturn]] void refuse_column(const std::string& name) const {
        std::vector<std::string> known;
        for (const CsvColumn& column : columns()) known.emplace_back(column.name);
        for (const std::string& one : known) // "before", "force (N)": the unit is part of the name
            if (const auto unit = one.rfind('_');
                unit != std::string::npos && !name.empty() &&
                name.substr(0, name.find_first_of(" ([")) == one.substr(0, unit))
                refuse(fmt::format("a column \"{}\"", name),
                       fmt::format("the unit as part of the name, such as \"{}\"; {}", one, allowed_header));
        refuse(fmt::format("a column \"{}\"", name), suggestion(name, known, "columns"));
    }

    std::optional<double> number(const CsvCell& cell) const {
        std::string text(cell.text);
        if (separator_ == ';') std::ranges::replace(text, ',', '.');
        const std::optional<double> value = table_.number({cell.line, cell.place, cell.column, text});
        if (value && !table_.in_range(cell.column, *value)) table_.refuse_range(cell.line, cell.column, text);
        return value;
    }

    void add_row(std::string_view text) {
        const std::vector<std::string> values = csv_values(text, separator_);
        const std::vector<CsvCell> cells =
            table_.cells(line_, values,
                         separator_ == ',' && values.size() > table_.columns().size()
                             ? "; are there decimal commas? Write 12.5, or separate all columns by semicolons"
                             : "");
        if (out_.size() == most_measurements)
            refuse("too many measurements", fmt::format("up to {}", most_measurements));
        CsvRow row = table_.empty_row();
        Measurement m;
        m.line = static_cast<int>(line_);
        for (const CsvCell& cell : cells)
            if (cell.column >= text_columns) row[cell.column] = number(cell);
            else
                (cell.column == label     ? m.label
                 : cell.column == machine ? m.machine
                 : cell.column == pad     ? m.pad
                                          : m.paint) = cell.text;
        take_work(m, row);
        take_loss(m, row);
        const double loss = m.loss_um(), sd = m.loss_sd_um();
        if (loss < -told_from_none * sd)
            refuse(fmt::format("film that has grown by {:.2f} µm, {:.1f} times its error", -loss, -loss / sd),
                   "a loss, before less after; are the two the right way round, and of the same spots?");
        out_.push_back(std::move(m));
    }

    double needed(const CsvRow& row, Column column) const {
        if (!row[column]) refuse(fmt::format("no {}", name_of(column)), "a value in every row that needs it");
        return *row[column];
    }

    void take_work(Measurement& m, const CsvRow& row) const {
        m.force_n = needed(row, force_n);
        m.speed_rad_s = needed(row, rpm) * per_min;
        m.arm_speed_m_s = needed(row, arm_mm_s) * mm;
        if (row[passes].has_value() == row[seconds].has_value())
            refuse(row[passes] ? "passes and seconds" : "neither passes nor seconds",
                   "one of them in each row");
        if (row[passes]) m.passes = static_cast<int>(*row[passes]);
        m.seconds = row[seconds];
        m.sets_since_fresh = static_cast<int>(row[sets_since_fresh].value_or(0));
        m.section_m = row[section_mm].value_or(400) * mm;
        m.overlap = row[overlap_pct].value_or(50) / 100;
    }

    void take_loss(Measurement& m, const CsvRow& row) const {
        const bool read = row[before_um] || row[after_um] || row[before_mil] || row[after_mil];
        const bool weighed = row[before_g] || row[after_g];
        if (read == weighed)
            refuse(read ? "film and mass in one row" : "neither film nor mass",
                   "a gauge's pair or a balance's in each row");
        if (weighed)
            m.plate = {needed(row, before_g), needed(row, after_g), needed(row, sd_g),
                       needed(row, density_kg_m3), needed(row, area_cm2) * 1e-4};
        else m.gauge = gauge_pair(row);
    }

    GaugePair gauge_pair(const CsvRow& row) const {
        const auto um = [&](Column in_um, Column mil) {
            return has(mil) ? needed(row, mil) * um_per_mil : needed(row, in_um);
        };
        GaugePair pair;
        pair.before_um = um(before_um, before_mil), pair.after_um = um(after_um, after_mil);
        pair.repeat_sd_um = has(sd_mil) ? needed(row, sd_mil) * um_per_mil : needed(row, sd_um);
        const double both = row[n].value_or(1);
        pair.n_before = static_cast<int>(row[n_before].value_or(both));
        pair.n_after = static_cast<int>(row[n_after].value_or(both));
        return pair;
    }

    CsvTable table_;
    std::size_t line_ = 1;
    char separator_ = ','; ///< with semicolons decimal commas are read too
    std::vector<Measurement> out_;
};

} // namespace

double Measurement::loss_um() const {
    if (gauge) return gauge->loss_um();
    return (plate->before_g - plate->after_g) * 1e-3 / (plate->density_kg_m3 * plate->area_m2) * 1e6;
}

double Measurement::loss_sd_um() const {
    if (gauge) return gauge->sd_um();
    return plate->repeat_sd_g * std::sqrt(2.0) * 1e-3 / (plate->density_kg_m3 * plate->area_m2) * 1e6;
}

std::vector<Measurement> read_measurements(const std::filesystem::path& csv) {
    return MeasurementReader(csv).read(csv_lines(csv, "measurements as CSV"));
}

} // namespace sparecoat::formats
