#include "panel/sources.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::panel {
namespace {

/// 0 to 1 with no slope and no curvature at either end.
double smooth_step(double x) {
    x = std::clamp(x, 0.0, 1.0);
    return x * x * x * (10 + x * (-15 + 6 * x));
}

PointBox grown(PointBox box, double by) { return {box.low - Point2{by, by}, box.high + Point2{by, by}}; }

template <class Visit> // visit(cell of the whole grid, cell of the window)
void for_each_cell(const Grid& grid, const GridWindow& window, Visit visit) {
    for (int j = 0; j < window.grid.nv; ++j)
        for (int i = 0; i < window.grid.nu; ++i)
            visit(grid.index(window.i0 + i, window.j0 + j), window.grid.index(i, j));
}

void require(bool good, const std::string& file, const std::string& place, const std::string& found,
             const std::string& allowed) {
    if (!good) throw InputError(file, place, found, allowed);
}

std::string millimetres(double length_m) { return fmt::format("{:.4g} mm", length_m / mm); }

// ---- crown

/// A paraboloid about the middle of the panel's bounding box: -u²/2Ru - v²/2Rv.
void add_crown(std::vector<double>& height_m, const Features& features, const Outline& outline,
               const Grid& grid) {
    const auto curvature = [](double radius_m) { return radius_m == 0 ? 0 : 1 / radius_m; };
    const double bend_u = curvature(features.radius_u_m) / 2, bend_v = curvature(features.radius_v_m) / 2;
    if (bend_u == 0 && bend_v == 0) return;
    const PointBox box = box_of(outline.loops.front().points);
    const Point2 middle = 0.5 * (box.low + box.high);
    for (std::size_t k = 0; k < height_m.size(); ++k) {
        const Point2 p = grid.centre(k) - middle;
        height_m[k] -= bend_u * p.x * p.x + bend_v * p.y * p.y;
    }
}

void check_crown(const Features& features, const std::string& file) {
    constexpr double tightest_m = 0.05;
    for (auto [radius, place] :
         {std::pair{features.radius_u_m, "/crown/u"}, {features.radius_v_m, "/crown/v"}})
        require(radius == 0 || std::abs(radius) >= tightest_m, file, place,
                "a radius of " + millimetres(radius), "50 mm or more either way, or 0 for flat");
}

// ---- body lines

/// Cross-section of a pressed crest against the distance s from its line, in three pieces that meet
/// without a kink: a parabola of the crest's radius R over |s| < R m, a straight flank of slope m, and
/// a parabolic foot over the outer half of the flank width f that runs out flat. The drop adds up to
///   m (3f/4) - R m²/2 = height,
/// which gives m; the slope changes by 2 m across the crest however small R is.
class RoofProfile {
public:
    explicit RoofProfile(const BodyLine& line)
        : radius_(line.crest_radius_m), flank_(line.flank_m), height_(line.height_m),
          foot_(line.flank_m / 2) {
        const double reach = flank_ - foot_ / 2;
        // the smaller root of the drop's equation, in the form that stays exact as R goes to 0
        slope_ = 2 * height_ / (reach + std::sqrt(reach * reach - 2 * radius_ * height_));
        crest_ = radius_ * slope_;
    }

    double operator()(double s) const {
        if (s >= flank_) return 0;
        if (s > flank_ - foot_) return slope_ * (flank_ - s) * (flank_ - s) / (2 * foot_);
        if (s >= crest_) return slope_ * (flank_ - foot_ / 2 - s);
        return height_ - s * s / (2 * radius_);
    }

private:
    double radius_, flank_, height_, foot_;
    double slope_ = 0, crest_ = 0;
};

void check_body_line(const BodyLine& line, const std::string& file, const std::string& place) {
    require(line.points.size() >= 2, file, place + "/points", fmt::format("{} points", line.points.size()),
            "2 or more points");
    double length = 0;
    for (std::size_t k = 1; k < line.points.size(); ++k) {
        const double piece = norm(line.points[k] - line.points[k - 1]);
        require(std::isfinite(piece) && piece > 1e-6, file, fmt::format("{}/points/{}", place, k),
                "a point on the same spot as the one before it, or no number",
                "points apart from each other");
        length += piece;
    }
    require(line.height_m > 0 && line.height_m <= 0.1, file, place + "/height", millimetres(line.height_m),
            "over 0 and up to 100 mm");
    require(line.flank_m >= 0.002 && line.flank_m <= 1, file, place + "/flank", millimetres(line.flank_m),
            "2 mm to 1 m");
    const double widest = line.flank_m * line.flank_m / (4 * line.height_m);
    require(line.crest_radius_m >= 0 && line.crest_radius_m <= widest, file, place + "/crest_radius",
            millimetres(line.crest_radius_m),
            "0 mm to flank² / (4 height) = " + millimetres(widest) +
                ", so that the rounding fits the flanks");
    require(line.end_fade_m >= 0 && line.end_fade_m <= length / 2, file, place + "/end_fade",
            millimetres(line.end_fade_m), "0 mm to half the line's length = " + millimetres(length / 2));
}

void add_body_line(std::vector<double>& height_m, const BodyLine& line, const Grid& grid) {
    const GridWindow window = window_of(grid, grown(box_of(line.points), line.flank_m));
    if (window.grid.cells() == 0) return;
    std::vector<Segment> pieces;
    std::vector<double> start_m{0}; // length of line before each piece
    for (std::size_t k = 0; k + 1 < line.points.size(); ++k) {
        pieces.push_back({line.points[k], line.points[k + 1], 0});
        start_m.push_back(start_m.back() + norm(line.points[k + 1] - line.points[k]));
    }
    const double length = start_m.back();
    const auto fade = [&](double along_m) {
        if (line.end_fade_m == 0) return 1.0;
        return smooth_step(along_m / line.end_fade_m) * smooth_step((length - along_m) / line.end_fade_m);
    };
    const RoofProfile roof(line);
    const DistanceField field = distance_to(window.grid, pieces);
    for_each_cell(grid, window, [&](std::size_t k, std::size_t in_window) {
        const auto piece = static_cast<std::size_t>(field.segment[in_window]);
        const Nearest nearest = nearest_on(pieces[piece], window.grid.centre(in_window));
        if (nearest.distance_m >= line.flank_m) return;
        const double along = start_m[piece] + nearest.along * (start_m[piece + 1] - start_m[piece]);
        height_m[k] += roof(nearest.distance_m) * fade(along);
    });
}

// ---- recesses

Polyline rim_of(const Recess& recess, const std::string& file, const std::string& place) {
    return round_corners(recess.loop, file, place + "/corners");
}

void add_recess(std::vector<double>& height_m, const Recess& recess, const Grid& grid,
                const std::string& file, const std::string& place) {
    require(recess.depth_m > 0 && recess.depth_m <= 0.2, file, place + "/depth", millimetres(recess.depth_m),
            "over 0 and up to 200 mm");
    require(recess.wall_m > 0 && recess.wall_m <= 0.5, file, place + "/wall", millimetres(recess.wall_m),
            "over 0 and up to 500 mm");
    const Polyline rim = rim_of(recess, file, place);
    const GridWindow window = window_of(grid, box_of(rim.points));
    if (window.grid.cells() == 0) return;
    const std::vector<Segment> pieces = segments_of({rim});
    const DistanceField field = distance_to(window.grid, pieces);
    const std::vector<std::uint8_t> within = cells_inside(window.grid, pieces);
    for_each_cell(grid, window, [&](std::size_t k, std::size_t in_window) {
        if (within[in_window])
            height_m[k] -= recess.depth_m * smooth_step(field.distance_m[in_window] / recess.wall_m);
    });
}

// ---- rolled edges

/// How far the sheet has fallen at distance d from a rolled edge: a circular arc from d = R on, which
/// ends when it has turned through its angle; from there a straight run at that slope.
double roll_drop(const RolledEdge& roll, double d) {
    const double past = roll.radius_m - d;
    if (past <= 0) return 0;
    const double arc = roll.radius_m * std::sin(roll.turn_rad);
    if (past <= arc) return roll.radius_m - std::sqrt(roll.radius_m * roll.radius_m - past * past);
    return roll.radius_m * (1 - std::cos(roll.turn_rad)) + (past - arc) * std::tan(roll.turn_rad);
}

int edge_number(const RolledEdge& roll, const Outline& outline, const std::string& file,
                const std::string& place) {
    require(roll.radius_m > 0 && roll.radius_m <= 0.5, file, place + "/radius", millimetres(roll.radius_m),
            "over 0 and up to 500 mm");
    constexpr double steepest = 80 * deg;
    require(roll.turn_rad > 0 && roll.turn_rad <= steepest + 1e-9, file, place + "/turn",
            fmt::format("{:.4g} deg", roll.turn_rad / deg), "over 0 and up to 80 deg");
    const auto at = std::find(outline.edge_names.begin(), outline.edge_names.end(), roll.edge);
    require(at != outline.edge_names.end(), file, place + "/edge", fmt::format("\"{}\"", roll.edge),
            fmt::format("an edge of the outline or a hole: {}", fmt::join(outline.edge_names, ", ")));
    return static_cast<int>(at - outline.edge_names.begin());
}

/// Edges that roll alike are one roll, so that it runs on round the corner between them; different
/// rolls that meet at a corner both fall.
struct Roll {
    RolledEdge shape;
    std::vector<int> edges;
};

std::vector<Roll> rolls_of(const Features& features, const Outline& outline, const std::string& file) {
    std::vector<Roll> rolls;
    for (std::size_t k = 0; k < features.rolled_edges.size(); ++k) {
        const RolledEdge& edge = features.rolled_edges[k];
        const int number = edge_number(edge, outline, file, fmt::format("/rolled_edges/{}", k));
        const auto alike = std::find_if(rolls.begin(), rolls.end(), [&](const Roll& r) {
            return r.shape.radius_m == edge.radius_m && r.shape.turn_rad == edge.turn_rad;
        });
        if (alike != rolls.end()) alike->edges.push_back(number);
        else rolls.push_back({edge, {number}});
    }
    return rolls;
}

/// Runs of consecutive pieces of one edge along a loop, as open polylines (closed if it is the whole loop).
std::vector<Polyline> runs_of(const Polyline& loop, int edge) {
    const std::size_t n = loop.points.size();
    std::size_t start = 0; // begin where a run begins, so that none is cut in two by the loop's first point
    while (start < n && !(loop.edge[start] == edge && loop.edge[(start + n - 1) % n] != edge)) ++start;
    if (start == n) return loop.edge.front() == edge ? std::vector{loop} : std::vector<Polyline>{};
    std::vector<Polyline> runs;
    bool open = false;
    for (std::size_t step = 0; step < n; ++step) {
        const std::size_t k = (start + step) % n;
        if (loop.edge[k] == edge) {
            if (!open) runs.push_back({{loop.points[k]}, {edge}, false});
            runs.back().points.push_back(loop.points[(k + 1) % n]);
            runs.back().edge.push_back(edge);
        }
        open = loop.edge[k] == edge;
    }
    return runs;
}

/// The pieces a roll runs along. An end is carried straight on off the panel, because a sheet goes on
/// rolling to its very end: without it the nearest spot there would be the end itself, and the roll
/// would close round it like a funnel.
std::vector<Segment> rolling_segments(const Roll& roll, const Outline& outline) {
    const std::vector<Segment> panel = segments_of(outline.loops);
    std::vector<Segment> pieces;
    const auto carry_on = [&](Point2 from, Point2 end) {
        const Point2 beyond = end + roll.shape.radius_m / norm(end - from) * (end - from);
        if (!point_inside(panel, 0.5 * (end + beyond))) pieces.push_back({end, beyond, 0});
    };
    for (int edge : roll.edges)
        for (const Polyline& loop : outline.loops)
            for (const Polyline& run : runs_of(loop, edge)) {
                const std::vector<Segment> along = segments_of({run});
                pieces.insert(pieces.end(), along.begin(), along.end());
                if (run.closed) continue;
                carry_on(along.front().b, along.front().a);
                carry_on(along.back().a, along.back().b);
            }
    return pieces;
}

void add_roll(std::vector<double>& height_m, const Roll& roll, const Outline& outline, const Grid& grid) {
    const DistanceField field = distance_to(grid, rolling_segments(roll, outline));
    for (std::size_t k = 0; k < height_m.size(); ++k)
        height_m[k] -= roll_drop(roll.shape, field.distance_m[k]);
}

/// The line at a given distance to the left (the painted side) of a run; spots that a tight inner
/// corner brings nearer than that are left out.
Polyline parallel_to(const Polyline& run, double inset_m) {
    const std::vector<Segment> pieces = segments_of({run});
    const auto left = [](const Segment& s) {
        const Point2 along = (1 / norm(s.b - s.a)) * (s.b - s.a);
        return Point2{-along.y, along.x};
    };
    Polyline line{{}, {}, run.closed};
    const std::size_t n = pieces.size();
    for (std::size_t k = 0; k < run.points.size(); ++k) {
        const Point2 before = left(pieces[run.closed ? (k + n - 1) % n : std::max<std::size_t>(k, 1) - 1]);
        const Point2 after = left(pieces[std::min(k, n - 1)]);
        const Point2 both = before + after;
        const double mitre = 2 / std::max(dot(both, both), 0.5); // capped at sharp spikes
        const Point2 p = run.points[k] + inset_m * mitre * both;
        double nearest = inset_m;
        for (const Segment& s : pieces) nearest = std::min(nearest, nearest_on(s, p).distance_m);
        if (nearest >= 0.999 * inset_m) line.points.push_back(p);
    }
    line.edge.assign(line.points.size(), 0);
    return line;
}

/// A roll tighter than this thins the film as a crest does (common practice, no source).
constexpr double sharp_roll_m = 0.015;

/// The crest of a sharp roll runs along the middle of its arc.
void add_roll_crests(FeatureShape& shape, const Roll& roll, const Outline& outline) {
    if (roll.shape.radius_m >= sharp_roll_m) return;
    const double inset = roll.shape.radius_m * (1 - std::sin(roll.shape.turn_rad) / 2);
    for (int edge : roll.edges) {
        const int number = static_cast<int>(shape.crest_names.size());
        shape.crest_names.push_back(outline.edge_names[static_cast<std::size_t>(edge)] + " roll");
        for (const Polyline& loop : outline.loops)
            for (const Polyline& run : runs_of(loop, edge)) {
                Polyline crest = parallel_to(run, inset);
                if (crest.points.size() < 2) continue;
                crest.edge.assign(crest.points.size(), number);
                shape.crests.push_back(std::move(crest));
            }
    }
}

void add_line_crest(FeatureShape& shape, const BodyLine& line, std::size_t count) {
    const int number = static_cast<int>(shape.crest_names.size());
    shape.crest_names.push_back(line.name.empty() ? fmt::format("body line {}", count) : line.name);
    shape.crests.push_back({line.points, std::vector<int>(line.points.size(), number), false});
}

/// The rim of a recess is a crest where its wall turns down as tightly as a sharp roll: smooth_step's
/// greatest second derivative is 10 / sqrt(3) of depth over wall squared.
void add_rim_crest(FeatureShape& shape, const Recess& recess, Polyline rim, std::size_t count) {
    const double radius = recess.wall_m * recess.wall_m / (10 / std::sqrt(3.0) * recess.depth_m);
    if (radius >= sharp_roll_m) return;
    const int number = static_cast<int>(shape.crest_names.size());
    shape.crest_names.push_back((recess.name.empty() ? fmt::format("recess {}", count) : recess.name) +
                                " rim");
    rim.edge.assign(rim.points.size(), number);
    shape.crests.push_back(std::move(rim));
}

} // namespace

FeatureShape shape_features(const Features& features, const Outline& outline, const Grid& grid,
                            const std::string& file) {
    FeatureShape shape;
    shape.height_m.assign(grid.cells(), 0.0);
    check_crown(features, file);
    add_crown(shape.height_m, features, outline, grid);
    for (std::size_t k = 0; k < features.body_lines.size(); ++k) {
        check_body_line(features.body_lines[k], file, fmt::format("/body_lines/{}", k));
        add_body_line(shape.height_m, features.body_lines[k], grid);
        add_line_crest(shape, features.body_lines[k], k + 1);
    }
    for (std::size_t k = 0; k < features.recesses.size(); ++k) {
        const std::string place = fmt::format("/recesses/{}", k);
        add_recess(shape.height_m, features.recesses[k], grid, file, place);
        add_rim_crest(shape, features.recesses[k], rim_of(features.recesses[k], file, place), k + 1);
    }
    for (const Roll& roll : rolls_of(features, outline, file)) {
        add_roll(shape.height_m, roll, outline, grid);
        add_roll_crests(shape, roll, outline);
    }
    return shape;
}

} // namespace sparecoat::panel
