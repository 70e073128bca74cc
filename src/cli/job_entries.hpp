#pragma once
#include "cli/job_command.hpp"

namespace sparecoat::cli {

// `sparecoat job note|photo|readings|runs`: entries of a job one by one. All throw InputError and return an
// exit status.

int job_note(JobOptions& options);
int job_photo(JobOptions& options);
int job_readings(JobOptions& options);
int job_runs(JobOptions& options);

} // namespace sparecoat::cli
