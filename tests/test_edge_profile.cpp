#include "decide/edge_profile.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

namespace test_edge_profile {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

PanelFeature edge_called(const Panel& panel, const std::string& name) {
    const auto at = std::find(panel.edge_names.begin(), panel.edge_names.end(), name);
    REQUIRE(at != panel.edge_names.end());
    return {static_cast<int>(at - panel.edge_names.begin()), -1};
}

} // namespace

TEST_CASE("A ribbon takes the cells beside its edge, each once, in the order of the edge", "[ribbon]") {
    const Panel panel = plate(0.4, 0.2, 0.002);
    const EdgeProfile profile = edge_profile_along(panel, edge_called(panel, "bottom"), 0.015);
    CHECK(profile.length_m == Approx(0.4).margin(1e-12));
    REQUIRE(profile.pieces() == 100); // of two cells each
    std::set<std::uint32_t> seen;
    for (std::size_t n = 0; n < profile.pieces(); ++n) {
        CHECK(norm(profile.at[n] - Point2{0.004 * static_cast<double>(n) + 0.002, 0}) < 1e-9);
        for (const std::uint32_t cell : profile.cells_of(n)) {
            const Point2 at = panel.grid.centre(cell);
            CHECK(at.y < 0.015 + 1e-9); // a row of centres lies at the very width
            CHECK(std::abs(at.x - profile.along_m[n]) <= 0.002 + 1e-9); // half a piece
            CHECK(seen.insert(cell).second);
        }
    }
    std::size_t beside = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        beside += panel.inside[k] && panel.grid.centre(k).y < 0.015 + 1e-9;
    CHECK(seen.size() == beside); // a cell nearer to another edge counts as well
}

TEST_CASE("The least along an edge is found where it was put", "[ribbon]") {
    const Panel panel = plate(0.4, 0.2, 0.002);
    const EdgeProfile profile = edge_profile_along(panel, edge_called(panel, "right"), 0.015);
    std::vector<float> field(panel.grid.cells(), 5);
    field[cell_at(panel, {0.391, 0.121})] = 2;
    field[cell_at(panel, {0.381, 0.151})] = 1; // 19 mm in: not of the strip
    const std::vector<std::uint32_t> least = least_along(profile, field);
    const std::size_t piece = nearest_piece(profile, {0.4, 0.121});
    REQUIRE(least[piece] != no_profile_cell);
    CHECK(field[least[piece]] == 2);
    CHECK(profile.along_m[piece] == Approx(0.121).margin(0.002)); // half a piece
    CHECK(std::count_if(least.begin(), least.end(), [&](std::uint32_t c) { return field[c] < 5; }) == 1);
}

TEST_CASE("An edge that runs through the start of the drawing is one stretch, and one in two parts is two",
          "[ribbon]") {
    Features shape;
    shape.outline = {{{0.2, 0}, 0, "bottom"},
                     {{0.4, 0}, 0, "side"},
                     {{0.4, 0.2}, 0, "top"},
                     {{0, 0.2}, 0, "side"},
                     {{0, 0}, 0, "bottom"}};
    const Panel panel = panel_of(shape, 0.002);
    const EdgeProfile bottom = edge_profile_along(panel, edge_called(panel, "bottom"));
    CHECK(bottom.length_m == Approx(0.4).margin(1e-9));
    CHECK(std::count(bottom.begins.begin(), bottom.begins.end(), 1) == 1);
    CHECK(norm(bottom.at.front() - Point2{0, 0}) < 0.003); // half a piece
    CHECK(norm(bottom.at.back() - Point2{0.4, 0}) < 0.003);
    const EdgeProfile sides = edge_profile_along(panel, edge_called(panel, "side"));
    CHECK(sides.length_m == Approx(0.4).margin(1e-9));
    CHECK(std::count(sides.begins.begin(), sides.begins.end(), 1) == 2);
}

TEST_CASE("A round panel's ribbon closes on itself and has no empty piece", "[ribbon]") {
    Features shape;
    for (int n = 0; n < 90; ++n) {
        const double angle = 2 * pi * n / 90;
        shape.outline.push_back({{0.15 * std::cos(angle), 0.15 * std::sin(angle)}, 0, "rim"});
    }
    const Panel panel = panel_of(shape, 0.002);
    const EdgeProfile profile = edge_profile_along(panel, edge_called(panel, "rim"));
    CHECK(profile.length_m == Approx(2 * pi * 0.15).epsilon(1e-3)); // a chord of 4° is shorter by 2e-4
    for (std::size_t n = 0; n < profile.pieces(); ++n) CHECK_FALSE(profile.cells_of(n).empty());
    const double area = static_cast<double>(profile.cells.size()) * 4e-6;
    CHECK(area == Approx(pi * (0.15 * 0.15 - 0.135 * 0.135)).epsilon(0.02)); // cells counted by their centres
}

TEST_CASE("A body line's ribbon lies on both of its sides", "[ribbon]") {
    Features shape = rectangle(0.4, 0.3);
    BodyLine waist;
    waist.name = "waist", waist.points = {{0.0, 0.15}, {0.4, 0.15}};
    waist.height_m = 0.004, waist.crest_radius_m = 0.006;
    shape.body_lines = {waist};
    const Panel panel = panel_of(shape, 0.002);
    REQUIRE(panel.crest_names.size() == 1);
    const EdgeProfile profile = edge_profile_along(panel, {-1, 0}, 0.015);
    double above = 0, below = 0;
    for (const std::uint32_t cell : profile.cells) (panel.grid.centre(cell).y > 0.15 ? above : below) += 1;
    CHECK(above == Approx(below).epsilon(0.15)); // a row of centres may lie on the line
    CHECK(above > 1000);
    CHECK(profile_features(panel).size() == 5);
}

TEST_CASE("Open panel has no ribbon", "[ribbon]") {
    const Panel panel = plate(0.2, 0.2, 0.004);
    CHECK_THROWS_AS(edge_profile_along(panel, {}), std::invalid_argument);
    CHECK_THROWS_AS(edge_profile_along(panel, {17, -1}), std::invalid_argument);
}

} // namespace test_edge_profile
