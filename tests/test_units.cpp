#include "units/quantity.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <rapidcheck.h>
#include <regex>
#include <set>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace test_units {
using namespace sparecoat::cli;

namespace {

std::string refusal(const std::string& text, Dim dim) {
    try {
        parse_quantity(text, dim);
    } catch (const std::invalid_argument& error) {
        return error.what();
    }
    return "nothing: it was accepted";
}

/// Whether the parser takes a text, or would but for a number that no double holds, which a pattern
/// cannot know.
bool is_well_formed(const std::string& text, Dim dim) {
    try {
        parse_quantity(text, dim);
    } catch (const std::invalid_argument& error) {
        return std::string(error.what()).find("too large or too small") != std::string::npos;
    }
    return true;
}

} // namespace

// Long because it is a table of quantities, a row each.
TEST_CASE("a quantity reads to SI in each of its units") {
    struct Row {
        Dim dim;
        const char* text;
        double si;
    };
    const double turn = 2 * pi;
    const std::vector<Row> rows{
        {Dim::none, "0.5", 0.5},
        {Dim::none, "50 %", 0.5},
        {Dim::none, "-3", -3},
        {Dim::length, "400 nm", 400e-9},
        {Dim::length, "40 µm", 40e-6},
        {Dim::length, "15 mm", 0.015},
        {Dim::length, "3 cm", 0.03},
        {Dim::length, "1.5 m", 1.5},
        {Dim::length, "4 mil", 101.6e-6},
        {Dim::length, "6 in", 0.1524}, // inch: 25.4 mm by definition
        {Dim::speed, "40 mm/s", 0.04},
        {Dim::speed, "2 m/s", 2},
        {Dim::speed, "3 m/min", 0.05},
        {Dim::acceleration, "500 mm/s²", 0.5},
        {Dim::acceleration, "1 m/s2", 1},
        {Dim::rotation, "7 rad/s", 7},
        {Dim::rotation, "4500/min", 75 * turn},
        {Dim::rotation, "4500 1/min", 75 * turn},
        {Dim::rotation, "4500 rpm", 75 * turn},
        {Dim::rotation, "4500 turns/min", 75 * turn},
        {Dim::rotation, "75 Hz", 75 * turn},
        {Dim::angle, "1 rad", 1},
        {Dim::angle, "90 deg", pi / 2},
        {Dim::angle, "90°", pi / 2},
        {Dim::force, "45 N", 45},
        {Dim::force, "1.2 kN", 1200},
        {Dim::force, "5 kgf", 49.03325},         // standard gravity 9.80665 m/s² (CGPM 1901)
        {Dim::force, "10 lbf", 44.482216152605}, // 0.45359237 kg x standard gravity
        {Dim::mass, "350 g", 0.35},
        {Dim::mass, "2.6 kg", 2.6},
        {Dim::time, "50 ms", 0.05},
        {Dim::time, "90 s", 90},
        {Dim::time, "1.5 min", 90},
        {Dim::time, "2 h", 7200},
        {Dim::pressure, "60 kPa", 60e3},
        {Dim::pressure, "5 Pa", 5},
        {Dim::pressure, "2 MPa", 2e6},
        {Dim::pressure, "210 GPa", 210e9},
        {Dim::torque, "0.1 N m", 0.1},
        {Dim::torque, "100 mN m", 0.1},
        {Dim::torque_per_rate, "1e-5 N m s/rad", 1e-5},
        {Dim::torque_per_rate, "1e-5 N m s", 1e-5},
        {Dim::torque_per_rate, "0.01 mN m s", 1e-5},
        {Dim::rotary_stiffness, "30 N m/rad", 30},
        {Dim::rotary_stiffness, "1 N m/deg", 180 / pi},
        {Dim::inertia, "2.5 kg cm2", 2.5e-4},
        {Dim::inertia, "0.25 g m2", 2.5e-4},
        {Dim::inertia, "1 kg m²", 1},
        {Dim::energy_area, "120 kJ/m2", 120e3},
        {Dim::energy_area, "5 J/m²", 5},
        {Dim::power, "900 W", 900},
        {Dim::power, "0.9 kW", 900},
        {Dim::density, "7850 kg/m3", 7850},
        {Dim::density, "7.85 g/cm³", 7850},
        {Dim::heat_capacity, "460 J/(kg K)", 460},
        {Dim::heat_capacity, "460 J/kg/K", 460},
        {Dim::heat_capacity, "0.46 kJ/(kg K)", 460},
        {Dim::conductivity, "50 W/(m K)", 50},
        {Dim::conductivity, "50 W/m/K", 50},
        {Dim::temperature, "20 °C", 20},
        {Dim::temperature, "20 C", 20},
        {Dim::temperature, "20 degC", 20},
        {Dim::temperature, "293.15 K", 20},
        {Dim::temperature_difference, "20 K", 20},
        {Dim::area_density, "1.2 kg/m2", 1.2},
        {Dim::area_density, "1200 g/m2", 1.2},
    };
    std::set<Dim> seen;
    for (const Row& row : rows) {
        INFO(row.text);
        // A few roundings of a double each; the offset of kelvin loses three more digits.
        CHECK(parse_quantity(row.text, row.dim) == Approx(row.si).epsilon(1e-13));
        seen.insert(row.dim);
    }
    CHECK(seen.size() == all_dims().size());
}

TEST_CASE("a whole number with a decimal prefix reads to the same double as the number it stands for") {
    CHECK(parse_quantity("145 mm", Dim::length) == 0.145);
    CHECK(parse_quantity("35 um", Dim::length) == 35e-6);
    CHECK(parse_quantity("70 kPa", Dim::pressure) == 70e3);
    CHECK(parse_quantity("30 %", Dim::none) == 0.3);
    CHECK(parse_quantity("5 cm", Dim::length) == parse_quantity("50 mm", Dim::length));
}

TEST_CASE("a decimal reads to the same double in each unit that is a power of ten of another") {
    for (int whole = 1; whole < 20000;
         ++whole) { // the multiplication by 1000 misses one in fifty, the division one in four
        INFO(whole);
        REQUIRE(parse_quantity(fmt::format("{:.1f} kPa", whole / 10.0), Dim::pressure) ==
                parse_quantity(fmt::format("{} Pa", whole * 100), Dim::pressure));
        REQUIRE(parse_quantity(fmt::format("{:.1f} mm", whole / 10.0), Dim::length) ==
                parse_quantity(fmt::format("{:.4f} m", whole / 10000.0), Dim::length));
    }
    CHECK(parse_quantity("2.3e-2 MPa", Dim::pressure) == 23000);
    CHECK(parse_quantity("2.3E+1 kPa", Dim::pressure) == 23000);
    CHECK(parse_quantity("-.5 mm", Dim::length) == -0.0005);
    CHECK_THROWS_AS(parse_quantity("1e99999999999 mm", Dim::length), std::invalid_argument);
    CHECK_THROWS_AS(parse_quantity("1e306 kPa", Dim::pressure), std::invalid_argument);
}

TEST_CASE("micro may be written in three ways, squares and products too") {
    for (const char* text : {"12 \u00b5m", "12 \u03bcm", "12 um", "12um", "  12   um  "})
        CHECK(parse_quantity(text, Dim::length) == 12e-6);
    for (const char* text : {"2 m/s²", "2 m/s2", "2 m/s^2", "2m/s2", "2 m / s2"})
        CHECK(parse_quantity(text, Dim::acceleration) == 2);
    for (const char* text : {"2 N m", "2 Nm", "2 N·m", "2 N · m", "2N  m"})
        CHECK(parse_quantity(text, Dim::torque) == 2);
    for (const char* text : {"4500/min", "4500 /min", "4500 / min", "4.5e3/min", "+4500./min"})
        CHECK(parse_quantity(text, Dim::rotation) == Approx(75 * 2 * pi));
}

TEST_CASE("units are told apart by case") {
    CHECK(parse_quantity("1 MPa", Dim::pressure) == 1e6);
    CHECK(refusal("1 mPa", Dim::pressure) == "\"1 mPa\" with a unit \"mPa\"; did you mean \"MPa\"");
    CHECK(refusal("15 MM", Dim::length) == "\"15 MM\" with a unit \"MM\"; did you mean \"mm\"");
    CHECK(parse_quantity("3 N m", Dim::torque) == 3);
    CHECK(parse_quantity("3 nm", Dim::length) == 3e-9);
}

TEST_CASE("a refused quantity says what is wrong with it") {
    CHECK(refusal("15", Dim::length) == "\"15\" without a unit");
    CHECK(refusal("15 kPa", Dim::length) == "\"15 kPa\", a pressure, not a length");
    CHECK(refusal("15 mm", Dim::angle) == "\"15 mm\", a length, not an angle");
    CHECK(refusal("50 %", Dim::length) == "\"50 %\", a pure number, not a length");
    CHECK(refusal("1 N m s", Dim::torque) == "\"1 N m s\", a torque per rotation speed, not a torque");
    CHECK(refusal("15 ells", Dim::length) == "\"15 ells\" with an unknown unit \"ells\"");
    CHECK(refusal("0,5 mm", Dim::length) ==
          "\"0,5 mm\" with a comma in the number; write a decimal point and no thousands mark");
    CHECK(refusal("15\u00a0mm", Dim::length) == "\"15\u00a0mm\" with a blank that is no plain space");
    for (const char* text : {"", " ", "mm", "nan mm", "inf mm", "-inf m", ".", "- 5 mm", "e5 m", "0x10 m"}) {
        INFO(text);
        CHECK_THROWS_AS(parse_quantity(text, Dim::length), std::invalid_argument);
    }
    CHECK(refusal("nan mm", Dim::length) == "\"nan mm\", which does not start with a number");
    CHECK(refusal("1e999 mm", Dim::length) == "\"1e999 mm\", a number too large or too small to be kept");
    CHECK(refusal("1e308 kN", Dim::force) == "\"1e308 kN\", a number too large or too small to be kept");
    CHECK(refusal(std::string(101, '1'), Dim::none) ==
          "\"11111111111111111111...\", longer than 100 characters");
}

TEST_CASE("the list of accepted units is as a person would write it") {
    CHECK(accepted_units(Dim::length) == "nm, µm, mm, cm, m, mil, in");
    CHECK(accepted_units(Dim::rotation) == "rad/s, /min, 1/min, rpm, turns/min, Hz");
    CHECK(accepted_units(Dim::none) == "%");
}

TEST_CASE("no unit but the kelvin belongs to two dimensions, so a wrong one can be named") {
    for (Dim dim : all_dims()) {
        for (std::string_view unit : units_of(dim)) {
            if (unit.empty()) continue;
            for (Dim other : all_dims()) {
                INFO(unit << " of " << name_of(dim) << " read as " << name_of(other));
                const std::string text = "1 " + std::string(unit);
                const auto thermal = [](Dim d) {
                    return d == Dim::temperature || d == Dim::temperature_difference;
                };
                const bool shared = unit == "K" && thermal(dim) && thermal(other);
                if (other == dim || shared) CHECK_NOTHROW(parse_quantity(text, other));
                else CHECK_THROWS_AS(parse_quantity(text, other), std::invalid_argument);
            }
        }
    }
}

TEST_CASE("a value is printed in the unit a person would choose") {
    CHECK(print_quantity(0.15, Dim::length) == "150 mm");
    CHECK(print_quantity(0.0007, Dim::length) == "0.7 mm");
    CHECK(print_quantity(40e-6, Dim::length) == "40 µm");
    CHECK(print_quantity(4e-7, Dim::length) == "0.4 µm");
    CHECK(print_quantity(1.5, Dim::length) == "1.5 m");
    CHECK(print_quantity(-0.075, Dim::length) == "-75 mm");
    CHECK(print_quantity(0, Dim::length) == "0 mm");
    CHECK(print_quantity(-0.0, Dim::angle) == "0 deg");
    CHECK(print_quantity(75 * 2 * pi, Dim::rotation) == "4500/min");
    CHECK(print_quantity(20000 * per_min, Dim::rotation) == "20000/min");
    CHECK(print_quantity(7000, Dim::pressure) == "7 kPa");
    CHECK(print_quantity(2.5e-4, Dim::inertia) == "2.5 kg cm²");
    CHECK(print_quantity(0.3, Dim::none) == "0.3");
    CHECK(print_quantity(0.123456, Dim::length, 3) == "123 mm");
    CHECK(print_in(0.15, Dim::length, "in", 3) == "5.91 in");
    CHECK(print_in(20, Dim::temperature, "K", 5) == "293.15 K");
    CHECK_THROWS_AS(print_in(1, Dim::length, "Pa"), std::invalid_argument);
}

TEST_CASE("what is printed in any unit of any dimension reads back to the same value") {
    constexpr int all_digits = 17; // enough to give a double back exactly
    for (Dim dim : all_dims()) {
        const std::regex pattern(quantity_pattern(dim));
        for (std::string_view unit : units_of(dim)) {
            const auto round_trip = [&](int mantissa, unsigned char exponent) {
                const double si = mantissa * std::pow(10.0, exponent % 24 - 18);
                const std::string text = print_in(si, dim, unit, all_digits);
                // There and back are four roundings; kelvin rounds at the size of 273 K as well.
                const double slack = 1e-15 * (std::abs(si) + (unit == "K" ? 300 : 0));
                RC_ASSERT(std::abs(parse_quantity(text, dim) - si) <= slack);
                RC_ASSERT(std::regex_match(text, pattern));
            };
            INFO(name_of(dim) << " in " << unit);
            CHECK(rc::check(round_trip));
        }
    }
}

TEST_CASE("the pattern of a schema accepts exactly the texts that the parser accepts") {
    std::vector<std::pair<Dim, std::regex>> patterns;
    for (Dim dim : all_dims()) patterns.emplace_back(dim, quantity_pattern(dim));
    // Pieces of numbers and units: put together at random they make texts right, nearly right and wrong.
    const std::vector<std::string> pieces{
        "1", "45", ".",   "0.5", "e",   "E3",    "e-2", "+", "-", " ",  "  ", "/",   "m", "mm", "µ", "μ",
        "u", "s",  "²",   "2",   "^2",  "³",     "N",   "·", "k", "g",  "Pa", "J",   "W", "K",  "(", ")",
        "°", "C",  "deg", "rad", "min", "1/min", "rpm", "%", "h", "Hz", "in", "mil", "c", "n",  "f"};
    const auto agree = [&](const std::vector<unsigned>& choice, unsigned which, bool start_with_number) {
        std::string text = start_with_number ? "12 " : "";
        for (std::size_t i = 0; i < std::min<std::size_t>(choice.size(), 7); ++i)
            text += pieces[choice[i] % pieces.size()];
        const auto& [dim, pattern] = patterns[which % patterns.size()];
        RC_ASSERT(is_well_formed(text, dim) == std::regex_search(text, pattern));
    };
    CHECK(rc::check(agree));

    // And where units really are, with the pieces that matter swapped and dropped.
    for (const auto& [dim, pattern] : patterns) {
        for (std::string_view unit : units_of(dim)) {
            const std::string whole = "4.5e1 " + std::string(unit);
            for (std::size_t cut = 0; cut <= whole.size(); ++cut) {
                for (const std::string& piece : pieces) {
                    const std::string text =
                        whole.substr(0, cut) + piece + whole.substr(std::min(cut + 1, whole.size()));
                    if (is_well_formed(text, dim) != std::regex_search(text, pattern))
                        FAIL_CHECK(text << " as " << name_of(dim));
                }
            }
        }
    }
}

} // namespace test_units
