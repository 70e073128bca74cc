#include "tool/level_lines.hpp"
#include "tool/pad_region.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::tool {

namespace {

constexpr double level_chord_m = 0.02e-3; ///< an arc's straight pieces lie outside it by this at the most
constexpr double level_rounding_m = 1e-9; ///< nearer by this is not nearer
constexpr double same_spot_m = 1e-9;
/// Pieces whose ends are so near to each other go on as one line. Two that cross at an angle have their ends,
/// each found to the rounding above, apart by that over the angle: beside the steps of an outline that was
/// found on a grid some 1e-8 m.
constexpr double joined_m = 1e-4;

double cross_product(Point2 a, Point2 b) { return a.x * b.y - a.y * b.x; }
Point2 left_of(Point2 direction) { return {-direction.y, direction.x}; }
Point2 direction_of(Point2 from, Point2 to) { return (1 / norm(to - from)) * (to - from); }

/// Turned to the right by an angle.
Point2 turned_right(Point2 a, double angle) {
    const double c = std::cos(angle), s = std::sin(angle);
    return {c * a.x + s * a.y, c * a.y - s * a.x};
}

/// Where a straight line `from` + s `along` lies within low..high, of which its coordinate is c + s m.
Stretch within_band(double c, double m, double low, double high, Stretch of) {
    constexpr double flat = 1e-15;
    if (std::abs(m) < flat) return c > low && c < high ? of : Stretch{1, 0};
    const double one = (low - c) / m, other = (high - c) / m;
    return {std::max(of.from_m, std::min(one, other)), std::min(of.to_m, std::max(one, other))};
}

void widen(Stretch& hull, Stretch by) {
    if (by.length_m() <= 0) return;
    if (hull.length_m() <= 0) hull = by;
    else hull = {std::min(hull.from_m, by.from_m), std::max(hull.to_m, by.to_m)};
}

/// The stretch of a straight line that is nearer to a segment than a distance r. All such points are a
/// rectangle with a disc at either end, which is convex: the line meets it in one stretch, the hull of what
/// it has within the rectangle and the discs. A disc round c takes m -+ sqrt(r² - h²), with m how far along
/// the line its centre lies and h how far beside it. None: of no length.
Stretch stretch_nearer(Point2 from, Point2 along, double length_m, const Segment& segment, double r) {
    Stretch hull{1, 0};
    for (const Point2 end : {segment.a, segment.b}) {
        const double h = cross_product(along, end - from), m = dot(along, end - from);
        if (std::abs(h) >= r) continue;
        const double half = std::sqrt((r - std::abs(h)) * (r + std::abs(h)));
        widen(hull, {std::max(0.0, m - half), std::min(length_m, m + half)});
    }
    const double segment_m = norm(segment.b - segment.a);
    if (segment_m < same_spot_m) return hull;
    const Point2 u = (1 / segment_m) * (segment.b - segment.a);
    Stretch inside =
        within_band(cross_product(u, from - segment.a), cross_product(u, along), -r, r, {0, length_m});
    if (inside.length_m() > 0)
        inside = within_band(dot(u, from - segment.a), dot(u, along), 0, segment_m, inside);
    widen(hull, inside);
    return hull;
}

bool boxes_apart(Point2 from, Point2 to, const Segment& segment, double by) {
    const auto apart = [by](double a, double b, double c, double d) {
        return std::min(a, b) - by > std::max(c, d) || std::max(a, b) + by < std::min(c, d);
    };
    return apart(from.x, to.x, segment.a.x, segment.b.x) || apart(from.y, to.y, segment.a.y, segment.b.y);
}

/// An arc of radius d round a corner, from where `normal` points to the right by an angle t: the point
/// corner + d (cos t normal + sin t right).
struct CornerArc {
    Point2 corner, normal;
    double angle = 0, radius_m = 0;

    Point2 right() const { return {normal.y, -normal.x}; }
    Point2 at(double t, double out_m) const { return corner + out_m * turned_right(normal, t); }
    Point2 at(double t) const { return at(t, radius_m); }
};

/// The angles at which A + B cos t + C sin t = v, if they lie on the arc.
void add_crossings(std::vector<double>& angles, double arc, double a, double b, double c, double v) {
    const double reach = std::hypot(b, c);
    if (std::abs(v - a) >= reach) return;
    const double middle = std::atan2(c, b), half = std::acos((v - a) / reach);
    for (double t : {middle - half, middle + half}) {
        while (t < 0) t += 2 * pi;
        while (t >= 2 * pi) t -= 2 * pi;
        if (t > 0 && t < arc) angles.push_back(t);
    }
}

/// The stretches of an arc, by its angle, that are nearer to a segment than r. Between the angles where it
/// crosses the border of one of the discs and of the rectangle that make up all such points, it is either
/// nearer all along or nowhere. The square of the distance from a disc's centre w is
/// w² + d² - 2 d w (cos t normal + sin t right).
void add_stretches_nearer(std::vector<Stretch>& nearer, const CornerArc& arc, const Segment& segment,
                          double r) {
    const double d = arc.radius_m;
    if (nearest_on(segment, arc.corner).distance_m >= d + r) return;
    std::vector<double> angles{0, arc.angle};
    for (const Point2 end : {segment.a, segment.b}) {
        const Point2 w = end - arc.corner;
        add_crossings(angles, arc.angle, dot(w, w) + d * d, -2 * d * dot(w, arc.normal),
                      -2 * d * dot(w, arc.right()), r * r);
    }
    const double segment_m = norm(segment.b - segment.a);
    if (segment_m >= same_spot_m) {
        const Point2 u = (1 / segment_m) * (segment.b - segment.a), from = arc.corner - segment.a;
        for (const double side : {-r, r})
            add_crossings(angles, arc.angle, cross_product(u, from), d * cross_product(u, arc.normal),
                          d * cross_product(u, arc.right()), side);
        for (const double end : {0.0, segment_m})
            add_crossings(angles, arc.angle, dot(u, from), d * dot(u, arc.normal), d * dot(u, arc.right()),
                          end);
    }
    std::sort(angles.begin(), angles.end());
    for (std::size_t k = 0; k + 1 < angles.size(); ++k)
        if (nearest_on(segment, arc.at(0.5 * (angles[k] + angles[k + 1]))).distance_m < r)
            nearer.push_back({angles[k], angles[k + 1]});
}

/// What stretches leave of 0..length, in order.
std::vector<Stretch> free_between(std::vector<Stretch>& taken, double length) {
    std::sort(taken.begin(), taken.end(),
              [](const Stretch& a, const Stretch& b) { return a.from_m < b.from_m; });
    std::vector<Stretch> free;
    double from = 0;
    for (const Stretch& one : taken) {
        if (one.from_m > from) free.push_back({from, one.from_m});
        from = std::max(from, one.to_m);
    }
    if (length > from) free.push_back({from, length});
    return free;
}

/// Lines as they grow, piece by piece.
class GrowingLines {
public:
    GrowingLines(std::span<const Segment> drawing, double distance_m)
        : drawing_(drawing), distance_m_(distance_m) {}

    /// Adds what a straight piece has no nearer to the drawing than the distance.
    void add(Point2 from, Point2 to) {
        const double length_m = norm(to - from);
        if (length_m < same_spot_m) return;
        const Point2 along = (1 / length_m) * (to - from);
        taken_.clear();
        const double r = distance_m_ - level_rounding_m;
        if (r > 0)
            for (const Segment& segment : drawing_) {
                if (boxes_apart(from, to, segment, r)) continue;
                const Stretch nearer = stretch_nearer(from, along, length_m, segment, r);
                if (nearer.length_m() > same_spot_m) taken_.push_back(nearer);
            }
        for (const Stretch& free : free_between(taken_, length_m))
            if (free.length_m() >= same_spot_m) go_on({from + free.from_m * along, from + free.to_m * along});
    }

    /// Adds what an arc has no nearer to the drawing than the distance, as pieces that touch it in their
    /// middle: each turns by 2 w, and their ends lie at d / cos w. Its own ends lie on it.
    void add(const CornerArc& arc) {
        taken_.clear();
        for (const Segment& segment : drawing_)
            add_stretches_nearer(taken_, arc, segment, distance_m_ - level_rounding_m);
        const double widest = 2 * std::acos(arc.radius_m / (arc.radius_m + level_chord_m));
        for (const Stretch& free : free_between(taken_, arc.angle)) {
            if (free.length_m() * arc.radius_m < same_spot_m) continue;
            const int pieces = std::max(1, static_cast<int>(std::ceil(free.length_m() / widest)));
            const double turn = free.length_m() / pieces, out_m = arc.radius_m / std::cos(turn / 2);
            std::vector<Point2> points{arc.at(free.from_m)};
            for (int k = 0; k < pieces; ++k) points.push_back(arc.at(free.from_m + (k + 0.5) * turn, out_m));
            points.push_back(arc.at(free.to_m));
            go_on(points);
        }
    }

    /// @param closed the pieces came round to where they began.
    std::vector<LevelLine> take(bool closed) {
        const auto meet = [](Point2 a, Point2 b) { return norm(b - a) < joined_m; };
        if (closed && !lines_.empty() && meet(lines_.back().points.back(), lines_.front().points.front())) {
            if (lines_.size() == 1) {
                lines_.front().closed = true;
                lines_.front().points.pop_back();
            } else {
                std::vector<Point2>& first = lines_.front().points;
                std::vector<Point2>& last = lines_.back().points;
                last.insert(last.end(), first.begin() + 1, first.end());
                first = std::move(last);
                lines_.pop_back();
            }
        }
        std::erase_if(lines_, [](const LevelLine& line) { return line.points.size() < 2; });
        return std::move(lines_);
    }

private:
    /// Carries the last line on, or begins one.
    void go_on(const std::vector<Point2>& points) {
        if (lines_.empty() || norm(points.front() - lines_.back().points.back()) >= joined_m)
            lines_.push_back({{points.front()}, false});
        lines_.back().points.insert(lines_.back().points.end(), points.begin() + 1, points.end());
    }

    std::span<const Segment> drawing_;
    double distance_m_;
    std::vector<LevelLine> lines_;
    std::vector<Stretch> taken_; ///< from the piece at hand
};

/// How far a drawing turns to the right at a corner; below 0 to the left.
double right_turn(Point2 before, Point2 corner, Point2 after) {
    const Point2 in = direction_of(before, corner), out = direction_of(corner, after);
    return -std::atan2(cross_product(in, out), dot(in, out));
}

} // namespace

std::vector<DrawnRun> runs_with_name(const Polyline& line, const std::vector<std::string>& names,
                                     const std::string& name) {
    std::vector<Point2> points;
    std::vector<bool> wanted; // whether the piece from here on has the name
    for (std::size_t k = 0; k < line.points.size(); ++k) {
        const bool has_name = names[static_cast<std::size_t>(line.edge[k])] == name;
        if (!points.empty() && norm(line.points[k] - points.back()) < same_spot_m) wanted.back() = has_name;
        else points.push_back(line.points[k]), wanted.push_back(has_name);
    }
    if (line.closed && points.size() > 1 && norm(points.back() - points.front()) < same_spot_m)
        points.pop_back(), wanted.pop_back();
    const std::size_t count = points.size();
    if (count < 2) return {};
    if (!line.closed) wanted.back() = false;
    if (std::find(wanted.begin(), wanted.end(), false) == wanted.end()) return {{points, true, {}, {}}};

    std::vector<DrawnRun> runs;
    for (std::size_t first = 0; first < count; ++first) {
        const std::size_t before = (first + count - 1) % count;
        if (!wanted[first] || wanted[before]) continue;
        DrawnRun run;
        if (line.closed || first > 0) run.before = points[before];
        std::size_t k = first;
        for (; wanted[k]; k = (k + 1) % count) run.points.push_back(points[k]);
        run.points.push_back(points[k]);
        if (line.closed || k + 1 < count) run.after = points[(k + 1) % count];
        runs.push_back(std::move(run));
    }
    return runs;
}

DrawnRun turned_round(DrawnRun run) {
    std::reverse(run.points.begin(), run.points.end());
    std::swap(run.before, run.after);
    return run;
}

std::vector<LevelLine> level_to_left(const DrawnRun& run, std::span<const Segment> drawing,
                                     double distance_m) {
    GrowingLines lines(drawing, distance_m);
    const std::size_t count = run.points.size(), pieces = run.closed ? count : count - 1;
    const auto point = [&](std::size_t k) { return run.points[k % count]; };
    if (run.before) {
        const double turn = right_turn(*run.before, point(0), point(1));
        const Point2 normal = left_of(direction_of(*run.before, point(0)));
        if (turn > 0) lines.add({point(0), turned_right(normal, turn / 2), turn / 2, distance_m});
    }
    for (std::size_t k = 0; k < pieces; ++k) {
        const Point2 normal = left_of(direction_of(point(k), point(k + 1)));
        lines.add(point(k) + distance_m * normal, point(k + 1) + distance_m * normal);
        const bool last = k + 1 == pieces && !run.closed;
        if (last && !run.after) break;
        const double turn = right_turn(point(k), point(k + 1), last ? *run.after : point(k + 2));
        if (turn > 0) lines.add({point(k + 1), normal, last ? turn / 2 : turn, distance_m});
    }
    return lines.take(run.closed);
}

std::vector<LevelLine> parts_clear_of(const LevelLine& line, std::span<const Segment> drawing,
                                      double distance_m) {
    if (distance_m <= 0) return {line};
    GrowingLines lines(drawing, distance_m);
    const std::size_t count = line.points.size();
    for (std::size_t k = 0; k + (line.closed ? 0 : 1) < count; ++k)
        lines.add(line.points[k], line.points[(k + 1) % count]);
    return lines.take(line.closed);
}

} // namespace sparecoat::tool
