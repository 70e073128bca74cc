#pragma once
#include "tool/tool.hpp"
#include <cmath>

namespace sparecoat::sim {

/// Compression law of a pad's layer, strain -> pressure (Pa), with its slope.
///
/// The three regimes of a polymer foam (Gibson and Ashby, Cellular Solids, 2nd ed. 1997, ch. 5) joined
/// without corners so that Newton's method sees one smooth, rising curve:
///     u = E e / s_pl            linear with modulus E, levelling off at the collapse stress s_pl
///     x = e / e_D               cell walls meet at the densification strain e_D
///     s = s_pl ( u / sqrt(1 + u²) + x³ / (1 - x) )
/// Beyond x = 0.95 the curve goes on in a straight line: a bottomed pad is stiff, not infinite.
/// Real is float in the cell kernels and double in checks.
template <class Real> struct FoamCurve {
    Real initial_slope_over_plateau; // E / s_pl
    Real plateau_pa;
    Real inverse_densification; // 1 / e_D

    static constexpr Real last_x = Real(0.95);

    explicit FoamCurve(const FoamLaw& law)
        : initial_slope_over_plateau(static_cast<Real>(law.modulus_pa / law.plateau_pa)),
          plateau_pa(static_cast<Real>(law.plateau_pa)),
          inverse_densification(static_cast<Real>(1.0 / law.densification_strain)) {}

    /// Pressure (Pa) and d pressure / d strain (Pa) at a strain >= 0.
    void at(Real strain, Real& pressure, Real& slope) const {
        const Real u = initial_slope_over_plateau * strain;
        const Real x = inverse_densification * strain;
        const Real xc = x < last_x ? x : last_x;
        const Real knee = Real(1) / std::sqrt(Real(1) + u * u);
        const Real room = Real(1) / (Real(1) - xc);
        const Real dense_slope = xc * xc * (Real(3) - Real(2) * xc) * room * room;
        const Real dense = xc * xc * xc * room + dense_slope * (x - xc);
        pressure = plateau_pa * (u * knee + dense);
        slope = plateau_pa *
                (initial_slope_over_plateau * knee * knee * knee + inverse_densification * dense_slope);
    }
};

} // namespace sparecoat::sim
