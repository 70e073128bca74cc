// Heat within a run: what it does to the film, to the events and to the presets.
#include "decide/verdict.hpp"
#include "run/run_job.hpp"
#include "sim/kernels.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

namespace test_warm_runs {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

Machine rotary() {
    Machine machine;
    machine.kind = MachineKind::rotary;
    return machine;
}

Panel plate_of(const Substrate& substrate) {
    return panel_of(rectangle(0.5, 0.4), 0.004, even_film(), substrate);
}

/// A rotary held on one place of a panel for a while.
ArmPath held(double seconds, double lifted_s = 0) {
    ArmPath path =
        straight({{0.22, 0.2}, {0.28, 0.2}, 0.06 / seconds, 45, 1500 * per_min, 0.06 * 0.1 / seconds});
    for (double t = 0.5; t <= lifted_s; t += 0.5) {
        path.samples.back().down = false;
        ArmSample up = path.samples.back();
        up.t_s += 0.5;
        path.samples.push_back(up);
    }
    return path;
}

Setup warm_setup(const Machine& machine, Softening softening = {40, 20}) {
    Setup setup = setup_of(machine, foam_pad(), 30);
    setup.softening = softening;
    return setup;
}

const Event* find(const std::vector<Event>& events, EventKind kind) {
    const auto found =
        std::find_if(events.begin(), events.end(), [&](const Event& e) { return e.kind == kind; });
    return found == events.end() ? nullptr : &*found;
}

double peak_of_preset(const char* panel, const char* technique) {
    static const Library library(source_at("presets"));
    RunRequest request;
    request.panel = panel, request.technique = technique, request.grid_m = 0.004;
    const RunJob job = prepare(library, request);
    const RunResult result = simulate(job.panel, setup_of(job), job.path);
    UNSCOPED_INFO(panel << ", " << technique << ": " << result.heat->peak().film_c << " C at "
                        << place_of(job.panel, result.heat->peak().cell));
    return result.heat->peak().film_c;
}

} // namespace

TEST_CASE("the heat factor is 2 to the warmth over the doubling, 1 below and 4 at the most") {
    constexpr std::size_t n = 200;
    std::vector<float> pressure(n, 2000), speed(n, 3), rise(n), resistance(n, 4e-4f), heat(n);
    for (std::size_t i = 0; i < n; ++i) rise[i] = -20 + 0.5f * static_cast<float>(i);
    // In air of 20 °C paint that softens from 40 °C has 20 K to go; the flux adds 0.3 x 6000 x 4e-4 = 0.72 K.
    kernels::soften(
        {n, pressure.data(), speed.data(), rise.data(), resistance.data(), 0.3f, 20, 1 / 15.0f, heat.data()});
    for (std::size_t i = 0; i < n; ++i) {
        const double above = static_cast<double>(rise[i]) + 0.72 - 20;
        CAPTURE(above);
        if (above <= 0) CHECK(heat[i] == 1);
        else
            CHECK(static_cast<double>(heat[i]) == Approx(std::min(4.0, std::exp2(above / 15))).epsilon(2e-6));
    }
}

TEST_CASE("warm paint loses more than cold paint would, and each cell's heat factor says how much") {
    const Panel panel = plate_of(plastic());
    const ArmPath path = held(8);
    const RunResult warm = simulate(panel, warm_setup(rotary()), path);
    const RunResult cold = simulate(panel, warm_setup(rotary(), Softening::none()), path);
    double most = 1;
    for (std::size_t k = 0; k < panel.inside.size(); ++k) {
        const double c = static_cast<double>(warm.fields.removed_cold_um[k]),
                     r = static_cast<double>(warm.fields.removed_um[k]);
        // The steady liquid neither loads nor wears, so the cold part is what paint that does not soften
        // loses.
        REQUIRE(warm.fields.removed_cold_um[k] == cold.fields.removed_um[k]);
        REQUIRE(cold.fields.removed_cold_um[k] == cold.fields.removed_um[k]);
        if (c <= 0) continue;
        REQUIRE(r >= c);
        REQUIRE(r <= 4 * c * (1 + 1e-6));
        REQUIRE(factors_at(warm.fields, k).heat == Approx(r / c));
        most = std::max(most, r / c);
    }
    CHECK(most > 1.2);
}

TEST_CASE("removed volume is k times friction work over mu times its heat factor") {
    // Over cells in single precision, over steps in double: 1e-4 asked, 1e-6 seen.
    for (const Substrate& substrate : {steel(), plastic()}) {
        const Panel panel = plate_of(substrate);
        const RunResult r = simulate(panel, warm_setup(rotary(), {25, 10}), held(10));
        CHECK(total_removed_m3(panel, r.fields) == Approx(r.totals.removed_by_work_m3).epsilon(1e-4));
        double cold = 0;
        for (const float c : r.fields.removed_cold_um) cold += 1e-6 * static_cast<double>(c);
        CHECK(r.totals.removed_by_work_m3 >
              1.1 * cold * panel.grid.h_m * panel.grid.h_m); // or it says nothing of heat
    }
}

TEST_CASE("what friction makes stays in the panel, goes into the air, the pad or vapour, and no more") {
    const Panel panel = plate_of(steel());
    // Over an edge too: what rubs on no panel heats none.
    ArmPath path = straight({{0.1, 0.05}, {0.4, 0.0}});
    const RunResult r = simulate(panel, warm_setup(orbital()), path);
    const PanelHeat::Energy e = r.heat->energy();
    CHECK(e.made_j == Approx(r.totals.friction_work_j).epsilon(1e-5)); // sums in single precision
    CHECK(e.lost_j + e.stored_j + e.evaporated_j + e.into_pad_j == Approx(e.made_j).epsilon(1e-5));
    CHECK(e.into_pad_j > 0);
}

TEST_CASE("tape keeps the paint, not the heat, away") {
    const Panel panel = plate_of(steel());
    Setup taped = warm_setup(orbital());
    taped.taped = std::make_shared<const std::vector<std::uint8_t>>(panel.grid.cells(), std::uint8_t{1});
    const ArmPath path = straight({{0.1, 0.2}, {0.4, 0.2}});
    const RunResult kept = simulate(panel, taped, path), bare = simulate(panel, warm_setup(orbital()), path);
    CHECK(total_removed_m3(panel, kept.fields) == 0);
    CHECK(kept.totals.removed_by_work_m3 == 0);
    CHECK(kept.heat->energy().made_j == Approx(bare.heat->energy().made_j).epsilon(1e-9));
    CHECK(kept.heat->peak().film_c == Approx(bare.heat->peak().film_c).epsilon(1e-9));
}

TEST_CASE("a panel cools while the pad is lifted") {
    const Panel panel = plate_of(steel());
    const RunResult r = simulate(panel, warm_setup(rotary()), held(5, 60));
    const auto hottest_at = [&](double t_s) {
        return std::find_if(r.trace.begin(), r.trace.end(), [&](const StepReport& s) { return s.t_s >= t_s; })
            ->hottest_film_c;
    };
    CHECK(hottest_at(4.8) > 30);
    CHECK(hottest_at(30) < hottest_at(5.5));
    CHECK(r.trace.back().hottest_film_c < hottest_at(30));
    CHECK(r.heat->peak().film_c >= hottest_at(4.8));
}

TEST_CASE("a film over the limit is an event at the hottest place, with its temperature, and lasts until it "
          "has cooled") {
    const Panel panel = plate_of(plastic());
    const RunResult r = simulate(panel, warm_setup(rotary()), held(20, 120));
    const Event* hot = find(r.events, EventKind::hot_panel);
    REQUIRE(hot);
    CHECK(hot->value > 60);
    CHECK(hot->value == Approx(r.heat->peak().film_c));
    CHECK(norm(hot->at - Point2{0.25, 0.2}) < 0.12); // under the pad
    CHECK(hot->from_s > 0.5);
    CHECK(hot->from_s < 20);
    CHECK(hot->to_s > 20.2); // on, though the pad is gone
    CHECK(hot->to_s < 120);  // and over
    CHECK_FALSE(
        find(simulate(plate_of(steel()), warm_setup(orbital()), straight({{0.1, 0.2}, {0.4, 0.2}})).events,
             EventKind::hot_panel));
}

TEST_CASE("the smaller the cells, the same the heat") {
    // Nodes are 4 mm whatever the cells, so what is left is how finely the pad's pressure is sampled.
    const auto peak = [](double spacing) {
        const Panel panel = panel_of(rectangle(0.5, 0.4), spacing, even_film(), steel());
        return simulate(panel, warm_setup(rotary()), held(5)).heat->peak().film_c - 20;
    };
    const double fine = peak(0.001);
    CHECK(peak(0.002) == Approx(fine).epsilon(0.01));
    CHECK(peak(0.003) == Approx(fine).epsilon(0.02));
    CHECK(peak(0.004) == Approx(fine).epsilon(0.02));
}

TEST_CASE("the presets stay as warm as is seen in the trade") {
    // Common practice, no source: an orbital's polish leaves steel hand-warm, a finish barely warm, a rotary
    // makes it too hot to touch if it stays in one section, and plastic gets hot under a small head already.
    const double polish = peak_of_preset("test-plate", "polish-da-15");
    CHECK(polish > 30);
    CHECK(polish < 45);
    CHECK(peak_of_preset("test-plate", "finishing-pass") < polish - 5);
    CHECK(peak_of_preset("test-plate", "medium-rotary") > polish + 20);
    CHECK(peak_of_preset("bumper-corner", "small-head-detail") > polish);
}

} // namespace test_warm_runs
