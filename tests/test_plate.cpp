// Plates that nobody has drawn, asked for by their size.
#include "library/plate.hpp"
#include "library/presets.hpp"
#include "panel/panel.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

namespace test_plate {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

Panel built(const std::string& reference) {
    return build_panel(Library::standard().panel(reference), 0.004, reference);
}

/// Width and height of what is inside, m.
Point2 size_of(const Panel& panel) {
    int wide = 0, high = 0;
    for (int i = 0; i < panel.grid.nu; ++i) wide += panel.inside[panel.grid.index(i, panel.grid.nv / 2)];
    for (int j = 0; j < panel.grid.nv; ++j) high += panel.inside[panel.grid.index(panel.grid.nu / 2, j)];
    return {wide * 0.004, high * 0.004};
}

} // namespace

TEST_CASE("A plate is asked for by its size, in any spelling of it", "[plate]") {
    const auto text = GENERATE("1200x800", "1200x800 mm", "1.2x0.8 m", "1200 mm x 80 cm", "1200 X 800",
                               "1200\xC3\x97"
                               "800mm");
    INFO(text);
    const Panel plate = built(text);
    CHECK(std::abs(size_of(plate).x - 1.2) < 0.005);
    CHECK(std::abs(size_of(plate).y - 0.8) < 0.005);
    CHECK(plate.edge_names == std::vector<std::string>{"bottom", "right", "top", "left"});
    CHECK(plate.name == "Plate 1200 x 800 mm");
}

TEST_CASE("A plate has the crown, lines, corners and substrate that are asked for", "[plate]") {
    const Library library = Library::standard();
    const PanelSpec spec =
        library.panel("1200x800 mm, crown v 3 m, line y 400 mm, line x 0.3 m, corner 20 mm, plastic");
    const auto& features = std::get<Features>(spec.shape);
    CHECK(spec.substrate == "plastic");
    CHECK((features.radius_u_m == 0 && features.radius_v_m == Approx(3)));
    REQUIRE(features.body_lines.size() == 2);
    CHECK(features.body_lines[0].points[1].y == Approx(0.4));
    CHECK(features.body_lines[1].points[1].x == Approx(0.3));
    CHECK(features.outline[2].radius_m == Approx(0.02));
    CHECK(std::get<Features>(library.panel("1200x800, crown 3 m").shape).radius_u_m == Approx(3));
    CHECK(library.panel("1200x800, crown 3 m").substrate == "steel");
    CHECK(built("1200x800, crown 3 m, line y 400 mm").edge_names.size() >= 4);
    CHECK(plate_called("1200x800, crown 2.5 m")->file == "plate-1200x800-u-2500-v-2500");
    CHECK_FALSE(plate_called("rear-door"));
    CHECK_FALSE(plate_called("4x4/door.json"));
}

TEST_CASE("A plate that cannot be is refused with what can", "[plate]") {
    const auto [text, found, allowed] = GENERATE(table<std::string, std::string, std::string>({
        {"1200x", "nothing", "1200x800 mm"},
        {"1200x800 furlongs", "furlongs", "1.2x0.8 m"},
        {"1200x8 mm", "a side of 8 mm", "20 mm to 4 m"},
        {"5x1 m", "a side of 5000 mm", "20 mm to 4 m"},
        {"1200x800, crown 1 m", "a crown of 1000 mm", "1200 mm"},
        {"1200x800, crown", "", "crown 3 m"},
        {"1200x800, line 400 mm", "\"line 400 mm\"", "line y 400 mm"},
        {"1200x800, line y 900 mm", "at y 900 mm", "45 mm to 755 mm"},
        {"1200x80, line y 40 mm", "too small", "90 mm"},
        {"1200x800, corner 500 mm", "corners of 500 mm", "400 mm"},
        {"1200x800, wood", "\"wood\"", "plastic"},
    }));
    INFO(text);
    try {
        Library::standard().panel(text);
        FAIL("it was accepted");
    } catch (const InputError& error) {
        INFO(error.what());
        if (text != "1200x") CHECK_THAT(error.found(), Contains(found));
        CHECK_THAT(error.allowed(), Contains(allowed));
    }
}

} // namespace test_plate
