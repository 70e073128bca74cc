#include "decide/stats/paired.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

double mean_of(std::span<const double> values) {
    return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// Standard error of the mean; 0 for one value.
double standard_error(std::span<const double> values, double mean) {
    if (values.size() < 2) return 0;
    double squares = 0;
    for (const double v : values) squares += (v - mean) * (v - mean);
    const auto n = static_cast<double>(values.size());
    return std::sqrt(squares / (n - 1) / n);
}

bool all_the_same(std::span<const double> values) {
    return std::ranges::all_of(values, [&](double v) { return !(v < values.front() || v > values.front()); });
}

} // namespace

// Student's law has a closed form for whole degrees of freedom. Boost.Math has it too, to another last bit in
// nearly every value (3e-13 at the worst), and documents on file hold these figures to the last digit.
double student_within(double t, int freedom) {
    if (freedom < 1 || !(t >= 0))
        throw std::invalid_argument("student_within: t of 0 or more, freedom of 1 or more");
    const double angle = std::atan(t / std::sqrt(static_cast<double>(freedom)));
    const double cosine = std::cos(angle), square = cosine * cosine;
    const bool odd = freedom % 2 == 1;
    double term = odd ? cosine : 1, sum = freedom == 1 ? 0 : term;
    for (int k = odd ? 3 : 2; k <= freedom - 2; k += 2) {
        term *= square * (k - 1) / k;
        sum += term;
    }
    const double within = std::sin(angle) * sum;
    return odd ? 2 / pi * (angle + within) : within;
}

double student_bound(double confidence, int freedom) {
    if (!(confidence > 0 && confidence < 1))
        throw std::invalid_argument("student_bound: a chance between 0 and 1");
    double low = 0, high = 1;
    while (student_within(high, freedom) < confidence) high *= 2;
    for (int n = 0; n < 100 && low < high; ++n) {
        const double middle = 0.5 * (low + high);
        (student_within(middle, freedom) < confidence ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

Estimate mean_estimate(std::span<const double> values, double confidence) {
    if (values.empty()) throw std::invalid_argument("mean_estimate: no values");
    if (all_the_same(values)) return {values.front(), values.front(), values.front()};
    const double mean = mean_of(values);
    const double half =
        student_bound(confidence, static_cast<int>(values.size()) - 1) * standard_error(values, mean);
    return {mean, mean - half, mean + half};
}

PairedDifference paired_difference(std::span<const double> first, std::span<const double> second,
                                   double confidence) {
    if (first.size() != second.size() || first.empty())
        throw std::invalid_argument("paired_difference: equally many draws, one at least");
    std::vector<double> differences;
    for (std::size_t k = 0; k < first.size(); ++k) differences.push_back(second[k] - first[k]);
    PairedDifference out{mean_estimate(differences, confidence)};
    if (all_the_same(differences)) {
        out.p = std::abs(differences.front()) > 0 ? 0 : 1;
        return out;
    }
    const double t = std::abs(out.estimate.mean) / standard_error(differences, out.estimate.mean);
    out.p = std::max(0.0, 1 - student_within(t, static_cast<int>(differences.size()) - 1));
    return out;
}

std::vector<double> holm_adjusted(std::span<const double> p) {
    std::vector<std::size_t> order(p.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::ranges::stable_sort(order, {}, [&](std::size_t k) { return p[k]; });
    std::vector<double> adjusted(p.size());
    double most = 0;
    for (std::size_t rank = 0; rank < order.size(); ++rank) {
        most = std::max(most, std::min(1.0, static_cast<double>(p.size() - rank) * p[order[rank]]));
        adjusted[order[rank]] = most;
    }
    return adjusted;
}

} // namespace sparecoat::decide
