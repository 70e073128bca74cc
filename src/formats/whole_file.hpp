#pragma once
#include "rooms.hpp"
#include <filesystem>
#include <string_view>

namespace sparecoat::formats {

/// Writes a file that shows up whole or not at all: beside its place first, then by its name. What was there
/// is replaced.
/// @throws InputError where that cannot be done; what was there then still is.
void write_whole(const std::filesystem::path& file, std::string_view bytes);

} // namespace sparecoat::formats
