#pragma once
#include "plan/plan.hpp"
#include "plan/plan_exposure.hpp"
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace sparecoat::plan {

// A plan as a job file keeps it, and back. What plan_json() leaves out (a path's settings that no plan
// changes, factors and cells of spots) is not there afterwards; written again, the rest is the same.

/// The whole vehicle's part, which goes with a visit: docs/schema/visit-plan.schema.json.
nlohmann::json visit_plan_json(const VehiclePlan& plan, const std::vector<std::string>& assumed,
                               const AskedExposure& asked);

/// Of panel_plan_json(). @throws nlohmann::json::exception where it is no such document.
PanelPlan panel_plan_of(const nlohmann::json& document);

/// A plan with what it rests on besides the job.
struct KeptPlan {
    VehiclePlan plan;
    std::vector<std::string> assumed; ///< what the job did not say, in words
    AskedExposure asked;
    bool whole = false; ///< totals and order of work are there; else the panels alone
};
/// Of visit_plan_json(); `panels` are those of its order of work, by their names. @throws as above.
KeptPlan visit_plan_of(const nlohmann::json& document, std::vector<PanelPlan> panels);

} // namespace sparecoat::plan
