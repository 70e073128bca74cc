// Measured film: what readings say of a panel, and what of a readings' file is refused or flagged.
#include "formats/gauge_csv.hpp"
#include "panel/film_process.hpp"
#include "panel/gauge.hpp"
#include "run/run_job.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <random>

namespace test_gauge {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

Paint thinning_film() {
    Paint paint = even_film();
    paint.thinning = 0.3;
    return paint;
}

GaugeReading reading(Point2 at, double um, bool of_clear = false) {
    GaugeReading out;
    out.at = at, out.film_um = um, out.of_clear = of_clear;
    return out;
}

/// Readings every 100 mm on a plate, from 50 mm inside its lower left corner.
template <class Film>
std::vector<GaugeReading> readings_of(double width_m, double height_m, const Film& film_um) {
    std::vector<GaugeReading> out;
    for (double y = 0.05; y < height_m; y += 0.1)
        for (double x = 0.05; x < width_m; x += 0.1) out.push_back(reading({x, y}, film_um({x, y})));
    return out;
}

double total_um(const Panel& panel, std::size_t k) {
    return static_cast<double>(panel.clear_um[k]) + static_cast<double>(panel.base_um[k]) +
           static_cast<double>(panel.primer_um[k]) + static_cast<double>(panel.ecoat_um[k]);
}

double relative_sd(const Panel& panel, Point2 at) {
    const std::size_t k = cell_at(panel, at);
    return static_cast<double>(panel.clear_sd_um[k] / panel.clear_um[k]);
}

const FilmFlag* flag_of(const std::vector<FilmFlag>& flags, FilmFlagKind kind) {
    const auto found =
        std::find_if(flags.begin(), flags.end(), [&](const FilmFlag& f) { return f.kind == kind; });
    return found == flags.end() ? nullptr : &*found;
}

/// Normal numbers that are the same everywhere: Box and Muller on the bits of a Mersenne twister.
class Normal {
public:
    explicit Normal(std::uint64_t seed) : bits_(seed) {}
    double operator()() {
        const double u = uniform(), v = uniform();
        return std::sqrt(-2 * std::log(u)) * std::cos(2 * pi * v);
    }
    double uniform() { return (static_cast<double>(bits_() >> 11) + 0.5) * 0x1p-53; }

private:
    std::mt19937_64 bits_;
};

} // namespace

// ---- film from readings --------------------------------------------------------------------------

TEST_CASE("layers add up to the estimated total, and readings of total film leave their proportions alone",
          "[gauge]") {
    Panel panel = panel_of(rectangle(0.5, 0.4), 0.004, thinning_film());
    const auto readings = readings_of(0.5, 0.4, [](Point2 p) { return 115 + 40 * p.x; });
    const FilmReport report = measure_film(panel, thinning_film(), readings);
    CHECK(report.readings == readings.size());
    for (const Point2 at : {Point2{0.25, 0.25}, {0.002, 0.2}, {0.45, 0.35}}) {
        const std::size_t k = cell_at(panel, at);
        CHECK(panel.clear_um[k] / panel.base_um[k] == Approx(40.0 / 15).epsilon(1e-5)); // float
        CHECK(panel.primer_um[k] / panel.ecoat_um[k] == Approx(30.0 / 20).epsilon(1e-5));
    }
    // A reading every 100 mm of film that changes by 4 µm between them: 1.5 µm is the texture allowed for.
    CHECK(total_um(panel, cell_at(panel, {0.25, 0.25})) == Approx(125).margin(1.5));
    CHECK(total_um(panel, cell_at(panel, {0.45, 0.15})) == Approx(133).margin(1.5));
    CHECK(panel.clear_um[0] == 0);
    CHECK(panel.clear_sd_um[0] == 0);
}

TEST_CASE("film measured in the open keeps its thinning at edges, and is less certain there", "[gauge]") {
    Panel panel = panel_of(rectangle(0.5, 0.4), 0.002, thinning_film());
    measure_film(panel, thinning_film(), readings_of(0.5, 0.4, [](Point2) { return 126.0; }));
    const std::size_t edge = cell_at(panel, {0.001, 0.201}), open = cell_at(panel, {0.201, 0.201});
    const double kept = 1 - 0.3 * std::exp(-0.001 / 0.006);
    CHECK(panel.clear_um[edge] / panel.clear_um[open] ==
          Approx(kept).epsilon(2e-3)); // the smooth part, 200 mm on
    CHECK(relative_sd(panel, {0.001, 0.201}) > relative_sd(panel, {0.201, 0.201}) + 0.01);
}

TEST_CASE("a reading of the clear coat is surer of it than one of the total, around itself only", "[gauge]") {
    Panel by_total = panel_of(rectangle(0.8, 0.3), 0.004), by_clear = by_total;
    std::vector<GaugeReading> readings = readings_of(0.8, 0.3, [](Point2) { return 105.0; });
    measure_film(by_total, even_film(), readings);
    CHECK(relative_sd(by_total, {0.25, 0.15}) > 0.08); // the split's own 8 %
    readings.push_back(reading({0.05, 0.16}, 44, true));
    const FilmReport report = measure_film(by_clear, even_film(), readings);
    CHECK(report.of_clear == 1);
    CHECK(relative_sd(by_clear, {0.05, 0.16}) < 0.05);
    CHECK(by_clear.clear_um[cell_at(by_clear, {0.05, 0.16})] ==
          Approx(43.5).margin(1)); // between nominal 40 and 44
    // What clear coat there is more of, the layers under it have less of: the total was read.
    CHECK(total_um(by_clear, cell_at(by_clear, {0.05, 0.16})) == Approx(105).margin(1.5));
    const double far = relative_sd(by_clear, {0.75, 0.15});
    CHECK(far > relative_sd(by_clear, {0.05, 0.16}) + 0.01);
}

TEST_CASE("far from every reading the film is the panel's mean again, with its sd", "[gauge]") {
    Panel panel = panel_of(rectangle(2.5, 0.2), 0.004);
    std::vector<GaugeReading> readings;
    for (const double x : {0.03, 0.08, 0.13}) readings.push_back(reading({x, 0.1}, 120));
    const FilmReport report = measure_film(panel, even_film(), readings);
    const std::size_t far = cell_at(panel, {2.48, 0.1});
    CHECK(total_um(panel, far) / 105 == Approx(report.offset).epsilon(1e-3));
    const double expected =
        std::sqrt(report.offset_sd * report.offset_sd + report.scales.signal * report.scales.signal +
                  report.scales.texture * report.scales.texture + 0.08 * 0.08);
    CHECK(relative_sd(panel, {2.48, 0.1}) ==
          Approx(expected).epsilon(2e-3)); // Matern at over two length scales
    CHECK(relative_sd(panel, {0.08, 0.1}) < 0.6 * relative_sd(panel, {2.48, 0.1}) + 0.04);
}

TEST_CASE("two readings do not run the scales to their bounds", "[gauge]") {
    for (const double second : {105.0, 106.0, 150.0}) {
        Panel panel = panel_of(rectangle(0.5, 0.4), 0.004);
        const FilmScales scales =
            measure_film(panel, even_film(),
                         std::vector{reading({0.1, 0.1}, 105), reading({0.4, 0.3}, second)})
                .scales;
        CHECK(scales.length_m > 0.06);
        CHECK(scales.length_m < 0.9);
        CHECK(scales.signal > 0.006);
        CHECK(scales.signal < 1.4);
        CHECK(scales.texture > 0.0035);
        CHECK(scales.texture < 0.09);
    }
}

TEST_CASE("a better gauge and more readings of a spot leave less uncertainty", "[gauge]") {
    const auto sd_with = [](int n, double repeat_sd_um) {
        FilmScales scales;
        const double noise = repeat_sd_um / std::sqrt(n) / 105;
        return FilmPosterior({{{0.1, 0.1}, 0, false, 0.0, noise}}, scales).total_at({0.1, 0.1}, 0).variance;
    };
    CHECK(sd_with(5, 4) < sd_with(1, 4));
    CHECK(sd_with(1, 1) < sd_with(1, 4));

    Panel coarse = panel_of(rectangle(0.3, 0.2), 0.004), fine = coarse;
    std::vector<GaugeReading> readings{reading({0.1, 0.1}, 110), reading({0.2, 0.1}, 118)};
    for (GaugeReading& r : readings) r.repeat_sd_um = 8;
    measure_film(coarse, even_film(), readings);
    for (GaugeReading& r : readings) r.n = 9;
    const FilmReport report = measure_film(fine, even_film(), readings);
    CHECK(report.gauge_sd_um == Approx(8.0 / 3));
    CHECK(relative_sd(fine, {0.1, 0.1}) < relative_sd(coarse, {0.1, 0.1}));
}

TEST_CASE("the interpolated film is the one solved cell by cell", "[gauge]") {
    // The hardest case: short scale, strong signal, hardly any noise, readings of both kinds, some by an
    // edge.
    FilmScales scales;
    scales.length_m = 0.05, scales.signal = 0.6, scales.texture = 0.01;
    Normal normal(5);
    std::vector<FilmDatum> data;
    for (int k = 0; k < 40; ++k)
        data.push_back({{0.4 * normal.uniform(), 0.3 * normal.uniform()},
                        k % 3 ? 0.0 : 0.3,
                        k % 4 == 0,
                        0.5 * normal(),
                        0.005});
    const FilmPosterior posterior(data, scales);
    const Grid grid{200, 150, 0.002, 0.001, 0.001};
    const std::vector<std::uint8_t> mask(grid.cells(), 1);
    std::vector<double> weight(grid.cells(), 0.0);
    for (std::size_t k = 0; k < weight.size(); ++k) weight[k] = k % 7 ? 0.0 : 0.4;
    const FilmPosterior::Film film = posterior.over(grid, mask, weight);
    double worst_mean = 0, worst_sd = 0;
    for (std::size_t k = 0; k < grid.cells(); k += 37) {
        for (const bool of_clear : {false, true}) {
            const LogFilm direct = of_clear ? posterior.clear_at(grid.centre(k), weight[k])
                                            : posterior.total_at(grid.centre(k), weight[k]);
            const LogFilm& here = of_clear ? film.clear[k] : film.total[k];
            worst_mean = std::max(worst_mean, std::abs(here.mean - direct.mean) / std::sqrt(direct.variance));
            worst_sd = std::max(worst_sd, std::abs(std::sqrt(here.variance / direct.variance) - 1));
        }
    }
    // As the header promises: a few hundredths of a standard deviation, at a signal of forty times the noise.
    CHECK(worst_mean < 0.05);
    CHECK(worst_sd < 0.05);
}

TEST_CASE("nine intervals of ten hold the truth, scales estimated from the same readings", "[gauge]") {
    Normal normal(20260711);
    int held = 0, asked = 0;
    double sum_of_squares = 0;
    constexpr int panels = 150, read = 25, asked_places = 12;
    for (int p = 0; p < panels; ++p) {
        FilmScales truth; // another panel each time, within what the priors hold likely
        truth.length_m = 0.25 * std::exp(0.4 * normal()), truth.signal = 0.06 * std::exp(0.4 * normal());
        truth.texture = 0.015 * std::exp(0.3 * normal());
        std::vector<Point2> places;
        std::vector<double> weight;
        for (int k = 0; k < read + asked_places; ++k) {
            places.push_back({0.9 * normal.uniform(), 0.6 * normal.uniform()});
            weight.push_back(k % 5 ? 0.0 : 0.2 * normal.uniform());
        }
        // A draw from the prior: Cholesky factor of the covariance times normal numbers.
        const auto n = static_cast<Eigen::Index>(places.size());
        Eigen::MatrixXd covariance(n, n);
        for (Eigen::Index i = 0; i < n; ++i)
            for (Eigen::Index j = 0; j < n; ++j) {
                const auto a = static_cast<std::size_t>(i), b = static_cast<std::size_t>(j);
                covariance(i, j) =
                    truth.offset * truth.offset +
                    matern52(norm(places[a] - places[b]) / truth.length_m) *
                        (truth.signal * truth.signal + truth.edge * truth.edge * weight[a] * weight[b]) +
                    (i == j ? truth.texture * truth.texture : 0);
            }
        Eigen::VectorXd white(n);
        for (Eigen::Index i = 0; i < n; ++i) white[i] = normal();
        const Eigen::VectorXd film = covariance.llt().matrixL() * white;

        std::vector<FilmDatum> data;
        constexpr double noise = 0.01;
        for (std::size_t k = 0; k < read; ++k)
            data.push_back(
                {places[k], weight[k], false, film[static_cast<Eigen::Index>(k)] + noise * normal(), noise});
        const FilmPosterior posterior(data, likeliest_scales(data, {}));
        for (std::size_t k = read; k < places.size(); ++k) {
            const LogFilm guess = posterior.total_at(places[k], weight[k]);
            const double off = (film[static_cast<Eigen::Index>(k)] - guess.mean) / std::sqrt(guess.variance);
            held += std::abs(off) < 1.6449 ? 1 : 0;
            sum_of_squares += off * off;
            ++asked;
        }
    }
    const double share = static_cast<double>(held) / asked;
    // 1800 places in 150 panels: sampling alone moves the share by about 1 %; scales that are estimated, not
    // known, cost a few more.
    CHECK(share > 0.85);
    CHECK(share < 0.95);
    CHECK(sum_of_squares / asked == Approx(1).margin(0.25));
}

// ---- flags ---------------------------------------------------------------------------------------

TEST_CASE("readings far above the rest are flagged as repaint, with lines and the highest place", "[gauge]") {
    Panel panel = panel_of(rectangle(0.8, 0.4), 0.004);
    auto readings = readings_of(
        0.8, 0.4, [](Point2 p) { return p.x > 0.6 && p.y < 0.2 ? 230 + 100 * p.x : 112 + 10 * p.y; });
    for (std::size_t k = 0; k < readings.size(); ++k) readings[k].line = static_cast<int>(k) + 3;
    const FilmReport report = measure_film(panel, even_film(), readings);
    const FilmFlag* repaint = flag_of(report.flags, FilmFlagKind::repaint);
    REQUIRE(repaint);
    CHECK(repaint->lines == std::vector{9, 10, 17, 18});
    CHECK(repaint->at.x == Approx(0.75));
    CHECK_THAT(repaint->text, Contains("4 of 32"));
    // Flagged, and used: the film is thick there.
    CHECK(total_um(panel, cell_at(panel, {0.75, 0.1})) > 250);
    CHECK(flag_of(report.flags, FilmFlagKind::thin_paint) == nullptr);
    CHECK(flag_of(report.flags, FilmFlagKind::other_paint) == nullptr);
}

TEST_CASE("an even panel raises no flag", "[gauge]") {
    Panel panel = panel_of(rectangle(0.8, 0.4), 0.004, thinning_film());
    const FilmReport report = measure_film(
        panel, thinning_film(), readings_of(0.8, 0.4, [](Point2 p) { return 108 + 8 * std::sin(7 * p.x); }));
    CHECK(report.flags.empty()); // its edges are under 80 µm, as all edges are
}

TEST_CASE("film under 80 µm is flagged where it was read and where it is estimated", "[gauge]") {
    Panel panel = panel_of(rectangle(0.8, 0.4), 0.004);
    auto readings = readings_of(0.8, 0.4, [](Point2 p) { return p.x < 0.2 ? 74 + 20 * p.x : 100; });
    for (GaugeReading& r : readings) r.line = 2;
    const FilmReport report = measure_film(panel, even_film(), readings);
    int read = 0, estimated = 0;
    for (const FilmFlag& flag : report.flags) {
        if (flag.kind != FilmFlagKind::thin_paint) continue;
        CHECK(flag.has_place);
        CHECK(flag.at.x < 0.2);
        (flag.lines.empty() ? estimated : read) += 1;
    }
    CHECK(read == 1);
    CHECK(estimated == 1);
}

TEST_CASE("readings far from the paint's nominal film ask for another paint", "[gauge]") {
    for (const auto& [um, hint] : {std::pair{170.0, "thick-repaint"}, {66.0, "old-thin"}}) {
        Panel panel = panel_of(rectangle(0.5, 0.4), 0.004);
        const FilmReport report =
            measure_film(panel, even_film(), readings_of(0.5, 0.4, [um = um](Point2) { return um; }));
        const FilmFlag* other = flag_of(report.flags, FilmFlagKind::other_paint);
        REQUIRE(other);
        CHECK_THAT(other->text, Contains(hint));
    }
}

TEST_CASE("one reading is used and flagged", "[gauge]") {
    Panel panel = panel_of(rectangle(0.5, 0.4), 0.004);
    const FilmReport report = measure_film(panel, even_film(), std::vector{reading({0.2, 0.2}, 120)});
    CHECK(flag_of(report.flags, FilmFlagKind::few_readings));
    CHECK(report.offset > 1.05);
    CHECK(total_um(panel, cell_at(panel, {0.2, 0.2})) > 115);
    CHECK(flag_of(measure_film(panel, even_film(),
                               std::vector{reading({0.2, 0.2}, 120), reading({0.3, 0.2}, 119)})
                      .flags,
                  FilmFlagKind::few_readings) == nullptr);
}

TEST_CASE("readings on plastic are flagged, since common gauges do not read there", "[gauge]") {
    Panel panel = panel_of(rectangle(0.5, 0.4), 0.004);
    panel.substrate.polymer = true;
    const FilmReport report =
        measure_film(panel, even_film(), readings_of(0.5, 0.4, [](Point2) { return 105.0; }));
    const FilmFlag* plastic = flag_of(report.flags, FilmFlagKind::plastic);
    REQUIRE(plastic);
    CHECK_THAT(plastic->text, Contains("ultrasonic"));
}

TEST_CASE("no reading, and film that is not positive, are a caller's mistake", "[gauge]") {
    Panel panel = panel_of(rectangle(0.5, 0.4), 0.004);
    CHECK_THROWS_AS(measure_film(panel, even_film(), {}), std::invalid_argument);
    CHECK_THROWS_AS(measure_film(panel, even_film(), std::vector{reading({0.2, 0.2}, 0)}),
                    std::invalid_argument);
}

// ---- the file ------------------------------------------------------------------------------------

namespace {

/// Reads a text as a file of readings of a plate that is asked for as "test-plate".
GaugeFile read_text(const std::string& text, const std::string& asked_for = "test-plate") {
    static const Panel panel = plate(0.5, 0.4, 0.004);
    const ScratchFolder folder;
    const std::filesystem::path file = folder / "readings.csv";
    write_text(file, text);
    return read_gauge_csv(file, panel, asked_for);
}

/// How a text is refused.
InputError refusal(const std::string& text, const std::string& asked_for = "test-plate") {
    try {
        read_text(text, asked_for);
    } catch (const InputError& error) {
        return error;
    }
    FAIL("it was accepted");
    throw std::logic_error("unreachable");
}

const std::string head = "panel,test-plate\nx_mm,y_mm,total_um\n";

} // namespace

TEST_CASE("readings are read in either unit, of either kind, with their n and repeatability", "[gauge]") {
    const GaugeFile file = read_text(
        "\xEF\xBB\xBF# a comment\r\npanel,test-plate\r\n\r\nx_mm,y_mm,total_um,clear_mil,n,sd_um\r\n"
        "100, 50 ,112.5,,3,1.5\r\n200,50,,1.6,,\r\n300,50,118,1.7,1,\r\n\r\n");
    REQUIRE(file.readings.size() == 4);
    CHECK(file.flags.empty());
    CHECK(file.readings[0].at.x == Approx(0.1));
    CHECK(file.readings[0].at.y == Approx(0.05));
    CHECK(file.readings[0].film_um == 112.5);
    CHECK(file.readings[0].n == 3);
    CHECK(file.readings[0].repeat_sd_um == 1.5);
    CHECK(file.readings[0].line == 5);
    CHECK_FALSE(file.readings[0].of_clear);
    CHECK(file.readings[1].film_um == Approx(1.6 * 25.4));
    CHECK(file.readings[1].of_clear);
    CHECK(file.readings[1].n == 1);
    CHECK(file.readings[1].repeat_sd_um == 1);
    CHECK(file.readings[2].film_um == 118);
    CHECK(file.readings[3].of_clear);
}

TEST_CASE("the panel may be named by id, file, or its own name, in a line or a column", "[gauge]") {
    CHECK(read_text("panel,mine\nx_mm,y_mm,total_um\n100,50,110\n", "cars/mine.json").readings.size() == 1);
    CHECK(read_text("panel,Test Panel\nx_mm,y_mm,total_um\n100,50,110\n").readings.size() == 1);
    CHECK(read_text("panel,x_mm,y_mm,total_um\ntest-plate,100,50,110\n").readings.size() == 1);
    CHECK(refusal("panel,rear-door\nx_mm,y_mm,total_um\n100,50,110\n").place() == "line 1");
    const InputError other =
        refusal("panel,x_mm,y_mm,total_um\ntest-plate,100,50,110\nrear-door,200,50,110\n");
    CHECK(other.place() == "line 3");
    CHECK_THAT(other.found(), Contains("rear-door"));
    CHECK_THAT(refusal("x_mm,y_mm,total_um\n100,50,110\n").found(), Contains("no name of the panel"));
}

TEST_CASE("a reading off the panel is refused with its distance and nearest edge", "[gauge]") {
    const InputError error = refusal(head + "100,50,110\n520,50,110\n");
    CHECK(error.place() == "line 4");
    CHECK_THAT(error.found(), Contains("20 mm off the panel") && Contains("right"));
}

TEST_CASE("a spot read again is averaged by n and flagged with its lines", "[gauge]") {
    const GaugeFile file =
        read_text("panel,test-plate\nx_mm,y_mm,total_um,n\n100,50,110,1\n200,50,112,1\n101,50,116,2\n");
    REQUIRE(file.readings.size() == 2);
    CHECK(file.readings[0].film_um == Approx(114));
    CHECK(file.readings[0].n == 3);
    REQUIRE(file.flags.size() == 1);
    CHECK(file.flags[0].kind == FilmFlagKind::repeated_spot);
    CHECK(file.flags[0].lines == std::vector{3, 5});
    CHECK(refusal(head + "100,50,110\n200,50,110\n100,50,160\n").place() ==
          "line 5");                                                          // not the same spot at all
    CHECK(read_text(head + "100,50,110\n103,50,160\n").readings.size() == 2); // 3 mm on it may be
}

TEST_CASE("film of nothing, less than nothing or over 2,000 µm is refused", "[gauge]") {
    for (const char* bad : {"0", "-12", "2001", "1e9"})
        CHECK(refusal(head + "100,50," + bad + "\n").place() == "line 3");
    CHECK(read_text(head + "100,50,2000\n").readings.size() == 1);
}

TEST_CASE("mil taken for µm is refused with the hint, and µm taken for mil too", "[gauge]") {
    const InputError mil = refusal(head + "100,50,110\n200,50,4.6\n");
    CHECK(mil.place() == "line 4");
    CHECK_THAT(mil.found(), Contains("did you mean mil (117 µm)?"));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,total_mil\n100,50,112\n").found(),
               Contains("did you mean µm?"));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,clear_um\n100,50,1.6\n").found(),
               Contains("did you mean mil (41 µm)?"));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,clear_mil\n100,50,40\n").found(),
               Contains("did you mean µm?"));
    CHECK(refusal("panel,test-plate\nx_mm,y_mm,total_mil\n100,50,0.1\n").place() == "line 3");
}

TEST_CASE("no readings, no header and no file are refused", "[gauge]") {
    CHECK_THAT(refusal(head).found(), Contains("no readings"));
    CHECK_THAT(refusal("panel,test-plate\n").found(), Contains("no header"));
    CHECK(refusal("").place() == "line 1");
    CHECK_THROWS_AS(read_gauge_csv("/nowhere/readings.csv", plate(0.1, 0.1, 0.004), "plate"), InputError);
}

TEST_CASE("what is no finite number is refused", "[gauge]") {
    for (const char* bad : {"thick", "nan", "inf", "110um", "1,1"})
        CHECK(refusal(head + "100,50," + bad + "\n").place() == "line 3");
    CHECK_THAT(refusal(head + "nan,50,110\n").found(), Contains("x_mm \"nan\""));
    CHECK_THAT(refusal(head + "100,,110\n").found(), Contains("y_mm"));
    CHECK_THAT(refusal(head + "100,50,\n").found(), Contains("no film thickness"));
}

TEST_CASE("a header is refused for a column that is unknown, twice there or missing, and for both units",
          "[gauge]") {
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,total\n100,50,110\n").found(), Contains("\"total\""));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,x_mm,total_um\n").found(), Contains("twice"));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,total_um\n1,110\n").found(), Contains("x without y"));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,n\n1,1,1\n").found(), Contains("film thickness"));
    CHECK_THAT(refusal("panel,test-plate\nx_mm,y_mm,total_um,total_mil\n").found(), Contains("both"));
}

TEST_CASE("n that is no count, a repeatability out of range and more clear coat than total are refused",
          "[gauge]") {
    const std::string full = "panel,test-plate\nx_mm,y_mm,total_um,clear_um,n,sd_um\n";
    for (const char* bad : {"100,50,110,40,0,1", "100,50,110,40,2.5,1", "100,50,110,40,2000,1",
                            "100,50,110,40,3,0", "100,50,110,40,3,51", "100,50,110,120,3,1"})
        CHECK(refusal(full + bad + "\n").place() == "line 3");
    CHECK(read_text(full + "100,50,110,40,3,1\n").readings.size() == 2);
}

TEST_CASE("the demo's readings find the wing thin towards its arch and the door repainted", "[gauge]") {
    const Library library = Library::standard();
    const std::filesystem::path demo = source_at("presets/demo");
    RunRequest wing;
    wing.panel = "front-wing", wing.technique = "polish-da-15", wing.grid_m = 0.004;
    wing.readings = load_gauge_csv(demo / "readings-front-wing.csv");
    const RunJob wing_job = prepare(library, wing);
    REQUIRE(wing_job.film);
    CHECK(wing_job.film->readings >= 25);
    CHECK(flag_of(wing_job.film->flags, FilmFlagKind::repaint) == nullptr);
    const Panel& p = wing_job.panel;
    CHECK(p.clear_um[cell_at(p, {0.50, 0.41})] < 0.85f * p.clear_um[cell_at(p, {0.50, 0.62})]);

    RunRequest door = wing;
    door.panel = "rear-door", door.technique = "door-polish";
    door.readings = load_gauge_csv(demo / "readings-rear-door.csv");
    const RunJob door_job = prepare(library, door);
    REQUIRE(door_job.film);
    const FilmFlag* repaint = flag_of(door_job.film->flags, FilmFlagKind::repaint);
    REQUIRE(repaint);
    CHECK(repaint->lines.size() >= 4);
    CHECK(flag_of(door_job.film->flags, FilmFlagKind::other_paint) == nullptr);
}

} // namespace test_gauge
