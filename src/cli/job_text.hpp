#pragma once
#include "picture/heatmap.hpp"
#include "vehicle/job_file.hpp"
#include <optional>
#include <string>

namespace sparecoat::cli {

/// A job on paper: the vehicle, what is wanted, its visits, and of each panel, or of one, what was read and
/// done at each and what is left. With the notice and the cautions.
std::string job_text(const JobFile& job, const std::optional<JobPanel>& panel, FilmUnit unit);

/// A line for each edit, the oldest first.
std::string history_text(const std::vector<Edit>& history);

/// What a reading's file is worth knowing of, a line each.
std::string flags_text(const std::vector<FilmFlag>& flags);

} // namespace sparecoat::cli
