#pragma once
#include "rooms.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::library {

/// Whose sheets these are: what stands over a printed page. None ships with the program.
struct Shop {
    std::string name;
    std::vector<std::string> lines;            ///< address, telephone and the like
    std::optional<std::filesystem::path> logo; ///< a PNG
};

/// See read_machine. A logo by a relative path is from the folder of `file`; it is not opened here.
Shop read_shop(const nlohmann::json& document, const std::string& file);
/// @throws InputError; for no such file as well.
Shop load_shop(const std::filesystem::path& file);

} // namespace sparecoat::library
