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

using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

namespace {

// ---- colour

double difference_1976(Lab p, Lab q) { return std::hypot(p.l - q.l, p.a - q.a, p.b - q.b); }

std::vector<Rgb> colours_of(const ColourMap& map, int count) {
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
Rgb seen_without(Rgb colour, Missing missing) {
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

const std::vector<std::pair<const char*, const ColourMap*>>& all_maps() {
    static const std::vector<std::pair<const char*, const ColourMap*>> maps = {
        {"film lost", &film_lost_colours()},
        {"clear left", &clear_left_colours()},
        {"temperature", &temperature_colours()}};
    return maps;
}

// ---- panels and pictures

Polyline rectangle(double x0, double y0, double x1, double y1) {
    return {{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {0, 0, 0, 0}, true};
}

bool within(const Polyline& box, Point2 p) { // rectangles only
    return p.x > box.points[0].x && p.x < box.points[2].x && p.y > box.points[0].y && p.y < box.points[2].y;
}

/// A flat rectangular plate with its lower left corner at the origin, and a rectangular hole if given.
Panel plate(double width_m, double height_m, double cell_m, std::vector<Polyline> holes = {}) {
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
Picture map_of_plate(const fs::path& png, const HeatmapSpec& spec, const Scale& scale,
                     MapFrame frame = {100, 20, 500, 360, {0.2, 0.15}, 1000}) {
    const Canvas canvas(620, 460, 1, paper);
    draw_map(canvas, spec, scale, frame);
    canvas.write_png(png);
    return Picture(png);
}
double plate_x(double u_m) { return 150 + 1000 * u_m; }
double plate_y(double v_m) { return 350 - 1000 * v_m; }

} // namespace

// ---- colour maps

TEST_CASE("sRGB red, white and mid grey have their published CIE L*a*b* values") {
    // Commonly tabulated for IEC 61966-2-1 primaries under D65: red 53.24, 80.09, 67.20; to the digits given.
    const Lab red = lab_of({1, 0, 0});
    CHECK(red.l == Approx(53.24).margin(0.01));
    CHECK(red.a == Approx(80.09).margin(0.01));
    CHECK(red.b == Approx(67.20).margin(0.02));
    CHECK(lab_of({1, 1, 1}).l == Approx(100).margin(1e-6));
    const Lab grey = lab_of({119.0 / 255, 119.0 / 255, 119.0 / 255}); // sRGB 119 is the nearest to L* 50
    CHECK(grey.l == Approx(50.03).margin(0.01));
    CHECK(grey.a == Approx(0).margin(1e-4)); // the matrix is given to ten figures
}

TEST_CASE("a colour survives the way to L*a*b* and back") {
    for (const Rgb c : {Rgb{0.02, 0.5, 0.9}, Rgb{0, 0, 0}, Rgb{0.99, 0.01, 0.3}}) {
        const Rgb back = rgb_of(lab_of(c));
        CHECK(back.r == Approx(c.r).margin(1e-7)); // the two matrices are each rounded at ten figures
        CHECK(back.g == Approx(c.g).margin(1e-7));
        CHECK(back.b == Approx(c.b).margin(1e-7));
    }
}

TEST_CASE("lightness of every colour map runs strictly one way and nearly straight") {
    for (const auto& [name, map] : all_maps()) {
        INFO(name);
        const auto colours = colours_of(*map, 256);
        const double first = lab_of(colours.front()).l, last = lab_of(colours.back()).l;
        CHECK(std::abs(last - first) > 70); // a wide span is what makes small differences visible
        for (std::size_t n = 0; n < colours.size(); ++n) {
            const double straight = first + (last - first) * static_cast<double>(n) / 255;
            // Walking at even colour difference bends lightness a little where hue turns fastest.
            CHECK(std::abs(lab_of(colours[n]).l - straight) < 3);
            if (n > 0) CHECK((lab_of(colours[n]).l - lab_of(colours[n - 1]).l) * (last - first) > 0);
        }
    }
}

TEST_CASE("lightness still runs one way when colours are rounded to a PNG's eight bits") {
    for (const auto& [name, map] : all_maps()) {
        INFO(name);
        auto colours = colours_of(*map, 64); // steps of 1.2 L*, several times what rounding moves
        for (Rgb& c : colours)
            c = {std::round(c.r * 255) / 255, std::round(c.g * 255) / 255, std::round(c.b * 255) / 255};
        const double way = lab_of(colours.back()).l - lab_of(colours.front()).l;
        for (std::size_t n = 1; n < colours.size(); ++n)
            CHECK((lab_of(colours[n]).l - lab_of(colours[n - 1]).l) * way > 0);
    }
}

TEST_CASE("neighbouring colours of a map are all equally different") {
    for (const auto& [name, map] : all_maps()) {
        INFO(name);
        const auto colours = colours_of(*map, 256);
        double least = 1e9, most = 0;
        for (std::size_t n = 1; n < colours.size(); ++n) {
            const double step = difference_1976(lab_of(colours[n]), lab_of(colours[n - 1]));
            least = std::min(least, step);
            most = std::max(most, step);
        }
        CHECK(most / least < 1.02); // even by construction; what is left is reading between 1025 steps
        CHECK(least > 0.4);         // and no two of them alike
    }
}

TEST_CASE("no colour of a map had to be cut off at the edge of sRGB") {
    // A clamped part would be exactly 0 or 1; the ends of these maps are neither black nor white.
    for (const auto& [name, map] : all_maps())
        for (const Rgb c : colours_of(*map, 1025)) {
            INFO(name);
            REQUIRE((c.r > 0 && c.r < 1 && c.g > 0 && c.g < 1 && c.b > 0 && c.b < 1));
        }
}

TEST_CASE("eyes without red or green cones see lightness run strictly one way too") {
    for (const auto& [name, map] : all_maps())
        for (const Missing missing : {Missing::red_cones, Missing::green_cones}) {
            INFO(name << (missing == Missing::red_cones ? ", protan" : ", deutan"));
            const auto colours = colours_of(*map, 256);
            const double mean_step = (lab_of(seen_without(colours.back(), missing)).l -
                                      lab_of(seen_without(colours.front(), missing)).l) /
                                     255;
            CHECK(std::abs(mean_step) * 255 > 65);
            for (std::size_t n = 1; n < colours.size(); ++n) {
                const double step = lab_of(seen_without(colours[n], missing)).l -
                                    lab_of(seen_without(colours[n - 1], missing)).l;
                CHECK(step / mean_step > 0.4); // no stretch where they would see next to no change
            }
        }
}

TEST_CASE("a map of differences is lightest at nothing, and as much less is as far from it as as much more") {
    const auto colours = colours_of(difference_colours(), 257);
    CHECK(lab_of(colours[128]).l > 95);
    CHECK(std::hypot(lab_of(colours[128]).a, lab_of(colours[128]).b) < 1); // and without a hue
    double least = 1e9, most = 0;
    for (std::size_t n = 1; n <= 128; ++n) {
        const Lab less = lab_of(colours[128 - n]), more = lab_of(colours[128 + n]);
        CHECK(less.l == Approx(more.l).margin(1e-3));
        CHECK(less.l < lab_of(colours[128 - n + 1]).l);
        const double step = difference_1976(more, lab_of(colours[128 + n - 1]));
        least = std::min(least, step), most = std::max(most, step);
    }
    CHECK(most / least < 1.02); // even steps from the middle out, as in the other maps
    for (const Rgb c : colours_of(difference_colours(), 1025))
        REQUIRE((c.r > 0 && c.r < 1 && c.g > 0 && c.g < 1 && c.b > 0 && c.b < 1));
}

TEST_CASE("eyes without red or green cones tell more from less in a map of differences") {
    for (const Missing missing : {Missing::red_cones, Missing::green_cones})
        for (const double share : {0.1, 0.2, 0.3, 0.5}) { // of the way to either end; 2.3 is just noticeable
            const Rgb less = difference_colours().at(0.5 - share),
                      more = difference_colours().at(0.5 + share);
            CHECK(difference_1976(lab_of(seen_without(less, missing)), lab_of(seen_without(more, missing))) >
                  15);
        }
}

TEST_CASE("the simulation of missing cones leaves greys alone and makes some reds and greens alike") {
    // Guards the check above: with a wrong matrix it would prove nothing.
    const Rgb grey = seen_without({0.5, 0.5, 0.5}, Missing::green_cones);
    CHECK(grey.r == Approx(0.5).margin(0.01)); // neutral stays neutral within the paper's figures
    CHECK(grey.g == Approx(0.5).margin(0.01));
    const Rgb red{0.72, 0.42, 0.30}, green{0.50, 0.53, 0.27};
    const double normal = difference_1976(lab_of(red), lab_of(green));
    const double deutan = difference_1976(lab_of(seen_without(red, Missing::green_cones)),
                                          lab_of(seen_without(green, Missing::green_cones)));
    CHECK(deutan < normal / 3);
}

TEST_CASE("a share outside the range takes the colour of the nearer end") {
    const ColourMap& map = film_lost_colours();
    CHECK(Picture::alike(map.at(-3), map.at(0)));
    CHECK(Picture::alike(map.at(7), map.at(1)));
    CHECK(Picture::alike(map.at(std::nan("")), map.at(0)));
    CHECK_FALSE(Picture::alike(map.at(0), map.at(1)));
}

// ---- scales

TEST_CASE("a scale has round divisions and reaches past the values") {
    for (const auto& [low, high] :
         {std::pair{0.31, 2.56}, {34.3, 41.1}, {0.0145, 0.0962}, {-3.2, 8.8}, {1200.0, 5100.0}, {0.0, 7.0}}) {
        const Scale scale = round_scale(low, high);
        INFO(low << " to " << high);
        CHECK(scale.low <= low);
        CHECK(scale.high >= high);
        CHECK(scale.ticks.size() >= 4); // about six divisions, between 4 and 10 once widened
        CHECK(scale.ticks.size() <= 11);
        CHECK(scale.ticks.front() == Approx(scale.low));
        CHECK(scale.ticks.back() == Approx(scale.high));
        const double lead = scale.step / std::pow(10, std::floor(std::log10(scale.step) + 1e-9));
        CHECK((std::abs(lead - 1) < 1e-9 || std::abs(lead - 2) < 1e-9 || std::abs(lead - 2.5) < 1e-9 ||
               std::abs(lead - 5) < 1e-9));
    }
}

TEST_CASE("a scale takes in zero only where the values come near it") {
    CHECK(round_scale(0.9, 3).low == 0); // not 0.5, the next round number below
    CHECK(round_scale(34, 41).low == Approx(34));
}

TEST_CASE("a field that is the same everywhere still gets a scale") {
    CHECK(round_scale(0, 0).high == Approx(1));
    const Scale level = round_scale(42, 42);
    CHECK(level.low < 42);
    CHECK(level.high > 42);
}

TEST_CASE("a locked scale keeps its ends and refuses to run backwards") {
    const Scale scale = locked_scale(0.3, 7.7);
    CHECK(scale.low == 0.3);
    CHECK(scale.high == 7.7);
    CHECK(scale.ticks.front() == Approx(1));
    CHECK(scale.ticks.back() == Approx(7));
    CHECK_THROWS_AS(locked_scale(2, 2), std::invalid_argument);
    CHECK_THROWS_AS(locked_scale(3, 2), std::invalid_argument);
}

TEST_CASE("numbers on a scale have the decimals of its step") {
    CHECK(tick_text(2, 0.5) == "2.0");
    CHECK(tick_text(0.25, 0.25) == "0.25");
    CHECK(tick_text(1200, 200) == "1200");
    CHECK(tick_text(-0.5, 0.1) == "\u22120.5");
    CHECK(tick_text(-1e-17, 0.1) == "0.0");
}

// ---- contour lines

namespace {
Grid square_grid(int n, double h) { return {n, n, h, 0, 0}; }

std::vector<Contour> contours_of(const Grid& grid, const std::vector<float>& field,
                                 std::vector<double> levels) {
    return trace_contours(grid, field, std::vector<std::uint8_t>(grid.cells(), 1), levels);
}

double area_of(const Contour& loop) { // signed, counter-clockwise positive
    double twice = 0;
    for (std::size_t n = 0; n < loop.points.size(); ++n) {
        const Point2 p = loop.points[n], q = loop.points[(n + 1) % loop.points.size()];
        twice += p.x * q.y - p.y * q.x;
    }
    return twice / 2;
}
} // namespace

TEST_CASE("contours of a cone are closed circles of the right radius") {
    const Grid grid = square_grid(81, 0.01);
    const Point2 tip{0.404, 0.397}; // on no grid line
    const auto field = field_over(grid, [&](Point2 p) { return 1 - norm(p - tip); });
    for (const double radius : {0.05, 0.2, 0.35}) {
        const auto lines = contours_of(grid, field, {1 - radius});
        REQUIRE(lines.size() == 1);
        CHECK(lines[0].closed);
        // Along a side the cone bends by up to h²/(8 r): at most 0.03 of a cell at the smallest circle.
        for (const Point2 p : lines[0].points) CHECK(norm(p - tip) == Approx(radius).margin(0.03 * grid.h_m));
        CHECK(area_of(lines[0]) ==
              Approx(pi * radius * radius).epsilon(0.02)); // positive: high side on the left
    }
}

TEST_CASE("a contour crosses a paraboloid within linear interpolation's error") {
    const Grid grid = square_grid(61, 0.02);
    const Point2 pit{0.61, 0.59};
    const auto field = field_over(grid, [&](Point2 p) { return dot(p - pit, p - pit); });
    const auto lines = contours_of(grid, field, {0.16});
    REQUIRE(lines.size() == 1);
    for (const Point2 p : lines[0].points)
        CHECK(norm(p - pit) == Approx(0.4).margin(grid.h_m * grid.h_m / 8 / 0.4)); // h²/8 x f'' / |f'|
    CHECK(area_of(lines[0]) < 0); // round a pit the high side is outside
}

TEST_CASE("a sloping plane gives one straight open line a level") {
    const Grid grid = square_grid(20, 1);
    const auto field = field_over(grid, [](Point2 p) { return 2 * p.x + p.y; });
    const auto lines = contours_of(grid, field, {10.3, 30.7});
    REQUIRE(lines.size() == 2);
    for (const Contour& line : lines) {
        CHECK_FALSE(line.closed);
        for (const Point2 p : line.points) CHECK(2 * p.x + p.y == Approx(line.level).margin(1e-9));
    }
    CHECK(lines[0].level == 10.3);
}

TEST_CASE("a saddle is joined across a high middle and parted by a low one") {
    const Grid grid = square_grid(2, 1);
    const std::vector<float> field = {3, 0, 0, 2}; // high at two opposite corners, mean 1.25
    const auto ends_near = [](const Contour& line, Point2 corner) {
        return norm(line.points.front() - corner) < 1 && norm(line.points.back() - corner) < 1;
    };
    const auto joined = contours_of(grid, field, {1.2}); // middle above: lines turn round the low corners
    REQUIRE(joined.size() == 2);
    CHECK((ends_near(joined[0], {1, 0}) || ends_near(joined[1], {1, 0})));
    CHECK((ends_near(joined[0], {0, 1}) || ends_near(joined[1], {0, 1})));
    const auto parted = contours_of(grid, field, {1.3}); // middle below: lines turn round the high corners
    REQUIRE(parted.size() == 2);
    CHECK((ends_near(parted[0], {0, 0}) || ends_near(parted[1], {0, 0})));
    CHECK((ends_near(parted[0], {1, 1}) || ends_near(parted[1], {1, 1})));
}

TEST_CASE("contours stop at the mask and at values that are not numbers") {
    const Grid grid = square_grid(41, 0.01);
    auto field = field_over(grid, [](Point2 p) { return p.y; });
    std::vector<std::uint8_t> inside(grid.cells(), 1);
    for (int j = 0; j < 41; ++j) inside[grid.index(12, j)] = 0;
    for (int j = 0; j < 41; ++j) field[grid.index(30, j)] = std::numeric_limits<float>::quiet_NaN();
    const auto lines = trace_contours(grid, field, inside, std::vector<double>{0.2051});
    REQUIRE(lines.size() == 3);
    std::vector<std::pair<double, double>> spans;
    for (const Contour& line : lines)
        spans.emplace_back(std::minmax(line.points.front().x, line.points.back().x));
    std::sort(spans.begin(), spans.end());
    CHECK(spans[0].second == Approx(0.11));
    CHECK(spans[1].first == Approx(0.13));
    CHECK(spans[1].second == Approx(0.29));
    CHECK(spans[2].first == Approx(0.31));
}

TEST_CASE("a level that is met exactly at cell centres gives one clean loop") {
    const Grid grid = square_grid(21, 1);
    const auto field =
        field_over(grid, [](Point2 p) { return 10 - std::abs(p.x - 10) - std::abs(p.y - 10); });
    const auto lines = contours_of(grid, field, {4});
    REQUIRE(lines.size() == 1);
    CHECK(lines[0].closed);
    CHECK(area_of(lines[0]) ==
          Approx(72)); // a diamond of half diagonal 6, exact: the field is linear on every side
    for (std::size_t n = 1; n < lines[0].points.size(); ++n)
        CHECK(norm(lines[0].points[n] - lines[0].points[n - 1]) > 1e-6);
}

TEST_CASE("contours come out the same every time and refuse fields of another size") {
    const Grid grid = square_grid(60, 0.01);
    const auto field = field_over(grid, [](Point2 p) { return std::sin(31 * p.x) * std::cos(23 * p.y); });
    const auto a = contours_of(grid, field, {-0.5, 0, 0.5}), b = contours_of(grid, field, {-0.5, 0, 0.5});
    REQUIRE(a.size() == b.size());
    CHECK(a.size() > 6);
    for (std::size_t n = 0; n < a.size(); ++n) {
        REQUIRE(a[n].points.size() == b[n].points.size());
        CHECK(std::memcmp(a[n].points.data(), b[n].points.data(), a[n].points.size() * sizeof(Point2)) == 0);
    }
    CHECK_THROWS_AS(contours_of(grid, std::vector<float>(7), {0}), std::invalid_argument);
}

// ---- text

TEST_CASE("text is wrapped to its width and a number keeps its unit") {
    const TextStyle style{18, false, ink};
    const std::string label = "4.83 µm lost, 31.2 µm clear left, 6 mm from window sill";
    const double width =
        text_width("4.83 µm lost, 31.2 µm clear left, 6", style) + 1; // room for the 6, not for its mm
    const auto lines = wrap_text(label, style, width);
    REQUIRE(lines.size() == 2);
    CHECK(lines[0] == "4.83 µm lost, 31.2 µm clear left,");
    CHECK(lines[1] == "6 mm from window sill");
}

TEST_CASE("a word wider than its line is broken between characters") {
    const TextStyle style{18, false, ink};
    const auto lines = wrap_text("µµµµµµµµµµµµµµµµµµµµµµµµµµµµµµ", style, 100);
    CHECK(lines.size() > 2);
    std::string joined;
    for (const std::string& line : lines) {
        CHECK(text_width(line, style) <= 100);
        CHECK(valid_utf8(line) == line);
        joined += line;
    }
    CHECK(joined == "µµµµµµµµµµµµµµµµµµµµµµµµµµµµµµ");
}

TEST_CASE("bytes that are not UTF-8 are shown as question marks") {
    CHECK(valid_utf8("µm ° − 漆 🚐") == "µm ° − 漆 🚐");
    CHECK(valid_utf8("a\xff\xfe"
                     "b") == "a??b");
    CHECK(valid_utf8("\xc2") == "?");                // cut short
    CHECK(valid_utf8("\xc0\xaf") == "??");           // overlong
    CHECK(valid_utf8("\xed\xa0\x80") == "???");      // surrogate
    CHECK(valid_utf8("\xf4\x90\x80\x80") == "????"); // beyond U+10FFFF
}

// ---- maps

TEST_CASE("a map shows each place in the colour of its value, with v up") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.02); // coarse: reading the nearest cell would be off by many steps
    const auto field = field_over(panel.grid, [](Point2 p) { return 12 * p.x + 16 * p.y; });
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.contours = false;
    const Picture map = map_of_plate(scratch.path / "map.png", spec, locked_scale(0, 10));
    for (const Point2 p :
         {Point2{0.059, 0.059}, Point2{0.341, 0.061}, Point2{0.062, 0.258}, Point2{0.3, 0.2}}) {
        const double x = plate_x(p.x),
                     y = plate_y(p.y); // pixel (x, y) covers x to x + 1: its middle is half a mm on
        const Rgb shown = map.at(x, y);
        const Rgb meant = film_lost_colours().at((12 * (p.x + 0.0005) + 16 * (p.y - 0.0005)) / 10);
        CHECK(shown.r == Approx(meant.r).margin(1.01 / 255)); // rounding to 8 bits; a plane is read exactly
        CHECK(shown.g == Approx(meant.g).margin(1.01 / 255));
        CHECK(shown.b == Approx(meant.b).margin(1.01 / 255));
    }
}

TEST_CASE("a map leaves holes and surroundings calm and colours up to the outline") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.02, {rectangle(0.14, 0.1, 0.26, 0.2)});
    std::vector<float> field(panel.grid.cells(), 5.0f);
    HeatmapSpec spec{.panel = panel, .field_um = field};
    const Picture map = map_of_plate(scratch.path / "map.png", spec, locked_scale(0, 10));
    const Rgb film = film_lost_colours().at(0.5);
    CHECK(Picture::alike(map.at(plate_x(0.2), plate_y(0.15)), surroundings));
    CHECK(Picture::alike(map.at(plate_x(-0.02), plate_y(0.15)), surroundings));
    // A few pixels within each edge, well beyond the last cell centre, the colour is still the field's.
    CHECK(Picture::alike(map.at(plate_x(0.003), plate_y(0.15)), film));
    CHECK(Picture::alike(map.at(plate_x(0.396), plate_y(0.15)), film));
    CHECK(Picture::alike(map.at(plate_x(0.2), plate_y(0.204)), film));
    CHECK(Picture::alike(map.at(plate_x(0.136), plate_y(0.15)), film));
}

TEST_CASE("a map draws contour lines where the field has their value") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.002);
    const auto field = field_over(panel.grid, [](Point2 p) { return 10 * p.x; });
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.contour_levels_um = {1.0};
    const Picture map = map_of_plate(scratch.path / "map.png", spec, locked_scale(0, 4));
    int dark = 0; // the line stands at u = 0.1 m, x = 250; its number interrupts it somewhere
    for (int y = 60; y < 340; ++y) {
        const double line = std::min(lab_of(map.at(249, y)).l, lab_of(map.at(250, y)).l);
        if (line < lab_of(film_lost_colours().at(0.25)).l - 15) ++dark;
    }
    CHECK(dark > 200);
}

TEST_CASE("a marked spot puts ink at its place and keeps its badge inside the frame") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.002);
    std::vector<float> field(panel.grid.cells(), 0.0f);
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.contours = false;
    spec.spots = {
        {{0, 0}, "a"}, {{0.4, 0.3}, "b"}, {{0.4, 0.299}, "c"}, {{0.2, 0.15}, "d"}, {{0.201, 0.15}, "e"}};
    const Picture map = map_of_plate(scratch.path / "map.png", spec, locked_scale(0, 10));
    for (const Spot& spot : spec.spots) {
        int dark = 0;
        for (int n = 0; n < 64; ++n) {
            const double x = plate_x(spot.at.x) + 6.5 * std::cos(2 * pi * n / 64);
            const double y = plate_y(spot.at.y) + 6.5 * std::sin(2 * pi * n / 64);
            if (lab_of(map.at(x, y)).l < 60) ++dark;
        }
        CHECK(dark > 28); // at least half of the ring, where a neighbour's white halo covers the rest
    }
}

TEST_CASE("badges of spots in the corners of a narrow frame stay whole") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.004);
    std::vector<float> field(panel.grid.cells(), 0.0f);
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.contours = false;
    spec.spots = {{{0, 0}, "a"}, {{0.4, 0}, "b"}, {{0.4, 0.3}, "c"}, {{0, 0.3}, "d"}, {{0.4, 0.15}, "e"}};
    const MapFrame frame{140, 40, 420, 320, {0.2, 0.15}, 1000}; // ten pixels of air, less than a badge
    const Picture map = map_of_plate(scratch.path / "map.png", spec, locked_scale(0, 10), frame);
    int white = 0; // only badges and halos are pure white inside the frame
    for (int y = 42; y < 358; ++y)
        for (int x = 142; x < 558; ++x) white += Picture::alike(map.at(x, y), {1, 1, 1}) ? 1 : 0;
    CHECK(white > 5 * 520); // a whole badge shows about 540: a disc of 28 pixels less its digit, and its rim
}

TEST_CASE("a heatmap is as wide as asked and nothing touches its border") {
    const ScratchFolder scratch;
    const std::string endless(120, 'W'), wordy = "4.83 µm lost, 31.2 µm clear left, 6 mm from window sill";
    for (const auto& [width, height] : {std::pair{1.1, 0.8}, {2.4, 0.2}, {0.12, 1.2}, {0.2, 0.2}}) {
        INFO(width << " x " << height << " m");
        const Panel panel = plate(width, height, 0.004);
        const auto field = field_over(
            panel.grid, [w = width](Point2 p) { return 3 + 2 * std::sin(9 * p.x / w) * std::cos(12 * p.y); });
        HeatmapSpec spec{.panel = panel, .field_um = field};
        spec.title = "Film lost: " + wordy + " " + wordy + " " + wordy;
        spec.subtitle = {endless, wordy};
        spec.quantity = endless;
        spec.pad_path = {{{-1, -1}, {width + 1, height + 1}}};
        spec.pad_diameter_m = 0.15;
        for (const Point2 at : {Point2{0, 0}, Point2{width, 0}, Point2{width, height}, Point2{0, height},
                                Point2{width, height / 2}})
            spec.spots.push_back({at, at.x > 0 ? wordy : endless});
        const fs::path png = scratch.path / "map.png";
        draw_heatmap(png, spec);
        const Picture picture(png);
        CHECK(picture.has_clean_border(24));
        if (width > 0.5) CHECK(picture.width == 1600);
        else CHECK(picture.width <= 1600);
    }
}

TEST_CASE("a locked range fixes the colour of a value") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.004);
    std::vector<float> field(panel.grid.cells(), 5.08f); // 0.2 mil
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.range = FilmRange{0, 20.32};
    spec.contours = false;
    const fs::path png = scratch.path / "map.png";
    for (const FilmUnit unit : {FilmUnit::um, FilmUnit::mil}) {
        spec.unit = unit;
        draw_heatmap(png, spec);
        CHECK(Picture(png).count(film_lost_colours().at(0.25)) >
              300000); // most of the plate's 966 x 725 pixels
    }
}

TEST_CASE("maps side by side share one scale of colour") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.004);
    const std::vector<float> little(panel.grid.cells(), 1.0f), much(panel.grid.cells(), 3.0f);
    HeatmapSpec a{.panel = panel, .field_um = little}, b{.panel = panel, .field_um = much};
    a.title = "a little";
    b.title = "much";
    a.contours = false;
    b.range = FilmRange{0, 100}; // the first map's range counts, and it has none
    const fs::path png = scratch.path / "both.png";
    draw_side_by_side(png, {"Two techniques", {}, 2000}, {a, b});
    const Picture picture(png);
    CHECK(picture.width == 2000);
    CHECK(picture.has_clean_border(24));
    const Scale scale = round_scale(1, 3);
    CHECK(picture.count(film_lost_colours().at(scale.share(1))) > 150000); // about 650 x 490 pixels a plate
    CHECK(picture.count(film_lost_colours().at(scale.share(3))) > 150000);
    CHECK_THROWS_AS(draw_side_by_side(png, {}, {a}), std::invalid_argument);
}

TEST_CASE("the same map drawn twice is the same file") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.5, 0.4, 0.004, {rectangle(0.2, 0.2, 0.3, 0.3)});
    const auto field =
        field_over(panel.grid, [](Point2 p) { return 2 + std::sin(20 * p.x) * std::sin(15 * p.y); });
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.title = "Film lost";
    spec.spots = {{{0.1, 0.1}, "one"}, {{0.4, 0.1}, "two"}};
    draw_heatmap(scratch.path / "a.png", spec);
    draw_heatmap(scratch.path / "b.png", spec);
    CHECK(bytes_of(scratch.path / "a.png") == bytes_of(scratch.path / "b.png"));
}

TEST_CASE("a heatmap refuses a spec that contradicts itself and a file it cannot write") {
    const ScratchFolder scratch;
    const fs::path png = scratch.path / "map.png";
    const Panel panel = plate(0.4, 0.3, 0.004);
    const std::vector<float> field(panel.grid.cells(), 1.0f), other(12, 1.0f);
    CHECK_THROWS_AS(draw_heatmap(png, HeatmapSpec{.panel = panel, .field_um = other}), std::invalid_argument);
    HeatmapSpec spec{.panel = panel, .field_um = field};
    spec.range = FilmRange{3, 3};
    CHECK_THROWS_AS(draw_heatmap(png, spec), std::invalid_argument);
    spec.range.reset();
    spec.spots.assign(10, Spot{});
    CHECK_THROWS_AS(draw_heatmap(png, spec), std::invalid_argument);
    spec.spots.clear();
    Panel bare = panel;
    bare.outline.clear();
    CHECK_THROWS_AS(draw_heatmap(png, HeatmapSpec{.panel = bare, .field_um = field}), std::invalid_argument);
    CHECK_FALSE(fs::exists(png));
    CHECK_THROWS_AS(draw_heatmap(scratch.path / "no such folder" / "map.png", spec), InputError);
}

TEST_CASE("what a field holds outside the panel changes nothing in its picture") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.004, {rectangle(0.1, 0.1, 0.3, 0.2)});
    std::vector<float> quiet(panel.grid.cells(), 1.0f), loud = quiet;
    for (std::size_t k = 0; k < loud.size(); ++k)
        if (!panel.inside[k]) loud[k] = 500;
    draw_heatmap(scratch.path / "quiet.png", HeatmapSpec{.panel = panel, .field_um = quiet});
    draw_heatmap(scratch.path / "loud.png", HeatmapSpec{.panel = panel, .field_um = loud});
    CHECK(bytes_of(scratch.path / "quiet.png") == bytes_of(scratch.path / "loud.png"));
}

TEST_CASE("a field with nothing known in it is drawn as unknown, not as zero") {
    const ScratchFolder scratch;
    const Panel panel = plate(0.4, 0.3, 0.004);
    const std::vector<float> field(panel.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    HeatmapSpec spec{.panel = panel, .field_um = field};
    draw_heatmap(scratch.path / "map.png", spec);
    CHECK(Picture(scratch.path / "map.png").count(film_lost_colours().at(0)) < 5000); // the legend's end only
}
