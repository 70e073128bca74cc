#pragma once
#include "vehicle/job_file.hpp"
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace sparecoat::vehicle {

/// What has become of a picture since it came into the job.
enum class PhotoState {
    as_it_was, ///< its bytes are those that it had
    changed,   ///< they are others
    gone,      ///< no file there
    not_held   ///< there, with nothing on file to hold it to
};
/// For a list; empty for one that is as it was.
std::string_view words_of(PhotoState state);

/// Largest file that is taken for a picture, bytes.
inline constexpr std::uintmax_t largest_photo = 256U << 20U;

/// A row for a picture, with its path from the job file's folder and its hash; not added.
/// @throws InputError where there is no such file, it cannot be read, or it is larger than largest_photo.
Photo photo_of(const JobFile& job, const std::filesystem::path& picture);

/// Looks at the file, from the job file's folder. Whatever is there and is no file, or too large, is not
/// opened: a job may come by mail.
PhotoState state_of(const JobFile& job, const Photo& photo);

/// Its bytes, where they are those that it had when it came into the job; else nothing.
std::optional<std::string> bytes_as_they_were(const JobFile& job, const Photo& photo);

} // namespace sparecoat::vehicle
