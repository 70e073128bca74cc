// What of its pressure a pad keeps at its rim and at an edge, against an elastic layer solved by finite
// elements (reference/elastic_layer.py).
#include "sim/rim.hpp"
#include "support/nonempty.hpp"
#include "support/reference_solution.hpp"
#include "support/worlds.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

namespace test_rim {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

Pad square_pad(double thickness_m, double past_plate_m) {
    Pad pad = foam_pad();
    pad.thickness_m = thickness_m, pad.plate_radius_m = pad.radius_m - past_plate_m;
    pad.rim.kind = RimKind::square;
    return pad;
}

} // namespace

TEST_CASE("a square rim bears as an elastic layer does under a plate as wide as the pad, or narrower") {
    const auto reference = reference_solution("elastic_layer.py");
    for (const auto& at : nonempty(reference.at("rims"))) {
        const double back = at.at("back_mm").get<double>() * mm,
                     inside = at.at("inside_plate_mm").get<double>() * mm;
        const Pad pad = square_pad(at.at("thickness_mm").get<double>() * mm, back);
        CAPTURE(pad.thickness_m, back, inside);
        // Farther out than half its thickness, foam lifts off.
        if (back > 0.5 * pad.thickness_m) continue;
        CHECK(rim_bearing(pad, 1 * mm, inside + back) == Approx(at.at("share").get<double>()).margin(0.02));
    }
}

TEST_CASE("the edge's load is within a quarter of an elastic layer's, far over an edge and level with it") {
    // The mean of the last 4 mm, over even. A layer of springs and shear has 1 + tanh(o/l) exp(-s/l) and the
    // rim's share; an elastic one, whose pressure rises without end at a sharp edge, has more right at it and
    // less behind.
    const auto reference = reference_solution("elastic_layer.py");
    const Pad pad = square_pad(25 * mm, 0);
    const double l = pad.thickness_m / std::sqrt(6 * (1 + pad.foam.poisson));
    for (const auto& at : nonempty(reference.at("edges"))) {
        const double out = at.at("out_mm").get<double>() * mm;
        double mean = 0;
        for (int k = 0; k < 40; ++k) {
            const double s = (k + 0.5) * 0.1 * mm;
            mean += rim_bearing(pad, 1 * mm, s + out) * (1 + std::tanh(out / l) * std::exp(-s / l)) / 40;
        }
        CAPTURE(out);
        CHECK(mean == Approx(at.at("last_4_mm").get<double>()).epsilon(0.25));
    }
}

TEST_CASE("a rounded or conical rim bears less, the softer the pressing the less") {
    Pad pad = square_pad(25 * mm, 0);
    const double square = rim_bearing(pad, 1 * mm, 1 * mm);
    pad.rim = {RimKind::rounded, 3 * mm, 3 * mm};
    // A quarter circle of 3 mm stands off by 3 - sqrt(9 - 4) = 0.76 mm at 1 mm from the rim.
    const FoamCurve<double> foam(pad.foam);
    double whole, part, slope;
    foam.at(1.0 / 25, whole, slope), foam.at((1 - (3 - std::sqrt(5.0))) / 25, part, slope);
    CHECK(rim_bearing(pad, 1 * mm, 1 * mm) == Approx(square * part / whole).epsilon(1e-9));
    CHECK(rim_bearing(pad, 3 * mm, 1 * mm) > rim_bearing(pad, 1 * mm, 1 * mm));
    CHECK(rim_bearing(pad, 0.5 * mm, 1 * mm) == 0);
    CHECK(rim_bearing(pad, 1 * mm, 4 * mm) == Approx(rim_bearing(square_pad(25 * mm, 0), 1 * mm, 4 * mm)));
    pad.rim = {RimKind::conical, 10 * mm, 5 * mm};
    CHECK(rim_bearing(pad, 1 * mm, 7.9 * mm) == 0); // 1.05 mm off
    CHECK(rim_bearing(pad, 1 * mm, 9 * mm) > 0);
}

TEST_CASE("a pile of discs bears as the rim does, and an even pad is one disc") {
    Pad pad = square_pad(25 * mm, 5 * mm);
    pad.rim = {RimKind::rounded, 3 * mm, 3 * mm};
    // Loads and first moments about the rim: integrals of the bearing over the face, by the midpoint rule.
    double load = 0, weights = 0, discs = 0;
    for (int k = 0; k < 7500; ++k) {
        const double r = (k + 0.5) * 1e-5;
        load += rim_bearing(pad, 1 * mm, 0.075 - r) * 2 * pi * r * 1e-5;
    }
    for (const auto& disc : face_discs(pad, 1 * mm).discs)
        weights += disc.weight, discs += disc.weight * pi * disc.radius_m * disc.radius_m;
    CHECK(weights == Approx(1).epsilon(1e-9));
    CHECK(discs == Approx(load).epsilon(0.01));
    pad.rim = {};
    REQUIRE(face_discs(pad, 1 * mm).discs.size() == 1);
    CHECK(face_discs(pad, 1 * mm).discs[0].radius_m == 0.075);
    // flat_compression: stress times what bears is the force.
    double stress, slope;
    FoamCurve<double>(pad.foam).at(flat_compression(pad, 45) / pad.thickness_m, stress, slope);
    CHECK(stress * pi * 0.075 * 0.075 == Approx(45).epsilon(1e-6));
}

} // namespace test_rim
