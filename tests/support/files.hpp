#pragma once
// Files of a test's own.
#include <cstddef>
#include <filesystem>
#include <string>

namespace sparecoat::test {

/// All of a file. Fails the test where it cannot be read.
std::string bytes_of(const std::filesystem::path& file);

/// Writes a file anew, and the folder that it is to lie in where there is none.
void write_text(const std::filesystem::path& file, const std::string& text);

/// A folder of a test's own, gone with all that is in it at the test's end.
struct ScratchFolder {
    std::filesystem::path path;
    ScratchFolder();
    ~ScratchFolder();
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
    /// How many files and folders are in it, hidden or not, at any depth.
    std::size_t entries() const;
    std::filesystem::path operator/(const std::string& name) const { return path / name; }
};

} // namespace sparecoat::test
