#pragma once
#include "picture/canvas.hpp"
#include <filesystem>
#include <memory>
#include <string>

namespace sparecoat::picture::document {

/// A shop's logo: a PNG, read and found to be one.
struct Logo {
    std::string png; ///< its bytes
    double width_px = 0, height_px = 0;
    std::shared_ptr<cairo_surface_t> surface;
};

inline constexpr std::uintmax_t largest_logo_bytes = 4U << 20U;
inline constexpr int largest_logo_px = 4000;

/// A PNG's bytes as a surface; with Cairo's error status where they are none. @param png for this call alone.
std::shared_ptr<cairo_surface_t> png_surface(const std::string& png);

/// @throws InputError: no such file, no PNG, damaged, over 4 MiB or 4000 pixels a side.
Logo load_logo(const std::filesystem::path& png);

} // namespace sparecoat::picture::document
