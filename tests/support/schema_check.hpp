#pragma once
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace sparecoat::test {

/// Where a document departs from its JSON Schema: the place and what is wrong, none where it keeps to it.
std::vector<std::string> deviations(const nlohmann::json& document, const std::filesystem::path& schema_path);

} // namespace sparecoat::test
