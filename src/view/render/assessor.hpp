#pragma once
#include "decide/verdict.hpp"
#include "picture/scale.hpp"
#include "run/run_job.hpp"
#include "view/render/camera.hpp"
#include "view/render/map_labels.hpp"
#include "view/run/background_task.hpp"
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

namespace sparecoat::view {

/// Copies of the run's fields and of the map, so that the run goes on meanwhile. They wander to the assessor
/// and back, so that only what has changed has to be copied anew.
struct AssessCopies {
    Fields fields;
    std::vector<float> map; ///< shown map, NaN outside
};

/// What a whole-panel look at a run needs.
struct AssessRequest {
    std::shared_ptr<const RunJob> job;
    AssessCopies copies;
    std::optional<LabelView> labels; ///< how contour lines are seen; none: no numbers on them
    std::uint64_t generation = 0;
};

struct Assessment {
    std::optional<Verdict> verdict; ///< none while nothing has been removed
    std::vector<ContourNumber> labels;
    AssessCopies copies;
    std::uint64_t generation = 0;
};

/// Judges a run: finding the open panel and the worst spots takes tens of milliseconds, too long for a frame.
Assessment assess_run(AssessRequest request);

using Assessor = BackgroundTask<AssessRequest, Assessment>;

} // namespace sparecoat::view
