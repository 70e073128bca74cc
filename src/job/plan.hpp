#pragma once
#include "decide/exposure.hpp"
#include "job/risk.hpp"
#include "job/section.hpp"
#include <functional>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat {

// The plan of a whole vehicle: for every panel the sequence with the least film lost whose chance of the target and of
// keeping the reserve both hold, carried over the whole panel, edges and all.

/// What a panel brings to its plan.
struct PanelTask {
    RecordedPanel panel;         ///< as in the record of sections, with what was tried
    double allowance_left_um = 0; ///< clear coat that may still go over the vehicle's life
};

/// What becomes of a panel.
enum class PanelFate {
    planned,     ///< a sequence meets the target and keeps the reserve
    less,        ///< the target cannot be met: the best that keeps the reserve
    finish_only, ///< no film to spare for marks: a finishing polish alone
    leave,       ///< nothing to be done that is worth its film
    touch_up,    ///< nothing that polishing takes out
    not_clean    ///< no advice until it is washed and decontaminated
};
std::string_view name_of(PanelFate fate);

/// A step as it is carried over the panel.
struct PlannedStep {
    std::string id, words;       ///< KitStep's
    int sets = 1;
    Technique technique;         ///< of one set over the whole panel, with its hold-backs and tape
    std::vector<std::string> kept_off; ///< "hold the pad's rim back 15 mm from the wheel arch edge", "tape the waist line 10 mm wide"
    double open_um = 0;          ///< film that all its sets take off the open panel
    double time_s = 0;           ///< of all its sets
    double peak_film_c = 0;
    double liquid_ml = 0;        ///< by the number of charges
};

/// Another way for a panel, for a person to choose instead.
struct PanelOption {
    std::string words;           ///< "lower the target to 88 % cleared"
    double film_um = 0, share = 0, time_s = 0;
};

struct PanelPlan {
    RecordedPanel panel;
    std::string name;            ///< the panel's own
    PanelFate fate = PanelFate::leave;
    Binds binds = Binds::nothing;
    std::string reason;          ///< in a sentence, with its numbers
    std::vector<PlannedStep> steps;
    Outlook outlook;             ///< on the open panel
    double chance_of_keeping = 1; ///< everywhere on the panel: 1 - the highest chance at any spot
    std::vector<RegionAtRisk> at_risk; ///< that are left with the steps as planned
    double clear_um = 0, clear_sd_um = 0; ///< open panel, before
    double chips = 0;
    std::vector<PanelOption> options;
    double time_s = 0;
};

struct VehiclePlan {
    std::vector<PanelPlan> panels;       ///< in the order of work
    double time_s = 0, film_um = 0;      ///< film: mean over the panels' open ground by area
    struct Used {
        std::string what;
        double amount = 0;
    };
    std::vector<Used> pads, liquids_ml, machine_s;
    /// What a limit trades: the front of film against marks cleared against time, each point a choice of candidate for
    /// every panel that no other beats in all three.
    struct FrontPoint {
        double film_um = 0, share = 0, time_s = 0;
        bool chosen = false;
    };
    std::vector<FrontPoint> front;
};

struct PlanLimits {
    std::optional<double> time_s;    ///< for the vehicle
    std::optional<double> film_um;   ///< for any panel's open ground
    ChanceTerms terms;
    double threshold = 0.01;         ///< chance from which a spot is at risk
};

/// Told which panel and the share done; false stops (Stopped).
using PlanProgress = std::function<bool(const std::string& panel, double share)>;

/// Plans every panel. Sequences are chosen as advise() does, from what the vehicle's sections taught; each step is then
/// simulated over the whole panel, and hold-backs or tape are put where the chance of burning through would else pass
/// the threshold. Depends on its inputs alone, not on `threads`. @throws InputError, Stopped.
VehiclePlan plan_vehicle(const Library& library, const SectionRecord& record, const std::vector<PanelTask>& tasks,
                         const PlanLimits& limits, int threads, const PlanProgress& progress = {});

/// docs/schema/plan.schema.json.
nlohmann::json plan_json(const VehiclePlan& plan);

} // namespace sparecoat
