// Pictures: contour lines, text and maps of a panel.
#include "support/picture_support.hpp"
#include <catch2/catch.hpp>

namespace test_heatmap {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using namespace sparecoat::test::picture_support;

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
    const Panel panel =
        flat_plate(0.4, 0.3, 0.02); // coarse: reading the nearest cell would be off by many steps
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
    const Panel panel = flat_plate(0.4, 0.3, 0.02, {rectangle(0.14, 0.1, 0.26, 0.2)});
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
    const Panel panel = flat_plate(0.4, 0.3, 0.002);
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
    const Panel panel = flat_plate(0.4, 0.3, 0.002);
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
    const Panel panel = flat_plate(0.4, 0.3, 0.004);
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
        const Panel panel = flat_plate(width, height, 0.004);
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
    const Panel panel = flat_plate(0.4, 0.3, 0.004);
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
    const Panel panel = flat_plate(0.4, 0.3, 0.004);
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
    const Panel panel = flat_plate(0.5, 0.4, 0.004, {rectangle(0.2, 0.2, 0.3, 0.3)});
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
    const Panel panel = flat_plate(0.4, 0.3, 0.004);
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
    const Panel panel = flat_plate(0.4, 0.3, 0.004, {rectangle(0.1, 0.1, 0.3, 0.2)});
    std::vector<float> quiet(panel.grid.cells(), 1.0f), loud = quiet;
    for (std::size_t k = 0; k < loud.size(); ++k)
        if (!panel.inside[k]) loud[k] = 500;
    draw_heatmap(scratch.path / "quiet.png", HeatmapSpec{.panel = panel, .field_um = quiet});
    draw_heatmap(scratch.path / "loud.png", HeatmapSpec{.panel = panel, .field_um = loud});
    CHECK(bytes_of(scratch.path / "quiet.png") == bytes_of(scratch.path / "loud.png"));
}

TEST_CASE("a field with nothing known in it is drawn as unknown, not as zero") {
    const ScratchFolder scratch;
    const Panel panel = flat_plate(0.4, 0.3, 0.004);
    const std::vector<float> field(panel.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    HeatmapSpec spec{.panel = panel, .field_um = field};
    draw_heatmap(scratch.path / "map.png", spec);
    CHECK(Picture(scratch.path / "map.png").count(film_lost_colours().at(0)) < 5000); // the legend's end only
}

} // namespace test_heatmap
