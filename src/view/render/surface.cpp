#include "view/render/surface.hpp"
#include "view/render/scene.hpp"
#include <algorithm>
#include <cmath>
#include <utility>

namespace sparecoat::view {
namespace {

struct Place {
    int i, j;      ///< lower left of the four nearest cells
    double wx, wy; ///< share of the way to the next ones
};

/// Clamped into the grid.
Place place_in(const Grid& grid, Point2 at) {
    const double x = std::clamp((at.x - grid.x0_m) / grid.h_m, 0.0, grid.nu - 1.0);
    const double y = std::clamp((at.y - grid.y0_m) / grid.h_m, 0.0, grid.nv - 1.0);
    const int i = std::clamp(static_cast<int>(x), 0, std::max(0, grid.nu - 2));
    const int j = std::clamp(static_cast<int>(y), 0, std::max(0, grid.nv - 2));
    return {i, j, x - i, y - j};
}

/// Bilinear between the four cells round a point, those of weight 0 left out. @return sum of weights.
template <class Weight, class Value>
double blend(const Place& p, const Grid& grid, const Weight& weight, const Value& value, double& sum) {
    double weights = 0;
    sum = 0;
    for (int dj = 0; dj < 2; ++dj)
        for (int di = 0; di < 2; ++di) {
            if (p.i + di >= grid.nu || p.j + dj >= grid.nv) continue;
            const std::size_t k = grid.index(p.i + di, p.j + dj);
            const double w = (di ? p.wx : 1 - p.wx) * (dj ? p.wy : 1 - p.wy) * weight(k);
            if (!(w > 0)) continue;
            weights += w;
            sum += w * static_cast<double>(value(k));
        }
    return weights;
}

} // namespace

Surface::Surface(const Panel& panel)
    : grid_(panel.grid), height_m_(panel.height_m), inside_(panel.inside),
      stand_in_(panel.grid.cells(), no_cell) {
    // Ring by ring outward, each new cell the mean of what its known neighbours say: their height, and in
    // the first rings their slope carried on in a straight line.
    constexpr int straight_rings = 8;
    std::vector<std::uint8_t> known = inside_;
    std::vector<std::uint32_t> front;
    for (std::uint32_t k = 0; k < stand_in_.size(); ++k)
        if (inside_[k]) stand_in_[k] = k;

    const auto each_neighbour = [&](std::uint32_t k, auto&& visit) {
        const int i = static_cast<int>(k) % grid_.nu, j = static_cast<int>(k) / grid_.nu;
        for (const auto& [di, dj] : {std::pair{-1, 0}, {1, 0}, {0, -1}, {0, 1}})
            if (i + di >= 0 && i + di < grid_.nu && j + dj >= 0 && j + dj < grid_.nv)
                visit(static_cast<std::uint32_t>(grid_.index(i + di, j + dj)), i + 2 * di, j + 2 * dj);
    };
    std::vector<std::uint8_t> waiting(known.size(), 0);
    const auto wait = [&](std::uint32_t k) {
        each_neighbour(k, [&](std::uint32_t n, int, int) {
            if (!known[n] && !waiting[n]) waiting[n] = 1, front.push_back(n);
        });
    };
    for (std::uint32_t k = 0; k < known.size(); ++k)
        if (known[k]) wait(k);

    for (int ring = 1; !front.empty(); ++ring) {
        std::vector<std::uint32_t> ring_cells = std::exchange(front, {});
        std::vector<float> heights;
        for (const std::uint32_t k : ring_cells) {
            float sum = 0;
            int count = 0;
            each_neighbour(k, [&](std::uint32_t n, int i2, int j2) {
                if (!known[n]) return;
                float height = height_m_[n];
                if (ring <= straight_rings && i2 >= 0 && i2 < grid_.nu && j2 >= 0 && j2 < grid_.nv &&
                    known[grid_.index(i2, j2)])
                    height += height - height_m_[grid_.index(i2, j2)];
                sum += height;
                ++count;
                if (ring <= rim_cells && stand_in_[k] == no_cell) stand_in_[k] = stand_in_[n];
            });
            heights.push_back(sum / static_cast<float>(count));
        }
        for (std::size_t n = 0; n < ring_cells.size(); ++n) {
            height_m_[ring_cells[n]] = heights[n];
            known[ring_cells[n]] = 1;
        }
        for (const std::uint32_t k : ring_cells) wait(k);
    }
}

float Surface::height(Point2 at) const {
    double sum = 0;
    const double weights = blend(
        place_in(grid_, at), grid_, [](std::size_t) { return 1.0; },
        [&](std::size_t k) { return height_m_[k]; }, sum);
    return static_cast<float>(sum / weights);
}

glm::vec3 Surface::point(Point2 at, float lift_m) const {
    return {static_cast<float>(at.x), static_cast<float>(at.y), height(at) + lift_m};
}

bool Surface::faces(Point2 at, glm::vec3 eye) const {
    const Place place = place_in(grid_, at);
    const glm::vec2 rise = slope(place.i + (place.wx > 0.5 ? 1 : 0), place.j + (place.wy > 0.5 ? 1 : 0));
    return glm::dot(glm::vec3(-rise, 1), eye - point(at)) > 0;
}

glm::vec2 Surface::slope(int i, int j) const {
    const int left = std::max(i - 1, 0), right = std::min(i + 1, grid_.nu - 1);
    const int below = std::max(j - 1, 0), above = std::min(j + 1, grid_.nv - 1);
    const auto h = static_cast<float>(grid_.h_m);
    const auto rise = [&](std::size_t from, std::size_t to, int cells) {
        return cells > 0 ? (height_m_[to] - height_m_[from]) / (static_cast<float>(cells) * h) : 0.0f;
    };
    return {rise(grid_.index(left, j), grid_.index(right, j), right - left),
            rise(grid_.index(i, below), grid_.index(i, above), above - below)};
}

bool Surface::on_panel(Point2 at) const {
    const long i = std::lround((at.x - grid_.x0_m) / grid_.h_m),
               j = std::lround((at.y - grid_.y0_m) / grid_.h_m);
    return i >= 0 && j >= 0 && i < grid_.nu && j < grid_.nv &&
           inside_[grid_.index(static_cast<int>(i), static_cast<int>(j))] != 0;
}

namespace {

/// Bilinear between cells on the panel; nothing where there are none.
std::optional<double> known_height(const Panel& panel, Point2 at) {
    const Place place = place_in(panel.grid, at);
    const auto value = [&](std::size_t k) { return panel.height_m[k]; };
    double sum = 0;
    const double weights = blend(
        place, panel.grid, [&](std::size_t k) { return panel.inside[k] ? 1.0 : 0.0; }, value, sum);
    if (weights <= 0) return std::nullopt;
    return sum / weights;
}

} // namespace

double height_at(const Panel& panel, Point2 at) { return known_height(panel, at).value_or(0); }

glm::vec3 normal_at(const Panel& panel, Point2 at) {
    const double h = panel.grid.h_m;
    const double here = height_at(panel, at);
    const auto rise = [&](Point2 step) { // at the edge, of the side that is there
        const std::optional<double> before = known_height(panel, at - step),
                                    after = known_height(panel, at + step);
        if (before && after) return (*after - *before) / (2 * h);
        return after ? (*after - here) / h : before ? (here - *before) / h : 0.0;
    };
    return glm::normalize(glm::vec3(-rise({h, 0}), -rise({0, h}), 1));
}

bool faces(const Panel& panel, Point2 at, glm::vec3 eye) {
    const glm::vec3 point(at.x, at.y, height_at(panel, at));
    return glm::dot(normal_at(panel, at), eye - point) > 0;
}

std::optional<std::size_t> painted_cell(const Panel& panel, Point2 at) {
    const Grid& grid = panel.grid;
    const auto i = static_cast<int>(std::lround((at.x - grid.x0_m) / grid.h_m));
    const auto j = static_cast<int>(std::lround((at.y - grid.y0_m) / grid.h_m));
    if (i < 0 || j < 0 || i >= grid.nu || j >= grid.nv || !panel.inside[grid.index(i, j)]) return {};
    return grid.index(i, j);
}

std::optional<Point2> pick(const Panel& panel, const Ray& ray) {
    float low = 1e9f, high = -1e9f;
    for (std::size_t k = 0; k < panel.inside.size(); ++k)
        if (panel.inside[k]) {
            low = std::min(low, panel.height_m[k]);
            high = std::max(high, panel.height_m[k]);
        }
    if (!(low <= high)) return std::nullopt;

    // The stretch of the ray inside the box of the panel; heights a hair apart keep a flat one from
    // having none.
    const Grid& grid = panel.grid;
    const glm::dvec3 from(ray.from), direction(ray.direction);
    double enter = 0, leave = 1e9;
    const glm::dvec3 box_low(grid.x0_m, grid.y0_m, static_cast<double>(low) - 1e-4);
    const glm::dvec3 box_high(grid.x(grid.nu - 1), grid.y(grid.nv - 1), static_cast<double>(high) + 1e-4);
    for (int axis = 0; axis < 3; ++axis) {
        if (std::abs(direction[axis]) < 1e-12) {
            if (from[axis] < box_low[axis] || from[axis] > box_high[axis]) return std::nullopt;
            continue;
        }
        const double a = (box_low[axis] - from[axis]) / direction[axis];
        const double b = (box_high[axis] - from[axis]) / direction[axis];
        enter = std::max(enter, std::min(a, b));
        leave = std::min(leave, std::max(a, b));
    }
    if (enter > leave) return std::nullopt;

    const auto at = [&](double t) { return Point2{from.x + t * direction.x, from.y + t * direction.y}; };
    const auto above = [&](double t) { return from.z + t * direction.z - height_at(panel, at(t)); };
    const auto on_panel = [&](Point2 p) {
        const Place place = place_in(grid, p);
        double sum = 0;
        blend(
            place, grid, [](std::size_t) { return 1.0; },
            [&](std::size_t k) { return panel.edge_distance_m[k]; }, sum);
        return sum >= 0;
    };
    // Half a cell at a time sideways: no crest is narrower than that. The upper side alone is painted, so
    // only a way from above to below counts.
    const double sideways = std::hypot(direction.x, direction.y);
    const double step =
        std::min(0.5 * grid.h_m / std::max(sideways, 1e-9), std::max((leave - enter) / 4, 1e-9));
    double before = enter;
    double above_before = above(before);
    while (before < leave) {
        const double next = std::min(before + step, leave);
        const double above_next = above(next);
        if (above_before >= 0 && above_next < 0) {
            double lo = before, hi = next;
            for (int halving = 0; halving < 30; ++halving) {
                const double middle = 0.5 * (lo + hi);
                (above(middle) >= 0 ? lo : hi) = middle;
            }
            const Point2 hit = at(0.5 * (lo + hi));
            if (on_panel(hit)) return hit;
        }
        if (next >= leave) break;
        before = next;
        above_before = above_next;
    }
    return std::nullopt;
}

} // namespace sparecoat::view
