// The film's Gaussian process against an independent solution with NumPy and SciPy (reference/kriging.py) and
// against closed forms. C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning
// (2006): algorithm 2.1 (posterior), eq. 5.8 (marginal likelihood), eq. 4.14 and 4.17 (Matern).
#include "panel/film_process.hpp"
#include "support/nonempty.hpp"
#include "support/reference_solution.hpp"
#include "units/quantity.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

namespace test_kriging {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;

namespace {

/// The script's answer, asked for once.
const json& reference() {
    static const json answer = sparecoat::test::reference_solution("kriging.py");
    return answer;
}

FilmScales reference_scales() {
    const json& s = reference().at("scales");
    return {s.at("offset"), s.at("edge"), s.at("split"), s.at("length_m"), s.at("signal"), s.at("texture")};
}

std::vector<FilmDatum> reference_readings() {
    std::vector<FilmDatum> data;
    for (const json& r : reference().at("readings"))
        data.push_back(
            {{r.at("at")[0], r.at("at")[1]}, r.at("weight"), r.at("of_clear"), r.at("y"), r.at("noise")});
    return data;
}

} // namespace

TEST_CASE("the Matern correlation of order 5/2 is the general one with its Bessel function", "[gauge]") {
    for (const json& pair : nonempty(reference().at("matern")))
        CHECK(matern52(pair[0]) ==
              Approx(pair[1].get<double>()).epsilon(1e-10)); // SciPy's Bessel function: 1e-13
}

TEST_CASE("mean and variance of total film and clear coat agree with SciPy's, by edges too", "[gauge]") {
    const FilmPosterior posterior(reference_readings(), reference_scales());
    for (const json& q : nonempty(reference().at("posterior"))) {
        const Point2 at{q.at("at")[0], q.at("at")[1]};
        const LogFilm film = q.at("of_clear") ? posterior.clear_at(at, q.at("weight"))
                                              : posterior.total_at(at, q.at("weight"));
        // Both in double; the covariance's condition number, some 1e3, costs three of sixteen digits.
        CHECK(film.mean == Approx(q.at("mean").get<double>()).epsilon(1e-9).margin(1e-12));
        CHECK(film.variance == Approx(q.at("variance").get<double>()).epsilon(1e-9));
    }
}

TEST_CASE("the log marginal likelihood is SciPy's log density of the readings", "[gauge]") {
    const FilmPosterior posterior(reference_readings(), reference_scales());
    CHECK(posterior.log_marginal_likelihood() ==
          Approx(reference().at("log_marginal_likelihood").get<double>()).epsilon(1e-10));
}

TEST_CASE("the likeliest scales are the ones that SciPy's optimisers find", "[gauge]") {
    const FilmScales found = likeliest_scales(reference_readings(), reference_scales());
    const json& best = reference().at("likeliest");
    // The simplex ends within 1e-5 of the likelihood, which near the top is within some 2 % of each scale.
    CHECK(found.length_m == Approx(best.at("length_m").get<double>()).epsilon(0.02));
    CHECK(found.signal == Approx(best.at("signal").get<double>()).epsilon(0.02));
    CHECK(found.texture == Approx(best.at("texture").get<double>()).epsilon(0.02));
}

TEST_CASE("one reading has the closed form of a single normal observation", "[gauge]") {
    FilmScales scales;
    scales.offset = 0.1, scales.length_m = 0.2, scales.signal = 0.06, scales.texture = 0.02,
    scales.split = 0.08;
    const double y = 0.15, noise = 0.01;
    const FilmPosterior posterior({{{0.1, 0.1}, 0, false, y, noise}}, scales);
    const double reading_variance = 0.1 * 0.1 + 0.06 * 0.06 + 0.02 * 0.02 + noise * noise;
    const double r = matern52(0.05 / 0.2);
    const double shared = 0.1 * 0.1 + r * 0.06 * 0.06;
    const double prior = 0.1 * 0.1 + 0.06 * 0.06 + 0.02 * 0.02;
    const LogFilm total = posterior.total_at({0.15, 0.1}, 0);
    CHECK(total.mean == Approx(shared / reading_variance * y).epsilon(1e-12)); // rounding
    CHECK(total.variance == Approx(prior - shared * shared / reading_variance).epsilon(1e-12));
    // A reading of the total says nothing about the split, which comes on top.
    CHECK(posterior.clear_at({0.15, 0.1}, 0).variance == Approx(total.variance + 0.08 * 0.08).epsilon(1e-12));
    CHECK(posterior.offset().mean == Approx(0.1 * 0.1 / reading_variance * y).epsilon(1e-12));
    CHECK(posterior.offset().variance == Approx(0.01 - 1e-4 / reading_variance).epsilon(1e-12));
    CHECK(posterior.log_marginal_likelihood() ==
          Approx(-0.5 * y * y / reading_variance - 0.5 * std::log(2 * pi * reading_variance)).epsilon(1e-12));
}

TEST_CASE("two readings have the closed form of a two by two inverse", "[gauge]") {
    FilmScales scales;
    scales.offset = 0.1, scales.length_m = 0.3, scales.signal = 0.08, scales.texture = 0.01,
    scales.split = 0.05;
    // One of the total, one of the clear coat.
    const FilmPosterior posterior({{{0, 0}, 0, false, 0.2, 0.01}, {{0.12, 0}, 0, true, -0.1, 0.02}}, scales);
    const auto r = [](double distance) { return matern52(distance / 0.3); };
    const double a = 0.01 + 0.0064 + 1e-4 + 1e-4, d = 0.01 + 0.0064 + 0.0025 + 1e-4 + 4e-4,
                 b = 0.01 + 0.0064 * r(0.12);
    const double determinant = a * d - b * b;
    const auto quadratic = [&](double u1, double u2, double v1, double v2) {
        return (d * u1 * v1 - b * (u1 * v2 + u2 * v1) + a * u2 * v2) / determinant;
    };
    const double k1 = 0.01 + 0.0064 * r(0.05), k2 = 0.01 + r(0.07) * (0.0064 + 0.0025);
    const LogFilm clear = posterior.clear_at({0.05, 0}, 0);
    CHECK(clear.mean == Approx(quadratic(k1, k2, 0.2, -0.1)).epsilon(1e-11)); // rounding
    CHECK(clear.variance == Approx(0.01 + 0.0064 + 0.0025 + 1e-4 - quadratic(k1, k2, k1, k2)).epsilon(1e-11));
    CHECK(posterior.log_marginal_likelihood() ==
          Approx(-0.5 * quadratic(0.2, -0.1, 0.2, -0.1) - 0.5 * std::log(determinant) - std::log(2 * pi))
              .epsilon(1e-11));
}

} // namespace test_kriging
