#pragma once
#include "formats/kinds.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace sparecoat::test {

using namespace formats;

/// Holds a document to the published JSON Schema of its kind (docs/schema): the proof that a file the program
/// takes is one that any other tool with the schema takes too. Give it short texts only: a schema's patterns
/// cost stack in proportion to the text they are tried on.
/// @throws InputError with the JSON pointer and the first deviation
void hold_to_schema(PresetKind kind, const nlohmann::json& document, const std::string& file);

/// The same for a document that is no preset, with its schema's text. @param name of the schema, for the
/// message.
void hold_to_schema(const std::string& schema, const std::string& name, const nlohmann::json& document,
                    const std::string& file);

/// Where a document departs from its JSON Schema: the place and what is wrong, none where it keeps to it.
std::vector<std::string> deviations(const nlohmann::json& document, const std::filesystem::path& schema_path);

} // namespace sparecoat::test
