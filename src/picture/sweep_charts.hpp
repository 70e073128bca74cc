#pragma once
#include "picture/chart/chart.hpp"
#include "study/sweep/report.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace sparecoat::picture {

/// Main effect of one factor on one output, with a standard error either way.
Chart effect_chart(const Sweep& sweep, const OutputReport& report, std::size_t factor);
/// First-order and total indices of one output with their intervals. @throws std::invalid_argument where it
/// has none.
Chart indices_chart(const Sweep& sweep, const OutputReport& report, double level);
/// Film lost against share cleared: all points and those that are not beaten.
Chart pareto_chart(const Sweep& sweep, const SweepReport& report);

/// All charts of a report: the front, and for every output its indices and its factors' effects.
std::vector<NamedChart> charts_of(const Sweep& sweep, const SweepReport& report);

/// Fills a folder: sweep.json, pareto, and for every output its indices and its factors' effects. @param
/// ending "png", "svg" or "pdf". @return the document written
nlohmann::json write_sweep(const std::filesystem::path& folder, const Sweep& sweep, const SweepReport& report,
                           const std::string& ending);

} // namespace sparecoat::picture
