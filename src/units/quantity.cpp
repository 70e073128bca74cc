#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <optional>
#include <span>
#include <stdexcept>

namespace sparecoat::units {

namespace {

/// A unit suffix. SI value = number * multiply / divide + offset: the scale is a fraction so that
/// whole numbers stay exact ("15 mm" is the double nearest to 0.015, as 15 * 1e-3 need not be).
///
/// In a spelling some characters stand for more than themselves: µ for µ, μ or u; ² and ³ for 2 and 3
/// with or without ^; a blank for blanks, a middle dot or nothing; / for / with blanks around it.
struct Unit {
    std::string_view spelling;
    double multiply = 1, divide = 1, offset = 0;
    double shown_from = 0; ///< print_quantity may choose it for numbers of this size and up; 0 = never does
};

/// A dimension: its names, its units (the shown ones from small to large) and the unit 0 is shown in.
struct Dimension {
    Dim dim;
    std::string_view name, si;
    std::span<const Unit> units;
    std::string_view zero_unit = si;
};

constexpr double standard_gravity = 9.80665;    // m/s², exact by definition (CGPM 1901)
constexpr double pound_force = 4.4482216152605; // N, exact: 0.45359237 kg x standard gravity
constexpr double zero_celsius_k = 273.15;       // K, exact by definition

constexpr Unit none_units[] = {{"", 1, 1, 0, 1}, {"%", 1, 100}};
constexpr Unit length_units[] = {{"nm", 1, 1e9},  {"µm", 1, 1e6, 0, 1}, {"mm", 1, 1e3, 0, 0.5},
                                 {"cm", 1, 100},  {"m", 1, 1, 0, 1},    {"mil", 254, 1e7},
                                 {"in", 254, 1e4}};
constexpr Unit speed_units[] = {{"mm/s", 1, 1e3, 0, 1}, {"m/s", 1, 1, 0, 1}, {"m/min", 1, 60}};
constexpr Unit acceleration_units[] = {{"mm/s²", 1, 1e3}, {"m/s²", 1, 1, 0, 1}};
constexpr Unit rotation_units[] = {{"rad/s"},           {"/min", 2 * pi, 60, 0, 1}, {"1/min", 2 * pi, 60},
                                   {"rpm", 2 * pi, 60}, {"turns/min", 2 * pi, 60},  {"Hz", 2 * pi, 1}};
constexpr Unit angle_units[] = {{"rad"}, {"deg", pi, 180, 0, 1}, {"°", pi, 180}};
constexpr Unit force_units[] = {
    {"N", 1, 1, 0, 1}, {"kN", 1e3, 1, 0, 1}, {"kgf", standard_gravity}, {"lbf", pound_force}};
constexpr Unit mass_units[] = {{"g", 1, 1e3, 0, 1}, {"kg", 1, 1, 0, 1}};
constexpr Unit time_units[] = {{"ms", 1, 1e3, 0, 1}, {"s", 1, 1, 0, 1}, {"min", 60}, {"h", 3600}};
constexpr Unit pressure_units[] = {
    {"Pa", 1, 1, 0, 1}, {"kPa", 1e3, 1, 0, 1}, {"MPa", 1e6, 1, 0, 1}, {"GPa", 1e9, 1, 0, 1}};
constexpr Unit torque_units[] = {{"mN m", 1, 1e3, 0, 1}, {"N m", 1, 1, 0, 1}};
constexpr Unit torque_per_rate_units[] = {
    {"N m s"}, {"N m s/rad", 1, 1, 0, 1}, {"mN m s", 1, 1e3}, {"mN m s/rad", 1, 1e3}};
constexpr Unit rotary_stiffness_units[] = {{"N m/rad", 1, 1, 0, 1}, {"N m/deg", 180, pi}};
constexpr Unit inertia_units[] = {{"g m²", 1, 1e3}, {"kg cm²", 1, 1e4, 0, 1}, {"kg m²", 1, 1, 0, 1}};
constexpr Unit energy_area_units[] = {{"J/m²", 1, 1, 0, 1}, {"kJ/m²", 1e3, 1, 0, 1}};
constexpr Unit power_units[] = {{"W", 1, 1, 0, 1}, {"kW", 1e3}};
constexpr Unit density_units[] = {{"kg/m³", 1, 1, 0, 1}, {"g/cm³", 1e3}};
constexpr Unit heat_capacity_units[] = {{"J/(kg K)", 1, 1, 0, 1}, {"J/kg/K"}, {"kJ/(kg K)", 1e3}};
constexpr Unit conductivity_units[] = {{"W/(m K)", 1, 1, 0, 1}, {"W/m/K"}};
constexpr Unit temperature_units[] = {{"°C", 1, 1, 0, 1}, {"C"}, {"degC"}, {"K", 1, 1, -zero_celsius_k}};
constexpr Unit temperature_difference_units[] = {{"K", 1, 1, 0, 1}};
constexpr Unit area_density_units[] = {{"g/m²", 1, 1e3, 0, 1}, {"kg/m²", 1, 1, 0, 1}};

/// In the order of Dim, so that a dimension is found by its number.
constexpr std::array dimensions{
    Dimension{Dim::none, "pure number", "", none_units},
    Dimension{Dim::length, "length", "m", length_units, "mm"},
    Dimension{Dim::speed, "speed", "m/s", speed_units, "mm/s"},
    Dimension{Dim::acceleration, "acceleration", "m/s²", acceleration_units},
    Dimension{Dim::rotation, "rotation speed", "rad/s", rotation_units, "/min"},
    Dimension{Dim::angle, "angle", "rad", angle_units, "deg"},
    Dimension{Dim::force, "force", "N", force_units},
    Dimension{Dim::mass, "mass", "kg", mass_units},
    Dimension{Dim::time, "time", "s", time_units},
    Dimension{Dim::pressure, "pressure", "Pa", pressure_units},
    Dimension{Dim::torque, "torque", "N m", torque_units},
    Dimension{Dim::torque_per_rate, "torque per rotation speed", "N m s/rad", torque_per_rate_units},
    Dimension{Dim::rotary_stiffness, "rotary stiffness", "N m/rad", rotary_stiffness_units},
    Dimension{Dim::inertia, "moment of inertia", "kg m²", inertia_units, "kg cm²"},
    Dimension{Dim::energy_area, "energy per area", "J/m²", energy_area_units},
    Dimension{Dim::power, "power", "W", power_units},
    Dimension{Dim::density, "density", "kg/m³", density_units},
    Dimension{Dim::heat_capacity, "heat capacity", "J/(kg K)", heat_capacity_units},
    Dimension{Dim::conductivity, "thermal conductivity", "W/(m K)", conductivity_units},
    Dimension{Dim::temperature, "temperature", "°C", temperature_units},
    Dimension{Dim::temperature_difference, "temperature difference", "K", temperature_difference_units},
    Dimension{Dim::area_density, "mass per area", "kg/m²", area_density_units},
};

constexpr bool in_order() {
    for (std::size_t i = 0; i < dimensions.size(); ++i)
        if (static_cast<std::size_t>(dimensions[i].dim) != i) return false;
    return true;
}
static_assert(in_order(), "dimensions must follow the order of Dim");

const Dimension& dimension(Dim dim) { return dimensions[static_cast<std::size_t>(dim)]; }

/// One character of a spelling with what it may be written as: its longest form first.
struct Glyph {
    std::string_view glyph;                  ///< bytes of the character in a spelling
    std::array<std::string_view, 3> written; ///< "" after the last
    bool blanks_around = false;              ///< blanks before and after are passed over
    bool optional = false;                   ///< may be left out
};
constexpr std::array special_glyphs{
    Glyph{"µ", {"µ", "μ", "u"}},           Glyph{"²", {"²", "^2", "2"}},    Glyph{"³", {"³", "^3", "3"}},
    Glyph{" ", {"·", "", ""}, true, true}, Glyph{"/", {"/", "", ""}, true},
};

/// Takes the next character off a spelling.
Glyph next_glyph(std::string_view& spelling) {
    for (const Glyph& special : special_glyphs) {
        if (!spelling.starts_with(special.glyph)) continue;
        spelling.remove_prefix(special.glyph.size());
        return special;
    }
    const Glyph plain{spelling.substr(0, 1), {spelling.substr(0, 1), "", ""}};
    spelling.remove_prefix(1);
    return plain;
}

void skip_blanks(std::string_view& text) {
    while (text.starts_with(' ')) text.remove_prefix(1);
}

bool take(std::string_view& text, const Glyph& glyph) {
    if (glyph.blanks_around) skip_blanks(text);
    bool found = glyph.optional;
    for (std::string_view form : glyph.written) {
        if (form.empty() || !text.starts_with(form)) continue;
        text.remove_prefix(form.size());
        found = true;
        break;
    }
    if (glyph.blanks_around) skip_blanks(text);
    return found;
}

/// Whether a suffix, free of blanks at both ends, is this unit.
bool is_spelled(std::string_view suffix, std::string_view spelling) {
    while (!spelling.empty())
        if (!take(suffix, next_glyph(spelling))) return false;
    return suffix.empty();
}

/// The same rule as is_spelled, as a regular expression.
std::string spelling_pattern(std::string_view spelling) {
    std::string pattern;
    while (!spelling.empty()) {
        const Glyph glyph = next_glyph(spelling);
        std::string choice;
        int forms = 0;
        for (std::string_view form : glyph.written) {
            if (form.empty()) continue;
            if (forms++ > 0) choice += '|';
            for (char c : form) {
                if (std::string_view("^().*+?[]{}|$\\").find(c) != std::string_view::npos) choice += '\\';
                choice += c;
            }
        }
        if (forms > 1 || glyph.optional) choice = "(?:" + choice + ")";
        if (glyph.optional) choice += '?';
        pattern += glyph.blanks_around ? " *" + choice + " *" : choice;
    }
    return pattern;
}

const Unit* find_unit(const Dimension& of, std::string_view suffix) {
    const auto unit =
        std::ranges::find_if(of.units, [&](const Unit& u) { return is_spelled(suffix, u.spelling); });
    return unit == of.units.end() ? nullptr : &*unit;
}

/// The dimension, other than those that share everything, that a suffix belongs to.
const Dimension* dimension_with(std::string_view suffix) {
    const auto found = std::ranges::find_if(
        dimensions, [&](const Dimension& d) { return !suffix.empty() && find_unit(d, suffix) != nullptr; });
    return found == dimensions.end() ? nullptr : &*found;
}

constexpr std::string_view number_pattern = "[+-]?(?:[0-9]+(?:\\.[0-9]*)?|\\.[0-9]+)(?:[eE][+-]?[0-9]+)?";

std::size_t digits_at(std::string_view text, std::size_t from) {
    std::size_t end = from;
    while (end < text.size() && text[end] >= '0' && text[end] <= '9') ++end;
    return end - from;
}

/// How many bytes at the front of a text make a number by number_pattern; 0 = none do.
std::size_t number_length(std::string_view text) {
    std::size_t at = (text.starts_with('+') || text.starts_with('-')) ? 1 : 0;
    const std::size_t whole = digits_at(text, at);
    at += whole;
    std::size_t decimals = 0;
    if (at < text.size() && text[at] == '.') {
        decimals = digits_at(text, at + 1);
        if (whole + decimals == 0) return 0;
        at += 1 + decimals;
    }
    if (whole + decimals == 0) return 0;
    if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
        std::size_t digits_from = at + 1;
        if (digits_from < text.size() && (text[digits_from] == '+' || text[digits_from] == '-'))
            ++digits_from;
        const std::size_t exponent = digits_at(text, digits_from);
        if (exponent > 0) at = digits_from + exponent;
    }
    return at;
}

/// Independent of the locale, which std::stod is not. Empty where it cannot be held.
template <class Number> std::optional<Number> to_number(std::string_view text) {
    if (text.starts_with('+')) text.remove_prefix(1);
    Number value{};
    const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
    if (result.ec != std::errc{}) return std::nullopt;
    return value;
}

/// The power of ten that a unit comes to, if it is one.
std::optional<int> power_of_ten(const Unit& unit) {
    double size = 1;
    for (int power = 0; power <= 12; ++power, size *= 10) {
        if (unit.multiply == size && unit.divide == 1) return power;
        if (unit.divide == size && unit.multiply == 1) return -power;
    }
    return std::nullopt;
}

/// A number in a unit, in SI. Powers of ten go into the number's exponent and not into a second rounding, so
/// that 2.3 kPa and 2300 Pa are the same to the last bit. Empty where a double cannot hold it.
std::optional<double> to_si(std::string_view number, const Unit& unit) {
    if (const std::optional<int> power = power_of_ten(unit); power && *power != 0) {
        const std::size_t e = std::min(number.find_first_of("eE"), number.size());
        const std::optional<int> written = e < number.size() ? to_number<int>(number.substr(e + 1)) : 0;
        if (!written || std::abs(*written) > 1000) return std::nullopt;
        return to_number<double>(fmt::format("{}e{}", number.substr(0, e), *written + *power));
    }
    const std::optional<double> value = to_number<double>(number);
    if (!value) return std::nullopt;
    return *value * unit.multiply / unit.divide + unit.offset;
}

std::string with_article(std::string_view noun) {
    const bool vowel = std::string_view("aeiou").find(noun.front()) != std::string_view::npos;
    return fmt::format("{} {}", vowel ? "an" : "a", noun);
}

/// Says what is wrong with a suffix that is none of the dimension's units.
std::string wrong_suffix(std::string_view text, std::string_view suffix, const Dimension& wanted) {
    if (suffix.empty()) return fmt::format("\"{}\" without a unit", text);
    if (const Dimension* other = dimension_with(suffix))
        return fmt::format("\"{}\", {}, not {}", text, with_article(other->name), with_article(wanted.name));
    if (suffix.starts_with(','))
        return fmt::format("\"{}\" with a comma in the number; write a decimal point and no thousands mark",
                           text);
    for (const Unit& unit : wanted.units)
        if (is_spelled(lower_case(suffix), lower_case(unit.spelling)))
            return fmt::format("\"{}\" with a unit \"{}\"; did you mean \"{}\"", text, suffix, unit.spelling);
    for (std::string_view blank : {"\u00a0", "\u2009", "\u202f", "\t", "\n"})
        if (suffix.find(blank) != std::string_view::npos)
            return fmt::format("\"{}\" with a blank that is no plain space", text);
    return fmt::format("\"{}\" with an unknown unit \"{}\"", text, suffix);
}

/// To `digits` significant digits, but whole numbers below ten million in full: "20000", not "2e+04".
std::string print_number(double number, int digits) {
    const double size = std::abs(number);
    if (size >= 1 && size < 1e7)
        digits = std::max(digits, static_cast<int>(std::floor(std::log10(size))) + 1);
    // Adding 0 turns -0 into 0, which nobody wants to read.
    return fmt::format("{:.{}g}", number + 0.0, digits);
}

std::string print_with(double si, const Unit& unit, int digits) {
    const bool tight = unit.spelling.empty() || unit.spelling.front() == '/' || unit.spelling == "°";
    return print_number((si - unit.offset) * unit.divide / unit.multiply, digits) + (tight ? "" : " ") +
           std::string(unit.spelling);
}

} // namespace

std::string_view unit_of(Dim dim) { return dimension(dim).si; }
std::string_view name_of(Dim dim) { return dimension(dim).name; }

std::vector<Dim> all_dims() {
    std::vector<Dim> dims;
    for (const Dimension& d : dimensions) dims.push_back(d.dim);
    return dims;
}

std::vector<std::string_view> units_of(Dim dim) {
    std::vector<std::string_view> units;
    for (const Unit& unit : dimension(dim).units) units.push_back(unit.spelling);
    return units;
}

std::string accepted_units(Dim dim) {
    std::string list;
    for (std::string_view unit : units_of(dim)) {
        if (unit.empty()) continue;
        if (!list.empty()) list += ", ";
        list += unit;
    }
    return list;
}

double parse_quantity(std::string_view text, Dim dim) {
    if (text.size() > longest_quantity)
        throw std::invalid_argument(
            fmt::format("\"{}...\", longer than {} characters", text.substr(0, 20), longest_quantity));
    std::string_view rest = text;
    skip_blanks(rest);
    const std::size_t length = number_length(rest);
    if (length == 0)
        throw std::invalid_argument(fmt::format("\"{}\", which does not start with a number", text));
    const std::string_view number = rest.substr(0, length);
    rest.remove_prefix(length);
    skip_blanks(rest);
    while (rest.ends_with(' ')) rest.remove_suffix(1);

    const Unit* unit = find_unit(dimension(dim), rest);
    if (unit == nullptr) throw std::invalid_argument(wrong_suffix(text, rest, dimension(dim)));
    const double si = to_si(number, *unit).value_or(HUGE_VAL);
    if (!std::isfinite(si))
        throw std::invalid_argument(fmt::format("\"{}\", a number too large or too small to be kept", text));
    return si;
}

std::string quantity_pattern(Dim dim) {
    std::string units;
    bool bare = false;
    for (std::string_view unit : units_of(dim)) {
        if (unit.empty()) {
            bare = true;
            continue;
        }
        if (!units.empty()) units += '|';
        units += spelling_pattern(unit);
    }
    return fmt::format("^ *{} *(?:{}){} *$", number_pattern, units, bare ? "?" : "");
}

std::string print_quantity(double si, Dim dim, int digits) {
    if (si == 0) return print_in(0, dim, dimension(dim).zero_unit, digits);
    const Unit* best = nullptr;
    for (const Unit& unit : dimension(dim).units) {
        if (unit.shown_from == 0) continue;
        // A hair less will do, so that 1 m computed a rounding short is not "1000 mm".
        const bool large_enough = std::abs(si) * unit.divide / unit.multiply >= unit.shown_from * (1 - 1e-9);
        if (best == nullptr || large_enough) best = &unit;
    }
    return print_with(si, *best, digits);
}

std::string print_in(double si, Dim dim, std::string_view unit, int digits) {
    for (const Unit& known : dimension(dim).units)
        if (known.spelling == unit) return print_with(si, known, digits);
    throw std::invalid_argument(fmt::format("\"{}\", no unit of {}", unit, name_of(dim)));
}

} // namespace sparecoat::units
