#include "picture/compare_maps.hpp"
#include "picture/compare_words.hpp"
#include "picture/map_drawing.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

/// The value farthest from nothing.
double highest(const std::vector<float>& values) {
    double most = 0;
    for (const float v : values)
        if (std::isfinite(v)) most = std::max(most, std::abs(static_cast<double>(v)));
    return most;
}

/// A round end at or over `most` µm in the unit shown, so that the legend's ends are round.
double round_end_um(double most_um, FilmUnit unit) {
    const double shown = most_um * per_um(unit);
    if (!(shown > 0)) return 1 / per_um(unit);
    const double step = round_step(shown, 4);
    return step * std::ceil(shown / step - 1e-9) / per_um(unit);
}

/// A small chart has room for few divisions. None where nothing has any length: the chart then finds a range
/// itself.
/// @param finest what its numbers are given to: less is not to look like anything.
std::optional<Scale> few_divisions(const ChartSeries& series, double finest) {
    const double low = std::ranges::min(series.low), high = std::ranges::max(series.high);
    if (!(low < high)) return std::nullopt;
    const double step = std::max(round_step(high - low, 3), finest);
    Scale scale{step * std::floor(low / step + 1e-9), step * std::ceil(high / step - 1e-9), step, {}};
    for (int n = 0; scale.low + n * step < scale.high + 0.5 * step; ++n)
        scale.ticks.push_back(scale.low + n * step);
    return scale;
}

} // namespace

ComparedMaps::ComparedMaps(const Comparison& comparison, FilmUnit unit)
    : comparison_(comparison), unit_(unit) {
    for (std::size_t t = 1; t < comparison.techniques.size(); ++t)
        over_first_.push_back(lost_over_first_um(comparison, t));
    std::vector<const std::vector<float>*> lost, over;
    for (const ComparedTechnique& technique : comparison.techniques)
        lost.push_back(&technique.mean_removed_um);
    for (const std::vector<float>& one : over_first_) over.push_back(&one);
    lost_range_ = {0, round_end_um(usual_end(lost), unit)};
    const double end = round_end_um(usual_end(over), unit);
    difference_range_ = {-end, end};
}

HeatmapSpec ComparedMaps::lost(std::size_t technique) const {
    const ComparedTechnique& one = comparison_.techniques[technique];
    HeatmapSpec spec{.panel = comparison_.panel(), .field_um = one.mean_removed_um};
    spec.title = fmt::format("{}  {}", one.letter, one.job.step.technique.name);
    spec.subtitle = {worked_with(one)};
    spec.unit = unit_;
    spec.range = lost_range_;
    spec.pad_diameter_m = 2 * one.job.step.pad.radius_m;
    return spec;
}

HeatmapSpec ComparedMaps::over_first(std::size_t technique) const {
    HeatmapSpec spec{.panel = comparison_.panel(), .field_um = over_first_[technique - 1]};
    const std::string letter = letter_of(comparison_, technique);
    spec.title = fmt::format("{} against A: film lost", letter);
    spec.subtitle = {fmt::format("{} against {}. Brown: {} takes more, blue: less.",
                                 name_of_compared(comparison_, technique), name_of_compared(comparison_, 0),
                                 letter)};
    spec.quantity = fmt::format("film lost, {} \u2212 A", letter);
    spec.colours = &difference_colours();
    spec.unit = unit_;
    spec.range = difference_range_;
    return spec;
}

std::string ComparedMaps::beyond_lost() const {
    std::string words;
    for (const ComparedTechnique& one : comparison_.techniques)
        if (const double most_um = highest(one.mean_removed_um); most_um > 1.001 * lost_range_.high_um)
            words += fmt::format("{} {} up to {}", words.empty() ? "" : ",", one.letter,
                                 film_text(most_um, unit_));
    return words.empty() ? "" : fmt::format("Spots beyond the scale have its darkest colour:{}.", words);
}

std::string ComparedMaps::beyond_over() const {
    std::string words;
    for (std::size_t t = 1; t < comparison_.techniques.size(); ++t)
        if (const double most_um = highest(over_first_[t - 1]); most_um > 1.001 * difference_range_.high_um)
            words += fmt::format("{} {} by up to {}", words.empty() ? "" : ",", letter_of(comparison_, t),
                                 film_text(most_um, unit_));
    return words.empty() ? "" : fmt::format("Spots beyond the scale have its end's colour:{}.", words);
}

Chart measure_chart(const Comparison& comparison, Measure measure, FilmUnit unit) {
    const MeasureWords words = words_of(measure, unit);
    Chart chart;
    chart.title = words.heading();
    ChartSeries series;
    series.look = ChartSeries::Look::points;
    for (std::size_t t = 0; t < comparison.techniques.size(); ++t) {
        const Estimate& estimate = comparison.techniques[t].estimates[static_cast<std::size_t>(measure)];
        chart.x.names.push_back(letter_of(comparison, t));
        series.x.push_back(static_cast<double>(t));
        series.y.push_back(estimate.mean * words.factor);
        series.low.push_back(estimate.low * words.factor);
        series.high.push_back(estimate.high * words.factor);
    }
    chart.y.range = few_divisions(series, std::pow(10.0, -words.decimals));
    chart.series.push_back(std::move(series));
    return chart;
}

} // namespace sparecoat::picture
