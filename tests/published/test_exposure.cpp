// Hand-arm vibration against published worked figures.
#include "decide/exposure.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

namespace test_exposure {
using namespace sparecoat::cli;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {
constexpr double hour = 3600;
}

TEST_CASE("Points follow the regulator's ready reckoner", "[exposure]") {
    // Health and Safety Executive (UK), "Hand-arm vibration exposure calculator: ready-reckoner": 5 m/s² for
    // 3 hours is 150 points, over the action value.
    const VibrationTask task{"grinding", 5, 3 * hour};
    CHECK_THAT(exposure_points(task), WithinAbs(150, 1e-9));
    CHECK(day_exposure(std::vector{task}).stands == ExposureStands::over_action);
    // The same body's rule of thumb: 2 a² points an hour.
    for (const double a : {1.0, 2.5, 4.0, 7.0, 12.0})
        CHECK_THAT(exposure_points({"", a, hour}), WithinRel(2 * a * a, 1e-12));
}

TEST_CASE("The directive's two values are 100 and 400 points over eight hours", "[exposure]") {
    // Directive 2002/44/EC, article 3; ISO 5349-1:2001.
    CHECK_THAT(exposure_points({"", exposure_action_m_s2, 8 * hour}), WithinAbs(100, 1e-9));
    CHECK_THAT(exposure_points({"", exposure_limit_m_s2, 8 * hour}), WithinAbs(400, 1e-9));
    CHECK(day_exposure(std::vector<VibrationTask>{{"", 2.5, 8 * hour}}).stands ==
          ExposureStands::over_action);
    CHECK(day_exposure(std::vector<VibrationTask>{{"", 2.5, 8 * hour - 1}}).stands ==
          ExposureStands::under_action);
    CHECK(day_exposure(std::vector<VibrationTask>{{"", 5, 8 * hour}}).stands == ExposureStands::over_limit);
}

namespace {

/// A day as a published example has it: what each task comes to, and all of them, rounded as printed there.
struct WorkedDay {
    std::vector<VibrationTask> tasks;
    std::vector<double> partial_m_s2; ///< empty where the example gives the day alone
    double a8_m_s2 = 0;
};

void check_day(const WorkedDay& day) {
    constexpr double printed = 0.05 + 1e-9; // examples are printed to a tenth
    for (std::size_t k = 0; k < day.partial_m_s2.size(); ++k) {
        INFO(day.tasks[k].what);
        CHECK_THAT(daily_exposure_m_s2(day.tasks[k]), WithinAbs(day.partial_m_s2[k], printed));
    }
    INFO(day.tasks.front().what << " and the rest of its day");
    CHECK_THAT(day_exposure(day.tasks).a8_m_s2, WithinAbs(day.a8_m_s2, printed));
}

} // namespace

TEST_CASE("The standard's worked days come out as printed", "[exposure]") {
    // ISO 5349-2:2001, annex E (E.2.1, E.2.4 and E.3), and ISO 5349-1:2001, 5.3; figures as others quote
    // them, not read in the standard itself. E.2.4: 1000 nuts a day, 5 of them in a measurement of 20 s, so
    // 4000 s.
    check_day({{{"one tool", 7.4, 2.5 * hour}}, {}, 4.1});
    check_day({{{"nut runner", 14.6, 4000}}, {}, 5.4});
    check_day({{{"brush saw", 4.6, 2 * hour}, {"felling", 6.0, hour}, {"stripping", 3.6, 2 * hour}},
               {2.3, 2.1, 1.8},
               3.6});
    check_day({{{"first", 2, hour}, {"second", 3.5, 3 * hour}, {"third", 10, 0.5 * hour}}, {}, 3.4});
}

TEST_CASE("The good practice guide's worked days come out as printed, in exposures and in points",
          "[exposure]") {
    // Guide to good practice on hand-arm vibration (European Commission, 2006), its examples of daily
    // exposure and of the points system; from memory.
    const WorkedDay grinder{{{"grinder", 4, 2.5 * hour}}, {2.2}, 2.2};
    const WorkedDay forester{{{"brush cutter", 4, 2 * hour}, {"chain saw", 6, hour}}, {2.0, 2.1}, 2.9};
    const WorkedDay fettler{
        {{"angle grinder", 4, 2.5 * hour}, {"angle cutter", 3, hour}, {"chipping hammer", 20, 0.25 * hour}},
        {2.2, 1.1, 3.5},
        4.3};
    for (const WorkedDay& day : {grinder, forester, fettler}) check_day(day);
    const auto points = [](const WorkedDay& day) { return std::round(day_exposure(day.tasks).points); };
    CHECK(points(grinder) == 80);
    CHECK(points(forester) == 64 + 72);
    CHECK(points(fettler) == 80 + 18 + 200);
    CHECK(day_exposure(grinder.tasks).stands == ExposureStands::under_action);
    CHECK(day_exposure(fettler.tasks).stands == ExposureStands::over_action);
}

TEST_CASE("Partial exposures add in squares, their points plainly", "[exposure]") {
    // ISO 5349-1:2001, equation 3, here with partial exposures of 2, 3 and 6 m/s² that make a whole number.
    const std::vector<VibrationTask> day{
        {"polishing", 4, 2 * hour}, {"sanding", 6, 2 * hour}, {"drilling", 12, 2 * hour}};
    const double squares = std::pow(daily_exposure_m_s2(day[0]), 2) +
                           std::pow(daily_exposure_m_s2(day[1]), 2) +
                           std::pow(daily_exposure_m_s2(day[2]), 2);
    CHECK_THAT(squares, WithinRel(4.0 + 9.0 + 36.0, 1e-12));
    const DayExposure all = day_exposure(day);
    CHECK_THAT(all.a8_m_s2, WithinRel(7.0, 1e-12));
    CHECK_THAT(all.points, WithinRel(100 * 49 / 6.25, 1e-12));
    CHECK(all.to_action_s == 0);
    CHECK(all.to_limit_s == 0);
}

TEST_CASE("What is left of the day reaches the values just so", "[exposure]") {
    std::vector<VibrationTask> day{{"polishing", 3, hour}};
    const DayExposure before = day_exposure(day);
    REQUIRE(before.to_action_s > 0);
    day.front().time_s += before.to_action_s;
    CHECK_THAT(day_exposure(day).a8_m_s2, WithinRel(exposure_action_m_s2, 1e-12));
    CHECK(std::isinf(day_exposure(std::vector<VibrationTask>{{"by hand", 0, hour}}).to_limit_s));
}

TEST_CASE("What is no exposure is refused", "[exposure]") {
    CHECK_THROWS_AS(daily_exposure_m_s2({"", -1, hour}), std::invalid_argument);
    CHECK_THROWS_AS(exposure_points({"", std::numeric_limits<double>::quiet_NaN(), hour}),
                    std::invalid_argument);
    CHECK_THROWS_AS(exposure_points({"", 3, 25 * hour}), std::invalid_argument);
    CHECK_THROWS_AS(day_exposure({}), std::invalid_argument);
    const std::vector<VibrationTask> long_day{{"", 1, 13 * hour}, {"", 1, 13 * hour}};
    CHECK_THROWS_AS(day_exposure(long_day), std::invalid_argument);
}

} // namespace test_exposure
