#pragma once
#include "plan/plan.hpp"
#include <string>
#include <vector>

namespace sparecoat::plan {

/// A way to do a panel, with what speaks for and against it.
struct PanelAlternative {
    Outlook outlook;       ///< empty: the panel is left as it is
    double sure_share = 0; ///< cleared with the chance that the target asks for
    double open_keeping = 1;
    double machine_s = 0, time_s = 0; ///< over the whole panel; with set-up
    bool keeps = true, within_allowance = true, meets = false;
    bool cool = true;       ///< no step gets the film hotter than it may
    double peak_film_c = 0; ///< once it was carried over the panel
    bool preferred = false; ///< the advice's own choice
};

/// What a panel's fate is told from.
struct DecisionReasons {
    const PanelAdvice& advice;
    const std::vector<PanelAlternative>& alternatives; ///< the first leaves the panel
    std::size_t chosen = 0;
    const Target& target;
    const PlanTerms& terms;
};

/// Fills in the fate, what holds, the reason, doubts and options of a plan whose steps are there already.
void tell_decision(PanelPlan& plan, const DecisionReasons& grounds);

} // namespace sparecoat::plan
