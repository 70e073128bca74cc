#pragma once
// Shared by the tests of pictures.
#include "picture/canvas.hpp"
#include "picture/colour_map.hpp"
#include "picture/contours.hpp"
#include "picture/heatmap.hpp"
#include "picture/map_drawing.hpp"
#include "picture/scale.hpp"
#include "support/files.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <limits>

namespace sparecoat::test::picture_support {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

// ---- colour

inline double difference_1976(Lab p, Lab q) { return std::hypot(p.l - q.l, p.a - q.a, p.b - q.b); }

inline std::vector<Rgb> colours_of(const ColourMap& map, int count) {
    std::vector<Rgb> colours;
    for (int n = 0; n < count; ++n) colours.push_back(map.at(static_cast<double>(n) / (count - 1)));
    return colours;
}

struct Matrix {
    double m[3][3];
    std::array<double, 3> operator*(const std::array<double, 3>& v) const {
        std::array<double, 3> out{};
        for (std::size_t r = 0; r < 3; ++r)
            for (std::size_t c = 0; c < 3; ++c) out[r] += m[r][c] * v[c];
        return out;
    }
};

enum class Missing { red_cones, green_cones };

/// How an eye without one cone type sees a colour: Vienot, Brettel and Mollon, "Digital video colourmaps for
/// checking the legibility of displays by dichromats", Color Research and Application 24(4), 243-252 (1999):
/// linear RGB to cone signals, the missing signal replaced by a mix of the other two, and back. The paper's
/// gamma of 2.2 is kept; its slight dimming of the display (at most 4 %) only serves to avoid clipping.
inline Rgb seen_without(Rgb colour, Missing missing) {
    static const Matrix to_cones{
        {{17.8824, 43.5161, 4.11935}, {3.45565, 27.1554, 3.86714}, {0.0299566, 0.184309, 1.46709}}};
    static const Matrix to_rgb{{{0.080944, -0.130504, 0.116721},
                                {-0.0102485, 0.0540194, -0.113615},
                                {-0.000365294, -0.00412163, 0.693513}}};
    auto cones =
        to_cones * std::array{std::pow(colour.r, 2.2), std::pow(colour.g, 2.2), std::pow(colour.b, 2.2)};
    if (missing == Missing::red_cones) cones[0] = 2.02344 * cones[1] - 2.52581 * cones[2];
    else cones[1] = 0.494207 * cones[0] + 1.24827 * cones[2];
    const auto seen = to_rgb * cones;
    const auto back = [](double c) { return std::pow(std::clamp(c, 0.0, 1.0), 1 / 2.2); };
    return {back(seen[0]), back(seen[1]), back(seen[2])};
}

inline const std::vector<std::pair<const char*, const ColourMap*>>& all_maps() {
    static const std::vector<std::pair<const char*, const ColourMap*>> maps = {
        {"film lost", &film_lost_colours()},
        {"clear left", &clear_left_colours()},
        {"temperature", &temperature_colours()}};
    return maps;
}

// ---- panels and pictures

inline Polyline rectangle(double x0, double y0, double x1, double y1) {
    return {{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {0, 0, 0, 0}, true};
}

inline bool within(const Polyline& box, Point2 p) { // rectangles only
    return p.x > box.points[0].x && p.x < box.points[2].x && p.y > box.points[0].y && p.y < box.points[2].y;
}

/// A flat rectangular plate with its lower left corner at the origin, and a rectangular hole if given.
inline Panel flat_plate(double width_m, double height_m, double cell_m, std::vector<Polyline> holes = {}) {
    Panel panel;
    panel.name = "plate";
    panel.edge_names = {"side"};
    panel.outline = {rectangle(0, 0, width_m, height_m)};
    for (auto& hole : holes) panel.outline.push_back(std::move(hole));
    Grid& g = panel.grid;
    g.h_m = cell_m;
    g.nu = static_cast<int>(std::lround(width_m / cell_m));
    g.nv = static_cast<int>(std::lround(height_m / cell_m));
    g.x0_m = g.y0_m = cell_m / 2;
    panel.inside.assign(g.cells(), 1);
    for (std::size_t k = 0; k < g.cells(); ++k)
        for (std::size_t n = 1; n < panel.outline.size(); ++n)
            if (within(panel.outline[n], g.centre(k))) panel.inside[k] = 0;
    return panel;
}

template <typename F> std::vector<float> field_over(const Grid& grid, F value) {
    std::vector<float> field(grid.cells());
    for (std::size_t k = 0; k < field.size(); ++k) field[k] = static_cast<float>(value(grid.centre(k)));
    return field;
}

struct Picture {
    int width = 0, height = 0;
    std::vector<std::uint32_t> pixels; ///< 0xRRGGBB

    explicit Picture(const fs::path& png) {
        cairo_surface_t* image = cairo_image_surface_create_from_png(png.string().c_str());
        REQUIRE(cairo_surface_status(image) == CAIRO_STATUS_SUCCESS);
        width = cairo_image_surface_get_width(image);
        height = cairo_image_surface_get_height(image);
        const int stride = cairo_image_surface_get_stride(image);
        const unsigned char* bytes = cairo_image_surface_get_data(image);
        for (int y = 0; y < height; ++y)
            for (int x = 0; x < width; ++x) {
                std::uint32_t pixel = 0;
                std::memcpy(&pixel, bytes + y * stride + 4 * x, 4);
                pixels.push_back(pixel & 0xffffff);
            }
        cairo_surface_destroy(image);
    }

    Rgb at(double x, double y) const {
        const auto k =
            static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
        const std::uint32_t p = pixels[k];
        return {(p >> 16) / 255.0, (p >> 8 & 0xff) / 255.0, (p & 0xff) / 255.0};
    }

    /// Pixels within one step in 255 of a colour.
    long count(Rgb colour) const {
        long matching = 0;
        for (int y = 0; y < height; ++y)
            for (int x = 0; x < width; ++x) matching += alike(at(x, y), colour) ? 1 : 0;
        return matching;
    }

    static bool alike(Rgb p, Rgb q) {
        constexpr double near = 1.01 / 255; // rounding to 8 bits, once on either side
        return std::abs(p.r - q.r) < near && std::abs(p.g - q.g) < near && std::abs(p.b - q.b) < near;
    }

    /// Nothing but paper within `edge` pixels of the border.
    bool has_clean_border(int edge) const {
        for (int y = 0; y < height; ++y)
            for (int x = 0; x < width; ++x) {
                const bool border = x < edge || y < edge || x >= width - edge || y >= height - edge;
                if (border && !alike(at(x, y), {1, 1, 1})) return false;
            }
        return true;
    }
};

/// Draws only the map, in a frame whose place is known: the plate fills 400 x 300 pixels from (150, 50).
inline Picture map_of_plate(const fs::path& png, const HeatmapSpec& spec, const Scale& scale,
                            MapFrame frame = {100, 20, 500, 360, {0.2, 0.15}, 1000}) {
    const Canvas canvas(620, 460, 1, paper);
    draw_map(canvas, spec, scale, frame);
    canvas.write_png(png);
    return Picture(png);
}
inline double plate_x(double u_m) { return 150 + 1000 * u_m; }
inline double plate_y(double v_m) { return 350 - 1000 * v_m; }

} // namespace sparecoat::test::picture_support
