#pragma once
#include "rooms.hpp"
#include <filesystem>
#include <string>
#include <string_view>

namespace sparecoat::units {

/// A to Z made small; every other byte as it is, whatever the locale.
inline std::string lower_case(std::string_view text) {
    std::string lower(text);
    for (char& c : lower)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return lower;
}

/// ".obj" of "Wing.OBJ".
inline std::string lower_extension(const std::filesystem::path& file) {
    return lower_case(file.extension().string());
}

} // namespace sparecoat::units
