#pragma once
#include "picture/heatmap.hpp"
#include "run/run_job.hpp"
#include <filesystem>
#include <string>

namespace sparecoat::picture {

/// The two maps of a run, ready to draw: film lost and clear coat left. `clear_left` must outlive the spec.
HeatmapSpec film_lost_map(const RunJob& job, const Outcome& outcome, FilmUnit unit);
HeatmapSpec clear_left_map(const RunJob& job, const Outcome& outcome, std::span<const float> clear_left,
                           FilmUnit unit);

/// Writes a text as it is. @throws InputError if the file cannot be written.
void write_text_file(const std::filesystem::path& file, const std::string& text);

/// Writes a document as indented UTF-8 with a line feed at its end.
/// @throws InputError if the file cannot be written.
void write_json(const std::filesystem::path& file, const nlohmann::json& document);

/// Writes everything a run gives into a folder that exists: summary.json, film_lost.png, clear_left.png,
/// fields.vti (ParaView), *.npy (NumPy), path.csv, trace.csv. @return the summary as written.
nlohmann::json write_run(const std::filesystem::path& folder, const RunJob& job, const Outcome& outcome,
                         FilmUnit unit);

} // namespace sparecoat::picture
