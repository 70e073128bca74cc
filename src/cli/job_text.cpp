#include "cli/job_text.hpp"
#include "cli/job_open.hpp"
#include "cli/page.hpp"
#include "cli/verdict_text.hpp"
#include "picture/plan_figures.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include "units/words.hpp"
#include "vehicle/film_life.hpp"
#include "vehicle/job_plan.hpp"
#include "vehicle/photos.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {
namespace {

std::string without_unit(const std::string& film) { return film.substr(0, film.rfind(' ')); }

/// "total 112.00 µm, spread 2.10 µm (108.00 to 115.00 µm, 12 spots), clear 41.00 µm (1 spot)"; empty where
/// nothing was read.
std::string readings_text(std::span<const FilmReading> readings, bool after_work, FilmUnit unit) {
    std::vector<std::string> parts;
    for (const bool of_clear : {false, true})
        if (const auto s = statistics_of(readings, after_work, of_clear))
            parts.push_back(
                s->spots == 1
                    ? fmt::format("{} {} (1 spot)", of_clear ? "clear" : "total", film_text(s->mean_um, unit))
                    : fmt::format("{} {}, spread {} ({} to {}, {} spots)", of_clear ? "clear" : "total",
                                  film_text(s->mean_um, unit), film_text(s->sd_um, unit),
                                  without_unit(film_text(s->least_um, unit)), film_text(s->most_um, unit),
                                  s->spots));
    return fmt::format("{}", fmt::join(parts, ", "));
}

std::string spent_text(const SpentFilm& spent, FilmUnit unit) {
    std::vector<std::string> parts;
    if (spent.gauge) parts.push_back(sum_text(*spent.gauge, unit) + " by the gauge");
    if (spent.predicted) parts.push_back(sum_text(*spent.predicted, unit) + " by the model");
    std::string text = fmt::format("{}", fmt::join(parts, ", "));
    if (parts.size() > 1) text += "; together " + sum_text(*spent.best, unit);
    if (spent.gauge && spent.gauge->um < 0)
        text += " (a gauge that rises says that nothing could be measured)";
    return text;
}

/// "3.1", "12": nobody plans tenths of a correction that far off.
std::string tally_text(double number) {
    return number < 9.95 ? fmt::format("{:.1f}", number) : fmt::format("{:.0f}", number);
}

/// "3.1 (2.2 to 4.8)".
std::string often_text(const HowOften& often) {
    const std::string to = std::isinf(often.high) ? " or more" : " to " + tally_text(often.high);
    return fmt::format("{} ({}{})", tally_text(often.number), tally_text(often.low), to);
}

/// What more the film can give, in words; empty where nothing tells what a correction costs.
std::string affordable_text(const FilmLife& life, FilmUnit unit) {
    if (!life.each) return "";
    const std::string like = life.each_is_planned ? "like the planned one" : "like those so far";
    if (!life.corrections)
        return fmt::format("cannot be told: the gauge saw no loss in corrections {}", like);
    std::string text = life.corrections->number < 1 ? "none in full: " : "";
    text +=
        fmt::format("{} more {}, {} each", often_text(*life.corrections), like, sum_text(*life.each, unit));
    if (life.reserve_holds) text += "; the reserve holds before the allowance does";
    return text;
}

/// A plan that is on file, as far as it says what it is.
std::string plan_text_of(const std::string& plan, FilmUnit unit) {
    const PlannedFilm planned = planned_film(plan);
    if (planned.decision.empty()) return "on file";
    if (planned.steps.empty()) return planned.decision;
    const std::string decision = planned.decision == "planned" ? "" : planned.decision + ": ";
    return decision + planned.steps +
           (planned.loss ? "; " + sum_text(*planned.loss, unit) + " off open ground" : "");
}

class JobText {
public:
    JobText(const JobFile& job, FilmUnit unit) : job_(job), unit_(unit) {
        for (const Document& document : job.all<Document>()) documents_[document.id] = document.reference;
        for (const PanelVisit& at : job.all<PanelVisit>()) at_[{at.panel, at.visit}] = at;
        for (const FilmReading& row : job.all<FilmReading>()) readings_[row.panel_visit].push_back(row);
        for (const SquareRow& row : job.all<SquareRow>()) squares_[row.panel_visit].push_back(row);
        for (const TryRow& row : job.all<TryRow>()) tries_[row.square].push_back(row);
        for (const Work& row : job.all<Work>()) works_[row.panel_visit] = row;
        for (const RunRow& row : job.all<RunRow>()) runs_[row.panel_visit].push_back(row);
        visits_ = job.all<Visit>();
    }

    std::string write(const std::optional<JobPanel>& only) {
        write_heading();
        const std::vector<JobPanel> panels = only ? std::vector{*only} : job_.all<JobPanel>();
        if (panels.empty()) line("Panels       none yet");
        for (const JobPanel& panel : panels) write_panel(panel);
        if (panels.size() > 1) write_summary(panels);
        return out_ + "\n" + cautions_text();
    }

private:
    void line(const std::string& text) { out_ += text + "\n"; }
    void labelled(std::size_t room, const std::string& label, const std::string& text) {
        Page page(room);
        page.line(label, text);
        out_ += page.take();
    }
    void entry(const char* name, const std::string& text) { labelled(15, fmt::format("    {}", name), text); }
    /// What holds of a panel over all visits; further lines a little to the right of the first.
    void of_panel(const std::string& text) {
        Page page(4);
        page.line("", text);
        out_ += page.take().substr(2);
    }

    void write_heading() {
        const Vehicle v = job_.vehicle();
        vehicle_ = v;
        line(v.name + (v.description.empty() ? "" : ": " + v.description));
        if (!v.note.empty()) line("             " + v.note);
        line(fmt::format("Wanted       {} of the marks cleared and haze up to {:g}, with a chance of {}",
                         percent_as_entered(v.share), v.haze, percent_as_entered(v.chance)));
        line(fmt::format("             {} of clear coat to stay, with a chance of {}",
                         film_text(v.reserve_um, unit_), percent_as_entered(v.keep_chance)));
        line(fmt::format("Allowance    {} of clear coat over the vehicle's life",
                         film_text(v.allowance_um, unit_)));
        line("Kit          " + (v.kit ? documents_.at(*v.kit) : "none yet"));
        if (visits_.empty()) line("Visits       none yet");
        for (std::size_t k = 0; k < visits_.size(); ++k)
            line(fmt::format("{:<12} {}{}", k == 0 ? "Visits" : "", name_of(visits_[k]),
                             visits_[k].note.empty() ? "" : ": " + visits_[k].note));
        write_remarks(std::nullopt, label_width, "");
    }

    void write_remarks(std::optional<Id> panel, std::size_t room, const std::string& indent) {
        for (const Note& row : job_.all<Note>())
            if (row.panel == panel) labelled(room, indent + "Note", row.text + on_visit(row.visit));
        for (const Photo& row : job_.all<Photo>())
            if (row.panel == panel) labelled(room, indent + "Photo", photo_text(row));
    }
    std::string photo_text(const Photo& photo) const {
        const PhotoState state = state_of(job_, photo);
        const bool told = state == PhotoState::gone || state == PhotoState::changed;
        return photo.path + (photo.caption.empty() ? "" : ": " + photo.caption) + on_visit(photo.visit) +
               (told ? fmt::format("; {}", words_of(state)) : "");
    }
    std::string on_visit(const std::optional<Id>& visit) const {
        const auto found =
            std::ranges::find_if(visits_, [&](const Visit& v) { return visit && v.id == *visit; });
        return found == visits_.end() ? "" : " (" + name_of(*found) + ")";
    }

    void write_panel(const JobPanel& panel) {
        line(fmt::format("\n{}: {}, {} paint", panel.name, documents_.at(panel.shape),
                         documents_.at(panel.paint)));
        if (!panel.note.empty()) entry("Note", panel.note);
        write_remarks(panel.id, 15, "    ");
        std::string last_film;
        std::size_t seen = 0;
        for (const Visit& visit : visits_) {
            const auto found = at_.find({panel.id, visit.id});
            if (found == at_.end()) continue;
            ++seen;
            const std::span<const FilmReading> readings = readings_[found->second.id];
            write_visit(visit, found->second, readings);
            for (const bool after : {false, true})
                if (const std::string film = readings_text(readings, after, unit_); !film.empty())
                    last_film = film + ", " + (after ? "after" : "before") + " work on " + visit.date;
        }
        write_left(film_life(job_, panel), seen > 1 ? last_film : "");
    }

    SpentFilm spent_of(const PanelVisit& at, std::span<const FilmReading> readings) const {
        const auto work = works_.find(at.id);
        return spent_by(work == works_.end() ? std::nullopt : std::optional(work->second), readings);
    }

    void write_visit(const Visit& visit, const PanelVisit& at, std::span<const FilmReading> readings) {
        line(fmt::format("  {}: {}{}{}", name_of(visit),
                         at.clean ? "clean" : "not washed and decontaminated yet",
                         at.defects ? fmt::format(", defects {}", documents_.at(*at.defects)) : "",
                         at.note.empty() ? "" : ": " + at.note));
        if (const auto text = readings_text(readings, false, unit_); !text.empty()) entry("Before", text);
        for (const SquareRow& square : squares_[at.id]) write_square(square);
        if (at.plan) entry("Plan", plan_text_of(*at.plan, unit_));
        for (const RunRow& run : runs_[at.id]) {
            if (at.plan && run.label.starts_with(plan_run_label))
                continue; // one set of each of its steps: it says more itself
            entry("Simulated",
                  fmt::format("{}{} lost on average, {} at the worst",
                              run.label.empty() ? "" : run.label + ": ", film_text(run.lost_mean_um, unit_),
                              film_text(run.lost_worst_um, unit_)));
        }
        if (const auto work = works_.find(at.id); work != works_.end())
            entry("Done", done_text(work->second, at));
        if (const auto text = readings_text(readings, true, unit_); !text.empty()) entry("After", text);
        if (const SpentFilm spent = spent_of(at, readings); spent.best)
            entry("Film lost", spent_text(spent, unit_));
    }

    static std::string done_text(const Work& work, const PanelVisit& at) {
        if (work.done.empty()) return "not said";
        return at.plan && work.done == planned_film(*at.plan).steps ? "as planned" : work.done;
    }

    void write_square(const SquareRow& square) {
        entry("Square", fmt::format("{:.0f} x {:.0f} mm at ({:.0f}, {:.0f}) mm{}", square.width_m / mm,
                                    square.height_m / mm, square.x_m / mm, square.y_m / mm,
                                    square.note.empty() ? "" : ": " + square.note));
        for (const TryRow& row : tries_[square.id]) {
            std::string text = fmt::format("{} of {}", counted(row.sets, "set", "sets"), row.step);
            if (row.seen) text += ": seen " + *row.seen;
            if (const auto gauge = row.gauge.pair())
                text += fmt::format("{} {} by the gauge", row.seen ? "," : ":",
                                    sum_text({gauge->loss_um(), gauge->sd_um()}, unit_));
            entry("", text + (row.note.empty() ? "" : " (" + row.note + ")"));
        }
    }

    void write_left(const FilmLife& life, const std::string& last_film) {
        const std::string allowance = film_text(vehicle_.allowance_um, unit_);
        if (life.costs.empty()) {
            of_panel(fmt::format("Left: all of the allowance of {}, as far as is on file", allowance));
        } else {
            const std::size_t visits = life.costs.size();
            of_panel(fmt::format("Spent: {} at {} {}", sum_text(life.spent, unit_), visits,
                                 visits == 1 ? "visit" : "visits"));
            of_panel(life.left.um > 0 ? fmt::format("Left: {} of the allowance of {}",
                                                    sum_text(life.left, unit_), allowance)
                                      : fmt::format("Left: nothing of the allowance of {}, which is {} over",
                                                    allowance, film_text(-life.left.um, unit_)));
        }
        if (life.over_reserve)
            of_panel(fmt::format("Over the reserve: {} of clear coat, where it is thinnest on open ground",
                                 sum_text(*life.over_reserve, unit_)));
        if (const std::string text = affordable_text(life, unit_); !text.empty())
            of_panel("Still affordable: " + text);
        if (!last_film.empty()) of_panel("Last read: " + last_film);
    }

    /// The whole vehicle at a glance, once there is a plan or work.
    void write_summary(const std::vector<JobPanel>& panels) {
        std::size_t room = 5;
        bool any = false;
        std::vector<FilmLife> lives;
        for (const JobPanel& panel : panels) {
            lives.push_back(film_life(job_, panel));
            any = any || lives.back().each;
            room = std::max(room, columns(panel.name));
        }
        if (!any) return;
        line("\n" + padded("Film", room + 2) + padded("spent", 18) +
             padded("left of " + film_text(vehicle_.allowance_um, unit_), 21) +
             "corrections still affordable, with 90 % interval");
        bool any_reserve = false;
        for (std::size_t p = 0; p < panels.size(); ++p) {
            const FilmLife& life = lives[p];
            std::string often = life.corrections ? often_text(*life.corrections) : "";
            if (life.corrections && life.reserve_holds) often += " *", any_reserve = true;
            line(padded(panels[p].name, room + 2) +
                 padded(life.costs.empty() ? "nothing" : sum_text(life.spent, unit_), 18) +
                 padded(life.costs.empty() ? "all" : sum_text(life.left, unit_), 21) +
                 (often.empty() ? "-" : often));
        }
        if (any_reserve) line("* the reserve holds before the allowance does");
    }

    const JobFile& job_;
    FilmUnit unit_;
    Vehicle vehicle_;
    std::string out_;
    std::vector<Visit> visits_;
    std::map<Id, std::string> documents_;
    std::map<std::pair<Id, Id>, PanelVisit> at_; ///< by panel and visit
    std::map<Id, std::vector<FilmReading>> readings_;
    std::map<Id, std::vector<SquareRow>> squares_;
    std::map<Id, std::vector<TryRow>> tries_;
    std::map<Id, Work> works_;
    std::map<Id, std::vector<RunRow>> runs_;
};

} // namespace

std::string job_text(const JobFile& job, const std::optional<JobPanel>& panel, FilmUnit unit) {
    std::string text;
    job.at_one_moment([&] { text = JobText(job, unit).write(panel); });
    return text;
}

std::string history_text(const std::vector<Edit>& history) {
    if (history.empty()) return "no edits\n";
    std::string text;
    for (const Edit& edit : history)
        text += fmt::format("{}  {}{}\n", edit.made, edit.label, edit.undone ? " (undone)" : "");
    return text;
}

std::string flags_text(const std::vector<FilmFlag>& flags) {
    std::string text;
    for (const FilmFlag& flag : flags) text += fmt::format("  {:<10} {}\n", name_of(flag.kind), flag.text);
    return text;
}

} // namespace sparecoat::cli
