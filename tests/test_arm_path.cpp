// The arm's path: how long it takes, where its lines lie, strokes, spirals and lines.
#include "support/arm_path_world.hpp"
#include <catch2/catch.hpp>

namespace test_arm_path {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::arm_path_world;

// ---- timing ----------------------------------------------------------------------------------

TEST_CASE("A stroke takes its length over its speed, and its speed over its acceleration on top") {
    const SpeedProfile profile(0.35, 0.04, 0.5);
    CHECK(profile.duration_s() ==
          Approx(0.35 / 0.04 + 0.04 / 0.5).epsilon(1e-12)); // closed form, rounding only
    CHECK(profile.arc_m(0) == 0);
    CHECK(profile.arc_m(profile.duration_s()) == 0.35);
    CHECK(profile.arc_m(profile.duration_s() / 2) == Approx(0.175).epsilon(1e-12));
    CHECK(profile.arc_m(0.08) == Approx(0.5 * 0.5 * 0.08 * 0.08).epsilon(1e-12)); // end of the ramp
}

TEST_CASE("A stroke too short to reach its speed is a triangle") {
    const SpeedProfile profile(0.0004, 0.04, 1.0); // v²/a = 1.6 mm
    CHECK(profile.duration_s() == Approx(2 * std::sqrt(0.0004)).epsilon(1e-12));
    CHECK(profile.peak_m_s() == Approx(0.02).epsilon(1e-12));
    CHECK(profile.cruise_s() == Approx(0).margin(1e-12));
}

TEST_CASE("A line there and back takes twice its stroke's time") {
    Technique t = line_technique({0.1, 0.25}, {0.4, 0.25});
    t.passes = 2;
    const ArmPath path = lay_path(t, pad_radius, plate(0.5, 0.5), 1);
    CHECK(path.duration_s() == Approx(2 * (0.3 / 0.04 + 0.04)).epsilon(1e-9)); // sum of some 200 steps
    CHECK(travelled_m(path) == Approx(0.6).epsilon(1e-9));
    CHECK(path.samples.back().at.x == Approx(0.1).epsilon(1e-12));
    CHECK(path.samples.back().pass == 1);
}

TEST_CASE("A raster takes the time of its strokes and of its sideways moves, all from rest to rest") {
    Technique t = one_pass();
    t.arm_acceleration_m_s2 = 0.2;
    const ArmPath path = lay_path(t, pad_radius, plate(0.65, 0.45), 1);
    // Centres 0.075 to 0.575 by 0.075 to 0.375; half overlap: 4 gaps of 75 mm, 5 lines of 0.5 m.
    const double expected = 5 * (0.5 / 0.04 + 0.04 / 0.2) + 4 * (0.075 / 0.04 + 0.04 / 0.2);
    CHECK(path.duration_s() == Approx(expected).epsilon(1e-6)); // ends are found to 1e-9 m
    CHECK(travelled_m(path) == Approx(5 * 0.5 + 4 * 0.075).epsilon(1e-6));
}

TEST_CASE("The arm dwells where it turns round") {
    Technique t = one_pass();
    t.arm_acceleration_m_s2 = 0.1;
    const ArmPath path = lay_path(t, pad_radius, plate(0.65, 0.45), 1);
    double at_end_s = 0, midway_s = 0; // in strips as long as the ramp, v²/2a = 8 mm
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        const double x = 0.5 * (path.samples[k].at.x + path.samples[k - 1].at.x);
        const double y0 = path.samples[k - 1].at.y, y1 = path.samples[k].at.y;
        if (std::abs(y1 - y0) > 1e-9) continue;
        const double dt = path.samples[k].t_s - path.samples[k - 1].t_s;
        if (x < 0.075 + 0.008) at_end_s += dt;
        if (x > 0.3 && x < 0.308) midway_s += dt;
    }
    // A ramp takes v/a = 0.4 s, the same 8 mm at speed 0.2 s; steps of 4 mm blur the strips by up to half.
    CHECK(at_end_s == Approx(5 * 0.4).epsilon(1e-6));
    CHECK(at_end_s > 1.3 * midway_s);
}

// ---- where the lines lie ------------------------------------------------------------------------

TEST_CASE("Lines are spaced by the overlap and evened out between the outermost two") {
    for (const double overlap : {0.0, 0.5, 0.6, 0.75}) {
        Technique t = one_pass();
        t.overlap = overlap;
        const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.53), 1);
        const std::vector<double> lines = lines_at_v(path);
        const double room = 0.53 - 2 * pad_radius, asked = (1 - overlap) * 2 * pad_radius;
        const double gaps = std::ceil(room / asked);
        REQUIRE(lines.size() == static_cast<std::size_t>(gaps) + 1);
        for (std::size_t k = 1; k < lines.size(); ++k)
            CHECK(lines[k] - lines[k - 1] == Approx(room / gaps).margin(3e-6)); // lines are told to 1 um
        CHECK(lines.front() == Approx(pad_radius).margin(2e-6));
        CHECK(lines.back() == Approx(0.53 - pad_radius).margin(2e-6));
    }
}

TEST_CASE("The hold-back sets how far the pad's rim stays inside the edge or overhangs it") {
    for (const double hold_back : {0.02, 0.0, -0.03, -pad_radius, -pad_radius - 0.02}) {
        Technique t = one_pass();
        t.hold_back_m = hold_back;
        const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.5), 1);
        const double centre = pad_radius + hold_back; // negative: off the panel
        CHECK(span_of(path, &Point2::x).low == Approx(centre).margin(1e-7));
        CHECK(span_of(path, &Point2::x).high == Approx(0.6 - centre).margin(1e-7));
        CHECK(span_of(path, &Point2::y).low == Approx(centre).margin(1e-7));
        CHECK(span_of(path, &Point2::y).high == Approx(0.5 - centre).margin(1e-7));
    }
}

TEST_CASE("An edge named in the hold-back has its own") {
    Technique t = one_pass();
    t.hold_back_m = 0.01;
    t.hold_back_edge_m = {{"left", -pad_radius}, {"top", -0.095}};
    const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.5), 1);
    CHECK(span_of(path, &Point2::x).low == Approx(0).margin(1e-7));
    // On the panel 85 mm from the right edge; past its top end the same 85 mm are a radius.
    double on_panel = 0;
    for (const ArmSample& s : path.samples)
        if (s.at.y <= 0.5) on_panel = std::max(on_panel, s.at.x);
    CHECK(on_panel == Approx(0.6 - 0.085).margin(2e-4)); // a move past the end starts at the radius
    CHECK(span_of(path, &Point2::x).high ==
          Approx(0.6 - std::sqrt(0.085 * 0.085 - 0.02 * 0.02)).margin(1e-7));
    CHECK(span_of(path, &Point2::y).low == Approx(0.085).margin(1e-7));
    CHECK(span_of(path, &Point2::y).high == Approx(0.5 + 0.02).margin(1e-7)); // 20 mm beyond the edge
    CHECK(lifts(path) == 0);
}

TEST_CASE("Near a corner the centre keeps clear of an edge even where the neighbouring edge is nearer") {
    const Panel panel = plate(0.6, 0.5);
    const PadRegion region(panel, {0.075, {{"left", 0.0}}});
    REQUIRE(edge_at(panel, {0.01, 0.05}) == "left"); // by the nearest edge alone it would be allowed
    CHECK_FALSE(region.allows({0.01, 0.05}));
    CHECK(region.allows({0.01, 0.0751}));
    CHECK_FALSE(region.allows({0.01, 0.0749}));
    CHECK_FALSE(region.allows({-0.001, 0.25}));
}

TEST_CASE("Past a convex corner the strip beyond one edge ends square at the other edge's own limit") {
    const Panel panel = plate(0.6, 0.5);
    const PadRegion beside_free_edge(panel, {0.0, {{"left", -0.05}}});
    CHECK(beside_free_edge.allows({-0.049, 0.25}));
    CHECK_FALSE(beside_free_edge.allows({-0.051, 0.25}));
    CHECK(beside_free_edge.allows({-0.03, 0.001}));
    CHECK_FALSE(beside_free_edge.allows({-0.03, -0.001})); // beyond the bottom edge as well, which has 0
    CHECK_FALSE(beside_free_edge.allows({0.3, -0.001}));

    const PadRegion beside_kept_edge(panel, {0.06, {{"left", -0.05}}});
    CHECK(beside_kept_edge.allows({-0.03, 0.07}));
    CHECK(beside_kept_edge.allows({-0.001, 0.0601})); // 60 mm from the bottom edge, straight up from its end
    CHECK_FALSE(beside_kept_edge.allows({-0.001, 0.0598}));
    // Off the end of the bottom edge the distance to it is a radius round the corner.
    CHECK(beside_kept_edge.allows({-0.04, 0.0448}));
    CHECK_FALSE(beside_kept_edge.allows({-0.04, 0.0446}));

    const PadRegion both_free(panel, {0.0, {{"left", -0.05}, {"bottom", -0.05}}});
    CHECK(both_free.allows({-0.03, -0.03}));       // 42 mm from the corner
    CHECK_FALSE(both_free.allows({-0.04, -0.04})); // 57 mm
}

TEST_CASE("One limit for all edges is the signed distance, whether given as one or edge by edge") {
    const Panel panel = plate_with_arch();
    for (const double limit : {0.04, 0.0, -0.03}) {
        const PadRegion as_one(panel, {limit, {}});
        // A different limit for an edge that is far away leaves the rule as it was near the arch.
        const PadRegion edge_by_edge(panel, {limit, {{"top", limit + 0.01}}});
        for (double x = 0.1; x < 0.9; x += 0.0137)
            for (double y = -0.1; y < 0.5; y += 0.0113) {
                CHECK(as_one.allows({x, y}) == (signed_distance(panel.outline, {x, y}) >= limit));
                CHECK(edge_by_edge.allows({x, y}) == as_one.allows({x, y}));
            }
    }
}

TEST_CASE("A section's sides hold the rim in where they lie on the panel, and leave it to the edge where "
          "they do not") {
    Technique t = one_pass();
    t.section_size = {0.4, 0.3};
    t.section_centre = Point2{0.5, 0.4};
    const ArmPath inside = lay_path(t, pad_radius, plate(1, 0.8), 1);
    CHECK(span_of(inside, &Point2::x).low == Approx(0.3 + pad_radius).margin(1e-7));
    CHECK(span_of(inside, &Point2::x).high == Approx(0.7 - pad_radius).margin(1e-7));
    CHECK(span_of(inside, &Point2::y).low == Approx(0.25 + pad_radius).margin(1e-7));
    CHECK(span_of(inside, &Point2::y).high == Approx(0.55 - pad_radius).margin(1e-7));

    t.section_centre = Point2{0.2, 0.1}; // left side on the panel's edge, bottom side 50 mm off the panel
    t.hold_back_m = -pad_radius;         // centre runs on the edge
    const ArmPath at_edge = lay_path(t, pad_radius, plate(1, 0.8), 1);
    CHECK(span_of(at_edge, &Point2::x).low == Approx(0).margin(1e-7));
    CHECK(span_of(at_edge, &Point2::x).high == Approx(0.4 - pad_radius).margin(1e-5)); // on the edge the
    // first millimetre of the side counts as the panel's edge: 75 - 74.993 mm
    CHECK(span_of(at_edge, &Point2::y).low == Approx(0).margin(1e-7));
    CHECK(span_of(at_edge, &Point2::y).high == Approx(0.25 - pad_radius).margin(1e-6));
}

TEST_CASE("A panel just as wide as the pad takes one line down its middle") {
    const ArmPath path = lay_path(one_pass(), pad_radius, plate(0.503, 0.15), 1);
    CHECK(span_of(path, &Point2::y).low == Approx(0.075).margin(1e-7));
    CHECK(span_of(path, &Point2::y).high == Approx(0.075).margin(1e-7));
    CHECK(path.duration_s() == Approx(0.353 / 0.04 + 0.04).epsilon(1e-6));
    Technique across = one_pass(); // and across it, points on that line
    across.passes = 2;
    across.crossed = true;
    const ArmPath both = lay_path(across, pad_radius, plate(0.503, 0.15), 1);
    CHECK(travelled_m(both) == Approx(2 * 0.353).epsilon(1e-6));
    CHECK(both.samples.back().pass == 1);
}

TEST_CASE("The extent of a region thinner than its scan lines are apart is found to its ends") {
    const Panel panel = plate(0.144, 0.503); // 29 gaps between scan lines: none of them in the middle
    const std::optional<Rect> extent = PadRegion(panel, {0.072, {}}).extent();
    REQUIRE(extent);
    CHECK(extent->low.x == Approx(0.072).margin(1e-8));
    CHECK(extent->low.y == Approx(0.072).margin(1e-8));
    CHECK(extent->high.y == Approx(0.431).margin(1e-8));
}

TEST_CASE("Where the centre may go along a way is where it may go place by place") {
    const Panel panel = plate_with_window();
    // With the centre beyond the outline, on it and well inside; ways that cross outline and window.
    const double everywhere_m = GENERATE(-0.03, 0.0, 0.06);
    const bool one_edge_more = GENERATE(false, true);
    EdgeLimits limits{everywhere_m, {}};
    if (one_edge_more) limits.by_edge_m[panel.edge_names.front()] = 0.02;
    const PadRegion region(panel, limits);
    INFO("limit " << everywhere_m << " m, " << (one_edge_more ? "one edge its own" : "one for all"));
    const ArmWay ways[] = {ArmWay({-0.2, 0.37}, {1.2, 0.43}), ArmWay({0.5, 1.0}, {0.47, -0.2}),
                           ArmWay({-0.1, -0.1}, {1.1, 0.9}),
                           ArmWay({{0.3, -0.1}, {0.5, 0.4}, {1.1, 0.45}, {0.1, 0.7}})};
    for (const ArmWay& way : ways) {
        const std::vector<Stretch> stretches = region.along(way);
        int unlike = 0;
        for (double s = 0; s < way.length_m(); s += 0.00317) {
            const auto ends_near = [&](const Stretch& t) {
                return std::abs(s - t.from_m) < 2e-3 ||
                       std::abs(s - t.to_m) < 2e-3; // gaps of 1 mm may be missed
            };
            if (std::any_of(stretches.begin(), stretches.end(), ends_near)) continue;
            const bool within = std::any_of(stretches.begin(), stretches.end(),
                                            [&](const Stretch& t) { return s >= t.from_m && s <= t.to_m; });
            unlike += within != region.allows(way.at(s));
        }
        CHECK(unlike == 0);
    }
}

TEST_CASE("On a round panel the outermost lines are the first worth making") {
    Panel disc;
    disc.name = "disc";
    std::vector<Point2> points;
    for (int k = 0; k < 720; ++k)
        points.push_back({0.3 * std::cos(k * pi / 360), 0.3 * std::sin(k * pi / 360)});
    add_loop(disc, points, std::vector<std::string>(720, "rim"));
    const ArmPath path = lay_path(one_pass(), pad_radius, disc, 1);
    // Centres within 225 mm; a chord of 5 mm lies (2.5 mm)²/(2 x 225 mm) = 14 um inside the circle, the
    // polygon of 720 sides up to 3 um more.
    CHECK(span_of(path, &Point2::y).high == Approx(0.225 - 14e-6).margin(5e-6));
    CHECK(span_of(path, &Point2::y).low == Approx(-0.225 + 14e-6).margin(5e-6));
    CHECK(lines_at_v(path).size() == 7);
    CHECK(lifts(path) == 0);
}

// ---- strokes, cells, lifts ----------------------------------------------------------------------

TEST_CASE("A window splits lines into strokes, swept on one side and then on the other with one lift") {
    const Panel panel = plate_with_window();
    Technique t = one_pass();
    const ArmPath path = lay_path(t, pad_radius, panel, 1);
    CHECK(lifts(path) == 1);
    bool left = false, right = false;
    for (const ArmSample& s : path.samples) {
        if (!s.down) continue;
        // Sideways moves that follow the window's round corner in twelve chords cut in by a little.
        CHECK(signed_distance(panel.outline, s.at) >= pad_radius - 2e-4);
        if (std::abs(s.at.y - 0.4) < 0.05) (s.at.x < 0.5 ? left : right) = true;
    }
    CHECK(left);
    CHECK(right);
}

TEST_CASE("A lift takes 0.4 s and the way at 150 mm/s") {
    const ArmPath path = lay_path(one_pass(), pad_radius, plate_with_window(), 1);
    double lifted = 0, way = 0;
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        if (path.samples[k - 1].down) continue;
        lifted += path.samples[k].t_s - path.samples[k - 1].t_s;
        way += norm(path.samples[k].at - path.samples[k - 1].at);
    }
    REQUIRE(way > 0.1);
    CHECK(lifted == Approx(0.4 + way / 0.15).epsilon(1e-9));
}

TEST_CASE("The pad stays down along a wheel arch, which the straight way to the next line would cut") {
    const Panel panel = plate_with_arch();
    const ArmPath path = lay_path(one_pass(), pad_radius, panel, 1);
    double closest = 1;
    for (const ArmSample& s : path.samples)
        if (s.down) closest = std::min(closest, signed_distance(panel.outline, s.at));
    CHECK(closest >= pad_radius - 1e-3); // the slack for a sideways move
    // Left of the arch, right of it and above it: two changes of place, no lift from line to line.
    CHECK(lifts(path) == 2);
    CHECK(lines_at_v(path).size() == 9); // 0.55 m in gaps of 68.75 mm
}

TEST_CASE("Every pass wipes the whole section once") {
    struct Case {
        Panel panel;
        double hold_back;
    };
    for (const Case& c :
         {Case{plate(0.6, 0.45), 0.0}, Case{plate_with_window(), -0.02}, Case{plate_with_arch(), -0.04}}) {
        Technique t = one_pass();
        t.passes = 2;
        t.crossed = true;
        t.hold_back_m = c.hold_back;
        const ArmPath path = lay_path(t, pad_radius, c.panel, 1);
        for (int pass = 0; pass < 2; ++pass) {
            int missed = 0, asked = 0;
            for (double x = 0.0; x < 1.0; x += 0.02)
                for (double y = 0.0; y < 0.8; y += 0.02) {
                    // Places that a centre may stand on; the strips at the edge follow from the hold-back.
                    if (signed_distance(c.panel.outline, {x, y}) < pad_radius + c.hold_back) continue;
                    ++asked;
                    const bool wiped =
                        std::any_of(path.samples.begin(), path.samples.end(), [&](const ArmSample& s) {
                            return s.down && s.pass == pass && norm(s.at - Point2{x, y}) <= pad_radius;
                        });
                    if (!wiped) ++missed;
                }
            CHECK(asked > 200);
            CHECK(missed == 0);
        }
    }
}

TEST_CASE("Crossed passes alternate between lines along u and lines along v") {
    Technique t = one_pass();
    t.passes = 4;
    for (const bool crossed : {true, false}) {
        t.crossed = crossed;
        const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.6), 1);
        std::vector<double> along_u(4, 0.0), along_v(4, 0.0);
        for (std::size_t k = 1; k < path.samples.size(); ++k) {
            const auto pass = static_cast<std::size_t>(path.samples[k - 1].pass);
            along_u.at(pass) += std::abs(path.samples[k].at.x - path.samples[k - 1].at.x);
            along_v.at(pass) += std::abs(path.samples[k].at.y - path.samples[k - 1].at.y);
        }
        for (std::size_t pass = 0; pass < 4; ++pass) {
            const bool expect_u = !crossed || pass % 2 == 0;
            CHECK((along_u[pass] > 3 * along_v[pass]) ==
                  expect_u); // 7 lines of 0.45 m against 0.45 m sideways
            CHECK((along_v[pass] > 3 * along_u[pass]) == !expect_u);
        }
        CHECK(lifts(path) == 0); // a pass starts in the corner where the one before ended
    }
}

TEST_CASE("Recharging happens at the start of a pass, after a lift of 5 s") {
    Technique t = one_pass();
    t.passes = 5;
    t.recharge_passes = 2;
    const ArmPath path = lay_path(t, pad_radius, plate(0.5, 0.4), 1);
    std::vector<int> recharged;
    double lifted = 0;
    for (std::size_t k = 0; k < path.samples.size(); ++k) {
        const ArmSample& s = path.samples[k];
        if (s.recharge) {
            recharged.push_back(s.pass);
            REQUIRE(k > 0);
            CHECK(path.samples[k - 1].pass == s.pass); // the lift counts to the pass it leads to
            CHECK_FALSE(path.samples[k - 1].down);
            CHECK(s.down);
        }
        if (k > 0 && !path.samples[k - 1].down) lifted += s.t_s - path.samples[k - 1].t_s;
    }
    CHECK(recharged == std::vector<int>{2, 4});
    CHECK(lifted == Approx(10.0).epsilon(1e-9));
}

// ---- spiral and line ----------------------------------------------------------------------------

TEST_CASE("A spiral's turns are a pitch apart, from the centre out to the limit") {
    const Panel panel = plate(0.6, 0.6);
    Technique t = one_pass();
    t.pattern = Pattern::spiral;
    t.overlap = 0.6; // 60 mm; 225 mm of radius make 4 turns of 56.25 mm
    const ArmPath path = lay_path(t, pad_radius, panel, 1);
    CHECK(norm(path.samples.front().at - Point2{0.3, 0.3}) < 1e-9);
    std::vector<double> crossings; // of the ray from the centre along +u
    double outermost = 0;
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        const Point2 a = path.samples[k - 1].at - Point2{0.3, 0.3}, b = path.samples[k].at - Point2{0.3, 0.3};
        outermost = std::max(outermost, norm(b));
        if (a.y < -1e-12 && b.y >= 0 && b.x > 0) crossings.push_back(a.x + (b.x - a.x) * -a.y / (b.y - a.y));
    }
    REQUIRE(crossings.size() >= 4);
    // A step of 4 mm on a turn of 56 mm radius cuts 0.04 mm off the arc.
    for (std::size_t k = 0; k < 4; ++k)
        CHECK(crossings[k] == Approx(0.05625 * static_cast<double>(k + 1)).margin(1e-4));
    CHECK(outermost == Approx(0.225).margin(1e-4));
    CHECK(lifts(path) == 0);
}

TEST_CASE("A spiral runs at the arm speed from start to end, and back in on the second pass") {
    Technique t = one_pass();
    t.pattern = Pattern::spiral;
    t.passes = 2;
    const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.6), 1);
    CHECK(norm(path.samples.back().at - Point2{0.3, 0.3}) < 1e-9);
    // Arc length of r = b theta over n turns, b = 75 mm / 2 pi, n = 3, and the closing turn.
    const double b = 0.075 / (2 * pi), theta = 6 * pi;
    const double spiral_m = b / 2 * (theta * std::sqrt(1 + theta * theta) + std::asinh(theta));
    const double one_way_m = spiral_m + 2 * pi * 0.225;
    CHECK(path.duration_s() ==
          Approx(2 * (one_way_m / 0.04 + 0.04)).epsilon(2e-4));      // chords of 2°: 5e-5 short
    CHECK(travelled_m(path) == Approx(2 * one_way_m).epsilon(1e-3)); // and steps of 4 mm
}

TEST_CASE("A spiral in an oblong section keeps inside its ellipse") {
    Technique t = one_pass();
    t.pattern = Pattern::spiral;
    t.section_centre = Point2{0.5, 0.4};
    t.section_size = {0.6, 0.4};
    const ArmPath path = lay_path(t, pad_radius, plate(1.0, 0.8), 1);
    double largest = 0;
    for (const ArmSample& s : path.samples) {
        const Point2 p = s.at - Point2{0.5, 0.4};
        largest = std::max(largest, std::hypot(p.x / 0.225, p.y / 0.125));
    }
    CHECK(largest == Approx(1).margin(1e-6));
}

TEST_CASE("A spiral is lifted over a window") {
    const Panel panel = plate_with_window();
    Technique t = one_pass();
    t.pattern = Pattern::spiral;
    const ArmPath path = lay_path(t, pad_radius, panel, 1);
    CHECK(lifts(path) > 0);
    for (std::size_t k = 1; k < path.samples.size(); ++k)
        if (path.samples[k - 1].down) {
            const Point2 middle = 0.5 * (path.samples[k - 1].at + path.samples[k].at);
            CHECK(signed_distance(panel.outline, middle) >= pad_radius - 1.1e-3); // moves may cut in by 1 mm
        }
}

TEST_CASE("A line runs where it was asked for, whatever the hold-back") {
    Technique t = line_technique({0.05, 0.0}, {0.45, 0.0});
    t.hold_back_m = 0.02;
    t.passes = 3;
    const ArmPath path = lay_path(t, pad_radius, plate(0.5, 0.5), 1);
    for (const ArmSample& s : path.samples) CHECK(s.at.y == 0);
    CHECK(path.samples.back().at.x == Approx(0.45));
    CHECK(lifts(path) == 0);
}

TEST_CASE("A line is laid only where the pad touches the panel") {
    const ArmPath path = lay_path(line_technique({-0.3, 0.25}, {0.2, 0.25}), pad_radius, plate(0.5, 0.5), 1);
    CHECK(path.samples.front().at.x == Approx(-pad_radius).margin(1e-6));
    CHECK(path.samples.back().at.x == Approx(0.2));
}

} // namespace test_arm_path
