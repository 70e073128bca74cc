#pragma once
#include "panel/panel.hpp"
#include "sim/simulate.hpp"
#include <vector>

namespace sparecoat::decide {

/// Whether a cell of the panel lost film.
bool worked(const Panel& panel, const Fields& fields, std::size_t cell);

/// The cells that count as open panel: see OpenPanel.
struct OpenCells {
    std::vector<std::size_t> cells; ///< rising
    double clearance_m =
        0; ///< from every edge and crest; what was asked for, or half of it, or half of that ...
};

/// @param clear_of_m a pad's radius. @throws std::invalid_argument if nothing was removed anywhere.
OpenCells open_cells(const Panel& panel, const Fields& fields, double clear_of_m);

} // namespace sparecoat::decide
