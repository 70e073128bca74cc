// What becomes of a panel and why, in words with numbers.
#include "plan/plan_words.hpp"
#include "panel/gauge.hpp"
#include "units/percent.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace sparecoat::plan {
namespace {

std::string microns(double um) { return fmt::format("{:.{}f} µm", um, um < 10 ? 2 : 1); }

std::string chips_text(double chips) {
    const double count = std::round(chips);
    return count == 1 ? "1 stone chip" : fmt::format("{:.0f} stone chips", count);
}

class Telling {
public:
    Telling(PanelPlan& plan, const DecisionReasons& grounds)
        : plan_(plan), g_(grounds), alternative_(grounds.alternatives[grounds.chosen]) {}

    void tell() {
        find_decision();
        find_limit();
        plan_.reason = reason();
        add_doubts();
        add_options();
    }

private:
    const std::vector<StepEffect>& effects() const { return g_.advice.ground.effects; }
    /// "2 sets of polish on medium foam 150 mm, then 1 set of ...", with machines only where they tell steps
    /// apart.
    std::string words(const PanelAlternative& alternative) const {
        std::string out;
        for (const Sets& part : alternative.outlook.sequence) add_sets(out, part.sets, brief(part.step));
        return out;
    }
    std::string brief(std::size_t step) const {
        const auto without_machine = [&](std::size_t k) {
            return effects()[k].words.substr(0, effects()[k].words.rfind(" ("));
        };
        for (std::size_t k = 0; k < effects().size(); ++k)
            if (k != step && without_machine(k) == without_machine(step)) return effects()[step].words;
        return without_machine(step);
    }

    bool finest_alone(const PanelAlternative& alternative) const {
        if (alternative.outlook.sequence.size() != 1) return false;
        const double own = effects()[alternative.outlook.sequence.front().step].own.depth_um;
        return std::ranges::all_of(effects(), [&](const StepEffect& e) { return e.own.depth_um >= own; });
    }

    void find_decision() {
        if (g_.advice.advice.next == Next::cannot) plan_.decision = PanelDecision::cannot;
        else if (g_.advice.advice.next == Next::clean_first) plan_.decision = PanelDecision::not_clean;
        else if (g_.advice.advice.next == Next::touch_up) plan_.decision = PanelDecision::touch_up;
        else if (g_.chosen == 0) plan_.decision = PanelDecision::leave;
        else if (alternative_.meets) plan_.decision = PanelDecision::planned;
        else plan_.decision = finest_alone(alternative_) ? PanelDecision::finish_only : PanelDecision::less;
    }

    bool can_be_worked() const {
        return plan_.decision != PanelDecision::not_clean && plan_.decision != PanelDecision::cannot;
    }

    bool within_film(const PanelAlternative& alternative) const {
        return !g_.terms.film_um || alternative.outlook.film_um.median <= *g_.terms.film_um;
    }

    /// Whatever stands against the one that fewest things stand against of those that would meet the target.
    void find_limit() {
        const PanelDecision decision = plan_.decision;
        if (decision == PanelDecision::planned || decision == PanelDecision::touch_up || !can_be_worked())
            return;
        bool any_meets = false, any_keeps = false;
        plan_.limited_by = PlanLimit::reserve;
        for (std::size_t w = 1; w < g_.alternatives.size(); ++w) {
            const PanelAlternative& alternative = g_.alternatives[w];
            any_keeps = any_keeps || alternative.keeps;
            if (!alternative.meets) continue;
            any_meets = true;
            if (!alternative.keeps) continue;
            if (!alternative.cool) plan_.limited_by = std::max(plan_.limited_by, PlanLimit::heat);
            else if (!alternative.within_allowance)
                plan_.limited_by = std::max(plan_.limited_by, PlanLimit::allowance);
            else
                plan_.limited_by =
                    std::max(plan_.limited_by,
                             within_film(alternative) ? PlanLimit::time_limit : PlanLimit::film_limit);
        }
        if (!any_meets) plan_.limited_by = any_keeps ? PlanLimit::target : PlanLimit::both;
    }

    /// The mildest that would meet the target, whatever stands against it.
    const PanelAlternative* mildest_meeting() const {
        const PanelAlternative* best = nullptr;
        for (std::size_t w = 1; w < g_.alternatives.size(); ++w)
            if (g_.alternatives[w].meets &&
                (!best || g_.alternatives[w].outlook.film_um.median < best->outlook.film_um.median))
                best = &g_.alternatives[w];
        return best;
    }

    std::string what_it_does(const PanelAlternative& alternative) const {
        return fmt::format("{} clears {} ({} to {}) for {} of film", words(alternative),
                           percent_finer_near_all(alternative.outlook.share.median),
                           percent_finer_near_all(alternative.outlook.share.low),
                           percent_finer_near_all(alternative.outlook.share.high),
                           microns(alternative.outlook.film_um.median));
    }

    /// Why the target stays out of reach.
    std::string held_by() const {
        const PanelAlternative* would = mildest_meeting();
        const std::string reserve = microns(g_.target.reserve_um);
        switch (plan_.limited_by) {
        case PlanLimit::nothing: return "";
        case PlanLimit::target:
            return fmt::format(" No sequence of the kit is {} sure of {} cleared.",
                               percent_finer_near_all(g_.target.chance),
                               percent_finer_near_all(g_.target.share));
        case PlanLimit::both:
            return fmt::format(
                " No sequence of the kit is {} sure of {} cleared, and none is {} sure to leave {}.",
                percent_finer_near_all(g_.target.chance), percent_finer_near_all(g_.target.share),
                percent_finer_near_all(g_.target.keep_chance), reserve);
        case PlanLimit::reserve:
            return fmt::format(
                " The target takes {}, {} of film, which leaves {} with a chance of {} only.", words(*would),
                microns(would->outlook.film_um.median), reserve,
                percent_finer_near_all(std::min(would->outlook.chance_of_keeping, would->open_keeping)));
        case PlanLimit::heat:
            return fmt::format(
                " The target takes {}, which gets the film to {:.0f} °C somewhere, where {:.0f} °C is "
                "the most: nothing slower or held farther back stays under it.",
                words(*would), would->peak_film_c, Surroundings{}.film_limit_c);
        case PlanLimit::allowance:
            return fmt::format(
                " The target takes {}, {} of film, of which {} may still go over the vehicle's life.",
                words(*would), microns(would->outlook.film_um.median),
                microns(std::max(0.0, *plan_.allowance_left_um)));
        case PlanLimit::film_limit:
            return fmt::format(" The target takes {}, {} of film, over the limit of {}.", words(*would),
                               microns(would->outlook.film_um.median), microns(*g_.terms.film_um));
        case PlanLimit::time_limit:
            return fmt::format(" The target takes {}, {}, for which the time limit leaves no room.",
                               words(*would), whole_minutes_text(would->time_s));
        }
        return "";
    }

    std::string reason() const {
        switch (plan_.decision) {
        case PanelDecision::not_clean:
            return "Wash and decontaminate it first: grit under the pad cuts deeper than anything planned "
                   "here.";
        case PanelDecision::cannot:
            return fmt::format(
                "It cannot be worked with this kit: {}. The other panels are planned without it.",
                g_.advice.cannot);
        case PanelDecision::touch_up:
            return plan_.chips >= 0.5 ? fmt::format("Nothing that polishing takes out; {} to touch up.",
                                                    chips_text(plan_.chips))
                                      : "Nothing that polishing takes out.";
        case PanelDecision::leave:
            return "Leave it as it is." + held_by() +
                   (limit_worth() ? "" : " What else there is clears next to nothing.");
        case PanelDecision::planned: return planned_reason();
        case PanelDecision::less: return "As far as it goes: " + what_it_does(alternative_) + "." + held_by();
        case PanelDecision::finish_only:
            return "Finish only: " + what_it_does(alternative_) + "." + held_by();
        }
        return "";
    }
    /// Whether any way that keeps the reserve is left out for something else than clearing too little.
    bool limit_worth() const { return plan_.limited_by != PlanLimit::target; }

    std::string planned_reason() const {
        std::string text = fmt::format("{}; {} that the target is met, {} that {} stay on open ground.",
                                       what_it_does(alternative_),
                                       percent_finer_near_all(alternative_.outlook.chance_of_target),
                                       percent_finer_near_all(std::min(alternative_.outlook.chance_of_keeping,
                                                                       alternative_.open_keeping)),
                                       microns(g_.target.reserve_um));
        text.front() = static_cast<char>(text.front() >= 'a' && text.front() <= 'z' ? text.front() - 'a' + 'A'
                                                                                    : text.front());
        const PanelAlternative* milder = next_milder();
        if (milder)
            text += fmt::format(" The next milder, {}, takes {} and meets it with {} only.", words(*milder),
                                microns(milder->outlook.film_um.median),
                                percent_finer_near_all(milder->outlook.chance_of_target));
        return text;
    }

    const PanelAlternative* next_milder() const {
        const PanelAlternative* best = nullptr;
        for (std::size_t w = 1; w < g_.alternatives.size(); ++w) {
            const PanelAlternative& alternative = g_.alternatives[w];
            if (alternative.meets ||
                alternative.outlook.film_um.median >= alternative_.outlook.film_um.median)
                continue;
            if (!best || alternative.outlook.film_um.median > best->outlook.film_um.median)
                best = &alternative;
        }
        return best;
    }

    // ---- doubts -----------------------------------------------------------------------------------

    void add_doubts() {
        if (!can_be_worked()) return;
        std::vector<std::string>& doubts = plan_.doubts;
        if (!g_.advice.conflicts.empty())
            doubts.push_back("what was seen on its squares cannot be true together: look again before any of "
                             "this is done");
        if (plan_.decision != PanelDecision::touch_up && g_.advice.tries.empty())
            doubts.push_back(
                "no test section on it: the cut and the marks rest on the presets and on other panels");
        if (!plan_.panel.measured())
            doubts.push_back(fmt::format("no gauge readings: the clear coat is the paint's nominal {} ± {}",
                                         microns(plan_.clear_um), microns(plan_.clear_sd_um)));
        add_thin_paint();
        for (const RegionAtRisk& region : plan_.at_risk)
            if (region.thin_before >= g_.terms.threshold)
                doubts.push_back(fmt::format("{}: under {} before any work with a chance of {}",
                                             region.spot.place, microns(g_.target.reserve_um),
                                             percent_finer_near_all(region.thin_before)));
    }

    /// Thin paint is to be left or refinished only, as the trade has it, whatever is known of its clear coat.
    void add_thin_paint() {
        constexpr double least_told_share = 0.01;
        const Panel& panel = *g_.advice.ground.panel;
        const std::vector<std::size_t>& open = g_.advice.ground.cells;
        std::size_t thin = 0;
        double least_um = std::numeric_limits<double>::infinity();
        for (const std::size_t k : open) {
            const double total_um =
                panel.clear_um[k] + panel.base_um[k] + panel.primer_um[k] + panel.ecoat_um[k];
            thin += total_um < thin_paint_um;
            least_um = std::min(least_um, total_um);
        }
        const double share =
            static_cast<double>(thin) / static_cast<double>(std::max<std::size_t>(1, open.size()));
        if (share >= least_told_share)
            plan_.doubts.push_back(
                fmt::format("thin paint: {} of the open ground has under {:.0f} µm of all layers, {:.0f} µm "
                            "at the least; the trade "
                            "leaves such paint or refinishes it only (common practice, no source)",
                            percent_finer_near_all(share), thin_paint_um, least_um));
    }

    // ---- options ----------------------------------------------------------------------------------

    void add_option(std::string text, const PanelAlternative& alternative) {
        plan_.options.push_back({std::move(text), alternative.outlook.film_um.median, alternative.sure_share,
                                 alternative.time_s});
    }
    bool holds_up(const PanelAlternative& alternative) const {
        return alternative.keeps && alternative.within_allowance && alternative.cool &&
               within_film(alternative);
    }

    void add_options() {
        if (!can_be_worked()) return;
        if (plan_.decision != PanelDecision::touch_up) {
            if (plan_.limited_by == PlanLimit::time_limit || plan_.limited_by == PlanLimit::film_limit)
                add_option(fmt::format("without the limit: {}", words(*mildest_meeting())),
                           *mildest_meeting());
            lower_the_target();
            finish_only();
            if (g_.chosen != 0) plan_.options.push_back({"leave it as it is", 0.0, 0.0, 0.0});
        }
        if (plan_.chips >= 0.5)
            plan_.options.push_back(
                {fmt::format("touch up {}, which no polishing takes out", chips_text(plan_.chips)),
                 0.0,
                 {},
                 {}});
        if (plan_.decision == PanelDecision::less || plan_.decision == PanelDecision::finish_only ||
            plan_.decision == PanelDecision::leave)
            plan_.options.push_back({"have it resprayed: a new clear coat, every mark gone", {}, 1.0, {}});
    }

    /// Milder than the plan; or, where the target is out of reach, what is sure of most.
    void lower_the_target() {
        const PanelAlternative* best = nullptr;
        for (std::size_t w = 1; w < g_.alternatives.size(); ++w) {
            const PanelAlternative& alternative = g_.alternatives[w];
            if (w == g_.chosen || !holds_up(alternative) || alternative.meets || alternative.sure_share <= 0)
                continue;
            if (plan_.decision == PanelDecision::planned &&
                alternative.outlook.film_um.median >= alternative_.outlook.film_um.median)
                continue;
            if (!best || alternative.sure_share > best->sure_share) best = &alternative;
        }
        if (best)
            add_option(fmt::format("lower the target to {:.0f} %: {}", std::floor(100 * best->sure_share),
                                   words(*best)),
                       *best);
        if (plan_.decision == PanelDecision::less || plan_.decision == PanelDecision::finish_only)
            add_option(
                fmt::format("call {:.0f} % enough: as planned", std::floor(100 * alternative_.sure_share)),
                alternative_);
    }

    void finish_only() {
        if (plan_.decision == PanelDecision::finish_only) return;
        for (std::size_t w = 1; w < g_.alternatives.size(); ++w)
            if (w != g_.chosen && finest_alone(g_.alternatives[w]) && holds_up(g_.alternatives[w]))
                return add_option(fmt::format("finish only: {}", words(g_.alternatives[w])),
                                  g_.alternatives[w]);
    }

    PanelPlan& plan_;
    const DecisionReasons& g_;
    const PanelAlternative& alternative_;
};

} // namespace

std::string_view name_of(PanelDecision decision) {
    switch (decision) {
    case PanelDecision::planned: return "planned";
    case PanelDecision::less: return "less than the target";
    case PanelDecision::finish_only: return "finish only";
    case PanelDecision::leave: return "leave";
    case PanelDecision::touch_up: return "touch up";
    case PanelDecision::not_clean: return "wash and decontaminate first";
    case PanelDecision::cannot: return "cannot be worked with this kit";
    }
    return "";
}

std::string_view name_of(PlanLimit limited_by) {
    switch (limited_by) {
    case PlanLimit::nothing: return "nothing";
    case PlanLimit::target: return "target";
    case PlanLimit::reserve: return "reserve";
    case PlanLimit::both: return "both";
    case PlanLimit::heat: return "heat";
    case PlanLimit::allowance: return "allowance";
    case PlanLimit::film_limit: return "film limit";
    case PlanLimit::time_limit: return "time limit";
    }
    return "";
}

void tell_decision(PanelPlan& plan, const DecisionReasons& grounds) { Telling(plan, grounds).tell(); }

} // namespace sparecoat::plan
