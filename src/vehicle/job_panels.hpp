#pragma once
#include "library/presets.hpp"
#include "vehicle/job_file.hpp"
#include <optional>
#include <string>

namespace sparecoat::vehicle {

// A job's panels, added, changed and taken off. All belong inside an edit and throw InputError.

/// Adds a panel, last in order. @param fresh its name and note. @param shape, paint as bring_in takes them.
/// @throws InputError naming the panel where no panel of that shape can be built.
JobPanel add_panel(JobFile& job, const Library& library, JobPanel fresh, const std::string& shape,
                   const std::string& paint);

/// What of a panel is to be other than it is; what is empty stays.
struct PanelChange {
    std::optional<std::string> name, shape, paint, note;
};
/// @throws InputError: a name that another panel has; a shape that cannot be built, or off which readings or
/// taped squares of the panel would lie. Plans that were made for another shape or paint are dropped.
JobPanel change_panel(JobFile& job, const Library& library, const JobPanel& panel, const PanelChange& change);

/// What hangs on a panel and goes with it: "2 visits, 12 readings"; empty where nothing does.
std::string hanging_on(const JobFile& job, const JobPanel& panel);

} // namespace sparecoat::vehicle
