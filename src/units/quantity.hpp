#pragma once
#include "rooms.hpp"
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::units {

/// What a number measures. Each has one SI unit inside and a set of unit suffixes a file may use.
enum class Dim {
    none,                   ///< pure number; "%" allowed (1 % = 0.01)
    length,                 ///< m: nm um µm mm cm m mil in
    speed,                  ///< m/s: mm/s m/s m/min
    acceleration,           ///< m/s²: mm/s2 m/s2 (also with ²)
    rotation,               ///< rad/s: rad/s, 1/min ("4500/min"), rpm, turns/min, Hz
    angle,                  ///< rad: rad deg °
    force,                  ///< N: N kN kgf lbf
    mass,                   ///< kg: g kg
    time,                   ///< s: ms s min h
    pressure,               ///< Pa: Pa kPa MPa GPa
    torque,                 ///< N m: N m, Nm, mN m
    torque_per_rate,        ///< N m s/rad: N m s, N m s/rad, mN m s
    rotary_stiffness,       ///< N m/rad: N m/rad, N m/deg
    inertia,                ///< kg m²: kg m2, g m2, kg cm2
    energy_area,            ///< J/m²: J/m2, kJ/m2 (also with ²)
    power,                  ///< W: W kW
    density,                ///< kg/m³: kg/m3, g/cm3
    heat_capacity,          ///< J/(kg K): J/(kg K), J/kg/K, kJ/(kg K)
    conductivity,           ///< W/(m K): W/(m K), W/m/K
    temperature,            ///< °C (kept in Celsius): °C, C, degC, K
    temperature_difference, ///< K: K only, since 20 °C more are not 20 °C
    area_density            ///< kg/m²: kg/m2, g/m2
};

/// The SI unit's text ("m", "rad/s") and a plain name ("length").
std::string_view unit_of(Dim dim);
std::string_view name_of(Dim dim);

/// Every accepted suffix as one readable list, e.g. "nm, µm, mm, cm, m, mil, in".
std::string accepted_units(Dim dim);

/// The same suffixes one by one, in their canonical spelling ("µm", "m/s²", "/min"); "" where a bare
/// number will do.
std::vector<std::string_view> units_of(Dim dim);

/// Every dimension, in the order declared.
std::vector<Dim> all_dims();

/// Reads "15 mm", "4500/min", "0.5 mil" to SI. The whole text must be used up and finite.
/// A bare number has no unit and is refused unless dim is Dim::none (a JSON number is SI already).
/// Units are case-sensitive; blanks before, after and between number and unit are optional; µ (U+00B5),
/// μ (U+03BC) and u are one, as are "²", "2" and "^2", and "N m", "Nm" and "N·m".
/// @throws std::invalid_argument with a text fit for InputError's "found ...": unit missing,
/// unit of another kind (says which), not a number.
double parse_quantity(std::string_view text, Dim dim);

/// Longest text parse_quantity looks at, in bytes.
inline constexpr std::size_t longest_quantity = 100;

/// A regular expression (ECMA 262, as JSON Schema wants) for strings parse_quantity accepts.
std::string quantity_pattern(Dim dim);

/// Writes an SI value in the unit a person would choose ("75 mm", "4500/min", "7 kPa"), to at most
/// `digits` significant digits. parse_quantity reads it back to that precision.
std::string print_quantity(double si, Dim dim, int digits = 4);

/// Writes an SI value in a given unit, one of units_of(dim).
/// @throws std::invalid_argument where dim has no such unit.
std::string print_in(double si, Dim dim, std::string_view unit, int digits = 4);

inline constexpr double pi = 3.14159265358979323846;
inline constexpr double per_min = 2.0 * pi / 60.0; ///< 1 turn/min in rad/s
inline constexpr double mm = 1e-3;
inline constexpr double um_per_mil = 25.4;
inline constexpr double deg = pi / 180.0;

} // namespace sparecoat::units
