// What is believed of a factor, and of a panel: means, quantiles, and a few points that stand for the whole.
#include "decide/learning.hpp"
#include <algorithm>
#include <cmath>
#include <functional>

namespace sparecoat::decide {

double Belief1::mean() const {
    double sum = 0;
    for (std::size_t k = 0; k < weight.size(); ++k) sum += weight[k] * at(k);
    return sum;
}

double Belief1::sd() const {
    const double middle = mean();
    double sum = 0;
    for (std::size_t k = 0; k < weight.size(); ++k) sum += weight[k] * (at(k) - middle) * (at(k) - middle);
    return std::sqrt(sum);
}

double Belief1::quantile(double share) const {
    double below = 0;
    for (std::size_t k = 0; k < weight.size(); ++k) {
        if (below + weight[k] >= share && weight[k] > 0)
            return at(k) + step * ((share - below) / weight[k] - 0.5);
        below += weight[k];
    }
    return at(weight.size() - 1) + 0.5 * step; // a share of 1 that rounding kept from being reached
}

namespace {

/// Points on a grid, gathered: each with its weight and its weighted means.
struct Gathered {
    std::size_t cuts = 0, depths = 0;
    struct Point {
        double weight = 0, cut = 0, depth = 0;
    };
    std::vector<Point> points; ///< cut by cut
};

Gathered gathered_by_two(const Gathered& fine) {
    Gathered coarse{(fine.cuts + 1) / 2, (fine.depths + 1) / 2, {}};
    coarse.points.resize(coarse.cuts * coarse.depths);
    for (std::size_t c = 0; c < fine.cuts; ++c)
        for (std::size_t d = 0; d < fine.depths; ++d) {
            const Gathered::Point& from = fine.points[c * fine.depths + d];
            Gathered::Point& to = coarse.points[c / 2 * coarse.depths + d / 2];
            to.weight += from.weight;
            to.cut += from.weight * from.cut;
            to.depth += from.weight * from.depth;
        }
    for (Gathered::Point& p : coarse.points)
        if (p.weight > 0) p.cut /= p.weight, p.depth /= p.weight;
    return coarse;
}

/// The heaviest points that carry all but a thousandth, heaviest first.
std::vector<Gathered::Point> carrying(const Gathered& all) {
    std::vector<Gathered::Point> points = all.points;
    std::ranges::stable_sort(points, std::ranges::greater{}, &Gathered::Point::weight);
    double sum = 0;
    std::size_t kept = 0;
    while (kept < points.size() && sum < 0.999) sum += points[kept++].weight;
    points.resize(kept);
    return points;
}

} // namespace

std::vector<BeliefPoint> points_of(const PanelBelief& belief, std::size_t most) {
    Gathered all{belief.cut.weight.size(), belief.depth.weight.size(), {}};
    for (std::size_t c = 0; c < all.cuts; ++c)
        for (std::size_t d = 0; d < all.depths; ++d)
            all.points.push_back({belief.joint[c * all.depths + d], belief.cut.at(c), belief.depth.at(d)});
    std::vector<Gathered::Point> kept = carrying(all);
    while (kept.size() > std::max<std::size_t>(most, 1)) {
        all = gathered_by_two(all);
        kept = carrying(all);
    }
    double whole = 0;
    for (const Gathered::Point& p : kept) whole += p.weight;
    std::vector<BeliefPoint> points;
    for (const Gathered::Point& p : kept)
        points.push_back({std::exp(p.cut), std::exp(p.depth), p.weight / whole});
    return points;
}

} // namespace sparecoat::decide
