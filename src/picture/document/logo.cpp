#include "picture/document/logo.hpp"
#include "units/error.hpp"
#include <cstring>
#include <fmt/format.h>
#include <fstream>
#include <iterator>

namespace sparecoat::picture::document {
namespace {

namespace fs = std::filesystem;

constexpr const char* wanted = "a PNG of up to 4 MiB and 4000 pixels a side";

std::string bytes_of(const fs::path& png) {
    std::error_code failed;
    if (fs::is_directory(png, failed)) throw InputError(png.string(), "", "a folder", wanted);
    if (!fs::exists(png, failed)) throw InputError(png.string(), "", "no such file", wanted);
    if (const auto size = fs::file_size(png, failed); !failed && size > largest_logo_bytes)
        throw InputError(png.string(), "", fmt::format("a file of {} bytes", size), wanted);
    std::ifstream in(png, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(in), {}};
    if (!in) throw InputError(png.string(), "", "a file that cannot be read", wanted);
    return bytes;
}

/// A side's pixels from the header (PNG specification, 11.2.2: IHDR comes first, big-endian).
unsigned pixels_at(const std::string& bytes, std::size_t offset) {
    unsigned value = 0;
    for (std::size_t k = 0; k < 4; ++k) value = value << 8U | static_cast<unsigned char>(bytes[offset + k]);
    return value;
}

void hold_to_header(const fs::path& png, const std::string& bytes) {
    constexpr std::string_view signature{"\x89PNG\r\n\x1a\n", 8};
    constexpr std::size_t width_at = 16, height_at = 20, header_end = 24;
    if (!bytes.starts_with(signature)) throw InputError(png.string(), "", "a file that is no PNG", wanted);
    if (bytes.size() < header_end) throw InputError(png.string(), "", "a damaged PNG (cut off)", wanted);
    const unsigned width = pixels_at(bytes, width_at), height = pixels_at(bytes, height_at);
    if (width < 1 || height < 1 || width > largest_logo_px || height > largest_logo_px)
        throw InputError(png.string(), "", fmt::format("{} x {} pixels", width, height), wanted);
}

struct Reading {
    const std::string& bytes;
    std::size_t at = 0;
};
cairo_status_t read_some(void* reading, unsigned char* to, unsigned int length) {
    auto& from = *static_cast<Reading*>(reading);
    if (from.bytes.size() - from.at < length) return CAIRO_STATUS_READ_ERROR;
    std::memcpy(to, from.bytes.data() + from.at, length);
    from.at += length;
    return CAIRO_STATUS_SUCCESS;
}

} // namespace

std::shared_ptr<cairo_surface_t> png_surface(const std::string& png) {
    Reading reading{png};
    return {cairo_image_surface_create_from_png_stream(read_some, &reading), cairo_surface_destroy};
}

Logo load_logo(const fs::path& png) {
    Logo logo;
    logo.png = bytes_of(png);
    hold_to_header(png, logo.png);
    logo.surface = png_surface(logo.png);
    if (cairo_surface_status(logo.surface.get()) != CAIRO_STATUS_SUCCESS)
        throw InputError(png.string(), "", "a damaged PNG", wanted);
    logo.width_px = cairo_image_surface_get_width(logo.surface.get());
    logo.height_px = cairo_image_surface_get_height(logo.surface.get());
    return logo;
}

} // namespace sparecoat::picture::document
