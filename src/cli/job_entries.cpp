#include "cli/job_entries.hpp"
#include "cli/job_open.hpp"
#include "cli/page.hpp"
#include "cli/usage.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "vehicle/film_spent.hpp"
#include "vehicle/photos.hpp"
#include <cmath>
#include <fmt/format.h>
#include <iostream>
#include <limits>

namespace sparecoat::cli {
namespace {

/// What a list is narrowed to.
struct Narrowed {
    std::optional<Id> panel, visit;

    Narrowed(const JobFile& job, const JobOptions& o) {
        if (o.panel) panel = panel_of(job, o).id;
        if (o.visit) visit = visit_of(job, o).id;
    }
    bool has(std::optional<Id> of_panel, std::optional<Id> of_visit) const {
        return (!panel || of_panel == panel) && (!visit || of_visit == visit);
    }
};

/// "roof, 2026-03-14 spring"; "vehicle" where it is on no panel.
std::string place_words(const JobFile& job, std::optional<Id> panel, std::optional<Id> visit) {
    std::string text = panel ? job.get<JobPanel>(*panel).name : "vehicle";
    if (visit) text += ", " + name_of(job.get<Visit>(*visit));
    return text;
}

/// Where a remark or picture that is added belongs.
template <class Row> void put_in_place(const JobFile& job, const JobOptions& o, Row& row) {
    if (o.no_visit && o.visit) throw InputError("", "--visit", "--visit and --no-visit", "one of them");
    if (o.panel) row.panel = panel_of(job, o).id;
    if (!o.no_visit && (o.visit || job.last_visit())) row.visit = visit_of(job, o).id;
}

template <class Row> Row numbered(const JobFile& job, const JobOptions& o, const char* what) {
    const auto id =
        static_cast<Id>(whole_number("--remove", *o.remove, std::numeric_limits<std::int32_t>::max()));
    if (const auto row = job.find<Row>(id)) return *row;
    std::vector<std::string> known;
    for (const Row& row : job.all<Row>()) known.push_back(std::to_string(row.id));
    throw InputError(
        "", "--remove", fmt::format("{} {}", what, id),
        known.empty() ? fmt::format("a {} of the job; it has none", what)
                      : fmt::format("a number that \"job {} FILE\" lists: {}", what, fmt::join(known, ", ")));
}

std::string shown(const JobFile&, const Note& note) { return note.text; }
std::string shown(const JobFile& job, const Photo& photo) {
    const std::string_view became = words_of(state_of(job, photo));
    return photo.path + (photo.caption.empty() ? "" : ", " + photo.caption) +
           (became.empty() ? "" : fmt::format(" ({})", became));
}

/// All of a kind, those of the vehicle first, each with the number that --remove takes.
template <class Row> void list(const JobOptions& o, const char* none) {
    const JobFile job = open_to_read(o);
    const Narrowed narrowed(job, o);
    Page page(6);
    bool any = false;
    for (const Row& row : job.all<Row>()) {
        if (!narrowed.has(row.panel, row.visit)) continue;
        page.line(fmt::format("{:>4}", row.id),
                  fmt::format("{}: {}", place_words(job, row.panel, row.visit), shown(job, row)));
        any = true;
    }
    std::cout << (any ? page.take() : std::string(none) + "\n");
}

template <class Row> int remove(const JobOptions& o, const char* what, const char* label) {
    JobFile job = open_job(o);
    const Row row = numbered<Row>(job, o, what);
    const std::string place = place_words(job, row.panel, row.visit);
    job.edit(fmt::format("a {} less: {}", what, place), [&] { job.remove<Row>(row.id); });
    std::cout << fmt::format("{:<12} {} removed, {}\n", label, row.id, place);
    return 0;
}

template <class Row> int add(JobFile& job, Row row, const char* what, const char* label) {
    const std::string place = place_words(job, row.panel, row.visit);
    job.edit(fmt::format("a {}: {}", what, place), [&] { row.id = job.add(row); });
    std::cout << fmt::format("{:<12} {}, {}\n", label, row.id, place);
    return 0;
}

void demand_one_deed(const JobOptions& o) {
    if (o.add && o.remove) throw InputError("", "--add", "--add and --remove", "one of them");
}

// ---- readings -------------------------------------------------------------------------------------

double sd_of(const FilmReading& row) { return row.sd_um / std::sqrt(static_cast<double>(row.n)); }

std::string film_cell(const FilmReading* row, FilmUnit unit) {
    return row == nullptr
               ? "-"
               : fmt::format("{} ± {}", film_text(row->film_um, unit), film_text(sd_of(*row), unit));
}

void write_spot(Page& page, const FilmReading& at, const FilmReading* before, const FilmReading* after,
                FilmUnit unit) {
    std::string lost;
    if (before && after)
        lost = fmt::format("{} ± {}", film_text(before->film_um - after->film_um, unit),
                           film_text(std::hypot(sd_of(*before), sd_of(*after)), unit));
    page.raw(
        fmt::format("  {:>6.0f} {:>6.0f}  {:<6}", at.x_m / mm, at.y_m / mm, at.of_clear ? "clear" : "total") +
        padded(film_cell(before, unit), 21) + padded(film_cell(after, unit), 21) + lost);
}

void write_spots(Page& page, const std::vector<FilmReading>& rows, FilmUnit unit) {
    page.raw("    x mm   y mm  of    " + padded("before", 21) + padded("after", 21) + "lost");
    for (const FilmReading& row : rows) {
        const FilmReading* other = reading_near(rows, row, !row.after_work, row.of_clear);
        if (!row.after_work) write_spot(page, row, &row, other, unit);
        else if (other == nullptr) write_spot(page, row, nullptr, &row, unit);
    }
}

} // namespace

int job_note(JobOptions& o) {
    demand_one_deed(o);
    if (o.remove) return remove<Note>(o, "note", "Note");
    if (!o.add) {
        list<Note>(o, "no notes");
        return 0;
    }
    demand_some("--add", *o.add, "a remark");
    JobFile job = open_job(o);
    Note note;
    note.text = *o.add;
    put_in_place(job, o, note);
    return add(job, note, "note", "Note");
}

int job_photo(JobOptions& o) {
    demand_one_deed(o);
    if (!o.add && !o.caption.empty())
        throw InputError("", "--caption", "a caption without a picture", "--add with the picture's path");
    if (o.remove) return remove<Photo>(o, "photo", "Photo");
    if (!o.add) {
        list<Photo>(o, "no photos");
        return 0;
    }
    demand_some("--add", *o.add, "a picture's path");
    JobFile job = open_job(o);
    Photo photo = photo_of(job, *o.add);
    photo.caption = o.caption;
    put_in_place(job, o, photo);
    return add(job, photo, "photo", "Photo");
}

int job_readings(JobOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const JobFile job = open_to_read(o);
    const Narrowed narrowed(job, o);
    Page page;
    bool any = false;
    for (const JobPanel& panel : job.all<JobPanel>())
        for (const Visit& visit : job.all<Visit>()) {
            if (!narrowed.has(panel.id, visit.id)) continue;
            const auto at = job.panel_visit(visit.id, panel.id);
            std::vector<FilmReading> rows;
            for (const FilmReading& row : job.all<FilmReading>())
                if (at && row.panel_visit == at->id) rows.push_back(row);
            if (rows.empty()) continue;
            page.raw((any ? "\n" : "") + panel.name + ", " + name_of(visit));
            write_spots(page, rows, unit);
            any = true;
        }
    std::cout
        << (any ? page.take() +
                      "  ± is the gauge's repeatability over the root of the readings taken at the spot\n"
                : std::string("no readings\n"));
    return 0;
}

int job_runs(JobOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const JobFile job = open_to_read(o);
    const Narrowed narrowed(job, o);
    Page page(22);
    bool any = false;
    for (const RunRow& run : job.all<RunRow>()) {
        const PanelVisit at = job.get<PanelVisit>(run.panel_visit);
        if (!narrowed.has(at.panel, at.visit)) continue;
        page.line(run.made,
                  fmt::format("{}: {}; lost {} on average, {} at the median, {} at the worst; inputs {}",
                              place_words(job, at.panel, at.visit), run.label.empty() ? "a run" : run.label,
                              film_text(run.lost_mean_um, unit), film_text(run.lost_median_um, unit),
                              film_text(run.lost_worst_um, unit), run.inputs_hash.substr(0, 12)));
        any = true;
    }
    std::cout << (any ? page.take() : std::string("no runs\n"));
    return 0;
}

} // namespace sparecoat::cli
