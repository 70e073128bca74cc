// A panel that is wet: what evaporates, and what that does to its warmth. Sources:
//  - Chilton and Colburn, Ind. Eng. Chem. 26, 1183 (1934): mass transfer from heat transfer;
//  - Alduchov and Eskridge, J. Appl. Meteorol. 35, 601 (1996): Magnus's formula; steam tables (Incropera and
//  DeWitt,
//    Fundamentals of Heat and Mass Transfer, table A.6);
//  - the psychrometer: a wet body without radiation settles at the wet-bulb temperature, 13.8 °C in air of 20
//  °C and 50 %
//    (ASHRAE Handbook, Fundamentals, psychrometric chart at sea level);
//  - Crank and Nicolson, Proc. Camb. Phil. Soc. 43, 50 (1947), in reference/wet_panel.py.
#include "sim/evaporation.hpp"
#include "sim/heat.hpp"
#include "support/nonempty.hpp"
#include "support/reference_solution.hpp"
#include "support/worlds.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

namespace test_wet_panel {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

/// An evenly wet panel, small: nothing flows in its plane.
PanelHeat wetted(const Panel& panel, const Surroundings& air, double water_kg_m2) {
    PanelHeat heat(panel, air);
    for (std::size_t k = 0; k < panel.inside.size(); ++k)
        if (panel.inside[k]) heat.wet(k, water_kg_m2);
    return heat;
}

void warm_evenly(PanelHeat& heat, const Panel& panel, double flux_w_m2, double seconds) {
    for (double t = 0; t < seconds - 1e-9; t += 0.2) {
        if (flux_w_m2 > 0)
            for (std::size_t k = 0; k < panel.inside.size(); ++k)
                if (panel.inside[k]) heat.warm(k, flux_w_m2 * 0.2);
        heat.pass(0.2);
    }
}

Panel small(const Substrate& substrate) {
    return panel_of(rectangle(0.04, 0.04), 0.004, even_film(), substrate);
}

} // namespace

TEST_CASE("saturated vapour is as dense as steam tables have it") {
    // kg/m³, from their specific volumes; Magnus's formula and the ideal gas law are within 0.5 % up to 80
    // °C.
    CHECK(saturated_vapour_kg_m3(20) == Approx(0.01729).epsilon(0.005));
    CHECK(saturated_vapour_kg_m3(60) == Approx(0.1302).epsilon(0.005));
    CHECK(saturated_vapour_kg_m3(80) == Approx(0.2934).epsilon(0.01));
}

TEST_CASE("air that moves takes heat off a plate as the boundary layer has it") {
    // 300 K, 2 m/s along 0.5 m: Re = 6.29e4, Nu = 0.664 Re^(1/2) Pr^(1/3) = 148.4, h = 7.8 W/(m² K).
    CHECK(forced_convection_w_m2k(2, 0.5) == Approx(7.81).epsilon(0.005));
    CHECK(forced_convection_w_m2k(0, 0.5) == 0);
    CHECK(mixed_convection_w_m2k(4.5, 0) == Approx(4.5));
    CHECK(mixed_convection_w_m2k(4.5, 7.81) == Approx(8.28).epsilon(0.005));
}

TEST_CASE("a wet panel that neither radiates nor is heated settles at the wet-bulb temperature") {
    // The chart's is that of adiabatic saturation. A wet surface with Le = 0.86 stands a little lower, 13.5
    // °C: Le^(2/3) scales the psychrometer's 6.6e-4 /K by 0.9. 0.5 K is asked.
    const Panel panel = small(steel());
    Surroundings air;
    air.top_w_m2k = 4.5, air.radiation_w_m2k = 0, air.bottom_w_m2k = 0;
    PanelHeat heat = wetted(panel, air, 10);
    warm_evenly(heat, panel, 0, 3600);
    const double wet_bulb = heat.sheet_c(cell_at(panel, {0.02, 0.02}));
    CHECK(wet_bulb == Approx(13.8).margin(0.5));
    // Damp air takes less up: at 100 % it takes nothing.
    air.humidity = 1;
    PanelHeat damp = wetted(panel, air, 10);
    warm_evenly(damp, panel, 0, 600);
    CHECK(damp.sheet_c(cell_at(panel, {0.02, 0.02})) == Approx(20).margin(1e-3));
}

TEST_CASE("a heated wet panel warms and dries as an independent solution has it") {
    const auto reference = reference_solution("wet_panel.py");
    // Steel is one node in either. Eight graded nodes of plastic are up to 1.5 % off sixty even ones, as on
    // dry plastic.
    struct Case {
        const char* name;
        Substrate substrate;
        double flux_w_m2, water_kg_m2, tolerance;
    };
    for (const Case& c :
         {Case{"steel", steel(), 1500, 0.04, 0.005}, Case{"plastic", plastic(), 800, 0.03, 0.02}}) {
        const Panel panel = small(c.substrate);
        Surroundings air;
        PanelHeat heat = wetted(panel, air, c.water_kg_m2);
        const std::size_t cell = cell_at(panel, {0.02, 0.02});
        double t = 0;
        for (const auto& at : nonempty(reference.at(c.name))) {
            const double until = at.at("time_s");
            warm_evenly(heat, panel, c.flux_w_m2, until - t), t = until;
            CAPTURE(c.name, t);
            CHECK(heat.sheet_c(cell) - air.air_c ==
                  Approx(at.at("rise_k").get<double>()).epsilon(c.tolerance));
            CHECK(c.water_kg_m2 - heat.water_kg_m2(cell) ==
                  Approx(c.water_kg_m2 - at.at("water_kg_m2").get<double>()).epsilon(3 * c.tolerance));
        }
    }
}

TEST_CASE("wet ground gets no hotter than water boils, dry ground does") {
    for (const Substrate& substrate : {steel(), plastic()}) {
        const Panel panel = small(substrate);
        PanelHeat heat = wetted(panel, Surroundings{}, 0.05);
        const std::size_t cell = cell_at(panel, {0.02, 0.02});
        double hottest_wet = 0;
        for (int k = 0; k < 200; ++k) {
            warm_evenly(heat, panel, 20000, 0.2);
            if (heat.water_kg_m2(cell) > 0) hottest_wet = std::max(hottest_wet, heat.sheet_c(cell));
        }
        CAPTURE(substrate.name);
        CHECK(hottest_wet > 80);
        CHECK(hottest_wet <= boiling_c + 1e-3);
        CHECK(heat.sheet_c(cell) > 120);
    }
}

TEST_CASE("every joule and every gram of a wet run is accounted for") {
    for (const Substrate& substrate : {steel(), plastic()}) {
        const Panel panel = panel_of(rectangle(0.4, 0.3), 0.004, even_film(), substrate);
        Setup setup = setup_of(orbital(), foam_pad(), 30);
        setup.liquid.water_kg_m2 = 3e-3 / (pi * 0.075 * 0.075);
        ArmPath path = straight({{0.1, 0.15}, {0.3, 0.15}, 0.01});
        path.samples[path.samples.size() / 2].recharge = true;
        const RunResult run = simulate(panel, setup, path);
        const PanelHeat::Energy e = run.heat->energy();
        CAPTURE(substrate.name, e.made_j, e.lost_j, e.stored_j, e.evaporated_j, e.into_pad_j);
        CHECK(e.made_j == Approx(run.totals.friction_work_j).epsilon(1e-5));
        CHECK(e.lost_j + e.stored_j + e.evaporated_j + e.into_pad_j == Approx(e.made_j).epsilon(1e-5));
        const PanelHeat::Water w = run.heat->water();
        CHECK(w.charged_kg > 3.001e-3); // and what the second charge filled up
        CHECK(w.charged_kg <= 6.001e-3);
        CHECK(w.in_pad_kg + w.on_panel_kg + w.evaporated_kg == Approx(w.charged_kg).epsilon(1e-5));
        CHECK(w.evaporated_kg > 0.01 * w.charged_kg);
        CHECK(e.into_pad_j > 0.005 * e.made_j);
        // Dry, the same work leaves the panel hotter.
        setup.liquid.water_kg_m2 = 0;
        CHECK(simulate(panel, setup, path).heat->peak().film_c > run.heat->peak().film_c + 1);
    }
}

} // namespace test_wet_panel
