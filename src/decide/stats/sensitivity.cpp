#include "decide/stats/sensitivity.hpp"
#include "tool/hand.hpp"
#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

constexpr std::uint64_t stream_of_draws = 0x5377300000000000ULL;

/// Indices of some rows of a scheme, each as often as it stands in `rows`.
struct Plain {
    std::vector<double> first, total;
    double mean = 0, variance = 0;
};

Plain indices_of(std::span<const double> outputs, std::size_t factors, std::span<const std::size_t> rows) {
    const std::size_t stride = factors + 2;
    const auto n = static_cast<double>(rows.size());
    Plain out{std::vector<double>(factors, 0.0), std::vector<double>(factors, 0.0)};
    for (const std::size_t row : rows) out.mean += outputs[row * stride] + outputs[row * stride + 1];
    out.mean /= 2 * n;
    for (const std::size_t row : rows) {
        const double* f = &outputs[row * stride];
        const double a = f[0] - out.mean, b = f[1] - out.mean;
        out.variance += a * a + b * b;
        for (std::size_t k = 0; k < factors; ++k) {
            const double change = f[2 + k] - f[0];
            out.first[k] += b * change;
            out.total[k] += 0.5 * change * change;
        }
    }
    out.variance /= 2 * n;
    for (std::size_t k = 0; k < factors; ++k) {
        out.first[k] = out.variance > 0 ? out.first[k] / n / out.variance : 0;
        out.total[k] = out.variance > 0 ? out.total[k] / n / out.variance : 0;
    }
    return out;
}

/// Linear between the values in order, as most programs do (Hyndman and Fan, Am. Stat. 50, 361 (1996), type
/// 7).
double percentile(std::vector<double>& values, double share) {
    std::sort(values.begin(), values.end());
    const double at = share * static_cast<double>(values.size() - 1);
    const auto below = static_cast<std::size_t>(at);
    const std::size_t above = std::min(below + 1, values.size() - 1);
    return values[below] + (at - static_cast<double>(below)) * (values[above] - values[below]);
}

IndexEstimate with_interval(double value, std::vector<double>& draws, double level) {
    if (draws.empty()) return {value, value, value};
    return {value, percentile(draws, 0.5 * (1 - level)), percentile(draws, 0.5 * (1 + level))};
}

} // namespace

Indices sobol_indices(std::span<const double> outputs, std::size_t factors, const BootstrapTerms& terms) {
    const std::size_t rows = outputs.size() / (factors + 2);
    if (factors == 0 || rows < 2 || outputs.size() != rows * (factors + 2))
        throw std::invalid_argument("two or more rows of as many outputs as there are factors and two");
    std::vector<std::size_t> chosen(rows);
    std::iota(chosen.begin(), chosen.end(), std::size_t{0});
    const Plain plain = indices_of(outputs, factors, chosen);

    std::vector<std::vector<double>> first(factors), total(factors);
    std::int64_t at = 0;
    for (int draw = 0; draw < terms.draws; ++draw) {
        for (std::size_t& row : chosen)
            row = std::min(rows - 1,
                           static_cast<std::size_t>((1 - uniform_at(terms.seed, stream_of_draws, at++)) *
                                                    static_cast<double>(rows)));
        const Plain drawn = indices_of(outputs, factors, chosen);
        for (std::size_t k = 0; k < factors; ++k)
            first[k].push_back(drawn.first[k]), total[k].push_back(drawn.total[k]);
    }
    Indices out{{}, plain.mean, plain.variance};
    for (std::size_t k = 0; k < factors; ++k)
        out.factors.push_back({with_interval(plain.first[k], first[k], terms.level),
                               with_interval(plain.total[k], total[k], terms.level)});
    return out;
}

std::vector<EffectLevel> main_effect(const Points& points, std::size_t coordinate,
                                     std::span<const double> outputs, std::size_t parts) {
    if (outputs.size() != points.count() || parts == 0)
        throw std::invalid_argument("one output a point, and one part or more");
    std::vector<EffectLevel> levels(parts);
    const auto part_of = [&](std::size_t point) {
        return std::min(parts - 1,
                        static_cast<std::size_t>(points.at(point)[coordinate] * static_cast<double>(parts)));
    };
    for (std::size_t point = 0; point < outputs.size(); ++point) {
        EffectLevel& level = levels[part_of(point)];
        level.x += points.at(point)[coordinate], level.mean += outputs[point], ++level.points;
    }
    for (EffectLevel& level : levels)
        if (level.points > 0)
            level.x /= static_cast<double>(level.points), level.mean /= static_cast<double>(level.points);
    for (std::size_t point = 0; point < outputs.size(); ++point) {
        EffectLevel& level = levels[part_of(point)];
        level.standard_error += (outputs[point] - level.mean) * (outputs[point] - level.mean);
    }
    for (EffectLevel& level : levels) {
        const auto n = static_cast<double>(level.points);
        level.standard_error = level.points > 1 ? std::sqrt(level.standard_error / (n - 1) / n) : 0;
    }
    std::erase_if(levels, [](const EffectLevel& level) { return level.points == 0; });
    return levels;
}

std::vector<std::size_t> pareto_front(std::span<const double> cost, std::span<const double> gain) {
    if (cost.size() != gain.size()) throw std::invalid_argument("a gain for every cost");
    std::vector<std::size_t> order(cost.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        if (cost[a] != cost[b]) return cost[a] < cost[b];
        return gain[a] != gain[b] ? gain[a] > gain[b] : a < b;
    });
    std::vector<std::size_t> front;
    for (const std::size_t point : order)
        if (front.empty() || gain[point] > gain[front.back()]) front.push_back(point);
    return front;
}

} // namespace sparecoat::decide
