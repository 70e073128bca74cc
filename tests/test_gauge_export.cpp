// Readings as gauges and spreadsheets write them: what is taken for what, what is told, what is refused.
#include "formats/gauge_csv.hpp"
#include "formats/reading_paste.hpp"
#include "panel/reading_spots.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include "units/error.hpp"
#include <catch2/catch.hpp>

namespace test_gauge_export {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

namespace {

const Panel& shape() {
    static const Panel panel = plate(0.5, 0.4, 0.004);
    return panel;
}

GaugeFile read_text(const std::string& text) {
    const ScratchFolder folder;
    write_text(folder / "readings.csv", text);
    return read_gauge_csv(folder / "readings.csv", shape(), "test-plate");
}

InputError refusal(const std::string& text) {
    try {
        read_text(text);
    } catch (const InputError& error) {
        return error;
    }
    FAIL("it was accepted: " << text);
    throw std::logic_error("unreachable");
}

std::string told(const GaugeFile& file) {
    for (const FilmFlag& flag : file.flags)
        if (flag.kind == FilmFlagKind::taken_for) return flag.text;
    return "";
}

/// `count` lines of 100 µm and on, a µm more each.
std::string values(int count, const std::string& before = "", const std::string& after = "") {
    std::string text;
    for (int k = 0; k < count; ++k) text += before + std::to_string(100 + k) + after + "\n";
    return text;
}

} // namespace

TEST_CASE("Readings without places lie on the gauge spots in their order, and it is told", "[readings]") {
    const SpotPattern spots = reading_spots(shape(), 3, 4);
    const GaugeFile once = read_text("Film [\xC2\xB5m]\n" + values(12));
    REQUIRE(once.readings.size() == 12);
    CHECK(norm(once.readings[5].at - spots.spots[5]) < 1e-9);
    CHECK(once.readings[5].film_um == 105);
    CHECK_THAT(told(once),
               Contains("12 readings, µm, total film (the file does not say which film), laid on 12 "
                        "gauge spots (3 x 4, row by row from the top left) in order, 1 each"));
    const GaugeFile thrice = read_text("\xEF\xBB\xBF"
                                       "Nr;TOTAL (um);Date\n" +
                                       values(36, "7;", ",5;1.1.") + ";;\n;;\n\n");
    REQUIRE(thrice.readings.size() == 12);
    CHECK(thrice.readings[1].film_um == Approx(104.5)); // 103.5, 104.5, 105.5
    CHECK(thrice.readings[1].n == 3);
    CHECK_THAT(told(thrice), Contains("decimal comma") && Contains("total film, laid") &&
                                 Contains("3 each") && Contains("passed over: Nr, Date"));
    CHECK(thrice.flags.size() == 1); // not once for each spot
    CHECK_THAT(refusal("total um\n" + values(37)).found(),
               Contains("37 readings for 12 gauge spots: 3 each, and 1 left over"));
    CHECK_THAT(refusal("total um\n" + values(5)).found(), Contains("5 readings for 12 gauge spots"));
    CHECK(read_text("spots,1x5\ntotal um\n" + values(5)).readings.size() == 5);
    CHECK_THAT(refusal("spots,1xfive\ntotal um\n" + values(5)).allowed(), Contains("such as 3x4"));
}

TEST_CASE("A spot's number, letter and number, or group says where readings lie", "[readings]") {
    const SpotPattern spots = reading_spots(shape(), 3, 4);
    const GaugeFile numbers = read_text("clear coat mil\tSPOT\n1,6\t12\n1,7\t2\n1,8\t2\n");
    REQUIRE(numbers.readings.size() == 2);
    CHECK(norm(numbers.readings[0].at - spots.spots[11]) < 1e-9);
    CHECK(numbers.readings[1].film_um == Approx(1.75 * 25.4));
    CHECK(numbers.readings[0].of_clear);
    CHECK_THAT(told(numbers),
               Contains("mil, clear coat, laid on") && Contains("by their names, 1 to 2 each"));
    const GaugeFile letters = read_text("spot;total\nb3;112 µm\nA1;4.5 mil\n");
    CHECK(norm(letters.readings[0].at - spots.spots[6]) < 1e-9);
    CHECK(letters.readings[1].film_um == Approx(4.5 * 25.4));
    const GaugeFile groups = read_text("spots;1x2\nTotal µm\nGroup: roof\n110\n112\nGroup: hood\n120\n122\n");
    REQUIRE(groups.readings.size() == 2);
    CHECK(groups.readings[1].film_um == 121);
    CHECK_THAT(refusal("group;total µm\nroof;110\nhood;120\n").found(),
               Contains("2 groups of readings for 12 gauge spots"));
    CHECK(refusal("spot;total µm\n1;110\n13;120\n").place() == "line 3");
    CHECK_THAT(refusal("spot;total µm\n1;110\n13;120\n").allowed(), Contains("1 to 12, or A1 to C4"));
    CHECK_THAT(refusal("spot;total µm\n1;110\n;120\n").found(), Contains("without a spot"));
}

TEST_CASE("Several readings of a spot stand in one row, and places may have any unit and order",
          "[readings]") {
    const GaugeFile row =
        read_text("spots;1x2\nReading 1 (µm);Reading 2 (µm);Reading 3 (µm)\n110;112;114\n120;122;\n");
    REQUIRE(row.readings.size() == 2);
    CHECK((row.readings[0].film_um == 112 && row.readings[0].n == 3));
    CHECK((row.readings[1].film_um == 121 && row.readings[1].n == 2));
    const GaugeFile placed = read_text("panel;test-plate\nTotal;Y [cm];Unit;X [mm]\n112,5;5;µm;100\n");
    REQUIRE(placed.readings.size() == 1);
    CHECK(norm(placed.readings[0].at - Point2{0.1, 0.05}) < 1e-9);
    CHECK(read_text("\"Film, total\",Unit,spot\n\"112,5\",um,3\n").readings[0].film_um == 112.5);
    CHECK(read_text("total um\n" + values(12, "", ",5")).readings[11].film_um == 111.5);
    CHECK(read_text("Unit;mil\nStored readings of today\nspot;total\n3;4,5\n").readings[0].film_um ==
          Approx(114.3));
}

TEST_CASE("What a gauge's file leaves open is asked for, with the way out", "[readings]") {
    const auto [text, place, found,
                allowed] = GENERATE(table<std::string, std::string, std::string, std::string>({
        {"spot;total\n1;112\n", "line 2", "\"112\" under \"total\" without a unit",
         "a first line \"unit;µm\""},
        {"spot;total µm\n1;112,5\n2;112.5\n", "line 3", "decimal commas and decimal points", "throughout"},
        {"spot;colour;total µm\n1;red;112\n", "line 1", "a column \"colour\"", "passed over"},
        {"spot;total µm;total mil\n1;112;4\n", "line 1", "twice, or in two units", "\"reading 1\""},
        {"spot;reading 1 µm;mean reading µm\n1;112;112\n", "line 1", "single readings and their mean",
         "the other"},
        {"x mm;total µm\n100;112\n", "line 1", "x without y", "both"},
        {"spot;total µm\n1;4.4\n", "line 2", "did you mean mil", "20 to 2000"},
        {"spot;total µm\n1;112 mil\n", "line 2", "in another unit", "heading's unit"},
        {"spot;total µm\n1;112 kg\n", "line 2", "\"112 kg\"", "µm, mil or mm"},
        {"spot;total µm\n1;thick\n2;112\n", "line 2", "\"thick\"", "112,5"},
        {"spot;total µm;clear µm\n1;112;113\n", "line 2", "113 µm of clear coat", "part of the total"},
        {"spot,total µm\n1,112,5\n2,110\n", "line 2", "3 values", "semicolons or tabs"},
        {"110;112\n114;116\n", "line 1", "no heading", "spot; total µm"},
        {"panel;other\nspot;total µm\n1;112\n", "line 1", "\"other\"", "test-plate"},
        {"x_mm;y_mm;total_um\n100;50;112\n", "line 1", "no name of the panel", "panel"},
        {"spot;total µm\n", "line 1", "no readings", "one reading"},
    }));
    INFO(text);
    const InputError error = refusal(text);
    CHECK(error.place() == place);
    CHECK_THAT(error.found(), Contains(found));
    CHECK_THAT(error.allowed(), Contains(allowed));
}

TEST_CASE("Pasted readings that name spots and units go through the same reader", "[readings]") {
    const SpotPattern pattern = reading_spots(shape(), 2, 3);
    const PasteTerms terms{shape(), pattern, "test-plate"};
    std::string words;
    const std::vector<GaugeReading> readings =
        read_pasted("Spot\tClear coat (mil)\n4\t1,6\n1\t1,7\n", terms, &words);
    REQUIRE(readings.size() == 2);
    CHECK(norm(readings[0].at - pattern.spots[3]) < 1e-9);
    CHECK((readings[0].of_clear && readings[0].film_um == Approx(1.6 * 25.4)));
    CHECK_THAT(words, Contains("2 readings, decimal comma, mil, clear coat, laid on 6 gauge spots"));
    words.clear();
    CHECK(read_pasted("Film µm\n110\n111\n", terms, &words).size() == 2); // begun at the first spot
    CHECK(read_pasted("110\n111\n", terms, &words).size() == 2);
    try {
        read_pasted("Spot\tTotal µm\n7\t112\n", terms);
        FAIL("it was accepted");
    } catch (const InputError& error) {
        CHECK(error.place() == "row 2");
    }
}

} // namespace test_gauge_export
