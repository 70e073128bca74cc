#pragma once
#include "picture/chart/chart.hpp"
#include "picture/chart/plot.hpp"

namespace sparecoat::picture {

/// The axis that shows numbers from `low` to `high`, with its ticks: names, decades, a range that was given,
/// or one of round numbers. @param low > 0 on a logarithmic axis.
PlotAxis chart_axis(const ChartAxis& given, double low, double high);

} // namespace sparecoat::picture
