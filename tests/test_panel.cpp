// Panels: outline, film and features.
#include "support/panel_support.hpp"
#include <catch2/catch.hpp>

namespace test_panel {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using namespace sparecoat::test::panel_support;

// ---- outline and distance

TEST_CASE("a rounded rectangle has the area of its drawing and its corners are cut round") {
    const double r = 0.04;
    const Panel panel = built(plain(rectangle_loop(0.3, 0.2, r)), 0.001);
    const double area = 0.3 * 0.2 - (4 - pi) * r * r;
    CHECK(panel.area_m2() == Approx(area).epsilon(0.001)); // cells 1 mm wide along 0.9 m of edge
    // distances to straight sides are exact; to an arc within its chord error of 0.05 mm
    CHECK(signed_distance(panel.outline, {0.15, 0.03}) == Approx(0.03).margin(1e-12));
    CHECK(signed_distance(panel.outline, {0.15, -0.01}) == Approx(-0.01).margin(1e-12));
    const Point2 centre{0.04, 0.04};
    CHECK(signed_distance(panel.outline, centre) == Approx(r).margin(5e-5));
    CHECK(signed_distance(panel.outline, centre - Point2{0.03, 0.03}) ==
          Approx(r - 0.03 * std::sqrt(2)).margin(5e-5));
    CHECK(signed_distance(panel.outline, {0, 0}) == Approx(r - r * std::sqrt(2)).margin(5e-5));
}

TEST_CASE("cell faces lie on the outline's bounding box and three cells of margin go round it") {
    const Panel panel = built(plain(rectangle_loop(0.3, 0.2, 0, {0.1, 0.05})));
    CHECK(panel.grid.nu == 150 + 6);
    CHECK(panel.grid.nv == 100 + 6);
    CHECK(panel.grid.x(3) - panel.grid.h_m / 2 == Approx(0.1).margin(1e-12));
    CHECK(panel.grid.y(3) - panel.grid.h_m / 2 == Approx(0.05).margin(1e-12));
    CHECK(panel.area_m2() == Approx(0.06).epsilon(1e-9));
}

TEST_CASE("an outline drawn clockwise gives the same panel with the same edge names") {
    const Features forward = plain(rectangle_loop(0.3, 0.2, 0.02));
    // sides are named by the corner they start from, so turning a loop round shifts the names by one
    Features backward = plain({{{0, 0}, 0.02, "left"},
                               {{0, 0.2}, 0.02, "top"},
                               {{0.3, 0.2}, 0.02, "right"},
                               {{0.3, 0}, 0.02, "bottom"}});
    const Panel a = built(forward), b = built(backward);
    CHECK(a.inside == b.inside);
    for (Point2 p : {Point2{0.15, 0.01}, {0.29, 0.1}, {0.15, 0.19}, {0.01, 0.1}}) {
        const auto name = [p](const Panel& panel) {
            return panel.edge_names[static_cast<std::size_t>(panel.nearest_edge[cell_at(panel, p)])];
        };
        CHECK(name(a) == name(b));
    }
    CHECK(a.edge_names[static_cast<std::size_t>(a.nearest_edge[cell_at(a, {0.29, 0.1})])] == "right");
    // the painted side lies on the left of both, which drawing and offsetting rely on
    CHECK(signed_area_m2(a.outline.front().points) > 0);
    CHECK(signed_area_m2(b.outline.front().points) == Approx(signed_area_m2(a.outline.front().points)));
}

TEST_CASE("distance on the grid is the distance of single points, for every cell and its edge") {
    Features features = plain(turned(rectangle_loop(0.3, 0.2, 0.05), 0.4));
    features.holes.push_back(turned(disc({0.15, 0.1}, 0.03), 0.4));
    const Panel panel = built(features, 0.004);
    double worst = 0;
    std::size_t wrong_side = 0, wrong_edge = 0;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
        int edge = -1;
        const double d = signed_distance(panel.outline, panel.grid.centre(k), &edge);
        worst = std::max(worst, std::abs(d - static_cast<double>(panel.edge_distance_m[k])));
        wrong_side += (d >= 0) != (panel.inside[k] == 1);
        wrong_edge += edge != panel.nearest_edge[k];
    }
    CHECK(worst < 1e-7); // a distance of up to 0.15 m kept in a float
    CHECK(wrong_side == 0);
    CHECK(wrong_edge == 0);
}

TEST_CASE("a hole is no panel, is named, and is the nearest edge beside it") {
    Features features = plain(rectangle_loop(0.3, 0.2));
    features.holes.push_back(disc({0.15, 0.1}, 0.04, "window"));
    const Panel panel = built(features, 0.001);
    CHECK(panel.area_m2() == Approx(0.06 - pi * 0.04 * 0.04).epsilon(0.001)); // cells along 0.25 m of rim
    CHECK(panel.inside[cell_at(panel, {0.15, 0.1})] == 0);
    CHECK(signed_distance(panel.outline, {0.15, 0.1}) == Approx(-0.04).margin(5e-5)); // chord error
    const std::size_t beside = cell_at(panel, {0.2, 0.1});
    CHECK(panel.edge_names[static_cast<std::size_t>(panel.nearest_edge[beside])] == "window");
    REQUIRE(panel.outline.size() == 2);
    CHECK(signed_area_m2(panel.outline[1].points) < 0); // holes run clockwise
}

TEST_CASE("two arcs that meet in the middle of a side make a half circle") {
    // an arch: two corners whose radius takes the whole top side
    Features features = plain({{{0, 0}, 0, "left foot"},
                               {{0.1, 0}, 0, "arch"},
                               {{0.1, 0.2}, 0.1, "arch"},
                               {{0.3, 0.2}, 0.1, "arch"},
                               {{0.3, 0}, 0, "right foot"},
                               {{0.4, 0}, 0, "side"},
                               {{0.4, 0.3}, 0, "top"},
                               {{0, 0.3}, 0, "side"}});
    const Panel panel = built(features);
    for (double angle : {0.3, 1.0, 1.6, 2.5})
        CHECK(signed_distance(panel.outline, {0.2 + 0.12 * std::cos(angle), 0.1 + 0.12 * std::sin(angle)}) ==
              Approx(0.02).margin(5e-5)); // chord error
}

TEST_CASE("an outline that crosses itself is refused with the side and the spot") {
    const Loop bow_tie{{{0, 0}, 0, ""}, {{0.3, 0.2}, 0, ""}, {{0.3, 0}, 0, ""}, {{0, 0.2}, 0, ""}};
    const std::string text = complaint([&] { built(plain(bow_tie)); });
    CHECK_THAT(text,
               Contains("sample.json: /outline/2") && Contains("crosses") && Contains("(150.0, 100.0) mm"));
}

TEST_CASE("impossible outlines are refused and say what is allowed") {
    CHECK_THAT(complaint([] {
                   built(plain({{{0, 0}, 0, ""}, {{1, 0}, 0, ""}}));
               }),
               Contains("3 or more corners"));
    CHECK_THAT(complaint([] { built(plain(rectangle_loop(0.3, 0.2, 0.11))); }),
               Contains("/outline/") && Contains("radius"));
    CHECK_THAT(complaint([] { built(plain(rectangle_loop(0.3, 0.01))); }), Contains("20 mm to 4 m"));
    CHECK_THAT(complaint([] { built(plain(rectangle_loop(4.2, 1))); }), Contains("20 mm to 4 m"));
    CHECK_THAT(complaint([] { built(plain(rectangle_loop(0.3, std::nan("")))); }), Contains("finite"));
    CHECK_THAT(complaint([] {
                   built(plain({{{0, 0}, 0, ""}, {{0.3, 0}, 0, ""}, {{0.1, 0}, 0, ""}}));
               }),
               Contains("doubles back"));
    CHECK_THAT(complaint([] {
                   built(plain({{{0, 0}, 0, ""}, {{0, 0}, 0, ""}, {{0.1, 0.2}, 0, ""}}));
               }),
               Contains("same spot"));
    for (double spacing : {0.0005, 0.005, std::nan("")})
        CHECK_THAT(complaint([spacing] { built(plain(rectangle_loop(0.3, 0.2)), spacing); }),
                   Contains("1 mm to 4 mm"));
    Features outside = plain(rectangle_loop(0.3, 0.2)), across = outside, twice = outside;
    outside.holes.push_back(disc({0.5, 0.1}, 0.02));
    across.holes.push_back(disc({0.3, 0.1}, 0.02));
    twice.holes = {disc({0.1, 0.1}, 0.05), disc({0.1, 0.1}, 0.02)};
    CHECK_THAT(complaint([&] { built(outside); }),
               Contains("/holes/0/corners") && Contains("outside the panel"));
    CHECK_THAT(complaint([&] { built(across); }), Contains("/holes/0/corners") && Contains("crosses"));
    CHECK_THAT(complaint([&] { built(twice); }), Contains("/holes/1/corners") && Contains("within"));
}

TEST_CASE("edge length per cell adds up to the perimeter at any angle") {
    // 1 % allowed: square corners lose half a cell or so each
    for (double angle : {0.0, 0.2, pi / 4, 1.1}) {
        const Panel square = built(plain(turned(rectangle_loop(0.4, 0.4), angle)));
        CHECK(total(edge_length_per_cell(square)) == Approx(1.6).epsilon(0.01));
    }
    const Panel round = built(plain(disc({0, 0}, 0.15)));
    CHECK(total(edge_length_per_cell(round)) == Approx(2 * pi * 0.15).epsilon(0.01));
}

// ---- film

static Paint paint_of(double clear_m, double base_m, double primer_m, double ecoat_m, double thinning,
                      double length_m) {
    Paint paint;
    paint.name = "test paint";
    paint.clear_m = clear_m, paint.base_m = base_m, paint.primer_m = primer_m, paint.ecoat_m = ecoat_m;
    paint.thinning = thinning, paint.thinning_length_m = length_m;
    return paint;
}

TEST_CASE("film thins towards an edge as t0 (1 - a exp(-s / l)) in all four layers, and is 0 outside") {
    Panel panel = built(plain(rectangle_loop(0.2, 0.2)));
    const Paint paint = paint_of(40e-6, 15e-6, 30e-6, 20e-6, 0.3, 0.006);
    lay_film(panel, paint);
    float last = 0;
    for (double s : {0.001, 0.003, 0.007, 0.021, 0.099}) {
        const std::size_t k = cell_at(panel, {s, 0.1});
        const double share = 1 - 0.3 * std::exp(-s / 0.006);
        CHECK(panel.clear_um[k] == Approx(40 * share).epsilon(1e-5)); // float
        CHECK(panel.base_um[k] == Approx(15 * share).epsilon(1e-5));
        CHECK(panel.primer_um[k] == Approx(30 * share).epsilon(1e-5));
        CHECK(panel.ecoat_um[k] == Approx(20 * share).epsilon(1e-5));
        CHECK(panel.clear_um[k] > last); // thicker with every step inward
        last = panel.clear_um[k];
    }
    CHECK(panel.clear_um[0] == 0);
}

TEST_CASE("film that no gauge has seen is as uncertain as the paint's spread, and more where it thins") {
    Panel panel = built(plain(rectangle_loop(0.2, 0.2)));
    Paint paint = paint_of(40e-6, 15e-6, 30e-6, 20e-6, 0.3, 0.006);
    lay_film(panel, paint);
    CHECK(panel.clear_sd_um.size() == panel.grid.cells());
    CHECK(panel.clear_sd_um[cell_at(panel, {0.099, 0.1})] == Approx(4.0).epsilon(1e-5)); // 10 % of 40 µm
    CHECK(panel.clear_sd_um[0] == 0);                                                    // outside
    paint.spread = 0.2;
    lay_film(panel, paint);
    for (const double s : {0.001, 0.007, 0.099}) {
        const double missing = 0.3 * std::exp(-s / 0.006);
        const double of_whole = 0.2 * (1 - missing), of_thinning = 0.25 * missing;
        CHECK(panel.clear_sd_um[cell_at(panel, {s, 0.1})] ==
              Approx(40 * std::sqrt(of_whole * of_whole + of_thinning * of_thinning)).epsilon(1e-5)); // float
    }
}

TEST_CASE("film thins at a body line as at an edge, and is even where thinning is 0") {
    Features features = plain(rectangle_loop(0.3, 0.2));
    features.body_lines.push_back({"waist", {{0, 0.1}, {0.3, 0.1}}, 0.004, 0.005, 0.03, 0});
    Panel panel = built(features);
    lay_film(panel, paint_of(40e-6, 0, 0, 0, 0.25, 0.005));
    const std::size_t near_line = cell_at(panel, {0.15, 0.103});
    CHECK(panel.crest_distance_m[near_line] == Approx(0.003).epsilon(1e-5));
    CHECK(panel.crest_names[static_cast<std::size_t>(panel.nearest_crest[near_line])] == "waist");
    CHECK(panel.clear_um[near_line] == Approx(40 * (1 - 0.25 * std::exp(-0.6))).epsilon(1e-5));
    lay_film(panel, paint_of(40e-6, 0, 0, 0, 0, 0));
    CHECK(panel.clear_um[near_line] == 40.0f);
}

// ---- features

TEST_CASE("the laplacian of a sphere's crown is -2 / R wherever both neighbours are there") {
    Features features = plain(rectangle_loop(0.4, 0.3));
    features.radius_u_m = features.radius_v_m = 2.5;
    const Panel panel = built(features, 0.001);
    CHECK(panel.laplacian_per_m[cell_at(panel, {0.2, 0.15})] == Approx(-0.8).epsilon(1e-4));
    CHECK(panel.laplacian_per_m[cell_at(panel, {0.05, 0.25})] == Approx(-0.8).epsilon(1e-4));
    // straight continuation across the left edge leaves only the bend along v
    CHECK(panel.laplacian_per_m[cell_at(panel, {0.0005, 0.15})] == Approx(-0.4).epsilon(1e-4));
    // heights in float are 2 to 4 nm coarse, which 1 / h² = 1e6 1/m² makes 0.02 1/m of noise
    const std::vector<float> from_floats = laplacian_of_height(panel.grid, panel.height_m, panel.inside);
    CHECK(from_floats[cell_at(panel, {0.2, 0.15})] == Approx(-0.8).margin(0.03));
    CHECK(panel.height_m[cell_at(panel, {0.0005, 0.1495})] ==
          Approx(-(0.1995 * 0.1995 + 0.0005 * 0.0005) / 5).epsilon(1e-5));
}

TEST_CASE("a kink keeps its change of slope at any spacing, even with its crest radius under a cell") {
    for (double spacing : {0.001, 0.002, 0.004})
        for (double crest_radius : {0.0, 0.0005, 0.008, 0.02}) {
            Features features = plain(rectangle_loop(0.2, 0.2));
            features.body_lines.push_back(
                {"line", {{-0.1, 0.0987}, {0.3, 0.0987}}, 0.006, crest_radius, 0.048, 0});
            const Panel panel = built(features, spacing);
            // slope m of the flank, from its drop: m (3 f / 4) - R m² / 2 = height
            const double reach = 0.75 * 0.048;
            const double m = 2 * 0.006 / (reach + std::sqrt(reach * reach - 2 * crest_radius * 0.006));
            const double crest = std::max(crest_radius * m, 0.0) + 2 * spacing;
            double slope_change = 0, all = 0;
            for (int j = 0; j < panel.grid.nv; ++j) {
                const std::size_t k = panel.grid.index(panel.grid.nu / 2, j);
                const double bend = static_cast<double>(panel.laplacian_per_m[k]) * spacing;
                all += bend;
                if (std::abs(panel.grid.y(j) - 0.0987) < crest) slope_change += bend;
            }
            CAPTURE(spacing, crest_radius);
            CHECK(slope_change == Approx(-2 * m).epsilon(1e-3)); // second differences telescope; floats
            CHECK(all == Approx(0).margin(1e-3 * m));            // the feet turn the sheet flat again
        }
}

TEST_CASE("a body line has its height on the crest, its crest radius, and nothing past its flank and ends") {
    Features features = plain(rectangle_loop(0.4, 0.2));
    features.body_lines.push_back({"line", {{0.1, 0.0995}, {0.3, 0.0995}}, 0.006, 0.008, 0.045, 0.04});
    const Panel panel = built(features, 0.001);
    const auto height = [&](double u, double v) { return panel.height_m[cell_at(panel, {u, v})]; };
    CHECK(height(0.1995, 0.0995) == Approx(0.006).epsilon(1e-6));
    CHECK(panel.laplacian_per_m[cell_at(panel, {0.1995, 0.0995})] == Approx(-1 / 0.008).epsilon(1e-3));
    CHECK(height(0.1995, 0.0995 + 0.046) == 0);
    CHECK(height(0.1995, 0.0995 - 0.046) == 0);
    CHECK(height(0.09, 0.0995) == 0);
    CHECK(height(0.12, 0.0995) == Approx(0.003).epsilon(0.05)); // half way up the fade, half a cell off
}

TEST_CASE("a body line's cross-section has no kink and no step where its pieces meet") {
    Features features = plain(rectangle_loop(0.1, 0.2));
    features.body_lines.push_back({"line", {{-0.1, 0.0995}, {0.2, 0.0995}}, 0.006, 0.04, 0.045, 0});
    const Panel panel = built(features, 0.001);
    // no bend anywhere is sharper than the crest's own, and none towards the pad sharper than the foot's:
    // slope over half the flank; a step or a kink would stand out by 1 / h
    const double reach = 0.75 * 0.045, m = 2 * 0.006 / (reach + std::sqrt(reach * reach - 2 * 0.04 * 0.006));
    const auto [least, most] =
        std::minmax_element(panel.laplacian_per_m.begin(), panel.laplacian_per_m.end());
    CHECK(*least == Approx(-1 / 0.04).epsilon(0.01)); // distances in float, 1 / h² times as coarse
    CHECK(*most == Approx(m / 0.0225).epsilon(0.01));
}

TEST_CASE("a recess is as deep as it says inside its walls and changes nothing outside") {
    Features features = plain(rectangle_loop(0.3, 0.2));
    features.recesses.push_back({"handle", rectangle_loop(0.1, 0.06, 0.02, {0.1, 0.07}), 0.012, 0.015});
    const Panel panel = built(features);
    CHECK(panel.height_m[cell_at(panel, {0.15, 0.1})] == Approx(-0.012).epsilon(1e-6));
    CHECK(panel.height_m[cell_at(panel, {0.15, 0.0775})] ==
          Approx(-0.006).epsilon(0.15)); // half a cell off mid-wall
    CHECK(panel.height_m[cell_at(panel, {0.09, 0.1})] == 0);
}

TEST_CASE("the rim of a steep recess is a crest, that of a shallow one is not") {
    // smooth_step turns the wall down with radius wall² / (5.77 depth): 3 mm here, under the 15 mm that
    // counts.
    Features features = plain(rectangle_loop(0.3, 0.2));
    features.recesses.push_back({"handle", rectangle_loop(0.1, 0.06, 0.02, {0.1, 0.07}), 0.012, 0.015});
    const Panel steep = built(features);
    CHECK(steep.crest_names == std::vector<std::string>{"handle rim"});
    // cell_at may be half a cell (1 mm) off
    CHECK(steep.crest_distance_m[cell_at(steep, {0.15, 0.1})] == Approx(0.03).margin(1.5e-3));
    CHECK(steep.crest_distance_m[cell_at(steep, {0.15, 0.05})] == Approx(0.02).margin(1.5e-3));

    features.recesses[0].depth_m = 0.002; // 19 mm
    const Panel shallow = built(features);
    CHECK(shallow.crest_names.empty());
    CHECK(shallow.crest_distance_m[cell_at(shallow, {0.15, 0.1})] == 1000.0f);
    CHECK(shallow.nearest_crest[0] == -1);
}

TEST_CASE("a rolled edge falls as an arc that stops turning at its angle") {
    Features features = plain(rectangle_loop(0.3, 0.2));
    features.rolled_edges.push_back({"left", 0.02, 30 * deg});
    const Panel panel = built(features, 0.001);
    const auto height = [&](double u) { return panel.height_m[cell_at(panel, {u, 0.1005})]; };
    CHECK(height(0.0215) == 0);
    CHECK(height(0.0125) == Approx(-(0.02 - std::sqrt(0.02 * 0.02 - 0.0075 * 0.0075))).epsilon(1e-4));
    // past R sin 30° = 10 mm of arc it runs straight at tan 30°
    CHECK((height(0.0025) - height(0.0045)) / 0.002f == Approx(-std::tan(30 * deg)).epsilon(1e-4));
    CHECK(panel.crest_names.empty()); // a roll of 20 mm is no crest
}

TEST_CASE("a roll goes on to the end of its edge without a hollow or a step") {
    Features features = plain(rectangle_loop(0.3, 0.2, 0.02));
    features.rolled_edges = {{"left", 0.03, 45 * deg}, {"top", 0.03, 45 * deg}};
    const Panel panel = built(features);
    // the falls of a convex outline are convex: nowhere does the sheet bend towards the pad
    const float most = *std::max_element(panel.laplacian_per_m.begin(), panel.laplacian_per_m.end());
    CHECK(most < 0.05f); // 1/m: distances in float, 1 / h² times as coarse
    // round the corner between two edges that roll alike it falls as on either of them
    const Point2 centre{0.02, 0.18}, out{-std::sqrt(0.5), std::sqrt(0.5)};
    const double near_corner = panel.height_m[cell_at(panel, centre + 0.015 * out)];
    const double d = signed_distance(panel.outline, panel.grid.centre(cell_at(panel, centre + 0.015 * out)));
    CHECK(near_corner ==
          Approx(-(0.03 * (1 - std::cos(45 * deg)) + (0.03 - d - 0.03 * std::sin(45 * deg)))).epsilon(1e-3));
}

TEST_CASE("only a roll tighter than 15 mm counts as a crest, and it lies along the middle of the arc") {
    Features features = plain(rectangle_loop(0.3, 0.2, 0.03));
    features.rolled_edges.push_back({"left", 0.01, 30 * deg});
    const Panel panel = built(features, 0.001);
    REQUIRE(panel.crest_names == std::vector<std::string>{"left roll"});
    // R - R sin(30°) / 2 = 7.5 mm inside the edge
    CHECK(panel.crest_distance_m[cell_at(panel, {0.0075, 0.1005})] == Approx(0).margin(1e-6));
    CHECK(panel.crest_distance_m[cell_at(panel, {0.0275, 0.1005})] == Approx(0.02).epsilon(1e-3));
}

TEST_CASE("features of impossible size are refused with their place") {
    const auto with = [](const std::function<void(Features&)>& change) {
        return complaint([&] {
            Features features = plain(rectangle_loop(0.3, 0.2));
            change(features);
            built(features);
        });
    };
    CHECK_THAT(with([](Features& f) {
                   f.rolled_edges.push_back({"lefft", 0.02, 0.5});
               }),
               Contains("/rolled_edges/0/edge") && Contains("\"lefft\"") &&
                   Contains("bottom, right, top, left"));
    CHECK_THAT(with([](Features& f) {
                   f.rolled_edges.push_back({"left", 0.02, 1.6});
               }),
               Contains("/rolled_edges/0/turn"));
    CHECK_THAT(with([](Features& f) {
                   f.body_lines.push_back({"a", {{0, 0.1}, {0.3, 0.1}}, 0.006, 0.2, 0.045, 0});
               }),
               Contains("/body_lines/0/crest_radius"));
    CHECK_THAT(with([](Features& f) {
                   f.body_lines.push_back({"a", {{0, 0.1}}, 0.006, 0.01, 0.045, 0});
               }),
               Contains("/body_lines/0/points"));
    CHECK_THAT(with([](Features& f) {
                   f.recesses.push_back({"a", rectangle_loop(0.1, 0.1), -0.01, 0.01});
               }),
               Contains("/recesses/0/depth"));
    CHECK_THAT(with([](Features& f) { f.radius_v_m = 0.01; }), Contains("/crown/v"));
}

} // namespace test_panel
