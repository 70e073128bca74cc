// The contact on a sphere-crowned panel against an independent solution with SciPy (reference/
// crowned_contact.py: one-dimensional, adaptive quadrature, no grid) and, in the linear limit, against
// the elastic foundation of K. L. Johnson, Contact Mechanics, 1985, section 4.3.
#include "panel/shape.hpp"
#include "sim/contact.hpp"
#include "sim/kernels.hpp"
#include "support/nonempty.hpp"
#include "support/reference_solution.hpp"
#include "support/worlds.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

namespace test_crowned_contact {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

/// The script's answer, asked for once.
const nlohmann::json& reference() {
    static const nlohmann::json answer = sparecoat::test::reference_solution("crowned_contact.py");
    return answer;
}

Pad reference_pad() {
    const nlohmann::json& given = reference().at("pad");
    Pad pad;
    pad.radius_m = given.at("radius_m");
    pad.thickness_m = given.at("thickness_m");
    pad.foam.modulus_pa = given.at("modulus_pa");
    pad.foam.plateau_pa = given.at("plateau_pa");
    pad.foam.densification_strain = given.at("densification_strain");
    pad.foam.poisson = given.at("poisson");
    return pad;
}

constexpr double plate_m = 0.4; // its edges are 12 decay lengths from the pad's rim: out of reach

Panel crowned_panel(double crown_radius_m, double spacing_m) {
    Features shape;
    shape.outline = {
        {{0, 0}, 0, ""}, {{plate_m, 0}, 0, ""}, {{plate_m, plate_m}, 0, ""}, {{0, plate_m}, 0, ""}};
    shape.radius_u_m = shape.radius_v_m = crown_radius_m;
    return build_panel({"crown", "steel", shape}, spacing_m);
}

struct Contact {
    double contact_radius_m = 0, crown_compression_m = 0, crown_pressure_pa = 0, half_radius_pressure_pa = 0;
    Balance balance;
};

/// A field of the footprint at (x, y) from the pad's centre, bilinear between the four cells around it.
double sample(const Footprint& f, double h_m, double x, double y, const std::vector<float>& field) {
    double sum = 0;
    for (std::size_t i = 0; i < f.size; ++i) {
        const double across = 1 - std::abs(static_cast<double>(f.x[i]) - x) / h_m;
        const double along = 1 - std::abs(static_cast<double>(f.y[i]) - y) / h_m;
        if (across > 0 && along > 0) sum += across * along * static_cast<double>(field[i]);
    }
    return sum;
}

/// Presses a pad that does not orbit, free to level itself, on a crown.
/// @param off_centre_m how far the pad's centre is moved from the crown, to land between cells.
Contact press_on_crown(const Panel& panel, const LayerFields& layer, const Pad& pad, double force_n,
                       Point2 off_centre_m = {}) {
    const double h_m = panel.grid.h_m;
    Footprint f;
    f.gather(panel, layer, Point2{plate_m / 2, plate_m / 2} + off_centre_m, pad.radius_m + h_m);
    cover(f, pad, 0, h_m / 2);
    REQUIRE(f.level());

    Contact out;
    out.balance = balance_plate(f, pad, FoamCurve<float>(pad.foam), {force_n, {}, 0}, {});
    double area_m2 = 0;
    for (std::size_t i = 0; i < f.size; ++i)
        if (f.pressure[i] > 0) area_m2 += static_cast<double>(f.coverage[i]) * f.cell_area_m2;
    out.contact_radius_m = std::sqrt(area_m2 / pi);
    out.crown_compression_m = sample(f, h_m, -off_centre_m.x, -off_centre_m.y, f.compression);
    out.crown_pressure_pa = sample(f, h_m, -off_centre_m.x, -off_centre_m.y, f.pressure);
    constexpr int around = 16;
    for (int k = 0; k < around; ++k) {
        const double angle = 2 * pi * k / around, r = out.contact_radius_m / 2;
        out.half_radius_pressure_pa += sample(f, h_m, r * std::cos(angle) - off_centre_m.x,
                                              r * std::sin(angle) - off_centre_m.y, f.pressure) /
                                       around;
    }
    return out;
}

} // namespace

TEST_CASE("the reference solution meets the closed form of a sphere on an elastic foundation") {
    // Johnson 1985, 4.3; quadrature to 1e-10.
    for (const auto& check : nonempty(reference().at("linear")))
        CHECK(check.at("force_n").get<double>() ==
              Approx(check.at("closed_form_n").get<double>()).epsilon(1e-8));
}

TEST_CASE("a crowned panel is pressed on as the axisymmetric solution has it") {
    // What is left is the grid: the rim of the contact, a circle cut out of square cells, leaves some 0.2 %
    // of the counted area and of the force at 2 mm, and a quarter to a half of that at 1 mm. Twice this is
    // allowed. (The shear layer alone carries 20 % of the pressure on the sharpest crown.)
    const auto [spacing_m, tolerance] = GENERATE(std::pair(0.002, 0.005), std::pair(0.001, 0.002));
    const Pad pad = reference_pad();
    for (const auto& expected : nonempty(reference().at("cases"))) {
        const double crown_radius_m = expected.at("crown_radius_m"), force_n = expected.at("force_n");
        const Panel panel = crowned_panel(crown_radius_m, spacing_m);
        const LayerFields layer = layer_fields(panel, pad);
        // On a cell's corner, and at an odd place between cells.
        for (const Point2 off : {Point2{0, 0}, Point2{0.37 * spacing_m, -0.21 * spacing_m}}) {
            INFO("crown of " << crown_radius_m << " m, " << force_n << " N, grid " << spacing_m
                             << " m, off centre " << off.x << " " << off.y);
            const Contact found = press_on_crown(panel, layer, pad, force_n, off);
            CHECK(found.balance.converged);
            CHECK(found.contact_radius_m ==
                  Approx(expected.at("contact_radius_m").get<double>()).epsilon(tolerance));
            CHECK(found.crown_compression_m ==
                  Approx(expected.at("crown_compression_m").get<double>()).epsilon(tolerance));
            CHECK(found.crown_pressure_pa ==
                  Approx(expected.at("crown_pressure_pa").get<double>()).epsilon(tolerance));
            CHECK(found.half_radius_pressure_pa ==
                  Approx(expected.at("half_radius_pressure_pa").get<double>()).epsilon(tolerance));
        }
    }
}

TEST_CASE("the foam law rises without a corner, and its slope is its derivative, past densification too") {
    // Central differences of the law itself, over its three regimes and the straight line beyond x = 0.95.
    const Pad pad = reference_pad();
    const FoamCurve<double> foam(pad.foam);
    const double dense = pad.foam.densification_strain, d = 1e-6;
    for (double strain = 0.01; strain < 1.3 * dense; strain += 0.013) {
        double before, here, after, slope, unused;
        foam.at(strain - d, before, unused), foam.at(strain, here, slope), foam.at(strain + d, after, unused);
        CAPTURE(strain);
        CHECK(slope == Approx((after - before) / (2 * d)).epsilon(1e-5)); // d^2 / 6 of the third derivative
        CHECK(before < here);
        if (strain < 0.9 * dense) // Gibson and Ashby's regimes as joined in sim/foam.hpp
            CHECK(here == Approx(pad.foam.plateau_pa * (12 * strain / std::sqrt(1 + 144 * strain * strain) +
                                                        std::pow(strain / dense, 3) / (1 - strain / dense)))
                              .epsilon(1e-12));
    }
}

TEST_CASE("a linear layer without shear presses on a sphere with pi k w0^2 R") {
    // Johnson 1985, 4.3. A plateau and a densification out of reach leave the law's straight start:
    // E strain / plateau stays under 0.01, which bends it by 5e-5.
    Pad pad = reference_pad();
    pad.foam.plateau_pa = 1e6;
    pad.foam.densification_strain = 100;
    const double spacing_m = 0.001;
    for (const double crown_radius_m : {0.4, 0.8}) {
        const Panel panel = crowned_panel(crown_radius_m, spacing_m);
        LayerFields layer = layer_fields(panel, pad);
        std::fill(layer.shear_pa.begin(), layer.shear_pa.end(), 0.0f);
        for (const double force_n : {5.0, 20.0}) {
            const double compression_m = std::sqrt(force_n / (pi * pad.foundation_pa_m() * crown_radius_m));
            REQUIRE(std::sqrt(2 * crown_radius_m * compression_m) < pad.radius_m);
            INFO("crown of " << crown_radius_m << " m, " << force_n << " N");
            // The mean of the four cells round the crown lies h²/4R, up to 5e-4 of the compression, below
            // it; the law's bend and the balance's own 2e-4 add as much. The contact's rim: to 0.15 cells.
            const Contact found = press_on_crown(panel, layer, pad, force_n);
            CHECK(found.crown_compression_m == Approx(compression_m).epsilon(0.002));
            CHECK(found.contact_radius_m ==
                  Approx(std::sqrt(2 * crown_radius_m * compression_m)).epsilon(0.005));
        }
    }
}

} // namespace test_crowned_contact
