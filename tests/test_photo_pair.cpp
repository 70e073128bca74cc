// Photos on the customer's sheet: which of them, and from before or after.
#include "picture/sheet/photo_pair.hpp"
#include <catch2/catch.hpp>

namespace test_photo_pair {
using namespace sparecoat::picture::sheet;

namespace {

TakenPhoto taken(const std::string& when) {
    TakenPhoto photo;
    photo.taken = when;
    return photo;
}

/// A JPEG's beginning of 40 x 30 pixels, turned to the right, with the day it was taken.
std::string small_jpeg() {
    const auto piece = [](const char* bytes, std::size_t count) { return std::string(bytes, count); };
    std::string tiff = piece("II*\0\x08\0\0\0\x02\0", 10);
    tiff += piece("\x12\x01\x03\0\x01\0\0\0\x06\0\0\0", 12); // Orientation 6
    tiff += piece("\x69\x87\x04\0\x01\0\0\0\x26\0\0\0", 12); // Exif block at 38
    tiff += piece("\0\0\0\0", 4);
    tiff += piece("\x01\0\x03\x90\x02\0\x14\0\0\0\x38\0\0\0\0\0\0\0", 18); // DateTimeOriginal at 56
    tiff += piece("2026:03:14 09:30:00\0", 20);
    const std::string body = piece("Exif\0\0", 6) + tiff;
    std::string jpeg = piece("\xFF\xD8\xFF\xE1\0", 5);
    jpeg += static_cast<char>(body.size() + 2);
    return jpeg + body + piece("\xFF\xC0\0\x0B\x08\0\x1E\0\x28\x01\x01\x11\0\xFF\xD9", 15);
}

} // namespace

TEST_CASE("A photo's file says its size, how it is turned and when it was taken", "[sheet]") {
    const std::optional<TakenPhoto> photo = read_photo(small_jpeg());
    REQUIRE(photo);
    CHECK((photo->width == 40 && photo->height == 30 && photo->turned == 6));
    CHECK(photo->taken == "2026-03-14 09:30:00");
    for (std::size_t k = 0; k < small_jpeg().size() - 10; ++k)
        read_photo(small_jpeg().substr(0, k)); // no end
    CHECK_FALSE(read_photo("no picture"));
    CHECK_FALSE(read_photo(""));
}

TEST_CASE("Photos are from before or after by the day of the visit", "[sheet]") {
    const PhotoPair days =
        pair_of({taken("2026-03-20 08:00:00"), taken("2026-03-01 08:00:00"), taken("2026-03-10 08:00:00")},
                "2026-03-14");
    CHECK(days.before->taken == "2026-03-10 08:00:00");
    CHECK(days.after->taken == "2026-03-20 08:00:00");
    const PhotoPair one_day =
        pair_of({taken("2026-03-14 16:00:00"), taken("2026-03-14 08:00:00"), taken("")}, "2026-03-14");
    CHECK(one_day.before->taken == "2026-03-14 08:00:00");
    CHECK(one_day.after->taken == "2026-03-14 16:00:00");
    const PhotoPair single = pair_of({taken("2026-03-14 08:00:00")}, "2026-03-14");
    CHECK((single.that_day && !single.before && !single.after));
    CHECK_FALSE(pair_of({taken("")}, "2026-03-14").any());
}

} // namespace test_photo_pair
