// Pictures: colour maps and scales.
#include "support/picture_support.hpp"
#include <catch2/catch.hpp>

namespace test_picture {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;
using namespace sparecoat::test::picture_support;

// ---- colour maps

TEST_CASE("sRGB red, white and mid grey have their published CIE L*a*b* values") {
    // Commonly tabulated for IEC 61966-2-1 primaries under D65: red 53.24, 80.09, 67.20; to the digits given.
    const Lab red = lab_of({1, 0, 0});
    CHECK(red.l == Approx(53.24).margin(0.01));
    CHECK(red.a == Approx(80.09).margin(0.01));
    CHECK(red.b == Approx(67.20).margin(0.02));
    CHECK(lab_of({1, 1, 1}).l == Approx(100).margin(1e-6));
    const Lab grey = lab_of({119.0 / 255, 119.0 / 255, 119.0 / 255}); // sRGB 119 is the nearest to L* 50
    CHECK(grey.l == Approx(50.03).margin(0.01));
    CHECK(grey.a == Approx(0).margin(1e-4)); // the matrix is given to ten figures
}

TEST_CASE("a colour survives the way to L*a*b* and back") {
    for (const Rgb c : {Rgb{0.02, 0.5, 0.9}, Rgb{0, 0, 0}, Rgb{0.99, 0.01, 0.3}}) {
        const Rgb back = rgb_of(lab_of(c));
        CHECK(back.r == Approx(c.r).margin(1e-7)); // the two matrices are each rounded at ten figures
        CHECK(back.g == Approx(c.g).margin(1e-7));
        CHECK(back.b == Approx(c.b).margin(1e-7));
    }
}

TEST_CASE("lightness of every colour map runs strictly one way and nearly straight") {
    for (const auto& [name, map] : all_maps()) {
        INFO(name);
        const auto colours = colours_of(*map, 256);
        const double first = lab_of(colours.front()).l, last = lab_of(colours.back()).l;
        CHECK(std::abs(last - first) > 70); // a wide span is what makes small differences visible
        for (std::size_t n = 0; n < colours.size(); ++n) {
            const double straight = first + (last - first) * static_cast<double>(n) / 255;
            // Walking at even colour difference bends lightness a little where hue turns fastest.
            CHECK(std::abs(lab_of(colours[n]).l - straight) < 3);
            if (n > 0) CHECK((lab_of(colours[n]).l - lab_of(colours[n - 1]).l) * (last - first) > 0);
        }
    }
}

TEST_CASE("lightness still runs one way when colours are rounded to a PNG's eight bits") {
    for (const auto& [name, map] : all_maps()) {
        INFO(name);
        auto colours = colours_of(*map, 64); // steps of 1.2 L*, several times what rounding moves
        for (Rgb& c : colours)
            c = {std::round(c.r * 255) / 255, std::round(c.g * 255) / 255, std::round(c.b * 255) / 255};
        const double way = lab_of(colours.back()).l - lab_of(colours.front()).l;
        for (std::size_t n = 1; n < colours.size(); ++n)
            CHECK((lab_of(colours[n]).l - lab_of(colours[n - 1]).l) * way > 0);
    }
}

TEST_CASE("neighbouring colours of a map are all equally different") {
    for (const auto& [name, map] : all_maps()) {
        INFO(name);
        const auto colours = colours_of(*map, 256);
        double least = 1e9, most = 0;
        for (std::size_t n = 1; n < colours.size(); ++n) {
            const double step = difference_1976(lab_of(colours[n]), lab_of(colours[n - 1]));
            least = std::min(least, step);
            most = std::max(most, step);
        }
        CHECK(most / least < 1.02); // even by construction; what is left is reading between 1025 steps
        CHECK(least > 0.4);         // and no two of them alike
    }
}

TEST_CASE("no colour of a map had to be cut off at the edge of sRGB") {
    // A clamped part would be exactly 0 or 1; the ends of these maps are neither black nor white.
    for (const auto& [name, map] : all_maps())
        for (const Rgb c : colours_of(*map, 1025)) {
            INFO(name);
            REQUIRE((c.r > 0 && c.r < 1 && c.g > 0 && c.g < 1 && c.b > 0 && c.b < 1));
        }
}

TEST_CASE("eyes without red or green cones see lightness run strictly one way too") {
    for (const auto& [name, map] : all_maps())
        for (const Missing missing : {Missing::red_cones, Missing::green_cones}) {
            INFO(name << (missing == Missing::red_cones ? ", protan" : ", deutan"));
            const auto colours = colours_of(*map, 256);
            const double mean_step = (lab_of(seen_without(colours.back(), missing)).l -
                                      lab_of(seen_without(colours.front(), missing)).l) /
                                     255;
            CHECK(std::abs(mean_step) * 255 > 65);
            for (std::size_t n = 1; n < colours.size(); ++n) {
                const double step = lab_of(seen_without(colours[n], missing)).l -
                                    lab_of(seen_without(colours[n - 1], missing)).l;
                CHECK(step / mean_step > 0.4); // no stretch where they would see next to no change
            }
        }
}

TEST_CASE("a map of differences is lightest at nothing, and as much less is as far from it as as much more") {
    const auto colours = colours_of(difference_colours(), 257);
    CHECK(lab_of(colours[128]).l > 95);
    CHECK(std::hypot(lab_of(colours[128]).a, lab_of(colours[128]).b) < 1); // and without a hue
    double least = 1e9, most = 0;
    for (std::size_t n = 1; n <= 128; ++n) {
        const Lab less = lab_of(colours[128 - n]), more = lab_of(colours[128 + n]);
        CHECK(less.l == Approx(more.l).margin(1e-3));
        CHECK(less.l < lab_of(colours[128 - n + 1]).l);
        const double step = difference_1976(more, lab_of(colours[128 + n - 1]));
        least = std::min(least, step), most = std::max(most, step);
    }
    CHECK(most / least < 1.02); // even steps from the middle out, as in the other maps
    for (const Rgb c : colours_of(difference_colours(), 1025))
        REQUIRE((c.r > 0 && c.r < 1 && c.g > 0 && c.g < 1 && c.b > 0 && c.b < 1));
}

TEST_CASE("eyes without red or green cones tell more from less in a map of differences") {
    for (const Missing missing : {Missing::red_cones, Missing::green_cones})
        for (const double share : {0.1, 0.2, 0.3, 0.5}) { // of the way to either end; 2.3 is just noticeable
            const Rgb less = difference_colours().at(0.5 - share),
                      more = difference_colours().at(0.5 + share);
            CHECK(difference_1976(lab_of(seen_without(less, missing)), lab_of(seen_without(more, missing))) >
                  15);
        }
}

TEST_CASE("the simulation of missing cones leaves greys alone and makes some reds and greens alike") {
    // Guards the check above: with a wrong matrix it would prove nothing.
    const Rgb grey = seen_without({0.5, 0.5, 0.5}, Missing::green_cones);
    CHECK(grey.r == Approx(0.5).margin(0.01)); // neutral stays neutral within the paper's figures
    CHECK(grey.g == Approx(0.5).margin(0.01));
    const Rgb red{0.72, 0.42, 0.30}, green{0.50, 0.53, 0.27};
    const double normal = difference_1976(lab_of(red), lab_of(green));
    const double deutan = difference_1976(lab_of(seen_without(red, Missing::green_cones)),
                                          lab_of(seen_without(green, Missing::green_cones)));
    CHECK(deutan < normal / 3);
}

TEST_CASE("a share outside the range takes the colour of the nearer end") {
    const ColourMap& map = film_lost_colours();
    CHECK(Picture::alike(map.at(-3), map.at(0)));
    CHECK(Picture::alike(map.at(7), map.at(1)));
    CHECK(Picture::alike(map.at(std::nan("")), map.at(0)));
    CHECK_FALSE(Picture::alike(map.at(0), map.at(1)));
}

// ---- scales

TEST_CASE("a scale has round divisions and reaches past the values") {
    for (const auto& [low, high] :
         {std::pair{0.31, 2.56}, {34.3, 41.1}, {0.0145, 0.0962}, {-3.2, 8.8}, {1200.0, 5100.0}, {0.0, 7.0}}) {
        const Scale scale = round_scale(low, high);
        INFO(low << " to " << high);
        CHECK(scale.low <= low);
        CHECK(scale.high >= high);
        CHECK(scale.ticks.size() >= 4); // about six divisions, between 4 and 10 once widened
        CHECK(scale.ticks.size() <= 11);
        CHECK(scale.ticks.front() == Approx(scale.low));
        CHECK(scale.ticks.back() == Approx(scale.high));
        const double lead = scale.step / std::pow(10, std::floor(std::log10(scale.step) + 1e-9));
        CHECK((std::abs(lead - 1) < 1e-9 || std::abs(lead - 2) < 1e-9 || std::abs(lead - 2.5) < 1e-9 ||
               std::abs(lead - 5) < 1e-9));
    }
}

TEST_CASE("a scale takes in zero only where the values come near it") {
    CHECK(round_scale(0.9, 3).low == 0); // not 0.5, the next round number below
    CHECK(round_scale(34, 41).low == Approx(34));
}

TEST_CASE("a field that is the same everywhere still gets a scale") {
    CHECK(round_scale(0, 0).high == Approx(1));
    const Scale level = round_scale(42, 42);
    CHECK(level.low < 42);
    CHECK(level.high > 42);
}

TEST_CASE("a locked scale keeps its ends and refuses to run backwards") {
    const Scale scale = locked_scale(0.3, 7.7);
    CHECK(scale.low == 0.3);
    CHECK(scale.high == 7.7);
    CHECK(scale.ticks.front() == Approx(1));
    CHECK(scale.ticks.back() == Approx(7));
    CHECK_THROWS_AS(locked_scale(2, 2), std::invalid_argument);
    CHECK_THROWS_AS(locked_scale(3, 2), std::invalid_argument);
}

TEST_CASE("numbers on a scale have the decimals of its step") {
    CHECK(tick_text(2, 0.5) == "2.0");
    CHECK(tick_text(0.25, 0.25) == "0.25");
    CHECK(tick_text(1200, 200) == "1200");
    CHECK(tick_text(-0.5, 0.1) == "\u22120.5");
    CHECK(tick_text(-1e-17, 0.1) == "0.0");
}

} // namespace test_picture
