#include "vehicle/photos.hpp"
#include "formats/encoding.hpp"
#include "library/record.hpp"
#include <fstream>
#include <iterator>
#include <optional>

namespace sparecoat::vehicle {

namespace fs = std::filesystem;

namespace {

/// The hash of a file's bytes; nothing where it is no file of a picture's size that can be read.
std::optional<std::string> hash_of(const fs::path& picture) {
    std::error_code failed;
    if (!fs::is_regular_file(picture, failed) || fs::file_size(picture, failed) > largest_photo || failed)
        return std::nullopt;
    std::ifstream in(picture, std::ios::binary);
    if (!in) return std::nullopt;
    const std::string bytes((std::istreambuf_iterator<char>(in)), {});
    return in.bad() ? std::nullopt : std::optional(sha256(bytes));
}

} // namespace

std::string_view words_of(PhotoState state) {
    switch (state) {
    case PhotoState::as_it_was: return "";
    case PhotoState::changed: return "changed since";
    case PhotoState::gone: return "gone";
    case PhotoState::not_held: return "nothing on file to tell whether it changed";
    }
    return "";
}

Photo photo_of(const JobFile& job, const fs::path& picture) {
    Photo photo;
    photo.hash = hash_of(picture);
    if (!photo.hash) {
        std::error_code ignored;
        const bool there = fs::exists(picture, ignored);
        throw InputError(picture.string(), "",
                         there ? "no file of a picture that can be read" : "no such file",
                         "a picture that is there, of 256 MiB at the most");
    }
    photo.path = path_from(job.path().parent_path(), picture);
    return photo;
}

PhotoState state_of(const JobFile& job, const Photo& photo) {
    const fs::path path(photo.path);
    const fs::path picture = path.is_absolute() ? path : job.path().parent_path() / path;
    std::error_code ignored;
    if (!fs::exists(picture, ignored)) return PhotoState::gone;
    if (!photo.hash) return PhotoState::not_held;
    return hash_of(picture) == photo.hash ? PhotoState::as_it_was : PhotoState::changed;
}

std::optional<std::string> bytes_as_they_were(const JobFile& job, const Photo& photo) {
    const fs::path path(photo.path);
    const fs::path picture = path.is_absolute() ? path : job.path().parent_path() / path;
    std::error_code failed;
    if (!photo.hash || !fs::is_regular_file(picture, failed) ||
        fs::file_size(picture, failed) > largest_photo)
        return std::nullopt;
    std::ifstream in(picture, std::ios::binary);
    std::string bytes((std::istreambuf_iterator<char>(in)), {});
    return in.bad() || sha256(bytes) != *photo.hash ? std::nullopt : std::optional(std::move(bytes));
}

} // namespace sparecoat::vehicle
