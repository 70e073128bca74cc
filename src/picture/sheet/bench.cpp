// The sheet for whoever does the work.
#include "decide/cautions.hpp"
#include "picture/plan_figures.hpp"
#include "picture/section_words.hpp"
#include "picture/sheet/content.hpp"
#include "picture/sheet/map.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace sparecoat::picture::sheet {
namespace {

const char* unit_name(FilmUnit unit) { return unit == FilmUnit::mil ? "mil" : "µm"; }

std::string used_text(const std::vector<VehiclePlan::Used>& all, const char* format) {
    std::vector<std::string> parts;
    for (const VehiclePlan::Used& used : all)
        parts.push_back(fmt::format(fmt::runtime(format), used.what, used.amount));
    return fmt::format("{}", fmt::join(parts, ", "));
}

class Bench {
public:
    Bench(const SheetFacts& facts, FilmUnit unit) : facts_(facts), unit_(unit) {}

    std::vector<Section> sections() {
        sections_.push_back(heading());
        if (facts_.plan && facts_.plan->whole) sections_.push_back(order_of_work());
        sections_.push_back(vibration());
        sections_.push_back(noise_and_dust());
        for (const SheetPanel& panel : facts_.panels) add_panel(panel);
        add_remarks();
        sections_.push_back(
            {"Signed off", 1, false, {Blanks{{"Work finished", "Checked under the lamp", "Date", "Name"}}}});
        return std::move(sections_);
    }

private:
    std::string film(double um) const { return film_text(um, unit_); }

    // ---- the vehicle ----------------------------------------------------------------------------------

    Section heading() const {
        const Vehicle& vehicle = facts_.vehicle;
        Facts list;
        list.add("Vehicle", vehicle.name + (vehicle.description.empty() ? "" : ", " + vehicle.description));
        list.add("Visit", visit_text(facts_.visit));
        list.add("Wanted",
                 fmt::format("{} of the marks cleared and a haze of {:g} at the most, with a chance of {}",
                             percent_finer_near_all(vehicle.share), vehicle.haze,
                             percent_finer_near_all(vehicle.chance)));
        list.add("Reserve",
                 fmt::format("{} of clear coat has to stay everywhere, with a chance of {}",
                             film(vehicle.reserve_um), percent_finer_near_all(vehicle.keep_chance)));
        list.add("Allowance", film(vehicle.allowance_um) + " of clear coat may go over the vehicle's life");
        list.add("Kit", facts_.kit);
        list.add("Vehicle note", vehicle.note);
        list.add("Visit note", facts_.visit.note);
        Section section{"", 1, false, {std::move(list), Paragraph{std::string(estimate_notice)}}};
        if (!facts_.plan)
            section.blocks.push_back(Paragraph{
                "This visit has no plan yet: what follows is what was read, done and left of the allowance. "
                "\"sparecoat job plan\" makes a plan."});
        else if (!facts_.plan->whole)
            section.blocks.push_back(Paragraph{"The plan is of an older version, which kept no order of work "
                                               "and no totals: \"sparecoat job plan\" "
                                               "makes it anew."});
        if (facts_.panels.empty())
            section.blocks.push_back(Paragraph{"The vehicle has no panels on file yet."});
        return section;
    }

    Section order_of_work() const {
        const VehiclePlan& plan = facts_.plan->plan;
        Section section{"Order of work", 1, false, {}};
        Table table{{{"No.", 0.7, Align::right},
                     {"Step", 5},
                     {"On", 4},
                     {"Time", 1.6, Align::right},
                     {"Done", 1.2, Align::left, true}},
                    {}};
        for (std::size_t k = 0; k < plan.order.size(); ++k) {
            std::vector<std::string> names;
            for (const std::size_t p : plan.order[k].panels) names.push_back(plan.panels[p].name);
            table.rows.push_back({std::to_string(k + 1), plan.order[k].words,
                                  fmt::format("{}", fmt::join(names, ", ")), hours_text(plan.order[k].time_s),
                                  ""});
        }
        if (table.rows.empty()) section.blocks.push_back(Paragraph{"Nothing is to be polished."});
        else section.blocks.push_back(std::move(table));
        Facts list;
        list.add("Time in all", hours_text(plan.time_s) + ", set-up, changes of step and tape counted");
        std::vector<std::string> machines;
        for (const VehiclePlan::Used& used : plan.machine_s)
            machines.push_back(used.what + " " + hours_text(used.amount));
        list.add("Machine time", fmt::format("{}", fmt::join(machines, ", ")));
        if (!plan.pads.empty())
            list.add("Pads", used_text(plan.pads, "{1:.0f} x {0}") +
                                 fmt::format("; {} charges a pad before it is washed", charges_a_pad));
        list.add("Papers", used_text(plan.papers, "{1:.0f} x {0}"));
        list.add("Liquids", used_text(plan.liquids_ml, "{} {:.0f} ml"));
        for (const std::string& assumed : facts_.plan->assumed) list.add("Assumed", assumed);
        section.blocks.push_back(std::move(list));
        return section;
    }

    // ---- a panel --------------------------------------------------------------------------------------

    void add_panel(const SheetPanel& panel) {
        Section section{panel.panel.name, 1, true, {}};
        section.blocks.push_back(state(panel));
        section.blocks.push_back(map_of(panel));
        sections_.push_back(std::move(section));
        if (has_steps(panel)) add_steps(panel);
        if (panel.plan) add_what_is_left(panel);
        add_film(panel);
        if (!panel.squares.empty()) sections_.push_back(test_sections(panel));
        add_done(panel);
    }

    Facts state(const SheetPanel& panel) const {
        Facts list;
        list.add("Panel", fmt::format("{}, {} paint", panel.shape, panel.paint));
        list.add("State", !panel.looked_at ? "not looked at on this visit"
                          : panel.clean    ? "washed and decontaminated"
                                           : "not washed and decontaminated yet: no work before that");
        if (panel.defects)
            list.add("Found with", fmt::format("{} ({})", panel.defects->name, marks_text(*panel.defects)));
        list.add("Note", panel.panel.note);
        list.add("Note", panel.note);
        for (const std::string& note : panel.notes) list.add("Note", note);
        if (panel.plan) {
            const PanelPlan& plan = *panel.plan;
            list.add("To do", std::string(name_of(plan.decision)) +
                                  (plan.time_s > 0 ? ", " + hours_text(plan.time_s) : ""));
            list.add("Why", plan.reason);
            list.add("Clear coat", fmt::format("{} before work, where it is thinnest",
                                               film_error_text(plan.clear_um, plan.clear_sd_um, unit_)));
            if (plan.allowance_left_um)
                list.add("Allowance", film(*plan.allowance_left_um) + " left before this work");
        }
        return list;
    }

    void add_steps(const SheetPanel& panel) {
        const PanelPlan& plan = *panel.plan;
        Section section{"Steps", 2, false, {}};
        Table table{{{"No.", 0.8, Align::right},
                     {"Liquid or paper, pad, machine", 5},
                     {"Sets", 0.9, Align::right},
                     {"Passes", 1.2, Align::right},
                     {"Arm, mm/s", 1.2, Align::right},
                     {"Force, N", 1.1, Align::right},
                     {"Pad, /min", 1.2, Align::right},
                     {"Machine time", 1.5, Align::right},
                     {"Done", 1.1, Align::left, true},
                     {"Initials", 1.3, Align::left, true}},
                    {}};
        Items details;
        for (std::size_t k = 0; k < plan.steps.size(); ++k) {
            const PlannedStep& step = plan.steps[k];
            const Technique& how = step.technique;
            table.rows.push_back(
                {std::to_string(k + 1), step.words, std::to_string(step.sets), std::to_string(how.passes),
                 fmt::format("{:.0f}", how.arm_speed_m_s / mm), fmt::format("{:.0f}", how.force_n),
                 fmt::format("{:.0f}", how.speed_rad_s / per_min), hours_text(step.time_s), "", ""});
            details.items.push_back(step_text(k + 1, step));
        }
        section.blocks.push_back(std::move(table));
        section.blocks.push_back(std::move(details));
        sections_.push_back(std::move(section));
        add_risk(plan);
        sections_.push_back(expected(plan));
    }

    std::string step_text(std::size_t number, const PlannedStep& step) const {
        std::string text = fmt::format("Step {}: ", number);
        for (const std::string& kept_off : step.kept_off) text += kept_off + "; ";
        if (step.kept_off.empty()) text += "no hold-back and no tape; ";
        text += fmt::format("each line covers {} of the one before",
                            percent_finer_near_all(step.technique.overlap));
        if (step.technique.crossed && step.technique.passes > 1) text += ", passes crossed";
        text += step.paper ? fmt::format("; {}", counted(step.charges, "sheet", "sheets"))
                           : fmt::format("; {} of liquid on a clean pad, {:.0f} ml",
                                         counted(step.charges, "charge", "charges"), step.liquid_ml);
        return text + fmt::format("; {} off the open panel; film up to {:.0f} °C", film(step.open_um),
                                  step.peak_film_c);
    }

    void add_risk(const PanelPlan& plan) {
        Section section{"Spots at risk", 2, false, {}};
        if (plan.at_risk.empty()) {
            const double chance = 1 - plan.chance_of_keeping;
            section.blocks.push_back(
                Paragraph{fmt::format("{} {} that less than the reserve stays; weakest: {}.",
                                      chance < 0.001 ? "Everywhere" : "Nowhere more than",
                                      percent_finer_near_none(chance), plan.weakest)});
            sections_.push_back(std::move(section));
            return;
        }
        Table table{{{"No.", 0.7, Align::right},
                     {"Where", 5},
                     {"u, mm", 1.2, Align::right},
                     {"v, mm", 1.2, Align::right},
                     {"Chance that less than the reserve stays", 3.4, Align::right},
                     {"Area, cm²", 1.3, Align::right}},
                    {}};
        for (std::size_t k = 0; k < plan.at_risk.size(); ++k) {
            const RegionAtRisk& region = plan.at_risk[k];
            table.rows.push_back({std::to_string(k + 1), region.spot.place,
                                  fmt::format("{:.0f}", region.spot.at.x / mm),
                                  fmt::format("{:.0f}", region.spot.at.y / mm),
                                  fmt::format("{} ± {}", percent_finer_near_none(region.chance),
                                              percent_finer_near_none(region.standard_error)),
                                  fmt::format("{:.0f}", region.area_m2 * 1e4)});
        }
        section.blocks.push_back(std::move(table));
        section.blocks.push_back(
            Paragraph{"Tape them or stay off them; the gauge decides.", Paragraph::Tone::quiet});
        sections_.push_back(std::move(section));
    }

    Section expected(const PanelPlan& plan) const {
        Facts list;
        list.add("Marks cleared",
                 fmt::format("{} on open ground, {} over the whole panel; {} or more with a chance of {}",
                             share_text(plan.outlook.share), share_text(plan.share_whole),
                             percent_finer_near_all(plan.sure_share),
                             percent_finer_near_all(facts_.vehicle.chance)));
        list.add("Film lost", film_range_text(plan.outlook.film_um, unit_) + " on open ground");
        list.add("Finish",
                 fmt::format("a haze of {:.1f} of the steps' own marks, where {:g} is the most wanted",
                             plan.outlook.haze, facts_.vehicle.haze));
        list.add("Reserve stays", fmt::format("{} on open ground, {} everywhere (weakest: {})",
                                              percent_finer_near_all(plan.open_keeping),
                                              percent_finer_near_all(plan.chance_of_keeping), plan.weakest));
        return {"What to expect", 2, false, {std::move(list)}};
    }

    void add_what_is_left(const SheetPanel& panel) {
        const PanelPlan& plan = *panel.plan;
        if (!plan.doubts.empty()) sections_.push_back({"Unsure", 2, false, {Items{plan.doubts}}});
        Section section{"What is left, and what else could be done", 2, false, {}};
        if (plan.limited_by != PlanLimit::nothing)
            section.blocks.push_back(Paragraph{std::string(held_by(plan.limited_by))});
        Items options;
        for (const PanelOption& option : plan.options) options.items.push_back(option_text(option));
        if (!options.items.empty()) section.blocks.push_back(std::move(options));
        if (!section.blocks.empty()) sections_.push_back(std::move(section));
    }

    static std::string_view held_by(PlanLimit limited_by) {
        switch (limited_by) {
        case PlanLimit::nothing: return "";
        case PlanLimit::target: return "Marks stay: no sequence of the kit is sure enough of the target.";
        case PlanLimit::reserve:
            return "Marks stay: what would take them out is not sure enough to leave the reserve.";
        case PlanLimit::both:
            return "Marks stay: no sequence of the kit is sure enough of the target, and none of leaving the "
                   "reserve.";
        case PlanLimit::heat: return "Marks stay: what would take them out gets the film too hot.";
        case PlanLimit::allowance:
            return "Marks stay: what would take them out goes over what is left of the allowance.";
        case PlanLimit::film_limit:
            return "Marks stay: what would take them out goes over the film limit that was set.";
        case PlanLimit::time_limit:
            return "Marks stay: what would take them out goes over the time limit that was set.";
        }
        return "";
    }

    std::string option_text(const PanelOption& option) const {
        std::vector<std::string> numbers;
        if (option.share && *option.share > 0)
            numbers.push_back(percent_finer_near_all(*option.share) + " cleared");
        if (option.film_um && *option.film_um > 0) numbers.push_back(film(*option.film_um));
        if (option.time_s && *option.time_s > 0) numbers.push_back(hours_text(*option.time_s));
        return option.words + (numbers.empty() ? "" : fmt::format(" ({})", fmt::join(numbers, ", ")));
    }

    // ---- film -----------------------------------------------------------------------------------------

    void add_film(const SheetPanel& panel) {
        Section section{"Film readings", 2, false, {}};
        Facts list;
        for (const bool after : {false, true})
            for (const bool clear : {false, true})
                list.add(fmt::format("{}, {}", after ? "After" : "Before", clear ? "clear coat" : "total"),
                         film_read_text(panel, after, clear, unit_));
        if (list.rows.empty()) section.blocks.push_back(Paragraph{"Nothing was read on this visit."});
        else section.blocks.push_back(std::move(list));
        if (!panel.spots.empty()) section.blocks.push_back(readings_table(panel));
        sections_.push_back(std::move(section));
    }

    Table readings_table(const SheetPanel& panel) const {
        const std::string u = unit_name(unit_);
        Table table{{{"No.", 0.8, Align::right},
                     {"u, mm", 1.2, Align::right},
                     {"v, mm", 1.2, Align::right},
                     {"Film", 1.4},
                     {"Before, " + u, 1.7, Align::right},
                     {"Times", 1.1, Align::right},
                     {"After, " + u, 1.7, Align::right, true},
                     {"Times", 1.1, Align::right, true}},
                    {}};
        const auto film_of = [&](const std::optional<FilmReading>& reading) {
            return reading ? bare_film(reading->film_um, unit_) : "";
        };
        const auto times_of = [](const std::optional<FilmReading>& reading) {
            return reading ? std::to_string(reading->n) : "";
        };
        for (const SpotRead& spot : panel.spots)
            table.rows.push_back({std::to_string(spot.number), fmt::format("{:.0f}", spot.at.x / mm),
                                  fmt::format("{:.0f}", spot.at.y / mm),
                                  spot.of_clear ? "clear coat" : "total", film_of(spot.before),
                                  times_of(spot.before), film_of(spot.after), times_of(spot.after)});
        return table;
    }

    Section test_sections(const SheetPanel& panel) const {
        Items list;
        for (const TriedSquare& tried : panel.squares) {
            const SquareRow& square = tried.square;
            std::string text = fmt::format("{:.0f} x {:.0f} mm at {:.0f}, {:.0f} mm{}", square.width_m / mm,
                                           square.height_m / mm, square.x_m / mm, square.y_m / mm,
                                           square.note.empty() ? "" : " (" + square.note + ")");
            for (const TryRow& row : tried.tries) {
                text += fmt::format("; {} of {}", counted(row.sets, "set", "sets"), row.step);
                if (row.seen) text += ", seen " + *row.seen;
                if (const auto gauge = row.gauge.pair())
                    text += fmt::format(", {} by the gauge",
                                        film_error_text(gauge->loss_um(), gauge->sd_um(), unit_));
                if (!row.note.empty()) text += " (" + row.note + ")";
            }
            list.items.push_back(std::move(text));
        }
        return {"Test sections", 2, false, {std::move(list)}};
    }

    void add_done(const SheetPanel& panel) {
        Section section{"Done, and film over the vehicle's life", 2, false, {}};
        Facts list;
        if (panel.work) list.add("Done", panel.work->done.empty() ? "not said" : panel.work->done);
        if (panel.spent.gauge) list.add("By the gauge", sum_text(*panel.spent.gauge, unit_) + " lost");
        if (panel.spent.predicted)
            list.add("By the model", sum_text(*panel.spent.predicted, unit_) + " lost");
        if (panel.spent.gauge && panel.spent.predicted)
            list.add("Together", sum_text(*panel.spent.best, unit_) + " lost");
        list.add("Left", panel.history.empty()
                             ? fmt::format("all of the allowance of {}, as far as is on file",
                                           film(facts_.vehicle.allowance_um))
                             : left_text(panel.life.spent, facts_.vehicle.allowance_um, unit_));
        section.blocks.push_back(std::move(list));
        if (!panel.history.empty())
            section.blocks.push_back(history_table(panel, facts_.vehicle.allowance_um, unit_));
        section.blocks.push_back(
            Blanks{{fmt::format("Mean after, {}", unit_name(unit_)), "Done, in words", "Date", "Initials"}});
        sections_.push_back(std::move(section));
    }

    // ---- ears, lungs, hands ------------------------------------------------------------------------------

    Section vibration() const {
        Section section{"Hand-arm vibration of the day", 1, false, {}};
        const std::vector<VibrationTask> tasks =
            facts_.plan ? day_of(facts_.plan->plan, facts_.plan->asked) : std::vector<VibrationTask>{};
        if (tasks.empty()) {
            section.blocks.push_back(Paragraph{"No machine's vibration value was given with the plan "
                                               "(\"--a-hv\"), so nothing is added up here. "
                                               "Keep to the local exposure limits."});
        } else if (time_of(tasks) > day_s) {
            section.blocks.push_back(Paragraph{"More than 24 h of machine time: add up each day by itself."});
        } else {
            add_exposure(section, tasks);
        }
        return section;
    }

    void add_exposure(Section& section, const std::vector<VibrationTask>& tasks) const {
        Table table{{{"Task", 4},
                     {"Vibration, m/s²", 2, Align::right},
                     {"Time", 2, Align::right},
                     {"Points", 1.5, Align::right}},
                    {}};
        for (const VibrationTask& task : tasks)
            table.rows.push_back({task.what, fmt::format("{:g}", task.a_hv_m_s2), hours_text(task.time_s),
                                  fmt::format("{:.0f}", exposure_points(task))});
        const DayExposure day = day_exposure(tasks);
        section.blocks.push_back(std::move(table));
        Facts list;
        list.add("A(8)",
                 fmt::format("{:.1f} m/s², {:.0f} points: {}", day.a8_m_s2, day.points, name_of(day.stands)));
        list.add("Values", fmt::format("action {:g} m/s² or 100 points, limit {:g} m/s² or 400 points",
                                       exposure_action_m_s2, exposure_limit_m_s2));
        std::vector<std::string> left_out;
        for (const VehiclePlan::Used& machine : facts_.plan->plan.machine_s)
            if (!facts_.plan->asked.a_hv.contains(machine.what)) left_out.push_back(machine.what);
        if (!left_out.empty())
            list.add("Not counted", fmt::format("{}: no value was given", fmt::join(left_out, ", ")));
        section.blocks.push_back(std::move(list));
        section.blocks.push_back(Paragraph{"An estimate, were all of it done on one day by one person: the "
                                           "machine's state, the pad's balance and the "
                                           "grip change it. A measurement and local rules come first."});
    }

    Section noise_and_dust() const {
        Section section{"Noise, dust and other cautions", 1, false, {}};
        Table table{{{"What", 5}, {"At", 5}}, {}};
        for (const auto& [caution, where] : cautions_by_step()) table.rows.push_back({caution, where});
        if (!table.rows.empty()) section.blocks.push_back(std::move(table));
        section.blocks.push_back(Items{{cautions.begin(), cautions.end()}});
        return section;
    }

    /// Each caution with the steps that ask for it, or the panels where it is plastic that does.
    std::vector<std::pair<std::string, std::string>> cautions_by_step() const {
        struct Asked {
            std::string caution;
            std::vector<std::string> steps, panels;
        };
        std::vector<Asked> all;
        std::vector<std::string> all_steps;
        const auto note = [](std::vector<std::string>& list, const std::string& text) {
            if (std::ranges::find(list, text) == list.end()) list.push_back(text);
        };
        for (const SheetPanel& panel : facts_.panels) {
            if (!panel.plan) continue;
            for (const PlannedStep& step : panel.plan->steps) {
                note(all_steps, step.words);
                const auto of_the_step = step_cautions(step.paper, step.rotary, false);
                for (const std::string_view caution :
                     step_cautions(step.paper, step.rotary, panel.plan->plastic)) {
                    auto found = std::ranges::find(all, caution, &Asked::caution);
                    if (found == all.end())
                        found = all.insert(all.end(), Asked{std::string(caution), {}, {}});
                    if (std::ranges::find(of_the_step, caution) == of_the_step.end())
                        note(found->panels, panel.panel.name);
                    else note(found->steps, step.words);
                }
            }
        }
        std::vector<std::pair<std::string, std::string>> out;
        for (const Asked& asked : all)
            out.emplace_back(asked.caution, !asked.panels.empty()
                                                ? fmt::format("{}", fmt::join(asked.panels, ", "))
                                            : asked.steps.size() == all_steps.size()
                                                ? "every step"
                                                : fmt::format("{}", fmt::join(asked.steps, "; ")));
        return out;
    }

    void add_remarks() {
        Items list;
        for (const std::string& note : facts_.notes) list.items.push_back(note);
        for (const std::string& photo : facts_.photos) list.items.push_back("Picture: " + photo);
        if (!list.items.empty()) sections_.push_back({"Notes", 1, false, {std::move(list)}});
    }

    const SheetFacts& facts_;
    FilmUnit unit_;
    std::vector<Section> sections_;
};

} // namespace

std::vector<Section> bench_sections(const SheetFacts& facts, FilmUnit unit) {
    return Bench(facts, unit).sections();
}

} // namespace sparecoat::picture::sheet
