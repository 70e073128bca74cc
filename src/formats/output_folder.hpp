#pragma once
#include "rooms.hpp"
#include <filesystem>

namespace sparecoat::formats {

/// An output folder that appears complete or not at all. Files go into a hidden folder beside the target;
/// commit() renames it into place. Without commit() everything written is removed, and with it any
/// parent folder that had to be made.
///
/// A target that exists is replaced only where nobody can miss it: it is an empty folder, or a document of
/// ours in it says what it is: summary.json, lesson.json, advice.json, plan.json, fit.json, evenness.json,
/// sweep.json, compare.json with their "kind" "sparecoat-...". The old folder is moved aside first and
/// deleted last, so a failure in between leaves one whole folder or the other.
class OutputFolder {
public:
    /// @throws InputError (file = target) where the target holds something else, is a file, is the current
    /// folder or one above it, or where the folder beside it cannot be made.
    explicit OutputFolder(const std::filesystem::path& target);
    ~OutputFolder();
    OutputFolder(const OutputFolder&) = delete;
    OutputFolder& operator=(const OutputFolder&) = delete;

    /// Where to write until commit().
    const std::filesystem::path& path() const { return work_; }
    const std::filesystem::path& target() const { return target_; }

    /// Puts the folder in its place. Once only.
    /// @throws InputError where the target has meanwhile become something that may not be replaced, or where
    /// renaming fails; the target is then as it was.
    void commit();

private:
    void remove_made_parents() const;

    std::filesystem::path target_, work_;
    std::filesystem::path made_parent_; ///< topmost parent folder made here; empty where none was
    bool committed_ = false;
};

} // namespace sparecoat::formats
