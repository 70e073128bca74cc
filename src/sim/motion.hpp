#pragma once
#include "tool/tool.hpp"
#include "units/quantity.hpp"
#include <array>
#include <cmath>

namespace sparecoat::sim {

// Pad kinematics. With the pad's centre at c(t) from the mean centre, |c| = e turning at w_o, pad spin W
// and arm velocity V, the pad moves over the panel point at r (from the mean centre) with
//     v(t) = w_o z x c + W z x (r - c) + V = (w_o - W) z x c(t) + W z x r + V,
// a vector of constant length a = e |w_o - W| turning around a fixed one of length A = |W z x r + V|.

/// Mean length over a full turn of a vector of length `turning` added to a fixed one of length `fixed`:
///     M = (2/pi) (A + a) E(m), m = 4 a A / (A + a)²,
/// which is the perimeter of an ellipse with half-axes A + a and |A - a|, over 2 pi. Evaluated with
/// Ramanujan's second perimeter formula (Modular equations and approximations to pi, Quarterly J. Math.
/// 45, 1914) with h = (smaller / larger)², plus a term in h^12 that makes h = 1 exact (M = 4/pi there);
/// relative error under 2e-5 everywhere. No branch, no special function: it vectorises.
template <class Real> inline Real mean_speed(Real turning, Real fixed) {
    const Real larger = turning > fixed ? turning : fixed;
    const Real smaller = turning > fixed ? fixed : turning;
    const Real ratio = smaller / (larger + Real(1e-12));
    const Real h = ratio * ratio;
    const Real h3 = h * h * h;
    const Real h12 = (h3 * h3) * (h3 * h3);
    return larger * (Real(1) + Real(3) * h / (Real(10) + std::sqrt(Real(4) - Real(3) * h)) +
                     Real(4 / pi - 14.0 / 11.0) * h12);
}

/// d mean_speed / d fixed: the mean component of the unit sliding direction along the fixed vector
/// (derivative of the formula above; within 1 % at turning = fixed, where the true curve has a
/// vertical tangent, and far closer elsewhere). Between 0 and 1. M is as symmetric as the ellipse, so with
/// the arguments exchanged it is d mean_speed / d turning.
double mean_direction(double turning, double fixed);

/// First Fourier coefficient of that length over the turn: |v| = M + c1 cos(t) + ..., t from the fixed
/// vector's direction. Series in h = (smaller / larger)², c1 = smaller (1 - h/8 - h²/64 - ...), its last
/// term set so that h = 1 gives the exact 8 / (3 pi); within 0.1 % everywhere.
template <class Real> inline Real speed_swing(Real turning, Real fixed) {
    const Real larger = turning > fixed ? turning : fixed;
    const Real smaller = turning > fixed ? fixed : turning;
    const Real ratio = smaller / (larger + Real(1e-12));
    const Real h = ratio * ratio;
    return smaller *
           (Real(1) - h * (Real(0.125) + h * (Real(1.0 / 64) + h * Real(0.875 - 1.0 / 64 - 8 / (3 * pi)))));
}

/// d speed_swing / d fixed (derivative of the series above; within 12 % of the true one at turning = fixed,
/// 3 % at a ratio of 0.9 and closer elsewhere). With the arguments exchanged: d speed_swing / d turning.
double swing_slope(double turning, double fixed);

/// d c2 / d fixed, c2 the second Fourier coefficient of that length, |v| = M + c1 cos(t) + c2 cos(2 t) + ...:
/// with the binomial series of (1 + x)^(1/2), h = (smaller / larger)²,
///     c2 = - smaller²/(4 larger) (1 - h/4 - 5 h²/128 - ...),
/// its last term set so that h = 1 gives the exact - 8 / (15 pi). With the arguments exchanged: by turning.
double second_swing_slope(double turning, double fixed);

/// Cosine of the angle within which the centre of a pad on an orbit of radius e has to lie, from a point's
/// direction, for its rim to cover the point at r from the mean centre: u of rim_passage.
template <class Real> inline Real rim_cosine(Real r, Real e, Real pad_radius) {
    const Real u = (r * r + e * e - pad_radius * pad_radius) / (Real(2) * e * r + Real(1e-12));
    return u < Real(-1) ? Real(-1) : (u > Real(1) ? Real(1) : u);
}

/// How the rim of a pad of radius Rp on an orbit of radius e passes over a point at distance r from the
/// mean centre. The pad covers the point while its centre lies within an angle t of the point's
/// direction, cos(t) = u = (r² + e² - Rp²) / (2 r e):
///  - share = t / pi of the orbit (1 inside the rim's ring, 0 outside it);
///  - rim_bias = sin(t) / pi, the mean over the orbit of cos(angle) while covered. It says that the rim's
///    point is touched only on the stretch of the orbit where the pad leans towards it.
/// arccos by Abramowitz and Stegun 4.4.45 (error under 7e-5 rad) so that it vectorises.
template <class Real> struct RimPassage { Real share, rim_bias; };
template <class Real> inline RimPassage<Real> rim_passage(Real r, Real e, Real pad_radius) {
    constexpr Real inverse_pi = Real(1 / pi);
    const Real u = rim_cosine(r, e, pad_radius);
    const Real v = u < Real(0) ? -u : u;
    const Real poly = Real(1.5707288) + v * (Real(-0.2121144) + v * (Real(0.0742610) + v * Real(-0.0187293)));
    const Real angle = std::sqrt(Real(1) - v) * poly * inverse_pi;
    return {u < Real(0) ? Real(1) - angle : angle, std::sqrt(Real(1) - u * u) * inverse_pi};
}

/// Pressure carried by the panel, summed over rings about the pad's mean centre: what the spin balance needs
/// to know.
struct RingLoads {
    static constexpr int rings = 24;
    std::array<double, rings> radius_m{}; ///< r of each ring, on the panel
    std::array<double, rings> load_n{};   ///< L, sum of p x share dA
    std::array<double, rings> bias_n{};   ///< Q, sum of p x rim_bias dA
    std::array<double, rings> second_n{}; ///< Q2, sum of p x sin(2 t) / (2 pi) dA, see rim_passage
    double hysteresis_nm = 0;             ///< torque lost in the foam, >= 0
};

/// Moment of friction about the pad's own axis, N m: positive holds back a pad that turns with its orbit,
/// negative drives it.
///
/// The pad's centre orbits while the pressure stays with the panel, so a piece of panel under load is rubbed
/// by now this, now that part of the face. By virtual power the moment that goes with the spin W is the
/// derivative of the friction power by W while the orbit's speed w_o is held: with v = (w_o - W) z x c + W z
/// x r, and so dv/dW = z x (r - c),
///     d(mu p |v|)/dW = mu p (v / |v|) . z x (r - c),
/// which is the moment about the pad's centre c. On a ring of panel radius r the orbit's mean power is
/// mu (L M + Q c1), a = e (w_o - W) and A = W r the two lengths of mean_speed and speed_swing, hence
///     T = mu sum over rings of [ L (r M_A - e M_a) + Q (r c1_A - e c1_a) + Q2 (r c2_A - e c2_a) ],
/// the second harmonic being worth 2 % of it at 15 mm throw. For W < 0 the fixed vector turns round: M and c2
/// are even in A and c1 odd. |v| is convex in W, so T only ever grows with W. For even pressure on a flat
/// panel it is the sliding disc of Farkas, Bartels, Unger and Wolf, Phys. Rev. Lett. 90, 248302 (2003). On a
/// crown (load at small r) friction drives the pad with up to mu N e; in a hollow (load at the rim) it brakes
/// it even at rest.
double spin_friction_moment(const RingLoads& loads, double friction, double orbit_radius_m,
                            double speed_rad_s, double spin_rad_s);

/// Total moment of inertia (kg m²) about the pad's axis.
double spin_inertia(const Machine& machine, const Pad& pad);

/// Spin after dt of a pad whose shaft turns at speed_rad_s: fixed by the shaft for a rotary, geared for a
/// gear-driven head; for a free-spinning one the implicit Euler step of
///     I dW/dt = T0 + c (w_o - W) - T_friction(W) - T_hysteresis sign(W),   -w_o <= W <= w_o
/// (unconditionally stable; dt = infinity gives the steady spin). A pad that all this cannot move against the
/// foam's loss stands still; one that friction drives backwards turns against its orbit, W < 0.
double next_spin(const Machine& machine, double inertia_kgm2, double friction, const RingLoads& loads,
                 double speed_rad_s, double spin_rad_s, double dt_s);

} // namespace sparecoat::sim
