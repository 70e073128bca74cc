#include "picture/evenness_folder.hpp"
#include "picture/run_folder.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

/// Without what the trend leaves (frequency 0 and half a wave's neighbour), which has no wavelength to speak
/// of.
ChartSeries curve(const Spectrum& spectrum, std::string name) {
    ChartSeries out;
    out.name = std::move(name);
    for (std::size_t k = spectrum.frequency_per_mm.size(); k-- > 1;) {
        out.x.push_back(1 / spectrum.frequency_per_mm[k]);
        out.y.push_back(spectrum.power_um2_mm[k]);
    }
    return out;
}

Chart empty_spectrum_chart(const EvennessReport& report) {
    Chart chart;
    chart.title = report.job.panel.name + ": " + report.job.step.technique.name;
    chart.x.title = "wavelength, mm", chart.x.logarithmic = true;
    chart.y.title = "power of film lost, µm² mm", chart.y.logarithmic = true;
    return chart;
}

/// The strongest peak that is known for something, by its wavelength.
void name_peak(Chart& chart, const Direction& direction) {
    const auto peak =
        std::ranges::find_if(direction.peaks, [](const SpectrumPeak& p) { return !p.words.empty(); });
    if (peak == direction.peaks.end()) return;
    const auto k =
        static_cast<std::size_t>(std::lround(1 / peak->wavelength_mm / direction.spectrum.df_per_mm));
    constexpr double above = 1.5; // on a logarithmic axis
    chart.words.push_back({peak->wavelength_mm, above * direction.spectrum.power_um2_mm[k],
                           fmt::format("{:.3g} mm", peak->wavelength_mm)});
}

/// Two charts, one over the other.
void write_two(const std::filesystem::path& file, const Chart& upper, const Chart& lower) {
    constexpr double width = 540, height = 560, margin = 10;
    Canvas canvas(page_format(file), width, height, Rgb{1, 1, 1}, 1200 / width);
    canvas.describe(upper.title, "Sparecoat");
    draw_chart(canvas, {margin, margin, width - 2 * margin, 0.5 * height - 1.5 * margin}, upper);
    draw_chart(canvas, {margin, 0.5 * height + 0.5 * margin, width - 2 * margin, 0.5 * height - 1.5 * margin},
               lower);
    canvas.write(file);
}

} // namespace

Chart spectra_chart(const EvennessReport& report) {
    Chart chart = empty_spectrum_chart(report);
    chart.subtitle = fmt::format(
        "Open ground, {} integrator. Where a curve stands high the film comes off in bands so far apart; "
        "the strongest that is known for something has its wavelength.",
        report.job.request.integrator == Integrator::resolved ? "resolved" : "averaged");
    for (const Direction& direction : report.directions) {
        chart.series.push_back(
            curve(direction.spectrum, direction.along == Along::u ? "along u" : "along v"));
        name_peak(chart, direction);
    }
    return chart;
}

Chart marks_chart(const EvennessReport& report, const MarksOfOrbits& marks) {
    Chart chart = empty_spectrum_chart(report);
    chart.title += ", marks of single orbits";
    chart.subtitle = fmt::format(
        "One straight pass of a fresh pad, along the arm, resolved integrator on cells of {:.2g} mm.",
        marks.cell_mm);
    chart.series.push_back(curve(marks.direction.spectrum, "along the arm"));
    chart.rules.push_back(
        {marks.advance_mm, fmt::format("{:.3g} mm, the arm's way in a turn", marks.advance_mm), true});
    return chart;
}

Chart overlap_chart(const EvennessReport& report) {
    Chart chart;
    chart.title = report.job.panel.name + ": the overlap that evens";
    const OverlapTrial& best = report.trials[report.best];
    chart.subtitle = report.job.step.technique.name +
                     " with a steady hand; standard deviation over mean of the film lost on open ground.";
    chart.x.title = "overlap, %", chart.y.title = "unevenness, %";
    ChartSeries uneven;
    for (const OverlapTrial& t : report.trials)
        uneven.x.push_back(100 * t.overlap), uneven.y.push_back(100 * t.deviation);
    chart.series = {uneven};
    chart.rules.push_back({100 * best.overlap, fmt::format("best, {:.0f} %", 100 * best.overlap), true});
    return chart;
}

Chart cost_chart(const EvennessReport& report) {
    Chart chart;
    chart.title = "What it costs";
    chart.x.title = "overlap, %", chart.y.title = "times the least";
    ChartSeries film, time;
    film.name = "film lost", time.name = "time at the panel";
    const double least_film = std::ranges::min(report.trials, {}, &OverlapTrial::film_um).film_um;
    const double least_time = std::ranges::min(report.trials, {}, &OverlapTrial::time_s).time_s;
    for (const OverlapTrial& t : report.trials) {
        film.x.push_back(100 * t.overlap), film.y.push_back(t.film_um / least_film);
        time.x.push_back(100 * t.overlap), time.y.push_back(t.time_s / least_time);
    }
    chart.series = {film, time};
    return chart;
}

nlohmann::json write_evenness(const std::filesystem::path& folder, const EvennessReport& report,
                              FilmUnit unit, const std::string& ending) {
    draw_heatmap(folder / "film_lost.png", film_lost_map(report.job, report.outcome, unit));
    write_chart(folder / ("spectra." + ending), spectra_chart(report));
    if (report.marks) write_chart(folder / ("marks." + ending), marks_chart(report, *report.marks));
    write_two(folder / ("overlap." + ending), overlap_chart(report), cost_chart(report));
    nlohmann::json document = evenness_json(report);
    write_json(folder / "evenness.json", document);
    return document;
}

} // namespace sparecoat::picture
