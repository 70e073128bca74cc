#pragma once
#include "view/run/live_run.hpp"
#include <algorithm>
#include <cstddef>

namespace sparecoat::view {

/// Rows of a tile that lie on the grid, as (first flat index, count).
template <class Visit> void for_each_row(const Grid& grid, Tile tile, Visit visit) {
    const int i0 = tile.i * Tile::side, j0 = tile.j * Tile::side;
    const int count = std::min(Tile::side, grid.nu - i0);
    for (int j = j0; j < std::min(j0 + Tile::side, grid.nv); ++j)
        visit(grid.index(i0, j), static_cast<std::size_t>(count));
}

} // namespace sparecoat::view
