// Spectra of a removal map, their peaks and names, and the overlap that evens best.
#include "decide/stats/spectrum.hpp"
#include "picture/evenness_folder.hpp"
#include "study/evenness.hpp"
#include "support/files.hpp"
#include "support/refusal.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numeric>

namespace test_evenness {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

Grid grid_of(int nu, int nv, double h_m = 0.002) {
    Grid grid;
    grid.nu = nu, grid.nv = nv, grid.h_m = h_m;
    return grid;
}

/// mean + amplitude cos(2 pi at / wavelength) over one of the axes, mm.
std::vector<float> waves(const Grid& grid, Along along, double wavelength_mm, double amplitude_um) {
    std::vector<float> field(grid.cells());
    for (std::size_t k = 0; k < field.size(); ++k) {
        const Point2 p = grid.centre(k);
        field[k] = static_cast<float>(
            2 + amplitude_um * std::cos(2 * pi * (along == Along::u ? p.x : p.y) * 1000 / wavelength_mm));
    }
    return field;
}

CellRect all_of(const Grid& grid) { return {0, 0, grid.nu - 1, grid.nv - 1}; }

/// Polish at a speed and overlap on a plate, one pass along u.
Technique one_pass(double overlap) {
    Technique technique;
    technique.name = "one pass", technique.machine = "da-15", technique.pad = "medium-foam-150",
    technique.liquid = "polish";
    technique.force_n = 45, technique.speed_rad_s = 4500 * per_min, technique.arm_speed_m_s = 0.1;
    technique.overlap = overlap, technique.passes = 1;
    return technique;
}

constexpr const char* quick_technique =
    R"({"kind": "technique", "name": "Quick", "machine": "da-15", "pad": "medium-foam-150",
    "liquid": "polish", "force": "45 N", "speed": "2000/min", "arm_speed": "200 mm/s", "passes": 1,
        "overlap": "30 %"})";

} // namespace

TEST_CASE("a sine is a peak at its wavelength with half its amplitude squared, across the other way nothing",
          "[evenness]") {
    const Grid grid = grid_of(160, 120);
    for (const double wavelength_mm : {40.0, 37.3, 75.0}) { // whole numbers of waves, and not
        const std::vector<float> field = waves(grid, Along::v, wavelength_mm, 0.3);
        const std::vector<SpectrumPeak> peaks =
            peaks_of(evenness_spectrum(grid, field, all_of(grid), Along::v));
        REQUIRE(peaks.size() == 1);
        // Between bins the parabola is off by under a twentieth of one, here 1/240 mm: 1.6 % at 75 mm. The
        // five bins of a Hann line hold over 99 % of it, and what the straight trend takes from three waves
        // is a few per cent more.
        CHECK(peaks[0].wavelength_mm == Approx(wavelength_mm).epsilon(0.02));
        CHECK(peaks[0].power_um2 == Approx(0.3 * 0.3 / 2).epsilon(0.08));
        CHECK(peaks[0].share > 0.98);
        CHECK(evenness_spectrum(grid, field, all_of(grid), Along::u).variance_um2() <
              1e-12); // float rounding
    }
    // Right between two bins and of many waves: the five bins have all but 0.1 % of it, three would lack 2 %.
    const std::vector<float> between = waves(grid, Along::v, 240 / 20.5, 0.3);
    CHECK(peaks_of(evenness_spectrum(grid, between, all_of(grid), Along::v)).at(0).power_um2 ==
          Approx(0.3 * 0.3 / 2).epsilon(0.01));
}

TEST_CASE("the power adds up to the variance that the windowed lines have", "[evenness]") {
    std::vector<double> line(101);
    for (std::size_t k = 0; k < line.size(); ++k)
        line[k] = std::sin(0.37 * static_cast<double>(k * k)); // of all wavelengths
    const Spectrum plain = periodogram(line, 1.5, Taper::none);
    // Without a window: the variance about the straight trend, by hand.
    const double n = 101, middle = 50;
    double mean = 0, slope = 0, squares = 0, variance = 0;
    for (const double v : line) mean += v / n;
    for (std::size_t k = 0; k < line.size(); ++k) {
        const double x = static_cast<double>(k) - middle;
        slope += x * line[k], squares += x * x;
    }
    std::vector<double> residual;
    for (std::size_t k = 0; k < line.size(); ++k)
        residual.push_back(line[k] - mean - slope / squares * (static_cast<double>(k) - middle));
    for (const double r : residual) variance += r * r / n;
    CHECK(plain.variance_um2() == Approx(variance).epsilon(1e-12)); // Parseval, but for rounding
    double top = 0, bottom = 0;
    for (std::size_t k = 0; k < line.size(); ++k) {
        const double w = 0.5 - 0.5 * std::cos(2 * pi * static_cast<double>(k) / n);
        top += w * w * residual[k] * residual[k], bottom += w * w;
    }
    CHECK(periodogram(line, 1.5).variance_um2() == Approx(top / bottom).epsilon(1e-12));
}

TEST_CASE("a trend is no wave", "[evenness]") {
    const Grid grid = grid_of(100, 20);
    std::vector<float> field(grid.cells());
    for (std::size_t k = 0; k < field.size(); ++k) field[k] = static_cast<float>(1 + 3 * grid.centre(k).x);
    CHECK(evenness_spectrum(grid, field, all_of(grid), Along::u).variance_um2() < 1e-12); // float rounding
}

TEST_CASE("peaks are named after what in the work has that spacing, or a half of it", "[evenness]") {
    const Grid grid = grid_of(160, 20);
    const KnownSpacing known[] = {{"something else", 21}, {"the line spacing", 80}};
    CHECK(peaks_of(evenness_spectrum(grid, waves(grid, Along::u, 80, 1), all_of(grid), Along::u), known)
              .at(0)
              .words == "the line spacing");
    CHECK(peaks_of(evenness_spectrum(grid, waves(grid, Along::u, 40, 1), all_of(grid), Along::u), known)
              .at(0)
              .words == "half of the line spacing");
    CHECK(peaks_of(evenness_spectrum(grid, waves(grid, Along::u, 12, 1), all_of(grid), Along::u), known)
              .at(0)
              .words.empty());
}

TEST_CASE("the largest rectangle of marked cells is found, as by trying all", "[evenness]") {
    const Grid grid = grid_of(13, 11);
    for (unsigned seed = 1; seed < 30; ++seed) {
        std::vector<std::uint8_t> marked(grid.cells());
        unsigned state = seed;
        for (auto& m : marked)
            state = state * 1664525u + 1013904223u, m = (state >> 24) % 5 != 0; // four in five
        const auto full = [&](const CellRect& r) {
            for (int j = r.j0; j <= r.j1; ++j)
                for (int i = r.i0; i <= r.i1; ++i)
                    if (!marked[grid.index(i, j)]) return false;
            return true;
        };
        int most = 0;
        for (int j0 = 0; j0 < grid.nv; ++j0)
            for (int j1 = j0; j1 < grid.nv; ++j1)
                for (int i0 = 0; i0 < grid.nu; ++i0)
                    for (int i1 = i0; i1 < grid.nu; ++i1)
                        if (full({i0, j0, i1, j1})) most = std::max(most, (i1 - i0 + 1) * (j1 - j0 + 1));
        const CellRect best = largest_rectangle(grid, marked);
        CHECK(full(best));
        CHECK(best.columns() * best.rows() == most);
    }
    CHECK(largest_rectangle(grid, std::vector<std::uint8_t>(grid.cells(), 0)).columns() == 0);
}

TEST_CASE("a run's lines show across them at the spacing that they were laid at", "[evenness]") {
    const Panel panel = plate(0.9, 0.9, 0.004);
    Technique technique = one_pass(0.2);
    technique.section_centre = Point2{0.45, 0.45}, technique.section_size = {0.9, 0.9};
    const ArmPath path = lay_path(technique, 0.075, panel, 1);
    const LineSpacings lines = line_spacings(path);
    CHECK(lines.across_u_lines_mm ==
          Approx(750.0 / 7)); // the centre has 900 - 150 mm, for 0.8 x 150 mm at the most
    CHECK(lines.across_v_lines_mm == 0);
    Setup setup = setup_of(orbital(), foam_pad());
    const RunResult result = simulate(panel, setup, path);
    const CellRect ground{30, 30, 195, 195};
    const KnownSpacing known[] = {{"the line spacing", lines.across_u_lines_mm}};
    const std::vector<SpectrumPeak> across =
        peaks_of(evenness_spectrum(panel.grid, result.fields.removed_um, ground, Along::v), known);
    REQUIRE_FALSE(across.empty());
    CHECK(across[0].words == "the line spacing");
    const double along =
        evenness_spectrum(panel.grid, result.fields.removed_um, ground, Along::u).variance_um2();
    CHECK(along < 0.2 * across[0].power_um2);
}

TEST_CASE("crossed passes have lines both ways", "[evenness]") {
    const Panel panel = plate(0.5, 0.4, 0.004);
    Technique technique = one_pass(0.5);
    technique.passes = 2;
    const LineSpacings lines = line_spacings(lay_path(technique, 0.075, panel, 1));
    CHECK(lines.across_u_lines_mm == Approx(62.5)); // (400 - 150) / 4, for 75 mm at the most
    CHECK(lines.across_v_lines_mm == Approx(70));   // (500 - 150) / 5
}

TEST_CASE(
    "the scan names the overlap with the least deviation, and single orbits show at the arm's way in a turn",
    "[evenness]") {
    const ScratchFolder folder;
    write_text(folder.path / "quick.json", quick_technique);
    EvennessRequest request;
    request.run.panel = "test-plate", request.run.technique = (folder.path / "quick.json").string(),
    request.run.grid_m = 0.004;
    request.overlap_from = 0.2, request.overlap_to = 0.7, request.overlap_step = 0.25;
    const EvennessReport report = assess_evenness(Library::standard(), request, 1);
    REQUIRE(report.trials.size() == 3);
    for (const OverlapTrial& trial : report.trials)
        CHECK(trial.deviation >= report.trials[report.best].deviation);
    // Closer lines take longer and take more off.
    CHECK(report.trials[2].time_s > report.trials[0].time_s);
    CHECK(report.trials[2].film_um > 1.5 * report.trials[0].film_um);
    CHECK(report.trials[2].spacing_mm < report.trials[0].spacing_mm);
    REQUIRE(report.marks);
    CHECK(report.marks->advance_mm == Approx(200 * 60 / 2000.0));
    REQUIRE_FALSE(report.marks->direction.peaks.empty());
    CHECK(report.marks->direction.peaks[0].wavelength_mm == Approx(6).epsilon(0.02)); // a bin is 4 % here
    CHECK(report.marks->direction.peaks[0].words == "the arm's way in a turn of the shaft");
    CHECK(evenness_json(assess_evenness(Library::standard(), request, 2)) ==
          evenness_json(report)); // two threads, the same answer
}

TEST_CASE("evenness is refused where there are no lines, or no ground for them", "[evenness]") {
    const ScratchFolder folder;
    EvennessRequest request;
    request.run.panel = "test-plate", request.run.technique = (folder.path / "t.json").string(),
    request.run.grid_m = 0.004;
    nlohmann::json technique = nlohmann::json::parse(quick_technique);
    technique["pattern"] = "spiral";
    write_text(folder.path / "t.json", technique.dump());
    CHECK_THAT(refusal([&] { assess_evenness(Library::standard(), request, 1); }).found(),
               Contains("no lines side by side"));
    technique["pattern"] = "raster",
    technique["section"] = {{"size", {"180 mm", "180 mm"}}, {"centre", {"300 mm", "250 mm"}}};
    write_text(folder.path / "t.json", technique.dump());
    CHECK_THAT(refusal([&] { assess_evenness(Library::standard(), request, 1); }).found(),
               Contains("no open ground"));
}

TEST_CASE("a peak says the amplitude of its sine", "[evenness]") {
    const Grid grid = grid_of(160, 120);
    const std::vector<float> field = waves(grid, Along::v, 40, 0.3);
    const std::vector<SpectrumPeak> peaks = peaks_of(evenness_spectrum(grid, field, all_of(grid), Along::v));
    REQUIRE(peaks.size() == 1);
    CHECK(peaks[0].amplitude_um == Approx(0.3).epsilon(0.04)); // the root of the power, which is within 8 %
}

TEST_CASE("lines that come back almost where they were are one line, not two close together", "[evenness]") {
    ArmPath path;
    double t_s = 0;
    for (const double y_m : {0.1, 0.1015, 0.15, 0.1515, 0.2, 0.2015}) // 1.5 mm apart and 50
        for (const double x_m : {0.1, 0.5}) {
            ArmSample sample;
            sample.t_s = t_s++, sample.at = {x_m, y_m}, sample.down = x_m < 0.3;
            path.samples.push_back(sample);
        }
    const LineSpacings lines = line_spacings(path);
    CHECK(lines.across_u_lines_mm == Approx(48.5)); // from the last of one to the first of the next
    CHECK(lines.across_v_lines_mm == 0);
}

TEST_CASE("a peak that has one spacing is not named after half of another", "[evenness]") {
    const Grid grid = grid_of(160, 120);
    const KnownSpacing known[] = {{"the lines", 40}, {"the drift", 80}};
    const std::vector<SpectrumPeak> peaks =
        peaks_of(evenness_spectrum(grid, waves(grid, Along::v, 40, 0.3), all_of(grid), Along::v), known);
    REQUIRE(peaks.size() == 1);
    CHECK(peaks[0].words == "the lines");
}

TEST_CASE("a single pass has its lines' spacing across them alone", "[evenness]") {
    const ScratchFolder folder;
    write_text(folder.path / "t.json", quick_technique); // one pass, lines along u
    EvennessRequest request;
    request.run.panel = "test-plate", request.run.technique = (folder.path / "t.json").string(),
    request.run.grid_m = 0.004;
    request.marks = false, request.overlap_from = request.overlap_to = 0.3;
    const EvennessReport report = assess_evenness(Library::standard(), request, 2);
    const auto named = [](const Direction& direction) {
        return std::ranges::any_of(direction.peaks, [](const SpectrumPeak& peak) {
            return peak.words.find("the line spacing") != std::string::npos;
        });
    };
    CHECK_FALSE(named(report.directions[0]));
    CHECK(named(report.directions[1]));
}

TEST_CASE("every chart of an evenness report is the same file on any day", "[evenness]") {
    const ScratchFolder folder;
    write_text(folder.path / "t.json", quick_technique);
    EvennessRequest request;
    request.run.panel = "test-plate", request.run.technique = (folder.path / "t.json").string(),
    request.run.grid_m = 0.004;
    request.marks = false, request.overlap_from = 0.3, request.overlap_to = 0.5;
    const EvennessReport report = assess_evenness(Library::standard(), request, 2);
    for (const char* run : {"one", "two"}) {
        std::filesystem::create_directory(folder.path / run);
        write_evenness(folder.path / run, report, FilmUnit::um, "pdf");
    }
    for (const char* file : {"spectra.pdf", "overlap.pdf"}) {
        const std::string pdf = bytes_of(folder.path / "one" / file);
        CHECK(pdf == bytes_of(folder.path / "two" / file));
        CHECK_THAT(pdf, Contains("/Author (Sparecoat)") && !Contains("CreationDate")); // which has seconds
    }
}

TEST_CASE("the scan has a steady hand, and what is as good is within a tenth of the best", "[evenness]") {
    const ScratchFolder folder;
    nlohmann::json technique = nlohmann::json::parse(quick_technique);
    const auto scan = [&](const std::string& file) {
        write_text(folder.path / file, technique.dump());
        EvennessRequest request;
        request.run.panel = "test-plate", request.run.technique = (folder.path / file).string(),
        request.run.grid_m = 0.004;
        request.marks = false, request.overlap_from = 0.4, request.overlap_to = 0.6;
        return assess_evenness(Library::standard(), request, 2);
    };
    const EvennessReport steady = scan("steady.json");
    technique["hand"] = {{"force", "30 %"}, {"arm_speed", "30 %"}, {"spacing", "20 mm"}};
    const EvennessReport stray = scan("stray.json");
    CHECK(stray.deviation != steady.deviation);
    REQUIRE(stray.trials.size() == 5);
    const double best = steady.trials[steady.best].deviation;
    for (std::size_t k = 0; k < 5; ++k) {
        CHECK(stray.trials[k].deviation == steady.trials[k].deviation);
        if (k >= steady.flat_from && k <= steady.flat_to) CHECK(steady.trials[k].deviation <= 1.1 * best);
        INFO(k << " " << steady.trials[k].deviation / best);
        if (k + 1 == steady.flat_from || k == steady.flat_to + 1)
            CHECK(steady.trials[k].deviation > 1.1 * best);
    }
}

} // namespace test_evenness
