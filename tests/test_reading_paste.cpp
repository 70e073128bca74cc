// Where a gauge is put down, and readings taken from a spreadsheet's clipboard.
#include "formats/reading_paste.hpp"
#include "panel/reading_flags.hpp"
#include "run/run_job.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

namespace test_reading_paste {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

LaidPanel laid(const std::string& name) {
    RunRequest request;
    request.panel = name, request.grid_m = 0.004;
    return lay_panel(Library(source_at("presets")), request);
}

const Panel& plate() { // 600 x 500 mm
    static const Panel panel = laid("test-plate").panel;
    return panel;
}

PasteTerms terms(const SpotPattern& pattern) { return {plate(), pattern, "test-plate"}; }

std::vector<double> films(const std::vector<GaugeReading>& readings) {
    std::vector<double> out;
    for (const GaugeReading& reading : readings) out.push_back(reading.film_um);
    return out;
}

/// Films of a bare text over a pattern, in the order of its spots; 0 where a spot has none.
std::vector<double> filled(const std::string& text, int rows, int columns, bool mil = false) {
    const SpotPattern pattern = reading_spots(plate(), rows, columns);
    PasteTerms asked = terms(pattern);
    asked.mil = mil;
    std::vector<double> out(pattern.spots.size(), 0);
    for (const GaugeReading& reading : read_pasted(text, asked)) {
        const auto spot =
            std::ranges::find_if(pattern.spots, [&](Point2 at) { return norm(at - reading.at) < 1e-9; });
        REQUIRE(spot != pattern.spots.end());
        out[static_cast<std::size_t>(spot - pattern.spots.begin())] = reading.film_um;
    }
    return out;
}

InputError refused(const std::string& text, int rows = 2, int columns = 3) {
    const SpotPattern pattern = reading_spots(plate(), rows, columns);
    return refusal([&] { read_pasted(text, terms(pattern)); });
}

} // namespace

// ---- the pattern ----------------------------------------------------------------------------------

TEST_CASE(
    "Spots stand on every panel away from edges and lines, each in a place of its own, rows from the top",
    "[readings]") {
    const std::string name = GENERATE("test-plate", "rear-door", "front-wing", "roof-skin", "bumper-corner");
    const auto [rows, columns] = GENERATE(std::pair{1, 1}, std::pair{3, 4}, std::pair{6, 10});
    INFO(name << " " << rows << " x " << columns);
    const Panel panel = laid(name).panel;
    const SpotPattern pattern = reading_spots(panel, rows, columns);
    REQUIRE(pattern.spots.size() == static_cast<std::size_t>(rows * columns));
    for (std::size_t k = 0; k < pattern.spots.size(); ++k) {
        // A cell's centre and a whole millimetre may lie 3 mm apart along both ways; narrow panels are read
        // at half the distance.
        CHECK(signed_distance(panel.outline, pattern.spots[k]) > 0.25 * spot_off_edges_m - 0.003);
        for (std::size_t n = 0; n < k; ++n) CHECK(norm(pattern.spots[k] - pattern.spots[n]) > 0.004);
        const std::size_t across = static_cast<std::size_t>(columns);
        if (k % across > 0) CHECK(pattern.spots[k].x > pattern.spots[k - 1].x);
        if (k >= across) CHECK(pattern.spots[k].y < pattern.spots[k - across].y);
    }
}

TEST_CASE("On a plain plate spots are spread evenly", "[readings]") {
    const SpotPattern pattern = reading_spots(plate(), 3, 4);
    // Ground is 30 mm off the edges: 540 x 440 mm, in parts of 135 x 147 mm. A cell is 4 mm.
    for (std::size_t k = 1; k < 4; ++k)
        CHECK(pattern.spots[k].x - pattern.spots[k - 1].x == Approx(0.135).margin(0.005));
    CHECK(pattern.spots[0].y - pattern.spots[4].y == Approx(0.1467).margin(0.005));
    CHECK(pattern.spots[0].x == Approx(0.0975).margin(0.005));
    CHECK(pattern.spots[0].y == Approx(0.470 - 0.0733).margin(0.005));
}

TEST_CASE("Spots are walked there along one row and back along the next", "[readings]") {
    const SpotPattern pattern = reading_spots(plate(), 3, 3);
    std::vector<std::size_t> walk;
    for (std::size_t n = 0; n < 9; ++n) walk.push_back(pattern.walked(n));
    CHECK(walk == std::vector<std::size_t>{0, 1, 2, 5, 4, 3, 6, 7, 8});
    for (std::size_t n = 0; n < 9; ++n) CHECK(pattern.turn_of(pattern.walked(n)) == n);
}

TEST_CASE("A pattern of no rows, of too many or too dense for the panel is refused", "[readings]") {
    for (const auto& [rows, columns] : {std::pair{0, 4}, {3, 0}, {31, 4}, {3, 31}}) {
        const InputError error =
            refusal([rows = rows, columns = columns] { reading_spots(plate(), rows, columns); });
        CHECK(error.place() == "pattern");
        CHECK_THAT(error.allowed(), Catch::Contains("1 to 30"));
    }
}

// ---- bare values ----------------------------------------------------------------------------------

TEST_CASE("A bare block fills the pattern row by row, however its values are parted", "[readings]") {
    const std::vector<double> wanted{110, 111.5, 112, 113, 114, 115.25};
    CHECK(filled("110\t111.5\t112\n113\t114\t115.25\n", 2, 3) == wanted);
    CHECK(filled("110\t111,5\t112\r\n113\t114\t115,25\r\n", 2, 3) == wanted);
    CHECK(filled("110;111,5;112\n113;114;115,25", 2, 3) == wanted);
    CHECK(filled("110,111.5,112\n113,114,115.25", 2, 3) == wanted);
    CHECK(filled("\xEF\xBB\xBF"
                 "110\t111.5\t112\n113\t114\t115.25\n\n\n",
                 2, 3) == wanted);
    CHECK(filled("left\tmiddle\tright\n110\t111.5\t112\n113\t114\t115.25\n", 2, 3) == wanted);
    CHECK(filled("# by hand\n110\t111.5\t112\n113\t114\t115.25\n", 2, 3) == wanted);
}

TEST_CASE("One column or one line fills the pattern row by row, and may end early", "[readings]") {
    CHECK(filled("110\n111\n112\n113\n", 2, 3) == std::vector<double>{110, 111, 112, 113, 0, 0});
    CHECK(filled("Reading\n110\n111\n", 2, 3) == std::vector<double>{110, 111, 0, 0, 0, 0});
    CHECK(filled("110\t111\t112\t113\t114\t115\n", 2, 3) ==
          std::vector<double>{110, 111, 112, 113, 114, 115});
    CHECK(filled("110,5\n111,25\n", 2, 3) == std::vector<double>{110.5, 111.25, 0, 0, 0, 0});
    CHECK(filled("112,5", 2, 3)[0] == 112.5);
}

TEST_CASE("An empty place leaves its spot out", "[readings]") {
    CHECK(filled("110\t\t112\n\t114\t\n", 2, 3) == std::vector<double>{110, 0, 112, 0, 114, 0});
    CHECK(filled("110\n\n112\n", 2, 3) == std::vector<double>{110, 0, 112, 0, 0, 0});
    CHECK(filled("110\t111\n113\t114\t115\n", 2, 3) == std::vector<double>{110, 111, 0, 113, 114, 115});
}

TEST_CASE("Bare values are in the unit, of the kind and with the n that the terms say", "[readings]") {
    CHECK(filled("4.4\t4.5\t4.6", 2, 3, true)[2] == Approx(4.6 * 25.4));
    const SpotPattern pattern = reading_spots(plate(), 1, 2);
    PasteTerms asked = terms(pattern);
    asked.of_clear = true, asked.n = 3, asked.repeat_sd_um = 0.7;
    const std::vector<GaugeReading> readings = read_pasted("41\t42", asked);
    REQUIRE(readings.size() == 2);
    CHECK((readings[1].of_clear && readings[1].film_um == 42 && readings[1].n == 3 &&
           readings[1].repeat_sd_um == 0.7));
}

TEST_CASE("A block that is not as wide or high as the pattern is refused, as are too many values",
          "[readings]") {
    CHECK(refused("110\t111\n112\t113\n").place() == "row 1");
    CHECK_THAT(refused("110\t111\n112\t113\n").allowed(), Catch::Contains("2 x 3"));
    CHECK(refused("1\t2\t3\n1\t2\t3\n110\t111\t112\n").place() == "row 3");
    const InputError many = refused("110\n111\n112\n113\n114\n115\n116\n");
    CHECK(many.place() == "row 7, column 1");
    CHECK_THAT(many.found(), Catch::Contains("more than 6"));
}

TEST_CASE("Commas that may be decimal or part values are asked about, and else read as what they must be",
          "[readings]") {
    CHECK_THAT(refused("110,25\n111,50", 2, 2).found(), Catch::Contains("commas that may part two values"));
    CHECK(filled("110, 112\n111, 113", 2, 2) == std::vector<double>{110, 112, 111, 113});
    CHECK(filled("110.0,112\n111,113", 2, 2) == std::vector<double>{110, 112, 111, 113});
    CHECK(filled("110,112,113,114", 1, 4) == std::vector<double>{110, 112, 113, 114});
}

TEST_CASE("What is no film is refused with its row and column", "[readings]") {
    const auto [text, place, found] = GENERATE(table<std::string, std::string, std::string>({
        {"110\t111\t112\n113\tthick\t115\n", "row 2, column 2", "\"thick\""},
        {"110\t111\t112\n113\t4.5\t115\n", "row 2, column 2", "did you mean mil (114 µm)"},
        {"110\t0\t112\n", "row 1, column 2", "total 0 µm"},
        {"110\t-3\t112\n", "row 1, column 2", "total -3 µm"},
        {"110\t2001\t112\n", "row 1, column 2", "total 2001 µm"},
        {"110\t1.1.1\t112\n", "row 1, column 2", "\"1.1.1\""},
        {"110\t111\t112\n110\tinf\t112\n", "row 2, column 2", "\"inf\""},
        {"110\t111\t112\n\n110\t111\tx\n", "row 3, column 3", "\"x\""},
    }));
    INFO(text);
    const InputError error = refused(text, 3, 3);
    CHECK(error.place() == place);
    CHECK_THAT(error.found(), Catch::Contains(found));
}

TEST_CASE("No text and no readings are refused", "[readings]") {
    for (const char* text : {"", "\n\n", "# nothing\n", "left\tright\n", "\t\t\n"}) {
        INFO(text);
        CHECK(refused(text).found() != "");
    }
}

// ---- tables ---------------------------------------------------------------------------------------

TEST_CASE("A table names its spots, units, kinds, n and repeatability", "[readings]") {
    const SpotPattern pattern = reading_spots(plate(), 2, 3);
    const std::vector<GaugeReading> readings = read_pasted(
        "panel;test-plate\nX_mm;y_mm;total_um;clear_mil;n;sd_um\n100,5;200;112,5;1,6;3;0,8\n200;200;;1,5;;\n",
        terms(pattern));
    REQUIRE(readings.size() == 3);
    CHECK(norm(readings[0].at - Point2{0.1005, 0.2}) < 1e-12);
    CHECK((readings[0].film_um == 112.5 && !readings[0].of_clear && readings[0].n == 3 &&
           readings[0].repeat_sd_um == 0.8 && readings[0].line == 3));
    CHECK((readings[1].of_clear && readings[1].film_um == Approx(1.6 * 25.4)));
    CHECK((readings[2].of_clear && readings[2].n == 1 && readings[2].repeat_sd_um == 1 &&
           readings[2].at.x == Approx(0.2)));
    CHECK(films(read_pasted("y_mm,x_mm,total\n200,100,112\n", terms(pattern))) == std::vector<double>{112});
}

TEST_CASE("A heading without places fills the pattern row by row", "[readings]") {
    const SpotPattern pattern = reading_spots(plate(), 2, 2);
    const std::vector<GaugeReading> readings =
        read_pasted("total_um\tclear_um\n112\t41\n\t\n113\t\n114\t43\n", terms(pattern));
    REQUIRE(readings.size() == 5);
    CHECK(norm(readings[1].at - pattern.spots[0]) < 1e-12);
    CHECK(readings[1].of_clear);
    CHECK(norm(readings[2].at - pattern.spots[1]) < 1e-12); // a line with nothing in it is no spot
    CHECK(refusal([&] { read_pasted("total_um\n111\n112\n113\n114\n115\n", terms(pattern)); }).place() ==
          "row 6");
}

TEST_CASE("The film readings that are shipped for the demo go in as they are", "[readings]") {
    const Panel door = laid("rear-door").panel;
    const SpotPattern pattern = reading_spots(door, 3, 4);
    const std::string text = bytes_of(source_at("presets/demo/readings-rear-door.csv"));
    CHECK(read_pasted(text, {door, pattern, "rear-door"}).size() > 10);
    CHECK_THAT(refusal([&] { read_pasted(text, terms(pattern)); }).found(), Catch::Contains("rear-door"));
}

TEST_CASE("A table's faults are told with row and column, and nothing of it is read", "[readings]") {
    const auto [text, place, found] = GENERATE(table<std::string, std::string, std::string>({
        {"x_mm\ty_mm\ttotl_um\n100\t100\t112\n", "row 1, column 3", "a column \"totl_um\""},
        {"x_mm\ttotal_um\n100\t112\n", "row 1", "x_mm without y_mm"},
        {"x_mm\ty_mm\tx_mm\ttotal_um\n1\t1\t1\t112\n", "row 1, column 3", "twice"},
        {"x_mm\ty_mm\ttotal_um\ttotal_mil\n1\t1\t112\t4\n", "row 1", "several units"},
        {"x_mm\ty_mm\tn\n1\t1\t3\n", "row 1", "no column with film"},
        {"x_mm\ty_mm\ttotal_um\n100\t100\n", "row 2", "2 values"},
        {"x_mm\ty_mm\ttotal_um\n100\t\t112\n", "row 2, column 2", "nothing"},
        {"x_mm\ty_mm\ttotal_um\n100\t100\t112\n900\t100\t112\n", "row 3, column 1", "off the panel"},
        {"x_mm\ty_mm\ttotal_um\tn\n100\t100\t112\t2.5\n", "row 2, column 4", "n 2.5"},
        {"x_mm\ty_mm\ttotal_um\tn\n100\t100\t112\t0\n", "row 2, column 4", "n 0"},
        {"x_mm\ty_mm\ttotal_um\tsd_um\n100\t100\t112\t51\n", "row 2, column 4", "a repeatability of 51"},
        {"x_mm\ty_mm\ttotal_um\tclear_um\n100\t100\t112\t113\n", "row 2, column 4",
         "113 µm of clear coat in a total of 112"},
        {"x_mm\ty_mm\ttotal_um\n100\t100\t112\n101\t100\t113\n", "row 3, column 3",
         "the spot of row 2 again"},
        {"x_mm\ty_mm\ttotal_um\n100\t100\t\n", "row 2", "no film"},
        {"panel\troof-skin\nx_mm\ty_mm\ttotal_um\n100\t100\t112\n", "row 1, column 2", "roof-skin"},
    }));
    INFO(text);
    const InputError error = refused(text);
    CHECK(error.place() == place);
    CHECK_THAT(error.found(), Catch::Contains(found));
    CHECK(!error.allowed().empty());
}

// ---- what readings say by themselves ----------------------------------------------------------------

TEST_CASE("Readings are remarked on without an estimate of the film between them", "[readings][gauge]") {
    const LaidPanel door = laid("test-plate");
    const SpotPattern pattern = reading_spots(door.panel, 2, 3);
    std::vector<GaugeReading> readings;
    for (std::size_t k = 0; k < 6; ++k)
        readings.push_back({pattern.spots[k], 112, false, 1, 1, static_cast<int>(k) + 1});
    CHECK(flags_of_readings(door.panel, door.paint, readings).empty());
    readings[4].film_um = 240; // filler
    readings[1].film_um = 70;
    std::set<std::pair<FilmFlagKind, int>> found;
    for (const FilmFlag& flag : flags_of_readings(door.panel, door.paint, readings))
        for (const int line : flag.lines) found.insert({flag.kind, line});
    CHECK(found ==
          std::set<std::pair<FilmFlagKind, int>>{{FilmFlagKind::repaint, 5}, {FilmFlagKind::thin_paint, 2}});
    // The whole report has the same to say of them, and in the same words.
    Panel measured = door.panel;
    std::vector<std::string> alone, whole;
    for (const FilmFlag& flag : flags_of_readings(door.panel, door.paint, readings))
        alone.push_back(flag.text);
    for (const FilmFlag& flag : measure_film(measured, door.paint, readings).flags)
        if (!flag.lines.empty()) whole.push_back(flag.text);
    CHECK(alone == whole);
}

} // namespace test_reading_paste
