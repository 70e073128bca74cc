#pragma once
#include "vehicle/film_spent.hpp"
#include "vehicle/job_file.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::vehicle {

// A vehicle at one visit, panel by panel, as a person wants to see it: read from a job file in one go.

/// A stored plan of a panel (docs/schema/plan.schema.json, panels[]), as far as a glance goes.
struct PlanGlance {
    struct Step {
        std::string id, words; ///< "polish on medium foam 150 mm"
        int sets = 1;
        std::vector<std::string> kept_off; ///< "hold the pad's rim back 15 mm from the wheel arch edge"
        double open_um = 0, time_s = 0;
        std::string technique; ///< of one set: JSON, as in a run's summary
    };
    std::string decision, holds, reason;
    std::vector<Step> steps;
    std::vector<std::string> doubts, at_risk; ///< the second: "wheel arch edge: 2.1 % under the reserve"
    std::optional<double> chance_of_target,
        chance_of_keeping; ///< where something is done; the second everywhere on the panel
    double film_um = 0,
           film_sd_um =
               0; ///< off open ground: median, and the sd that its 5th and 95th percentiles speak for
    double time_s = 0;
    bool plastic = false;
    std::string fault; ///< what is wrong with a plan that cannot be read; else empty
};
/// Never throws: what is no plan has a fault.
PlanGlance glance_at_plan(const std::string& plan_json);

/// Where a panel stands at a visit.
enum class PanelStand {
    wash, ///< not washed and decontaminated yet
    no_plan,
    planned,
    less,
    finish_only,
    leave,
    touch_up, ///< as PanelDecision, nothing done yet
    done      ///< work is on file
};
std::string_view words_of(PanelStand stand); ///< "wash first"

struct BoardPanel {
    JobPanel panel;
    std::string shape, paint; ///< references of documents
    std::optional<PanelVisit> at;
    std::string marks;                 ///< reference; empty where nobody said
    std::vector<FilmReading> readings; ///< of this visit
    /// What the film is known by: this visit's readings before work, else an earlier visit's after work.
    std::vector<FilmReading> film;
    bool film_of_earlier = false;
    std::optional<PlanGlance> plan;
    std::optional<Work> work;
    std::optional<FilmSum> lost; ///< at this visit, as SpentFilm::best
    FilmSum spent;               ///< at all visits up to this one
    int spent_visits = 0;
    PanelStand stand = PanelStand::wash;
    int tries = 0; ///< on its test squares, at this visit

    bool clean() const { return at && at->clean; }
    bool to_do() const {
        return stand != PanelStand::done && stand != PanelStand::leave && stand != PanelStand::touch_up;
    }
};

struct Board {
    Vehicle vehicle;
    std::string kit;            ///< reference; empty: none
    std::vector<Visit> visits;  ///< by date
    std::optional<Visit> visit; ///< the one that is shown
    std::vector<BoardPanel> panels;
    std::vector<Edit> history;
    /// Edits since the last plan that is not undone; none where no plan is in the history.
    std::optional<int> edits_since_plan;

    double left_um(const BoardPanel& panel) const { return vehicle.allowance_um - panel.spent.um; }
    double planned_s() const; ///< sum over panels, changes of step not counted
    int count(PanelStand stand) const;
};

/// @param visit the one to show; none, or one that is gone: the latest. @throws InputError as JobFile.
Board board_of(const JobFile& job, std::optional<Id> visit);

} // namespace sparecoat::vehicle
