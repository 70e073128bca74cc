#include "picture/scale.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

namespace sparecoat::picture {
namespace {

constexpr double wanted_divisions = 6;
constexpr double slack = 1e-9; // of a step: a bound that is a multiple of it but for rounding counts as one

std::vector<double> multiples_within(double low, double high, double step) {
    std::vector<double> ticks;
    const double first = std::ceil(low / step - slack), last = std::floor(high / step + slack);
    for (double n = first; n <= last; n += 1) ticks.push_back(n * step + 0.0); // + 0.0: no negative zero
    return ticks;
}

} // namespace

double round_step(double length, double divisions) {
    const double wanted = length / divisions;
    const double decade = std::pow(10.0, std::floor(std::log10(wanted)));
    double best = decade;
    for (const double lead : {2.0, 2.5, 5.0, 10.0})
        if (std::abs(std::log(lead * decade / wanted)) < std::abs(std::log(best / wanted)))
            best = lead * decade;
    return best;
}

Scale round_scale(double low, double high) {
    if (low > 0 && low < 0.35 * high) low = 0;
    if (high < 0 && high > 0.35 * low) high = 0;
    if (!(high - low > 1e-6 * std::max(std::abs(low), std::abs(high)))) {
        if (low == 0) return locked_scale(0, 1);
        const double step = round_step(std::abs(low), 10);
        low -= step;
        high += step;
    }
    Scale scale;
    scale.step = round_step(high - low, wanted_divisions);
    scale.low = std::floor(low / scale.step + slack) * scale.step;
    scale.high = std::ceil(high / scale.step - slack) * scale.step;
    scale.ticks = multiples_within(scale.low, scale.high, scale.step);
    return scale;
}

Scale locked_scale(double low, double high) {
    if (!(low < high) || !std::isfinite(low) || !std::isfinite(high))
        throw std::invalid_argument("locked_scale: the low end must be below the high end");
    const double step = round_step(high - low, wanted_divisions);
    return {low, high, step, multiples_within(low, high, step)};
}

double usual_end(std::span<const std::vector<float>* const> maps) {
    constexpr double share = 0.97, far_beyond = 1.5;
    std::vector<float> sizes;
    for (const std::vector<float>* map : maps)
        for (const float v : *map)
            if (std::abs(v) > 0) sizes.push_back(std::abs(v)); // NaN is not
    if (sizes.empty()) return 0;
    const auto most = static_cast<double>(*std::ranges::max_element(sizes));
    const auto at =
        sizes.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(sizes.size() - 1));
    std::ranges::nth_element(sizes, at);
    return most > far_beyond * static_cast<double>(*at) ? static_cast<double>(*at) : most;
}

std::vector<double> ticks_with_room(const Scale& scale, double apart) {
    std::vector<double> placed;
    const auto place = [&](double tick) {
        const bool room = std::none_of(placed.begin(), placed.end(), [&](double other) {
            return std::abs(scale.share(other) - scale.share(tick)) < apart;
        });
        if (room) placed.push_back(tick);
    };
    for (const double tick : scale.ticks)
        if (tick > scale.low && tick < scale.high) place(tick);
    for (const double tick : scale.ticks)
        if (tick <= scale.low || tick >= scale.high) place(tick);
    return placed;
}

std::string tick_text(double value, double step) {
    int decimals = 0;
    // As many decimals as write the step exactly: 2.5 needs one, 0.25 two, 20 none.
    for (double s = step; decimals < 6 && std::abs(s - std::round(s)) > 1e-6 * s; s *= 10) ++decimals;
    const double rounding = 0.5 * std::pow(10.0, -decimals);
    std::string text = fmt::format("{:.{}f}", std::abs(value) < rounding ? 0.0 : std::abs(value), decimals);
    return value <= -rounding ? "\u2212" + text : text;
}

} // namespace sparecoat::picture
