// Fitting a liquid and pads to measured removal: what a trace promises, what is told apart, intervals, the
// file.
#include "decide/cut_fit.hpp"
#include "formats/measurements.hpp"
#include "run/run_job.hpp"
#include "study/fit.hpp"
#include "support/cut_fits.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <numeric>
#include <random>

namespace test_fit {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

constexpr const char* header = "force_n,rpm,arm_mm_s,passes,before_um,after_um,sd_um,n\n";

InputError refused(const std::string& text) {
    const ScratchFolder folder;
    write_text(folder.path / "m.csv", text);
    return refusal([&] { read_measurements(folder.path / "m.csv"); });
}

std::vector<Measurement> taken(const std::string& text) {
    const ScratchFolder folder;
    write_text(folder.path / "m.csv", text);
    return read_measurements(folder.path / "m.csv");
}

} // namespace

// ---- the model ------------------------------------------------------------------------------------

TEST_CASE("one fresh run gives the loss that a full run has at any cut and breakdown", "[fit]") {
    const Panel panel = plate(0.4, 0.3, 0.004);
    Setup setup = setup_of(orbital(), foam_pad());
    setup.pad.capacity_m = 2e-6; // loads, so that the loss is not linear in the cut
    setup.liquid.abrasive_start_m = 2.5e-6, setup.liquid.abrasive_end_m = 0.8e-6;
    setup.liquid.working_time_s = 6; // dries on the way
    ArmPath path = straight({{0.1, 0.15}, {0.3, 0.15}, 0.02});
    path.samples[30].recharge = true;
    std::vector<std::size_t> cells;
    for (std::size_t k = 0; k < panel.grid.cells(); ++k)
        if (norm(panel.grid.centre(k) - Point2{0.2, 0.15}) < 0.04) cells.push_back(k);
    const WorkTrace trace = trace_work(panel, setup, path, cells, 0, INFINITY);
    for (const auto& [cut, breakdown] : {std::pair{1.0, 20e3}, {3.0, 5e3}, {0.4, 0.0}}) {
        Setup full = setup;
        full.liquid.cut_per_size_pa_m *= cut, full.liquid.breakdown_j_m2 = breakdown;
        const RunResult result = simulate(panel, full, path);
        double mean_um = 0;
        for (const std::size_t k : cells)
            mean_um += static_cast<double>(result.fields.removed_um[k]) / static_cast<double>(cells.size());
        const WorkLoss loss = loss_of(trace, cut, breakdown);
        // The same steps; the cells are floats that add up a few hundred terms.
        CHECK(loss.film_um == Approx(mean_um).epsilon(2e-6));
        CHECK(loss.removed_m3 == Approx(result.totals.removed_by_work_m3).epsilon(2e-6));
    }
}

TEST_CASE("only what lies between the two measurements counts, on the charge that what came before has worn",
          "[fit]") {
    const Panel panel = plate(0.4, 0.3, 0.004);
    Setup setup = setup_of(orbital(), foam_pad());
    setup.liquid.abrasive_start_m = 2.5e-6, setup.liquid.abrasive_end_m = 0.8e-6;
    const ArmPath path = straight({{0.1, 0.15}, {0.3, 0.15}, 0.02});
    const std::vector<std::size_t> cells{cell_at(panel, {0.2, 0.15})};
    const auto loss = [&](double from_s, double to_s) {
        return loss_of(trace_work(panel, setup, path, cells, from_s, to_s), 1, 20e3).removed_m3;
    };
    CHECK(loss(0, 5) + loss(5, INFINITY) == Approx(loss(0, INFINITY)).epsilon(1e-12)); // rounding
    CHECK(loss(5, INFINITY) < 0.9 * loss(0, 5));
}

// ---- the fit --------------------------------------------------------------------------------------

TEST_CASE("from exact losses the fit gives back cut and breakdown", "[fit]") {
    for (const auto& [cut, breakdown] : {std::pair{1.0, 1.0}, {2.5, 0.3}, {0.2, 3.0}}) {
        const std::vector<WorkTrace> traces = a_series();
        const CutFit fit = fit_cut(traces, rows_of(traces, cut, breakdown, 0.01), preset_breakdown, {"pad"});
        REQUIRE(fit.converged);
        CHECK(parameter(fit, CutParameterKind::cut).value ==
              Approx(cut).epsilon(1e-6)); // where the solver stops
        CHECK(parameter(fit, CutParameterKind::breakdown).value == Approx(breakdown).epsilon(1e-6));
        CHECK(fit.chi_square < 1e-9);
    }
}

namespace {

/// How often intervals held the truth, of fits where breakdown was told.
struct HeldShare {
    double cut = 0, breakdown = 0, told = 0;
};
HeldShare held_in(int times, const std::vector<WorkTrace>& traces, double cut, double breakdown,
                  double sd_um) {
    Normals noise(20);
    HeldShare out;
    for (int n = 0; n < times; ++n) {
        // Two looks at each piece of work.
        std::vector<MeasuredLoss> rows = rows_of(traces, cut, breakdown, sd_um, &noise);
        for (const MeasuredLoss& row : rows_of(traces, cut, breakdown, sd_um, &noise)) rows.push_back(row);
        const CutFit fit = fit_cut(traces, rows, preset_breakdown, {"pad"});
        const CutParameter &c = parameter(fit, CutParameterKind::cut),
                           &b = parameter(fit, CutParameterKind::breakdown);
        if (!b.fitted()) continue;
        ++out.told;
        out.cut += c.low <= cut && cut <= c.high;
        out.breakdown += b.low <= breakdown && breakdown <= b.high;
    }
    return out;
}

} // namespace

TEST_CASE("nine intervals in ten hold the truth, of cut and of breakdown", "[fit]") {
    constexpr int times = 150;
    const HeldShare held = held_in(times, a_series(), 1.4, 0.6, 0.05);
    CHECK(held.told > 0.95 * times);
    // Student's t on a scale that is never under the stated one holds a little more than 90 %: 94 % for ten
    // degrees of freedom. The counts themselves scatter by 2 %.
    for (const double share : {held.cut / held.told, held.breakdown / held.told}) {
        CHECK(share > 0.87);
        CHECK(share < 0.99);
    }
}

TEST_CASE("they do where a grain that is worn at once fits nearly as well as one that wears slowly",
          "[fit]") {
    // Losses of three charges of different age, and an error of a tenth of them.
    constexpr int times = 80;
    const HeldShare held =
        held_in(times, {even_work(0, 200, 1), even_work(200, 200, 1), even_work(600, 200, 1)}, 1, 1, 0.05);
    CHECK(held.told > 0.25 * times); // the others say that they cannot tell it
    CHECK(held.cut > 0.85 * held.told);
    CHECK(held.breakdown > 0.85 * held.told);
}

TEST_CASE("of several minima the fit is the least, as by trying every breakdown", "[fit]") {
    // Without loading the loss is linear in the cut of each pad, whose best is sum(f y) / sum(f²) at any
    // breakdown.
    std::vector<WorkTrace> traces{even_work(0, 200, 1), even_work(200, 200, 1), even_work(600, 200, 1)};
    for (WorkTrace& trace : traces) trace.capacity_m = 0;
    const double sd_um = 0.03;
    Normals noise(5);
    for (int n = 0; n < 25; ++n) {
        // The second pad cuts less and was tried on fresh charges alone, which looks as if fresh charges cut
        // less.
        std::vector<MeasuredLoss> rows = rows_of(traces, 1, 1, sd_um, &noise, {1, 0.3});
        std::erase_if(rows, [](const MeasuredLoss& row) { return row.pad == 1 && row.trace != 0; });
        double least = INFINITY;
        for (double log = -5; log <= 5; log += 0.05) {
            double chi_square = 0;
            for (const std::size_t pad : {0u, 1u}) {
                double fy = 0, ff = 0, yy = 0;
                for (const MeasuredLoss& row : rows) {
                    if (row.pad != pad) continue;
                    const double fresh =
                        loss_of(traces[row.trace], 1, preset_breakdown * std::exp(log)).film_um;
                    fy += fresh * row.film_um, ff += fresh * fresh, yy += row.film_um * row.film_um;
                }
                chi_square += (yy - fy * fy / ff) / (sd_um * sd_um);
            }
            least = std::min(least, chi_square);
        }
        const CutFit fit = fit_cut(traces, rows, preset_breakdown, {"first", "second"});
        // Where breakdown is held the fit is no better than at the preset.
        if (parameter(fit, CutParameterKind::breakdown).fitted()) CHECK(fit.chi_square < least + 1e-6);
    }
}

TEST_CASE("with the cut alone the fit is the weighted mean of the ratios, with its textbook error", "[fit]") {
    // Without loading and breakdown loss = cut x fresh, so cut = sum(w f y) / sum(w f²), variance 1 / sum(w
    // f²), w = 1/sd².
    std::vector<WorkTrace> traces{even_work(0, 100, 2), even_work(0, 100, 5), even_work(0, 100, 9)};
    for (WorkTrace& trace : traces) trace.capacity_m = 0;
    const std::vector<MeasuredLoss> rows{{0, 0, 2.4, 0.2, 0}, {1, 0, 5.5, 0.5, 0}, {2, 0, 10.1, 0.3, 0}};
    double wfy = 0, wff = 0;
    const double fresh[] = {2, 5, 9};
    for (std::size_t k = 0; k < 3; ++k)
        wfy += fresh[k] * rows[k].film_um / std::pow(rows[k].sd_um, 2),
            wff += std::pow(fresh[k] / rows[k].sd_um, 2);
    const CutFit fit = fit_cut(traces, rows, 0, {"pad"});
    const double cut = wfy / wff;
    CHECK(fit.cut().value == Approx(cut).epsilon(1e-8)); // where the solver stops
    double chi_square = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        chi_square += std::pow((rows[k].film_um - cut * fresh[k]) / rows[k].sd_um, 2);
        CHECK(fit.leverage[k] == Approx(std::pow(fresh[k] / rows[k].sd_um, 2) / wff).epsilon(1e-6));
    }
    CHECK(fit.chi_square == Approx(chi_square).epsilon(1e-8));
    const double half = student_quantile(0.95, 2) * std::max(1.0, std::sqrt(chi_square / 2)) /
                        std::sqrt(wff) / cut; // of the logarithm
    CHECK(fit.cut().high == Approx(cut * std::exp(half)).epsilon(1e-6));
}

TEST_CASE("with one pad its factor is held, since cut and factor only appear as a product", "[fit]") {
    const std::vector<WorkTrace> traces = a_series();
    const CutFit fit = fit_cut(traces, rows_of(traces, 1.5, 1, 0.05), preset_breakdown, {"blue pad"});
    const CutParameter& pad = parameter(fit, CutParameterKind::pad_factor);
    CHECK_FALSE(pad.fitted());
    CHECK(pad.value == 1);
    CHECK_THAT(pad.held, Contains("cut and the pad factor of blue pad apart"));
}

TEST_CASE("a second pad's factor is told against the first, which is held", "[fit]") {
    const std::vector<WorkTrace> traces = a_series();
    const CutFit fit = fit_cut(traces, rows_of(traces, 1.2, 0.8, 0.05, nullptr, {1, 1.7}), preset_breakdown,
                               {"first", "second"});
    CHECK_FALSE(parameter(fit, CutParameterKind::pad_factor, 0).fitted());
    CHECK(parameter(fit, CutParameterKind::pad_factor, 1).value == Approx(1.7).epsilon(1e-6));
    CHECK(parameter(fit, CutParameterKind::cut).value == Approx(1.2).epsilon(1e-6));
}

TEST_CASE("work that is always the same cannot tell breakdown from cut, and breakdown is held", "[fit]") {
    const std::vector<WorkTrace> traces{even_work(0, 200, 3)};
    std::vector<MeasuredLoss> rows;
    for (const double film_um : {2.9, 3.1, 3.0}) rows.push_back({0, 0, film_um, 0.1, 0});
    const CutFit fit = fit_cut(traces, rows, preset_breakdown, {"pad"});
    CHECK_THAT(parameter(fit, CutParameterKind::breakdown).held,
               Contains("cannot tell cut and breakdown apart"));
    CHECK(fit.degrees == 2);
    CHECK(loss_of(traces[0], fit.cut().value, preset_breakdown).film_um == Approx(3).epsilon(1e-6));
}

TEST_CASE("breakdown that the rows hardly tell is held and not guessed", "[fit]") {
    const std::vector<WorkTrace> traces{even_work(0, 200, 3), even_work(20, 200, 3)};
    const CutFit fit = fit_cut(traces, rows_of(traces, 1, 1, 0.3), preset_breakdown, {"pad"});
    CHECK_THAT(parameter(fit, CutParameterKind::breakdown).held, Contains("hardly tell"));
}

TEST_CASE("one measurement gives the cut, with the interval of its repeatability and the normal law",
          "[fit]") {
    std::vector<WorkTrace> traces{even_work(0, 200, 4)};
    traces[0].capacity_m = 0;
    const CutFit fit = fit_cut(traces, std::vector<MeasuredLoss>{{0, 0, 6, 0.3, 0}}, 0, {"pad"});
    CHECK(fit.degrees == 0);
    CHECK(fit.cut().value == Approx(1.5).epsilon(1e-8));
    CHECK(fit.cut().high ==
          Approx(1.5 * std::exp(1.6448536 * 0.3 / 6)).epsilon(1e-6)); // 95 % of the normal law
    CHECK(fit.leverage[0] == Approx(1));
}

TEST_CASE("a slip stands out and stays in the fit; rows that scatter too much widen the intervals", "[fit]") {
    const std::vector<WorkTrace> traces = a_series();
    Normals noise(3);
    std::vector<MeasuredLoss> rows = rows_of(traces, 1, 1, 0.05, &noise);
    for (const MeasuredLoss& row : rows_of(traces, 1, 1, 0.05, &noise)) rows.push_back(row);
    const CutFit before = fit_cut(traces, rows, preset_breakdown, {"pad"});
    CHECK(std::count(before.outlier.begin(), before.outlier.end(), true) == 0);
    rows[4].film_um += 0.6; // 12 standard deviations
    const CutFit after = fit_cut(traces, rows, preset_breakdown, {"pad"});
    CHECK(after.outlier[4]);
    CHECK(std::count(after.outlier.begin(), after.outlier.end(), true) == 1);
    CHECK(after.chance < 1e-6);
    CHECK(after.scale > 2);
    CHECK(after.cut().high / after.cut().low > before.cut().high / before.cut().low);
    CHECK(after.cut().value != before.cut().value);
}

TEST_CASE("a weighed plate counts by its whole volume", "[fit]") {
    const std::vector<WorkTrace> traces{even_work(0, 200, 3)};
    const double removed_m3 = loss_of(traces[0], 1.25, 0).removed_m3;
    const CutFit fit =
        fit_cut(traces, std::vector<MeasuredLoss>{{0, 0, removed_m3 / 0.16 * 1e6, 0.01, 0.16}}, 0, {"pad"});
    CHECK(fit.cut().value == Approx(1.25).epsilon(1e-6));
}

TEST_CASE("rows that show no loss are refused", "[fit]") {
    const std::vector<WorkTrace> traces{even_work(0, 200, 3)};
    CHECK_THAT(refusal([&] {
                   fit_cut(traces, std::vector<MeasuredLoss>{{0, 0, -0.1, 1, 0}}, 0, {"pad"});
               }).found(),
               Contains("no film lost"));
    CHECK_THAT(refusal([&] { fit_cut(traces, {}, 0, {"pad"}); }).found(), Contains("no measurement"));
}

// ---- the file -------------------------------------------------------------------------------------

TEST_CASE("a gauge's means and a balance's masses become a loss with the error of both readings", "[fit]") {
    const Measurement gauge = taken(std::string(header) + "45,4500,40,4,112.5,110.0,0.8,16\n").front();
    CHECK(gauge.loss_um() == Approx(2.5));
    CHECK(gauge.loss_sd_um() == Approx(0.8 * std::sqrt(2.0 / 16)));
    const Measurement plate = taken("force_n,rpm,arm_mm_s,seconds,before_g,after_g,sd_g,density_kg_m3,area_"
                                    "cm2\n45,4500,40,60,812.40,812.16,0.01,1200,1000\n")
                                  .front();
    CHECK(plate.loss_um() == Approx(0.24e-3 / (1200 * 0.1) * 1e6)); // m / (rho A): 2 µm
    CHECK(plate.loss_sd_um() == Approx(std::sqrt(2.0) * 0.01e-3 / (1200 * 0.1) * 1e6));
}

TEST_CASE("mil, semicolons and decimal commas are read", "[fit]") {
    const Measurement mil =
        taken("force_n,rpm,arm_mm_s,passes,before_mil,after_mil,sd_mil\n45,4500,40,4,4.5,4.4,0.04\n").front();
    CHECK(mil.loss_um() == Approx(2.54));
    CHECK(mil.loss_sd_um() == Approx(0.04 * 25.4 * std::sqrt(2.0)));
    const Measurement comma =
        taken("force_n;rpm;arm_mm_s;passes;before_um;after_um;sd_um\n45;4500;40;4;112,5;110,0;0,8\n").front();
    CHECK(comma.loss_um() == Approx(2.5));
}

TEST_CASE("odd measurements are refused in words, by their line", "[fit]") {
    const std::string head = header;
    CHECK_THAT(refused("").found(), Contains("no line of text"));
    CHECK_THAT(refused(head).found(), Contains("no measurement"));
    CHECK_THAT(refused("rpm,arm_mm_s,passes,before_um,after_um,sd_um\n").found(),
               Contains("no column \"force_n\""));
    CHECK_THAT(refused("force_n,rpm,arm_mm_s,before_um,after_um,sd_um\n").found(),
               Contains("neither \"passes\" nor \"seconds\""));
    CHECK_THAT(refused("force_n,rpm,arm_mm_s,passes,before (um),after_um,sd_um\n").allowed(),
               Contains("before_um"));
    CHECK_THAT(refused("force,rpm,arm_mm_s,passes,before_um,after_um,sd_um\n").allowed(),
               Contains("force_n"));
    CHECK_THAT(refused("force_n,rpm,arm_mm_s,passes,before_um,before_mil,after_um,sd_um\n").found(),
               Contains("both before_um and before_mil"));
    const InputError unit = refused(head + "45 N,4500,40,4,112,110,1,5\n");
    CHECK(unit.place() == "line 2");
    CHECK_THAT(unit.allowed(), Contains("a number without a unit"));
    CHECK_THAT(refused(head + "45,4500,40,4,112,5,110,0,1,5\n").allowed(), Contains("decimal commas"));
    const InputError grown = refused(head + "45,4500,40,4,112,110,1,5\n45,4500,40,4,110,115,1,5\n");
    CHECK(grown.place() == "line 3");
    CHECK_THAT(grown.found(), Contains("grown by 5.00 µm"));
    CHECK_THAT(refused(head + "45,4500,40,4,112,,1,5\n").found(), Contains("no after_um"));
    CHECK_THAT(refused(head + "45,4500,40,,112,110,1,5\n").found(), Contains("neither passes nor seconds"));
    CHECK_THAT(refused(head + "45,45,40,4,112,110,1,5\n").allowed(), Contains("100 to 20000"));
    CHECK_THAT(refused("force_n,rpm,arm_mm_s,passes,before_um,after_um,sd_um,before_g,after_g\n45,4500,40,4,"
                       "112,110,1,800,799\n")
                   .found(),
               Contains("film and mass in one row"));
}

TEST_CASE("film that has grown by less than its error is noise, and stays", "[fit]") {
    CHECK(taken(std::string(header) + "45,4500,40,4,112.0,112.5,1,5\n").front().loss_um() == Approx(-0.5));
}

// ---- the whole ------------------------------------------------------------------------------------

namespace {

/// Rows worked as told, with what a full simulation at another cut and breakdown loses there.
std::string simulated_rows(const Library& library, double cut, double breakdown) {
    std::string text = "force_n,rpm,arm_mm_s,passes,sets_since_fresh,section_mm,before_um,after_um,sd_um,n\n";
    for (const int sets_before : {0, 1, 3})
        for (const double force_n : {30.0, 60.0}) {
            Technique technique;
            technique.machine = "da-15", technique.pad = "medium-foam-150", technique.liquid = "polish";
            technique.force_n = force_n, technique.speed_rad_s = 4500 * per_min,
            technique.arm_speed_m_s = 0.06;
            technique.section_centre = Point2{0.3, 0.25}, technique.section_size = {0.3, 0.3};
            const auto loss_um = [&](int sets) {
                if (sets == 0) return 0.0;
                technique.passes = 2 * sets;
                RunRequest request;
                request.panel = "test-plate", request.grid_m = 0.004;
                RunJob job = prepare(library, request, technique, nullptr, {0.02, 0.5});
                job.step.liquid.cut_per_size_pa_m *= cut, job.step.liquid.breakdown_j_m2 *= breakdown;
                const RunResult result = simulate(job.panel, setup_of(job), job.path);
                double sum = 0, count = 0;
                for (std::size_t k = 0; k < job.panel.grid.cells(); ++k) {
                    const Point2 p = job.panel.grid.centre(k) - *technique.section_centre;
                    if (std::max(std::abs(p.x), std::abs(p.y)) <= 0.075)
                        sum += static_cast<double>(result.fields.removed_um[k]), ++count;
                }
                return sum / count;
            };
            const double lost = loss_um(sets_before + 1) - loss_um(sets_before);
            text += fmt::format("{},4500,60,2,{},300,120,{:.6f},0.05,10\n", force_n, sets_before, 120 - lost);
        }
    return text;
}

} // namespace

TEST_CASE("measurements that a full simulation made give its liquid back, as a preset that is read",
          "[fit]") {
    const ScratchFolder folder;
    const Library library = Library::standard();
    write_text(folder.path / "m.csv", simulated_rows(library, 1.6, 0.5));
    FitRequest request;
    request.measurements = folder.path / "m.csv", request.liquid = "polish", request.pad = "medium-foam-150",
    request.machine = "da-15";
    request.day = "2026-03-14";
    const FitReport report = fit_measurements(library, request, 1);
    REQUIRE(report.presets.size() == 1);
    const nlohmann::json& document = report.presets.front().document;
    const Liquid fitted = read_liquid(document, "fitted.json"), preset = library.liquid("polish");
    // The file has losses to the millionth; the ground of the square is the same cells.
    CHECK(fitted.cut_per_size_pa_m == Approx(1.6 * preset.cut_per_size_pa_m).epsilon(1e-3));
    CHECK(fitted.breakdown_j_m2 == Approx(0.5 * preset.breakdown_j_m2).epsilon(1e-3));
    CHECK(fitted.abrasive_end_m == preset.abrasive_end_m);
    const nlohmann::json& provenance = document.at("provenance");
    CHECK(provenance.at("measurements") == "m.csv");
    CHECK(provenance.at("sha256").get<std::string>().size() == 64);
    CHECK(provenance.at("day") == "2026-03-14");
    CHECK(provenance.at("rows") == 6);
    CHECK(provenance.at("fitted").size() == 2);
    CHECK(provenance.at("fitted")[0].at("low").get<double>() < fitted.cut_per_size_pa_m);
    CHECK(fit_json(fit_measurements(library, request, 2)) ==
          fit_json(report)); // two threads, the same answer
}

TEST_CASE("the page's measurements hold what they were made from, and do not tell the breakdown", "[fit]") {
    // Made from 1.388 times the polish's cut, its own breakdown and 1.489 times the firm foam's factor, with
    // noise of the stated repeatability (seed 11). A grain that breaks down to a half hardly shows in rows as
    // long as these.
    FitRequest request;
    request.measurements = source_at("docs/fit/measurements.csv"), request.liquid = "polish",
    request.pad = "medium-foam-150";
    request.machine = "da-15";
    const CutFit fit = fit_measurements(Library::standard(), request, 1).fit;
    CHECK(fit.chance > 0.1);
    const auto holds = [](const CutParameter& p, double truth) {
        return p.fitted() && p.low < truth && truth < p.high;
    };
    CHECK(holds(fit.cut(), 1.388));
    CHECK_FALSE(parameter(fit, CutParameterKind::breakdown).fitted());
    CHECK(holds(parameter(fit, CutParameterKind::pad_factor, 1), 1.489));
}

TEST_CASE("what a person should know of a fit is said", "[fit]") {
    const ScratchFolder folder;
    const Library library = Library::standard();
    FitRequest request;
    request.measurements = folder.path / "m.csv", request.liquid = "polish", request.pad = "medium-foam-150",
    request.machine = "da-15";
    const auto notes = [&](const std::string& text) {
        write_text(request.measurements, text);
        const FitReport report = fit_measurements(library, request, 1);
        return std::accumulate(report.notes.begin(), report.notes.end(), std::string());
    };
    CHECK_THAT(notes(std::string(header) + "45,4500,60,1,112,111.8,1,5\n"),
               Contains("Line 2: less film than the gauge tells from none") && Contains("Weighing") &&
                   Contains("nothing checks the fit"));
    CHECK_THAT(notes("force_n,rpm,arm_mm_s,passes,before_g,after_g,sd_g,density_kg_m3,area_cm2\n45,4500,60,1,"
                     "800,799.9,0.005,1200,400\n"),
               Contains("area_cm2 is not that of a square"));
}

TEST_CASE("a row whose work cannot be done is refused by its line", "[fit]") {
    const ScratchFolder folder;
    FitRequest request;
    request.measurements = folder.path / "m.csv", request.liquid = "polish", request.pad = "medium-foam-150",
    request.machine = "da-15";
    write_text(request.measurements,
               std::string(header) + "45,4500,60,1,112,111,1,5\n45,9000,60,1,112,111,1,5\n");
    const InputError error = refusal([&] { fit_measurements(Library::standard(), request, 1); });
    CHECK_THAT(error.place(), Contains("line 3"));
    CHECK(error.file() == request.measurements.string());
}

TEST_CASE("work by time on a used charge is what comes after the sets before", "[fit]") {
    const ScratchFolder folder;
    write_text(
        folder.path / "m.csv",
        "force_n,rpm,arm_mm_s,seconds,sets_since_fresh,before_um,after_um,sd_um,n\n"
        "45,4500,60,120,0,112,110,1,30\n45,4500,60,60,0,112,110.8,1,30\n45,4500,60,60,1,112,111.2,1,30\n");
    FitRequest request;
    request.measurements = folder.path / "m.csv", request.liquid = "polish", request.pad = "medium-foam-150",
    request.machine = "da-15";
    const FitReport report = fit_measurements(Library::standard(), request, 1);
    const std::vector<double>& film = report.fit.model_um;
    CHECK(film[1] + film[2] == Approx(film[0]).epsilon(0.02)); // but for the step in which the minute ends
    CHECK(film[2] < 0.95 * film[1]);                           // the charge is worn
    CHECK(report.work_j_m2[2] >
          2.5 * report.work_j_m2[1]); // three quarters through the two minutes, not a quarter
}

TEST_CASE("rows that scatter more than they may are said to", "[fit]") {
    const ScratchFolder folder;
    std::string text = "force_n,rpm,arm_mm_s,passes,before_um,after_um,sd_um,n\n";
    for (const char* after : {"109", "111", "108.5", "111.2"})
        text += std::string("45,4500,60,2,112,") + after + ",1,30\n";
    write_text(folder.path / "m.csv", text);
    FitRequest request;
    request.measurements = folder.path / "m.csv", request.liquid = "polish", request.pad = "medium-foam-150",
    request.machine = "da-15";
    const FitReport report = fit_measurements(Library::standard(), request, 1);
    CHECK(report.fit.chance < 0.01);
    CHECK_THAT(std::accumulate(report.notes.begin(), report.notes.end(), std::string()),
               Contains("scatter more than their repeatability explains"));
}

TEST_CASE("a row that decides a pad's factor alone is said to", "[fit]") {
    const ScratchFolder folder;
    write_text(folder.path / "m.csv",
               "pad,force_n,rpm,arm_mm_s,passes,before_um,after_um,sd_um,n\n"
               ",45,4500,60,2,112,110.9,1,30\n,45,4500,60,2,112,111,1,30\n,45,4500,60,2,112,110.95,1,30\n"
               "firm-foam-150,45,4500,60,2,112,110.5,1,30\n");
    FitRequest request;
    request.measurements = folder.path / "m.csv", request.liquid = "polish", request.pad = "medium-foam-150",
    request.machine = "da-15";
    const FitReport report = fit_measurements(Library::standard(), request, 1);
    CHECK_THAT(std::accumulate(report.notes.begin(), report.notes.end(), std::string()),
               Contains("Line 5 decides a value almost alone"));
}

TEST_CASE("where rows scatter more than is stated, intervals are those of their scatter, breakdown's too",
          "[fit]") {
    const std::vector<WorkTrace> traces = a_series();
    Normals noise(3);
    std::vector<MeasuredLoss> rows = rows_of(traces, 1, 1, 0.05, &noise);
    for (const MeasuredLoss& row : rows_of(traces, 1, 1, 0.05, &noise)) rows.push_back(row);
    const auto fitted = [&](double sd_um) {
        for (MeasuredLoss& row : rows) row.sd_um = sd_um;
        return fit_cut(traces, rows, preset_breakdown, {"pad"});
    };
    const CutFit one = fitted(0.01), other = fitted(0.005);
    REQUIRE(one.scale > 1.5);
    CHECK(other.scale == Approx(2 * one.scale).epsilon(1e-6));
    for (const CutParameterKind kind : {CutParameterKind::cut, CutParameterKind::breakdown}) {
        const CutParameter &a = parameter(one, kind), &b = parameter(other, kind);
        REQUIRE(a.fitted());
        CHECK(b.low == Approx(a.low).epsilon(1e-3)); // as fine as the profile's steps leave it
        CHECK(b.high == Approx(a.high).epsilon(1e-3));
    }
}

} // namespace test_fit
