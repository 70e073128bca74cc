#include "picture/evenness_folder.hpp"
#include "picture/run_folder.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat {
namespace {

/// Without what the trend leaves (frequency 0 and half a wave's neighbour), which has no wavelength to speak of.
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

std::vector<ChartRule> rules_of(const Direction& direction) {
    std::vector<ChartRule> out;
    for (const SpectrumPeak& peak : direction.peaks) {
        if (peak.words.empty() || out.size() == 3) continue;
        out.push_back({peak.wavelength_mm, fmt::format("{:.3g} mm, {}", peak.wavelength_mm, peak.words), true});
    }
    return out;
}

} // namespace

Chart spectra_chart(const EvennessReport& report) {
    Chart chart = empty_spectrum_chart(report);
    chart.subtitle = fmt::format("Open ground, {} integrator. Where a curve stands high the film comes off in bands so far apart.",
                                 report.job.request.integrator == Integrator::resolved ? "resolved" : "averaged");
    for (const Direction& direction : report.directions) {
        chart.series.push_back(curve(direction.spectrum, direction.along == Along::u ? "along u" : "along v"));
        for (ChartRule& rule : rules_of(direction))
            if (std::ranges::none_of(chart.rules, [&](const ChartRule& r) { return r.words == rule.words; })) chart.rules.push_back(std::move(rule));
    }
    return chart;
}

Chart marks_chart(const EvennessReport& report, const MarksOfOrbits& marks) {
    Chart chart = empty_spectrum_chart(report);
    chart.title += ", marks of single orbits";
    chart.subtitle = fmt::format("One straight pass of a fresh pad, along the arm, resolved integrator on cells of {:.2g} mm.", marks.cell_mm);
    chart.series.push_back(curve(marks.direction.spectrum, "along the arm"));
    chart.rules.push_back({marks.advance_mm, fmt::format("{:.3g} mm, the arm's way in a turn", marks.advance_mm), true});
    return chart;
}

Chart overlap_chart(const EvennessReport& report) {
    Chart chart;
    chart.title = report.job.panel.name + ": overlap that evens";
    const OverlapTrial& best = report.trials[report.best];
    chart.subtitle = fmt::format("{} with a steady hand. Least unevenness {:.1f} % at {:.0f} %; film and time over their least in the scan.",
                                 report.job.step.technique.name, 100 * best.deviation, 100 * best.overlap);
    chart.x.title = "overlap, %";
    chart.y.title = "unevenness, %; film and time, times their least";
    ChartSeries uneven, film, time;
    uneven.name = "standard deviation over mean, %", film.name = "film lost", time.name = "time at the panel";
    for (ChartSeries* series : {&uneven, &film, &time}) series->look = ChartSeries::Look::line;
    const double least_film = std::ranges::min(report.trials, {}, &OverlapTrial::film_um).film_um;
    const double least_time = std::ranges::min(report.trials, {}, &OverlapTrial::time_s).time_s;
    for (const OverlapTrial& t : report.trials) {
        for (ChartSeries* series : {&uneven, &film, &time}) series->x.push_back(100 * t.overlap);
        uneven.y.push_back(100 * t.deviation), film.y.push_back(t.film_um / least_film), time.y.push_back(t.time_s / least_time);
    }
    chart.series = {uneven, film, time};
    chart.rules.push_back({100 * best.overlap, fmt::format("best, {:.0f} %", 100 * best.overlap), true});
    return chart;
}

nlohmann::json write_evenness(const std::filesystem::path& folder, const EvennessReport& report, FilmUnit unit, const std::string& ending) {
    draw_heatmap(folder / "film_lost.png", film_lost_map(report.job, report.outcome, unit));
    write_chart(folder / ("spectra." + ending), spectra_chart(report));
    if (report.marks) write_chart(folder / ("marks." + ending), marks_chart(report, *report.marks));
    write_chart(folder / ("overlap." + ending), overlap_chart(report));
    nlohmann::json document = evenness_json(report);
    write_json(folder / "evenness.json", document);
    return document;
}

} // namespace sparecoat
