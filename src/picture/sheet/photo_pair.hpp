#pragma once
#include "picture/document/document.hpp"
#include "vehicle/job_file.hpp"
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::picture::sheet {

/// A photo as its file says it: pixels, how it is turned, the day it was taken.
struct TakenPhoto {
    std::string bytes, caption;
    bool jpeg = false;
    int width = 0, height = 0; ///< pixels as stored
    int turned = 1;            ///< Exif's Orientation, 1 to 8
    std::string taken;         ///< "2026-03-14 09:30:00"; empty: the file does not say it
};

/// What a JPEG or PNG says of itself. @return nothing for another kind, a damaged file, one over 50
/// megapixels. Source: JFIF and Exif 2.3 (JEITA CP-3451C), tags 0x0112 and 0x9003; PNG specification 11.2.2.
std::optional<TakenPhoto> read_photo(std::string bytes);

/// Of a panel's photos the last that was taken before the visit's work and the last after it. Those of
/// earlier days are from before, of later days from after; of the visit's own day the first is from before
/// where there are two, and else says neither.
struct PhotoPair {
    std::optional<TakenPhoto> before, after, that_day;
    bool any() const { return before || after || that_day; }
};
PhotoPair pair_of(std::vector<TakenPhoto> photos, const std::string& visit_date);

/// Both side by side with their dates.
document::Picture picture_of(const PhotoPair& pair);

} // namespace sparecoat::picture::sheet
