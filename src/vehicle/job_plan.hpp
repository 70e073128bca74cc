#pragma once
#include "plan/plan.hpp"
#include "plan/plan_reading.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/job_file.hpp"
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::vehicle {

/// What the label of a run that a plan left begins with.
inline constexpr std::string_view plan_run_label = "plan: ";

/// What a plan is made from, as a job file has it at one visit.
struct JobForPlan {
    SectionRecord record; ///< of the job's own presets; no file
    std::vector<PanelTask> tasks;
    std::vector<JobPanel> panels;     ///< in the same order
    std::vector<std::string> assumed; ///< what the file does not say, in words
};

/// All of the job's panels. One that was not looked at on this visit is not clean; marks that nobody
/// described are moderate. Film is what was read on this visit before work, else after work on the visit
/// before. What may still go is the vehicle's allowance less what earlier visits cost.
/// @param presets of the same job; readings are laid beside them as CSV. @throws InputError: no kit, no
/// panel.
JobForPlan job_for_plan(const JobFile& job, const JobLibrary& presets, const Visit& visit);

/// Keeps a plan in the file, as one edit: the vehicle's with the visit (docs/schema/visit-plan.schema.json),
/// each panel's at the visit (docs/schema/plan.schema.json, panels[]), and a run for one set of each of its
/// steps, labelled "plan: ...". An earlier plan of the visit gives way to it.
void store_plan(JobFile& job, const Visit& visit, const JobForPlan& from, const VehiclePlan& plan,
                const AskedExposure& asked = {});

/// The plan that a visit keeps; nothing where it keeps none. Its panels are those with a plan, in the job's
/// order.
/// @throws InputError where it is none that this program can read.
std::optional<KeptPlan> kept_plan(const JobFile& job, const Visit& visit);

/// Lays readings of a panel down beside a job's presets as CSV, for whatever reads film from a file.
/// @param shape as the job calls it. @return the file; none where there are no readings.
std::optional<std::string> lay_readings(const JobLibrary& presets, const std::string& shape,
                                        const std::string& file_name, std::span<const FilmReading> readings);

} // namespace sparecoat::vehicle
