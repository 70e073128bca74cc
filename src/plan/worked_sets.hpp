#pragma once
#include "run/run_job.hpp"
#include <cstddef>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

namespace sparecoat::plan {

/// What one set of a step leaves behind it on a panel.
struct WorkedSet {
    std::vector<float> removed_um, peak_film_c; ///< per cell
    double work_j = 0;                          ///< of friction since liquid and pad were last fresh
};

/// Everything that a run of a job depends on, boiled down to a digest: jobs of one digest have one outcome.
std::string digest_of(const RunJob& job);

/// Sets that were worked out before, so that a person who enters what the lamp showed need not wait for runs
/// that did not change. A run is a pure function of what its digest holds, so that remembering cannot show.
/// For any thread; what two work out at once, one of them keeps.
class WorkedSets {
public:
    std::shared_ptr<const WorkedSet> of(const RunJob& job);
    std::size_t worked_out() const; ///< so far, for tests and figures

private:
    static constexpr std::size_t most_kept = 200; ///< some 150 MB of doors; then all are forgotten
    mutable std::mutex mutex_;
    std::map<std::string, std::shared_ptr<const WorkedSet>> kept_;
    std::size_t worked_out_ = 0;
};

} // namespace sparecoat::plan
