#include "sim/evaporation.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::sim {
namespace {
// Air at 300 K and 101.3 kPa (Incropera and DeWitt, table A.4).
constexpr double viscosity_m2_s = 15.89e-6, conductivity_w_mk = 0.0263, prandtl = 0.707;
constexpr double heat_capacity_j_kgk = 1007, lewis = 0.86, kelvin = 273.15;
double air_density_kg_m3(double temperature_c) { return 101325 / (287.05 * (kelvin + temperature_c)); }
} // namespace

double saturated_vapour_kg_m3(double t) {
    return 610.94 * std::exp(17.625 * t / (243.04 + t)) / (461.5 * (kelvin + t));
}

double forced_convection_w_m2k(double air_speed_m_s, double length_m) {
    const double reynolds = std::max(0.0, air_speed_m_s) * length_m / viscosity_m2_s;
    const double nusselt = reynolds < 5e5 ? 0.664 * std::sqrt(reynolds) : 0.037 * std::pow(reynolds, 0.8);
    return nusselt * std::cbrt(prandtl) * conductivity_w_mk / length_m;
}

double mixed_convection_w_m2k(double still, double forced) {
    return std::cbrt(still * still * still + forced * forced * forced);
}

double evaporation_kg_m2s(double face_c, double air_c, double humidity, double convection_w_m2k) {
    const double transfer_m_s =
        convection_w_m2k / (air_density_kg_m3(air_c) * heat_capacity_j_kgk * std::pow(lewis, 2.0 / 3));
    return std::max(0.0, transfer_m_s *
                             (saturated_vapour_kg_m3(face_c) - humidity * saturated_vapour_kg_m3(air_c)));
}

} // namespace sparecoat::sim
