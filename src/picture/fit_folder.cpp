#include "picture/fit_folder.hpp"
#include "picture/run_folder.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

/// Rows of a kind, in the order that a person meets them in.
struct Group {
    const char* name;
    bool weighed, outlier;
};
constexpr Group groups[] = {
    {"film gauge", false, false}, {"balance", true, false}, {"stands out", false, true}};

bool belongs(const FitReport& report, std::size_t k, const Group& group) {
    if (report.fit.outlier[k] || group.outlier) return report.fit.outlier[k] && group.outlier;
    return (report.rows[k].weighed_area_m2 > 0) == group.weighed;
}

/// One series for each kind of row that there is. @param place gives x, y and half an error bar.
template <class Place> std::vector<ChartSeries> series_of(const FitReport& report, Place place) {
    std::vector<ChartSeries> out;
    for (const Group& group : groups) {
        ChartSeries series;
        series.name = group.name, series.look = ChartSeries::Look::points;
        for (std::size_t k = 0; k < report.rows.size(); ++k) {
            if (!belongs(report, k, group)) continue;
            const auto [x, y, half] = place(k);
            series.x.push_back(x), series.y.push_back(y), series.low.push_back(y - half),
                series.high.push_back(y + half);
        }
        if (!series.x.empty()) out.push_back(std::move(series));
    }
    return out;
}

struct Placed {
    double x, y, half;
};

const double ninety = normal_quantile(0.95);

std::string heading(const FitReport& report) {
    return fmt::format("{} measurements of {}", report.rows.size(), report.liquid.name);
}

} // namespace

Chart residual_chart(const FitReport& report) {
    Chart chart;
    chart.title = heading(report) + ": what the fit leaves";
    chart.subtitle = fmt::format("Measured less fitted, over each row's standard deviation, which the bars "
                                 "span; chi-square {:.1f} on {} "
                                 "degrees of freedom.",
                                 report.fit.chi_square, report.fit.degrees);
    chart.x.title = "friction work on the charge half way through, kJ/m²";
    chart.y.title = "residual, standard deviations";
    chart.series = series_of(report, [&](std::size_t k) {
        return Placed{report.work_j_m2[k] / 1000, report.fit.residual[k], 1};
    });
    double most = 3; // so that the lines at two standard deviations lie well inside
    for (const double residual : report.fit.residual) most = std::max(most, std::abs(residual) + 1);
    chart.y.range = round_scale(-most, most);
    chart.rules = {{-2, "2 standard deviations below"}, {2, "2 above"}};
    return chart;
}

Chart fit_chart(const FitReport& report) {
    Chart chart;
    chart.title = heading(report) + " against the fit";
    chart.subtitle = "Bars: 90 % by the stated repeatability alone. On the line the two agree.";
    chart.x.title = "film lost by the fit, µm";
    chart.y.title = "film lost as measured, µm";
    chart.series = series_of(report, [&](std::size_t k) {
        return Placed{report.fit.model_um[k], report.rows[k].film_um, ninety * report.rows[k].sd_um};
    });
    const double most = *std::ranges::max_element(report.fit.model_um);
    ChartSeries line;
    line.name = "equal", line.x = {0, most}, line.y = {0, most};
    chart.series.push_back(std::move(line));
    return chart;
}

std::filesystem::path preset_file(const std::filesystem::path& liquid, const FittedPreset& preset) {
    if (preset.pad.empty()) return liquid;
    // A pad's reference may be a path with a size: "pads/mine.json#150".
    std::string pad = std::filesystem::path(preset.pad.substr(0, preset.pad.find('#'))).stem().string();
    return liquid.parent_path() / fmt::format("{}-{}.json", liquid.stem().string(), pad);
}

nlohmann::json write_fit(const std::filesystem::path& folder, const FitReport& report,
                         const std::string& ending) {
    write_chart(folder / ("residuals." + ending), residual_chart(report));
    write_chart(folder / ("fit." + ending), fit_chart(report));
    for (const FittedPreset& preset : report.presets)
        write_json(folder / preset_file("liquid.json", preset), preset.document);
    nlohmann::json document = fit_json(report);
    write_json(folder / "fit.json", document);
    return document;
}

} // namespace sparecoat::picture
