// The arm's path: over taped lines and whole panels, what is refused, the unsteady hand, how it is sampled.
#include "support/arm_path_world.hpp"
#include <catch2/catch.hpp>

namespace test_arm_path_hand {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::arm_path_world;

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
        return refused([&] { lay_path(t, radius, panel, 1, {}, "t.json"); });
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

} // namespace test_arm_path_hand
