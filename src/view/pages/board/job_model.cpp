#include "view/pages/board/job_model.hpp"
#include "formats/csv_text.hpp"
#include "formats/gauge_csv.hpp"
#include "formats/reading_paste.hpp"
#include "panel/reading_flags.hpp"
#include "run/run_job.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include "vehicle/job_import.hpp"
#include "view/pages/board/board_words.hpp"
#include "view/pages/risk/risk_model.hpp"
#include <algorithm>
#include <cmath>
#include <ctime>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::view::board {

namespace fs = std::filesystem;

namespace {

constexpr double look_every_s = 0.5; // for what another program wrote

} // namespace

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
        const Library library = Library::standard();
        JobPanel fresh;
        fresh.place = board_.panels.empty() ? 0 : board_.panels.back().panel.place + 1;
        fresh.name = name;
        fresh.shape = bring_in(*job_, library, "panel", shape).document;
        fresh.paint = bring_in(*job_, library, "paint", paint).document;
        added = job_->add(fresh);
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

// ---- readings -------------------------------------------------------------------------------------

void JobModel::begin_readings() {
    constexpr double coarse_m = 0.004; // the outline is exact on any grid
    const BoardPanel& shown = chosen();
    visit();
    const bool same = entry && entry->panel == shown.panel.id && entry->pattern.rows == pattern_rows &&
                      entry->pattern.columns == pattern_columns;
    if (!same) {
        const JobLibrary presets(*job_);
        RunRequest request;
        request.panel = shown.shape, request.paint = shown.paint, request.grid_m = coarse_m;
        LaidPanel laid = lay_panel(presets, request);
        laid.panel.name = shown.panel.name;
        ReadingEntry fresh;
        fresh.panel = shown.panel.id;
        fresh.pattern = reading_spots(laid.panel, pattern_rows, pattern_columns);
        fresh.shape = std::make_shared<const Panel>(std::move(laid.panel));
        fresh.paint = laid.paint;
        if (entry) fresh.of_clear = entry->of_clear, fresh.after_work = entry->after_work;
        else fresh.after_work = shown.work.has_value();
        entry = std::move(fresh);
    }
    remarks_.reset();
    page = BoardPart::readings;
    // To the first spot that has nothing yet.
    entry->turn = 0, entry->text.clear(), entry->fault.clear();
    while (!entry->at_end() && reading_at(entry->spot())) ++entry->turn;
    if (entry->at_end()) entry->turn = 0;
}

void JobModel::type(unsigned code_point) {
    constexpr std::size_t longest = 8;
    if (!entry || entry->text.size() >= longest) return;
    const auto c = static_cast<char>(code_point < 128 ? code_point : 0);
    const bool digit = c >= '0' && c <= '9',
               point = (c == '.' || c == ',') && entry->text.find_first_of(".,") == std::string::npos;
    if (!digit && !point) return;
    if (entry->at_end()) go_to_spot(0);
    entry->text += c;
    entry->fault.clear();
}

void JobModel::rub_out() {
    if (!entry) return;
    if (!entry->text.empty()) entry->text.pop_back();
    else if (entry->turn > 0) --entry->turn;
    entry->fault.clear();
}

bool JobModel::take_reading(FilmUnit unit) {
    if (!entry) return false;
    if (entry->text.empty()) {
        if (!entry->at_end()) ++entry->turn;
        return true;
    }
    std::string text = entry->text;
    std::ranges::replace(text, ',', '.');
    const bool mil = unit == FilmUnit::mil;
    double value = 0;
    if (!finite_number(text, value)) {
        entry->fault = fmt::format("found \"{}\"; allowed: a number, such as 112 or 112,5", entry->text);
        return false;
    }
    if (const auto fault = film_fault(value, mil, entry->of_clear)) {
        entry->fault = fmt::format("found {}; allowed: {}", fault->found, fault->allowed);
        return false;
    }
    GaugeReading reading;
    reading.at = entry->pattern.spots[entry->spot()];
    reading.of_clear = entry->of_clear, reading.film_um = mil ? value * um_per_mil : value;
    reading.n = gauge_n, reading.repeat_sd_um = gauge_sd_um;
    put_readings({reading}, fmt::format("a reading on the {} {} work", chosen().panel.name,
                                        entry->after_work ? "after" : "before"));
    entry->text.clear(), entry->fault.clear();
    ++entry->turn;
    return true;
}

void JobModel::move_spot(int right, int up) {
    if (!entry) return;
    const auto across = static_cast<std::ptrdiff_t>(entry->pattern.columns);
    const auto spot = static_cast<std::ptrdiff_t>(entry->spot());
    const std::ptrdiff_t column = std::clamp<std::ptrdiff_t>(spot % across + right, 0, across - 1);
    const std::ptrdiff_t line = std::clamp<std::ptrdiff_t>(spot / across - up, 0, entry->pattern.rows - 1);
    go_to_spot(static_cast<std::size_t>(line * across + column));
}

void JobModel::go_to_spot(std::size_t spot) {
    if (!entry || spot >= entry->spots()) return;
    entry->turn = entry->pattern.turn_of(spot);
    entry->text.clear(), entry->fault.clear();
}

void JobModel::remove_reading() {
    if (!entry || entry->at_end()) return;
    entry->text.clear(), entry->fault.clear();
    const FilmReading* there = reading_at(entry->spot());
    if (!there) return;
    const Id id = there->id;
    edit(fmt::format("a reading taken off the {}", chosen().panel.name),
         [&] { job_->remove<FilmReading>(id); });
}

void JobModel::paste(const std::string& text, FilmUnit unit) {
    if (!entry) return;
    const PasteTerms terms{*entry->shape,   entry->pattern, chosen().shape, unit == FilmUnit::mil,
                           entry->of_clear, gauge_n,        gauge_sd_um};
    const std::vector<GaugeReading> readings = read_pasted(text, terms);
    put_readings(readings, fmt::format("{} {} pasted on the {} {} work", readings.size(),
                                       readings.size() == 1 ? "reading" : "readings", chosen().panel.name,
                                       entry->after_work ? "after" : "before"));
    entry->text.clear(), entry->fault.clear();
    entry->turn = entry->spots();
}

void JobModel::switch_kind(bool of_clear) {
    if (!entry) return;
    entry->of_clear = of_clear, entry->turn = 0, entry->text.clear(), entry->fault.clear();
    remarks_.reset();
}

void JobModel::switch_time(bool after_work) {
    if (!entry) return;
    entry->after_work = after_work, entry->turn = 0, entry->text.clear(), entry->fault.clear();
    remarks_.reset();
}

std::vector<const FilmReading*> JobModel::readings_shown() const {
    std::vector<const FilmReading*> shown;
    if (!entry || !panel()) return shown;
    for (const FilmReading& row_of_file : panel()->readings)
        if (row_of_file.after_work == entry->after_work && row_of_file.of_clear == entry->of_clear)
            shown.push_back(&row_of_file);
    return shown;
}

const FilmReading* JobModel::reading_at(std::size_t spot) const {
    if (!entry || spot >= entry->spots()) return nullptr;
    const Point2 at = entry->pattern.spots[spot];
    for (const FilmReading* reading : readings_shown())
        if (std::hypot(reading->x_m - at.x, reading->y_m - at.y) < one_spot_m) return reading;
    return nullptr;
}

bool JobModel::Remarks::is_suspicious(const FilmReading* reading,
                                      const std::vector<const FilmReading*>& shown) const {
    const auto found = static_cast<std::size_t>(std::ranges::find(shown, reading) - shown.begin());
    return found < suspicious.size() && suspicious[found];
}

const JobModel::Remarks& JobModel::remarks() const {
    if (remarks_) return *remarks_;
    remarks_.emplace();
    const std::vector<const FilmReading*> shown = readings_shown();
    remarks_->suspicious.resize(shown.size());
    if (shown.empty()) return *remarks_;
    std::vector<GaugeReading> readings;
    for (const FilmReading* reading : shown) {
        readings.push_back(reading->gauge());
        readings.back().line = static_cast<int>(readings.size());
    }
    remarks_->flags = flags_of_readings(*entry->shape, entry->paint, readings);
    for (const FilmFlag& flag : remarks_->flags)
        if (flag.kind == FilmFlagKind::repaint || flag.kind == FilmFlagKind::thin_paint)
            for (const int line : flag.lines) remarks_->suspicious[static_cast<std::size_t>(line - 1)] = true;
    return *remarks_;
}

// ---- a panel on the bench -------------------------------------------------------------------------

namespace {

/// The job's presets with the shipped ones beside them, which give way where the names are the same: lists in
/// the window are then whole, and a panel without a plan has techniques to begin with.
std::shared_ptr<const JobLibrary> presets_beside_shipped(const JobFile& job) {
    auto presets = std::make_shared<const JobLibrary>(job);
    const fs::path root = (*presets)->root();
    for (const PresetKind kind : all_preset_kinds()) {
        std::error_code none;
        for (const fs::directory_entry& entry :
             fs::directory_iterator(Library::standard().root() / folder_of(kind), none))
            if (entry.path().extension() == ".json")
                fs::copy_file(entry.path(), root / folder_of(kind) / entry.path().filename(),
                              fs::copy_options::skip_existing, none);
    }
    return presets;
}

/// One set of a planned step: the kit's way of working it with what the plan says of it (see technique_json),
/// and the hand that the plan's chances were drawn with.
Technique planned_technique(const Library& library, const std::string& kit, const PlanGlance::Step& step) {
    const std::vector<KitStep> steps = kit.empty() ? std::vector<KitStep>{} : steps_of(library, kit);
    const auto found = std::ranges::find(steps, step.id, &KitStep::id);
    if (found == steps.end())
        throw InputError("", "plan", fmt::format("a step \"{}\"", step.id),
                         "a step of the job's kit; plan the vehicle anew");
    Technique out = found->technique;
    out.hand = usual_hand;
    const nlohmann::json plan = nlohmann::json::parse(step.technique.empty() ? "{}" : step.technique);
    const auto take = [&](const char* key, double& value, double unit) {
        if (plan.contains(key)) value = plan[key].get<double>() * unit;
    };
    take("force_n", out.force_n, 1), take("speed_per_min", out.speed_rad_s, per_min),
        take("arm_speed_mm_s", out.arm_speed_m_s, mm);
    take("overlap", out.overlap, 1), take("tilt_deg", out.tilt_rad, deg),
        take("hold_back_mm", out.hold_back_m, mm), take("tape_mm", out.tape_m, mm);
    out.passes = plan.value("passes", out.passes), out.crossed = plan.value("crossed", out.crossed);
    const auto by_edge = [&](const char* key, std::map<std::string, double>& lengths_m) {
        if (!plan.contains(key)) return;
        for (const auto& [edge, length_mm] : plan[key].items())
            lengths_m[edge] = length_mm.get<double>() * mm;
    };
    by_edge("hold_back_edge_mm", out.hold_back_edge_m), by_edge("tape_edge_mm", out.tape_edge_m);
    return out;
}

} // namespace

JobModel::Opened JobModel::lay_out(std::size_t step) const {
    constexpr const char* stands_in = "polish-da-15";
    const BoardPanel& shown = chosen();
    Opened out;
    out.presets = presets_beside_shipped(*job_);
    const Library& library = *out.presets;
    out.panel = shown.panel.id;
    RunRequest& request = out.choices.request;
    request.panel = shown.shape, request.paint = shown.paint;
    out.defects = shown.marks.empty() ? RecordedPanel{}.defects : shown.marks;
    if (const auto csv =
            lay_readings(*out.presets, shown.shape, fmt::format("film-{}.csv", shown.panel.id), shown.film))
        request.readings = *csv;
    out.steps = shown.plan ? shown.plan->steps.size() : 0;
    if (out.steps == 0) {
        request.technique = stands_in;
        out.choices.technique = library.technique(stands_in);
        return out;
    }
    out.step = std::min(step, out.steps - 1);
    const PlanGlance::Step& planned = shown.plan->steps[out.step];
    try {
        out.choices.technique = planned_technique(library, board_.kit, planned);
    } catch (const nlohmann::json::exception& error) {
        throw InputError(job_->path().string(), "plan",
                         fmt::format("a step that cannot be read ({})", error.what()),
                         "plan the vehicle anew");
    }
    return out;
}

// ---- the plan -------------------------------------------------------------------------------------

namespace {

double seconds_of(const std::string& text) {
    const char* const allowed = "hours for the whole vehicle, such as 6 or \"6 h\", up to 1000 h";
    try {
        const double bare = parse_quantity(text, Dim::none) * 3600; // a bare number is of hours
        if (bare > 0 && bare <= 1000 * 3600.0) return bare;
    } catch (const std::invalid_argument&) {
        try {
            const double seconds = parse_quantity(text, Dim::time);
            if (seconds > 0 && seconds <= 1000 * 3600.0) return seconds;
        } catch (const std::invalid_argument&) {}
    }
    throw InputError("", "time limit", "\"" + text + "\"", allowed);
}

/// A thickness; a bare number is in the unit shown.
double film_of(const std::string& field, std::string text, FilmUnit unit, double most_um) {
    std::ranges::replace(text, ',', '.');
    const std::string allowed = fmt::format("a thickness up to {:g} µm, in {} where no unit is typed",
                                            most_um, unit == FilmUnit::mil ? "mil" : "µm");
    for (const std::string& alternative : {text + (unit == FilmUnit::mil ? " mil" : " um"), text}) {
        try {
            const double um = parse_quantity(alternative, Dim::length) * 1e6;
            if (um > 0 && um <= most_um) return um;
        } catch (const std::invalid_argument&) {}
    }
    throw InputError("", field, "\"" + text + "\"", allowed);
}

double vibration_of(const std::string& machine, std::string text) {
    std::ranges::replace(text, ',', '.');
    try {
        const double value = parse_quantity(text, Dim::none);
        if (value >= 0 && value <= 50) return value;
    } catch (const std::invalid_argument&) {}
    throw InputError("", machine, "\"" + text + "\"",
                     "the vibration total value from its papers in m/s², 0 to 50");
}

int whole_of(const std::string& field, const std::string& text, int low, int high) {
    try {
        const double value = parse_quantity(text, Dim::none);
        if (value >= low && value <= high && value == std::floor(value)) return static_cast<int>(value);
    } catch (const std::invalid_argument&) {}
    throw InputError("", field, "\"" + text + "\"", fmt::format("a whole number from {} to {}", low, high));
}

} // namespace

void JobModel::work_out_plan(FilmUnit unit) {
    PlanTerms terms;
    if (!wish.time_limit.empty()) terms.time_s = seconds_of(wish.time_limit);
    if (!wish.film_limit.empty()) terms.film_um = film_of("film limit", wish.film_limit, unit, 200);
    AskedExposure asked;
    for (const auto& [machine, text] : wish.a_hv)
        if (!text.empty()) asked.a_hv[machine] = vibration_of(machine, text);
    if (read_only())
        throw InputError(job_->path().string(), "", "a job file that is not to be written",
                         "one that can be: the plan is kept in it");
    Ask ask{std::make_shared<const JobLibrary>(*job_),
            {},
            visit(),
            terms,
            std::move(asked),
            job_->revision(),
            which_};
    ask.from = job_for_plan(*job_, *ask.presets, ask.visit);
    planning_.ask(std::move(ask));
    page = BoardPart::plan;
}

JobModel::Answer JobModel::work_out(const Ask& ask, TaskState& task) {
    Answer answer{ask.from, ask.visit, ask.asked, ask.revision, nullptr, {}};
    try {
        answer.plan = std::make_shared<const VehiclePlan>(
            plan_vehicle(*ask.presets, ask.from.record, ask.from.tasks, ask.terms, threads_beside_drawing(),
                         [&](const std::string& panel, double share) {
                             const std::scoped_lock lock(ask.which->mutex);
                             ask.which->name = panel;
                             task.share = static_cast<float>(share);
                             return !task.off;
                         }));
    } catch (const Stopped&) {
        answer.fault = "called off";
    } catch (const InputError& error) {
        answer.fault = error.what();
    }
    return answer;
}

std::string JobModel::planned_panel() const {
    const std::scoped_lock lock(which_->mutex);
    return which_->name;
}

/// Keeps a plan that has come. @return what is to be told.
std::string JobModel::keep(Answer answer) {
    if (!answer.plan) throw InputError("", "plan", answer.fault, "");
    if (job_->revision() != answer.revision)
        answer.from.assumed.insert(answer.from.assumed.begin(),
                                   "what was entered while it was being worked out is not in it");
    store_plan(*job_, answer.visit, answer.from, *answer.plan, answer.asked);
    front_row.reset();
    read();
    return "The plan is on file: " + hours_text(answer.plan->time_s);
}

const std::vector<std::string>& JobModel::assumed() const {
    static const std::vector<std::string> none;
    return kept_ ? kept_->assumed : none;
}

void JobModel::write_sheet(const fs::path& file, FilmUnit unit, const fs::path& shop) {
    SheetTerms terms = sheet;
    terms.unit = unit;
    std::error_code none;
    if (!shop.empty() && fs::exists(shop, none)) terms.shop = load_shop(shop);
    picture::write_sheet(file, *job_, visit(), terms);
}

void JobModel::look_along_front(int by) {
    if (!plan() || plan()->front.empty()) return;
    const auto last = std::ssize(plan()->front) - 1;
    const std::ptrdiff_t from = front_row ? static_cast<std::ptrdiff_t>(*front_row) + by : by > 0 ? 0 : last;
    front_row = static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(from, 0, last));
}

std::string JobModel::tick(double now_s) {
    if (!job_) return "";
    std::string told;
    if (now_s - looked_s_ > look_every_s || now_s < looked_s_) {
        looked_s_ = now_s;
        if (job_->changed_elsewhere()) {
            read();
            told = "Read again: another program wrote to the job";
        }
    }
    if (std::optional<Answer> answer = planning_.take()) told = keep(std::move(*answer));
    return told;
}

// ---- forms ----------------------------------------------------------------------------------------

std::vector<std::size_t> BoardField::matches() const {
    std::vector<std::size_t> found;
    for (std::size_t k = 0; k < from.size(); ++k) {
        const std::string words = lower_case(from[k].name + " " + from[k].id);
        bool all = true;
        for (std::size_t at = 0; at < text.size();) {
            const std::size_t end = std::min(text.find(' ', at), text.size());
            all = all && words.find(lower_case(text.substr(at, end - at))) != std::string::npos;
            at = end + 1;
        }
        if (all) found.push_back(k);
    }
    return found;
}

std::string BoardField::value() const {
    if (from.empty()) {
        const auto first = text.find_first_not_of(' ');
        return first == std::string::npos ? "" : text.substr(first, text.find_last_not_of(' ') - first + 1);
    }
    const std::vector<std::size_t> found = matches();
    return found.empty() ? "" : from[found[std::min(row, found.size() - 1)]].id;
}

namespace {

/// "2 sets of polish on medium foam 150 mm, then 1 set of ..."
std::string words_of_steps(const PlanGlance& plan) {
    std::string words;
    for (const PlanGlance::Step& step : plan.steps)
        words += fmt::format("{}{} {} of {}", words.empty() ? "" : ", then ", step.sets,
                             step.sets == 1 ? "set" : "sets", step.words);
    return words;
}

} // namespace

void JobModel::ask(BoardForm::Kind kind, FilmUnit unit) { form = form_of(kind, unit); }

BoardForm JobModel::form_of(BoardForm::Kind kind, FilmUnit unit) const {
    const auto list = [](PresetKind of) { return Library::standard().list(of); };
    const char* film_unit = unit == FilmUnit::mil ? "mil" : "µm";
    BoardForm out;
    out.kind = kind;
    switch (kind) {
    case BoardForm::Kind::visit:
        out.title = "A visit to the shop", out.action = "Add it";
        out.fields = {{"Day", "2026-03-14", today(), {}}, {"Name", "may be left empty", "", {}}};
        break;
    case BoardForm::Kind::panel:
        out.title = "One more panel", out.action = "Add it";
        out.fields = {
            {"Name", "what it is called on this vehicle", "", {}},
            {"Shape", "type some of its words, Up and Down choose", "", list(PresetKind::panel)},
            {"Paint", "type some of its words, Up and Down choose", "typical", list(PresetKind::paint)}};
        break;
    case BoardForm::Kind::marks:
        out.title = fmt::format("Marks on the {}", chosen().panel.name), out.action = "Set them";
        visit();
        out.fields = {
            {"Found with", "type some of its words, Up and Down choose", "", list(PresetKind::defects)}};
        break;
    case BoardForm::Kind::work: {
        const BoardPanel& shown = chosen();
        visit();
        out.title = fmt::format("Work done on the {}", shown.panel.name), out.action = "Note it";
        out.remark = fmt::format("Gauge means in {}, on the same marked spots; left empty, the loss is told "
                                 "from readings before and after.",
                                 film_unit);
        const std::string done = shown.work   ? shown.work->done
                                 : shown.plan ? words_of_steps(*shown.plan)
                                              : "";
        out.fields = {{"Done", "in words", done, {}},
                      {"Before", "mean", "", {}},
                      {"After", "mean", "", {}},
                      {"Readings", "behind each", "", {}}};
        if (const auto gauge = shown.work ? shown.work->gauge.pair() : std::nullopt) {
            const double per = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
            out.fields[1].text = fmt::format("{:.6g}", gauge->before_um * per),
            out.fields[2].text = fmt::format("{:.6g}", gauge->after_um * per);
            out.fields[3].text = fmt::format("{}", gauge->n_before);
        }
        break;
    }
    case BoardForm::Kind::plan: {
        visit();
        out.title = "Plan the vehicle", out.action = "Work it out";
        out.remark = "Steps, hold-backs and times for every panel that is clean. It takes minutes and runs "
                     "beside the drawing.";
        out.fields = {
            {"Time limit", "h for the vehicle; empty: none", wish.time_limit, {}},
            {"Film limit", fmt::format("{} off any panel; empty: none", film_unit), wish.film_limit, {}}};
        if (!board_.kit.empty()) {
            const JobLibrary presets(*job_);
            std::vector<std::string> named;
            for (const KitMachine& machine : presets->kit(board_.kit).machines) {
                if (std::ranges::find(named, machine.machine.id) != named.end()) continue;
                named.push_back(machine.machine.id);
                const auto known = wish.a_hv.find(machine.machine.id);
                out.fields.push_back({machine.machine.id,
                                      "its vibration in m/s², from its papers",
                                      known == wish.a_hv.end() ? "" : known->second,
                                      {}});
            }
        }
        break;
    }
    case BoardForm::Kind::sheet:
        visit();
        out.title = "The visit on paper", out.action = "Name the file";
        out.remark = "PDF, HTML or CSV, by the name's ending. The shop's name and logo are those of "
                     "shop.json beside the settings.";
        out.fields = {{"For",
                       "Up and Down choose",
                       "",
                       {{"bench", "the bench: every setting", "", ""},
                        {"customer", "the customer: in plain words", "", ""}}},
                      {"Page", "of a PDF", "", {{"a4", "A4", "", ""}, {"letter", "Letter", "", ""}}}};
        break;
    case BoardForm::Kind::pattern:
        out.title = "Where the gauge is put down", out.action = "Lay it out";
        out.remark = "Rows and columns spread over the panel, away from edges, lines and cut-outs. Readings "
                     "on file stay.";
        out.fields = {{"Rows", "1 to 30", fmt::format("{}", pattern_rows), {}},
                      {"Columns", "1 to 30", fmt::format("{}", pattern_columns), {}}};
        break;
    case BoardForm::Kind::gauge:
        out.title = "The gauge", out.action = "Take it";
        out.remark = "For readings from now on.";
        out.fields = {
            {"Readings", "measurements behind each spot, 1 to 1000", fmt::format("{}", gauge_n), {}},
            {"Repeatability",
             fmt::format("standard deviation of one, in {}", film_unit),
             fmt::format("{:.4g}", gauge_sd_um * (unit == FilmUnit::mil ? 1 / um_per_mil : 1)),
             {}}};
        break;
    }
    return out;
}

bool JobModel::enter_form(FilmUnit unit) {
    if (!form) return false;
    const BoardForm asked = *form;
    try {
        take_form(asked, unit);
    } catch (const InputError& error) {
        form->fault = error.what();
        return false;
    }
    form.reset();
    return true;
}

void JobModel::take_form(const BoardForm& asked, FilmUnit unit) {
    const auto value = [&](std::size_t k) { return asked.fields[k].value(); };
    switch (asked.kind) {
    case BoardForm::Kind::visit: return add_visit(value(0), value(1));
    case BoardForm::Kind::panel:
        for (const std::size_t k : {std::size_t{1}, std::size_t{2}})
            if (value(k).empty())
                throw InputError("", lower_case(asked.fields[k].label), "\"" + asked.fields[k].text + "\"",
                                 "one of the list");
        return add_panel(value(0), value(1), value(2));
    case BoardForm::Kind::marks:
        if (value(0).empty())
            throw InputError("", "marks", "\"" + asked.fields[0].text + "\"", "one of the list");
        return set_marks(value(0));
    case BoardForm::Kind::work: return take_work(asked, unit);
    case BoardForm::Kind::plan:
        wish.time_limit = value(0), wish.film_limit = value(1);
        for (std::size_t k = 2; k < asked.fields.size(); ++k) wish.a_hv[asked.fields[k].label] = value(k);
        return work_out_plan(unit);
    case BoardForm::Kind::sheet:
        for (const BoardField& field : asked.fields)
            if (field.value().empty())
                throw InputError("", lower_case(field.label), "\"" + field.text + "\"", "one of the list");
        sheet.reader = value(0) == "customer" ? SheetFor::customer : SheetFor::bench;
        sheet.page = value(1) == "letter" ? SheetPage::letter : SheetPage::a4;
        sheet_due = true;
        return;
    case BoardForm::Kind::pattern: {
        const int rows = whole_of("rows", value(0), 1, most_spot_rows),
                  across = whole_of("columns", value(1), 1, most_spot_rows);
        const int kept_rows = std::exchange(pattern_rows, rows),
                  kept_columns = std::exchange(pattern_columns, across);
        try {
            begin_readings();
        } catch (...) {
            pattern_rows = kept_rows, pattern_columns = kept_columns;
            throw;
        }
        return;
    }
    case BoardForm::Kind::gauge: {
        const int n = whole_of("readings", value(0), 1, static_cast<int>(most_gauge_n));
        gauge_sd_um = film_of("repeatability", value(1), unit, largest_gauge_sd_um);
        gauge_n = n;
        return;
    }
    }
}

void JobModel::take_work(const BoardForm& asked, FilmUnit unit) {
    const std::string before = asked.fields[1].value(), after = asked.fields[2].value(),
                      n = asked.fields[3].value();
    Work work = panel() && panel()->work ? *panel()->work : Work{};
    work.done = asked.fields[0].value();
    if (work.done.empty()) throw InputError("", "done", "nothing", "what was done, in words");
    if (before.empty() != after.empty())
        throw InputError("", before.empty() ? "before" : "after", "nothing",
                         "the gauge's means before and after, both or neither");
    work.gauge = {};
    if (!before.empty()) {
        const int count = n.empty() ? gauge_n : whole_of("readings", n, 1, static_cast<int>(most_gauge_n));
        work.gauge = GaugeColumns(GaugePair{film_of("before", before, unit, 2000),
                                            film_of("after", after, unit, 2000), count, count, gauge_sd_um});
    }
    // What the plan foretold stands for the work only where that is what was done.
    const PlanGlance* plan = panel() && panel()->plan ? &*panel()->plan : nullptr;
    if (plan && plan->film_um > 0 && plan->film_sd_um > 0 && work.done == words_of_steps(*plan))
        work.predicted_um = plan->film_um, work.predicted_sd_um = plan->film_sd_um;
    note_work(work);
}

} // namespace sparecoat::view::board
