#pragma once
#include "panel/panel.hpp"
#include <span>
#include <vector>

namespace sparecoat::panel {

/// laplacian_of_height for heights of either precision: rounding of a height to float is magnified by
/// 1 / h², so a panel under construction takes its curvature from the heights in double.
template <class Real> std::vector<float> laplacian(const Grid& grid, std::span<const Real> height_m,
                                                   const std::vector<std::uint8_t>& inside) {
    std::vector<float> result(grid.cells(), 0.0f);
    const double per_h2 = 1 / (grid.h_m * grid.h_m);
    const std::size_t row = static_cast<std::size_t>(grid.nu);
    // A straight continuation past a missing neighbour has no second difference along that axis.
    const auto second_difference = [&](std::size_t k, std::size_t stride, bool has_both) {
        if (!has_both || !inside[k - stride] || !inside[k + stride]) return 0.0;
        const double here = static_cast<double>(height_m[k]);
        return (static_cast<double>(height_m[k + stride]) - here) -
               (here - static_cast<double>(height_m[k - stride]));
    };
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i) {
            const std::size_t k = grid.index(i, j);
            if (!inside[k]) continue;
            const double across_u = second_difference(k, 1, i > 0 && i < grid.nu - 1);
            const double across_v = second_difference(k, row, j > 0 && j < grid.nv - 1);
            result[k] = static_cast<float>((across_u + across_v) * per_h2);
        }
    return result;
}

} // namespace sparecoat::panel
