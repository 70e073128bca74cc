// The arm's path: what holds for any, and recorded ones.
#include "support/arm_path_world.hpp"
#include <catch2/catch.hpp>

namespace test_arm_path_file {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::arm_path_world;

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
    const std::string message = refused([&] { read_path_csv(csv.path, one_pass(), plate(0.5, 0.5)); });
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
    CHECK_THAT(refused([] { read_path_csv("no_such_path.csv", one_pass(), plate(1, 1)); }),
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
    CHECK_THAT(refused([] { write_path_csv("no_such_folder/path.csv", ArmPath{}); }),
               Catch::Contains("found a file that cannot be written"));
}

} // namespace test_arm_path_file
