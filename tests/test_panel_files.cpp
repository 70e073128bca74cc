// Panels: from meshes and height maps.
#include "support/panel_support.hpp"
#include <catch2/catch.hpp>

namespace test_panel_files {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using namespace sparecoat::test::panel_support;

// ---- mesh

namespace {

using P3 = std::array<double, 3>;

/// A sheet over a square lattice, each corner placed by `lift`, with squares left out where `hole` says.
struct LatticeMesh {
    std::vector<P3> points;
    std::vector<std::array<int, 3>> triangles;

    LatticeMesh(int n, const std::function<P3(double, double)>& lift,
                const std::function<bool(double, double)>& hole) {
        for (int j = 0; j <= n; ++j)
            for (int i = 0; i <= n; ++i) points.push_back(lift(i / double(n), j / double(n)));
        for (int j = 0; j < n; ++j)
            for (int i = 0; i < n; ++i) {
                if (hole((i + 0.5) / n, (j + 0.5) / n)) continue;
                const int a = j * (n + 1) + i, b = a + 1, c = b + n + 1, d = c - 1;
                triangles.push_back({a, b, c});
                triangles.push_back({a, c, d});
            }
    }

    void write_obj(const std::filesystem::path& path) const {
        std::ofstream out(path);
        out.precision(9);
        for (const P3& p : points) out << "v " << p[0] << ' ' << p[1] << ' ' << p[2] << '\n';
        for (const auto& t : triangles) out << "f " << t[0] + 1 << ' ' << t[1] + 1 << ' ' << t[2] + 1 << '\n';
    }

    void write_stl(const std::filesystem::path& path) const {
        std::ofstream out(path);
        out.precision(9);
        out << "solid sheet\n";
        for (const auto& t : triangles) {
            out << "facet normal 0 0 0\nouter loop\n";
            for (int corner : t) {
                const P3& p = points[static_cast<std::size_t>(corner)];
                out << "vertex " << p[0] << ' ' << p[1] << ' ' << p[2] << '\n';
            }
            out << "endloop\nendfacet\n";
        }
        out << "endsolid sheet\n";
    }
};

/// mm: part of a sphere of radius 800 mm over a 200 mm square about the origin.
P3 cap(double s, double t) {
    const double x = 200 * s - 100, y = 200 * t - 100;
    return {x, y, std::sqrt(800.0 * 800.0 - x * x - y * y)};
}
bool no_hole(double, double) { return false; }
bool middle_hole(double s, double t) { return std::abs(s - 0.5) < 0.1 && std::abs(t - 0.5) < 0.1; }

Panel built_mesh(const std::filesystem::path& file, double spacing_m = 0.002) {
    return build_panel({"sheet", "steel", Mesh{file, 1e-3}}, spacing_m, "sample.json");
}

void check_cap(const Panel& panel) {
    // heights against the middle of one side; facets of 4 mm lie up to 4² / (8 R) * 2 = 5 µm under the sphere
    const auto sphere = [](Point2 p) { return std::sqrt(0.64 - p.x * p.x - p.y * p.y); };
    const Point2 reference = panel.grid.centre(cell_at(panel, {-0.099, 0.001}));
    const double offset = static_cast<double>(panel.height_m[cell_at(panel, reference)]) - sphere(reference);
    double worst = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (panel.inside[k])
            worst = std::max(worst, std::abs(static_cast<double>(panel.height_m[k]) - offset -
                                             sphere(panel.grid.centre(k))));
    CHECK(worst < 6e-6);
    CHECK(panel.area_m2() == Approx(0.2 * 0.2 - 0.04 * 0.04).epsilon(0.001));
    CHECK(panel.inside[cell_at(panel, {0.001, 0.001})] == 0);
    CHECK(panel.edge_names == std::vector<std::string>{"outline", "hole 1"});
    CHECK(signed_distance(panel.outline, {0.03, 0}) == Approx(0.01).margin(1e-6)); // boundary edges are exact
    double bend = 0;
    int count = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (panel.edge_distance_m[k] > 0.01f) {
            bend += static_cast<double>(panel.laplacian_per_m[k]);
            ++count;
        }
    // of a sphere seen from above: -2 / R at the top, a little more towards the sides
    CHECK(bend / count == Approx(-2 / 0.8).epsilon(0.02));
}

} // namespace

TEST_CASE("an OBJ mesh of a spherical cap gives the sphere's heights and its hole") {
    const ScratchFolder scratch;
    LatticeMesh(50, cap, middle_hole).write_obj(scratch / "cap.obj");
    check_cap(built_mesh(scratch / "cap.obj"));
}

TEST_CASE("an STL mesh, which repeats every corner, gives the same panel") {
    const ScratchFolder scratch;
    LatticeMesh(50, cap, middle_hole).write_stl(scratch / "cap.stl");
    check_cap(built_mesh(scratch / "cap.stl"));
}

TEST_CASE("a mesh is seen along its own mean normal, whichever way it lies in its file") {
    const ScratchFolder scratch;
    const auto upright = [](double s, double t) -> P3 { // x to the right, panel standing up along z
        const P3 p = cap(s, t);
        return {p[0] + 500, -p[2], p[1] + 900};
    };
    LatticeMesh(50, upright, middle_hole).write_obj(scratch / "upright.obj");
    const Panel panel = built_mesh(scratch / "upright.obj");
    CHECK(panel.grid.x(3) - panel.grid.h_m / 2 == Approx(0.4).margin(1e-6)); // u stays the file's x
    const float top = panel.height_m[cell_at(panel, {0.525, 0.901})];
    const float side = panel.height_m[cell_at(panel, {0.597, 0.901})];
    CHECK(top > side); // the crest faces the pad
    CHECK(panel.area_m2() == Approx(0.2 * 0.2 - 0.04 * 0.04).epsilon(0.001));
}

TEST_CASE("faces that are there twice change nothing") {
    const ScratchFolder scratch;
    LatticeMesh mesh(20, cap, middle_hole);
    mesh.write_obj(scratch / "once.obj");
    const auto once = mesh.triangles;
    mesh.triangles.insert(mesh.triangles.end(), once.begin(), once.end());
    mesh.write_obj(scratch / "twice.obj");
    const Panel a = built_mesh(scratch / "once.obj"), b = built_mesh(scratch / "twice.obj");
    CHECK(a.inside == b.inside);
    CHECK(a.height_m == b.height_m);
}

TEST_CASE("a sheet folded back under itself is refused with the place of the fold") {
    const ScratchFolder scratch;
    const auto folded = [](double s, double t) -> P3 { // out to x = 150, then back to 50 beneath
        const double run = 250 * s;
        return run < 150 ? P3{run, 200 * t, 0} : P3{300 - run, 200 * t, -10};
    };
    LatticeMesh(50, folded, no_hole).write_obj(scratch / "fold.obj");
    const std::string text = complaint([&] { built_mesh(scratch / "fold.obj"); });
    CHECK_THAT(text, Contains("fold.obj") && Contains("a fold that hides surface"));
    double x = 0, y = 0, z = 0;
    REQUIRE(std::sscanf(text.c_str() + text.find('('), "(%lf, %lf, %lf)", &x, &y, &z) == 3);
    CHECK((x >= 50 && x <= 150));
    CHECK(z == Approx(-10).margin(0.1)); // as printed
}

TEST_CASE("two layers that both face the pad are refused where they lie over each other") {
    const ScratchFolder scratch;
    const auto ramp = [](double s, double t) -> P3 { // a spiral ramp that passes over its own start
        const double angle = -7 * s, r = 50 + 100 * t;
        return {r * std::cos(angle), r * std::sin(angle), 30 * s};
    };
    LatticeMesh(60, ramp, no_hole).write_obj(scratch / "ramp.obj");
    CHECK_THAT(complaint([&] { built_mesh(scratch / "ramp.obj"); }),
               Contains("fold") && Contains("two layers"));
}

TEST_CASE("two sheets in one mesh file are refused") {
    const ScratchFolder scratch;
    LatticeMesh mesh(20, cap, no_hole);
    const int first = static_cast<int>(mesh.points.size());
    for (const P3& p : {P3{300, 0, 790}, P3{400, 0, 790}, P3{300, 90, 790}}) mesh.points.push_back(p);
    mesh.triangles.push_back({first, first + 1, first + 2});
    mesh.write_obj(scratch / "two.obj");
    CHECK_THAT(complaint([&] { built_mesh(scratch / "two.obj"); }), Contains("second sheet of 45 cm2"));
}

TEST_CASE("empty, closed, broken and missing meshes are refused by name") {
    const ScratchFolder scratch;
    const auto text_of = [&](const std::string& name, const std::string& content) {
        std::ofstream(scratch / name) << content;
        return complaint([&] { built_mesh(scratch / name); });
    };
    CHECK_THAT(text_of("empty.obj", ""), Contains("empty.obj"));
    CHECK_THAT(text_of("points.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\n"), Contains("points.obj"));
    CHECK_THAT(text_of("nan.obj", "v 0 0 0\nv 100 0 nan\nv 0 100 0\nf 1 2 3\n"),
               Contains("nan.obj") && Contains("no number"));
    CHECK_THAT(text_of("rubbish.stl", "this is no mesh"), Contains("rubbish.stl"));
    CHECK_THAT(text_of("sheet.ply", "ply"), Contains("OBJ or STL"));
    CHECK_THAT(complaint([&] { built_mesh(scratch / "missing.obj"); }), Contains("no such file"));
    CHECK_THAT(text_of("closed.obj",
                       "v 0 0 0\nv 100 0 0\nv 0 100 0\nv 0 0 100\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 1 4 3\n"),
               Contains("no side towards the pad"));
    CHECK_THAT(text_of("flat.obj", "v 0 0 0\nv 100 0 0\nv 50 0 0\nf 1 2 3\n"), Contains("flat.obj"));
}

// ---- height map

namespace {

void write_png(const std::filesystem::path& path, int width, int height, int depth, int colour,
               const std::vector<png_byte>& bytes) {
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.c_str(), "wb"), &std::fclose);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, file.get());
    png_set_IHDR(png, info, static_cast<png_uint_32>(width), static_cast<png_uint_32>(height), depth, colour,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_write_info(png, info);
    const std::size_t row = bytes.size() / static_cast<std::size_t>(height);
    for (int j = 0; j < height; ++j) png_write_row(png, bytes.data() + static_cast<std::size_t>(j) * row);
    png_write_end(png, nullptr);
    png_destroy_write_struct(&png, &info);
}

/// @param grey of a pixel, by its column and its row from the bottom
void write_grey16(const std::filesystem::path& path, int width, int height,
                  const std::function<int(int, int)>& grey) {
    std::vector<png_byte> bytes;
    for (int j = height - 1; j >= 0; --j)
        for (int i = 0; i < width; ++i) {
            bytes.push_back(static_cast<png_byte>(grey(i, j) >> 8));
            bytes.push_back(static_cast<png_byte>(grey(i, j) & 255));
        }
    write_png(path, width, height, 16, PNG_COLOR_TYPE_GRAY, bytes);
}

Panel built_map(const std::filesystem::path& png, double pixel_m, double full_scale_m,
                double spacing_m = 0.002) {
    return build_panel({"map", "steel", HeightMap{png, pixel_m, full_scale_m}}, spacing_m, "sample.json");
}

} // namespace

TEST_CASE("a height map comes back as heights, right way up, to its grey step") {
    const ScratchFolder scratch;
    // a slope up to the right and twice as steep upwards, with a frame of no panel
    const auto grey = [](int i, int j) {
        return i < 10 || i >= 210 || j < 10 || j >= 160 ? 0 : 1000 + 100 * i + 200 * j;
    };
    write_grey16(scratch / "slope.png", 220, 170, grey);
    const Panel panel = built_map(scratch / "slope.png", 1e-3, 65.535e-3); // one grey step is 1 µm
    double worst = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        if (panel.edge_distance_m[k] < 0.004f) continue;
        const Point2 p = panel.grid.centre(k);
        const double expected_um = 1000 + 100 * (p.x / 1e-3 - 0.5) + 200 * (p.y / 1e-3 - 0.5);
        worst = std::max(worst, std::abs(static_cast<double>(panel.height_m[k]) * 1e6 - expected_um));
    }
    CHECK(worst < 0.01);                                        // bilinear is exact on a slope; floats
    CHECK(panel.area_m2() == Approx(0.2 * 0.15).epsilon(0.01)); // smoothing rounds the corners a little
    CHECK(panel.edge_names == std::vector<std::string>{"outline"});
    CHECK(signed_distance(panel.outline, {0.03, 0.08}) ==
          Approx(0.02).margin(2e-5)); // pixel 10 starts at 10 mm
}

TEST_CASE("the traced edge of a round height map has the disc's distances and normals, and keeps its hole") {
    const ScratchFolder scratch;
    const auto grey = [](int i, int j) {
        const double r = std::hypot(i + 0.5 - 120, j + 0.5 - 120);
        return r < 100 && r > 30 ? 30000 : 0;
    };
    write_grey16(scratch / "ring.png", 240, 240, grey);
    const Panel panel = built_map(scratch / "ring.png", 1e-3, 0.05);
    CHECK(panel.edge_names == std::vector<std::string>{"outline", "hole 1"});
    CHECK(panel.area_m2() == Approx(pi * (0.1 * 0.1 - 0.03 * 0.03)).epsilon(0.01));
    for (double angle = 0; angle < 2 * pi; angle += 0.1) {
        const Point2 out{std::cos(angle), std::sin(angle)}, centre{0.12, 0.12};
        // a pixel's step of 1 mm, smoothed
        CHECK(signed_distance(panel.outline, centre + 0.09 * out) == Approx(0.01).margin(0.4e-3));
        CHECK(signed_distance(panel.outline, centre + 0.04 * out) == Approx(0.01).margin(0.4e-3));
    }
    CHECK(total(edge_length_per_cell(panel)) == Approx(2 * pi * 0.13).epsilon(0.02));
}

TEST_CASE("a height map that is not 16-bit grey, or has no panel in it, is refused") {
    const ScratchFolder scratch;
    write_png(scratch / "grey8.png", 30, 30, 8, PNG_COLOR_TYPE_GRAY, std::vector<png_byte>(900, 100));
    CHECK_THAT(complaint([&] { built_map(scratch / "grey8.png", 1e-3, 0.05); }),
               Contains("grey8.png") && Contains("8-bit grey") && Contains("16-bit grey PNG"));
    write_png(scratch / "colour.png", 30, 30, 16, PNG_COLOR_TYPE_RGB, std::vector<png_byte>(900 * 6, 100));
    CHECK_THAT(complaint([&] { built_map(scratch / "colour.png", 1e-3, 0.05); }), Contains("16-bit colour"));
    write_grey16(scratch / "empty.png", 30, 30, [](int, int) { return 0; });
    CHECK_THAT(complaint([&] { built_map(scratch / "empty.png", 1e-3, 0.05); }),
               Contains("every pixel is 0"));
    std::ofstream(scratch / "text.png") << "no picture at all";
    CHECK_THAT(complaint([&] { built_map(scratch / "text.png", 1e-3, 0.05); }), Contains("no PNG"));
    CHECK_THAT(complaint([&] { built_map(scratch / "missing.png", 1e-3, 0.05); }),
               Contains("cannot be opened"));
    write_grey16(scratch / "two.png", 100, 50, [](int i, int) { return i < 40 || i > 60 ? 9 : 0; });
    CHECK_THAT(complaint([&] { built_map(scratch / "two.png", 1e-3, 0.05); }), Contains("second sheet"));
    write_grey16(scratch / "good.png", 50, 50, [](int, int) { return 9; });
    CHECK_THAT(complaint([&] { built_map(scratch / "good.png", -1e-3, 0.05); }),
               Contains("/height_map/pixel"));
    // cut short in the middle of its pixels
    write_grey16(scratch / "whole.png", 80, 80,
                 [](int i, int j) { return 1 + (i * 7919 + j * 104729) % 60000; });
    std::ifstream whole(scratch / "whole.png", std::ios::binary);
    const std::string bytes((std::istreambuf_iterator<char>(whole)), {});
    std::ofstream(scratch / "cut.png", std::ios::binary) << bytes.substr(0, bytes.size() / 2);
    CHECK_THAT(complaint([&] { built_map(scratch / "cut.png", 1e-3, 0.05); }), Contains("damaged"));
}

} // namespace test_panel_files
