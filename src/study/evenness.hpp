#pragma once
#include "decide/stats/spectrum.hpp"
#include "run/run_job.hpp"
#include <functional>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <vector>

namespace sparecoat::study {

struct EvennessRequest {
    RunRequest run;                                                   ///< simulated as its integrator says
    double overlap_from = 0.3, overlap_to = 0.8, overlap_step = 0.05; ///< of the scan
    bool marks = true;                                                ///< also run a strip in `resolved`
};

/// One direction of a map.
struct Direction {
    Along along = Along::u;
    Spectrum spectrum;
    std::vector<SpectrumPeak> peaks;
};

/// A straight run over a flat strip, every orbit resolved: the marks that single turns leave.
struct MarksOfOrbits {
    double cell_mm = 0, advance_mm = 0; ///< of the arm in one turn of the shaft
    double length_mm = 0;               ///< of the ground looked at
    Direction direction;
    double deviation = 0; ///< standard deviation over mean
};

/// The technique at one overlap, with a hand that keeps it.
struct OverlapTrial {
    double overlap = 0;    ///< asked for
    double spacing_mm = 0; ///< between lines as they were laid: evened out, so smaller than asked for
    double deviation = 0;  ///< standard deviation over mean, on the ground that counts
    double film_um = 0;    ///< mean there
    double time_s = 0;
};

struct EvennessReport {
    EvennessRequest request;
    RunJob job;
    Outcome outcome;
    CellRect ground;      ///< that the spectra are of
    double deviation = 0; ///< standard deviation over mean there
    double mean_um = 0;
    Direction directions[2]; ///< along u and along v
    std::optional<MarksOfOrbits> marks;
    std::string no_marks;                   ///< why there are none
    std::vector<OverlapTrial> trials;       ///< by overlap
    std::size_t best = 0;                   ///< of them: the least deviation
    std::size_t flat_from = 0, flat_to = 0; ///< around it, those within `flat` of its deviation
};
inline constexpr double flat = 0.1; ///< relative; no lamp and no gauge tells less

/// Places between the lines of a raster, mm, across u-lines and across v-lines: medians over the path; 0
/// where it has none.
struct LineSpacings {
    double across_u_lines_mm = 0, across_v_lines_mm = 0;
};
LineSpacings line_spacings(const ArmPath& path);

/// Simulates the technique, the strip and the overlaps. The same for any number of threads.
/// @throws InputError: no open ground that is long enough; a technique that is no raster. Stopped.
EvennessReport assess_evenness(const Library& library, const EvennessRequest& request, int threads,
                               const Progress& progress = {});
/// The same of a job that was made ready before, with a technique that may have been changed since it was
/// read.
EvennessReport assess_evenness(const Library& library, RunJob job, const EvennessRequest& request,
                               int threads, const Progress& progress = {});

/// docs/schema/evenness.schema.json.
nlohmann::json evenness_json(const EvennessReport& report);

} // namespace sparecoat::study
