#pragma once
#include "formats/kinds.hpp"
#include "panel/shape.hpp"
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::library {

/// A preset as it was written, and what messages call the place that it was read from.
struct StoredDocument {
    std::string file;
    nlohmann::json body;
};

/// A file that a document names, such as a mesh.
struct AttachedFile {
    std::filesystem::path path; ///< for messages; its ending tells the format
    FileBytes bytes;            ///< null: they lie at the path
    bool there = false;
};

/// Where a library's documents are: a folder, or a vehicle's job file. Documents are handed over as values
/// and nothing is kept between two questions. All may be asked from any thread.
class DocumentStore {
public:
    virtual ~DocumentStore() = default;

    /// What messages call the place of a kind: "presets/pads".
    virtual std::string place_of(PresetKind kind) const = 0;
    /// Of all documents of a kind, in no order; a pad's is without its size. @throws InputError where the
    /// kind's place is missing.
    virtual std::vector<std::string> references(PresetKind kind) const = 0;
    /// What messages call a document. @param reference one of references().
    virtual std::string file_of(PresetKind kind, const std::string& reference) const = 0;
    /// @param reference one of references(). @throws InputError: not JSON; names that lead out of the store.
    virtual nlohmann::json document(PresetKind kind, const std::string& reference) const = 0;
    /// A file that a document names. @param written the name as it stands there.
    virtual AttachedFile attached(PresetKind kind, const std::string& reference,
                                  const std::string& written) const = 0;
};

/// A file named in a document that itself is a file: a relative path is from that one's folder.
AttachedFile attached_to_file(const std::string& document, const std::string& written);

/// A folder with one folder for each kind, and in that a JSON file for each document. Names in a document may
/// lead anywhere: whoever can write here can read there.
class FolderStore : public DocumentStore {
public:
    explicit FolderStore(std::filesystem::path root) : root_(std::move(root)) {}
    std::string place_of(PresetKind kind) const override;
    std::vector<std::string> references(PresetKind kind) const override;
    std::string file_of(PresetKind kind, const std::string& reference) const override;
    nlohmann::json document(PresetKind kind, const std::string& reference) const override;
    AttachedFile attached(PresetKind kind, const std::string& reference,
                          const std::string& written) const override;

private:
    std::filesystem::path root_;
};

} // namespace sparecoat::library
