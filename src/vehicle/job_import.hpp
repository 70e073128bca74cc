#pragma once
#include "library/presets.hpp"
#include "library/record.hpp"
#include "panel/gauge.hpp"
#include "vehicle/job_file.hpp"
#include <filesystem>
#include <string>
#include <vector>

namespace sparecoat::vehicle {

// What comes into a job that is there already. Each call is one edit; done again, it brings in what is new or
// changed.

struct ImportedReadings {
    int added = 0, changed = 0;  ///< by spot and kind; the rest were there already
    std::vector<FilmFlag> flags; ///< as read_gauge_csv
};

/// Readings of one panel at one visit, before its work or after. The CSV may name the panel as the job does,
/// or its shape. @throws InputError, as read_gauge_csv.
ImportedReadings import_readings(JobFile& job, const std::filesystem::path& csv, const Visit& visit,
                                 const JobPanel& panel, bool after_work);

/// Readings of several panels, each row naming one as the job does in a column `panel`; one edit. Flags say
/// which panel they are about. @throws InputError, as read_gauge_csv; no such column; a panel that the job
/// does not have.
ImportedReadings import_vehicle_readings(JobFile& job, const std::filesystem::path& csv, const Visit& visit,
                                         bool after_work);

struct ImportedRecord {
    int panels_added = 0, squares_added = 0, tries_added = 0, tries_changed = 0;
    bool took_kit = false; ///< with the target; where the job had none
    ImportedReadings readings;
};

/// A section record at one visit: its panels, told apart by their shapes and made where the job has none
/// such, whether they are clean, their defects, readings and squares. A square is known again by its place
/// and size, a try by its turn; a look that was filled in since is taken over.
/// @throws InputError: as load_record; a kit other than the job's; a try that is another than the job has in
/// its place.
ImportedRecord import_record(JobFile& job, const Library& library, const SectionRecord& record,
                             const Visit& visit);
ImportedRecord import_record(JobFile& job, const Library& library, const std::filesystem::path& record,
                             const Visit& visit);

} // namespace sparecoat::vehicle
