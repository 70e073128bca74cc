#pragma once
#include "cli/job_command.hpp"

namespace sparecoat::cli {

// `sparecoat job add-panel|edit-panel|remove-panel`. All throw InputError and return an exit status.

int job_add_panel(JobOptions& options);
int job_edit_panel(JobOptions& options);
int job_remove_panel(JobOptions& options);

} // namespace sparecoat::cli
