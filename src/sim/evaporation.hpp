#pragma once
#include "rooms.hpp"
#include <vector>

namespace sparecoat::sim {

/// What water takes up when it evaporates, J/kg: 2.501e6 - 2361 T, T in °C (Rogers and Yau, A Short Course in
/// Cloud Physics, 3rd ed. 1989, eq. 2.55), at 40 °C, within 3 % of it from 10 to 70 °C.
inline constexpr double latent_heat_j_kg = 2.407e6;

/// Water cannot get hotter than it boils, less what little air pressure or solvents take off (common
/// practice).
inline constexpr double boiling_c = 99;

/// Density of saturated water vapour, kg/m³, over water at a temperature (°C): Magnus's formula with the
/// coefficients of Alduchov and Eskridge, J. Appl. Meteorol. 35, 601 (1996), 610.94 Pa exp(17.625 T / (243.04
/// + T)), and the ideal gas law with 461.5 J/(kg K).
double saturated_vapour_kg_m3(double temperature_c);

/// Heat transfer by convection from a flat plate of a length to air that moves along it, W/(m² K):
/// Nu = 0.664 Re^(1/2) Pr^(1/3) while laminar, 0.037 Re^(4/5) Pr^(1/3) past Re = 5e5 (Incropera and DeWitt,
/// Fundamentals of Heat and Mass Transfer, eqs. 7.30 and 7.38), air at 300 K.
double forced_convection_w_m2k(double air_speed_m_s, double length_m);

/// Still and moved air together: the cube root of the sum of the cubes (same book, eq. 9.64).
double mixed_convection_w_m2k(double still_w_m2k, double forced_w_m2k);

/// Mass that evaporates from a wet face, kg/(m² s), never under 0:
///     j = h / (rho c_p Le^(2/3)) (rho_v(T) - phi rho_v(air))
/// by the analogy of Chilton and Colburn, Ind. Eng. Chem. 26, 1183 (1934). h is the convection alone
/// (radiation carries no vapour), phi the air's relative humidity, rho c_p of air at its temperature, Le =
/// 0.86 its thermal diffusivity over that of vapour in it.
double evaporation_kg_m2s(double face_c, double air_c, double humidity, double convection_w_m2k);

} // namespace sparecoat::sim
