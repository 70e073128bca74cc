#include "plan/plan_exposure.hpp"

namespace sparecoat::plan {

std::vector<VibrationTask> day_of(const VehiclePlan& plan, const AskedExposure& asked) {
    std::vector<VibrationTask> tasks;
    for (const VehiclePlan::Used& machine : plan.machine_s)
        if (const auto given = asked.a_hv.find(machine.what); given != asked.a_hv.end())
            tasks.push_back({machine.what, given->second, machine.amount});
    tasks.insert(tasks.end(), asked.others.begin(), asked.others.end());
    return tasks;
}

double time_of(const std::vector<VibrationTask>& tasks) {
    double all_s = 0;
    for (const VibrationTask& task : tasks) all_s += task.time_s;
    return all_s;
}

} // namespace sparecoat::plan
