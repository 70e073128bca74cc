#pragma once
#include "decide/stats/sensitivity.hpp"
#include "study/sweep/run.hpp"
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::study {

/// The rows of a design as far as they are on file, one entry a run.
std::vector<std::optional<SweepRow>> rows_of(const SweepKeys& keys, const SweepResults& results);

/// The whole table as CSV (RFC 4180, but with line feeds alone), in design order: run, point, paint, hand's
/// seed, the factors' values, the outputs, and what went wrong. Numbers have as many digits as give the same
/// number back.
/// @throws InputError ("", "--db") where rows are missing.
std::string sweep_csv(const Sweep& sweep, const std::vector<std::optional<SweepRow>>& rows);

/// What a sweep says of one output: of its mean over paints and hands at every point.
struct OutputReport {
    std::size_t output = 0;                        ///< of sweep_outputs
    double least = 0, mean = 0, most = 0;          ///< over points
    std::vector<std::vector<EffectLevel>> effects; ///< one entry a factor
    std::optional<Indices> indices;                ///< of a design of Saltelli's kind
};

/// A point that no other one beats: less film lost on the open panel for as much cleared, or more cleared for
/// as much lost.
struct ParetoPoint {
    std::size_t point = 0;
    double lost_um = 0, cleared = 0;
};

/// "force 18 N, passes 4": what the factors are at a point.
std::string settings_words(const Sweep& sweep, std::size_t point);

struct SweepReport {
    std::size_t failed = 0;              ///< runs that could not be worked; their points are left out
    std::vector<std::size_t> points;     ///< those that are not
    std::vector<OutputReport> outputs;   ///< as asked for
    std::vector<ParetoPoint> all, front; ///< of `points`; and those that are not beaten, by film lost
    double level = 0.9;                  ///< of the indices' intervals
};

/// @param outputs of sweep_outputs. @throws InputError ("", "--db"): rows are missing, or none was worked;
/// failed runs in a design of Saltelli's kind, whose indices need every run, unless `indices` is false.
SweepReport report_of(const Sweep& sweep, const std::vector<std::optional<SweepRow>>& rows,
                      const std::vector<std::size_t>& outputs, bool indices = true);

/// docs/schema/sweep-report.schema.json.
nlohmann::json sweep_json(const Sweep& sweep, const SweepReport& report);

} // namespace sparecoat::study
