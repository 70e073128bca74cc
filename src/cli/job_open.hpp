#pragma once
#include "cli/job_command.hpp"
#include "picture/heatmap.hpp"
#include "vehicle/job_file.hpp"
#include <string>

namespace sparecoat::cli {

// What the job commands have in common. All throw InputError.

JobFile open_job(const JobOptions& options, JobFile::Access access = JobFile::Access::write);
/// To look at: without a right to write, unless the file is of an older version.
JobFile open_to_read(const JobOptions& options);

/// The panel that was asked for.
JobPanel panel_of(const JobFile& job, const JobOptions& options);
/// The visit of the date or label that was asked for, else the latest.
Visit visit_of(const JobFile& job, const JobOptions& options);
/// "um" or "mil", as --unit has it.
FilmUnit film_unit(const std::string& unit);
/// "2026-03-14 spring".
std::string name_of(const Visit& visit);

} // namespace sparecoat::cli
