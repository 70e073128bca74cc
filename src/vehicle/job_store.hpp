#pragma once
#include "library/document_store.hpp"
#include "library/presets.hpp"
#include "vehicle/job_file.hpp"
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::vehicle {

/// The documents of a job, read from its table once: the store outlives the job and may be asked from any
/// thread. A job may come from a stranger, so that its documents name what is in it and nothing else: no
/// path, and no file of the disk.
class JobStore : public DocumentStore {
public:
    /// @param behind presets that stand in where the job has none of a name; null: none do.
    /// @throws InputError where the job holds a document whose name leads out of it.
    explicit JobStore(const JobFile& job, std::shared_ptr<const DocumentStore> behind = nullptr);

    std::string place_of(PresetKind kind) const override;
    std::vector<std::string> references(PresetKind kind) const override;
    std::string file_of(PresetKind kind, const std::string& reference) const override;
    nlohmann::json document(PresetKind kind, const std::string& reference) const override;
    AttachedFile attached(PresetKind kind, const std::string& reference,
                          const std::string& written) const override;

    /// Holds a document to the form of its kind, and what it names to be in the job. @throws InputError with
    /// the place in its body alone.
    void hold(const Document& document) const;

private:
    bool has(const std::string& kind, const std::string& reference) const;
    std::string file_in_job(const std::string& kind, const std::string& reference) const;
    AttachedFile file_in_job(const std::string& written) const;

    std::string job_;                                                ///< its path
    std::map<std::pair<std::string, std::string>, FileBytes> texts_; ///< by kind and reference
    std::shared_ptr<const DocumentStore> behind_;
};

/// The presets of a job as a library.
Library job_library(const JobFile& job);
/// The same with the shipped ones behind them, which give way where the names are the same: lists are then
/// whole, and a panel without a plan has techniques to begin with.
Library job_library_before(const JobFile& job, const Library& shipped);

} // namespace sparecoat::vehicle
