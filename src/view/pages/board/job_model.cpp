#include "view/pages/board/job_model.hpp"
#include "units/error.hpp"
#include "units/text.hpp"
#include "vehicle/job_import.hpp"
#include "vehicle/job_panels.hpp"
#include "view/pages/board/board_words.hpp"
#include "view/run/background_task.hpp"
#include <algorithm>
#include <cmath>
#include <ctime>
#include <fmt/chrono.h>
#include <fmt/format.h>

namespace sparecoat::view::board {

namespace fs = std::filesystem;

std::string today() { return fmt::format("{:%Y-%m-%d}", fmt::localtime(std::time(nullptr))); }

// ---- the file -------------------------------------------------------------------------------------

JobModel::JobModel() = default;

void JobModel::open(const fs::path& file, JobFile::Access access) {
    auto fresh = std::make_unique<JobFile>(JobFile::open(file, access));
    Board board = board_of(*fresh, std::nullopt);
    close();
    job_ = std::move(fresh);
    board_ = std::move(board);
    visit_ = board_.visit ? std::optional(board_.visit->id) : std::nullopt;
    ++generation_;
    read_plan();
}

void JobModel::close() {
    planning_.call_off();
    form.reset(), entry.reset(), remarks_.reset(), kept_.reset(), front_row.reset();
    sheet_due = false, wish = {};
    page = BoardPart::panels, row = 0;
    visit_.reset();
    board_ = {};
    job_.reset();
}

void JobModel::read() {
    const Id kept = panel() ? panel()->panel.id : 0;
    board_ = board_of(*job_, visit_);
    visit_ = board_.visit ? std::optional(board_.visit->id) : std::nullopt;
    ++generation_;
    remarks_.reset();
    read_plan();
    const auto found =
        std::ranges::find_if(board_.panels, [&](const BoardPanel& p) { return p.panel.id == kept; });
    if (found != board_.panels.end()) row = static_cast<std::size_t>(found - board_.panels.begin());
    row = std::min(row, board_.panels.empty() ? 0 : board_.panels.size() - 1);
    if (entry && (!panel() || panel()->panel.id != entry->panel)) {
        entry.reset(); // its panel is gone
        if (page == BoardPart::readings) page = BoardPart::panels;
    }
}

/// A plan that cannot be read is told panel by panel; there are then no totals.
void JobModel::read_plan() {
    kept_.reset();
    if (!board_.visit || !board_.visit->plan) return;
    try {
        kept_ = kept_plan(*job_, *board_.visit);
    } catch (const InputError&) {}
}

void JobModel::edit(const std::string& label, const std::function<void()>& body) {
    try {
        job_->edit(label, body);
    } catch (const ChangedElsewhere&) {
        read(); // so that what is there now is looked at
        throw;
    }
    read();
}

const BoardPanel& JobModel::chosen() const {
    if (const BoardPanel* there = panel()) return *there;
    throw InputError(job_->path().string(), "", "no panel", fmt::format("one first, such as from a preset"));
}

const Visit& JobModel::visit() const {
    if (board_.visit) return *board_.visit;
    throw InputError(job_->path().string(), "", "no visit yet",
                     "one first: a day that the vehicle is in the shop");
}

// ---- where one is ---------------------------------------------------------------------------------

void JobModel::move(int right, int down) {
    if (board_.panels.empty()) return;
    const auto last = static_cast<std::ptrdiff_t>(board_.panels.size()) - 1;
    const auto at = static_cast<std::ptrdiff_t>(row),
               by = static_cast<std::ptrdiff_t>(columns) * down + right;
    if (at + by >= 0 && at + by <= last) row = static_cast<std::size_t>(at + by);
    else if (down > 0 &&
             at / static_cast<std::ptrdiff_t>(columns) < last / static_cast<std::ptrdiff_t>(columns))
        row = static_cast<std::size_t>(last);
}

void JobModel::choose_visit(int by) {
    if (!board_.visit) return;
    const auto at = std::ranges::find(board_.visits, board_.visit->id, &Visit::id) - board_.visits.begin();
    const auto to = std::clamp<std::ptrdiff_t>(at + by, 0, std::ssize(board_.visits) - 1);
    if (to == at) return;
    visit_ = board_.visits[static_cast<std::size_t>(to)].id;
    read();
}

// ---- entries --------------------------------------------------------------------------------------

void JobModel::toggle_clean() {
    const BoardPanel shown = chosen();
    const Visit at = visit();
    edit(fmt::format("the state of the {}", shown.panel.name), [&] {
        const PanelVisit was = shown.at ? *shown.at : job_->at_visit(at.id, shown.panel.id);
        PanelVisit now = was;
        now.clean = !shown.clean();
        job_->change(was, now);
    });
}

void JobModel::set_marks(const std::string& defects) {
    const BoardPanel shown = chosen();
    const Visit at = visit();
    edit(fmt::format("the marks on the {}", shown.panel.name), [&] {
        const PanelVisit was = shown.at ? *shown.at : job_->at_visit(at.id, shown.panel.id);
        PanelVisit now = was;
        now.defects = bring_in(*job_, Library::standard(), "defects", defects).document;
        job_->change(was, now);
    });
}

void JobModel::add_panel(const std::string& name, const std::string& shape, const std::string& paint) {
    if (name.empty()) throw InputError("", "name", "nothing", "what the panel is called on this vehicle");
    if (job_->panel_named(name))
        throw InputError("", "name", "\"" + name + "\", which the job has", "a name of its own");
    Id added = 0;
    edit("the " + name, [&] {
        JobPanel fresh;
        fresh.name = name;
        added = vehicle::add_panel(*job_, Library::standard(), fresh, shape, paint).id;
    });
    const auto found =
        std::ranges::find_if(board_.panels, [&](const BoardPanel& p) { return p.panel.id == added; });
    row = static_cast<std::size_t>(found - board_.panels.begin());
}

void JobModel::add_visit(const std::string& date, const std::string& label) {
    Id added = 0;
    edit("the visit of " + date, [&] {
        Visit fresh;
        fresh.date = date, fresh.label = label;
        try {
            added = job_->add(fresh);
        } catch (const InputError& error) {
            throw InputError("", "date",
                             fmt::format("\"{}\"{}", date, label.empty() ? "" : " with \"" + label + "\""),
                             error.allowed() == "each once" ? "a day that has no visit of that label yet"
                                                            : error.allowed());
        }
    });
    visit_ = added;
    read();
}

void JobModel::note_work(const Work& work) {
    const BoardPanel shown = chosen();
    const Visit at = visit();
    edit(fmt::format("the work on the {}", shown.panel.name), [&] {
        Work now = work;
        now.panel_visit = job_->at_visit(at.id, shown.panel.id).id;
        if (shown.work) {
            now.id = shown.work->id;
            job_->change(*shown.work, now);
        } else {
            job_->add(now);
        }
    });
}

void JobModel::put_readings(const std::vector<GaugeReading>& readings, const std::string& label) {
    const BoardPanel shown = chosen();
    const Visit at = visit();
    const bool after_work = entry && entry->after_work;
    edit(label, [&] {
        const Id panel_visit = job_->at_visit(at.id, shown.panel.id).id;
        for (const GaugeReading& reading : readings) {
            FilmReading now;
            now.panel_visit = panel_visit, now.after_work = after_work;
            now.x_m = reading.at.x, now.y_m = reading.at.y, now.of_clear = reading.of_clear;
            now.film_um = reading.film_um, now.n = reading.n, now.sd_um = reading.repeat_sd_um;
            const auto same = std::ranges::find_if(shown.readings, [&](const FilmReading& old) {
                return old.after_work == after_work && old.of_clear == reading.of_clear &&
                       std::hypot(old.x_m - now.x_m, old.y_m - now.y_m) < one_spot_m;
            });
            if (same == shown.readings.end()) {
                job_->add(now);
                continue;
            }
            now.id = same->id, now.x_m = same->x_m, now.y_m = same->y_m;
            job_->change(*same, now);
        }
    });
}

std::string JobModel::take_in(const fs::path& file) {
    std::string told;
    const auto readings_words = [](const ImportedReadings& in) {
        return fmt::format("{} readings new, {} changed", in.added, in.changed);
    };
    if (lower_extension(file) == ".csv") {
        const bool after_work =
            page == BoardPart::readings && entry ? entry->after_work : chosen().work.has_value();
        const ImportedReadings in = import_readings(*job_, file, visit(), chosen().panel, after_work);
        told = fmt::format("{}: {}, {} work", chosen().panel.name, readings_words(in),
                           after_work ? "after" : "before");
        for (const FilmFlag& flag : in.flags)
            if (flag.kind == FilmFlagKind::taken_for) told += "; " + flag.text;
    } else {
        const ImportedRecord in = import_record(*job_, Library::standard(), file, visit());
        told = fmt::format("From the record: {} panels, {} squares and {} tries new, {}", in.panels_added,
                           in.squares_added, in.tries_added, readings_words(in.readings));
    }
    read();
    return told;
}

std::string JobModel::undo() {
    const std::optional<Edit> edit = job_->undo();
    read();
    return edit ? "Undone: " + edit->label : "";
}

std::string JobModel::redo() {
    const std::optional<Edit> edit = job_->redo();
    read();
    return edit ? "Done again: " + edit->label : "";
}

bool JobModel::can_undo() const {
    return !read_only() && std::ranges::any_of(board_.history, [](const Edit& e) { return !e.undone; });
}
bool JobModel::can_redo() const { return !read_only() && std::ranges::any_of(board_.history, &Edit::undone); }

} // namespace sparecoat::view::board
