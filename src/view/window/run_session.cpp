#include "view/window/run_session.hpp"
#include "formats/path_csv.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <utility>

namespace sparecoat::view {
namespace {

constexpr double edit_every_s = 0.12; // while a value is dragged, so that a change is seen at work
constexpr double notice_s = 6;

} // namespace

RunSession::RunSession(Library library, const RunRequest& request, Settings remembered)
    : edits(std::move(library), request), live(edits.job()), shown(edits.job()),
      settings(std::move(remembered)) {
    live.set_speed(settings.times_real_time);
    hand_force_n = choices().technique.force_n;
}

bool RunSession::attempt(const std::function<void()>& what) {
    try {
        what();
        return true;
    } catch (const InputError& error) {
        messages.emplace_back(error.what());
        return false;
    }
}

void RunSession::notify(const std::string& text) {
    notice = text;
    notice_until_s_ = now_s_ + notice_s;
}

bool RunSession::dialog() const {
    return !messages.empty() || asks() || help || chooser != Chooser::none ||
           std::ranges::any_of(pages_, [](const Page* page) { return page->dialog(); });
}

void RunSession::leave_pages() {
    for (Page* page : pages_) page->leave();
}

void RunSession::take_strips() {
    for (Page* page : pages_) page->strips_taken();
}

// ---- choices --------------------------------------------------------------------------------------

void RunSession::edit(const Choices& next, const std::string& label, int drag) {
    push({EditStep::Kind::edit, next, label, drag});
}

void RunSession::push(EditStep step) {
    unless_lost([this, step = std::move(step)] {
        const bool begun = making_ && steps_.size() == 1;
        const bool same_drag = !steps_.empty() && !begun && step.drag != 0 &&
                               steps_.back().drag == step.drag && steps_.back().label == step.label;
        if (steps_.empty()) preparing_since_s_ = now_s_;
        if (same_drag) steps_.back() = step;
        else steps_.push_back(step);
        begin_step();
    });
}

/// Undoes or redoes. An edit that is still being made ready is undone by calling it off.
void RunSession::step_history(EditStep::Kind kind) {
    const bool edit_waits = !steps_.empty() && steps_.back().kind == EditStep::Kind::edit;
    if (edit_waits) {
        if (kind == EditStep::Kind::redo) return;
        const bool begun_with_taken = steps_.size() == 1 && edits.goes_on(steps_.back());
        if (steps_.size() == 1) making_ = false;
        steps_.pop_back();
        if (!begun_with_taken) return;
    }
    int from = 0; // where the steps that wait lead to
    for (const EditStep& step : steps_) from += step.kind == EditStep::Kind::undo ? -1 : 1;
    const int by = kind == EditStep::Kind::undo ? -1 : 1;
    if (const Choices* choices = edits.choices_at(from + by)) push({kind, *choices, "", 0});
}

RunSession::Made RunSession::make(Making making) {
    try {
        return {make_job(making.library, making.choices, making.earlier.get()), nullptr};
    } catch (...) {
        return {nullptr, std::current_exception()};
    }
}

void RunSession::begin_step() {
    if (making_ || steps_.empty() || !maker_.idle()) return;
    const EditStep& step = steps_.front();
    if (step.drag != 0 && now_s_ - begun_s_ < edit_every_s) return;
    begun_s_ = now_s_;
    making_ = true;
    maker_.ask({edits.library(), step.choices, edits.job()});
}

void RunSession::take_made() {
    const std::optional<Made> made = maker_.take();
    if (!made || !std::exchange(making_, false)) return; // not done yet, or called off
    const EditStep step = steps_.front();
    steps_.pop_front();
    const bool taken = attempt([&] {
        if (made->fault) std::rethrow_exception(made->fault);
        edits.take(step, made->job);
    });
    if (!taken) return steps_.clear(); // what follows was built on it
    if (step.label == "technique") hand_force_n = step.choices.technique.force_n;
    if (step.kind == EditStep::Kind::edit && step.label == "gauge readings" && edits.job()->film)
        notify(fmt::format("Film from {} readings", edits.job()->film->readings));
    restart();
}

void RunSession::settle() {
    while (preparing()) {
        begun_s_ = -edit_every_s;
        begin_step();
        maker_.wait();
        take_made();
    }
}

void RunSession::restart() {
    const bool worked = view.t_s > 0;
    live.restart(edits.job());
    if (worked) live.play(); // a change is to be watched, not to blank the panel
}

void RunSession::drop_edits() {
    steps_.clear();
    making_ = false;
}

void RunSession::replace_edits(EditHistory other) {
    drop_edits();
    edits = std::move(other);
}

void RunSession::choose_machine(const std::string& id) {
    attempt([&] {
        Choices next = choices();
        Technique& t = next.technique;
        t.machine = id;
        const Machine machine = edits.library().machine(id);
        t.speed_rad_s = std::clamp(t.speed_rad_s, machine.speed_min_rad_s, machine.speed_max_rad_s);
        const auto fits = [&](const std::string& pad) {
            const double diameter = 2 * edits.library().pad(pad).radius_m;
            return diameter > machine.pad_min_m - 1e-6 && diameter < machine.pad_max_m + 1e-6;
        };
        if (!fits(t.pad)) {
            const std::string family = t.pad.substr(0, t.pad.rfind('-'));
            std::string any;
            for (const Listing& pad : list(PresetKind::pad)) {
                if (!fits(pad.id)) continue;
                any = any.empty() ? pad.id : any;
                if (pad.id.substr(0, pad.id.rfind('-')) == family) {
                    any = pad.id;
                    break;
                }
            }
            if (!any.empty()) t.pad = any;
        }
        edit(next, "machine");
    });
}

void RunSession::choose_panel(const std::string& reference) {
    Choices next = choices();
    next.request.panel = reference;
    next.request.path_csv.reset();           // recorded over another panel
    next.request.readings.reset();           // read off another panel
    next.technique.hold_back_edge_m.clear(); // the edges' names are the panel's own
    next.technique.tape_edge_m.clear();
    next.technique.section_centre.reset();
    edit(next, "panel");
}

void RunSession::load_technique(const std::string& reference) {
    attempt([&] {
        Choices next = choices();
        next.technique = edits.library().technique(reference);
        next.request.technique = reference;
        next.request.path_csv.reset(); // a recorded path belongs to the technique it was recorded with
        edit(next, "technique");
    });
}

const std::vector<Listing>& RunSession::list(PresetKind kind) {
    std::vector<Listing>& listing = listings_[kind];
    if (listing.empty()) attempt([&] { listing = edits.library().list(kind); });
    return listing;
}

void RunSession::take_defects(const std::string& reference) {
    defects_ = edits.library().defects(reference);
    for (Page* page : pages_) page->defects_chosen(defects_);
    settings.defects = reference;
}

bool RunSession::choose_defects(const std::string& reference) {
    return attempt([&] { take_defects(reference); });
}

// ---- what is not saved ----------------------------------------------------------------------------

void RunSession::unless_lost(std::function<void()> what) {
    if (view.hand) end_hand();
    if (!stroke_unsaved) return what();
    ask_first(Unsaved::stroke, std::move(what));
}

void RunSession::ask_first(Unsaved about, std::function<void()> what) {
    if (!in_question_) in_question_ = std::move(what), question_ = about;
}

void RunSession::answer(Answer given) {
    const std::function<void()> what = std::exchange(in_question_, nullptr);
    if (!what || given == Answer::go_back) return;
    if (given == Answer::save) {
        after_save_ = what;
        chooser = question_ == Unsaved::stroke ? Chooser::save : Chooser::save_record;
        return;
    }
    if (question_ == Unsaved::stroke) stroke_unsaved = false;
    what();
}

void RunSession::saved() {
    if (const std::function<void()> what = std::exchange(after_save_, nullptr)) what();
}

void RunSession::save_path(const std::filesystem::path& csv) {
    if (!attempt([&] { write_path_csv(csv, live.path()); })) return;
    stroke_unsaved = false;
    notify("Path saved as " + csv.string());
    saved();
}

void RunSession::take_file(Chooser what, const std::filesystem::path& file) {
    if (what == Chooser::open) return open(file);
    if (what == Chooser::save) return save_path(file);
    for (Page* page : pages_)
        if (page->take_file(what, file)) return;
}

} // namespace sparecoat::view
