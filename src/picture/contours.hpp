#pragma once
#include "panel/panel.hpp"
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::picture {

/// One line of equal value. The higher side lies to its left, so a loop round a peak runs
/// counter-clockwise. Closed lines do not repeat their first point.
struct Contour {
    double level = 0;
    std::vector<Point2> points; ///< m
    bool closed = false;
};

/// Lines of equal value by marching squares over the squares between four cell centres, values linear
/// along each side; a saddle is joined across its middle when the mean of its corners reaches the
/// level. A square with a corner outside the mask or not finite is left out, so a line ends there.
/// Same input, same lines in the same order: levels as given, open lines before closed ones, each
/// set by the first cell it touches.
/// @param field one value a cell, @param inside 1 where the value counts; both grid.cells() long.
/// @throws std::invalid_argument where they are not.
std::vector<Contour> trace_contours(const Grid& grid, std::span<const float> field,
                                    std::span<const std::uint8_t> inside, std::span<const double> levels);

} // namespace sparecoat::picture
