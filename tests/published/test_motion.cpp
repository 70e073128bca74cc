// Pad motion against published closed forms, a reference library and brute force.
#include "sim/kernels.hpp"
#include "sim/motion.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <boost/math/special_functions/ellint_1.hpp>
#include <boost/math/special_functions/ellint_2.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

namespace test_motion {
using namespace sparecoat::cli;

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
    return 4.0 / 9.0 * eps * ((4 - 2 * e2) * ellint_2(1 / eps) + (2 * e2 - 5 + 3 / e2) * ellint_1(1 / eps)) /
           pi;
}

// The same two by summing friction over the disc, cell by cell, in Cartesian coordinates.
struct ForceTorque {
    double force, torque;
};
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

// |v| at the panel point (x, y) and whether the pad covers it, averaged together over an orbit instant by
// instant: the sum of |v| while covered over the number of instants, straight from
//     v = slip z x c + spin z x (x, y) + V.
double brute_covered_speed(double x, double y, double radius, double e, double slip, double spin, double vx,
                           double vy) {
    constexpr int n = 20000;
    double sum = 0;
    for (int k = 0; k < n; ++k) {
        const double t = 2 * pi * (k + 0.5) / n, cx = e * std::cos(t), cy = e * std::sin(t);
        if (std::hypot(x - cx, y - cy) > radius) continue;
        sum += std::hypot(-slip * cy - spin * y + vx, slip * cx + spin * x + vy);
    }
    return sum / n;
}

// Steady spin of a pad under uniform pressure: bearing torque = Farkas et al. torque, by bisection. It
// shares no line with next_spin.
double steady_spin(const Machine& machine, double radius, double load, double mu, double orbit_rad_s) {
    const double sliding = 0.5 * machine.throw_m * orbit_rad_s;
    double low = 1e-6 * orbit_rad_s, high = orbit_rad_s;
    for (int i = 0; i < 200; ++i) {
        const double spin = 0.5 * (low + high);
        const double drive = machine.bearing_torque_nm + machine.bearing_drag_nms * (orbit_rad_s - spin);
        (drive > mu * load * radius * farkas_torque(sliding / (radius * spin)) ? low : high) = spin;
    }
    return low;
}

// Uniform pressure on a disc of radius R carrying `load` on an orbit of radius e, as ring sums on the panel.
RingLoads uniform_disc(double radius, double load, double e) {
    RingLoads loads;
    constexpr int n = RingLoads::rings, parts = 200;
    const double pressure = load / (pi * radius * radius), width = (radius + e) / n;
    for (int k = 0; k < n; ++k) {
        const auto at = static_cast<std::size_t>(k);
        loads.radius_m[at] = (k + 0.5) * width;
        for (int part = 0; part < parts; ++part) {
            const double r = (k + (part + 0.5) / parts) * width, area = 2 * pi * r * width / parts;
            const auto passage = rim_passage(r, e, radius);
            loads.load_n[at] += pressure * passage.share * area;
            loads.bias_n[at] += pressure * passage.rim_bias * area;
            loads.second_n[at] += pressure * passage.rim_bias * rim_cosine(r, e, radius) * area;
        }
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
        CHECK(mean_direction(1.0, ratio) == Approx(brute_mean_direction(1.0, ratio)).epsilon(5e-4));
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

TEST_CASE("a spinning, sliding disc's friction moment follows Farkas et al. 2003") {
    const double radius = 0.075, load = 45, mu = 0.35, orbit = 471;
    // Their disc spins and slides evenly; about its own axis a pad on an orbit does so at e w_o. Second
    // harmonics at the rim, and at equal speeds the slope of the first, leave up to 2 % of the moment.
    for (const double e : {0.004, 0.0075, 0.0105})
        for (const double spin : {2.0, 10.0, 20.0, 40.0, -10.0, -30.0}) {
            CAPTURE(e, spin);
            const double eps = e * orbit / (radius * std::abs(spin));
            const double expected = mu * load * radius * farkas_torque(eps) * (spin < 0 ? -1 : 1);
            CHECK(spin_friction_moment(uniform_disc(radius, load, e), mu, e, orbit, spin) ==
                  Approx(expected).epsilon(0.005));
        }
}

TEST_CASE("the slope of the second harmonic is that of Fourier's integral") {
    const auto second = [](double turning, double fixed) {
        constexpr int n = 20000;
        double sum = 0;
        for (int k = 0; k < n; ++k) {
            const double t = 2 * pi * (k + 0.5) / n;
            sum += 2 * std::cos(2 * t) * std::hypot(fixed + turning * std::cos(t), turning * std::sin(t)) / n;
        }
        return sum;
    };
    for (const double ratio : {0.1, 0.4, 0.7, 1.5, 4.0}) {
        constexpr double step = 1e-4;
        CAPTURE(ratio);
        CHECK(second_swing_slope(1.0, ratio) ==
              Approx((second(1.0, ratio + step) - second(1.0, ratio - step)) / (2 * step)).margin(4e-3));
        CHECK(second_swing_slope(ratio, 1.0) ==
              Approx((second(1.0 + step, ratio) - second(1.0 - step, ratio)) / (2 * step)).margin(4e-3));
    }
}

TEST_CASE("the slope of the first harmonic is what its own differences give") {
    for (const double ratio : {0.05, 0.3, 0.7, 0.9, 1.1, 1.6, 5.0}) {
        constexpr double step = 1e-5;
        CHECK(swing_slope(1.0, ratio) ==
              Approx((speed_swing(1.0, ratio + step) - speed_swing(1.0, ratio - step)) / (2 * step))
                  .epsilon(1e-6));
        CHECK(swing_slope(ratio, 1.0) ==
              Approx((speed_swing(1.0 + step, ratio) - speed_swing(1.0 - step, ratio)) / (2 * step))
                  .epsilon(1e-6));
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
        // share: the arccos is good to 7e-5 rad, over pi; counting adds one instant in 100000 at each end.
        CHECK(rim_passage(r, e, radius).share ==
              Approx(static_cast<double>(under) / n).margin(4.5e-5).epsilon(0));
        // lean is exact: the two instants at the ends alone.
        CHECK(rim_passage(r, e, radius).rim_bias == Approx(leaning / n).margin(2e-5).epsilon(0));
    }
    CHECK(rim_passage(0.0f, 0.0075f, 0.075f).share == 1.0f);
    CHECK(rim_passage(0.1f, 0.0075f, 0.075f).share == Approx(0.0f).margin(1e-7));
}

TEST_CASE("the speed under an orbiting pad is what averaging over the orbit gives, at its rim too") {
    // Spin with and against the orbit, the orbit's slip either way (a gear above 1:1 turns the face past the
    // orbit), the arm any way. Inside the rim's ring only the mean speed's own 2e-5 and floats remain. In the
    // ring harmonics above the first are left out: under 3 % of the orbit's speed is promised while |b| < 0.4
    // of it, half of that is seen here.
    constexpr float radius = 0.075f, e = 0.0075f;
    struct Case {
        float slip, spin, vx, vy;
    };
    for (const Case c : {Case{450, 15, 0.04f, 0}, Case{480, -14, 0, 0.04f}, Case{-450, 15, -0.03f, 0.02f},
                         Case{470, 0, 0.2f, 0.3f}, Case{120, 60, 0.04f, -0.02f}}) {
        std::vector<float> x, y;
        for (const float r : {0.002f, 0.03f, 0.06f, 0.067f, 0.069f, 0.072f, 0.075f, 0.078f, 0.081f, 0.083f})
            for (int k = 0; k < 8; ++k) {
                const double angle = 2 * pi * (k + 0.3) / 8;
                x.push_back(r * static_cast<float>(std::cos(angle)));
                y.push_back(r * static_cast<float>(std::sin(angle)));
            }
        std::vector<float> coverage(x.size()), lean(x.size()), speed(x.size());
        for (std::size_t i = 0; i < x.size(); ++i) {
            const auto passage = rim_passage(std::hypot(x[i], y[i]), e, radius);
            coverage[i] = passage.share, lean[i] = passage.rim_bias;
        }
        kernels::orbit_speed(x.size(), x.data(), y.data(), coverage.data(), lean.data(), e * c.slip, c.spin,
                             c.vx, c.vy, speed.data());
        for (std::size_t i = 0; i < x.size(); ++i) {
            const double px = static_cast<double>(x[i]), py = static_cast<double>(y[i]);
            const double r = std::hypot(px, py), slip_speed = std::abs(static_cast<double>(e * c.slip));
            const double fixed = std::hypot(static_cast<double>(c.vx) - static_cast<double>(c.spin) * py,
                                            static_cast<double>(c.vy) + static_cast<double>(c.spin) * px);
            const double exact = brute_covered_speed(
                px, py, static_cast<double>(radius), static_cast<double>(e), static_cast<double>(c.slip),
                static_cast<double>(c.spin), static_cast<double>(c.vx), static_cast<double>(c.vy));
            CAPTURE(c.slip, c.spin, c.vx, c.vy, r, fixed / slip_speed);
            if (r < 0.0674) CHECK(static_cast<double>(speed[i]) == Approx(exact).epsilon(3e-5));
            else if (fixed < 0.4 * slip_speed)
                CHECK(static_cast<double>(speed[i]) == Approx(exact).margin(0.015 * slip_speed).epsilon(0));
        }
    }
}

TEST_CASE("at one instant every point of the pad has a rigid body's velocity") {
    // Velocity of the pad's centre, V + w_o z x c, plus W z x (point - centre): what the kernel is given is
    // put another way, the orbit's slip and the spin about the arm's place p.
    const double orbit = 470, spin = 40, vx = 0.3, vy = -0.2, px = 0.004, py = -0.003, cx = 0.005,
                 cy = 0.0055;
    const std::vector<float> x{0.0f, 0.03f, -0.05f, 0.01f, 0.02f, -0.03f, 0.06f, 0.0f};
    const std::vector<float> y{0.0f, 0.02f, 0.01f, -0.06f, 0.05f, -0.04f, -0.01f, 0.07f};
    const std::vector<float> everywhere(4, 1.0f); // a face that bears evenly wherever it is looked up
    std::vector<float> speed(x.size(), 0.0f);
    kernels::instant_speed(x.size(), x.data(), y.data(), static_cast<float>(px + cx),
                           static_cast<float>(py + cy), {everywhere.data(), 1, 2}, 1,
                           static_cast<float>(vx - (orbit - spin) * cy),
                           static_cast<float>(vy + (orbit - spin) * cx), static_cast<float>(spin),
                           static_cast<float>(px), static_cast<float>(py), speed.data());
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double dx = static_cast<double>(x[i]) - px - cx, dy = static_cast<double>(y[i]) - py - cy;
        const double expected = std::hypot(vx - orbit * cy - spin * dy, vy + orbit * cx + spin * dx);
        CHECK(static_cast<double>(speed[i]) == Approx(expected).epsilon(1e-5)); // floats
    }
}

TEST_CASE("a free-spinning pad turns at the speed where its bearing meets Farkas's torque") {
    // Against the closed form: 0.5 %, see above. With and without drag in the bearing.
    for (const double throw_mm : {8.0, 15.0, 21.0})
        for (const double drag : {0.0, 1e-4}) {
            Machine machine;
            machine.kind = MachineKind::free_spinning;
            machine.throw_m = throw_mm * mm;
            machine.bearing_torque_nm = 0.08;
            machine.bearing_drag_nms = drag;
            const RingLoads loads = uniform_disc(0.075, 45, machine.throw_m / 2);
            const double spin = next_spin(machine, 4e-4, 0.35, loads, 4500 * per_min, 0, INFINITY);
            CAPTURE(throw_mm, drag);
            CHECK(spin == Approx(steady_spin(machine, 0.075, 45, 0.35, 4500 * per_min)).epsilon(0.005));
        }
}

TEST_CASE("the pad turns as a disc with its backing plate") {
    // m R^2 / 2 of the pad (any textbook of mechanics), added to the plate's.
    Machine machine;
    machine.spin_inertia_kgm2 = 2.5e-4;
    Pad pad;
    pad.radius_m = 0.075, pad.area_density_kg_m2 = 1.2;
    CHECK(spin_inertia(machine, pad) ==
          Approx(2.5e-4 + 0.5 * (1.2 * pi * 0.005625) * 0.005625).epsilon(1e-12));
}

TEST_CASE("a free-spinning pad turns as fast as an independent calculation says") {
    // Same balance solved apart from this code (0.1 N m at the pad, mu 0.35, 45 N, 150 mm pad, uniform
    // pressure, Farkas torque): 88 turns/min at 8 mm throw and 5000/min, 146 at 15 mm and 4500/min,
    // 189 at 21 mm and 4200/min. That calculation slides the face at e (w_o - W), the speed about the mean
    // centre; about the pad's own axis, where the torque acts, it is e w_o, which is 2 to 5 % more.
    struct Case {
        double throw_mm, orbits, turns;
    };
    for (const Case c : {Case{8, 5000, 88}, Case{15, 4500, 146}, Case{21, 4200, 189}}) {
        Machine machine;
        machine.kind = MachineKind::free_spinning;
        machine.throw_m = c.throw_mm * mm;
        machine.bearing_torque_nm = 0.1;
        const RingLoads loads = uniform_disc(0.075, 45, machine.throw_m / 2);
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
    RingLoads loads = uniform_disc(0.075, 45, machine.throw_m / 2);
    loads.hysteresis_nm = 0.11;
    CHECK(next_spin(machine, 4e-4, 0.35, loads, 4500 * per_min, 10, INFINITY) == 0.0);
    loads.hysteresis_nm = 0.05;
    CHECK(next_spin(machine, 4e-4, 0.35, loads, 4500 * per_min, 10, INFINITY) > 3);
}

TEST_CASE("spin follows its torque balance in time") {
    // Small spin: T_friction is c W with c = mu F R^2 / (4 e w_o) (first term of Farkas's torque), so
    // W(t) = T0/c (1 - exp(-c t / I)). Implicit Euler at dt = tau/200 is within 0.3 % of that, the rings
    // within 2 %.
    Machine machine;
    machine.kind = MachineKind::free_spinning;
    machine.throw_m = 21 * mm;
    machine.bearing_torque_nm = 0.01;
    const RingLoads loads = uniform_disc(0.075, 45, machine.throw_m / 2);
    const double sliding = 0.0105 * 4200 * per_min, c = 0.35 * 45 * 0.075 * 0.075 / (4 * sliding);
    const double inertia = 4e-4, tau = inertia / c;
    double spin = 0;
    for (int k = 0; k < 200; ++k)
        spin = next_spin(machine, inertia, 0.35, loads, 4200 * per_min, spin, tau / 200);
    CHECK(spin == Approx(0.01 / c * (1 - std::exp(-1.0))).epsilon(8e-3));
}

} // namespace test_motion
