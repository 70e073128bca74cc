#include "picture/chart/chart_axis.hpp"
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

/// "200", "0.05", "10⁻⁴"; of a decade far from 1 only powers of ten get words.
std::string power_text(double lead, int decade) {
    if (decade >= -2 && decade <= 4) return fmt::format("{:g}", lead * std::pow(10.0, decade));
    if (lead != 1) return "";
    constexpr std::array<const char*, 10> raised{"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    std::string text = decade < 0 ? "10⁻" : "10";
    for (const char digit : fmt::format("{}", std::abs(decade)))
        text += raised[static_cast<std::size_t>(digit - '0')];
    return text;
}

PlotAxis named_axis(const std::vector<std::string>& names) {
    PlotAxis axis;
    axis.scale.low = -0.5, axis.scale.high = static_cast<double>(names.size()) - 0.5;
    for (std::size_t n = 0; n < names.size(); ++n)
        axis.ticks.push_back({axis.scale.share(static_cast<double>(n)), {names[n]}});
    return axis;
}

/// From one of 1, 2, 5 to another; words at each of them where few decades are shown, else at powers of ten.
PlotAxis log_axis(double low, double high) {
    constexpr std::array<double, 3> leads{1, 2, 5};
    PlotAxis axis;
    axis.logarithmic = true;
    axis.scale.step = 1;
    std::vector<std::pair<double, std::string>> at; // decimal logarithm and words
    const int from = static_cast<int>(std::floor(std::log10(low) - 1e-9)),
              to = static_cast<int>(std::floor(std::log10(high) + 1e-9)) + 1;
    const bool few = to - from <= 3;
    const int every = std::max(1, (to - from + 7) / 8);
    for (int decade = from; decade <= to; ++decade)
        for (const double lead : leads)
            at.emplace_back(decade + std::log10(lead), (lead == 1 && (decade - from) % every == 0) || few
                                                           ? power_text(lead, decade)
                                                           : "");
    double first = at.front().first, last = at.back().first;
    for (const auto& [log, words] : at)
        if (log <= std::log10(low) + 1e-9) first = log;
    for (auto end = at.rbegin(); end != at.rend(); ++end)
        if (end->first >= std::log10(high) - 1e-9) last = end->first;
    if (!(last > first)) last = first + 1;
    axis.scale.low = first, axis.scale.high = last;
    for (const auto& [log, words] : at)
        if (log >= first - 1e-9 && log <= last + 1e-9) axis.ticks.push_back({axis.scale.share(log), {words}});
    return axis;
}

} // namespace

PlotAxis chart_axis(const ChartAxis& given, double low, double high) {
    if (!given.names.empty()) return named_axis(given.names);
    if (given.logarithmic) return log_axis(low, high);
    return axis_of(given.range ? *given.range : round_scale(low, high));
}

} // namespace sparecoat::picture
