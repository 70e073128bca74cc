#include "finish/clearing.hpp"
#include "panel/distance.hpp"
#include <limits>
#include <stdexcept>

namespace sparecoat::finish {
namespace {

void hold_to_cells(const Panel& panel, std::span<const float> removed_um) {
    if (removed_um.size() != panel.grid.cells())
        throw std::invalid_argument("as many values as the panel has cells");
}

bool struck_through(const Panel& panel, std::span<const float> removed_um, std::size_t cell) {
    return removed_um[cell] > 0 && removed_um[cell] >= panel.clear_um[cell];
}

/// Visible share of the area left at a cell. Where the clear coat is gone what is seen is worse than any
/// mark.
double share_left(const Panel& panel, const MarkPopulation& marks, std::span<const float> removed_um,
                  std::size_t cell) {
    if (struck_through(panel, removed_um, cell)) return visible_share(marks, 0);
    return visible_share(marks, static_cast<double>(removed_um[cell]));
}

} // namespace

std::vector<std::uint8_t> cells_of_region(const Panel& panel, const std::vector<Point2>& region) {
    if (region.empty()) return panel.inside;
    Polyline loop;
    loop.points = region;
    loop.edge.assign(region.size(), 0);
    std::vector<std::uint8_t> cells = cells_inside(panel.grid, segments_of({loop}));
    for (std::size_t k = 0; k < cells.size(); ++k) cells[k] = cells[k] && panel.inside[k] ? 1 : 0;
    return cells;
}

Clearing clearing(const Panel& panel, std::span<const MarkPopulation> marks,
                  std::span<const float> removed_um, const std::vector<Point2>& section) {
    hold_to_cells(panel, removed_um);
    const std::size_t cells = panel.grid.cells();
    const double cell_m2 = panel.grid.h_m * panel.grid.h_m;
    const std::vector<std::uint8_t> piece = cells_of_region(panel, section);
    Clearing result;
    for (std::size_t k = 0; k < cells; ++k) {
        if (!piece[k]) continue;
        result.area_m2 += cell_m2;
        if (struck_through(panel, removed_um, k)) result.struck_through_m2 += cell_m2;
    }
    for (const MarkPopulation& population : marks) {
        const std::vector<std::uint8_t> there = cells_of_region(panel, population.region);
        const double before = visible_share(population, 0);
        std::size_t marked = 0;
        double left = 0;
        for (std::size_t k = 0; k < cells; ++k) {
            if (!piece[k] || !there[k]) continue;
            ++marked;
            if (clearable(population.kind)) left += share_left(panel, population, removed_um, k);
        }
        const double marked_m2 = static_cast<double>(marked) * cell_m2;
        if (!clearable(population.kind)) {
            result.chips += population.per_m2 * marked_m2;
            continue;
        }
        result.populations.push_back({population.kind, before * marked_m2, left * cell_m2});
        result.before_m2 += result.populations.back().before_m2;
        result.left_m2 += result.populations.back().left_m2;
    }
    return result;
}

std::vector<float> share_cleared_by_cell(const Panel& panel, std::span<const MarkPopulation> marks,
                                         std::span<const float> removed_um) {
    hold_to_cells(panel, removed_um);
    const std::size_t cells = panel.grid.cells();
    std::vector<double> before(cells, 0.0), left(cells, 0.0);
    for (const MarkPopulation& population : marks) {
        if (!clearable(population.kind)) continue;
        const std::vector<std::uint8_t> there = cells_of_region(panel, population.region);
        const double visible = visible_share(population, 0);
        for (std::size_t k = 0; k < cells; ++k) {
            if (!there[k]) continue;
            before[k] += visible;
            left[k] += share_left(panel, population, removed_um, k);
        }
    }
    std::vector<float> shares(cells, std::numeric_limits<float>::quiet_NaN());
    for (std::size_t k = 0; k < cells; ++k)
        if (before[k] > 0) shares[k] = static_cast<float>(1 - left[k] / before[k]);
    return shares;
}

} // namespace sparecoat::finish
