// What becomes of a panel and why, in words with numbers.
#include "plan/plan_words.hpp"
#include "panel/gauge.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace sparecoat::plan {
namespace {

/// Where the film gets hotter than this the plan says so, °C (from memory; see Event::hot_panel).
constexpr double hot_film_c = 60;

std::string percent(double share) {
    const double value = 100 * share;
    if (value >= 99.95) return "100 %";
    return value > 99 ? fmt::format("{:.1f} %", value) : fmt::format("{:.0f} %", value);
}
std::string microns(double um) { return fmt::format("{:.{}f} µm", um, um < 10 ? 2 : 1); }
std::string minutes(double seconds) {
    return fmt::format("{:.0f} min", std::max(1.0, std::round(seconds / 60)));
}

std::string chips_text(double chips) {
    const double count = std::round(chips);
    return count == 1 ? "1 stone chip" : fmt::format("{:.0f} stone chips", count);
}

class Telling {
public:
    Telling(PanelPlan& plan, const FateGrounds& grounds)
        : plan_(plan), g_(grounds), way_(grounds.ways[grounds.chosen]) {}

    void tell() {
        find_fate();
        find_what_holds();
        plan_.reason = reason();
        add_doubts();
        add_options();
    }

private:
    const std::vector<StepEffect>& effects() const { return g_.advice.ground.effects; }
    /// "2 sets of polish on medium foam 150 mm, then 1 set of ...", with machines only where they tell steps
    /// apart.
    std::string words(const WayOf& way) const {
        std::string out;
        for (const Sets& part : way.outlook.sequence)
            out += fmt::format("{}{} {} of {}", out.empty() ? "" : ", then ", part.sets,
                               part.sets == 1 ? "set" : "sets", brief(part.step));
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

    bool finest_alone(const WayOf& way) const {
        if (way.outlook.sequence.size() != 1) return false;
        const double own = effects()[way.outlook.sequence.front().step].own.depth_um;
        return std::ranges::all_of(effects(), [&](const StepEffect& e) { return e.own.depth_um >= own; });
    }

    void find_fate() {
        if (g_.advice.advice.next == Next::clean_first) plan_.fate = PanelFate::not_clean;
        else if (g_.advice.advice.next == Next::touch_up) plan_.fate = PanelFate::touch_up;
        else if (g_.chosen == 0) plan_.fate = PanelFate::leave;
        else if (way_.meets) plan_.fate = PanelFate::planned;
        else plan_.fate = finest_alone(way_) ? PanelFate::finish_only : PanelFate::less;
    }

    bool within_film(const WayOf& way) const {
        return !g_.terms.film_um || way.outlook.film_um.median <= *g_.terms.film_um;
    }

    /// Whatever stands against the one that fewest things stand against of those that would meet the target.
    void find_what_holds() {
        const PanelFate fate = plan_.fate;
        if (fate == PanelFate::planned || fate == PanelFate::touch_up || fate == PanelFate::not_clean) return;
        bool any_meets = false, any_keeps = false;
        plan_.holds = Holds::reserve;
        for (std::size_t w = 1; w < g_.ways.size(); ++w) {
            const WayOf& way = g_.ways[w];
            any_keeps = any_keeps || way.keeps;
            if (!way.meets) continue;
            any_meets = true;
            if (!way.keeps) continue;
            if (!way.within_allowance) plan_.holds = std::max(plan_.holds, Holds::allowance);
            else
                plan_.holds = std::max(plan_.holds, within_film(way) ? Holds::time_limit : Holds::film_limit);
        }
        if (!any_meets) plan_.holds = any_keeps ? Holds::target : Holds::both;
    }

    /// The mildest that would meet the target, whatever stands against it.
    const WayOf* mildest_meeting() const {
        const WayOf* best = nullptr;
        for (std::size_t w = 1; w < g_.ways.size(); ++w)
            if (g_.ways[w].meets &&
                (!best || g_.ways[w].outlook.film_um.median < best->outlook.film_um.median))
                best = &g_.ways[w];
        return best;
    }

    std::string what_it_does(const WayOf& way) const {
        return fmt::format("{} clears {} ({} to {}) for {} of film", words(way),
                           percent(way.outlook.share.median), percent(way.outlook.share.low),
                           percent(way.outlook.share.high), microns(way.outlook.film_um.median));
    }

    /// Why the target stays out of reach.
    std::string held_by() const {
        const WayOf* would = mildest_meeting();
        const std::string reserve = microns(g_.target.reserve_um);
        switch (plan_.holds) {
        case Holds::nothing: return "";
        case Holds::target:
            return fmt::format(" No sequence of the kit is {} sure of {} cleared.", percent(g_.target.chance),
                               percent(g_.target.share));
        case Holds::both:
            return fmt::format(
                " No sequence of the kit is {} sure of {} cleared, and none is {} sure to leave {}.",
                percent(g_.target.chance), percent(g_.target.share), percent(g_.target.keep_chance), reserve);
        case Holds::reserve:
            return fmt::format(" The target takes {}, {} of film, which leaves {} with a chance of {} only.",
                               words(*would), microns(would->outlook.film_um.median), reserve,
                               percent(std::min(would->outlook.chance_of_keeping, would->open_keeping)));
        case Holds::allowance:
            return fmt::format(
                " The target takes {}, {} of film, of which {} may still go over the vehicle's life.",
                words(*would), microns(would->outlook.film_um.median),
                microns(std::max(0.0, *plan_.allowance_left_um)));
        case Holds::film_limit:
            return fmt::format(" The target takes {}, {} of film, over the limit of {}.", words(*would),
                               microns(would->outlook.film_um.median), microns(*g_.terms.film_um));
        case Holds::time_limit:
            return fmt::format(" The target takes {}, {}, for which the time limit leaves no room.",
                               words(*would), minutes(would->time_s));
        }
        return "";
    }

    std::string reason() const {
        switch (plan_.fate) {
        case PanelFate::not_clean:
            return "Wash and decontaminate it first: grit under the pad cuts deeper than anything planned "
                   "here.";
        case PanelFate::touch_up:
            return plan_.chips >= 0.5 ? fmt::format("Nothing that polishing takes out; {} to touch up.",
                                                    chips_text(plan_.chips))
                                      : "Nothing that polishing takes out.";
        case PanelFate::leave:
            return "Leave it as it is." + held_by() +
                   (holds_worth() ? "" : " What else there is clears next to nothing.");
        case PanelFate::planned: return planned_reason();
        case PanelFate::less: return "As far as it goes: " + what_it_does(way_) + "." + held_by();
        case PanelFate::finish_only: return "Finish only: " + what_it_does(way_) + "." + held_by();
        }
        return "";
    }
    /// Whether any way that keeps the reserve is left out for something else than clearing too little.
    bool holds_worth() const { return plan_.holds != Holds::target; }

    std::string planned_reason() const {
        std::string text = fmt::format("{}; {} that the target is met, {} that {} stay on open ground.",
                                       what_it_does(way_), percent(way_.outlook.chance_of_target),
                                       percent(std::min(way_.outlook.chance_of_keeping, way_.open_keeping)),
                                       microns(g_.target.reserve_um));
        text.front() = static_cast<char>(text.front() >= 'a' && text.front() <= 'z' ? text.front() - 'a' + 'A'
                                                                                    : text.front());
        const WayOf* milder = next_milder();
        if (milder)
            text += fmt::format(" The next milder, {}, takes {} and meets it with {} only.", words(*milder),
                                microns(milder->outlook.film_um.median),
                                percent(milder->outlook.chance_of_target));
        return text;
    }

    const WayOf* next_milder() const {
        const WayOf* best = nullptr;
        for (std::size_t w = 1; w < g_.ways.size(); ++w) {
            const WayOf& way = g_.ways[w];
            if (way.meets || way.outlook.film_um.median >= way_.outlook.film_um.median) continue;
            if (!best || way.outlook.film_um.median > best->outlook.film_um.median) best = &way;
        }
        return best;
    }

    // ---- doubts -----------------------------------------------------------------------------------

    void add_doubts() {
        if (plan_.fate == PanelFate::not_clean) return;
        std::vector<std::string>& doubts = plan_.doubts;
        if (!g_.advice.conflicts.empty())
            doubts.push_back("what was seen on its squares cannot be true together: look again before any of "
                             "this is done");
        if (plan_.fate != PanelFate::touch_up && g_.advice.tries.empty())
            doubts.push_back(
                "no test section on it: the cut and the marks rest on the presets and on other panels");
        if (!plan_.panel.readings)
            doubts.push_back(fmt::format("no gauge readings: the clear coat is the paint's nominal {} ± {}",
                                         microns(plan_.clear_um), microns(plan_.clear_sd_um)));
        add_thin_paint();
        for (const RegionAtRisk& region : plan_.at_risk)
            if (region.thin_before >= g_.terms.threshold)
                doubts.push_back(fmt::format("{}: under {} before any work with a chance of {}",
                                             region.spot.place, microns(g_.target.reserve_um),
                                             percent(region.thin_before)));
        for (const PlannedStep& step : plan_.steps)
            if (step.peak_film_c >= hot_film_c)
                doubts.push_back(
                    fmt::format("{} brings the film to {:.0f} °C somewhere: let it cool between sections",
                                step.words, step.peak_film_c));
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
                            percent(share), thin_paint_um, least_um));
    }

    // ---- options ----------------------------------------------------------------------------------

    void add_option(std::string text, const WayOf& way) {
        plan_.options.push_back({std::move(text), way.outlook.film_um.median, way.sure_share, way.time_s});
    }
    bool holds_up(const WayOf& way) const { return way.keeps && way.within_allowance && within_film(way); }

    void add_options() {
        if (plan_.fate == PanelFate::not_clean) return;
        if (plan_.fate != PanelFate::touch_up) {
            if (plan_.holds == Holds::time_limit || plan_.holds == Holds::film_limit)
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
        if (plan_.fate == PanelFate::less || plan_.fate == PanelFate::finish_only ||
            plan_.fate == PanelFate::leave)
            plan_.options.push_back({"have it resprayed: a new clear coat, every mark gone", {}, 1.0, {}});
    }

    /// Milder than the plan; or, where the target is out of reach, what is sure of most.
    void lower_the_target() {
        const WayOf* best = nullptr;
        for (std::size_t w = 1; w < g_.ways.size(); ++w) {
            const WayOf& way = g_.ways[w];
            if (w == g_.chosen || !holds_up(way) || way.meets || way.sure_share <= 0) continue;
            if (plan_.fate == PanelFate::planned && way.outlook.film_um.median >= way_.outlook.film_um.median)
                continue;
            if (!best || way.sure_share > best->sure_share) best = &way;
        }
        if (best)
            add_option(fmt::format("lower the target to {:.0f} %: {}", std::floor(100 * best->sure_share),
                                   words(*best)),
                       *best);
        if (plan_.fate == PanelFate::less || plan_.fate == PanelFate::finish_only)
            add_option(fmt::format("call {:.0f} % enough: as planned", std::floor(100 * way_.sure_share)),
                       way_);
    }

    void finish_only() {
        if (plan_.fate == PanelFate::finish_only) return;
        for (std::size_t w = 1; w < g_.ways.size(); ++w)
            if (w != g_.chosen && finest_alone(g_.ways[w]) && holds_up(g_.ways[w]))
                return add_option(fmt::format("finish only: {}", words(g_.ways[w])), g_.ways[w]);
    }

    PanelPlan& plan_;
    const FateGrounds& g_;
    const WayOf& way_;
};

} // namespace

std::string_view name_of(PanelFate fate) {
    switch (fate) {
    case PanelFate::planned: return "planned";
    case PanelFate::less: return "less than the target";
    case PanelFate::finish_only: return "finish only";
    case PanelFate::leave: return "leave";
    case PanelFate::touch_up: return "touch up";
    case PanelFate::not_clean: return "wash and decontaminate first";
    }
    return "";
}

std::string_view name_of(Holds holds) {
    switch (holds) {
    case Holds::nothing: return "nothing";
    case Holds::target: return "target";
    case Holds::reserve: return "reserve";
    case Holds::both: return "both";
    case Holds::allowance: return "allowance";
    case Holds::film_limit: return "film limit";
    case Holds::time_limit: return "time limit";
    }
    return "";
}

void tell_fate(PanelPlan& plan, const FateGrounds& grounds) { Telling(plan, grounds).tell(); }

} // namespace sparecoat::plan
