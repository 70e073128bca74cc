#pragma once
#include "formats/reader.hpp"
#include <filesystem>
#include <string>

// References from one file to another: an id of the library, or a path.

namespace sparecoat::formats {

/// Whether a reference to a preset is a path and not an id: it holds a '/' or ends like a preset
/// file, mesh or picture (".json", a pad's "#150" apart, ".obj", ".stl", ".png").
bool is_path(const std::string& reference);

/// A path as it is meant in `file`: taken from that file's folder unless it is absolute.
std::filesystem::path beside(const std::string& file, const std::string& path);

/// A reference under `key`: a relative path is taken from the file's own folder, an id stays as it is.
std::string reference_in(const Values& values, const std::string& key);

} // namespace sparecoat::formats
