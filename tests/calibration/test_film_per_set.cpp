// Calibration, not a published check: film taken per set of section passes by every liquid and pad, held to
// the ranges that the presets were set to. All ranges: common practice, no source. A set is 4 to 6 crossed
// passes over a 0.5 m square.
#include "decide/verdict.hpp"
#include "library/presets.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include <catch2/catch.hpp>
#include <fmt/format.h>

namespace test_film_per_set {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

struct Setting {
    const char* machine;
    const char* pad;
    const char* liquid;
    double force_n, speed_per_min;
    int passes = 4;
};

double median_per_set_um(const Setting& s) {
    static const Library library(source_at("presets"));
    const Panel panel = plate(0.8, 0.7, 0.004);
    const Machine machine = library.machine(s.machine);
    const Pad pad = library.pad(s.pad);
    Technique t;
    t.force_n = s.force_n, t.speed_rad_s = s.speed_per_min * per_min, t.arm_speed_m_s = 0.04;
    // A 75 mm pad has a quarter of the face to break down and load: it works a section of half the side.
    const double section = pad.radius_m < 0.05 ? 0.25 : 0.5;
    t.passes = s.passes, t.section_centre = Point2{0.4, 0.35}, t.section_size = {section, section};
    Setup setup{
        machine, pad, library.liquid(s.liquid), library.paint("typical").softness, 30, Integrator::averaged};
    const RunResult r = simulate(panel, setup, lay_path(t, pad.radius_m, panel, 1));
    return judge(panel, r.fields, pad.radius_m).open.median_um;
}

void check_range(const Setting& s, double low_um, double high_um) {
    const double um = median_per_set_um(s);
    UNSCOPED_INFO(fmt::format("{} + {} + {}: {:.3f} um per set", s.machine, s.pad, s.liquid, um));
    CHECK(um >= low_um);
    CHECK(um <= high_um);
}

} // namespace

TEST_CASE("calibration: a finishing polish on a soft foam takes 0.1 to 0.3 um a set", "[calibration]") {
    check_range({"da-12", "soft-foam-150", "finishing-polish", 30, 3500}, 0.1, 0.3);
    check_range({"da-8", "soft-foam-125", "finishing-polish", 25, 4000}, 0.1, 0.3);
    check_range({"da-15", "soft-foam-150", "finishing-polish", 30, 3500, 6}, 0.1, 0.3);
}

TEST_CASE("calibration: a polish takes 0.5 to 1 um a set", "[calibration]") {
    check_range({"da-15", "medium-foam-150", "polish", 45, 4500}, 0.5, 1.0);
    check_range({"da-21", "medium-foam-150", "polish", 45, 4200}, 0.5, 1.0);
    check_range({"da-12", "firm-foam-125", "polish", 40, 4800}, 0.5, 1.0);
}

TEST_CASE("calibration: a cutting compound on a cutting pad takes 1.5 to 4 um a set", "[calibration]") {
    check_range({"da-15", "microfibre-cutting-150", "cutting-compound", 60, 4500}, 1.5, 4.0);
    check_range({"da-21", "microfibre-cutting-150", "cutting-compound", 50, 4200}, 1.5, 4.0);
    check_range({"gear-8", "microfibre-cutting-150", "cutting-compound", 55, 4500}, 1.5, 4.0);
    check_range({"rotary-1000", "wool-150", "cutting-compound", 40, 1800}, 1.5, 4.0);
    check_range({"da-21", "firm-foam-150", "cutting-compound", 60, 4200, 6}, 1.5, 4.0);
}

TEST_CASE("calibration: a medium polish by rotary takes about 2.5 to 3 um a set", "[calibration]") {
    check_range({"rotary-1000", "firm-foam-150", "medium-polish", 45, 1700}, 2.3, 3.2); // "about"
}

TEST_CASE("calibration: P2000 by machine takes 3 to 8 um a set, finer grades less and coarser more",
          "[calibration]") {
    const auto paper = [](const char* grade) { return Setting{"da-8", "soft-foam-150", grade, 25, 3000}; };
    check_range(paper("p2000"), 3, 8);
    const double p1500 = median_per_set_um(paper("p1500")), p2000 = median_per_set_um(paper("p2000")),
                 p2500 = median_per_set_um(paper("p2500")), p3000 = median_per_set_um(paper("p3000"));
    CHECK(p1500 > p2000);
    CHECK(p2000 > p2500);
    CHECK(p2500 > p3000);
}

TEST_CASE("calibration: liquids rank as their names do on one pad and machine", "[calibration]") {
    const auto with = [](const char* liquid) {
        return median_per_set_um({"da-15", "medium-foam-150", liquid, 45, 4500});
    };
    const double finishing = with("finishing-polish"), polish = with("polish"),
                 medium = with("medium-polish"), compound = with("cutting-compound");
    CHECK(finishing < polish);
    CHECK(polish < medium);
    CHECK(medium < compound);
}

TEST_CASE("calibration: the small heads stay inside the ranges of their liquids", "[calibration]") {
    // Half the pad stays half as long over a spot at the same arm speed: the lower ends are taken at half.
    check_range({"da-mini-12", "medium-foam-75", "polish", 15, 4500}, 0.3, 1.0);
    check_range({"rotary-mini", "wool-75", "cutting-compound", 12, 2500}, 1.0, 4.0);
    check_range({"da-mini-12", "soft-foam-75", "finishing-polish", 12, 4000}, 0.05, 0.3);
    check_range({"da-mini-12", "microfibre-cutting-75", "cutting-compound", 20, 5000}, 1.0, 4.0);
    check_range({"da-mini-12", "firm-foam-75", "medium-polish", 15, 4500}, 0.5, 3.2);
    // A pad of 50 mm stays a third as long, and 3 mm of throw moves at about half the speed: a third, a
    // sixth.
    check_range({"rotary-mini", "firm-foam-50", "medium-polish", 6, 2500}, 0.3, 3.2);
    check_range({"rotary-mini", "microfibre-cutting-50", "cutting-compound", 6, 2500}, 0.5, 4.0);
    check_range({"da-mini-3", "medium-foam-50", "polish", 7, 7500}, 0.08, 1.0);
    check_range({"da-mini-3", "soft-foam-50", "finishing-polish", 6, 6500}, 0.016, 0.3);
    check_range({"da-mini-3", "microfibre-cutting-50", "cutting-compound", 8, 8000}, 0.25, 4.0);
}

} // namespace test_film_per_set
