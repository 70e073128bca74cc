#pragma once
#include "library/presets.hpp"
#include "vehicle/job_file.hpp"
#include <map>
#include <string>

namespace sparecoat::vehicle {

/// A preset in a job, and what names became on the way in.
struct BroughtIn {
    Id document = 0;
    std::string reference; ///< in the job
    std::map<std::string, std::string>
        renamed; ///< in its text: as it was written -> as it now is, where they differ
};

/// Copies a preset with all that it names into the job, within an edit: the machines, pads and liquids of a
/// kit, a panel's substrate, mesh or height map. What came by a path is named by its file's stem. A preset
/// that is there already is used; one of the same name and another content comes in beside it, as
/// "typical-2".
/// @param kind "panel", "paint", "defects", "kit", ... @param reference as Library takes it. @throws
/// InputError.
BroughtIn bring_in(JobFile& job, const Library& library, const std::string& kind,
                   const std::string& reference);

/// The row for a document's JSON, with its hash; not added.
Document document_row(const std::string& kind, const std::string& reference, const nlohmann::json& body);

} // namespace sparecoat::vehicle
