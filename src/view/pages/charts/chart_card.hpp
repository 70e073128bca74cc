#pragma once
#include "view/pages/charts/chart_image.hpp"

namespace sparecoat::view::charts {

/// Charts in the whole window: their list, the one looked at, and what is said of them.
void draw_charts(const Ui& ui, float width, float height, ChartImage& image);

} // namespace sparecoat::view::charts
