#include "formats/reference.hpp"
#include "units/text.hpp"

namespace sparecoat::formats {

bool is_path(const std::string& reference) {
    const std::string extension = lower_extension(reference);
    return reference.find('/') != std::string::npos || extension == ".json" || extension == ".obj" ||
           extension == ".stl" || extension == ".png" || reference.find(".json#") != std::string::npos;
}

std::filesystem::path beside(const std::string& file, const std::string& path) {
    return std::filesystem::path(file).parent_path() / path; // an absolute path stays
}

std::string reference_in(const Values& values, const std::string& key) {
    const std::string reference = values.text(key);
    return is_path(reference) ? beside(values.place().file, reference).string() : reference;
}

} // namespace sparecoat::formats
