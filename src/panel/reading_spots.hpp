#pragma once
#include "panel/panel.hpp"
#include <cstddef>
#include <vector>

namespace sparecoat::panel {

/// Where a film gauge is put down: rows over a panel, the top one first, each from left to right.
struct SpotPattern {
    int rows = 0, columns = 0;
    std::vector<Point2> spots; ///< rows * columns

    /// The spot that is the nth to be walked to: there along one row, back along the next.
    std::size_t walked(std::size_t nth) const;
    /// Its inverse: when a spot has its turn.
    std::size_t turn_of(std::size_t spot) const {
        return walked(spot);
    } // a row turned round twice is as it was
};

/// How far from edges, and from body lines, a probe is put down where there is room (from memory): film draws
/// back there, and a probe wants flat ground.
inline constexpr double spot_off_edges_m = 0.03, spot_off_lines_m = 0.012;
inline constexpr int most_spot_rows = 30;

/// Spreads spots over the painted ground: rows evenly over the heights that have room, spots evenly over what
/// of a row is ground, window cut-outs left out. Spots are on the grid's cells, to the whole millimetre.
/// @param rows, columns 1 to most_spot_rows. @throws InputError ("pattern"): other numbers, or no room for as
/// many.
SpotPattern reading_spots(const Panel& panel, int rows, int columns);

} // namespace sparecoat::panel
