#include "library/document_store.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "units/error.hpp"

namespace sparecoat::library {

namespace fs = std::filesystem;

AttachedFile attached_to_file(const std::string& document, const std::string& written) {
    fs::path path = beside(document, written);
    const bool there = fs::is_regular_file(path);
    return {std::move(path), nullptr, there};
}

std::string FolderStore::place_of(PresetKind kind) const { return (root_ / folder_of(kind)).string(); }

std::vector<std::string> FolderStore::references(PresetKind kind) const {
    const fs::path folder = root_ / folder_of(kind);
    const bool kept_elsewhere = kind == PresetKind::record || kind == PresetKind::shop; // where a shop likes
    if (kept_elsewhere && !fs::is_directory(folder)) return {};
    if (!fs::is_directory(folder))
        throw InputError(folder.string(), "", "no such folder",
                         "the presets' folder beside the program, or where the environment variable "
                         "SPARECOAT_PRESETS says");
    std::vector<std::string> stems;
    for (const auto& entry : fs::directory_iterator(folder))
        if (entry.path().extension() == ".json") stems.push_back(entry.path().stem().string());
    return stems;
}

std::string FolderStore::file_of(PresetKind kind, const std::string& reference) const {
    return (root_ / folder_of(kind) / (reference + ".json")).string();
}

nlohmann::json FolderStore::document(PresetKind kind, const std::string& reference) const {
    return load_json(file_of(kind, reference));
}

AttachedFile FolderStore::attached(PresetKind kind, const std::string& reference,
                                   const std::string& written) const {
    return attached_to_file(file_of(kind, reference), written);
}

} // namespace sparecoat::library
