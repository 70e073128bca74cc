#pragma once
#include "formats/kinds.hpp"
#include "vehicle/job_file.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>

namespace sparecoat::vehicle {

// A job as one JSON document of kind "job", for other programs and for keeping (docs/job-file.md). Its
// history of edits is left out. Written, read in and written again it is the same bytes.

/// Everything a job's JSON may hold: an ObjectForm.
const Form& job_form();
/// The text of docs/schema/job.schema.json.
std::string job_schema_text();
/// The table of its keys in docs/job-file.md.
std::string job_format_table();

/// The document; keys in the form's order, quantities to twelve digits.
nlohmann::ordered_json job_json(const JobFile& job);

/// Makes a new job file of a document. @param source its file, for messages. @throws InputError with the
/// place in the document: against the form or the schema, a name that leads nowhere, an entry twice.
JobFile job_from_json(const std::filesystem::path& file, const nlohmann::json& document,
                      const std::string& source);

/// Most bytes of a job's JSON: meshes and height maps travel in it.
inline constexpr std::uintmax_t largest_job_json = 256U << 20U;

} // namespace sparecoat::vehicle
