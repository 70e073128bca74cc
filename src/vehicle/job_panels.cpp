#include "vehicle/job_panels.hpp"
#include "panel/shape.hpp"
#include "units/quantity.hpp"
#include "units/words.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/job_store.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <vector>

namespace sparecoat::vehicle {
namespace {

/// The panel as it is simulated, which is where an impossible outline shows.
Panel built(const JobFile& job, const JobPanel& panel) {
    constexpr double coarse_m = 0.004; // the outline is exact on any grid
    const std::string shape = job.get<Document>(panel.shape).reference;
    try {
        const Library library = job_library(job);
        const PanelSpec spec = library.panel(shape);
        library.substrate(spec.substrate);
        return build_panel(spec, coarse_m, shape);
    } catch (const InputError& error) {
        throw InputError("", fmt::format("the panel \"{}\"", panel.name),
                         fmt::format("a shape that cannot be built: {}{}{}", error.place(),
                                     error.place().empty() ? "" : ": ", error.found()),
                         error.allowed());
    }
}

std::vector<PanelVisit> visits_of(const JobFile& job, const JobPanel& panel) {
    std::vector<PanelVisit> visits;
    for (const PanelVisit& at : job.all<PanelVisit>())
        if (at.panel == panel.id) visits.push_back(at);
    return visits;
}

template <class Row> std::vector<Row> rows_at(const JobFile& job, const std::vector<PanelVisit>& visits) {
    std::vector<Row> rows;
    for (const Row& row : job.all<Row>())
        if (std::ranges::find(visits, row.panel_visit, &PanelVisit::id) != visits.end()) rows.push_back(row);
    return rows;
}

/// What was read and taped has to lie on another shape too.
void hold_to_shape(const JobFile& job, const JobPanel& panel, const Panel& shape) {
    const std::vector<PanelVisit> visits = visits_of(job, panel);
    const auto off = [&](const auto& row) { return signed_distance(shape.outline, {row.x_m, row.y_m}) < 0; };
    const auto readings = std::ranges::count_if(rows_at<FilmReading>(job, visits), off),
               squares = std::ranges::count_if(rows_at<SquareRow>(job, visits), off);
    if (readings + squares == 0) return;
    std::string what;
    if (readings > 0) what = counted(readings, "reading", "readings");
    if (squares > 0)
        what += (what.empty() ? "" : " and ") + counted(squares, "taped square", "taped squares");
    throw InputError("", fmt::format("the panel \"{}\"", panel.name),
                     fmt::format("a shape that {} of it would lie off", what),
                     "a shape that all of them lie on; or a new panel, this one removed");
}

} // namespace

JobPanel add_panel(JobFile& job, const Library& library, JobPanel fresh, const std::string& shape,
                   const std::string& paint) {
    const std::vector<JobPanel> panels = job.all<JobPanel>();
    fresh.place = panels.empty() ? 0 : panels.back().place + 1;
    fresh.shape = bring_in(job, library, "panel", shape).document;
    fresh.paint = bring_in(job, library, "paint", paint).document;
    built(job, fresh);
    fresh.id = job.add(fresh);
    return fresh;
}

JobPanel change_panel(JobFile& job, const Library& library, const JobPanel& panel,
                      const PanelChange& change) {
    JobPanel now = panel;
    if (change.name) {
        const auto other = job.panel_named(*change.name);
        if (change.name->empty() || (other && other->id != panel.id))
            throw InputError("", "name",
                             change.name->empty() ? "nothing" : "\"" + *change.name + "\", which the job has",
                             "a name of its own");
        now.name = *change.name;
    }
    if (change.note) now.note = *change.note;
    if (change.shape) now.shape = bring_in(job, library, "panel", *change.shape).document;
    if (change.paint) now.paint = bring_in(job, library, "paint", *change.paint).document;
    if (now.shape != panel.shape) hold_to_shape(job, now, built(job, now));
    if (now.shape != panel.shape || now.paint != panel.paint)
        for (const PanelVisit& at : visits_of(job, panel)) {
            PanelVisit without = at;
            without.plan.reset();
            job.change(at, without);
        }
    job.change(panel, now);
    return now;
}

std::string hanging_on(const JobFile& job, const JobPanel& panel) {
    const std::vector<PanelVisit> visits = visits_of(job, panel);
    std::string text;
    const auto add = [&](std::size_t number, const char* one, const char* several) {
        if (number > 0) text += (text.empty() ? "" : ", ") + counted(number, one, several);
    };
    const auto on_it = [&](const auto& rows) {
        return static_cast<std::size_t>(
            std::ranges::count_if(rows, [&](const auto& row) { return row.panel == panel.id; }));
    };
    add(visits.size(), "visit's state", "visits' state");
    add(rows_at<FilmReading>(job, visits).size(), "reading", "readings");
    add(rows_at<SquareRow>(job, visits).size(), "taped square", "taped squares");
    add(rows_at<Work>(job, visits).size(), "entry of work", "entries of work");
    add(rows_at<RunRow>(job, visits).size(), "run", "runs");
    add(on_it(job.all<Note>()), "note", "notes");
    add(on_it(job.all<Photo>()), "photo", "photos");
    return text;
}

} // namespace sparecoat::vehicle
