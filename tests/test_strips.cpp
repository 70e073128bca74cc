// Strips along edges, body lines and rims: where they run, how often, and what is refused.
#include "panel/distance.hpp"
#include "plan/plan_reading.hpp"
#include "support/arm_path_world.hpp"
#include "support/cli_desk.hpp"
#include "support/nonempty.hpp"
#include "support/planned_job.hpp"
#include "support/worlds.hpp"
#include "tool/strips.hpp"
#include "tool/tape.hpp"
#include "tool/vary.hpp"
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

namespace test_strips {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::arm_path_world;
using nlohmann::json;
using sparecoat::test::arm_path_world::plate;
using sparecoat::test::planned_job::panel_plan;
namespace desk_of = sparecoat::test::cli_desk;
using Catch::Contains;

namespace {

constexpr double small_pad = 0.0375;

/// One run along the strips, with a pad that may go up to the very edge.
Technique along(const std::string& what, std::vector<double> at_m, StripSide side = StripSide::both,
                double clear_of_m = 0) {
    Technique t = one_pass();
    t.pattern = Pattern::strips;
    t.hold_back_m = -small_pad;
    t.charge_every_m = 10;
    t.strips = {{what, std::move(at_m), side, clear_of_m}};
    return t;
}

ArmPath laid(const Technique& t, const Panel& panel, std::uint64_t seed = 1) {
    return lay_path(t, small_pad, panel, seed, {}, "t.json");
}

std::vector<ArmWay> pieces_of(const Technique& t, const Panel& panel) {
    EdgeLimits limits;
    limits.everywhere_m = small_pad + t.hold_back_m;
    return strip_pieces(t, small_pad, panel, PadRegion(panel, limits), "t.json");
}

double length_m(const std::vector<ArmWay>& pieces) {
    double sum = 0;
    for (const ArmWay& piece : pieces) sum += piece.length_m();
    return sum;
}

Panel with_line(Panel panel, const std::string& name, std::vector<Point2> points, bool closed) {
    const int number = static_cast<int>(panel.crest_names.size());
    panel.crest_names.push_back(name);
    panel.crests.push_back({points, std::vector<int>(points.size(), number), closed});
    return panel;
}

std::vector<Point2> circle(Point2 centre, double radius_m, bool counter_clockwise = true) {
    std::vector<Point2> points;
    for (int k = 0; k < 180; ++k) {
        const double angle = (counter_clockwise ? 2 : -2) * pi * k / 180;
        points.push_back(centre + radius_m * Point2{std::cos(angle), std::sin(angle)});
    }
    return points;
}

/// Distance to the nearest piece of some lines, by trying all of them.
double distance_m(const std::vector<Polyline>& lines, Point2 p) {
    double least = 1e9;
    for (const auto& s : segments_of(lines)) least = std::min(least, nearest_on(s, p).distance_m);
    return least;
}

/// Stretches of a path between lifts, from rest to rest.
std::vector<std::vector<ArmSample>> pressed_on(const ArmPath& path) {
    std::vector<std::vector<ArmSample>> all;
    bool before = false;
    for (const ArmSample& s : path.samples) {
        if (s.down && !before) all.emplace_back();
        if (s.down || before) all.back().push_back(s);
        before = s.down;
    }
    return all;
}

} // namespace

// ---- where they run

TEST_CASE("beside straight and curved edges a strip keeps its distance to the nearest edge", "[strips]") {
    // Straight pieces touch an arc from outside by 0.02 mm at the most.
    for (const Panel& panel : {plate_with_arch(), plate_with_window(), plate(0.6, 0.5)})
        for (const double at_m : {0.02, 0.045}) {
            const ArmPath path = laid(along("edges", {at_m}), panel);
            CAPTURE(panel.name, at_m);
            for (const auto& stretch : nonempty(pressed_on(path)))
                for (const ArmSample& s : nonempty(stretch)) {
                    REQUIRE(signed_distance(panel.outline, s.at) > at_m - 1e-6);
                    REQUIRE(signed_distance(panel.outline, s.at) < at_m + 0.025e-3);
                }
        }
}

TEST_CASE("strips along all edges are as long as the level set is by hand", "[strips]") {
    // A rectangle a b: 2 (a - 2d) + 2 (b - 2d). Round a window c e from outside: 2 (c + e) + 2 pi d.
    CHECK(length_m(pieces_of(along("edges", {0.03}), plate(0.6, 0.5))) ==
          Approx(2 * (0.54 + 0.44)).margin(1e-6));
    const double with_window = 2 * (0.94 + 0.74) + 2 * (0.2 + 0.2) + 2 * pi * 0.03;
    CHECK(length_m(pieces_of(along("edges", {0.03}), plate_with_window())) ==
          Approx(with_window).epsilon(2e-4)); // arcs are drawn from outside
    // Over a wheel arch of radius r: an arc of r + d from where it is d over the bottom edge.
    const double arc = 0.325 * (pi - 2 * std::asin(0.025 / 0.325));
    CHECK(length_m(pieces_of(along("wheel arch", {0.025}), plate_with_arch())) == Approx(arc).epsilon(1e-3));
}

TEST_CASE("strips of neighbouring edges meet in the mitre of their corner, each by its own name",
          "[strips]") {
    const Panel panel = plate(0.6, 0.5);
    const std::vector<ArmWay> bottom = pieces_of(along("bottom", {0.03}), panel),
                              right = pieces_of(along("right", {0.03}), panel);
    REQUIRE(bottom.size() == 1);
    REQUIRE(right.size() == 1);
    CHECK(bottom[0].length_m() == Approx(0.54));
    CHECK(norm(bottom[0].back() - Point2{0.57, 0.03}) < 1e-6);
    CHECK(norm(right[0].front() - Point2{0.57, 0.03}) < 1e-6);

    // Outside a window's corner each side has half of the arc.
    Panel cut = plate(1.0, 0.8);
    add_loop(cut, {{0.4, 0.3}, {0.4, 0.5}, {0.6, 0.5}, {0.6, 0.3}}, {"west", "north", "east", "south"});
    const std::vector<ArmWay> north = pieces_of(along("north", {0.04}), cut);
    REQUIRE(north.size() == 1);
    CHECK(north[0].length_m() == Approx(0.2 + 0.5 * pi * 0.04).epsilon(1e-3));
    const double share = 0.04 * std::sqrt(0.5);
    CHECK(norm(north[0].front() - Point2{0.4 - share, 0.5 + share}) < 1e-6);
    CHECK(norm(north[0].back() - Point2{0.6 + share, 0.5 + share}) < 1e-6);
}

TEST_CASE("a rounded corner tighter than the strip's distance leaves a sharp one, in one piece", "[strips]") {
    Features shape = rectangle(0.6, 0.5);
    for (Corner& corner : shape.outline) corner.radius_m = 0.02, corner.edge = "rim";
    const Panel panel = panel_of(shape, 0.004);
    const std::vector<ArmWay> pieces = pieces_of(along("rim", {0.03}), panel);
    REQUIRE(pieces.size() == 1);
    CHECK(pieces[0].length_m() == Approx(2 * (0.54 + 0.44)).epsilon(1e-4));
    CHECK(norm(pieces[0].front() - pieces[0].back()) < 1e-6); // comes round
    const std::vector<ArmWay> rounded = pieces_of(along("rim", {0.01}), panel);
    REQUIRE(rounded.size() == 1);
    CHECK(rounded[0].length_m() == Approx(2 * (0.56 + 0.46) + 2 * pi * 0.01).epsilon(1e-3));
}

TEST_CASE("beside an outline in steps, as a height map's, a strip still is one piece at its distance",
          "[strips]") {
    // Steps of 2 mm round a circle: the level set is made of arcs of which hardly any begins where another
    // ends.
    const auto stairs = [](Point2 centre, double radius_m, bool counter_clockwise) {
        std::vector<Point2> points;
        std::vector<std::string> names;
        const auto height = [&](int x) {
            return std::round(std::sqrt(radius_m * radius_m - x * x * 4e-6) * 500) / 500;
        };
        const int reach = static_cast<int>(radius_m * 500) - 1;
        for (const double side : {-1.0, 1.0}) // below to the right, above to the left
            for (int k = -reach; k < reach; ++k) {
                const int x = side < 0 ? k : -k;
                const double y = side * height(side < 0 ? x : x - 1);
                points.push_back(centre + Point2{0.002 * x, y});
                points.push_back(centre + Point2{0.002 * (x - side), y});
            }
        if (!counter_clockwise) std::reverse(points.begin(), points.end());
        return points;
    };
    Panel panel;
    panel.name = "disc";
    const auto outer = stairs({0, 0}, 0.3, true), hole = stairs({0.05, 0}, 0.08, false);
    add_loop(panel, outer, std::vector<std::string>(outer.size(), "rim"));
    add_loop(panel, hole, std::vector<std::string>(hole.size(), "hole"));
    REQUIRE(signed_distance(panel.outline, {0.2, 0}) > 0);
    for (const auto& [name, radius] :
         std::map<std::string, double>{{"rim", 0.3 - 0.025}, {"hole", 0.08 + 0.025}}) {
        const std::vector<ArmWay> pieces = pieces_of(along(name, {0.025}), panel);
        REQUIRE(pieces.size() == 1);
        CHECK(norm(pieces[0].front() - pieces[0].back()) < 1e-4);
        // Steps move the level set by up to one of them, and make it the longer for its cusps.
        CHECK(pieces[0].length_m() == Approx(2 * pi * radius).epsilon(0.02));
        for (double s = 0; s < pieces[0].length_m(); s += 0.001)
            REQUIRE(signed_distance(panel.outline, pieces[0].at(s)) == Approx(0.025).margin(0.05e-3));
    }
}

TEST_CASE("a closed rim is worked on the sides asked for, whichever way it is drawn", "[strips]") {
    for (const bool counter_clockwise : {true, false}) {
        const Panel panel =
            with_line(plate(0.8, 0.6), "cup rim", circle({0.4, 0.3}, 0.06, counter_clockwise), true);
        const auto radii = [&](StripSide side, double at_m) {
            std::set<long> found;
            for (const auto& stretch : nonempty(pressed_on(laid(along("cup rim", {at_m}, side), panel))))
                for (const ArmSample& s : stretch)
                    found.insert(std::lround(norm(s.at - Point2{0.4, 0.3}) / mm));
            return found;
        };
        CHECK(radii(StripSide::inside, 0.02) == std::set<long>{40});
        CHECK(radii(StripSide::outside, 0.02) == std::set<long>{80});
        CHECK(radii(StripSide::both, 0.02) == std::set<long>{40, 80});
        CHECK(radii(StripSide::both, 0) == std::set<long>{60});
        CHECK(length_m(pieces_of(along("lines", {0.02}, StripSide::inside), panel)) ==
              Approx(2 * pi * 0.04).epsilon(1e-3));
    }
}

TEST_CASE("an open line is worked on the crest at 0 and beside it to both sides, not round its ends",
          "[strips]") {
    const std::vector<Point2> bent{{0.2, 0.3}, {0.5, 0.34}, {0.8, 0.3}};
    const Panel panel = with_line(plate(1.0, 0.6), "waist line", bent, false);
    CHECK(length_m(pieces_of(along("waist line", {0}), panel)) == Approx(2 * std::hypot(0.3, 0.04)));
    const std::vector<ArmWay> beside = pieces_of(along("lines", {0.03}), panel);
    CHECK(beside.size() == 2);
    // Inside the bend each half is shorter by d tan of half the turn, outside an arc of the turn is added.
    const double turn = 2 * std::atan(0.04 / 0.3), half = std::hypot(0.3, 0.04);
    CHECK(length_m(beside) == Approx(4 * half - 2 * 0.03 * std::tan(turn / 2) + 0.03 * turn).margin(1e-5));
    for (const ArmWay& piece : beside)
        for (double s = 0; s < piece.length_m(); s += 0.002)
            REQUIRE(distance_m(panel.crests, piece.at(s)) == Approx(0.03).margin(0.025e-3));
}

TEST_CASE("clear_of keeps the pad's centre from every other edge and line", "[strips]") {
    const Panel panel = with_line(plate(0.6, 0.5), "rib", {{0.3, 0.2}, {0.3, 0.5}}, false);
    const std::vector<ArmWay> bottom = pieces_of(along("bottom", {0.03}, StripSide::both, 0.1), panel);
    REQUIRE(bottom.size() == 1); // the rib is 170 mm away
    CHECK(norm(bottom[0].front() - Point2{0.1, 0.03}) < 1e-6);
    CHECK(norm(bottom[0].back() - Point2{0.5, 0.03}) < 1e-6);
    const std::vector<ArmWay> top = pieces_of(along("top", {0.03}, StripSide::both, 0.05), panel);
    REQUIRE(top.size() == 2);
    CHECK(length_m(top) == Approx(0.5 - 0.1));
    for (const ArmWay& piece : top)
        for (double s = 0; s < piece.length_m(); s += 0.002)
            REQUIRE(distance_m(panel.crests, piece.at(s)) > 0.05 - 1e-6);
    // The crest of an edge's own sharp roll is no other line.
    const Panel rolled = with_line(plate(0.6, 0.5), "bottom roll", {{0, 0.01}, {0.6, 0.01}}, false);
    CHECK(length_m(pieces_of(along("bottom", {0.03}, StripSide::both, 0.05), rolled)) == Approx(0.5));
    CHECK(length_m(pieces_of(along("bottom roll", {0.02}, StripSide::both, 0.05), rolled)) == Approx(0.5));
}

TEST_CASE("strips keep to the hold-back, and pieces of under a quarter of the pad's radius are dropped",
          "[strips]") {
    const Panel panel = plate(0.6, 0.5);
    Technique t = along("edges", {0.02, 0.06});
    t.hold_back_m = 0; // the centre keeps 37.5 mm
    for (const auto& stretch : nonempty(pressed_on(laid(t, panel))))
        for (const ArmSample& s : stretch)
            REQUIRE(signed_distance(panel.outline, s.at) == Approx(0.06).margin(1e-6));
    CHECK(length_m(pieces_of(along("top", {0.246}), panel)) == Approx(0.108));
    // The strip along the side is 2 x 4.5 mm less than the plate's 18 mm.
    CHECK(pieces_of(along("edges", {0.0045}), plate(0.6, 0.018)).size() == 2);
    CHECK(pieces_of(along("edges", {0.0042}), plate(0.6, 0.018)).size() == 4);
}

TEST_CASE("the run's cell size has no part in where strips lie", "[strips]") {
    Features shape = rectangle(0.6, 0.4);
    for (Corner& corner : shape.outline) corner.radius_m = 0.05;
    shape.body_lines = {{"waist line", {{0.05, 0.2}, {0.3, 0.21}, {0.55, 0.2}}, 0.006, 0.005}};
    Technique t = along("edges", {0.03});
    t.strips.push_back({"lines", {0, 0.025}, StripSide::both, 0.04});
    CHECK(same(laid(t, panel_of(shape, 0.002)), laid(t, panel_of(shape, 0.004))));
}

// ---- charges, passes and order

TEST_CASE("a strip is cut into equal pieces no longer than charge_every, each freshly charged", "[strips]") {
    Technique t = along("bottom", {0.03});
    t.charge_every_m = 0.3;
    t.passes = 4;
    const Panel panel = plate(1.0, 0.5);
    const std::vector<ArmWay> pieces = pieces_of(t, panel);
    REQUIRE(pieces.size() == 4); // 940 mm
    for (const ArmWay& piece : pieces) CHECK(piece.length_m() == Approx(0.235));
    t.charge_every_m = 0.47; // two to the last bit
    CHECK(pieces_of(t, panel).size() == 2);

    t.charge_every_m = 0.3;
    const ArmPath path = laid(t, panel);
    const auto stretches = pressed_on(path);
    REQUIRE(stretches.size() == 4);
    for (std::size_t k = 0; k < stretches.size(); ++k) {
        const std::vector<ArmSample>& stretch = stretches[k];
        CHECK(stretch.front().recharge == (k > 0)); // the first comes charged
        for (std::size_t i = 1; i < stretch.size(); ++i) REQUIRE_FALSE(stretch[i].recharge);
        std::set<int> passes;
        std::set<long> turns;
        double run_m = 0;
        for (std::size_t i = 1; i < stretch.size(); ++i) {
            passes.insert(stretch[i - 1].pass);
            run_m += norm(stretch[i].at - stretch[i - 1].at);
        }
        CHECK(passes == std::set<int>{0, 1, 2, 3});
        CHECK(run_m == Approx(4 * 0.235).margin(1e-6));
    }
    for (std::size_t k = 1; k < path.samples.size(); ++k)
        if (path.samples[k].recharge)
            CHECK(path.samples[k].t_s - path.samples[k - 1].t_s < recharge_s + 1e-9);
    CHECK(path.duration_s() == Approx(16 * SpeedProfile(0.235, 0.04, 1).duration_s() + 3 * recharge_s));
}

TEST_CASE("the next piece is the one with the nearest end", "[strips]") {
    Technique t = along("bottom", {0.03});
    for (const char* edge : {"top", "left", "right"}) t.strips.push_back({edge, {0.03}, StripSide::both, 0});
    const auto stretches = pressed_on(laid(t, plate(0.6, 0.5)));
    REQUIRE(stretches.size() == 4); // once round, corner to corner
    for (std::size_t k = 1; k < stretches.size(); ++k)
        CHECK(norm(stretches[k].front().at - stretches[k - 1].back().at) < 1e-6);
}

TEST_CASE("cells beside a strip are in contact for every pass, the chord over the arm's speed", "[strips]") {
    // A disc of radius R that passes at y from a cell is over it for 2 sqrt(R² - y²) / v. Cells and steps of
    // 2 mm smear a chord of 75 mm by up to 1 %; the last 10 mm at the rim, where the chord itself changes by
    // that and more within a cell, are left out.
    const Panel panel = sparecoat::test::plate(0.5, 0.3, 0.002);
    Machine rotary;
    rotary.kind = MachineKind::rotary;
    Pad pad = foam_pad();
    pad.radius_m = small_pad;
    Technique t = along("bottom", {0.1});
    t.force_n = 15, t.passes = 3;
    const RunResult r =
        simulate(panel, setup_of(rotary, pad), lay_path(t, small_pad, panel, 1, {0.002, 0.1}));
    for (double y = -0.027; y <= 0.0271; y += 0.006) {
        const std::size_t cell = cell_at(panel, {0.25, 0.1 + y});
        const double beside = panel.grid.centre(cell).y - 0.1;
        CAPTURE(y);
        CHECK(static_cast<double>(r.fields.contact_time_s[cell]) ==
              Approx(3 * 2 * std::sqrt(small_pad * small_pad - beside * beside) / 0.04).epsilon(0.015));
    }
    CHECK(r.fields.contact_time_s[cell_at(panel, {0.25, 0.1 + small_pad + 0.004})] == 0);
}

TEST_CASE("what is under tape loses nothing to a strip beside it", "[strips]") {
    const Panel panel = sparecoat::test::plate(0.3, 0.2, 0.002);
    Pad pad = foam_pad();
    pad.radius_m = small_pad;
    Technique t = along("bottom", {0.02});
    t.force_n = 15, t.tape_edge_m = {{"bottom", 0.006}};
    Setup setup = setup_of(orbital(), pad);
    setup.taped = std::make_shared<const std::vector<std::uint8_t>>(taped_cells(t, panel));
    const RunResult r = simulate(panel, setup, laid(t, panel));
    CHECK(r.fields.removed_um[cell_at(panel, {0.15, 0.003})] == 0);
    CHECK(r.fields.removed_um[cell_at(panel, {0.15, 0.009})] > 0);
}

// ---- the hand

TEST_CASE("a hand whose spacing strays moves each run of a strip sideways, within the hold-back",
          "[strips]") {
    const Panel panel = plate_with_arch();
    Technique t = along("edges", {0.05});
    t.passes = 2;
    const ArmPath steady = laid(t, panel);
    t.hand.spacing_m = 0.005;
    const ArmPath strays = laid(t, panel);
    CHECK(same(strays, laid(t, panel)));
    CHECK_FALSE(same(strays, laid(t, panel, 2)));
    double nearest = 1, farthest = 0;
    for (const auto& stretch : nonempty(pressed_on(strays)))
        for (const ArmSample& s : stretch) {
            nearest = std::min(nearest, signed_distance(panel.outline, s.at));
            farthest = std::max(farthest, signed_distance(panel.outline, s.at));
        }
    CHECK(nearest < 0.048);
    CHECK(nearest > 0.05 - 4 * 0.005);
    CHECK(farthest > 0.052);

    // Right at the limit no run is lost, and none goes beyond.
    t.hold_back_m = 0.05 - small_pad;
    const ArmPath held = laid(t, panel);
    CHECK(pressed_on(held).size() == pressed_on(steady).size());
    CHECK(travelled_m(held) > 0.95 * travelled_m(steady));
    for (const auto& stretch : pressed_on(held))
        for (const ArmSample& s : stretch) REQUIRE(signed_distance(panel.outline, s.at) > 0.05 - 2e-3);
}

TEST_CASE("force, speed and tilt of the hand vary along strips, and draws of it are made of them",
          "[strips]") {
    const Panel panel = plate(0.6, 0.5);
    Technique t = along("edges", {0.05});
    const ArmPath steady = laid(t, panel);
    t.hand = {0.08, 0.1, 0.01, 0.004, 1.5};
    const ArmPath drawn = vary(steady, t.hand, 3);
    REQUIRE(drawn.samples.size() == steady.samples.size());
    CHECK(drawn.duration_s() != steady.duration_s());
    const ArmPath own = laid(t, panel);
    std::set<double> forces, tilts;
    for (const ArmSample& s : own.samples) forces.insert(s.force_n), tilts.insert(s.tilt_rad.x);
    CHECK(forces.size() > 100);
    CHECK(tilts.size() > 100);
}

// ---- refusals

TEST_CASE("strips that cannot be laid are refused with their place", "[strips]") {
    const Panel panel = with_line(with_line(plate(0.6, 0.5), "rib", {{0.3, 0.2}, {0.3, 0.3}}, false),
                                  "cup rim", circle({0.15, 0.25}, 0.05), true);
    const auto message = [&](const Technique& t) { return refused([&] { laid(t, panel); }); };
    CHECK(message(along("sill", {0.03})) ==
          "t.json: /strips/0/along: found an edge or line \"sill\"; allowed: \"edges\", \"lines\", or one of "
          "plate: bottom, right, top, left, rib, cup rim");
    Technique second = along("bottom", {0.03});
    second.strips.push_back({"lines", {0}, StripSide::both, 0});
    second.strips.push_back({"edges", {0.03, 0}, StripSide::both, 0});
    CHECK_THAT(message(second), Contains("/strips/2/at/1: found 0 mm from the edge \"bottom\""));
    CHECK_THAT(message(along("rib", {0}, StripSide::inside)), Contains("/strips/0/side: found \"inside\""));
    CHECK_THAT(message(along("bottom", {0.03}, StripSide::outside)), Contains("the panel's side"));
    CHECK(message(along("bottom", {0.03}, StripSide::inside)).empty());
    CHECK(message(along("lines", {0.02}, StripSide::inside)).empty()); // of those that are closed
    CHECK_THAT(message(along("bottom", {0.3})),
               Contains("/strips: found no strip that is left on the panel"));
    CHECK_THAT(message(along("bottom", {0.3})), Contains("no place at these distances"));
    CHECK_THAT(message(along("bottom", {0.03}, StripSide::both, 0.31)), Contains("clear_of"));
    Technique held = along("edges", {0.02});
    held.hold_back_m = 0;
    CHECK_THAT(message(held), Contains("the pad of 75 mm may not go there with its hold-back"));
    CHECK_THAT(refused([&] { laid(along("bottom", {0.03}, StripSide::both, 0.298), plate(0.6, 0.7)); }),
               Contains("only pieces under 9.375 mm")); // 4 mm
    Technique bad = along("bottom", {0.03});
    bad.charge_every_m = 0;
    CHECK_THAT(message(bad), Contains("/charge_every: found 0 mm"));
    CHECK_THAT(message(along("bottom", {-0.01})), Contains("/strips/0/at/0: found -10 mm"));
    CHECK_THAT(message(along("bottom", {})), Contains("/strips/0/at: found no distance"));
    CHECK_THAT(message(along("bottom", {0.03}, StripSide::both, -1)), Contains("/strips/0/clear_of"));
    bad.strips.clear();
    CHECK_THAT(message(bad), Contains("/strips: found no strips"));
}

// ---- files

namespace {

json strips_keys() {
    return {{"pattern", "strips"},
            {"machine", "da-mini-12"},
            {"pad", "soft-foam-75"},
            {"force", "15 N"},
            {"hold_back", "-20 mm"},
            {"passes", 2},
            {"charge_every", "450 mm"},
            {"strips",
             {{{"along", "edges"}, {"at", {"25 mm", "45 mm"}}},
              {{"along", "handle recess rim"}, {"at", {"30 mm"}}, {"side", "outside"}, {"clear_of", "20 mm"}},
              {{"along", "waist line"}, {"at", {0, "40 mm"}}}}}};
}

} // namespace

TEST_CASE("a technique with strips reads to SI, and keys without effect beside them are refused",
          "[strips]") {
    const auto read = [](const json& changes) {
        return read_technique(json::parse(desk_of::quick_technique(changes)), "t.json");
    };
    const Technique t = read(strips_keys());
    CHECK(t.pattern == Pattern::strips);
    CHECK(t.charge_every_m == Approx(0.45));
    REQUIRE(t.strips.size() == 3);
    CHECK(t.strips[0].along == "edges");
    REQUIRE(t.strips[0].at_m.size() == 2);
    CHECK(t.strips[0].at_m[1] == Approx(0.045));
    CHECK(t.strips[0].side == StripSide::both);
    CHECK(t.strips[0].clear_of_m == 0);
    CHECK(t.strips[1].side == StripSide::outside);
    CHECK(t.strips[1].clear_of_m == Approx(0.02));
    for (const auto& [key, value] : std::map<std::string, json>{
             {"overlap", "40 %"}, {"crossed", false}, {"recharge_passes", 2}, {"section", json::object()}}) {
        json changes = strips_keys();
        changes[key] = value;
        CHECK_THAT(refused([&] { read(changes); }), Contains("'" + key + "' where 'pattern' is \"strips\""));
    }
    CHECK_THAT(refused([&] { read({{"charge_every", "450 mm"}}); }), Contains("only where 'pattern'"));
    CHECK_THAT(refused([&] { read({{"pattern", "strips"}}); }), Contains("no key 'strips'"));
}

TEST_CASE("strips in a plan are the same once read back", "[strips]") {
    PanelPlan plan = panel_plan("rear door");
    REQUIRE_FALSE(plan.steps.empty());
    Technique& t = plan.steps[0].technique;
    t.pattern = Pattern::strips;
    t.charge_every_m = 0.45;
    t.strips = {{"edges", {0.025, 0.045}, StripSide::both, 0}, {"rim", {0}, StripSide::inside, 0.02}};
    const json written = panel_plan_json(plan);
    const Technique back = panel_plan_of(written).steps[0].technique;
    CHECK(back.pattern == Pattern::strips);
    CHECK(back.charge_every_m == Approx(0.45));
    REQUIRE(back.strips.size() == 2);
    CHECK(back.strips[0].at_m[1] == Approx(0.045));
    CHECK(back.strips[1].along == "rim");
    CHECK(back.strips[1].side == StripSide::inside);
    CHECK(back.strips[1].clear_of_m == Approx(0.02));
    CHECK(panel_plan_json(panel_plan_of(written)) == written);
}

TEST_CASE("a run along strips of a preset panel ends well, and its files say what was run", "[strips][cli]") {
    const desk_of::Desk desk;
    desk.write("strips.json", desk_of::quick_technique(strips_keys()));
    const json summary = desk_of::ran(desk, {"--panel", "rear-door", "--technique", "strips.json"});
    const json& t = summary["inputs"]["technique"];
    CHECK(t["pattern"] == "strips");
    CHECK(t["charge_every_mm"] == 450);
    CHECK(t["strips"][0] ==
          json{{"along", "edges"}, {"at_mm", {25, 45}}, {"side", "both"}, {"clear_of_mm", 0}});
    CHECK(t["strips"][1]["side"] == "outside");
    json unknown = strips_keys();
    unknown["strips"][0]["along"] = "botom";
    CHECK_THAT(desk_of::technique_refusal(desk, unknown, "rear-door"),
               Contains("/strips/0/along") && Contains("bottom"));
}

} // namespace test_strips
