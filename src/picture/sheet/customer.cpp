// The sheet for whose vehicle it is: the same facts in plain words.
#include "picture/plan_figures.hpp"
#include "picture/section_words.hpp"
#include "picture/sheet/content.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::picture::sheet {
namespace {

/// Care of polished paint (common practice, no source).
const std::vector<std::string> care = {
    "Rinse loose dirt off before anything touches the paint, then wash by hand with a clean soft mitt and "
    "plenty of water.",
    "Avoid brush washes and dry wiping: they put back the fine scratches that polishing takes out.",
    "Dry with a soft clean towel, and do not let hard water dry on the paint.",
    "Take off bird droppings, tar and tree sap soon, soaked and not rubbed.",
    "A wax or sealant keeps the result longer; it covers marks and does not remove them.",
    "Before the next polish have the film measured again, and polish only what needs it.",
};

std::string plain_mark(MarkKind kind) {
    switch (kind) {
    case MarkKind::swirls: return "fine circular scratches from washing";
    case MarkKind::scratches: return "single scratches";
    case MarkKind::water_spots: return "etched water spots";
    case MarkKind::bird_lime: return "etching from bird droppings";
    case MarkKind::sanding: return "sanding marks";
    case MarkKind::haze: return "a milky haze";
    case MarkKind::chips: return "stone chips";
    }
    return "";
}

class Customer {
public:
    Customer(const SheetFacts& facts, FilmUnit unit) : facts_(facts), unit_(unit) {}

    std::vector<Section> sections() {
        sections_.push_back(heading());
        if (!facts_.panels.empty()) sections_.push_back(at_a_glance());
        for (const SheetPanel& panel : facts_.panels) add_panel(panel);
        sections_.push_back({"Care of the result", 1, false, {Items{care}}});
        sections_.push_back(how_far_to_trust_it());
        return std::move(sections_);
    }

private:
    std::string film(double um) const { return film_text(um, unit_); }

    Section heading() const {
        Facts list;
        list.add("Vehicle",
                 facts_.vehicle.name +
                     (facts_.vehicle.description.empty() ? "" : ", " + facts_.vehicle.description));
        list.add("Date", visit_text(facts_.visit));
        Section section{"", 1, false, {std::move(list)}};
        section.blocks.push_back(Paragraph{fmt::format(
            "The clear coat is the see-through top layer that protects the colour, thinner than a hair. "
            "Polishing takes a "
            "little of it away for good, and with it the marks that lie in it. Of this vehicle's clear coat "
            "{} may go over its whole life; this "
            "sheet says what was found, what was done or is planned, and how much of that is left.",
            film(facts_.vehicle.allowance_um))});
        if (facts_.panels.empty())
            section.blocks.push_back(Paragraph{"No panel of the vehicle is on file yet."});
        else if (!facts_.plan &&
                 std::ranges::none_of(facts_.panels, [](const SheetPanel& p) { return p.work.has_value(); }))
            section.blocks.push_back(Paragraph{
                "No work is planned yet for this visit: below is what was found and what is left."});
        return section;
    }

    Section at_a_glance() const {
        Table table{{{"Panel", 2.5}, {"Result", 3.5}, {"Clear coat still to spare", 6}}, {}};
        for (const SheetPanel& panel : facts_.panels)
            table.rows.push_back({panel.panel.name, result(panel), spare(panel)});
        return {"At a glance", 1, false, {std::move(table)}};
    }

    std::string result(const SheetPanel& panel) const {
        if (panel.work) return "worked on";
        if (!panel.looked_at) return "not looked at on this visit";
        if (!panel.plan) return "looked at; nothing planned yet";
        switch (panel.plan->decision) {
        case PanelDecision::planned: return "can be made good";
        case PanelDecision::less: return "can be made better, not all of it";
        case PanelDecision::finish_only: return "a light polish for gloss only";
        case PanelDecision::leave: return "best left as it is";
        case PanelDecision::touch_up: return "nothing that polishing takes out";
        case PanelDecision::not_clean: return "has to be washed and cleaned first";
        case PanelDecision::cannot: return "too small for the pads that we have";
        }
        return "";
    }

    /// What this visit's work is still to take.
    static FilmSum planned_film_of(const SheetPanel& panel) {
        const auto planned = planned_um(panel);
        if (!planned) return {};
        const Interval& range = panel.plan->outlook.film_um;
        constexpr double sds_across = 2 * 1.6449; // from the 5th to the 95th percentile of a normal law
        return {*planned, (range.high - range.low) / sds_across};
    }

    /// Spent once this visit's work is done: measured where it was, else as planned.
    static FilmSum spent_with_this(const SheetPanel& panel) {
        return sum_of(std::array{panel.life.spent, planned_film_of(panel)});
    }

    /// Clear coat over the reserve once this visit's work is done, where it is thinnest; as far as a plan
    /// knows it.
    static std::optional<FilmSum> over_reserve(const SheetPanel& panel) {
        const std::optional<FilmSum>& now = panel.life.over_reserve;
        if (!now) return std::nullopt;
        const FilmSum planned = planned_film_of(panel);
        return FilmSum{now->um - planned.um, std::hypot(now->sd_um, planned.sd_um)};
    }

    std::string spare(const SheetPanel& panel) const {
        const FilmSum spent = spent_with_this(panel);
        const double allowance = facts_.vehicle.allowance_um;
        if (const auto thin = over_reserve(panel); thin && thin->um < allowance - spent.um) {
            const std::string until = fmt::format(
                " until the clear coat is down to the {} that have to stay{}",
                film(facts_.vehicle.reserve_um), planned_um(panel) ? ", once the work is done" : "");
            return (thin->um <= 0 ? "nothing" : "only " + sum_text(*thin, unit_)) + until;
        }
        const std::string share =
            allowance > 0 ? fmt::format(" (about {:.0f} %)",
                                        100 * std::clamp((allowance - spent.um) / allowance, 0.0, 1.0))
                          : "";
        return (spent.um == 0 ? "all of it: " + film(allowance) : left_text(spent, allowance, unit_)) +
               (spent.um == 0 ? "" : share) + (planned_um(panel) ? ", once the work is done" : "");
    }

    // ---- a panel --------------------------------------------------------------------------------------

    void add_panel(const SheetPanel& panel) {
        Section section{panel.panel.name, 1, false, {}};
        Facts list;
        add_found(list, panel);
        add_work(list, panel);
        add_film(list, panel);
        add_left(list, panel);
        section.blocks.push_back(std::move(list));
        if (panel.photos.any()) section.blocks.push_back(picture_of(panel.photos));
        if (!panel.history.empty())
            section.blocks.push_back(history_table(panel, facts_.vehicle.allowance_um, unit_));
        sections_.push_back(std::move(section));
    }

    void add_found(Facts& list, const SheetPanel& panel) const {
        if (!panel.looked_at) return list.add("What was found", "It was not looked at on this visit.");
        std::vector<std::string> marks;
        if (panel.defects)
            for (const MarkPopulation& population : panel.defects->marks)
                if (std::ranges::find(marks, plain_mark(population.kind)) == marks.end())
                    marks.push_back(plain_mark(population.kind));
        std::string found = fmt::format("{}.", fmt::join(marks, ", "));
        if (found.front() >= 'a' && found.front() <= 'z')
            found.front() = static_cast<char>(found.front() - 'a' + 'A');
        list.add("What was found", marks.empty() ? "No marks were put on file." : found);
        if (panel.plan && panel.plan->chips >= 0.5)
            list.add("", fmt::format("About {}: polishing cannot fill {}, a touch-up can.",
                                     counted(static_cast<int>(std::lround(panel.plan->chips)), "stone chip",
                                             "stone chips"),
                                     std::lround(panel.plan->chips) == 1 ? "it" : "them"));
    }

    void add_work(Facts& list, const SheetPanel& panel) const {
        if (panel.work)
            return list.add("What was done",
                            panel.work->done.empty() ? "It was polished." : panel.work->done);
        if (!panel.plan) return;
        const PanelPlan& plan = *panel.plan;
        list.add("What will be done", planned_words(plan));
        if (has_steps(panel))
            list.add("What to expect",
                     fmt::format("About {} in 100 marks go, edges and all ({} to {}). It costs about {} of "
                                 "clear coat ({} to {}).",
                                 of_hundred(plan.share_whole.median), of_hundred(plan.share_whole.low),
                                 of_hundred(plan.share_whole.high), film(plan.outlook.film_um.median),
                                 bare_film(plan.outlook.film_um.low, unit_),
                                 film(plan.outlook.film_um.high)));
    }

    static std::string planned_words(const PanelPlan& plan) {
        switch (plan.decision) {
        case PanelDecision::not_clean: return "Washed and cleaned of grit first: only then can more be said.";
        case PanelDecision::cannot: return "None of our pads has room on it; it is left as it is.";
        case PanelDecision::touch_up: return "No polishing, which would take clear coat for nothing.";
        case PanelDecision::leave: return "It is left as it is.";
        default: break;
        }
        const bool sanded = std::ranges::any_of(plan.steps, &PlannedStep::paper),
                   kept_off = std::ranges::any_of(plan.steps,
                                                  [](const PlannedStep&s) { return !s.kept_off.empty(); });
        std::string text =
            plan.steps.size() == 1
                ? "Polished by machine in one step"
                : fmt::format("Polished by machine in {} steps, from stronger to finer", plan.steps.size());
        if (sanded) text += ", with fine sanding first";
        text += fmt::format(", about {}.", hours_text(plan.time_s));
        if (kept_off)
            text += " Some edges and lines, where the paint is thinnest, are left out or taped so that they "
                    "do not wear through; marks right there stay.";
        return text;
    }

    void add_film(Facts& list, const SheetPanel& panel) const {
        bool read = false;
        for (const bool after : {false, true})
            for (const bool clear : {false, true}) {
                const std::string text = film_read_text(panel, after, clear, unit_);
                read = read || !text.empty();
                list.add(fmt::format("{} {} the work", clear ? "Clear coat" : "Paint film",
                                     after ? "after" : "before"),
                         text);
            }
        if (!read)
            list.add(
                "Paint film",
                panel.plan
                    ? fmt::format(
                          "Not measured on this visit; the clear coat is taken as {} where it is thinnest.",
                          film_error_text(panel.plan->clear_um, panel.plan->clear_sd_um, unit_))
                    : "Not measured on this visit.");
        if (panel.spent.best)
            list.add("What it cost",
                     sum_text(*panel.spent.best, unit_) + " of clear coat, as far as it can be told");
        list.add("To spare", spare(panel) + life_left(panel));
    }

    /// How often the like of it could be done again, in whole times: the corrections that `job show` counts,
    /// less the planned one, which is yet to be done. Nothing is said where that is not known, as after work
    /// that left no figure.
    static std::string life_left(const SheetPanel& panel) {
        const bool planned = planned_um(panel).has_value();
        const FilmLife& life = panel.life;
        if (!life.corrections || life.each_is_planned != planned ||
            life.corrections->number <= (planned ? 1 : 0))
            return ".";
        const double low = std::floor(life.corrections->low - (planned ? 1 : 0)),
                     high = std::floor(life.corrections->high - (planned ? 1 : 0));
        if (high < 1) return "; that is not enough for the same work once more.";
        if (low < 1) return "; whether that is enough for the same work once more is not sure.";
        if (std::isinf(high))
            return fmt::format("; that is enough for the same work {} more, perhaps oftener.",
                               low == 1 ? "once" : fmt::format("about {:.0f} times", low));
        if (low >= high)
            return fmt::format("; that is enough for the same work {} more.",
                               high == 1 ? "once" : fmt::format("about {:.0f} times", high));
        return fmt::format("; that is enough for the same work about {:.0f} to {:.0f} times more.", low,
                           high);
    }

    void add_left(Facts& list, const SheetPanel& panel) const {
        if (!panel.plan) return;
        const PanelPlan& plan = *panel.plan;
        const std::string why = why_left(plan.limited_by);
        if (!why.empty()) list.add("What is left and why", why);
        const bool short_of_it = plan.decision == PanelDecision::less ||
                                 plan.decision == PanelDecision::finish_only ||
                                 plan.decision == PanelDecision::leave;
        if (short_of_it)
            list.add("What else there is", "Live with the marks that stay, or have the panel resprayed, "
                                           "which gives it a new clear coat.");
    }

    static std::string why_left(PlanLimit limited_by) {
        switch (limited_by) {
        case PlanLimit::nothing: return "";
        case PlanLimit::target:
            return "Some marks are too deep for what this shop polishes with; chasing them would cost more "
                   "clear coat than they are worth.";
        case PlanLimit::reserve:
            return "The clear coat is too thin here to polish all marks out and still protect the colour.";
        case PlanLimit::both:
            return "The marks are too deep and the clear coat is too thin to polish them all out.";
        case PlanLimit::heat: return "What would take the deeper marks out would heat the paint too much.";
        case PlanLimit::allowance:
            return "Earlier polishing has used up what may safely go, so the deeper marks stay.";
        case PlanLimit::film_limit:
            return "It was agreed to take no more than so much clear coat, so the deeper marks stay.";
        case PlanLimit::time_limit: return "The time agreed on does not stretch to the deeper marks.";
        }
        return "";
    }

    Section how_far_to_trust_it() const {
        return {
            "How far to trust this",
            1,
            false,
            {Paragraph{"Figures with a ± or a range are estimates. They come from measurements at single "
                       "spots and from a model of polishing, and "
                       "paint differs from panel to panel and from edge to middle: the film gauge on the "
                       "panel decides, and whoever works may stop "
                       "earlier than planned. Where the law or a licensed trade has a say, that goes first."},
             Paragraph{"\"To spare\" is what is left of the amount that may go over the vehicle's life, "
                       "which is the shop's rule of thumb and not a "
                       "guarantee. The ± is one standard deviation: about two times in three the true figure "
                       "lies within it."}}};
    }

    const SheetFacts& facts_;
    FilmUnit unit_;
    std::vector<Section> sections_;
};

} // namespace

std::vector<Section> customer_sections(const SheetFacts& facts, FilmUnit unit) {
    return Customer(facts, unit).sections();
}

} // namespace sparecoat::picture::sheet
