#include "panel/outline.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <optional>

namespace sparecoat::panel {
namespace {

constexpr double touching_m = 1e-6; ///< loops nearer than this to each other are taken as crossing

double cross(Point2 a, Point2 b) { return a.x * b.y - a.y * b.x; }
Point2 unit(Point2 a) { return (1 / norm(a)) * a; }
std::string in_mm(Point2 p) { return fmt::format("({:.1f}, {:.1f}) mm", p.x / mm, p.y / mm); }

std::size_t before(std::size_t k, std::size_t n) { return (k + n - 1) % n; }
std::size_t after(std::size_t k, std::size_t n) { return (k + 1) % n; }

/// Adds a point that starts a piece of the given side; a point on top of the last one only renames
/// the piece, because a piece without length has no direction.
void add_point(Polyline& line, Point2 p, int side) {
    constexpr double same_m = 1e-9;
    if (!line.points.empty() && norm(p - line.points.back()) < same_m) {
        line.edge.back() = side;
        return;
    }
    line.points.push_back(p);
    line.edge.push_back(side);
}

/// Turn of the drawing at a corner and the length its arc takes off both sides.
struct CornerTurn {
    double turn_rad = 0, tangent_m = 0;
};

void check_corners(const Loop& loop, const std::string& file, const std::string& place) {
    if (loop.size() < 3)
        throw InputError(file, place, fmt::format("{} corners", loop.size()), "3 or more corners");
    for (std::size_t k = 0; k < loop.size(); ++k) {
        const Corner& corner = loop[k];
        if (!std::isfinite(corner.at.x) || !std::isfinite(corner.at.y))
            throw InputError(file, fmt::format("{}/{}/at", place, k), "a coordinate that is no number",
                             "finite lengths");
        if (!(corner.radius_m >= 0) || !std::isfinite(corner.radius_m))
            throw InputError(file, fmt::format("{}/{}/radius", place, k),
                             fmt::format("radius {:.1f} mm", corner.radius_m / mm), "0 mm or more");
        if (norm(loop[after(k, loop.size())].at - corner.at) < touching_m)
            throw InputError(file, fmt::format("{}/{}/at", place, after(k, loop.size())),
                             "a corner on the same spot as the one before it: " + in_mm(corner.at),
                             "corners apart from each other");
    }
}

std::vector<CornerTurn> corner_turns(const Loop& loop, const std::string& file, const std::string& place) {
    const std::size_t n = loop.size();
    std::vector<CornerTurn> turns(n);
    for (std::size_t k = 0; k < n; ++k) {
        const Point2 in = unit(loop[k].at - loop[before(k, n)].at),
                     out = unit(loop[after(k, n)].at - loop[k].at);
        const double turn = std::atan2(cross(in, out), dot(in, out));
        constexpr double back_rad = pi - 1e-6;
        if (std::abs(turn) > back_rad)
            throw InputError(file, fmt::format("{}/{}/at", place, k),
                             "a side that doubles back on itself at " + in_mm(loop[k].at), "an open corner");
        turns[k] = {turn, loop[k].radius_m * std::tan(std::abs(turn) / 2)};
    }
    for (std::size_t k = 0; k < n; ++k) {
        const std::size_t next = after(k, n);
        const double side = norm(loop[next].at - loop[k].at),
                     wanted = turns[k].tangent_m + turns[next].tangent_m;
        constexpr double slack_m = 1e-7; // lets two arcs meet exactly in the middle of a side
        if (wanted > side + slack_m)
            throw InputError(
                file,
                fmt::format("{}/{}/radius", place, turns[k].tangent_m > turns[next].tangent_m ? k : next),
                fmt::format("corner radii that take {:.1f} mm of a side {:.1f} mm long", wanted / mm,
                            side / mm),
                "radii whose arcs fit between the corners");
    }
    return turns;
}

/// Draws one corner: its arc, first half to the side before, second half to the side after.
void add_corner(Polyline& line, const Loop& loop, std::size_t k, CornerTurn corner) {
    const std::size_t n = loop.size();
    const int side_before = static_cast<int>(before(k, n)), side_after = static_cast<int>(k);
    const double radius = loop[k].radius_m, angle = std::abs(corner.turn_rad);
    if (corner.tangent_m < touching_m) {
        add_point(line, loop[k].at, side_after);
        return;
    }
    const Point2 in = unit(loop[k].at - loop[before(k, n)].at);
    const Point2 start = loop[k].at - corner.tangent_m * in;
    const double hand = corner.turn_rad > 0 ? 1 : -1;
    const Point2 inward{-hand * in.y, hand * in.x};
    const Point2 centre = start + radius * inward;
    const double step = 2 * std::acos(std::max(0.0, 1 - arc_chord_error_m / radius));
    const int half = static_cast<int>(std::ceil(angle / 2 / step));
    for (int piece = 0; piece <= 2 * half; ++piece) {
        const double turned = angle * piece / (2 * half);
        const Point2 p = centre + radius * (std::sin(turned) * in - std::cos(turned) * inward);
        add_point(line, p, piece < half ? side_before : side_after);
    }
}

void reverse(Polyline& line) {
    std::reverse(line.points.begin(), line.points.end());
    std::reverse(line.edge.begin(), line.edge.end());
    // a piece is named at the point it starts from, which is now its other end
    std::rotate(line.edge.begin(), line.edge.begin() + 1, line.edge.end());
}

/// A spot where two segments cross or touch.
std::optional<Point2> meeting(const Segment& s, const Segment& t) {
    const auto apart = [](double a0, double a1, double b0, double b1) {
        return std::max(a0, a1) + touching_m < std::min(b0, b1) ||
               std::max(b0, b1) + touching_m < std::min(a0, a1);
    };
    if (apart(s.a.x, s.b.x, t.a.x, t.b.x) || apart(s.a.y, s.b.y, t.a.y, t.b.y)) return std::nullopt;
    for (Point2 end : {t.a, t.b})
        if (nearest_on(s, end).distance_m < touching_m) return end;
    for (Point2 end : {s.a, s.b})
        if (nearest_on(t, end).distance_m < touching_m) return end;
    const Point2 ds = s.b - s.a, dt = t.b - t.a;
    const double denominator = cross(ds, dt);
    if (denominator == 0) return std::nullopt;
    const double along_s = cross(t.a - s.a, dt) / denominator, along_t = cross(t.a - s.a, ds) / denominator;
    if (along_s < 0 || along_s > 1 || along_t < 0 || along_t > 1) return std::nullopt;
    return s.a + along_s * ds;
}

/// A rounded loop with its place in the file, before edge numbers become edge names.
struct DrawnLoop {
    Polyline line;
    std::string place; ///< JSON pointer of its corners
    std::vector<Segment> segments;
};

DrawnLoop draw(const Loop& loop, const std::string& file, const std::string& place) {
    DrawnLoop drawn{round_corners(loop, file, place), place, {}};
    drawn.segments = segments_of({drawn.line});
    return drawn;
}

void check_simple(const DrawnLoop& loop, const std::string& file) {
    const std::size_t n = loop.segments.size();
    for (std::size_t a = 0; a < n; ++a)
        for (std::size_t b = a + 2; b < n; ++b) {
            if (a == 0 && b == n - 1) continue; // neighbours across the closing point
            if (const auto spot = meeting(loop.segments[a], loop.segments[b]))
                throw InputError(file, fmt::format("{}/{}", loop.place, loop.segments[b].label),
                                 fmt::format("the side from corner {} crosses the side from corner {} at {}",
                                             loop.segments[b].label + 1, loop.segments[a].label + 1,
                                             in_mm(*spot)),
                                 "a loop that does not cross or touch itself");
        }
}

void check_apart(const DrawnLoop& one, const DrawnLoop& other, const std::string& file) {
    for (const Segment& s : one.segments)
        for (const Segment& t : other.segments)
            if (const auto spot = meeting(s, t))
                throw InputError(file, fmt::format("{}/{}", other.place, t.label),
                                 fmt::format("a side that crosses {} at {}", one.place, in_mm(*spot)),
                                 "loops clear of each other");
}

void check_holes(const DrawnLoop& outer, const std::vector<DrawnLoop>& holes, const std::string& file) {
    for (std::size_t a = 0; a < holes.size(); ++a) {
        check_apart(outer, holes[a], file);
        const Point2 spot = holes[a].line.points.front();
        if (!point_inside(outer.segments, spot))
            throw InputError(file, holes[a].place, "a hole outside the panel, at " + in_mm(spot),
                             "holes inside the outline");
        for (std::size_t b = 0; b < a; ++b) {
            check_apart(holes[b], holes[a], file);
            if (point_inside(holes[b].segments, spot) ||
                point_inside(holes[a].segments, holes[b].line.points.front()))
                throw InputError(file, holes[a].place, "a hole within " + holes[b].place,
                                 "holes beside each other");
        }
    }
}

int number_of(std::vector<std::string>& names, const std::string& name) {
    const auto at = std::find(names.begin(), names.end(), name);
    if (at != names.end()) return static_cast<int>(at - names.begin());
    names.push_back(name);
    return static_cast<int>(names.size()) - 1;
}

/// Turns corner numbers into numbers of edge names; sides of the same name are one edge.
void name_edges(Polyline& line, const Loop& loop, const std::string& prefix,
                std::vector<std::string>& names) {
    std::vector<int> number;
    for (std::size_t k = 0; k < loop.size(); ++k)
        number.push_back(
            number_of(names, loop[k].edge.empty() ? fmt::format("{}edge {}", prefix, k + 1) : loop[k].edge));
    for (int& edge : line.edge) edge = number[static_cast<std::size_t>(edge)];
}

double length_m(std::span<const Point2> loop) {
    double sum = 0;
    for (std::size_t k = 0; k < loop.size(); ++k) sum += norm(loop[after(k, loop.size())] - loop[k]);
    return sum;
}

/// Too small to matter: under a 2 mm square, or a slit no wider than 0.2 mm (a badly stitched seam).
bool negligible(std::span<const Point2> loop) {
    const double area = std::abs(signed_area_m2(loop));
    return area < 4 * mm * mm || area < 0.1 * mm * length_m(loop);
}

} // namespace

double signed_area_m2(std::span<const Point2> loop) {
    double twice = 0;
    if (loop.empty()) return 0;
    const Point2 origin = loop.front(); // keeps the products small
    for (std::size_t k = 0; k < loop.size(); ++k)
        twice += cross(loop[k] - origin, loop[after(k, loop.size())] - origin);
    return twice / 2;
}

Polyline round_corners(const Loop& loop, const std::string& file, const std::string& place) {
    check_corners(loop, file, place);
    const std::vector<CornerTurn> turns = corner_turns(loop, file, place);
    Polyline line;
    for (std::size_t k = 0; k < loop.size(); ++k) add_corner(line, loop, k, turns[k]);
    if (norm(line.points.front() - line.points.back()) < touching_m) {
        line.points.pop_back();
        line.edge.pop_back();
    }
    if (signed_area_m2(line.points) < 0) reverse(line);
    return line;
}

Outline outline_of(const Features& features, const std::string& file) {
    DrawnLoop outer = draw(features.outline, file, "/outline");
    check_simple(outer, file);
    std::vector<DrawnLoop> holes;
    for (std::size_t k = 0; k < features.holes.size(); ++k) {
        holes.push_back(draw(features.holes[k], file, fmt::format("/holes/{}/corners", k)));
        check_simple(holes.back(), file);
    }
    check_holes(outer, holes, file);

    Outline outline;
    name_edges(outer.line, features.outline, "", outline.edge_names);
    outline.loops.push_back(std::move(outer.line));
    for (std::size_t k = 0; k < holes.size(); ++k) {
        name_edges(holes[k].line, features.holes[k], fmt::format("hole {} ", k + 1), outline.edge_names);
        reverse(holes[k].line);
        outline.loops.push_back(std::move(holes[k].line));
    }
    return outline;
}

Outline outline_from_loops(std::vector<std::vector<Point2>> loops, const std::string& file) {
    std::erase_if(loops, [](const auto& loop) { return negligible(loop); });
    std::stable_sort(loops.begin(), loops.end(), [](const auto& a, const auto& b) {
        return std::abs(signed_area_m2(a)) > std::abs(signed_area_m2(b));
    });
    if (loops.empty() || signed_area_m2(loops.front()) <= 0)
        throw InputError(file, "", "no outline that encloses a panel", "one open sheet");
    Outline outline;
    const double panel_area = signed_area_m2(loops.front());
    for (const auto& points : loops) {
        const bool sheet = signed_area_m2(points) > 0;
        if (sheet && !outline.loops.empty()) {
            constexpr double speck = 0.001; // of the panel: loose crumbs are dropped, a second part is not
            if (signed_area_m2(points) < speck * panel_area) continue;
            throw InputError(file, in_mm(points.front()),
                             fmt::format("a second sheet of {:.0f} cm2", signed_area_m2(points) * 1e4),
                             "one sheet; separate panels go in separate files");
        }
        const int number = static_cast<int>(outline.edge_names.size());
        outline.edge_names.push_back(sheet ? "outline" : fmt::format("hole {}", number));
        outline.loops.push_back({points, std::vector<int>(points.size(), number), true});
    }
    return outline;
}

void check_size(const Outline& outline, const std::string& file, const std::string& place) {
    const PointBox box = box_of(outline.loops.front().points);
    constexpr double smallest_m = 0.02, largest_m = 4;
    if (std::min(box.width(), box.height()) < smallest_m || std::max(box.width(), box.height()) > largest_m)
        throw InputError(file, place,
                         fmt::format("a panel of {:.1f} x {:.1f} mm", box.width() / mm, box.height() / mm),
                         "20 mm to 4 m each way");
}

Grid grid_around(const Outline& outline, double spacing_m) {
    constexpr int margin = 3;
    const PointBox box = box_of(outline.loops.front().points);
    const auto cells = [spacing_m](double length) {
        constexpr double rounding = 1e-6; // a panel 300 cells long is not 301 cells by rounding
        return static_cast<int>(std::ceil(length / spacing_m - rounding)) + 2 * margin;
    };
    const double to_first = (0.5 - margin) * spacing_m;
    return {cells(box.width()), cells(box.height()), spacing_m, box.low.x + to_first, box.low.y + to_first};
}

} // namespace sparecoat::panel
