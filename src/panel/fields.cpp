#include "panel/fields.hpp"
#include "panel/panel.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::panel {

std::size_t nearest_cell(const Grid& grid, Point2 p) {
    const auto along = [&](double from_first_m, int cells) {
        return static_cast<int>(
            std::lround(std::clamp(from_first_m / grid.h_m, 0.0, static_cast<double>(cells - 1))));
    };
    return grid.index(along(p.x - grid.x0_m, grid.nu), along(p.y - grid.y0_m, grid.nv));
}

double Panel::area_m2() const {
    std::size_t count = 0;
    for (std::uint8_t cell : inside) count += cell;
    return static_cast<double>(count) * grid.h_m * grid.h_m;
}

std::vector<float> laplacian_of_height(const Grid& grid, const std::vector<float>& height_m,
                                       const std::vector<std::uint8_t>& inside) {
    return laplacian(grid, std::span<const float>(height_m), inside);
}

std::vector<float> edge_length_per_cell(const Panel& panel) {
    const Grid& grid = panel.grid;
    std::vector<float> length_m(grid.cells(), 0.0f);
    const auto distance = [&](int i, int j) -> double { return panel.edge_distance_m[grid.index(i, j)]; };
    const auto exposed = [&](int i, int j) {
        return i < 0 || i >= grid.nu || j < 0 || j >= grid.nv || !panel.inside[grid.index(i, j)];
    };
    // An edge with unit normal n crosses |n_u| / h faces across u and |n_v| / h across v per metre of
    // its length, so faces weighted h |n_axis| add up to n_u² + n_v² = 1 metre.
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i) {
            if (!panel.inside[grid.index(i, j)]) continue;
            const int across_u = exposed(i - 1, j) + exposed(i + 1, j);
            const int across_v = exposed(i, j - 1) + exposed(i, j + 1);
            if (across_u + across_v == 0) continue;
            const int west = std::max(i - 1, 0), east = std::min(i + 1, grid.nu - 1);
            const int south = std::max(j - 1, 0), north = std::min(j + 1, grid.nv - 1);
            const double du = (distance(east, j) - distance(west, j)) / std::max(east - west, 1);
            const double dv = (distance(i, north) - distance(i, south)) / std::max(north - south, 1);
            const double size = std::hypot(du, dv);
            // a neck one cell wide has no slope of distance across it: its faces count in full
            const double along_u = size > 0 ? std::abs(du) / size : 1,
                         along_v = size > 0 ? std::abs(dv) / size : 1;
            length_m[grid.index(i, j)] =
                static_cast<float>(grid.h_m * (across_u * along_u + across_v * along_v));
        }
    return length_m;
}

} // namespace sparecoat::panel
