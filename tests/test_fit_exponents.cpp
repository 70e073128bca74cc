// Exponents on pressure and speed: what a trace says of them, and what measurements do.
#include "decide/cut_fit.hpp"
#include "support/cut_fits.hpp"
#include "support/worlds.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>

namespace test_fit_exponents {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

TEST_CASE("a trace's response gives the loss that a run has at other exponents", "[fit]") {
    const Panel panel = plate(0.4, 0.3, 0.004);
    Setup setup = setup_of(orbital(), foam_pad());
    setup.pad.capacity_m = 2e-6;
    setup.liquid.abrasive_start_m = 2.5e-6, setup.liquid.abrasive_end_m = 0.8e-6;
    const ArmPath path = straight({{0.1, 0.15}, {0.3, 0.15}, 0.02, 120});
    std::vector<std::size_t> cells;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (norm(panel.grid.centre(k) - Point2{0.2, 0.15}) < 0.04) cells.push_back(k);
    const WorkTrace trace = trace_work(panel, setup, path, cells, 0, INFINITY, true);
    for (const auto& [pressure, speed] : {std::pair{0.75, 1.0}, {1.0, 0.7}, {1.2, 0.8}}) {
        Setup full = setup;
        full.liquid.breakdown_j_m2 = 20e3;
        full.liquid.pressure_exponent = pressure, full.liquid.speed_exponent = speed;
        const RunResult result = simulate(panel, full, path);
        double mean_um = 0;
        for (const std::size_t k : cells)
            mean_um += static_cast<double>(result.fields.removed_um[k]) / static_cast<double>(cells.size());
        const WorkLoss loss = loss_of(trace, 1, 20e3, pressure - 1, speed - 1);
        CAPTURE(pressure, speed);
        // What is left out: skewness, and that the response is that of the whole path.
        CHECK(loss.film_um == Approx(mean_um).epsilon(3e-3));
        CHECK(loss.removed_m3 == Approx(result.totals.removed_by_work_m3).epsilon(3e-3));
        CHECK(std::abs(loss_of(trace, 1, 20e3).film_um / mean_um - 1) > 0.02); // it does make a difference
    }
}

namespace {

/// The series worked with several forces and speeds, times the usual ones.
std::vector<WorkTrace> harder_and_faster(std::initializer_list<double> forces,
                                         std::initializer_list<double> speeds) {
    std::vector<WorkTrace> out;
    for (const double force : forces)
        for (const double speed : speeds) {
            WorkTrace trace = even_work(0, 200 * force * speed, 3 * force * speed);
            trace.film = trace.removed = {.by_pressure = std::log(force), .by_speed = std::log(speed)};
            out.push_back(trace);
        }
    return out;
}

} // namespace

TEST_CASE("rows at several forces and speeds tell the exponents", "[fit]") {
    const std::vector<WorkTrace> traces = harder_and_faster({0.5, 1, 2}, {0.5, 1, 2});
    Normals noise(7);
    int held = 0;
    constexpr int times = 60;
    for (int n = 0; n < times; ++n) {
        std::vector<MeasuredLoss> rows;
        for (std::size_t k = 0; k < traces.size(); ++k) {
            const double film_um = loss_of(traces[k], 1.3, 0, -0.2, 0.1).film_um;
            rows.push_back({k, 0, film_um * (1 + 0.03 * noise()), 0.03 * film_um, 0});
        }
        const CutFit fit = fit_cut(traces, rows, 0.0, {"pad"}, Exponents{});
        const CutParameter &pressure = parameter(fit, CutParameterKind::pressure_exponent),
                           &speed = parameter(fit, CutParameterKind::speed_exponent);
        REQUIRE(pressure.fitted());
        REQUIRE(speed.fitted());
        held += (pressure.low <= 0.8 && 0.8 <= pressure.high) + (speed.low <= 1.1 && 1.1 <= speed.high);
    }
    CHECK(held > 0.85 * 2 * times); // nine in ten; the count scatters by 2.7 %
}

TEST_CASE("rows at one force and one speed cannot tell exponents from the cut", "[fit]") {
    std::vector<WorkTrace> traces = a_series();
    for (WorkTrace& trace : traces) trace.film = trace.removed = {.by_pressure = 0.4, .by_speed = 0.2};
    const CutFit fit = fit_cut(traces, rows_of(traces, 1.2, 1, 0.05), preset_breakdown, {"pad"}, Exponents{});
    CHECK_THAT(parameter(fit, CutParameterKind::pressure_exponent).held, Contains("apart"));
    CHECK_THAT(parameter(fit, CutParameterKind::speed_exponent).held, Contains("apart"));
    CHECK(parameter(fit, CutParameterKind::breakdown).fitted());
    CHECK(fit.cut().value == Approx(1.2).epsilon(1e-6));
}

TEST_CASE("an exponent that the rows hardly tell is held and not guessed", "[fit]") {
    const std::vector<WorkTrace> traces = harder_and_faster({0.9, 1.1}, {0.5, 1, 2});
    std::vector<MeasuredLoss> rows;
    for (std::size_t k = 0; k < traces.size(); ++k)
        rows.push_back({k, 0, loss_of(traces[k], 1, 0).film_um, 0.3, 0});
    const CutFit fit = fit_cut(traces, rows, 0.0, {"pad"}, Exponents{});
    CHECK_THAT(parameter(fit, CutParameterKind::pressure_exponent).held, Contains("hardly tell"));
    CHECK(parameter(fit, CutParameterKind::speed_exponent).fitted());
}

} // namespace test_fit_exponents
