#pragma once
#include "view/window/widgets.hpp"
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

} // namespace sparecoat::view::compare
