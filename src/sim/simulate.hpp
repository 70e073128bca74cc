#pragma once
#include "panel/panel.hpp"
#include "sim/abrasive.hpp"
#include "sim/contact.hpp"
#include "sim/heat.hpp"
#include "sim/rim.hpp"
#include "tool/arm_path.hpp"
#include "tool/tool.hpp"
#include "units/quantity.hpp"
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string_view>
#include <vector>

namespace sparecoat::sim {

enum class Integrator { averaged, resolved };

/// What a run depends on besides the arm path.
struct Setup {
    Machine machine;
    Pad pad;
    Liquid liquid;
    double softness = 1; ///< of the paint
    double hand_stiffness_nm_rad = 30;
    Integrator integrator = Integrator::averaged;
    /// One entry a cell, 1 under masking tape: the pad runs over it and what lies beneath loses nothing. None
    /// where there is no tape. Shared among the copies of a simulation.
    std::shared_ptr<const std::vector<std::uint8_t>> taped = {};
    Surroundings surroundings = {};
    Softening softening = {}; ///< of the paint
    bool heat = true;         ///< false: the panel stays at the air's temperature, which is quicker
};

/// The five accumulators, one entry a cell. They are the whole answer: with T, P, S, C, R read off a cell,
/// removed R = T x (P/T) x (S/P) x (C/S) x (R/C): time x mean pressure x mean speed x mean cut x mean heat
/// factor.
struct Fields {
    std::vector<float> contact_time_s;     ///< T
    std::vector<float> pressure_time_pa_s; ///< P = int p dt
    std::vector<float> friction_path_pa_m; ///< S = int p |v| dt (times friction = work per area)
    std::vector<float> removed_cold_um;    ///< C = int k p |v| dt: what paint that does not soften would lose
    std::vector<float> removed_um;         ///< R = int f k p |v| dt, f how much more warm paint cuts
};

enum class EventKind { stalled_pad, pad_lifting, pad_tipping, bottomed_foam, dry_pad, hot_panel };
inline constexpr int event_kinds = 6;
struct Event {
    EventKind kind;
    double from_s = 0, to_s = 0;
    Point2 at; ///< pad centre at the worst moment; the hottest place (hot panel)
    /// Worst: turns/min (stalled), share of face carrying load (lifting), rad (tipping), strain (bottomed), 0
    /// (dry), the film's °C (hot panel).
    double value = 0;
};
std::string_view name_of(EventKind kind);

/// What the tool does at a moment: for strip charts and for `trace` files.
struct StepReport {
    double t_s = 0, dt_s = 0;
    Point2 at;
    double force_n = 0;   ///< asked
    double carried_n = 0; ///< sum of contact pressure
    double depth_m = 0;   ///< compression at the plate's centre
    Point2 tilt_rad;      ///< of the plate, in the panel's frame
    double spin_rad_s = 0;
    double friction_power_w = 0;
    double removal_coefficient = 0; ///< k, 1/Pa
    double removed_m3 = 0;          ///< in this step
    double contact_share = 0;       ///< of the pad's face
    double max_strain = 0;
    double hottest_film_c = 0; ///< anywhere on the panel
    bool down = false;
};

/// Sums of one run, in double, kept apart from the cell fields so that they check each other.
struct Totals {
    double friction_work_j = 0; ///< mu x sum of p |v| dA dt
    double removed_by_work_m3 =
        0; ///< sum over steps of k / mu x friction work on bare paint, times the heat factor
    double time_down_s = 0, time_s = 0;
    double stalled_s = 0;
    double spin_turns = 0;
    int steps = 0, balance_iterations = 0, unbalanced_steps = 0;
};

/// Thresholds of the events, and how long one must last to be reported.
inline constexpr double stall_spin_rad_s = 2 * pi; ///< about one turn per second
inline constexpr double lifting_share = 0.6;       ///< of the face over the panel that must carry load
inline constexpr double tipping_rad =
    0.04; ///< tilt beyond the commanded, with part of the face off the panel
inline constexpr double bottomed_share = 0.85; ///< of the densification strain
inline constexpr double event_min_s = 0.3;

/// One run, step by step. A value: copy it to keep a snapshot, go on from either. Holds a reference to the
/// panel, which must outlive it and does not change. A run depends on (panel, setup, path) alone.
class Simulation {
public:
    Simulation(const Panel& panel, const Setup& setup);

    /// Simulates from one arm sample to the next, as one step at their midpoint (`averaged`) or orbit by
    /// orbit in 32 instants each (`resolved`).
    StepReport step(const ArmSample& from, const ArmSample& to);

    const Fields& fields() const { return fields_; }
    const Totals& totals() const { return totals_; }
    const Footprint& footprint() const { return footprint_; } ///< as the last step left it
    const LayerFields& layer() const { return *layer_; }
    const PanelHeat& heat() const { return heat_; }
    std::size_t bytes() const; ///< that a copy takes, about
    const Setup& setup() const { return setup_; }
    std::vector<Event> events() const; ///< finished and running ones that lasted long enough, by start

private:
    struct Moment; // one chunk of a step: where, how long, what the hand does
    struct Instant {
        Point2 arm, offset, centre; ///< from the mean centre: the arm, the pad from it, and the pad
    };
    bool averaged() const { return setup_.integrator == Integrator::averaged; }
    const OrbitTable& orbit_table_at(const Moment& moment);
    static Instant instant(const Moment& moment, int s);
    void advance(const Moment& moment, StepReport& report);
    void cover(const Moment& moment);
    void rub(const Moment& moment);
    void charge(); ///< fresh liquid on a cleaned pad
    void strengthen();
    void keep_off_tape();
    void soften(double friction);
    void deposit(double dt_s, double coefficient);
    void let_heat_pass(StepReport& report);
    void note(EventKind kind, bool active, double from_s, double to_s, Point2 at, double value,
              bool worse_is_less);

    const Panel* panel_;
    Setup setup_;
    std::shared_ptr<const LayerFields> layer_;
    FoamCurve<float> foam_;
    Abrasive abrasive_;
    PanelHeat heat_;
    Footprint footprint_;
    FaceTables face_;
    Fields fields_;
    Totals totals_;
    PlatePose pose_;
    double inertia_kgm2_ = 0, spin_rad_s_ = 0;
    bool spinning_up_ = true; ///< no spin solved yet: the first step starts from the steady spin
    std::vector<Event> finished_;
    std::array<std::optional<Event>, event_kinds> running_;
};

/// What simulate() keeps.
struct RunResult {
    Fields fields;
    Totals totals;
    std::vector<Event> events;
    std::vector<StepReport> trace; ///< one a step
    std::optional<PanelHeat> heat; ///< as the run left it
};

/// Called now and then with the share done, 0..1; returns false to stop (simulate() then returns what it
/// has). A plain function, so that this room needs nothing but the algorithm; what callers tell is
/// run::Progress.
using StepWatch = bool (*)(double share, void* context);

/// Simulates a whole path. @throws std::invalid_argument for a path of under two samples.
RunResult simulate(const Panel& panel, const Setup& setup, const ArmPath& path, StepWatch watch = nullptr,
                   void* context = nullptr);

} // namespace sparecoat::sim
