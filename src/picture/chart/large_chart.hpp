#pragma once
#include "picture/chart/plot.hpp"
#include "picture/inks.hpp"

namespace sparecoat::picture {

// What charts that are a whole picture have in common, in pixels of the picture.

inline constexpr Rgb large_chart_grey{0.45, 0.47, 0.51};

/// @param below how far the x axis' title lies under the plot. @param y_title_x the y axis' title's middle
AxesLook large_chart_axes(const Plot& plot, const std::string& x_title, double below,
                          const std::string& y_title, double y_title_x);
/// A dashed line across at a target, and its words over its right end.
std::vector<PlotLayer> large_chart_target(const Plot& plot, double at, Rgb colour, double width,
                                          const std::string& words);

} // namespace sparecoat::picture
