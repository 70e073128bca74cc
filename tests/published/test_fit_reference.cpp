// Least squares and periodograms against NumPy and SciPy (reference/fit_reference.py), and the nonlinear
// solver against a data set of the NIST Statistical Reference Datasets (StRD, Nonlinear Regression): Misra1a,
// D. Misra, dental research monomolecular adsorption study (1978). Data and certified values from memory;
// that a solver which shares nothing with NIST's comes to all certified digits confirms both.
#include "decide/stats/least_squares.hpp"
#include "decide/stats/spectrum.hpp"
#include "support/nonempty.hpp"
#include "support/reference_solution.hpp"
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

namespace test_fit_reference {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using nlohmann::json;

namespace {

/// The script's answer, asked for once.
const json& reference() {
    static const json answer = sparecoat::test::reference_solution("fit_reference.py");
    return answer;
}

Eigen::VectorXd vector_of(const json& values) {
    const auto list = values.get<std::vector<double>>();
    return Eigen::Map<const Eigen::VectorXd>(list.data(), static_cast<Eigen::Index>(list.size()));
}

void check_near(const Eigen::MatrixXd& covariance, const json& expected, double relative) {
    for (Eigen::Index i = 0; i < covariance.rows(); ++i)
        for (Eigen::Index j = 0; j < covariance.cols(); ++j) {
            const double size = std::sqrt(covariance(i, i) * covariance(j, j));
            CHECK(covariance(i, j) ==
                  Approx(expected[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)].get<double>())
                      .margin(relative * size));
        }
}

} // namespace

TEST_CASE("a weighted linear fit is numpy.linalg.lstsq's, with its covariance, leverage and chi-square",
          "[fit]") {
    const json& r = reference().at("linear");
    const Eigen::VectorXd y = vector_of(r.at("y")), sd = vector_of(r.at("sd"));
    Eigen::MatrixXd a(y.size(), 3);
    for (Eigen::Index k = 0; k < y.size(); ++k)
        a.row(k) = vector_of(r.at("a")[static_cast<std::size_t>(k)]).transpose();
    const LeastSquaresFit fit =
        least_squares([&](const Eigen::VectorXd& x) { return ((y - a * x).cwiseQuotient(sd)).eval(); },
                      Eigen::VectorXd::Zero(3), {1e-5, 1e-5});
    REQUIRE(fit.converged);
    // Derivatives by differences are exact for a linear model but for rounding, some 1e-11 of 1e-5 steps.
    for (Eigen::Index k = 0; k < 3; ++k)
        CHECK(fit.parameters(k) == Approx(vector_of(r.at("x"))(k)).epsilon(1e-8));
    check_near(fit.covariance, r.at("cov"), 1e-8);
    for (Eigen::Index k = 0; k < y.size(); ++k)
        CHECK(fit.leverage(k) == Approx(vector_of(r.at("leverage"))(k)).epsilon(1e-8));
    CHECK(fit.leverage.sum() == Approx(3).epsilon(1e-12)); // the trace of a projection on three columns
    CHECK(fit.chi_square == Approx(r.at("chi_square").get<double>()).epsilon(1e-10));
    CHECK(fit.degrees == 6);
}

TEST_CASE("a falling cut is fitted as scipy.optimize.curve_fit does, covariance and all", "[fit]") {
    const json& r = reference().at("curve");
    const Eigen::VectorXd work = vector_of(r.at("work")), y = vector_of(r.at("y")),
                          sd = vector_of(r.at("sd"));
    const auto residuals = [&](const Eigen::VectorXd& x) {
        return ((y.array() - x(0) * (0.32 + 0.68 * (-work.array() / x(1)).exp())) / sd.array())
            .matrix()
            .eval();
    };
    const LeastSquaresFit fit = least_squares(residuals, Eigen::Vector2d(1, 400));
    REQUIRE(fit.converged);
    for (Eigen::Index k = 0; k < 2; ++k)
        CHECK(fit.parameters(k) == Approx(vector_of(r.at("x"))(k)).epsilon(1e-6));
    check_near(fit.covariance, r.at("cov"), 1e-4); // SciPy's derivatives are one-sided differences
}

TEST_CASE("NIST's Misra1a is fitted to its certified values from both certified starts", "[fit]") {
    constexpr std::array y{10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                           44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
    constexpr std::array x{77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                           378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
    const auto residuals = [&](const Eigen::VectorXd& b) {
        Eigen::VectorXd out(14);
        for (std::size_t k = 0; k < 14; ++k)
            out(static_cast<Eigen::Index>(k)) = y[k] - b(0) * (1 - std::exp(-b(1) * x[k]));
        return out;
    };
    for (const Eigen::Vector2d& start : {Eigen::Vector2d(500, 0.0001), Eigen::Vector2d(250, 0.0005)}) {
        const LeastSquaresFit fit = least_squares(residuals, start);
        REQUIRE(fit.converged);
        // Certified to 11 digits; differences leave the place of the least sum good to some 1e-8 of it.
        CHECK(fit.parameters(0) == Approx(2.3894212918e+02).epsilon(1e-7));
        CHECK(fit.parameters(1) == Approx(5.5015643181e-04).epsilon(1e-7));
        CHECK(fit.chi_square == Approx(1.2455138894e-01).epsilon(1e-9));
        const double s = std::sqrt(fit.chi_square / fit.degrees);
        CHECK(s == Approx(1.0187876330e-01).epsilon(1e-9));
        CHECK(s * std::sqrt(fit.covariance(0, 0)) == Approx(2.7070075241e+00).epsilon(1e-6));
        CHECK(s * std::sqrt(fit.covariance(1, 1)) == Approx(7.2668688436e-06).epsilon(1e-6));
    }
}

TEST_CASE("quantiles and chances are SciPy's", "[fit]") {
    // SciPy inverts the distribution by a search, which stops some 5e-9 short.
    for (const json& q : nonempty(reference().at("student")))
        CHECK(student_quantile(q[0], q[1]) == Approx(q[2].get<double>()).epsilon(1e-8));
    for (const double p : {0.6, 0.95, 0.995}) // two degrees of freedom have a closed form
        CHECK(student_quantile(p, 2) == Approx((2 * p - 1) / std::sqrt(2 * p * (1 - p))).epsilon(1e-12));
    for (const json& q : nonempty(reference().at("chi_square"))) {
        LeastSquaresFit fit;
        fit.chi_square = q[0], fit.degrees = q[1];
        CHECK(fit.chance_of_chi_square() == Approx(q[2].get<double>()).epsilon(1e-10));
    }
    CHECK(normal_quantile(0.975) ==
          Approx(1.959963984540054).epsilon(1e-12)); // every table of the normal law
}

TEST_CASE("a line's periodogram is scipy.signal.periodogram's", "[evenness]") {
    for (const json& r : nonempty(reference().at("periodograms"))) {
        const auto values = r.at("values").get<std::vector<double>>();
        const Spectrum s =
            periodogram(values, r.at("spacing"), r.at("window") == "hann" ? Taper::hann : Taper::none);
        const auto f = r.at("f").get<std::vector<double>>(), p = r.at("p").get<std::vector<double>>();
        REQUIRE(s.power_um2_mm.size() == p.size());
        for (std::size_t k = 0; k < p.size(); ++k) {
            CHECK(s.frequency_per_mm[k] == Approx(f[k]).epsilon(1e-12).margin(1e-15));
            CHECK(s.power_um2_mm[k] == Approx(p[k]).epsilon(1e-9).margin(1e-14)); // double rounding
        }
    }
}

TEST_CASE("the average over lines is scipy.signal.welch's over segments", "[evenness]") {
    const json& r = reference().at("welch");
    const auto values = r.at("values").get<std::vector<float>>();
    const int length = r.at("segment");
    Grid grid;
    grid.nu = length, grid.nv = static_cast<int>(values.size()) / length,
    grid.h_m = 0.001 * r.at("spacing").get<double>();
    const Spectrum s = evenness_spectrum(grid, values, {0, 0, grid.nu - 1, grid.nv - 1}, Along::u);
    const auto p = r.at("p").get<std::vector<double>>();
    CHECK(s.lines == grid.nv);
    REQUIRE(s.power_um2_mm.size() == p.size());
    REQUIRE_FALSE(p.empty());
    // The field is in float.
    for (std::size_t k = 0; k < p.size(); ++k)
        CHECK(s.power_um2_mm[k] == Approx(p[k]).epsilon(1e-4).margin(1e-7));
}

} // namespace test_fit_reference
