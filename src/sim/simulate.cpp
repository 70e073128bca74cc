#include "sim/simulate.hpp"
#include "sim/kernels.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace sparecoat::sim {
namespace {
constexpr double two_pi = 2 * pi;
constexpr int instants_per_orbit = 32;
// An event that stops for less than this goes on.
constexpr double event_gap_s = 0.5;
} // namespace

struct Simulation::Moment {
    double from_s, dt_s;
    Point2 at;       // arm, mid-time
    Point2 velocity; // arm
    HandLoad hand_load;
    double speed_rad_s;
    double orbit_radius_m;
    double rim_m; // half-width over which the rim's coverage rises
};

std::string_view name_of(EventKind kind) {
    switch (kind) {
    case EventKind::stalled_pad: return "stalled pad";
    case EventKind::pad_lifting: return "pad lifting";
    case EventKind::pad_tipping: return "pad tipping off an edge";
    case EventKind::bottomed_foam: return "bottomed pad";
    case EventKind::dry_pad: return "dry pad";
    case EventKind::hot_panel: return "hot panel";
    }
    return "";
}

Simulation::Simulation(const Panel& panel, const Setup& setup)
    : panel_(&panel), setup_(setup), layer_(std::make_shared<LayerFields>(layer_fields(panel, setup.pad))),
      foam_(setup.pad.foam), abrasive_(setup.liquid, setup.pad, setup.softness),
      heat_(panel, setup.surroundings), inertia_kgm2_(spin_inertia(setup.machine, setup.pad)) {
    heat_.mount(PadBody(setup.pad));
    charge();
    for (auto* field : {&fields_.contact_time_s, &fields_.pressure_time_pa_s, &fields_.friction_path_pa_m,
                        &fields_.removed_cold_um, &fields_.removed_um})
        field->assign(panel.grid.cells(), 0.0f);
}

StepReport Simulation::step(const ArmSample& from, const ArmSample& to) {
    StepReport report;
    report.t_s = from.t_s;
    report.dt_s = to.t_s - from.t_s;
    report.at = 0.5 * (from.at + to.at);
    report.force_n = 0.5 * (from.force_n + to.force_n);
    report.down = from.down && report.force_n > 0;
    totals_.time_s += report.dt_s;
    ++totals_.steps;
    if (from.recharge) charge();
    if (!report.down) {
        for (std::size_t k = 0; k < running_.size(); ++k) {
            const auto kind = static_cast<EventKind>(k);
            if (kind != EventKind::hot_panel) // that lasts, pad or no pad
                note(kind, false, report.t_s, report.t_s + report.dt_s, report.at, 0, false);
        }
        let_heat_pass(report);
        return report;
    }

    Moment moment;
    moment.velocity = (1 / report.dt_s) * (to.at - from.at);
    moment.hand_load = {report.force_n, 0.5 * (from.tilt_rad + to.tilt_rad), setup_.hand_stiffness_nm_rad};
    moment.speed_rad_s = 0.5 * (from.speed_rad_s + to.speed_rad_s);
    moment.orbit_radius_m = setup_.machine.kind == MachineKind::rotary ? 0 : 0.5 * setup_.machine.throw_m;

    // `averaged` takes the step whole; `resolved` cuts it into single orbits.
    const bool resolved = setup_.integrator == Integrator::resolved;
    const int chunks =
        resolved ? std::max(1, static_cast<int>(std::lround(report.dt_s * moment.speed_rad_s / two_pi))) : 1;
    moment.dt_s = report.dt_s / chunks;
    // A rim sharper than the cells, or than the arm's travel in one chunk, would leave a comb on the panel.
    const double travel = norm(to.at - from.at) / chunks;
    moment.rim_m = std::max(0.5 * panel_->grid.h_m, 0.5 * travel);
    for (int c = 0; c < chunks; ++c) {
        const double share = (c + 0.5) / chunks;
        moment.from_s = report.t_s + c * moment.dt_s;
        moment.at = (1 - share) * from.at + share * to.at;
        advance(moment, report);
    }
    let_heat_pass(report);
    return report;
}

void Simulation::charge() {
    abrasive_.recharge();
    heat_.charge(setup_.liquid.water_kg_m2);
}

/// The panel's heat spreads and leaves it while the pad works, is lifted or is recharged.
void Simulation::let_heat_pass(StepReport& report) {
    if (setup_.heat) heat_.pass(report.dt_s);
    report.hottest_film_c = heat_.hottest_film_c();
    const bool hot = report.hottest_film_c > setup_.surroundings.film_limit_c;
    note(EventKind::hot_panel, hot, report.t_s, report.t_s + report.dt_s, hot ? heat_.hottest().at : Point2{},
         report.hottest_film_c, false);
}

void Simulation::advance(const Moment& moment, StepReport& report) {
    const Pad& pad = setup_.pad;
    Footprint& f = footprint_;
    const double reach =
        pad.radius_m + std::max(moment.orbit_radius_m + 0.5 * panel_->grid.h_m, 2 * moment.rim_m);
    f.gather(*panel_, *layer_, moment.at, reach);
    f.hang_over(*panel_, *layer_, pad, moment.at, moment.orbit_radius_m);
    cover(moment);
    totals_.time_down_s += moment.dt_s;
    const double to_s = moment.from_s + moment.dt_s;
    if (!f.level()) { // wholly off the panel
        note(EventKind::pad_lifting, true, moment.from_s, to_s, moment.at, 0, true);
        return;
    }

    // Balance of force and moments does not depend on how fast the pad turns, so it comes first.
    const Balance balance = balance_plate(f, pad, foam_, moment.hand_load, pose_);
    pose_ = balance.pose;
    totals_.balance_iterations += balance.iterations;
    totals_.unbalanced_steps += balance.converged ? 0 : 1;

    const double friction = abrasive_.friction(), coefficient = abrasive_.coefficient();
    const RingLoads loads =
        ring_loads(f, pad, moment.orbit_radius_m, averaged() ? &orbit_table_at(moment) : nullptr);
    spin_rad_s_ = next_spin(setup_.machine, inertia_kgm2_, friction, loads, moment.speed_rad_s, spin_rad_s_,
                            spinning_up_ ? INFINITY : moment.dt_s);
    spinning_up_ = false;

    rub(moment);
    const auto [face, over, bearing, deepest] =
        kernels::census(f.size, f.coverage.data(), f.on.data(), f.pressure.data(), f.compression.data());
    const double power = friction * kernels::dot(f.size, f.pressure.data(), f.speed.data()) * f.cell_area_m2;
    soften(friction);
    if (setup_.heat && balance.carried_n > 0) // through tape too
        heat_.warm(f, friction, moment.dt_s, moment.at, power / (friction * balance.carried_n));
    strengthen();
    if (setup_.taped) keep_off_tape();
    deposit(moment.dt_s, coefficient);

    // What the bare paint takes of the power, warm paint counting for more.
    const double cutting_power =
        friction * f.cell_area_m2 *
        kernels::dot(f.size, f.pressure.data(), f.speed.data(), f.strength.data(), f.heat.data());
    const double removed = coefficient / friction * (cutting_power * moment.dt_s);
    abrasive_.use(power * moment.dt_s, removed, moment.dt_s);
    totals_.friction_work_j += power * moment.dt_s;
    totals_.removed_by_work_m3 += removed;
    totals_.spin_turns += std::abs(spin_rad_s_) * moment.dt_s / two_pi;

    const double strain = static_cast<double>(deepest) / pad.thickness_m;
    report.carried_n = balance.carried_n;
    report.depth_m = pose_.depth_m;
    report.tilt_rad = pose_.tilt_rad;
    report.spin_rad_s = spin_rad_s_;
    report.friction_power_w = power;
    report.removal_coefficient = coefficient;
    report.removed_m3 += removed;
    report.contact_share = bearing / face;
    report.max_strain = strain;

    const bool stalled = setup_.machine.kind == MachineKind::free_spinning &&
                         std::abs(spin_rad_s_) < stall_spin_rad_s && moment.speed_rad_s > 0;
    if (stalled) totals_.stalled_s += moment.dt_s;
    const double extra_tilt = norm(pose_.tilt_rad) - norm(moment.hand_load.tilt_rad);
    note(EventKind::stalled_pad, stalled, moment.from_s, to_s, moment.at, std::abs(spin_rad_s_) * 60 / two_pi,
         true);
    note(EventKind::pad_lifting, bearing < lifting_share * over, moment.from_s, to_s, moment.at,
         bearing / over, true);
    note(EventKind::pad_tipping, over < 0.98 * face && extra_tilt > tipping_rad, moment.from_s, to_s,
         moment.at, norm(pose_.tilt_rad), false);
    note(EventKind::bottomed_foam, strain > bottomed_share * pad.foam.densification_strain, moment.from_s,
         to_s, moment.at, strain, false);
    note(EventKind::dry_pad, abrasive_.dry(), moment.from_s, to_s, moment.at, 0, false);
}

void Simulation::cover(const Moment& moment) {
    Footprint& f = footprint_;
    // `averaged` looks the whole orbit up, `resolved` the face at an instant, its rim smoothed over a cell.
    const OrbitTable& table = averaged()
                                  ? orbit_table_at(moment)
                                  : face_.at(setup_.pad, moment.hand_load.force_n, 0, 0.5 * panel_->grid.h_m);
    const kernels::RadialTable share = table.share(), bias = table.bias();
    if (averaged()) {
        kernels::face_coverage(f.size, f.x.data(), f.y.data(), share, bias, f.coverage.data(),
                               f.rim_bias.data());
        return;
    }
    std::fill_n(f.coverage.begin(), f.size, 0.0f);
    std::fill_n(f.rim_bias.begin(), f.size, 0.0f);
    for (int s = 0; s < instants_per_orbit; ++s) {
        const Instant now = instant(moment, s);
        kernels::instant_coverage(f.size, f.x.data(), f.y.data(), static_cast<float>(now.centre.x),
                                  static_cast<float>(now.centre.y), share, 1.0f / instants_per_orbit,
                                  f.coverage.data(), f.rim_bias.data());
    }
}

const OrbitTable& Simulation::orbit_table_at(const Moment& moment) {
    return face_.at(setup_.pad, moment.hand_load.force_n, moment.orbit_radius_m, moment.rim_m);
}

/// Where the pad is at one of the instants that an orbit is cut into.
Simulation::Instant Simulation::instant(const Moment& moment, int s) {
    const double share = (s + 0.5) / instants_per_orbit, angle = two_pi * share;
    const Point2 arm = (share - 0.5) * moment.dt_s * moment.velocity;
    const Point2 offset = moment.orbit_radius_m * Point2{std::cos(angle), std::sin(angle)};
    return {arm, offset, arm + offset};
}

void Simulation::rub(const Moment& moment) {
    Footprint& f = footprint_;
    const auto spin = static_cast<float>(spin_rad_s_);
    const auto vx = static_cast<float>(moment.velocity.x), vy = static_cast<float>(moment.velocity.y);
    const double slip = moment.speed_rad_s - spin_rad_s_;
    if (setup_.integrator == Integrator::averaged) {
        kernels::orbit_speed(f.size, f.x.data(), f.y.data(), f.coverage.data(), f.rim_bias.data(),
                             static_cast<float>(moment.orbit_radius_m * slip), spin, vx, vy, f.speed.data());
        return;
    }
    std::fill_n(f.speed.begin(), f.size, 0.0f);
    const kernels::RadialTable bearing =
        face_.at(setup_.pad, moment.hand_load.force_n, 0, 0.5 * panel_->grid.h_m).share();
    for (int s = 0; s < instants_per_orbit; ++s) {
        const Instant now = instant(moment, s);
        kernels::instant_speed(f.size, f.x.data(), f.y.data(), static_cast<float>(now.centre.x),
                               static_cast<float>(now.centre.y), bearing, 1.0f / instants_per_orbit,
                               static_cast<float>(-slip * now.offset.y) + vx,
                               static_cast<float>(slip * now.offset.x) + vy, spin,
                               static_cast<float>(now.arm.x), static_cast<float>(now.arm.y), f.speed.data());
    }
}

/// Tape takes the rubbing in the paint's stead.
void Simulation::keep_off_tape() {
    Footprint& f = footprint_;
    for (const Footprint::Row& row : f.rows) {
        const std::uint8_t* taped = setup_.taped->data() + row.grid;
        for (std::size_t c = 0; c < row.count; ++c)
            if (taped[c]) f.coverage[row.packed + c] = f.speed[row.packed + c] = 0;
    }
}

/// The film's face under each cell is as warm as the sheet and this moment's flux make it.
void Simulation::soften(double friction) {
    Footprint& f = footprint_;
    if (!setup_.heat) {
        std::fill_n(f.heat.begin(), f.size, 1.0f);
        return;
    }
    heat_.lay_under(f);
    const Softening& paint = setup_.softening;
    kernels::soften({f.size, f.pressure.data(), f.speed.data(), f.temperature_rise.data(),
                     f.film_resistance.data(), static_cast<float>(friction),
                     static_cast<float>(paint.from_c - setup_.surroundings.air_c),
                     static_cast<float>(1 / paint.doubling_k), f.heat.data()});
}

/// Removal that does not go with pressure and speed as Preston has it.
void Simulation::strengthen() {
    Footprint& f = footprint_;
    const Liquid& liquid = setup_.liquid;
    if (abrasive_.preston()) {
        std::fill_n(f.strength.begin(), f.size, 1.0f);
        return;
    }
    kernels::strength({f.size, f.coverage.data(), f.pressure.data(), f.speed.data(),
                       static_cast<float>(liquid.pressure_exponent - 1),
                       static_cast<float>(liquid.speed_exponent - 1),
                       static_cast<float>(1 / Liquid::usual_pressure_pa),
                       static_cast<float>(1 / Liquid::usual_speed_m_s), f.strength.data()});
}

void Simulation::deposit(double dt_s, double coefficient) {
    Footprint& f = footprint_;
    for (const Footprint::Row& row : f.rows)
        kernels::deposit({row.count, f.coverage.data() + row.packed, f.pressure.data() + row.packed,
                          f.speed.data() + row.packed, f.strength.data() + row.packed,
                          f.heat.data() + row.packed, static_cast<float>(dt_s),
                          static_cast<float>(coefficient * 1e6), fields_.contact_time_s.data() + row.grid,
                          fields_.pressure_time_pa_s.data() + row.grid,
                          fields_.friction_path_pa_m.data() + row.grid,
                          fields_.removed_cold_um.data() + row.grid, fields_.removed_um.data() + row.grid});
}

std::size_t Simulation::bytes() const { return 5 * sizeof(float) * panel_->grid.cells() + heat_.bytes(); }

void Simulation::note(EventKind kind, bool active, double from_s, double to_s, Point2 at, double value,
                      bool worse_is_less) {
    std::optional<Event>& running = running_[static_cast<std::size_t>(kind)];
    if (!active) {
        if (running && from_s - running->to_s > event_gap_s) {
            if (running->to_s - running->from_s >= event_min_s) finished_.push_back(*running);
            running.reset();
        }
        return;
    }
    if (running && from_s - running->to_s > event_gap_s)
        note(kind, false, from_s, to_s, at, value, worse_is_less);
    if (!running) running = Event{kind, from_s, to_s, at, value};
    running->to_s = to_s;
    if (worse_is_less ? value < running->value : value > running->value)
        running->value = value, running->at = at;
}

std::vector<Event> Simulation::events() const {
    std::vector<Event> out = finished_;
    for (const auto& event : running_)
        if (event && event->to_s - event->from_s >= event_min_s) out.push_back(*event);
    std::stable_sort(out.begin(), out.end(),
                     [](const Event& a, const Event& b) { return a.from_s < b.from_s; });
    return out;
}

RunResult simulate(const Panel& panel, const Setup& setup, const ArmPath& path, StepWatch watch,
                   void* context) {
    if (path.samples.size() < 2) throw std::invalid_argument("an arm path needs two samples at least");
    Simulation simulation(panel, setup);
    RunResult out;
    const std::size_t steps = path.samples.size() - 1;
    out.trace.reserve(steps);
    for (std::size_t k = 0; k < steps; ++k) {
        out.trace.push_back(simulation.step(path.samples[k], path.samples[k + 1]));
        if (watch && k % 64 == 0 && !watch(static_cast<double>(k) / static_cast<double>(steps), context))
            break;
    }
    out.fields = simulation.fields();
    out.totals = simulation.totals();
    out.events = simulation.events();
    out.heat = simulation.heat();
    return out;
}

} // namespace sparecoat::sim
