#pragma once
#include "finish/defects.hpp"
#include "panel/panel.hpp"
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::finish {

/// 1 at the panel's cells whose centre lies in a polygon; all of the panel's where the polygon is empty.
std::vector<std::uint8_t> cells_of_region(const Panel& panel, const std::vector<Point2>& region);

/// One population over a piece of panel.
struct PopulationCleared {
    MarkKind kind = MarkKind::swirls;
    double before_m2 = 0, left_m2 = 0; ///< visible area
    double share() const { return before_m2 > 0 ? 1 - left_m2 / before_m2 : 1; }
};

/// What polishing cleared on a piece of panel, and what it cannot.
struct Clearing {
    std::vector<PopulationCleared> populations; ///< the clearable ones, in the order given
    double area_m2 = 0;                         ///< of the piece
    double before_m2 = 0, left_m2 = 0;
    double chips = 0;             ///< stone chips expected on it, for touch-up
    double struck_through_m2 = 0; ///< where no clear coat is left: for repair, and nothing cleared
    double share() const { return before_m2 > 0 ? 1 - left_m2 / before_m2 : 1; }
};

/// Clearing over a section, or over the whole panel where `section` is empty. @param removed_um what each
/// cell lost since the marks were made. @throws std::invalid_argument for another number of values than the
/// panel has cells.
Clearing clearing(const Panel& panel, std::span<const MarkPopulation> marks,
                  std::span<const float> removed_um, const std::vector<Point2>& section = {});

/// Share cleared per cell, 0 where struck through; NaN off the panel and where nothing was to be seen before.
/// @throws as above.
std::vector<float> share_cleared_by_cell(const Panel& panel, std::span<const MarkPopulation> marks,
                                         std::span<const float> removed_um);

} // namespace sparecoat::finish
