#include "view/pages/section/section_model.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include "view/pages/risk/risk_model.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <sstream>

namespace sparecoat::view::section {

namespace fs = std::filesystem;
using nlohmann::ordered_json;

namespace {

constexpr double usual_pad_m = 0.15;
constexpr int most_sets = 20, most_readings = 1000;

std::string trimmed(const std::string& text) {
    const std::size_t from = text.find_first_not_of(" \t");
    return from == std::string::npos ? "" : text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

bool is_bare(const std::string& text) {
    return text.find_first_not_of("0123456789.,-+") == std::string::npos;
}

int whole_number(const char* field, const std::string& typed, int most) {
    const std::string text = trimmed(typed);
    const bool digits =
        !text.empty() && text.size() < 6 && text.find_first_not_of("0123456789") == std::string::npos;
    const int number = digits ? std::stoi(text) : 0;
    if (number < 1 || number > most)
        throw InputError("", field, text.empty() ? "nothing" : fmt::format("\"{}\"", text),
                         fmt::format("1 to {}", most));
    return number;
}

double film_um(const char* field, const std::string& typed, FilmUnit unit) {
    const std::string text = trimmed(typed), in = unit == FilmUnit::um ? "um" : "mil";
    const std::string allowed = unit == FilmUnit::um ? "5 to 2000 µm of film" : "0.2 to 79 mil of film";
    constexpr double least_um = 5, most_um = 2000;
    double um = 0;
    try {
        um = parse_quantity(is_bare(text) ? text + " " + in : text, Dim::length) * 1e6;
    } catch (const std::invalid_argument& error) {
        throw InputError("", field, error.what(), allowed);
    }
    if (um < least_um || um > most_um) throw InputError("", field, film_text(um, unit), allowed);
    return um;
}

/// Ids, and paths however they are written.
bool same_reference(const std::string& a, const std::string& b) {
    if (a == b) return true;
    if (!is_path(a) || !is_path(b)) return false;
    std::error_code failed;
    return fs::weakly_canonical(fs::absolute(a), failed) == fs::weakly_canonical(fs::absolute(b), failed) &&
           !failed;
}

SectionRecord record_of(const std::string& text, const fs::path& file) {
    return read_record(parse_json(text, file.string()), file.string());
}

} // namespace

void TryForm::type_step(const std::string& text) {
    if (text == step) return;
    step = text;
    chosen.reset();
    row = 0;
}

void TryForm::choose_step(const std::vector<KitStep>& steps, std::size_t index) {
    step = steps[index].words;
    chosen = index;
    row = 0;
}

std::vector<std::size_t> matching_steps(const std::vector<KitStep>& steps, const std::string& typed) {
    std::vector<std::size_t> found;
    for (std::size_t k = 0; k < steps.size(); ++k) {
        const std::string text = lower_case(steps[k].id + " " + steps[k].words);
        std::istringstream words(lower_case(typed));
        std::string word;
        bool all = true;
        while (words >> word) all = all && text.find(word) != std::string::npos;
        if (all) found.push_back(k);
    }
    return found;
}

std::optional<std::string> read_seen(const TryForm& form) {
    const std::string text = trimmed(form.seen);
    if (text.empty()) return std::nullopt;
    const std::string said = is_bare(text) ? text + " %" : text; // the field is in per cent
    try {
        seen_share(said);
    } catch (const InputError& error) {
        throw InputError("", "seen", fmt::format("\"{}\"", text), error.allowed());
    }
    return said;
}

std::optional<GaugePair> read_gauge(const TryForm& form, const Kit& kit,
                                    const std::optional<GaugePair>& earlier, FilmUnit unit) {
    const std::string before = trimmed(form.before), after = trimmed(form.after), n = trimmed(form.readings);
    if (before.empty() && after.empty()) {
        if (!n.empty())
            throw InputError("", "n", "a number of readings without a mean",
                             "gauge before and after beside it");
        return std::nullopt;
    }
    if (after.empty())
        throw InputError("", "after", "nothing beside the mean before", "the mean after, on the same spots");
    GaugePair gauge;
    if (kit.gauge) gauge.repeat_sd_um = kit.gauge->repeat_sd_um;
    gauge.n_before = gauge.n_after =
        n.empty() ? kit.gauge ? kit.gauge->readings : 1 : whole_number("n", n, most_readings);
    gauge.after_um = film_um("after", after, unit);
    if (!before.empty()) gauge.before_um = film_um("before", before, unit);
    else if (earlier) gauge.before_um = earlier->before_um, gauge.n_before = earlier->n_before;
    else throw InputError("", "before", "nothing beside the mean after", "the mean of the untouched square");
    return gauge;
}

// ---- the record -----------------------------------------------------------------------------------

SectionModel::SectionModel() : advising_(find) {}

void SectionModel::take_kit(const Library& library, const std::string& reference) {
    Kit kit = library.kit(reference);
    steps_ = steps_of(library, kit);
    kit_ = std::move(kit);
}

/// Another record than before is on the bench.
void SectionModel::settle() {
    undo_.clear();
    ++revision_;
    advising_.call_off();
    finding_.reset();
    fault_.clear();
    form = {};
    folded_open.reset();
    drag.cancel();
    find_panel();
}

void SectionModel::begin(const Library& library, const std::string& kit) {
    take_kit(library, kit);
    text_ = new_record("Vehicle", kit, Target{}).dump();
    record_ = SectionRecord{};
    record_->name = "Vehicle", record_->kit = kit;
    file_.clear();
    settle();
}

void SectionModel::load(const Library& library, const fs::path& file) {
    std::string text = load_record_json(file).dump();
    SectionRecord record = record_of(text, file);
    take_kit(library, record.kit);
    record_ = std::move(record), text_ = std::move(text), file_ = file;
    settle();
}

void SectionModel::save(const fs::path& file) {
    ordered_json document = ordered_json::parse(text_);
    const fs::path folder = file.parent_path();
    document["kit"] = reference_from(folder, record_->kit); // what the file names stays what it was
    for (std::size_t k = 0; k < record_->panels.size(); ++k) {
        ordered_json& panel = document["panels"][k];
        const RecordedPanel& named = record_->panels[k];
        for (const auto& [key, reference] :
             {std::pair{"panel", named.panel}, {"paint", named.paint}, {"defects", named.defects}})
            if (panel.contains(key)) panel[key] = reference_from(folder, reference);
        if (panel.contains("readings")) panel["readings"] = path_from(folder, *named.readings);
    }
    if (file_.empty()) document["name"] = file.stem().string();
    const ordered_json before = ordered_json::parse(text_);
    save_record(file, document);
    file_ = file;
    text_ = document.dump();
    record_ = record_of(text_, file_);
    if (before["panels"] != document["panels"] || before["kit"] != document["kit"])
        undo_.clear(); // what was before names things from another folder
    for (Undo& undo : undo_) {
        ordered_json earlier = ordered_json::parse(undo.text);
        earlier["name"] = document["name"];
        undo.text = earlier.dump();
    }
}

double SectionModel::least_pad_m() const {
    if (steps_.empty()) return usual_pad_m;
    return 2 * std::ranges::min(steps_, {}, &KitStep::pad_radius_m).pad_radius_m;
}

// ---- the panel ------------------------------------------------------------------------------------

bool SectionModel::show_panel(const PanelInUse& panel) {
    if (panel == on_bench_) return false;
    const bool other = panel.panel != on_bench_.panel;
    on_bench_ = panel;
    if (!other) return false;
    find_panel();
    advising_.call_off();
    finding_.reset();
    fault_.clear();
    folded_open.reset();
    drag.cancel();
    return true;
}

void SectionModel::find_panel() {
    panel_.reset();
    for (std::size_t k = 0; record_ && k < record_->panels.size(); ++k)
        if (same_reference(record_->panels[k].panel, on_bench_.panel)) panel_ = k;
}

const RecordedPanel* SectionModel::panel() const { return panel_ ? &record_->panels[*panel_] : nullptr; }

const std::vector<TapedSquare>& SectionModel::squares() const {
    static const std::vector<TapedSquare> none;
    return panel() ? panel()->squares : none;
}

// ---- entries --------------------------------------------------------------------------------------

/// An entry for the panel that is shown; where the record has none yet, with what its run takes it to be.
RecordEntry SectionModel::entry() const {
    RecordEntry entry;
    const fs::path folder = file_.parent_path();
    if (panel_) {
        entry.panel = ordered_json::parse(text_)["panels"][*panel_]["panel"].get<std::string>();
        return entry;
    }
    entry.panel = reference_from(folder, on_bench_.panel);
    entry.paint = reference_from(folder, on_bench_.paint);
    entry.defects = reference_from(folder, on_bench_.defects);
    if (on_bench_.readings) entry.readings = path_from(folder, *on_bench_.readings);
    return entry;
}

void SectionModel::enter(const RecordEntry& given, const std::string& label) {
    ordered_json document = ordered_json::parse(text_);
    library::enter(document, given);
    take(document.dump(), label);
}

/// Takes the record as it is from now on, once it has been read and written.
void SectionModel::take(const std::string& text, const std::string& label) {
    SectionRecord record = record_of(text, file_);
    if (!file_.empty()) save_record(file_, ordered_json::parse(text));
    if (!label.empty()) undo_.push_back({text_, label, record_->panels.empty()});
    record_ = std::move(record), text_ = text;
    settle_panel();
}

/// The record has changed: what is known is stale now, and still worth seeing.
void SectionModel::settle_panel() {
    ++revision_;
    advising_.call_off();
    find_panel();
}

void SectionModel::set_clean(bool clean) {
    RecordEntry given = entry();
    given.clean = clean;
    enter(given, clean ? "marked clean" : "marked not clean");
}

void SectionModel::choose_paint(const std::string& reference) {
    RecordEntry given = entry();
    given.paint = reference_from(file_.parent_path(), reference);
    enter(given, "paint");
}

void SectionModel::choose_defects(const std::string& reference) {
    RecordEntry given = entry();
    given.defects = reference_from(file_.parent_path(), reference);
    enter(given, "defects");
}

void SectionModel::tape(const Panel& shown, const TapedSquare& square, std::optional<std::size_t> changes) {
    const std::vector<TapedSquare> others = squares();
    if (const std::string fault = square_fault(shown, square, least_pad_m(), others, changes); !fault.empty())
        throw InputError("", "square", fmt::format("{}, {}", size_text(square), fault),
                         "a square of fresh ground on the panel");
    if (!changes) {
        RecordEntry given = entry();
        given.square = square;
        return enter(given, "the square");
    }
    ordered_json document = ordered_json::parse(text_);
    place_square(document, entry().panel, *changes, square);
    take(document.dump(), "the square's place");
}

std::size_t SectionModel::chosen_step() const {
    if (form.chosen && *form.chosen < steps_.size()) return *form.chosen;
    const std::string typed = trimmed(form.step);
    const std::vector<std::size_t> found = matching_steps(steps_, typed);
    if (!typed.empty() && form.row < found.size() && found.size() == 1) return found[form.row];
    const std::string allowed =
        fmt::format("one of the kit's {} steps: type some of its words and choose", steps_.size());
    if (typed.empty()) throw InputError("", "step", "nothing", allowed);
    throw InputError("", "step",
                     fmt::format("\"{}\", which {}", typed, found.empty() ? "none has" : "several have"),
                     allowed);
}

/// A gauge on the last square, whose mean before is that of the untouched square for all of its tries.
std::optional<GaugePair> SectionModel::gauge_on_square() const {
    if (!panel() || panel()->squares.empty()) return std::nullopt;
    for (const Try& work : panel()->squares.back().tries)
        if (work.gauge) return work.gauge;
    return std::nullopt;
}

Try SectionModel::read_try(FilmUnit unit) const {
    Try work;
    work.step = steps_[chosen_step()].id;
    work.sets = whole_number("sets", form.sets, most_sets);
    work.seen = read_seen(form);
    work.gauge = read_gauge(form, kit_, gauge_on_square(), unit);
    return work;
}

void SectionModel::look_at_last(FilmUnit unit) {
    form = {};
    if (!panel() || panel()->squares.empty() || panel()->squares.back().tries.empty()) return;
    const Try& last = panel()->squares.back().tries.back();
    form.look_only = true;
    form.seen = last.seen.value_or("");
    if (!last.gauge) return;
    const auto number = [&](double um) {
        return fmt::format("{:.6g}", unit == FilmUnit::um ? um : um / um_per_mil);
    };
    form.before = number(last.gauge->before_um), form.after = number(last.gauge->after_um);
    form.readings = fmt::format("{}", last.gauge->n_after);
}

void SectionModel::enter_form(FilmUnit unit) {
    try {
        if (squares().empty())
            throw InputError("", "square", "work without a taped square", "a square first");
        RecordEntry given = entry();
        if (form.look_only) {
            given.seen = read_seen(form), given.gauge = read_gauge(form, kit_, gauge_on_square(), unit);
            given.correct = true; // the earlier look is in sight, and undo brings it back
            if (!given.seen && !given.gauge)
                throw InputError("", "seen", "nothing", "what was seen, or gauge means");
        } else {
            given.work = read_try(unit);
        }
        enter(given, given.work ? "the try" : "the look");
        form = {};
    } catch (const InputError& error) {
        form.fault = error.what();
        throw;
    }
}

void SectionModel::undo() {
    if (!can_undo()) return;
    const std::string text = undo_.back().text;
    if (undo_.back().first) { // what holds nothing cannot be read as a record
        text_ = text;
        record_->panels.clear();
        settle_panel();
    } else {
        take(text, "");
    }
    undo_.pop_back();
}

// ---- advice ---------------------------------------------------------------------------------------

void SectionModel::work_out(const Library& library) {
    fault_.clear();
    if (!clean()) return advising_.call_off();
    advising_.ask({library, *record_, panel()->panel, revision_, worked_});
}

bool SectionModel::tick() {
    std::optional<Answer> answer = advising_.take();
    if (!answer) return false;
    if (answer->finding) finding_ = std::move(answer->finding);
    fault_ = std::move(answer->fault);
    return true;
}

SectionModel::Answer SectionModel::find(const Ask& ask, TaskState& task) {
    try {
        auto out = std::make_shared<SectionFinding>();
        out->revision = ask.revision;
        const auto tell = [&task](double share) {
            task.share = static_cast<float>(share);
            return !task.off;
        };
        out->report =
            advise_on(ask.library, ask.record, ask.panel, threads_beside_drawing(), tell, ask.worked.get());
        if (!out->panel().advice.outlooks.empty()) out->curves = section_curves(out->panel());
        return {std::move(out), ""};
    } catch (const Stopped&) {
        return {}; // called off: nobody will look at it
    } catch (const InputError& error) {
        return {nullptr, error.what()};
    }
}

} // namespace sparecoat::view::section
