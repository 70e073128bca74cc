#pragma once
// Pieces that the documents the program writes have in common.
#include "run/run_job.hpp"
#include <nlohmann/json_fwd.hpp>

namespace sparecoat::run {

/// An SI value in another unit, without the last digits that only the conversion made (74.00000000000001).
double in_unit(double si, double unit);

nlohmann::json point_mm(Point2 p);
nlohmann::json spot_json(const SpotAtRisk& spot);
nlohmann::json technique_json(const std::string& id, const Technique& technique);
nlohmann::json inputs_json(const RunJob& job);
/// null without readings.
nlohmann::json film_json(const RunJob& job);

} // namespace sparecoat::run
