#pragma once
#include "decide/verdict.hpp"
#include "formats/gauge_csv.hpp"
#include "library/presets.hpp"
#include "panel/gauge.hpp"
#include "run/progress.hpp"
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include <cstdint>
#include <filesystem>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::run {

/// What a person asks for.
struct RunRequest {
    std::string panel, technique, paint = "typical"; ///< preset names or paths
    std::optional<std::filesystem::path> path_csv; ///< a recorded arm path instead of the technique's pattern
    SharedReadings readings; ///< gauge readings instead of the paint's nominal film; null: none
    double grid_m = 0.002;
    double air_c = Surroundings{}.air_c; ///< of the workshop
    Integrator integrator = Integrator::averaged;
    std::uint64_t seed = 1;
};

/// Everything a run depends on, read and checked, each thing once: what the simulation takes is made of it by
/// setup_of() where a run begins, so that a change made here reaches all of it.
struct RunJob {
    RunRequest request;             ///< air, integrator and seed among it
    Panel panel;                    ///< with its film laid, and measured where there are readings
    std::optional<FilmReport> film; ///< where there are readings
    Paint paint;
    Resolved step;               ///< technique with what it names
    StepLimits limits;           ///< of the path's steps, where it is laid and not recorded
    ArmPath path;                ///< laid over the panel as the technique says, or recorded
    bool path_is_steady = false; ///< see steady(): the technique's hand is left to be drawn
    /// One entry a cell, 1 under the technique's masking tape; null where there is none.
    std::shared_ptr<const std::vector<std::uint8_t>> taped;
};

/// What the simulation takes, made of a job.
Setup setup_of(const RunJob& job);
/// The same on a panel that stays at the air's temperature, which is quicker.
Setup cold_setup_of(const RunJob& job);

/// What the path leaves of the hand's variation to be drawn: that of the technique where the path is steady,
/// else nothing.
HandVariation hand_to_draw(const RunJob& job);

/// A panel with its film laid, and measured where there are readings.
struct LaidPanel {
    Panel panel;
    std::optional<FilmReport> film; ///< where there are readings
    Paint paint;
};
/// Of a request without looking at its work. @param reuse see prepare(). @throws InputError.
LaidPanel lay_panel(const Library& library, const RunRequest& request, const Panel* reuse = nullptr);

/// Reads presets, builds the panel, lays the path. @throws InputError.
RunJob prepare(const Library& library, const RunRequest& request);

/// The same with a technique that was changed after reading; request.technique is kept for its name and file,
/// and is empty where the technique is of no file.
/// @param reuse a panel built before for the same request.panel and grid, whose shape is taken over instead
/// of building it again; its film is laid anew. Null: built from the file.
/// @param limits of the path's steps, where it is laid and not recorded. @throws InputError.
RunJob prepare(const Library& library, const RunRequest& request, const Technique& edited, const Panel* reuse,
               StepLimits limits = {});

/// The same from parts that were read before. @param technique_file for messages. @throws InputError.
RunJob prepare(const RunRequest& request, Resolved step, LaidPanel laid, StepLimits limits = {},
               const std::string& technique_file = {});

/// The job with a steady hand's path, the technique's variation left to be drawn (hand_to_draw). A recorded
/// path stays as it is.
RunJob steady(RunJob job);

/// Cells and steps that carry what is as smooth as a pad is wide: how a hand strays, and what is lost on even
/// ground. A quarter of the usual cells and a fifth of the steps.
inline constexpr double coarse_grid_m = 0.004;
inline constexpr StepLimits coarse_steps{0.02, 0.5};

/// The job's coarser copy with nominal film: on cells of `grid_m` or its own, if these are larger, its path
/// in coarse_steps; a recorded path stays as it is. The panel is built from its file. @throws InputError.
RunJob coarsened(const Library& library, const RunJob& job, double grid_m = coarse_grid_m);

struct Outcome {
    RunResult result;
    Verdict verdict;
};

/// Runs a job. @param progress told the share of its path that is done. @throws Stopped.
RunResult simulate(const RunJob& job, const Progress& progress = {});

/// Runs jobs on up to `threads` threads (0: as many as the machine has). Each job is a pure function of its
/// inputs, so the outcome does not depend on the number of threads.
/// @throws InputError if a path takes off no film anywhere, Stopped if the progress said so.
std::vector<Outcome> run_jobs(const std::vector<RunJob>& jobs, int threads, const Progress& progress = {});

/// How the pad was worked, on one line: force, speed and arm speed, or the file of the recorded path, which
/// may have its own of each.
std::string working_of(const RunJob& job);

/// The summary document, docs/schema/summary.schema.json.
nlohmann::json summary_of(const RunJob& job, const Outcome& outcome);

/// How far the two identities of a run are off, relative.
struct Identities {
    double factors = 0; ///< worst cell's |time x pressure x speed x cut x heat - removed| / removed
    double energy = 0;  ///< |volume summed over cells - k x friction work / mu| / volume
    double heat = 0;    ///< |heat into the panel - lost - stored| / heat into it
};
Identities identities_of(const RunJob& job, const Outcome& outcome);

} // namespace sparecoat::run
