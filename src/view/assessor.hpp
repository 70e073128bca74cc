#pragma once
#include "decide/attribution.hpp"
#include "job/run_job.hpp"
#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

namespace sparecoat {

/// What a whole-panel look at a run needs; copies, so that the run goes on meanwhile.
struct AssessRequest {
    std::shared_ptr<const RunJob> job;
    Fields fields;
    std::vector<float> map;     ///< shown map, NaN outside
    std::vector<double> levels; ///< its contour lines
    std::uint64_t generation = 0;
};

/// A contour's number and where on the panel it stands.
struct ContourLabel {
    double level = 0;
    Point2 at;
};

struct Assessment {
    std::optional<Verdict> verdict; ///< none while nothing has been removed
    std::vector<ContourLabel> labels;
    std::uint64_t generation = 0;
};

/// Judges a run on a thread of its own: finding the open panel and the worst spots takes tens of
/// milliseconds, too long for a frame.
class Assessor {
public:
    Assessor();
    ~Assessor();
    Assessor(const Assessor&) = delete;
    Assessor& operator=(const Assessor&) = delete;

    bool idle() const;
    /// Takes a request; only while idle.
    void ask(AssessRequest request);
    /// The answer, once.
    std::optional<Assessment> take();

private:
    void work();
    mutable std::mutex mutex_;
    std::condition_variable wake_;
    std::optional<AssessRequest> request_;
    std::optional<Assessment> answer_;
    bool busy_ = false, quit_ = false;
    std::thread thread_;
};

} // namespace sparecoat
