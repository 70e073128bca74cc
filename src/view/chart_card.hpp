#pragma once
#include "view/chart_image.hpp"

namespace sparecoat {

/// Charts in the whole window: their list, the one looked at, and what is said of them.
void draw_charts(const Ui& ui, float width, float height, ChartImage& image);

} // namespace sparecoat
