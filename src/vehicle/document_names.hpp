#pragma once
#include "library/presets.hpp"
#include <functional>
#include <nlohmann/json_fwd.hpp>
#include <string>

namespace sparecoat::vehicle {

// What a job's documents are called, and what they call others.

/// The kind of a document that is no preset but a file that a panel names.
inline constexpr const char* file_kind = "file";

/// A pad's reference is its file's and its size: "firm-foam" and "-150", "own/firm.json" and "#150".
struct SizedReference {
    std::string file, size;
};
SizedReference without_size(const std::string& kind, const std::string& reference);

/// How a panel in a job names a file in it: "../files/sheet.obj", as if both lay in folders beside each
/// other.
std::string name_of_file(const std::string& reference);
/// The reference behind such a name; empty where the name leads elsewhere.
std::string file_named(const std::string& name);

/// Whether a reference is a name within the job: no folder, and nothing that hides a file.
bool is_plain_name(const std::string& reference);

/// Holds a document to the form of its kind. @param find the files that a panel names.
/// @throws InputError with `file` and the place in the document.
void hold_to_form(const std::string& kind, const nlohmann::json& body, const std::string& file,
                  const std::function<AttachedFile(const std::string& written)>& find);

/// Calls `see` with every name of another preset or of a file in a document, that one's kind and its place.
/// What is not of its kind's form is passed over.
void each_name_in(
    const std::string& kind, nlohmann::json& body,
    const std::function<void(const std::string& kind, nlohmann::json& name, const std::string& place)>& see);

} // namespace sparecoat::vehicle
