#include "finish/scatter.hpp"
#include "finish/clearing.hpp"
#include "tool/hand.hpp"
#include <algorithm>
#include <cmath>
#include <numeric>

namespace sparecoat::finish {
namespace {

/// What is drawn of a mark, each from a stream of random numbers of its own.
enum class Draw : std::uint64_t {
    cell,
    right,
    up,
    direction,
    depth_radius,
    depth_angle,
    bend,
    side,
    rank,
    number
};
constexpr std::uint64_t draws = 16; // room for as many streams a population

/// Radius of the arc that lines of a kind follow, from memory: the reach of a hand with a wash mitt, of an
/// arm, of a pad.
double sweep_radius_m(MarkKind kind) {
    switch (kind) {
    case MarkKind::swirls: return 0.15;
    case MarkKind::haze: return 0.3;
    case MarkKind::sanding: return 0.5;
    default: return 1.5; // a scratch is nearly straight
    }
}

/// Random numbers of one population's marks.
class Dice {
public:
    Dice(std::uint64_t seed, std::size_t population) : seed_(seed), first_(draws * (population + 1)) {}
    double even(Draw what, std::size_t mark) const { // in (0, 1]
        return uniform_at(seed_, first_ + static_cast<std::uint64_t>(what), static_cast<std::int64_t>(mark));
    }
    double normal(std::size_t mark) const { // Box and Muller
        return std::sqrt(-2 * std::log(even(Draw::depth_radius, mark))) *
               std::cos(2 * pi * even(Draw::depth_angle, mark));
    }

private:
    std::uint64_t seed_, first_;
};

/// How many marks are to be expected, and of these to be seen.
struct Count {
    double all = 0, seen = 0;
};

/// The number that the larger populations are thinned to, so that all together are `most`: small ones stay
/// whole, and what they leave is shared.
double common_number(std::vector<double> numbers, double most) {
    std::ranges::sort(numbers);
    double left = most;
    for (std::size_t k = 0; k < numbers.size(); ++k) {
        const double share = left / static_cast<double>(numbers.size() - k);
        if (numbers[k] > share) return share;
        left -= numbers[k];
    }
    return numbers.empty() ? 0 : numbers.back();
}

/// How far a line goes from its middle, `way` +1 or -1, before it leaves the cells.
double reach(const Panel& panel, const std::vector<std::uint8_t>& there, const Mark& mark, double half_m,
             double way) {
    const double step = panel.grid.h_m;
    double gone = 0;
    while (gone < half_m) {
        const double next = std::min(gone + step, half_m);
        const Point2 p = point_along(mark, way * next);
        const auto i = static_cast<int>(std::lround((p.x - panel.grid.x0_m) / panel.grid.h_m));
        const auto j = static_cast<int>(std::lround((p.y - panel.grid.y0_m) / panel.grid.h_m));
        if (i < 0 || j < 0 || i >= panel.grid.nu || j >= panel.grid.nv || !there[panel.grid.index(i, j)])
            return gone;
        gone = next;
    }
    return half_m;
}

class Scatterer {
public:
    Scatterer(const Panel& panel, const MarkPopulation& made, std::size_t population, std::uint64_t seed)
        : panel_(panel), made_(made), population_(population), dice_(seed, population),
          there_(cells_of_region(panel, made.region)) {
        for (std::size_t k = 0; k < there_.size(); ++k)
            if (there_[k]) cells_.push_back(static_cast<std::uint32_t>(k));
    }

    Count count() const {
        const double area_m2 = static_cast<double>(cells_.size()) * panel_.grid.h_m * panel_.grid.h_m;
        const double all = made_.per_m2 * area_m2;
        return {all, all * depth_moment(made_, 0, visible_um)};
    }

    /// @param thinned how many marks each stands for.
    void add_to(std::vector<Mark>& marks, double thinned) const {
        if (cells_.empty()) return;
        // A broken number is rounded up as often as its fraction says.
        const auto number =
            static_cast<std::size_t>(std::floor(count().all / thinned + 1 - dice_.even(Draw::number, 0)));
        for (std::size_t n = 0; n < number; ++n)
            if (const Mark mark = draw(n); mark.depth_um > visible_um) marks.push_back(mark);
    }

private:
    Mark draw(std::size_t n) const {
        const double deep = std::exp(made_.depth_sd * dice_.normal(n)); // over the median
        Mark mark;
        mark.kind = made_.kind, mark.population = population_;
        mark.depth_um = made_.depth_um * deep;
        if (mark.depth_um <= visible_um) return mark;
        const auto cells = static_cast<double>(cells_.size());
        const auto pick = static_cast<std::size_t>((1 - dice_.even(Draw::cell, n)) * cells);
        const Point2 cell = panel_.grid.centre(cells_[std::min(pick, cells_.size() - 1)]);
        const double h = panel_.grid.h_m;
        mark.at = cell + Point2{(0.5 - dice_.even(Draw::right, n)) * h, (0.5 - dice_.even(Draw::up, n)) * h};
        mark.rank = dice_.even(Draw::rank, n);
        mark.direction_rad = made_.direction_rad.value_or(2 * pi * dice_.even(Draw::direction, n));
        if (!made_of_lines(made_.kind)) {
            mark.width_m = made_.width_m * std::sqrt(deep);
            return mark;
        }
        mark.width_m = made_.width_m * deep;
        // From half the usual radius to any straightness, to either side; what keeps to a direction is
        // straight.
        if (!made_.direction_rad)
            mark.curvature_per_m = (dice_.even(Draw::side, n) > 0.5 ? 1 : -1) * 2 *
                                   dice_.even(Draw::bend, n) / sweep_radius_m(made_.kind);
        const double half_m = 0.5 * made_.length_m;
        const bool clear_of_edge =
            made_.region.empty() &&
            static_cast<double>(panel_.edge_distance_m[nearest_cell(panel_.grid, mark.at)]) > half_m + 2 * h;
        mark.to_m = clear_of_edge ? half_m : reach(panel_, there_, mark, half_m, 1);
        mark.from_m = clear_of_edge ? -half_m : -reach(panel_, there_, mark, half_m, -1);
        return mark;
    }

    const Panel& panel_;
    const MarkPopulation& made_;
    std::size_t population_;
    Dice dice_;
    std::vector<std::uint8_t> there_;
    std::vector<std::uint32_t> cells_;
};

} // namespace

Point2 point_along(const Mark& mark, double along_m) {
    // The chord of an arc points half its turn away from its start and is shorter by sin(x)/x, x that half.
    const double half_turn = 0.5 * mark.curvature_per_m * along_m;
    const double chord_m = along_m * (std::abs(half_turn) < 1e-4 ? 1 : std::sin(half_turn) / half_turn);
    const double angle = mark.direction_rad + half_turn;
    return mark.at + chord_m * Point2{std::cos(angle), std::sin(angle)};
}

double visible_area_m2(const Mark& mark, double worn_um) {
    const double left_um = mark.depth_um - worn_um;
    if (left_um < visible_um) return 0;
    const double whole_m2 = made_of_lines(mark.kind) ? (mark.to_m - mark.from_m) * mark.width_m
                                                     : pi / 4 * mark.width_m * mark.width_m;
    return whole_m2 * left_um / mark.depth_um;
}

Scatter scatter(const Panel& panel, std::span<const MarkPopulation> populations, std::uint64_t seed,
                std::size_t most) {
    std::vector<Scatterer> scatterers;
    std::vector<double> seen;
    for (std::size_t k = 0; k < populations.size(); ++k) {
        scatterers.emplace_back(panel, populations[k], k, seed);
        seen.push_back(scatterers.back().count().seen);
    }
    const double at_most = common_number(seen, static_cast<double>(most));
    Scatter out;
    out.marks.reserve(static_cast<std::size_t>(std::accumulate(
        seen.begin(), seen.end(), 1.0, [&](double sum, double n) { return sum + std::min(n, at_most); })));
    for (std::size_t k = 0; k < scatterers.size(); ++k) {
        out.stands_for.push_back(seen[k] > at_most ? seen[k] / at_most : 1);
        scatterers[k].add_to(out.marks, out.stands_for.back());
    }
    return out;
}

} // namespace sparecoat::finish
