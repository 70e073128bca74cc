#include "panel/sources.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <csetjmp>
#include <cstring>
#include <fmt/format.h>
#include <limits>
#include <map>
#include <png.h>

namespace sparecoat::panel {
namespace {

constexpr int largest_side = 16384; ///< pixels: 4 m at a quarter of a millimetre

/// libpng leaves errors by longjmp, over which no destructor runs. Everything that owns memory is
/// therefore held here, outside the functions that jump.
struct PngReader {
    png_structp png = nullptr;
    png_infop info = nullptr;
    std::string complaint;
    std::string_view rest; ///< of the file, not read yet

    static void on_error(png_structp png, png_const_charp text) {
        static_cast<PngReader*>(png_get_error_ptr(png))->complaint = text;
        png_longjmp(png, 1);
    }
    static void on_warning(png_structp, png_const_charp) {}

    static void on_read(png_structp png, png_bytep to, std::size_t count) {
        std::string_view& rest = static_cast<PngReader*>(png_get_io_ptr(png))->rest;
        if (rest.size() < count) png_error(png, "Read Error");
        std::memcpy(to, rest.data(), count);
        rest.remove_prefix(count);
    }

    explicit PngReader(std::string_view bytes) : rest(bytes) {
        png = png_create_read_struct(PNG_LIBPNG_VER_STRING, this, on_error, on_warning);
        if (png) info = png_create_info_struct(png);
        if (info) png_set_read_fn(png, this, on_read);
    }
    ~PngReader() { png_destroy_read_struct(&png, &info, nullptr); }
    PngReader(const PngReader&) = delete;
    PngReader& operator=(const PngReader&) = delete;

    bool read_header() {
        if (!info || setjmp(png_jmpbuf(png))) return false;
        png_set_user_limits(png, largest_side, largest_side);
        png_read_info(png, info);
        return true;
    }
    /// @param rows one pointer a row, each to room for the row's bytes.
    bool read_pixels(png_bytepp rows) {
        if (setjmp(png_jmpbuf(png))) return false;
        png_read_image(png, rows);
        return true;
    }
};

std::string_view colour_name(int type) {
    switch (type) {
    case PNG_COLOR_TYPE_GRAY: return "grey";
    case PNG_COLOR_TYPE_GRAY_ALPHA: return "grey with alpha";
    case PNG_COLOR_TYPE_PALETTE: return "palette";
    case PNG_COLOR_TYPE_RGB: return "colour";
    default: return "colour with alpha";
    }
}

// ---- tracing

/// Corners between pixels, in half pixels, so that marching squares has integer names for its points.
using HalfPixel = std::pair<int, int>;

/// Marching squares over the pixels that carry panel: pieces run between the middles of neighbouring
/// pixels of which one is empty, panel on the left. Panel pixels that touch only at a corner are not joined.
std::map<HalfPixel, HalfPixel> boundary_pieces(const HeightImage& image) {
    const auto panel = [&image](int i, int j) {
        return i >= 0 && j >= 0 && i < image.width && j < image.height && image.at(i, j) != 0;
    };
    std::map<HalfPixel, HalfPixel> next;
    for (int j = -1; j < image.height; ++j)
        for (int i = -1; i < image.width; ++i) {
            const bool sw = panel(i, j), se = panel(i + 1, j), ne = panel(i + 1, j + 1), nw = panel(i, j + 1);
            if (sw == se && se == ne && ne == nw) continue;
            // middles of the square's sides; its corners are pixel centres (2 i, 2 j)
            const HalfPixel south{2 * i + 1, 2 * j}, east{2 * i + 2, 2 * j + 1}, north{2 * i + 1, 2 * j + 2},
                west{2 * i, 2 * j + 1};
            const HalfPixel side[4] = {south, east, north, west};
            const bool corner[4] = {sw, se, ne, nw};
            // going round, side k lies between corners k and k + 1: the boundary leaves the square where
            // panel gives way to nothing, and came in where nothing gave way to panel before that
            for (int k = 0; k < 4; ++k) {
                if (!corner[k] || corner[(k + 1) % 4]) continue;
                int in = (k + 3) % 4;
                while (corner[in]) in = (in + 3) % 4;
                next[side[k]] = side[in];
            }
        }
    return next;
}

/// A traced line climbs in steps of a pixel. Smoothing without shrinking (Taubin, "A signal processing
/// approach to fair surface design", SIGGRAPH 1995: a step towards the neighbours' middle, then a
/// slightly longer one back) leaves normals that follow the drawn edge.
void smooth(std::vector<Point2>& loop) {
    constexpr double forward = 0.5, back = -0.53;
    constexpr int rounds = 12;
    std::vector<Point2> moved(loop.size());
    for (int round = 0; round < rounds; ++round)
        for (double step : {forward, back}) {
            const std::size_t n = loop.size();
            for (std::size_t k = 0; k < n; ++k) {
                const Point2 middle = 0.5 * (loop[(k + n - 1) % n] + loop[(k + 1) % n]);
                moved[k] = loop[k] + step * (middle - loop[k]);
            }
            loop.swap(moved);
        }
}

} // namespace

HeightImage read_height_map(const HeightMap& map, const std::string& file) {
    if (!(map.pixel_m > 0) || !std::isfinite(map.pixel_m))
        throw InputError(file, "/height_map/pixel", fmt::format("{:g} mm", map.pixel_m / mm), "over 0 mm");
    if (!(map.full_scale_m > 0) || !(map.full_scale_m <= 2))
        throw InputError(file, "/height_map/full_scale", fmt::format("{:g} mm", map.full_scale_m / mm),
                         "over 0 and up to 2 m");
    const std::string path = map.png.string();
    constexpr std::string_view wanted = "a 16-bit grey PNG, 0 where there is no panel";
    const FileBytes png = map.bytes ? map.bytes : bytes_of_file(map.png);
    if (!png) throw InputError(path, "", "a file that cannot be opened", std::string(wanted));

    PngReader reader(*png);
    if (!reader.read_header())
        throw InputError(path, "", "no PNG (" + reader.complaint + ")", std::string(wanted));
    const int depth = png_get_bit_depth(reader.png, reader.info),
              colour = png_get_color_type(reader.png, reader.info);
    if (depth != 16 || colour != PNG_COLOR_TYPE_GRAY)
        throw InputError(path, "", fmt::format("a {}-bit {} PNG", depth, colour_name(colour)),
                         std::string(wanted));

    HeightImage image;
    image.width = static_cast<int>(png_get_image_width(reader.png, reader.info));
    image.height = static_cast<int>(png_get_image_height(reader.png, reader.info));
    image.pixel_m = map.pixel_m;
    image.step_m = map.full_scale_m / 65535;
    const auto width = static_cast<std::size_t>(image.width), height = static_cast<std::size_t>(image.height);
    std::vector<png_byte> bytes(2 * width * height); // most significant first
    std::vector<png_bytep> rows(height);
    for (std::size_t j = 0; j < height; ++j) rows[j] = bytes.data() + 2 * width * j;
    if (!reader.read_pixels(rows.data()))
        throw InputError(path, "", "a damaged PNG (" + reader.complaint + ")", std::string(wanted));
    image.grey.resize(width * height);
    for (std::size_t k = 0; k < image.grey.size(); ++k)
        image.grey[k] = static_cast<std::uint16_t>(bytes[2 * k] << 8 | bytes[2 * k + 1]);
    if (std::all_of(image.grey.begin(), image.grey.end(), [](std::uint16_t g) { return g == 0; }))
        throw InputError(path, "", "no panel: every pixel is 0", std::string(wanted));
    return image;
}

Outline trace_outline(const HeightImage& image, const std::string& file) {
    std::map<HalfPixel, HalfPixel> next = boundary_pieces(image);
    std::vector<std::vector<Point2>> loops;
    while (!next.empty()) {
        std::vector<Point2> loop;
        for (auto at = next.begin(); at != next.end();) {
            const HalfPixel here = at->first, there = at->second;
            // pixel centre (0, 0) lies half a pixel in from the picture's corner
            loop.push_back({(here.first + 1) * image.pixel_m / 2, (here.second + 1) * image.pixel_m / 2});
            next.erase(at);
            at = next.find(there);
        }
        smooth(loop);
        loops.push_back(std::move(loop));
    }
    return outline_from_loops(std::move(loops), file);
}

std::vector<double> sample_heights(const HeightImage& image, const Grid& grid) {
    std::vector<double> height_m(grid.cells(), std::numeric_limits<double>::quiet_NaN());
    for (std::size_t k = 0; k < height_m.size(); ++k) {
        const Point2 p = (1 / image.pixel_m) * grid.centre(k) - Point2{0.5, 0.5};
        const double left = std::floor(p.x), low = std::floor(p.y);
        double sum = 0, weights = 0;
        for (int dj = 0; dj < 2; ++dj)
            for (int di = 0; di < 2; ++di) {
                const int i = static_cast<int>(left) + di, j = static_cast<int>(low) + dj;
                if (i < 0 || j < 0 || i >= image.width || j >= image.height || image.at(i, j) == 0) continue;
                const double weight = (1 - std::abs(p.x - i)) * (1 - std::abs(p.y - j));
                sum += weight * image.at(i, j);
                weights += weight;
            }
        if (weights > 1e-6) height_m[k] = sum / weights * image.step_m;
    }
    return height_m;
}

} // namespace sparecoat::panel
