#include "formats/path_csv.hpp"
#include "support/files.hpp"
#include "support/refusal.hpp"
#include "tool/arm_path.hpp"
#include "tool/hand.hpp"
#include "tool/strokes.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <rapidcheck.h>
#include <set>

using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr double pad_radius = 0.075;

/// Adds a closed loop whose k-th side (from point k) is named names[k].
void add_loop(Panel& panel, const std::vector<Point2>& points, const std::vector<std::string>& names) {
    Polyline loop;
    loop.points = points;
    for (const std::string& name : names) {
        const auto known = std::find(panel.edge_names.begin(), panel.edge_names.end(), name);
        loop.edge.push_back(static_cast<int>(known - panel.edge_names.begin()));
        if (known == panel.edge_names.end()) panel.edge_names.push_back(name);
    }
    panel.outline.push_back(loop);
}

/// Corner at the origin; sides bottom, right, top, left.
Panel plate(double width, double height) {
    Panel panel;
    panel.name = "plate";
    add_loop(panel, {{0, 0}, {width, 0}, {width, height}, {0, height}}, {"bottom", "right", "top", "left"});
    return panel;
}

/// A 1.0 x 0.8 m plate with a window in the middle.
Panel plate_with_window() {
    Panel panel = plate(1.0, 0.8);
    add_loop(panel, {{0.4, 0.3}, {0.4, 0.5}, {0.6, 0.5}, {0.6, 0.3}},
             {"window", "window", "window", "window"});
    return panel;
}

/// A 1.0 x 0.7 m plate with a half-round wheel arch of 0.3 m radius cut into its bottom edge.
Panel plate_with_arch() {
    Panel panel;
    panel.name = "wing";
    std::vector<Point2> points{{0, 0}};
    std::vector<std::string> names{"bottom"};
    for (int k = 0; k <= 90; ++k) {
        const double angle = pi * (1 - k / 90.0);
        points.push_back({0.5 + 0.3 * std::cos(angle), 0.3 * std::sin(angle)});
        names.push_back(k < 90 ? "wheel arch" : "bottom");
    }
    for (const Point2 p : {Point2{1, 0}, Point2{1, 0.7}, Point2{0, 0.7}}) points.push_back(p);
    for (const char* name : {"right", "top", "left"}) names.push_back(name);
    add_loop(panel, points, names);
    return panel;
}

Technique one_pass() {
    Technique t;
    t.pattern = Pattern::raster;
    t.force_n = 45;
    t.speed_rad_s = 4500 * per_min;
    t.arm_speed_m_s = 0.04;
    t.arm_acceleration_m_s2 = 1.0;
    t.passes = 1;
    t.crossed = false;
    t.section_size = {20, 20}; // a whole panel in one go, unless a test says otherwise
    return t;
}

Technique line_technique(Point2 from, Point2 to) {
    Technique t = one_pass();
    t.pattern = Pattern::line;
    t.line_from = from;
    t.line_to = to;
    return t;
}

struct Span {
    double low = 1e9, high = -1e9;
};

Span span_of(const ArmPath& path, double Point2::*axis) {
    Span span;
    for (const ArmSample& s : path.samples) {
        span.low = std::min(span.low, s.at.*axis);
        span.high = std::max(span.high, s.at.*axis);
    }
    return span;
}

int lifts(const ArmPath& path) {
    int count = 0;
    for (std::size_t k = 1; k < path.samples.size(); ++k)
        if (path.samples[k - 1].down && !path.samples[k].down) ++count;
    return count;
}

double travelled_m(const ArmPath& path) {
    double sum = 0;
    for (std::size_t k = 1; k < path.samples.size(); ++k)
        sum += norm(path.samples[k].at - path.samples[k - 1].at);
    return sum;
}

/// Where the lines lie: the v of every step that runs along u while down, to a micrometre.
std::vector<double> lines_at_v(const ArmPath& path) {
    std::set<long> found;
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        const Point2 step = path.samples[k].at - path.samples[k - 1].at;
        if (path.samples[k - 1].down && std::abs(step.x) > 1e-5 && std::abs(step.y) < 1e-9)
            found.insert(std::lround(path.samples[k].at.y * 1e6));
    }
    std::vector<double> lines;
    for (const long v : found) lines.push_back(static_cast<double>(v) * 1e-6);
    return lines;
}

/// The message of the InputError that a call throws; empty if it throws none.
std::string refusal(const std::function<void()>& call) {
    try {
        call();
    } catch (const InputError& error) {
        return error.what();
    }
    return {};
}

bool same(const ArmSample& a, const ArmSample& b) {
    return a.t_s == b.t_s && a.at.x == b.at.x && a.at.y == b.at.y && a.force_n == b.force_n &&
           a.tilt_rad.x == b.tilt_rad.x && a.tilt_rad.y == b.tilt_rad.y && a.speed_rad_s == b.speed_rad_s &&
           a.down == b.down && a.recharge == b.recharge && a.pass == b.pass;
}

bool same(const ArmPath& a, const ArmPath& b) {
    return std::equal(a.samples.begin(), a.samples.end(), b.samples.begin(), b.samples.end(),
                      [](const ArmSample& x, const ArmSample& y) { return same(x, y); });
}

std::string edge_at(const Panel& panel, Point2 p) {
    int edge = -1;
    signed_distance(panel.outline, p, &edge);
    return panel.edge_names.at(static_cast<std::size_t>(edge));
}

} // namespace

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

// ---- taped lines --------------------------------------------------------------------------------

TEST_CASE("A hold-back named for a body line keeps the pad to either side of it; unnamed it is crossed") {
    Panel panel = plate(1.0, 0.8);
    panel.crest_names = {"waist line"};
    panel.crests = {{{{0.0, 0.4}, {1.0, 0.4}}, {0, 0}, false}};
    Technique t = one_pass();
    t.passes = 2, t.crossed = true;
    const auto nearest_to_line = [&] {
        double nearest = 1;
        for (const ArmSample& s : lay_path(t, pad_radius, panel, 1).samples)
            if (s.down) nearest = std::min(nearest, std::abs(s.at.y - 0.4));
        return nearest;
    };
    CHECK(nearest_to_line() < 0.04);
    t.hold_back_edge_m = {{"waist line", 0.01}};
    CHECK(nearest_to_line() == Approx(pad_radius + 0.01).margin(1.1e-3)); // sideways moves: 1 mm of slack
    const ArmPath path = lay_path(t, pad_radius, panel, 1);
    const auto worked = [&](double low, double high) {
        return std::any_of(path.samples.begin(), path.samples.end(),
                           [&](const ArmSample& s) { return s.down && s.at.y > low && s.at.y < high; });
    };
    CHECK(worked(0.1, 0.3));
    CHECK(worked(0.5, 0.7));
}

// ---- a whole panel in sections ------------------------------------------------------------------

TEST_CASE("A whole panel is worked in sections, each freshly charged, without gaps or double cover") {
    const Panel panel = plate(1.1, 0.6);
    Technique t = one_pass();
    t.passes = 2;
    t.crossed = true;
    t.section_size = {0.5, 0.5};
    const ArmPath path = lay_path(t, pad_radius, panel, 1);

    int charges = 0;
    for (std::size_t k = 0; k + 1 < path.samples.size(); ++k) {
        charges += path.samples[k].recharge;
        REQUIRE(path.samples[k + 1].t_s > path.samples[k].t_s);
    }
    // Centres have 0.95 x 0.45 m; a section takes about 0.35 m of it and the next starts half a spacing
    // (37.5 mm) further: 2.5 and 1.3 sections, taken as 3 x 1, of which the first starts fresh anyway.
    CHECK(charges == 2);

    // Every place has the arm's line within half a spacing (and the sideways moves' ends): sample them.
    for (double x = 0.08; x < 1.03; x += 0.03)
        for (double y = 0.08; y < 0.53; y += 0.03) {
            double nearest = 1;
            for (const ArmSample& s : path.samples)
                if (s.down) nearest = std::min(nearest, norm(s.at - Point2{x, y}));
            CAPTURE(x, y);
            REQUIRE(nearest < 0.054); // diagonal of a 75 mm square of lines, halved
        }
}

TEST_CASE("Sections are of one size near the asked one, follow one another and meet at half a line spacing") {
    Technique t = one_pass();
    t.passes = 2;
    t.crossed = true;
    t.section_size = {0.5, 0.5};
    const double joint = 0.5 * 0.5 * 2 * pad_radius; // of a half overlap
    // Centres have the width less 0.15 m; a section and its joint take 0.3875 m of that and one joint.
    struct Case {
        double width;
        int across;
    };
    for (const Case c : {Case{0.5, 1}, Case{0.8875, 2}, Case{0.95, 2}, Case{1.1, 3}, Case{1.25, 3}}) {
        CAPTURE(c.width);
        const double height = 0.9; // 2.03 sections
        const ArmPath path = lay_path(t, pad_radius, plate(c.width, height), 1);
        std::vector<Rect> sections{{{9, 9}, {-9, -9}}}; // where the centre went, section by section
        for (const ArmSample& s : path.samples) {
            if (s.recharge) sections.push_back({{9, 9}, {-9, -9}});
            if (!s.down) continue;
            Rect& r = sections.back();
            r.low = {std::min(r.low.x, s.at.x), std::min(r.low.y, s.at.y)};
            r.high = {std::max(r.high.x, s.at.x), std::max(r.high.y, s.at.y)};
        }
        REQUIRE(sections.size() == static_cast<std::size_t>(c.across) * 2);
        for (std::size_t k = 0; k < sections.size(); ++k) {
            const Point2 size = sections[k].size();
            CHECK(size.x ==
                  Approx((c.width - 2 * pad_radius - (c.across - 1) * joint) / c.across).margin(1e-6));
            CHECK(size.y == Approx((height - 2 * pad_radius - joint) / 2).margin(1e-6));
            if (k == 0) continue;
            // The next section is a neighbour, across one joint, in line with this one along the other way.
            const Rect &a = sections[k - 1], &b = sections[k];
            const double gap_x = std::max(b.low.x - a.high.x, a.low.x - b.high.x);
            const double gap_y = std::max(b.low.y - a.high.y, a.low.y - b.high.y);
            CHECK(std::max(gap_x, gap_y) == Approx(joint).margin(1e-6));
            CHECK(std::abs(gap_x > gap_y ? b.low.y - a.low.y : b.low.x - a.low.x) < 1e-6);
        }
    }
}

TEST_CASE("A section of its own is not divided") {
    Technique t = one_pass();
    t.section_centre = Point2{0.55, 0.3};
    t.section_size = {1.0, 0.5};
    t.passes = 2;
    for (const ArmSample& s : lay_path(t, pad_radius, plate(1.1, 0.6), 1).samples) CHECK_FALSE(s.recharge);

    // Not even where overhang makes the centre's room twice what a section of that size has inside a panel.
    t.section_centre = Point2{0.15, 0.15};
    t.section_size = {0.3, 0.3};
    t.hold_back_m = -pad_radius;
    for (const ArmSample& s : lay_path(t, pad_radius, plate(0.3, 0.3), 1).samples) CHECK_FALSE(s.recharge);
}

// ---- refusals -----------------------------------------------------------------------------------

TEST_CASE("What cannot be laid is refused with its place") {
    const Panel panel = plate(0.6, 0.5);
    const auto message = [&](const Technique& t, double radius = pad_radius) {
        return refusal([&] { lay_path(t, radius, panel, 1, {}, "t.json"); });
    };
    Technique t = one_pass();
    t.hold_back_edge_m = {{"wheel arch", 0.0}};
    CHECK(message(t) == "t.json: /hold_back/wheel arch: found an edge \"wheel arch\"; "
                        "allowed: the edges of plate: bottom, right, top, left");
    t = one_pass();
    t.section_centre = Point2{2, 2};
    t.section_size = {0.5, 0.5};
    CHECK_THAT(message(t), Catch::Contains("t.json: /section: found a section off the panel"));
    t.section_centre = Point2{0.3, 0.25};
    t.section_size = {0.12, 0.12};
    CHECK_THAT(message(t),
               Catch::Contains("/section/size: found 120 mm x 120 mm, no room to move a pad of 150 mm"));
    t.section_size = {0.15, 0.15}; // room for the pad, none to move it
    CHECK_THAT(message(t), Catch::Contains("/section/size"));
    CHECK_THAT(message(one_pass(), 0.3), Catch::Contains("/hold_back: found no room on the panel \"plate\""));
    t = one_pass();
    t.hold_back_m = 0.2;
    CHECK_THAT(message(t), Catch::Contains("/hold_back: found no room"));
    CHECK_THAT(message(line_technique({0.1, -0.08}, {0.5, -0.08})),
               Catch::Contains("/line: found a line off the panel"));
    CHECK(message(line_technique({0.1, -0.07}, {0.5, -0.07})).empty());
    CHECK_THAT(message(line_technique({0.1, 0.1}, {0.1, 0.1})),
               Catch::Contains("/line: found a line of no length"));
    t = one_pass();
    t.pattern = Pattern::recorded;
    CHECK_THAT(message(t), Catch::Contains("/pattern"));
    t = one_pass();
    t.overlap = 1;
    CHECK_THAT(message(t), Catch::Contains("/overlap: found 100 %; allowed: 0 to 95 %"));
    t = one_pass();
    t.arm_speed_m_s = 0;
    CHECK_THAT(message(t), Catch::Contains("/arm_speed"));
}

// ---- the hand -----------------------------------------------------------------------------------

TEST_CASE("The hand's noise has zero mean and unit variance, between knots as on them") {
    const int count = 40000;
    for (const double offset : {0.0, 0.25, 0.5}) {
        double sum = 0, squares = 0;
        for (int k = 0; k < count; ++k) {
            const double z = smooth_noise(7, HandChannel::force, k + offset);
            sum += z;
            squares += z * z;
        }
        // Neighbours correlate by 0.49 and 0.05: the mean's sd is sqrt(2.1/n) = 0.007, the variance's
        // sqrt(2 x 1.5/n) = 0.009. Four of these.
        CHECK(sum / count == Approx(0).margin(0.03));
        CHECK(squares / count == Approx(1).margin(0.036));
    }
}

TEST_CASE("The hand's noise forgets within a few correlation times") {
    const int count = 40000;
    const auto correlation = [&](double lag) {
        double sum = 0;
        for (int k = 0; k < count; ++k)
            sum += smooth_noise(3, HandChannel::tilt_u, 1.37 * k) *
                   smooth_noise(3, HandChannel::tilt_u, 1.37 * k + lag);
        return sum / count;
    };
    CHECK(correlation(1) ==
          Approx(1191.0 / 2416).margin(0.04)); // B-spline values; 0.04 = four sd and the division
    CHECK(correlation(2) == Approx(120.0 / 2416).margin(0.04));
    CHECK(correlation(4) == Approx(0).margin(0.03));
}

TEST_CASE("The hand's noise has no kinks, not even at its knots") {
    const double h = 1e-5;
    for (int k = -50; k < 50; ++k) {
        const double before = smooth_noise(5, HandChannel::force, k - h),
                     here = smooth_noise(5, HandChannel::force, k),
                     after = smooth_noise(5, HandChannel::force, k + h);
        CHECK(std::abs(after - here) < 5 * h * 3); // slope of a few per knot
        // Both slopes agree to the second derivative times h; a kink would leave some 1.
        CHECK(std::abs((after - here) / h - (here - before) / h) < 50 * h);
    }
}

TEST_CASE("The hand's noise is a function of seed, channel and knot alone") {
    CHECK(normal_at(1, HandChannel::force, 4) == normal_at(1, HandChannel::force, 4));
    CHECK(normal_at(1, HandChannel::force, 4) != normal_at(2, HandChannel::force, 4));
    CHECK(normal_at(1, HandChannel::force, 4) != normal_at(1, HandChannel::tilt_u, 4));
    CHECK(normal_at(1, HandChannel::force, 4) != normal_at(1, HandChannel::force, -4));
    double across = 0; // channels do not go together
    for (int k = 0; k < 40000; ++k)
        across += normal_at(9, HandChannel::tilt_u, k) * normal_at(9, HandChannel::tilt_v, k);
    CHECK(across / 40000 == Approx(0).margin(0.02)); // sd 0.005
}

TEST_CASE("A steady hand gives exactly what was asked for, whatever the seed") {
    Technique t = one_pass();
    t.tilt_rad = 2 * deg;
    t.tilt_toward_rad = 90 * deg;
    const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.5), 1);
    CHECK(same(path, lay_path(t, pad_radius, plate(0.6, 0.5), 99)));
    for (const ArmSample& s : path.samples) {
        CHECK(s.force_n == 45);
        CHECK(s.speed_rad_s == 4500 * per_min);
        CHECK(s.tilt_rad.y == 2 * deg);
        CHECK(s.tilt_rad.x == Approx(0).margin(1e-12));
    }
}

TEST_CASE("A varying hand repeats itself with its seed and differs with another") {
    Technique t = one_pass();
    t.passes = 2;
    t.hand = {0.1, 0.1, 0.5 * deg, 0.005, 1.5};
    const ArmPath path = lay_path(t, pad_radius, plate(0.6, 0.5), 1);
    CHECK(same(path, lay_path(t, pad_radius, plate(0.6, 0.5), 1)));
    CHECK_FALSE(same(path, lay_path(t, pad_radius, plate(0.6, 0.5), 2)));
}

TEST_CASE("Each channel of a varying hand varies by what was asked, and leaves the others alone") {
    const Panel panel = plate(2.0, 1.5);
    Technique t = one_pass();
    t.passes = 8;
    const ArmPath steady = lay_path(t, pad_radius, panel, 1);
    const auto deviation = [](const ArmPath& path, const std::function<double(const ArmSample&)>& value) {
        double sum = 0, squares = 0;
        const auto n = static_cast<double>(path.samples.size());
        for (const ArmSample& s : path.samples) sum += value(s);
        for (const ArmSample& s : path.samples) squares += (value(s) - sum / n) * (value(s) - sum / n);
        return std::sqrt(squares / n);
    };
    // About 8000 s, 5000 correlation times: an sd is met to 2 % (three of its own deviations).
    t.hand.force = 0.08;
    const ArmPath uneven_force = lay_path(t, pad_radius, panel, 1);
    CHECK(deviation(uneven_force, [](const ArmSample& s) { return s.force_n; }) ==
          Approx(0.08 * 45).epsilon(0.03));
    CHECK(uneven_force.duration_s() == steady.duration_s());
    t.hand = {};
    t.hand.tilt_rad = 0.5 * deg;
    const ArmPath uneven_tilt = lay_path(t, pad_radius, panel, 1);
    CHECK(deviation(uneven_tilt, [](const ArmSample& s) { return s.tilt_rad.x; }) ==
          Approx(0.5 * deg).epsilon(0.03));
    CHECK(deviation(uneven_tilt, [](const ArmSample& s) { return s.tilt_rad.y; }) ==
          Approx(0.5 * deg).epsilon(0.03));
    CHECK(deviation(uneven_tilt, [](const ArmSample& s) { return s.force_n; }) < 1e-9);
    t.hand = {};
    t.hand.arm_speed = 0.1;
    const ArmPath uneven_speed = lay_path(t, pad_radius, panel, 1);
    CHECK(travelled_m(uneven_speed) == Approx(travelled_m(steady)).epsilon(1e-9));
    // At speed v (1 + z) over equal ways the time is longer by the mean of 1/(1 + z), 1 + sd² = 1.01.
    CHECK(uneven_speed.duration_s() == Approx(1.0104 * steady.duration_s()).epsilon(0.005));
    CHECK(uneven_speed.duration_s() != steady.duration_s());
}

TEST_CASE("The sideways wander of the lines has the asked spread and stays inside the limits") {
    Technique t = one_pass();
    t.passes = 60;
    t.hand.spacing_m = 0.004;
    const Panel panel = plate(0.3, 1.45);
    const ArmPath path = lay_path(t, pad_radius, panel, 1);
    const double room = 1.45 - 2 * pad_radius, gap = room / std::ceil(room / 0.075);
    std::set<std::pair<int, long>> lines;
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        const ArmSample& s = path.samples[k];
        CHECK(signed_distance(panel.outline, s.at) >= pad_radius - 1e-6);
        if (std::abs(s.at.x - path.samples[k - 1].at.x) > 1e-3)
            lines.insert({s.pass, std::lround(s.at.y * 1e7)});
    }
    double squares = 0;
    int count = 0;
    for (const auto& [pass, v] : lines) {
        const double place = (static_cast<double>(v) * 1e-7 - pad_radius) / gap;
        if (place < 0.5 || place > room / gap - 0.5) continue; // the outermost are held in on one side
        squares += std::pow((place - std::round(place)) * gap, 2);
        ++count;
    }
    REQUIRE(count > 900);
    CHECK(std::sqrt(squares / count) == Approx(0.004).epsilon(0.08)); // sd/sqrt(2n) = 2.4 %, three of them
}

TEST_CASE("However unsteady the hand, a tenth of the force and a fifth of the speed remain") {
    Technique t = one_pass();
    t.passes = 4;
    t.hand.force = 3;
    t.hand.arm_speed = 3;
    const ArmPath path = lay_path(t, pad_radius, plate(0.8, 0.8), 1, {0.004, 10.0});
    double least = 1e9, slowest = 1e9;
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        const ArmSample &a = path.samples[k - 1], &b = path.samples[k];
        least = std::min(least, a.force_n);
        const bool at_speed = norm(b.at - a.at) > 0.003; // ramps are 0.8 mm long
        if (at_speed) slowest = std::min(slowest, norm(b.at - a.at) / (b.t_s - a.t_s));
    }
    CHECK(least == Approx(4.5).epsilon(1e-12));
    CHECK(slowest == Approx(0.2 * 0.04).epsilon(1e-9));
}

// ---- sampling -----------------------------------------------------------------------------------

TEST_CASE("Samples are strictly in order, and no step is longer than the limits") {
    Technique t = one_pass();
    t.passes = 3;
    t.recharge_passes = 1;
    t.hand = {0.1, 0.3, 0.01, 0.005, 0.8};
    for (const StepLimits limits : {StepLimits{}, StepLimits{0.001, 0.02}, StepLimits{0.05, 0.5}}) {
        const ArmPath path = lay_path(t, pad_radius, plate_with_window(), 4, limits);
        for (std::size_t k = 1; k < path.samples.size(); ++k) {
            const ArmSample &a = path.samples[k - 1], &b = path.samples[k];
            CHECK(b.t_s > a.t_s);
            CHECK(b.t_s - a.t_s <= limits.max_step_s * (1 + 1e-8));
            CHECK(norm(b.at - a.at) <= limits.max_step_m * (1 + 1e-8));
        }
    }
}

TEST_CASE("Finer steps change neither the duration nor the way of a raster") {
    Technique t = one_pass();
    t.arm_acceleration_m_s2 = 0.3;
    const ArmPath coarse = lay_path(t, pad_radius, plate(0.6, 0.5), 1, {0.05, 1.0});
    const ArmPath fine = lay_path(t, pad_radius, plate(0.6, 0.5), 1, {0.0005, 0.005});
    CHECK(fine.samples.size() > 10 * coarse.samples.size());
    CHECK(fine.duration_s() == Approx(coarse.duration_s()).epsilon(1e-9));
    CHECK(travelled_m(fine) == Approx(travelled_m(coarse)).epsilon(1e-9));
}

TEST_CASE("Resampling keeps every sample, the duration and the way") {
    ArmPath path;
    path.samples.resize(3);
    path.samples[1].t_s = 0.3;
    path.samples[1].at = {0.01, 0};
    path.samples[1].force_n = 30;
    path.samples[1].recharge = true;
    path.samples[2].t_s = 0.35;
    path.samples[2].at = {0.01, 0.01};
    path.samples[2].force_n = 60;
    const ArmPath fine = resample(path, {0.004, 0.1});
    REQUIRE(fine.samples.size() == 7); // 3 steps each: 10 mm at 4 mm, 0.3 s at 0.1 s
    CHECK(same(fine.samples[3], path.samples[1]));
    CHECK(fine.samples[1].force_n == Approx(10));
    CHECK(fine.samples[4].force_n == Approx(40));
    CHECK_FALSE(fine.samples[4].recharge);
    CHECK(fine.duration_s() == 0.35);
    CHECK(travelled_m(fine) == Approx(0.02).epsilon(1e-12));
}

// ---- properties ---------------------------------------------------------------------------------

TEST_CASE(
    "Any raster on any rectangle keeps the pad's centre where it may go, from end to end of its steps") {
    REQUIRE(rc::check([] {
        const double width = *rc::gen::inRange(160, 900) * mm, height = *rc::gen::inRange(160, 900) * mm;
        const Panel panel = plate(width, height);
        Technique t = one_pass();
        t.passes = *rc::gen::inRange(1, 4);
        t.crossed = *rc::gen::arbitrary<bool>();
        t.overlap = *rc::gen::inRange(0, 80) / 100.0;
        t.hold_back_m = *rc::gen::inRange(-100, 4) * mm;
        t.hand.spacing_m = *rc::gen::inRange(0, 30) * mm;
        t.hand.arm_speed = *rc::gen::inRange(0, 30) / 100.0;
        std::map<std::string, double> limit;
        for (const std::string& edge : panel.edge_names) {
            limit[edge] = pad_radius + t.hold_back_m;
            if (*rc::gen::arbitrary<bool>()) continue;
            t.hold_back_edge_m[edge] = *rc::gen::inRange(-110, 4) * mm;
            limit[edge] = pad_radius + t.hold_back_edge_m[edge];
        }
        const ArmPath path = lay_path(t, pad_radius, panel, *rc::gen::arbitrary<std::uint64_t>());
        RC_ASSERT(path.samples.size() > 2u);
        // For a rectangle the rule can be said without any geometry of the outline, except past the
        // corners: every edge's own line is kept to. A sideways move may cut in by 1 mm.
        const double slack = 1e-3 + 1e-6;
        for (std::size_t k = 0; k + 1 < path.samples.size(); ++k) {
            if (!path.samples[k].down) continue;
            for (const Point2 p : {path.samples[k].at, 0.5 * (path.samples[k].at + path.samples[k + 1].at)}) {
                const std::map<std::string, double> inside = {
                    {"left", p.x}, {"right", width - p.x}, {"bottom", p.y}, {"top", height - p.y}};
                for (const auto& [edge, depth] : inside) {
                    // Off the panel beyond one edge, an edge with a positive limit is kept clear of by a
                    // radius round its end, so its line may be passed a little nearer there.
                    const bool off =
                        std::any_of(inside.begin(), inside.end(), [](const auto& d) { return d.second < 0; });
                    const double least = off && limit[edge] > 0 ? 0.0 : limit[edge];
                    RC_ASSERT(depth >= least - slack);
                }
            }
        }
    }));
}

TEST_CASE("Any section on any plate with a window keeps the pad's rim off the window and in the section") {
    const Panel panel = plate_with_window();
    REQUIRE(rc::check([&] {
        Technique t = one_pass();
        t.passes = 2;
        t.crossed = true;
        t.section_centre = Point2{*rc::gen::inRange(200, 800) * mm, *rc::gen::inRange(200, 600) * mm};
        t.section_size = {*rc::gen::inRange(160, 900) * mm, *rc::gen::inRange(160, 700) * mm};
        t.pattern = *rc::gen::arbitrary<bool>() ? Pattern::raster : Pattern::spiral;
        ArmPath path;
        try {
            path = lay_path(t, pad_radius, panel, 1);
        } catch (const InputError&) {
            RC_DISCARD("no room beside the window");
        }
        for (const ArmSample& s : path.samples) {
            if (!s.down) continue;
            RC_ASSERT(signed_distance(panel.outline, s.at) >= pad_radius - 1.1e-3);
            RC_ASSERT(std::abs(s.at.x - t.section_centre->x) <= 0.5 * t.section_size.x + 1e-6);
            RC_ASSERT(std::abs(s.at.y - t.section_centre->y) <= 0.5 * t.section_size.y + 1e-6);
        }
    }));
}

// ---- recorded paths -----------------------------------------------------------------------------

namespace {

/// A recorded path's file, gone at the end of the test.
struct PathFile {
    explicit PathFile(const std::string& text = {}) { write_text(path, text); }
    ScratchFolder folder;
    std::filesystem::path path = folder / "path.csv";
};

std::string csv_refusal(const std::string& text) {
    const PathFile csv(text);
    const std::string message = refusal([&] { read_path_csv(csv.path, one_pass(), plate(0.5, 0.5)); });
    const std::string prefix = csv.path.string() + ": ";
    return message.rfind(prefix, 0) == 0 ? message.substr(prefix.size()) : message;
}

} // namespace

TEST_CASE("A recorded path takes from the technique what was not recorded") {
    const PathFile csv("t_s,x_mm,y_mm\n10,100,200\n10.1,104,200\n10.2,108,200\n");
    Technique t = one_pass();
    t.tilt_rad = 3 * deg;
    t.tilt_toward_rad = 90 * deg;
    const ArmPath path = read_path_csv(csv.path, t, plate(0.5, 0.5));
    REQUIRE(path.samples.size() == 3);
    CHECK(path.samples[0].t_s == 0); // counted from the first row
    CHECK(path.samples[2].t_s == Approx(0.2).epsilon(1e-12));
    CHECK(path.samples[1].at.x == Approx(0.104).epsilon(1e-12));
    for (const ArmSample& s : path.samples) {
        CHECK(s.force_n == 45);
        CHECK(s.speed_rad_s == 4500 * per_min);
        CHECK(s.tilt_rad.y == Approx(3 * deg));
        CHECK(s.down);
    }
}

TEST_CASE("A recorded path may have its optional columns in any order, Windows line ends and blanks") {
    const PathFile csv("\xEF\xBB\xBFt_s, x_mm, y_mm, rpm, tilt_toward_deg, tilt_deg, force_n\r\n"
                       "0,100,200, 4000, 180, 2, 30\r\n0.1 "
                       ",104,200,4100,180,2,0\r\n0.2,108,200,4200,180,2,50\r\n\r\n  \r\n");
    const ArmPath path = read_path_csv(csv.path, one_pass(), plate(0.5, 0.5));
    REQUIRE(path.samples.size() == 3);
    CHECK(path.samples[0].speed_rad_s == Approx(4000 * per_min));
    CHECK(path.samples[0].tilt_rad.x == Approx(-2 * deg));
    CHECK(path.samples[0].force_n == 30);
    CHECK(path.samples[0].down);
    CHECK_FALSE(path.samples[1].down);    // 0 N: lifted
    CHECK(path.samples[1].force_n == 30); // so that the step before is not half unloaded
    CHECK(path.samples[2].down);
}

TEST_CASE("A recorded path is resampled to the step limits") {
    const PathFile csv("t_s,x_mm,y_mm\n0,100,200\n0.4,120,200\n");
    const ArmPath path = read_path_csv(csv.path, one_pass(), plate(0.5, 0.5));
    CHECK(path.samples.size() == 6); // 20 mm at 4 mm
    CHECK(path.duration_s() == Approx(0.4));
    CHECK(travelled_m(path) == Approx(0.02));
}

TEST_CASE("A bad recording is refused by its line, with what was found and what is allowed") {
    const std::string head = "t_s,x_mm,y_mm,force_n,tilt_deg,rpm\n0,100,100,40,0,4000\n";
    CHECK(csv_refusal("") == "line 1: found a column \"\"; allowed: t_s,x_mm,y_mm and after these any of "
                             "force_n, tilt_deg, tilt_toward_deg, rpm, pass, recharge");
    CHECK_THAT(csv_refusal("t_s,y_mm,x_mm\n0,1,1\n0.1,1,1\n"), Catch::StartsWith("line 1: found a header"));
    CHECK_THAT(csv_refusal("t_s,x_mm\n0,1\n0.1,1\n"), Catch::StartsWith("line 1: found a header"));
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm,force\n"), Catch::StartsWith("line 1: found a column \"force\""));
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm,rpm,rpm\n"),
               Catch::StartsWith("line 1: found the column \"rpm\" twice"));
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm\n0,1,1\n"),
               Catch::StartsWith("line 2: found 1 rows of values; allowed: two"));
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm\n"), Catch::StartsWith("line 1: found 0 rows of values"));
    CHECK_THAT(csv_refusal(head + "0.1,100\n"), Catch::StartsWith("line 3: found 2 values; allowed: 6"));
    CHECK_THAT(csv_refusal(head + "0.1,abc,100,40,0,4000\n"),
               Catch::StartsWith("line 3: found x_mm \"abc\""));
    CHECK_THAT(csv_refusal(head + "0.1,1e2x,100,40,0,4000\n"),
               Catch::StartsWith("line 3: found x_mm \"1e2x\""));
    CHECK_THAT(csv_refusal(head + "0.1,,100,40,0,4000\n"), Catch::StartsWith("line 3: found x_mm \"\""));
    CHECK_THAT(csv_refusal(head + "0.1,100,nan,40,0,4000\n"),
               Catch::StartsWith("line 3: found y_mm \"nan\"; allowed: a finite"));
    CHECK_THAT(csv_refusal(head + "0.1,100,inf,40,0,4000\n"),
               Catch::StartsWith("line 3: found y_mm \"inf\""));
    CHECK_THAT(csv_refusal(head + "0.1,101,100,40,0,4000\n0.1,102,100,40,0,4000\n"),
               Catch::StartsWith("line 4: found time 0.1 s after 0.1 s; allowed: times that increase"));
    CHECK_THAT(csv_refusal(head + "-1,101,100,40,0,4000\n"),
               Catch::StartsWith("line 3: found time -1 s after 0 s"));
    CHECK_THAT(csv_refusal(head + "0.6,101,100,40,0,4000\n"),
               Catch::StartsWith("line 3: found a gap of 0.6 s"));
    CHECK_THAT(csv_refusal(head + "0.1,301,100,40,0,4000\n"),
               Catch::StartsWith("line 3: found a jump at 2.01 m/s"));
    CHECK_THAT(csv_refusal(head + "0.1,101,100,401,0,4000\n"),
               Catch::StartsWith("line 3: found force_n 401; allowed: 0 to 400 N"));
    CHECK_THAT(csv_refusal(head + "0.1,101,100,-1,0,4000\n"), Catch::StartsWith("line 3: found force_n -1"));
    CHECK_THAT(csv_refusal(head + "0.1,101,100,40,31,4000\n"),
               Catch::StartsWith("line 3: found tilt_deg 31; allowed: 0 to 30°"));
    CHECK_THAT(csv_refusal(head + "0.1,101,100,40,0,10001\n"),
               Catch::StartsWith("line 3: found rpm 10001; allowed: 0 to 10000"));
    CHECK_THAT(csv_refusal(head + "\n0.1,101,100,40,0,4000\n"), Catch::StartsWith("line 3: found 1 values"));
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm,recharge\n0,1,1,0.5\n0.1,1,1,0\n"),
               Catch::StartsWith("line 2: found recharge 0.5"));
    CHECK(csv_refusal(head + "0.5,101,100,400,30,10000\n").empty()); // the bounds themselves
}

TEST_CASE("A recording that never comes near the panel is refused with its first row's line") {
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm\n0,700,700\n0.1,701,700\n"),
               Catch::StartsWith("line 2: found a path off the panel"));
    CHECK_THAT(csv_refusal("t_s,x_mm,y_mm\n0,601,100\n0.1,601,101\n"),
               Catch::StartsWith("line 2: found a path off the panel"));
    CHECK(csv_refusal("t_s,x_mm,y_mm\n0,601,100\n0.1,599,100\n").empty());
    CHECK_THAT(refusal([] { read_path_csv("no_such_path.csv", one_pass(), plate(1, 1)); }),
               Catch::StartsWith("no_such_path.csv: found no such file"));
}

TEST_CASE("A path written and read back is the same, lifts and recharges included") {
    Technique t = one_pass();
    t.passes = 2;
    t.crossed = true;
    t.recharge_passes = 1;
    t.tilt_rad = 2 * deg;
    t.tilt_toward_rad = -130 * deg;
    t.hand = {0.1, 0.1, 0.5 * deg, 0.004, 1.5};
    const Panel panel = plate_with_window();
    const ArmPath path = lay_path(t, pad_radius, panel, 11);
    REQUIRE(lifts(path) >= 2);
    const PathFile csv;
    write_path_csv(csv.path, path);
    Technique other = one_pass(); // every value has to come from the file
    other.force_n = 1;
    other.speed_rad_s = 1;
    const ArmPath back = read_path_csv(csv.path, other, panel);
    REQUIRE(back.samples.size() == path.samples.size());
    double worst = 0;
    for (std::size_t k = 0; k < path.samples.size(); ++k) {
        const ArmSample &a = path.samples[k], &b = back.samples[k];
        worst = std::max({worst, std::abs(a.t_s - b.t_s), norm(a.at - b.at), std::abs(a.force_n - b.force_n),
                          norm(a.tilt_rad - b.tilt_rad), std::abs(a.speed_rad_s - b.speed_rad_s)});
        CHECK(a.down == b.down);
        CHECK(a.recharge == b.recharge);
        CHECK(a.pass == b.pass);
    }
    CHECK(worst < 1e-9);
}

TEST_CASE("A path that cannot be written says so") {
    CHECK_THAT(refusal([] { write_path_csv("no_such_folder/path.csv", ArmPath{}); }),
               Catch::Contains("found a file that cannot be written"));
}
