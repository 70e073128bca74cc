#include "decide/learning_nodes.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::decide::bayes {
namespace {

/// Nodes reach this many standard deviations to either side: 6e-7 of a normal density lies beyond.
constexpr double reach = 5;

/// The step may be made this many times finer than asked for, and no more: a gauge that would need it reads a
/// paint's softness to 1 %, which no hand holds to.
constexpr double most_refined = 5;

/// The step. The trapezoidal rule integrates a density as wide as its step to 5e-9 (2 exp(-2 pi²
/// width²/step²) for a normal one), so 0.05 suits the priors, of which e is the narrowest with 0.07. A lamp
/// tells shares apart to no less than 0.02, and shares change by less than the cut does; a gauge is narrow,
/// though, where much was taken off: its width in c + e is sd/loss. All gauges on a square are about one c +
/// e, all squares on a paint about one c.
double cut_step(const Evidence& evidence, const LearningTerms& terms) {
    double width = std::min({terms.step, terms.hand_sd, terms.square_sd});
    for (const double sd : evidence.paint_sd) width = std::min(width, sd);
    std::vector<double> of_paint(evidence.paint_sd.size(), 0.0); // 1/width², as the next
    for (const Square& square : evidence.squares) {
        double of_square = 0;
        for (const Look& look : square.looks)
            if (look.gauge)
                of_square += std::pow(std::max(look.gauge->loss_um(), 0.0) / look.gauge->sd_um(), 2);
        if (of_square <= 0) continue;
        width = std::min(width, 1 / std::sqrt(of_square));
        double& paint = of_paint[evidence.panels[square.panel].paint];
        paint += 1 / (terms.square_sd * terms.square_sd + 1 / of_square);
        width = std::min(width, 1 / std::sqrt(paint));
    }
    return std::max(width, terms.step / most_refined);
}

} // namespace

double ln_sum(std::span<const double> ln_terms) {
    const double most = *std::ranges::max_element(ln_terms);
    double sum = 0;
    for (const double ln : ln_terms) sum += std::exp(ln - most);
    return most + std::log(sum);
}

std::vector<double> normalised(std::vector<double> ln_weight) {
    const double whole = ln_sum(ln_weight);
    for (double& w : ln_weight) w = std::exp(w - whole);
    return ln_weight;
}

Nodes nodes_for(const Evidence& evidence, const LearningTerms& terms) {
    Nodes n;
    n.cut_step = cut_step(evidence, terms);
    n.depth_step = std::max(std::min(terms.step, terms.depth_sd), terms.step / most_refined);
    const auto half = [](double sd, double step) {
        return static_cast<std::size_t>(std::ceil(reach * sd / step));
    };
    const double widest_paint = evidence.paint_sd.empty() ? 0 : *std::ranges::max_element(evidence.paint_sd);
    n.hand = half(terms.hand_sd, n.cut_step);
    n.soft = half(widest_paint, n.cut_step);
    n.own = half(terms.square_sd, n.cut_step);
    n.depth = half(terms.depth_sd, n.depth_step);
    return n;
}

std::vector<double> ln_normal(std::size_t half, double step, double sd) {
    std::vector<double> ln(Nodes::count(half));
    for (std::size_t k = 0; k < ln.size(); ++k) {
        const double z = Nodes::place(k, half, step) / sd;
        ln[k] = -0.5 * z * z;
    }
    const double whole = ln_sum(ln);
    for (double& value : ln) value -= whole;
    return ln;
}

Belief1 belief(std::vector<double> ln_weight, std::size_t half, double step) {
    return {Nodes::place(0, half, step), step, normalised(std::move(ln_weight))};
}

Table smeared(const Table& in, std::span<const double> ln_kernel, std::size_t rows, std::ptrdiff_t first) {
    Table out(rows, in.columns);
    std::vector<double> most(in.columns), sum(in.columns);
    for (std::size_t r = 0; r < rows; ++r) {
        std::ranges::fill(most, -infinity);
        std::ranges::fill(sum, 0.0);
        const auto each_row = [&](auto&& take) {
            for (std::size_t e = 0; e < ln_kernel.size(); ++e) {
                const std::ptrdiff_t from = static_cast<std::ptrdiff_t>(r + e) + first;
                if (from < 0 || from >= static_cast<std::ptrdiff_t>(in.rows)) continue;
                const double* row = in.row(static_cast<std::size_t>(from));
                for (std::size_t m = 0; m < in.columns; ++m) take(m, ln_kernel[e] + row[m]);
            }
        };
        each_row([&](std::size_t m, double ln) { most[m] = std::max(most[m], ln); });
        each_row([&](std::size_t m, double ln) { sum[m] += std::exp(ln - most[m]); });
        for (std::size_t m = 0; m < in.columns; ++m) out.row(r)[m] = most[m] + std::log(sum[m]);
    }
    return out;
}

} // namespace sparecoat::decide::bayes
