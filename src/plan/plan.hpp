#pragma once
#include "decide/chance.hpp"
#include "decide/exposure.hpp"
#include "plan/section.hpp"
#include "units/quantity.hpp"
#include <functional>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::plan {

// The plan of a whole vehicle: for every panel the sequence with the least film lost whose chance of the
// target and of keeping the reserve both hold, carried over the whole panel, edges and all (docs/model.md,
// section 12).

/// What a panel brings to its plan besides its entry in the record.
struct PanelTask {
    std::string name; ///< "left rear door"; empty: the shape's own
    std::optional<double>
        allowance_left_um; ///< clear coat that may still go over the vehicle's life; none: no matter
};

/// What becomes of a panel.
enum class PanelDecision {
    planned,     ///< a sequence meets the target and keeps the reserve
    less,        ///< the target cannot be met: the best that keeps the reserve
    finish_only, ///< no film to spare for marks: a finishing polish alone
    leave,       ///< nothing to be done that is worth its film
    touch_up,    ///< nothing that polishing takes out
    not_clean,   ///< no advice until it is washed and decontaminated
    cannot       ///< no step of the kit has room on it
};
std::string_view name_of(PanelDecision decision);

/// What keeps a panel from its target.
enum class PlanLimit { nothing, target, reserve, both, heat, allowance, film_limit, time_limit };
std::string_view name_of(PlanLimit limited_by);

/// The usual hand: what the technique presets have (from memory).
inline constexpr HandVariation usual_hand{0.08, 0.10, 0.5 * deg, 0.005, 1.5};

/// What comes on top of a machine's running time; all from memory.
struct SetUp {
    double each_step_s =
        120; ///< at every step of a panel: wipe it off, look at it under the lamp, move the lights
    double change_s = 240;   ///< once for each step of the day: pad and liquid changed, the machine wiped
    double each_tape_s = 90; ///< for every edge or line that is taped, and its tape taken off again
};
/// Liquid for one charge of a section, and how many charges a pad is good for before it is washed (common
/// practice, no source; the amount from memory).
inline constexpr double charge_ml = 6;
inline constexpr int charges_a_pad = 6;

/// A step as it is carried over the panel.
struct PlannedStep {
    std::string id, words;            ///< KitStep's
    std::string machine, pad, liquid; ///< the machine by its reference; pad and liquid by name
    bool paper = false, rotary = false;
    int sets = 1;
    Technique technique;               ///< of one set over the whole panel, with its hold-backs and tape
    std::vector<std::string> kept_off; ///< "hold the pad's rim back 15 mm from the wheel arch edge"
    double open_um = 0;                ///< film that all its sets take off the open panel, at the median cut
    double time_s = 0;                 ///< that the machine runs, for all its sets
    double peak_film_c = 0;
    int charges = 0; ///< of liquid on a clean pad, or sheets of paper, for all its sets
    double liquid_ml = 0;
    /// One set by the presets, as docs/schema/summary.schema.json.
    std::shared_ptr<const nlohmann::json> summary;
    double lost_mean_um = 0, lost_median_um = 0, lost_worst_um = 0; ///< of that set, over the panel
};

/// Another way for a panel, for a person to choose instead.
struct PanelOption {
    std::string words;                            ///< "lower the target to 85 %: 1 set of polish on ..."
    std::optional<double> film_um, share, time_s; ///< where they can be told
};

struct PanelPlan {
    RecordedPanel panel;
    std::string name; ///< the task's, else the shape's
    bool plastic = false;
    double area_m2 = 0;
    PanelDecision decision = PanelDecision::leave;
    PlanLimit limited_by = PlanLimit::nothing;
    std::string reason;              ///< in a sentence or two, with its numbers
    std::vector<std::string> doubts; ///< evidence that does not go together, nominal film, thin spots
    std::vector<PlannedStep> steps;
    Outlook outlook;         ///< on the open panel, hold-backs and tape counted; empty where nothing is done
    double sure_share = 0;   ///< cleared on the open panel with the chance that the target asks for
    Interval share_whole;    ///< cleared over the whole panel, edges and tape counted
    double open_keeping = 1; ///< chance that the thinnest open ground keeps the reserve
    double chance_of_keeping = 1; ///< everywhere on the panel: 1 - the highest chance at any spot
    double keeping_error = 0;     ///< standard error of that, from the draws of the hand
    std::size_t weakest_cell = 0; ///< where that spot is, of the panel on cells of 4 mm
    std::string weakest;          ///< in words: "6 mm from the wheel arch edge"; empty where nothing is done
    /// That are left with the steps as planned: edges and lines over the threshold, open panel over what the
    /// target allows.
    std::vector<RegionAtRisk> at_risk;
    double clear_um = 0, clear_sd_um = 0; ///< before, where it is thinnest; ClearCoat
    double chips = 0;                     ///< for touch-up
    std::optional<double> allowance_left_um;
    std::vector<PanelOption> options;
    double time_s = 0; ///< machine, and what each step and tape ask for besides
};

struct VehiclePlan {
    std::string name;
    Target target;
    SetUp set_up;
    std::vector<PanelPlan> panels; ///< in the record's order
    /// Order of work: the coarsest step that is next on any panel, on all panels where it is next; then the
    /// next.
    struct Turn {
        std::string step, words;
        std::vector<std::size_t> panels;
        double time_s = 0; ///< change, set-up and machine
    };
    std::vector<Turn> order;
    double time_s = 0; ///< everything
    double film_um = 0,
           share =
               0; ///< off and cleared on open ground, means by area over panels that have plans or could have
    struct Used {
        std::string what;
        double amount = 0;
    };
    std::vector<Used> pads, papers, liquids_ml, machine_s; ///< machines by reference
    /// What a limit trades: choices of a way for every panel that no other beats in film, share and time.
    struct Point {
        double film_um = 0, share = 0, time_s = 0;
    };
    std::vector<Point> front;
    Point chosen; ///< with its hold-backs and tape, as are all that were carried over a panel; the others are
                  ///< before theirs
};

struct PlanTerms {
    std::optional<double> time_s;  ///< for the vehicle
    std::optional<double> film_um; ///< off any panel's open ground
    double threshold = 0.01;       ///< chance from which a spot is at risk
    int pairs = 16;                ///< draws of the hand and their mirror images, fewer on large panels
    std::uint64_t seed = 1;
    HandVariation hand = usual_hand;
    SetUp set_up;
};

/// Told which panel and the share of all done, from any thread, one at a time; false stops (Stopped).
using PlanProgress = std::function<bool(const std::string& panel, double share)>;

/// Plans every panel of a record. Sequences are chosen as advise() does, from what all of its sections
/// taught; where a limit binds, the choice is changed where that costs least (see choose_ways). Each step is
/// then simulated over the whole panel, and hold-backs or tape are put where the chance of burning through
/// would else pass the threshold. Depends on its inputs alone, not on `threads` nor on what was `kept`
/// (advise_on).
/// @param tasks one for each panel of the record, in its order. @throws InputError, Stopped;
/// std::invalid_argument for another number of tasks.
VehiclePlan plan_vehicle(const Library& library, const SectionRecord& record,
                         const std::vector<PanelTask>& tasks, const PlanTerms& terms, int threads,
                         const PlanProgress& progress = {}, WorkedSets* kept = nullptr);

/// docs/schema/plan.schema.json, and its panels[].
nlohmann::json plan_json(const VehiclePlan& plan);
nlohmann::json panel_plan_json(const PanelPlan& panel);

} // namespace sparecoat::plan
