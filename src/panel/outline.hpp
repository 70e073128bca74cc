#pragma once
#include "panel/distance.hpp"
#include "panel/shape.hpp"
#include <string>
#include <vector>

namespace sparecoat::panel {

/// Where a panel ends: outer loop first (counter-clockwise), then holes (clockwise), so that the
/// painted side is always on the left.
struct Outline {
    std::vector<Polyline> loops;
    std::vector<std::string> edge_names;
};

/// Area within a closed polyline (m²), positive when it runs counter-clockwise.
double signed_area_m2(std::span<const Point2> loop);

/// Chord error (m) to which a corner's arc is drawn with straight pieces.
inline constexpr double arc_chord_error_m = 0.02e-3;

/// Rounds a loop's corners into a counter-clockwise closed polyline. `edge[k]` holds the number of the
/// corner (as given) whose side piece k belongs to; an arc is shared half and half by its two sides.
/// @param place JSON pointer of the loop, for messages.
/// @throws InputError: under three corners, corners on one spot, a side doubling back, a radius that
/// does not fit its sides.
Polyline round_corners(const Loop& loop, const std::string& file, const std::string& place);

/// Outline and holes of a panel drawing with their edge names.
/// @throws InputError: as round_corners; loops crossing; a hole outside the panel or in another hole.
Outline outline_of(const Features& features, const std::string& file);

/// Orders loops found in a mesh or a height map (painted side on the left): the large one is the
/// outline, the others holes by falling area ("outline", "hole 1", "hole 2"). Specks and seams too
/// small to matter on any grid are left out.
/// @throws InputError (file): no loop of any size, or several separate sheets.
Outline outline_from_loops(std::vector<std::vector<Point2>> loops, const std::string& file);

/// @throws InputError: panel larger than 4 x 4 m or smaller than 20 mm.
void check_size(const Outline& outline, const std::string& file, const std::string& place);

/// A grid with cell faces on the low sides of the outline's bounding box and three cells of margin.
Grid grid_around(const Outline& outline, double spacing_m);

} // namespace sparecoat::panel
