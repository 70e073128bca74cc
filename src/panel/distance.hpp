#pragma once
#include "panel/panel.hpp"
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::panel {

/// A straight piece of a drawing; `label` is whatever its owner wants back (an edge, a crest).
struct Segment {
    Point2 a, b;
    int label = 0;
};

/// Nearest point of a segment to p: its distance (m) and its place along it (0 at a, 1 at b).
struct Nearest {
    double distance_m = 0, along = 0;
};
Nearest nearest_on(const Segment& segment, Point2 p);

/// The pieces of a set of lines, labelled with their edge. Closed lines get their closing piece.
std::vector<Segment> segments_of(const std::vector<Polyline>& lines);

/// Unsigned distance (m) of every cell's centre to the nearest segment, and which one that is
/// (the first, where several are equally near).
struct DistanceField {
    std::vector<float> distance_m;
    std::vector<int> segment; ///< index into the segments given
};

/// Exact distances by branch and bound: a block of cells keeps only the segments that can be nearest
/// to any of its cells, and hands them to its quarters. @param segments at least one.
DistanceField distance_to(const Grid& grid, std::span<const Segment> segments);

/// 1 where a cell's centre lies inside closed loops (even-odd rule, so holes count as outside).
std::vector<std::uint8_t> cells_inside(const Grid& grid, std::span<const Segment> closed_loops);

/// Even-odd rule for one point.
bool point_inside(std::span<const Segment> closed_loops, Point2 p);

struct PointBox {
    Point2 low, high;
    double width() const { return high.x - low.x; }
    double height() const { return high.y - low.y; }
};
PointBox box_of(std::span<const Point2> points);

/// The part of a grid whose cell centres lie in a box: a grid of its own, with its place in the whole.
struct GridWindow {
    Grid grid;
    int i0 = 0, j0 = 0;
};
GridWindow window_of(const Grid& grid, PointBox box);

} // namespace sparecoat::panel
