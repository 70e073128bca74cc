// Pad motion against published closed forms, a reference library and brute force.
#include "sim/motion.hpp"
#include "units/quantity.hpp"
#include <boost/math/special_functions/ellint_1.hpp>
#include <boost/math/special_functions/ellint_2.hpp>
#include <catch2/catch.hpp>
#include <cmath>

using namespace sparecoat;

namespace {

// Mean of |turning e(t) + fixed| over a turn, by the trapezoid rule (spectrally accurate for a smooth
// periodic function; at turning = fixed it has a kink, where 20000 points leave about 1e-8).
double brute_mean_speed(double turning, double fixed) {
    constexpr int n = 20000;
    double sum = 0;
    for (int k = 0; k < n; ++k) {
        const double t = 2 * pi * (k + 0.5) / n;
        sum += std::hypot(fixed + turning * std::cos(t), turning * std::sin(t));
    }
    return sum / n;
}

// Mean component of the unit vector of (turning e(t) + fixed) along `fixed`.
double brute_mean_direction(double turning, double fixed) {
    constexpr int n = 200000;
    double sum = 0;
    for (int k = 0; k < n; ++k) {
        const double t = 2 * pi * (k + 0.5) / n;
        const double along = fixed + turning * std::cos(t);
        sum += along / std::hypot(along, turning * std::sin(t));
    }
    return sum / n;
}

// Friction force and torque on a disc of uniform pressure that slides at v and spins at w, over mu N and
// mu N R; eps = v / (R w). Farkas, Bartels, Unger and Wolf, "Frictional coupling between sliding and
// spinning motion", Phys. Rev. Lett. 90, 248302 (2003). E and K by Boost.Math, modulus as argument.
double farkas_force(double eps) {
    using boost::math::ellint_1, boost::math::ellint_2;
    const double e2 = eps * eps;
    if (eps <= 1) return 4.0 / 3.0 * ((e2 + 1) * ellint_2(eps) + (e2 - 1) * ellint_1(eps)) / (eps * pi);
    return 4.0 / 3.0 * ((e2 + 1) * ellint_2(1 / eps) - (e2 - 1) * ellint_1(1 / eps)) / pi;
}
double farkas_torque(double eps) {
    using boost::math::ellint_1, boost::math::ellint_2;
    const double e2 = eps * eps;
    if (eps <= 1) return 4.0 / 9.0 * ((4 - 2 * e2) * ellint_2(eps) + (e2 - 1) * ellint_1(eps)) / pi;
    return 4.0 / 9.0 * eps * ((4 - 2 * e2) * ellint_2(1 / eps) + (2 * e2 - 5 + 3 / e2) * ellint_1(1 / eps)) / pi;
}

// The same two by summing friction over the disc, cell by cell, in Cartesian coordinates.
struct ForceTorque { double force, torque; };
ForceTorque integrate_disc(double eps) {
    constexpr int n = 1200;
    double force = 0, torque = 0;
    long cells = 0;
    for (int j = 0; j < n; ++j)
        for (int i = 0; i < n; ++i) {
            const double x = (2 * (i + 0.5) / n - 1), y = (2 * (j + 0.5) / n - 1);
            if (x * x + y * y > 1) continue;
            const double vx = eps - y, vy = x, v = std::hypot(vx, vy); // R = w = 1
            force += vx / v;
            torque += (x * vy - y * vx) / v;
            ++cells;
        }
    return {force / static_cast<double>(cells), torque / static_cast<double>(cells)};
}

// Uniform pressure on a disc of radius R carrying `load`, as ring sums.
RingLoads uniform_disc(double radius, double load) {
    RingLoads loads;
    constexpr int n = RingLoads::rings;
    for (int k = 0; k < n; ++k) {
        const double inner = radius * k / n, outer = radius * (k + 1) / n;
        const auto at = static_cast<std::size_t>(k);
        loads.load_n[at] = load * (outer * outer - inner * inner) / (radius * radius);
        loads.radius_m[at] = 0.5 * (inner + outer);
    }
    return loads;
}

} // namespace

TEST_CASE("the orbit-mean speed is the complete elliptic integral of the second kind") {
    // (2/pi)(A + a) E(m), m = 4 a A / (A + a)^2, E by Boost.Math. 2e-5 is what the formula promises.
    for (double ratio = 0; ratio <= 3.0; ratio += 0.01) {
        const double a = 1.7, A = ratio * a;
        const double k = 2 * std::sqrt(a * A) / (A + a);
        const double exact = 2 / pi * (A + a) * boost::math::ellint_2(std::min(k, 1.0));
        CHECK(mean_speed(a, A) == Approx(exact).epsilon(2e-5));
    }
}

TEST_CASE("the orbit-mean speed is what averaging the velocity round an orbit gives") {
    for (const double ratio : {0.0, 0.1, 0.5, 0.9, 1.0, 1.1, 2.0, 10.0})
        CHECK(mean_speed(2.0, 2.0 * ratio) == Approx(brute_mean_speed(2.0, 2.0 * ratio)).epsilon(2e-5));
    CHECK(mean_speed(0.0, 3.0) == Approx(3.0));
    CHECK(mean_speed(3.0f, 0.0f) == Approx(3.0));
}

TEST_CASE("the first harmonic of the speed over an orbit is what Fourier's integral gives") {
    for (const double ratio : {0.05, 0.3, 0.7, 1.0, 1.6, 5.0}) {
        constexpr int n = 20000;
        double sum = 0;
        for (int k = 0; k < n; ++k) {
            const double t = 2 * pi * (k + 0.5) / n;
            sum += 2 * std::cos(t) * std::hypot(ratio + std::cos(t), std::sin(t)) / n;
        }
        CHECK(speed_swing(1.0, ratio) == Approx(sum).epsilon(1e-3));
    }
}

TEST_CASE("the mean sliding direction is what averaging the unit velocity gives") {
    for (const double ratio : {0.05, 0.3, 0.6, 1.5, 4.0}) // away from the vertical tangent at 1
        CHECK(mean_direction(1.0, ratio) == Approx(brute_mean_direction(1.0, ratio)).epsilon(2e-3));
    CHECK(mean_direction(1.0, 1.0) == Approx(2 / pi).epsilon(0.01)); // closed form at the tangent
    CHECK(mean_direction(1.0, 0.0) == 0.0);
}

TEST_CASE("speed is homogeneous: turning and fixed shares of the friction power add up to the whole") {
    // Euler's identity for a function of degree one, M = a dM/da + A dM/dA; dM/da is mean_direction with
    // the two swapped. This is friction power = force x sliding + torque x spin, ring by ring.
    for (const double ratio : {0.05, 0.3, 0.7, 0.999, 1.4, 3.0}) {
        const double a = 2.0, A = ratio * a;
        CHECK(a * mean_direction(A, a) + A * mean_direction(a, A) == Approx(mean_speed(a, A)).epsilon(1e-9));
    }
}

TEST_CASE("a spinning, sliding disc's friction force and torque follow Farkas et al. 2003") {
    const double radius = 0.075, load = 45, mu = 0.35, spin = 20;
    const RingLoads loads = uniform_disc(radius, load);
    // 24 rings and the 1 % derivative at equal speeds leave up to 0.5 % where a ring crosses eps = 1.
    for (const double eps : {0.1, 0.3, 0.7, 1.2, 2.0, 4.0, 10.0}) {
        const double sliding = eps * radius * spin;
        double force = 0;
        for (std::size_t k = 0; k < loads.load_n.size(); ++k)
            force += mu * loads.load_n[k] * mean_direction(spin * loads.radius_m[k], sliding);
        CAPTURE(eps);
        CHECK(spin_friction_torque(loads, mu, sliding, spin) ==
              Approx(mu * load * radius * farkas_torque(eps)).epsilon(5e-3));
        CHECK(force == Approx(mu * load * farkas_force(eps)).epsilon(5e-3));
    }
}

TEST_CASE("Farkas et al. 2003 agree with direct integration over the disc") {
    for (const double eps : {0.25, 0.8, 1.5, 5.0}) {
        const ForceTorque direct = integrate_disc(eps); // 1200 cells across: about 3e-4
        CHECK(direct.force == Approx(farkas_force(eps)).epsilon(1e-3));
        CHECK(direct.torque == Approx(farkas_torque(eps)).epsilon(1e-3));
    }
}

TEST_CASE("the rim passes over a point for the fraction of an orbit that counting gives") {
    const double radius = 0.075, e = 0.0075;
    constexpr int n = 100000;
    for (double r = radius - e - 0.002; r <= radius + e + 0.002; r += 0.0011) {
        int under = 0;
        double leaning = 0;
        for (int k = 0; k < n; ++k) {
            const double t = 2 * pi * (k + 0.5) / n;
            const bool covered = std::hypot(r - e * std::cos(t), e * std::sin(t)) <= radius;
            under += covered;
            leaning += covered ? std::cos(t) : 0;
        }
        CHECK(rim_passage(r, e, radius).share == Approx(static_cast<double>(under) / n).margin(1e-4));
        CHECK(rim_passage(r, e, radius).lean == Approx(leaning / n).margin(1e-4));
    }
    CHECK(rim_passage(0.0f, 0.0075f, 0.075f).share == 1.0f);
    CHECK(rim_passage(0.1f, 0.0075f, 0.075f).share == Approx(0.0f).margin(1e-7));
}

TEST_CASE("a free-spinning pad turns as fast as an independent calculation says") {
    // Same balance solved apart from this code (0.1 N m at the pad, mu 0.35, 45 N, 150 mm pad, uniform
    // pressure, Farkas torque): 88 turns/min at 8 mm throw and 5000/min, 146 at 15 mm and 4500/min,
    // 189 at 21 mm and 4200/min. That calculation slides the face at e (w_o - W), the speed about the mean
    // centre; about the pad's own axis, where the torque acts, it is e w_o, which is 2 to 5 % more.
    struct Case { double throw_mm, orbits, turns; };
    const RingLoads loads = uniform_disc(0.075, 45);
    for (const Case c : {Case{8, 5000, 88}, Case{15, 4500, 146}, Case{21, 4200, 189}}) {
        Machine machine;
        machine.kind = MachineKind::free_spinning;
        machine.throw_m = c.throw_mm * mm;
        machine.bearing_torque_nm = 0.1;
        const double spin = next_spin(machine, 4e-4, 0.35, loads, c.orbits * per_min, 0, INFINITY);
        CHECK(spin / per_min == Approx(c.turns).epsilon(0.05));
        const double slip_share = 1 - spin / (c.orbits * per_min);
        CHECK(spin / per_min * slip_share == Approx(c.turns).epsilon(0.01)); // the same, to first order
    }
}

TEST_CASE("a bearing that cannot overcome the foam's loss leaves the pad standing") {
    Machine machine;
    machine.kind = MachineKind::free_spinning;
    machine.throw_m = 15 * mm;
    machine.bearing_torque_nm = 0.1;
    RingLoads loads = uniform_disc(0.075, 45);
    loads.hysteresis_nm = 0.11;
    CHECK(next_spin(machine, 4e-4, 0.35, loads, 4500 * per_min, 10, INFINITY) == 0.0);
    loads.hysteresis_nm = 0.05;
    CHECK(next_spin(machine, 4e-4, 0.35, loads, 4500 * per_min, 10, INFINITY) > 3);
}

TEST_CASE("spin follows its torque balance in time") {
    // Small spin: T_friction is c W with c = mu F R^2 / (4 e w_o) (first term of Farkas's torque), so
    // W(t) = T0/c (1 - exp(-c t / I)). Implicit Euler at dt = tau/200 is within 0.3 % of that.
    Machine machine;
    machine.kind = MachineKind::free_spinning;
    machine.throw_m = 21 * mm;
    machine.bearing_torque_nm = 0.01;
    const RingLoads loads = uniform_disc(0.075, 45);
    const double sliding = 0.0105 * 4200 * per_min, c = 0.35 * 45 * 0.075 * 0.075 / (4 * sliding);
    const double inertia = 4e-4, tau = inertia / c;
    double spin = 0;
    for (int k = 0; k < 200; ++k)
        spin = next_spin(machine, inertia, 0.35, loads, 4200 * per_min, spin, tau / 200);
    CHECK(spin == Approx(0.01 / c * (1 - std::exp(-1.0))).epsilon(4e-3));
}
