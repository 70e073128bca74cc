#pragma once
#include "view/pages/charts/chart_image.hpp"
#include "view/window/cards.hpp"
#include <optional>
#include <vector>

namespace sparecoat::view::compare {

/// Where everything of the comparison is in a window of this size.
struct CompareLayout {
    Box head, legend, table, told, time, track;
    std::vector<Box> heads, stages; ///< one of each for every pane
    /// The pane under a point of the window.
    std::optional<std::size_t> pane_at(ImVec2 at) const;
};
CompareLayout lay_out_compare(float width, float height, float s, std::size_t panes, std::size_t sides,
                              bool cards);

/// The techniques side by side: whose pane is whose, the scales, the table, what it says, and the clock.
void draw_compare(const Ui& ui, const CompareLayout& at, ChartImage& chart);

} // namespace sparecoat::view::compare
