#include "panel/reading_spots.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::panel {
namespace {

/// Ground of a row of spots over that of the panel's widest.
constexpr double least_row = 0.4;

/// Of every row of cells those that are so far from edges and lines.
std::vector<std::vector<int>> ground_by_height(const Panel& panel, double share) {
    const Grid& grid = panel.grid;
    const auto off_edges = static_cast<float>(share * spot_off_edges_m),
               off_lines = static_cast<float>(share * spot_off_lines_m);
    std::vector<std::vector<int>> rows(static_cast<std::size_t>(grid.nv));
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i) {
            const std::size_t k = grid.index(i, j);
            if (panel.inside[k] && panel.edge_distance_m[k] >= off_edges &&
                panel.crest_distance_m[k] >= off_lines)
                rows[static_cast<std::size_t>(j)].push_back(i);
        }
    return rows;
}

/// The nth of `parts` of `count` things, from the middle of its part.
std::size_t middle_of_part(int nth, int parts, std::size_t count) {
    return static_cast<std::size_t>((nth + 0.5) / parts * static_cast<double>(count));
}

double whole_mm(double metres) { return std::round(metres / mm) * mm; }

} // namespace

std::size_t SpotPattern::walked(std::size_t nth) const {
    const auto across = static_cast<std::size_t>(columns);
    const std::size_t row = nth / across, column = nth % across;
    return row * across + (row % 2 == 0 ? column : across - 1 - column);
}

SpotPattern reading_spots(const Panel& panel, int rows, int columns) {
    const auto counted = [&] { return fmt::format("{} x {}", rows, columns); };
    if (rows < 1 || columns < 1 || rows > most_spot_rows || columns > most_spot_rows)
        throw InputError("", "pattern", counted(),
                         fmt::format("rows x columns, 1 to {} of each, such as 3 x 4", most_spot_rows));
    const Grid& grid = panel.grid;
    for (double share = 1; share > 0.1; share /= 2) { // a narrow panel is read nearer to its edges
        const std::vector<std::vector<int>> ground = ground_by_height(panel, share);
        std::size_t widest = 0;
        for (const std::vector<int>& row : ground) widest = std::max(widest, row.size());
        std::vector<int> heights; // what is left beside a window is too narrow for a row
        for (int j = grid.nv - 1; j >= 0; --j) {
            const std::size_t room = ground[static_cast<std::size_t>(j)].size();
            if (room >= 2 * static_cast<std::size_t>(columns) &&
                room >= static_cast<std::size_t>(least_row * static_cast<double>(widest)))
                heights.push_back(j);
        }
        if (heights.size() < 2 * static_cast<std::size_t>(rows)) continue;
        SpotPattern out{rows, columns, {}};
        for (int r = 0; r < rows; ++r) {
            const int j = heights[middle_of_part(r, rows, heights.size())];
            const std::vector<int>& row = ground[static_cast<std::size_t>(j)];
            for (int c = 0; c < columns; ++c)
                out.spots.push_back(
                    {whole_mm(grid.x(row[middle_of_part(c, columns, row.size())])), whole_mm(grid.y(j))});
        }
        return out;
    }
    throw InputError("", "pattern", counted() + " spots, for which the panel has no room",
                     "fewer rows or columns");
}

} // namespace sparecoat::panel
