#pragma once
#include "picture/heatmap.hpp"
#include "run/run_job.hpp"
#include <string>

namespace sparecoat::cli {

/// What is worked with what and how, and what the gauge said of the film.
std::string heading_text(const RunJob& job);

/// One screen on a run: open panel, worst spot and why, time, events.
std::string verdict_text(const RunJob& job, const Outcome& outcome, FilmUnit unit);

/// The notice and the cautions, wrapped for a terminal.
std::string cautions_text();

} // namespace sparecoat::cli
