#include "picture/sweep_charts.hpp"
#include "formats/whole_file.hpp"
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace sparecoat::picture {
namespace {

std::string about(const Sweep& sweep) {
    const SweepDesign& design = sweep.design();
    return fmt::format("{}: {} with {}, {} points ({}), {} {} each. Estimates: the gauge decides.",
                       design.name, design.panel, design.technique, sweep.points().count(),
                       name_of(design.kind), sweep.replicates(), sweep.replicates() == 1 ? "run" : "runs");
}

/// A factor's name as part of a file's.
std::string file_name(const std::string& text) {
    std::string out;
    for (const char c : text)
        out += (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ? c : '_';
    return out;
}

} // namespace

Chart effect_chart(const Sweep& sweep, const OutputReport& report, std::size_t factor) {
    const FactorScale& scale = sweep.factors()[factor];
    const SweepOutput& output = sweep_outputs[report.output];
    Chart chart;
    chart.title = fmt::format("Main effect of {}", sweep.design().factors[factor].name);
    chart.subtitle = about(sweep) + " Mean over the other factors, one standard error either way.";
    chart.x.title = scale.column(), chart.y.title = output.words;
    ChartSeries series;
    series.look = scale.words() ? ChartSeries::Look::points : ChartSeries::Look::line;
    constexpr double decade = 10; // under that even steps are easier to read
    chart.x.logarithmic = !scale.listed() && sweep.design().factors[factor].logarithmic &&
                          scale.number(1) >= decade * scale.number(0);
    for (std::size_t k = 0; k < scale.parts() && scale.words(); ++k)
        chart.x.names.push_back(
            scale.word((static_cast<double>(k) + 0.5) / static_cast<double>(scale.parts())));
    for (const EffectLevel& level : report.effects[factor]) {
        series.x.push_back(scale.number(level.x));
        series.y.push_back(level.mean);
        series.low.push_back(level.mean - level.standard_error);
        series.high.push_back(level.mean + level.standard_error);
    }
    chart.series.push_back(std::move(series));
    return chart;
}

Chart indices_chart(const Sweep& sweep, const OutputReport& report, double level) {
    if (!report.indices) throw std::invalid_argument("an output without indices");
    Chart chart;
    chart.title = "What it depends on: " + std::string(sweep_outputs[report.output].words);
    chart.subtitle =
        about(sweep) + fmt::format(" Sobol indices with {:.0f} % bootstrap intervals.", 100 * level);
    chart.x.title = "factor", chart.y.title = "share of the variance";
    ChartSeries first, total;
    first.name = "first order: by itself", total.name = "total: with its interactions";
    first.look = total.look = ChartSeries::Look::bars;
    const auto add = [](ChartSeries& series, std::size_t k, const IndexEstimate& e) {
        series.x.push_back(static_cast<double>(k));
        series.y.push_back(e.value), series.low.push_back(e.low), series.high.push_back(e.high);
    };
    for (std::size_t k = 0; k < report.indices->factors.size(); ++k) {
        chart.x.names.push_back(sweep.design().factors[k].name);
        add(first, k, report.indices->factors[k].first);
        add(total, k, report.indices->factors[k].total);
    }
    chart.series = {std::move(first), std::move(total)};
    return chart;
}

Chart pareto_chart(const Sweep& sweep, const SweepReport& report) {
    Chart chart;
    chart.title = "Film lost against share cleared";
    chart.subtitle = about(sweep) + " On the front no other point clears as much for less film.";
    chart.x.title = "film lost on the open panel, median, µm", chart.y.title = "share of marks cleared, %";
    ChartSeries all, front;
    all.name = "every point", front.name = "front";
    all.look = front.look = ChartSeries::Look::points;
    const auto add = [&](ChartSeries& series, const ParetoPoint& at) {
        series.x.push_back(at.lost_um), series.y.push_back(100 * at.cleared);
        series.notes.push_back(settings_words(sweep, at.point));
    };
    for (const ParetoPoint& at : report.all) add(all, at);
    for (const ParetoPoint& at : report.front) add(front, at);
    chart.series = {std::move(all), std::move(front)};
    return chart;
}

std::vector<NamedChart> charts_of(const Sweep& sweep, const SweepReport& report) {
    std::vector<NamedChart> charts{
        {"The whole", "Film lost against share cleared", "pareto", pareto_chart(sweep, report)}};
    for (const OutputReport& one : report.outputs) {
        const SweepOutput& output = sweep_outputs[one.output];
        if (one.indices)
            charts.push_back({output.words, "What it depends on", fmt::format("indices-{}", output.name),
                              indices_chart(sweep, one, report.level)});
        for (std::size_t k = 0; k < sweep.factors().size(); ++k) {
            const std::string& factor = sweep.design().factors[k].name;
            charts.push_back({output.words, "Effect of " + factor,
                              fmt::format("effect-{}-{}-{}", output.name, k + 1, file_name(factor)),
                              effect_chart(sweep, one, k)});
        }
    }
    return charts;
}

nlohmann::json write_sweep(const std::filesystem::path& folder, const Sweep& sweep, const SweepReport& report,
                           const std::string& ending) {
    for (const NamedChart& one : charts_of(sweep, report))
        write_chart(folder / (one.file + "." + ending), one.chart);
    nlohmann::json document = sweep_json(sweep, report);
    write_whole(folder / "sweep.json",
                document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n");
    return document;
}

} // namespace sparecoat::picture
