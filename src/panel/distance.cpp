#include "panel/distance.hpp"
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace sparecoat::panel {
namespace {

/// A segment ready for many questions: start, run and 1 / length².
struct Ray {
    Point2 start, run;
    double per_length2;

    explicit Ray(const Segment& s) : start(s.a), run(s.b - s.a), per_length2(0) {
        const double length2 = dot(run, run);
        if (length2 > 0) per_length2 = 1 / length2;
    }
    double along(Point2 p) const { return std::clamp(dot(p - start, run) * per_length2, 0.0, 1.0); }
    double distance2(Point2 p) const {
        const Point2 gap = p - start - along(p) * run;
        return dot(gap, gap);
    }
};

/// Whether a ray from p towards +u crosses a segment. Half-open in v, so that a vertex counts once.
bool spans(const Segment& s, double y) { return (s.a.y > y) != (s.b.y > y); }
double crossing_x(const Segment& s, double y) {
    return s.a.x + (y - s.a.y) * (s.b.x - s.a.x) / (s.b.y - s.a.y);
}

/// Cells [i0, i1) x [j0, j1).
struct Block {
    int i0, i1, j0, j1;
    int cells() const { return (i1 - i0) * (j1 - j0); }
};

class NearestSearch {
public:
    NearestSearch(const Grid& grid, std::span<const Segment> segments) : grid_(grid) {
        rays_.reserve(segments.size());
        for (const Segment& s : segments) rays_.emplace_back(s);
        field_.distance_m.resize(grid.cells());
        field_.segment.resize(grid.cells());
    }

    DistanceField run() {
        pool_.resize(rays_.size());
        std::iota(pool_.begin(), pool_.end(), 0);
        visit({0, grid_.nu, 0, grid_.nv}, 0, pool_.size());
        return std::move(field_);
    }

private:
    /// Candidates live on one stack, pool_: a block's own lie at [first, last), its children's above.
    void visit(Block block, std::size_t first, std::size_t last) {
        if (block.cells() <= 0) return;
        const std::size_t kept = keep_possible(block, first, last);
        constexpr int small = 16;
        if (kept == last + 1 || block.cells() <= small) {
            fill(block, last, kept);
        } else {
            const int im = (block.i0 + block.i1 + 1) / 2, jm = (block.j0 + block.j1 + 1) / 2;
            visit({block.i0, im, block.j0, jm}, last, kept);
            visit({im, block.i1, block.j0, jm}, last, kept);
            visit({block.i0, im, jm, block.j1}, last, kept);
            visit({im, block.i1, jm, block.j1}, last, kept);
        }
        pool_.resize(last);
    }

    /// Copies to the top of the stack the candidates that can be nearest to some cell of the block.
    /// Distance changes no faster than the point moves, so with r the block's half diagonal a segment
    /// farther than the nearest one by more than 2 r at the centre is never the nearest inside.
    std::size_t keep_possible(Block block, std::size_t first, std::size_t last) {
        const Point2 low{grid_.x(block.i0), grid_.y(block.j0)};
        const Point2 high{grid_.x(block.i1 - 1), grid_.y(block.j1 - 1)};
        const Point2 centre = 0.5 * (low + high);
        const double reach = norm(high - low);
        gap_.resize(last - first);
        double nearest = std::numeric_limits<double>::max();
        for (std::size_t c = first; c < last; ++c) {
            gap_[c - first] = std::sqrt(rays_[static_cast<std::size_t>(pool_[c])].distance2(centre));
            nearest = std::min(nearest, gap_[c - first]);
        }
        constexpr double rounding = 1e-9;
        const double limit = nearest + reach + rounding;
        for (std::size_t c = first; c < last; ++c)
            if (gap_[c - first] <= limit) pool_.push_back(pool_[c]);
        return pool_.size();
    }

    void fill(Block block, std::size_t first, std::size_t last) {
        for (int j = block.j0; j < block.j1; ++j)
            for (int i = block.i0; i < block.i1; ++i) {
                const Point2 p{grid_.x(i), grid_.y(j)};
                double best = std::numeric_limits<double>::max();
                int segment = -1;
                for (std::size_t c = first; c < last; ++c) {
                    const double d2 = rays_[static_cast<std::size_t>(pool_[c])].distance2(p);
                    if (d2 < best) {
                        best = d2;
                        segment = pool_[c];
                    }
                }
                const std::size_t k = grid_.index(i, j);
                field_.distance_m[k] = static_cast<float>(std::sqrt(best));
                field_.segment[k] = segment;
            }
    }

    const Grid& grid_;
    std::vector<Ray> rays_;
    std::vector<int> pool_;
    std::vector<double> gap_;
    DistanceField field_;
};

} // namespace

Nearest nearest_on(const Segment& segment, Point2 p) {
    const Ray ray(segment);
    return {std::sqrt(ray.distance2(p)), ray.along(p)};
}

std::vector<Segment> segments_of(const std::vector<Polyline>& lines) {
    std::vector<Segment> segments;
    for (const Polyline& line : lines) {
        const std::size_t n = line.points.size();
        const std::size_t pieces = line.closed ? n : n - std::min<std::size_t>(n, 1);
        for (std::size_t k = 0; k < pieces; ++k)
            segments.push_back({line.points[k], line.points[(k + 1) % n], line.edge[k]});
    }
    return segments;
}

DistanceField distance_to(const Grid& grid, std::span<const Segment> segments) {
    return NearestSearch(grid, segments).run();
}

std::vector<std::uint8_t> cells_inside(const Grid& grid, std::span<const Segment> closed_loops) {
    std::vector<std::uint8_t> inside(grid.cells(), 0);
    std::vector<double> crossings;
    for (int j = 0; j < grid.nv; ++j) {
        const double y = grid.y(j);
        crossings.clear();
        for (const Segment& s : closed_loops)
            if (spans(s, y)) crossings.push_back(crossing_x(s, y));
        std::sort(crossings.begin(), crossings.end());
        std::size_t passed = 0;
        for (int i = 0; i < grid.nu; ++i) {
            while (passed < crossings.size() && crossings[passed] <= grid.x(i)) ++passed;
            inside[grid.index(i, j)] = (crossings.size() - passed) % 2 == 1;
        }
    }
    return inside;
}

bool point_inside(std::span<const Segment> closed_loops, Point2 p) {
    bool inside = false;
    for (const Segment& s : closed_loops)
        if (spans(s, p.y) && crossing_x(s, p.y) > p.x) inside = !inside;
    return inside;
}

double signed_distance(const std::vector<Polyline>& outline, Point2 p, int* edge) {
    const std::vector<Segment> segments = segments_of(outline);
    double best = std::numeric_limits<double>::max();
    for (const Segment& s : segments) {
        const double d = nearest_on(s, p).distance_m;
        if (d < best) {
            best = d;
            if (edge) *edge = s.label;
        }
    }
    return point_inside(segments, p) ? best : -best;
}

PointBox box_of(std::span<const Point2> points) {
    constexpr double far = std::numeric_limits<double>::max();
    PointBox box{{far, far}, {-far, -far}};
    for (Point2 p : points) {
        box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
        box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
    }
    return box;
}

GridWindow window_of(const Grid& grid, PointBox box) {
    const auto cut = [&grid](double low, double high, double origin, int cells) {
        const double from = std::ceil((low - origin) / grid.h_m), to = std::floor((high - origin) / grid.h_m);
        const int first = static_cast<int>(std::clamp(from, 0.0, static_cast<double>(cells)));
        const int end =
            static_cast<int>(std::clamp(to + 1, static_cast<double>(first), static_cast<double>(cells)));
        return std::pair{first, end - first};
    };
    const auto [i0, nu] = cut(box.low.x, box.high.x, grid.x0_m, grid.nu);
    const auto [j0, nv] = cut(box.low.y, box.high.y, grid.y0_m, grid.nv);
    return {{nu, nv, grid.h_m, grid.x(i0), grid.y(j0)}, i0, j0};
}

} // namespace sparecoat::panel
