#pragma once
#include "decide/chance.hpp"
#include "finish/described.hpp"
#include "run/run_job.hpp"
#include <array>
#include <cstddef>
#include <string>

namespace sparecoat::study {

/// A figure that is kept of every run of a sweep.
struct SweepOutput {
    const char* name;  ///< its column's, with the unit
    const char* words; ///< for tables and charts, with the unit
};

inline constexpr std::array sweep_outputs{
    SweepOutput{"median_lost_um", "film lost on the open panel, median, µm"},
    SweepOutput{"mean_lost_um", "film lost over all worked ground, mean, µm"},
    SweepOutput{"worst_lost_um", "film lost at the worst cell, µm"},
    SweepOutput{"least_left_um", "least clear coat left, µm"},
    SweepOutput{"variation", "coefficient of variation over the open panel"},
    SweepOutput{"cleared", "share of marks cleared"},
    SweepOutput{"haze", "haze index of the open panel"},
    SweepOutput{"gloss_20_gu", "gloss of the open panel at 20°, GU"},
    SweepOutput{"gloss_60_gu", "gloss of the open panel at 60°, GU"},
    SweepOutput{"chance", "highest chance of leaving less than the reserve"},
    SweepOutput{"peak_c", "peak temperature of the film, °C"},
    SweepOutput{"spin_per_min", "mean spin of the pad, /min"},
    SweepOutput{"stalled_s", "time with the pad stalled, s"},
    SweepOutput{"minutes", "time at the panel, min"},
};
inline constexpr std::size_t sweep_output_count = sweep_outputs.size();

/// An output by its column's name. @throws InputError ("", place) with the nearest names.
std::size_t sweep_output(const std::string& name, const std::string& place);

/// What one run gave: its figures, or why it could not be run.
struct SweepRow {
    std::array<double, sweep_output_count>
        values{};           ///< in the order of sweep_outputs; NaN where there is an error
    std::string error = {}; ///< empty: none

    bool failed() const { return !error.empty(); }
};

SweepRow failed_row(std::string error);

/// The figures of a run. Median and variation are of the open panel (see OpenPanel), haze and gloss of its
/// median cell with what is left of the defects and the step's own marks, the share cleared of the whole
/// panel. The chance is that of film and cut being off, at the cell where it is highest, given what this run
/// removed: the hand is as this run drew it, and only several hands a point show what another one does
/// (sparecoat risk draws it over and over, which takes some hundred runs' time).
SweepRow row_of(const RunJob& job, const RunResult& result, const Verdict& verdict, const Defects& defects,
                const ChanceTerms& terms);

} // namespace sparecoat::study
