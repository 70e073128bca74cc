#pragma once
#include "panel/distance.hpp"
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::tool {

/// Points one after the other; a closed line does not repeat its first.
struct LevelLine {
    std::vector<Point2> points;
    bool closed = false;
};

/// A stretch of a drawing, and the points it goes on to at either end: nothing where it ends there.
struct DrawnRun {
    std::vector<Point2> points;
    bool closed = false;
    std::optional<Point2> before, after;
};

/// The stretches of a line whose pieces have a name, in order; points on one spot are one point.
/// @param names of the line's `edge` numbers.
std::vector<DrawnRun> runs_with_name(const Polyline& line, const std::vector<std::string>& names,
                                     const std::string& name);

/// A run drawn the other way, so that its right is its left.
DrawnRun turned_round(DrawnRun run);

/// The level set of the distance to a drawing, so far as a run of it is the nearest part and lies to the
/// right of it: straight pieces beside straight ones, and round a corner that turns away an arc, of which a
/// run that goes on under another name has the half on its own side. Round a free end there is nothing.
/// Exact, but for arcs drawn with straight pieces that touch them from outside, by 0.02 mm at the most: no
/// point is nearer to the drawing than asked for (by more than 1e-9 m).
/// @param drawing the run's own pieces, and all others that could be nearer. @param distance_m over 0.
std::vector<LevelLine> level_to_left(const DrawnRun& run, std::span<const Segment> drawing,
                                     double distance_m);

/// The parts of a line that lie no nearer to a drawing than a distance; all of it where that is 0.
std::vector<LevelLine> parts_clear_of(const LevelLine& line, std::span<const Segment> drawing,
                                      double distance_m);

} // namespace sparecoat::tool
