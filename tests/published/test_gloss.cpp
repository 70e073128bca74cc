// Reflection and gloss of a clear coat, against Fresnel's equations, ISO 2813 and what roughness does to a
// mirror.
#include "finish/finish.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <complex>
#include <cstdint>
#include <vector>

namespace test_gloss {
using namespace sparecoat::cli;

TEST_CASE("at normal incidence a dielectric reflects ((n - 1)/(n + 1))²") {
    // Born and Wolf, Principles of Optics, section 1.5.2. Exact but for rounding.
    for (const double n : {1.0, 1.33, 1.52, 2.4}) {
        const double expected = std::pow((n - 1) / (n + 1), 2);
        CHECK(fresnel(n, 0).across == Approx(expected).margin(1e-15));
        CHECK(fresnel(n, 0).along == Approx(expected).margin(1e-15));
    }
}

TEST_CASE("at Brewster's angle, whose tangent is n, no light with its field in the plane comes back") {
    // Born and Wolf, section 1.5.3; the other half is ((n² - 1)/(n² + 1))² there.
    for (const double n : {1.33, 1.52, 1.567}) {
        const Reflectance r = fresnel(n, std::atan(n));
        CHECK(r.along == Approx(0).margin(1e-30));
        CHECK(r.across == Approx(std::pow((n * n - 1) / (n * n + 1), 2)));
    }
}

TEST_CASE("what is not reflected goes in: reflected and transmitted energy add up to one") {
    // Transmittances by their own formulas, T = (n cos t / cos i) |amplitude|² (Born and Wolf, eq. 1.5.28
    // and on).
    for (const double n : {1.1, 1.52, 2.0})
        for (double degrees = 0; degrees < 90; degrees += 7) {
            const double i = degrees * deg, t = std::asin(std::sin(i) / n);
            const double area = n * std::cos(t) / std::cos(i);
            const double across = 2 * std::cos(i) / (std::cos(i) + n * std::cos(t));
            const double along = 2 * std::cos(i) / (n * std::cos(i) + std::cos(t));
            CHECK(fresnel(n, i).across + area * across * across == Approx(1).epsilon(1e-12));
            CHECK(fresnel(n, i).along + area * along * along == Approx(1).epsilon(1e-12));
        }
    CHECK(fresnel(1.52, pi / 2).mean() == Approx(1).epsilon(1e-12)); // grazing light all comes back
}

TEST_CASE("an index below 1 and an angle beyond grazing are refused") {
    CHECK_THROWS_AS(fresnel(0.9, 0), std::invalid_argument);
    CHECK_THROWS_AS(fresnel(1.5, 1.6), std::invalid_argument);
    CHECK_THROWS_AS(fresnel(1.5, -0.1), std::invalid_argument);
}

TEST_CASE("the standard's glass reflects 4.91, 10.00 and 61.9 % and has 100 gloss units at each angle") {
    // ISO 2813 (and ASTM D523), black glass of n = 1.567. Figures to their last digit: half of it is the
    // margin, and at 60 degrees Fresnel says 10.006.
    const double percent[3] = {4.91, 10.00, 61.9}, margin[3] = {0.005, 0.006, 0.05};
    for (std::size_t k = 0; k < 3; ++k) {
        CHECK(100 * fresnel(gloss_standard_index, gloss_angles_rad[k]).mean() ==
              Approx(percent[k]).margin(margin[k]));
        CHECK(smooth_gloss(gloss_standard_index, gloss_angles_rad[k]) == 100);
    }
}

TEST_CASE("smooth clear coats of n = 1.50, 1.52 and 1.54 have about 82, 87 and 93 units at 20 degrees") {
    // Fresnel's equations over ISO 2813's glass, to the last digit given.
    CHECK(smooth_gloss(1.50, 20 * deg) == Approx(82).margin(0.5));
    CHECK(smooth_gloss(1.52, 20 * deg) == Approx(87).margin(0.5));
    CHECK(smooth_gloss(1.54, 20 * deg) == Approx(93).margin(0.5));
}

TEST_CASE("550 nm stands for illuminant C as the standard eye sees it") {
    // CIE 15, Colorimetry: V(lambda) and the relative power of illuminant C every 10 nm from 400 to 700 nm,
    // as remembered. Roughness enters by 1/lambda² at its smallest and by lambda itself nowhere, so the
    // effective wavelength is the root of 1/mean(1/lambda²). Both differ from 550 nm by under 1.5 %.
    const double eye[] = {.0004, .0012, .0040, .0116, .023, .038, .060, .091,  .139, .208, .323,
                          .503,  .710,  .862,  .954,  .995, .995, .952, .870,  .757, .631, .503,
                          .381,  .265,  .175,  .107,  .061, .032, .017, .0082, .0041};
    const double lamp[] = {63.3,  80.6, 98.1, 112.4, 121.5, 124.0, 123.1, 123.8, 123.9, 120.7, 112.1,
                           102.3, 96.9, 98.0, 102.1, 105.2, 105.3, 102.3, 97.8,  93.2,  89.7,  88.4,
                           88.1,  88.0, 87.8, 88.2,  87.9,  86.3,  84.0,  80.2,  76.3};
    double weight = 0, mean = 0, inverse_squares = 0;
    for (int k = 0; k < 31; ++k) {
        const double lambda = (400 + 10 * k) * 1e-9, w = eye[k] * lamp[k];
        weight += w, mean += w * lambda, inverse_squares += w / (lambda * lambda);
    }
    CHECK(gloss_wavelength_m == Approx(std::sqrt(weight / inverse_squares)).epsilon(0.015));
    CHECK(gloss_wavelength_m == Approx(mean / weight).epsilon(0.015));
}

TEST_CASE("roughness takes exp(-(4 pi s cos(theta)/lambda)²) of the mirror away") {
    // Bennett and Porteus, J. Opt. Soc. Am. 51, 123 (1961). By hand: s = 10 nm at 550 nm and normal
    // incidence is a phase of 0.22848, its square 0.052203, which leaves 0.949136.
    CHECK(mirror_share(10e-9, 0) == Approx(0.949136).margin(1e-6));
    const double fourth_root = std::pow(0.949136, 0.25); // cos² of 60 degrees is a quarter
    CHECK(mirror_share(10e-9, 60 * deg) == Approx(fourth_root).margin(1e-6));
    CHECK(mirror_share(0, 20 * deg) == 1);
}

namespace {

MarkPopulation grooves(double depth_um, double depth_sd, double covered) {
    MarkPopulation p;
    p.kind = MarkKind::haze;
    p.depth_um = depth_um, p.depth_sd = depth_sd;
    p.width_m = 8e-6 * depth_um, p.length_m = 0.1, p.per_m2 = covered / (p.width_m * p.length_m);
    return p;
}

} // namespace

TEST_CASE("shallow grooves dull as Bennett and Porteus' roughness of the same rms") {
    // The same paper. With phases up to 21 x 0.02 um = 0.4 the next order of the phase's cosine is 0.4²/20
    // of the loss's exponent, under 1 %; the deepest of a lognormal of sd 0.3 make that about 3 %.
    const std::vector<Marks> marks{{grooves(0.02, 0.3, 0.8)}};
    for (const double angle : gloss_angles_rad) {
        const double loss = -std::log(mirror_share(marks, angle));
        CHECK(loss == Approx(-std::log(mirror_share(rms_um(marks) * 1e-6, angle))).epsilon(0.03));
        CHECK(loss > 0);
    }
}

TEST_CASE("grooves many wavelengths deep take twice the light that falls on them, spots once") {
    // A large obstacle takes twice its shadow from a beam, by Babinet's principle (van de Hulst, Light
    // Scattering by Small Particles, 1957, section 8.22). What sin(p)/p leaves at p = 21.5 x 10 um is under
    // 1 %. The mean width of a lognormal population is exp(s²/2) that of the median.
    MarkPopulation deep = grooves(10, 0.2, 0.1);
    const std::vector<Marks> lines{{deep}};
    CHECK(-std::log(mirror_share(lines, 20 * deg)) == Approx(2 * 0.1 * std::exp(0.02)).epsilon(0.01));
    deep.kind = MarkKind::water_spots;
    deep.width_m = std::sqrt(4 * 0.1 / (pi * deep.per_m2));
    const std::vector<Marks> spots{{deep}};
    CHECK(-std::log(mirror_share(spots, 20 * deg)) == Approx(0.1 * std::exp(0.02)).epsilon(0.01));
}

TEST_CASE("the mirror's share of a grooved surface is the squared mean of exp(i phase) over its heights") {
    // Porteus, J. Opt. Soc. Am. 53, 1394 (1963). By brute force: V-grooves of one profile laid down at
    // random (a linear congruential generator) on a line of 400,000 places, heights adding up where they
    // overlap. The grooves number 8000, so their count at a place is Poisson to a hundredth; 2 % covers that
    // and the places' graininess.
    const double depth_um = 0.06, wide = 40;
    const int places = 400000, count = 8000;
    std::vector<double> height(static_cast<std::size_t>(places), 0.0);
    std::uint64_t state = 7;
    for (int n = 0; n < count; ++n) {
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        const int from = static_cast<int>((state >> 33) % static_cast<std::uint64_t>(places));
        for (int k = 0; k < static_cast<int>(wide); ++k) {
            const double across = std::abs((k + 0.5) / wide * 2 - 1);
            height[static_cast<std::size_t>((from + k) % places)] -= depth_um * (1 - across);
        }
    }
    const double phase_per_um = 4 * pi * std::cos(20 * deg) / 0.55;
    std::complex<double> sum = 0;
    for (const double z : height) sum += std::polar(1.0, phase_per_um * z);
    const double brute = std::norm(sum / static_cast<double>(places));
    const std::vector<Marks> marks{{grooves(depth_um, 0.01, count * wide / places)}};
    CHECK(mirror_share(marks, 20 * deg) == Approx(brute).epsilon(0.02));
    CHECK(brute < 0.7);           // the check has something to see
    double mean = 0, squares = 0; // and their rms, by Campbell's theorem; 2 % as above
    for (const double z : height) mean += z / places, squares += z * z / places;
    CHECK(rms_um(marks) == Approx(std::sqrt(squares - mean * mean)).epsilon(0.02));
}

TEST_CASE("rough paint loses gloss at 20 degrees first and at 85 degrees last") {
    const Finish dull = finish_of(std::vector<Marks>{{grooves(0.05, 0.4, 0.5)}});
    const Finish smooth = finish_of({});
    CHECK(smooth.gloss[0] == smooth_gloss(clear_coat_index, 20 * deg));
    CHECK(smooth.haze == 0);
    const auto kept = [&](std::size_t k) { return dull.gloss[k] / smooth.gloss[k]; };
    CHECK(kept(0) < kept(1));
    CHECK(kept(1) < kept(2));
    CHECK(dull.haze == Approx(100 * (1 - kept(0))));
}

} // namespace test_gloss
