#include "view/pages/board/board_page.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <utility>

namespace sparecoat::view::board {

namespace fs = std::filesystem;

KeyContext BoardPage::keys() const {
    return model.page == BoardPart::readings ? KeyContext::readings : KeyContext::board;
}

bool BoardPage::takes_text() const {
    return in_front() && model.page == BoardPart::readings && !session_.dialog();
}

void BoardPage::open(const fs::path& file) {
    session_.unless_lost([this, file] {
        session_.attempt([&] {
            model.open(file);
            session_.leave_pages();
            leave_panels();
            session_.bring_to_front(*this);
            if (model.backup())
                session_.notify("The file was of an older version; as it was it is in " +
                                model.backup()->string());
            else if (model.read_only()) session_.notify("To look at only: the file is not to be written");
            else session_.notice.clear();
        });
    });
}

void BoardPage::close_job() {
    leave_panels();
    model.close();
    session_.put_away(*this);
}

/// Puts back the run before the first of the job's panels.
void BoardPage::leave_panels() {
    opening_.call_off();
    if (!home_) return;
    session_.leave_pages(); // a lesson's home is a panel of the job
    session_.replace_edits(std::move(home_->edits));
    session_.choose_defects(home_->defects);
    home_.reset();
    session_.put_aside.clear();
    session_.forget_lists();
    session_.live.pause();
    session_.live.restart(session_.edits.job());
    session_.on_vehicle_panel = false;
    opened_.reset(); // last: what was shown read its presets
}

void BoardPage::open_panel(std::size_t step) {
    session_.unless_lost([this, step] {
        session_.attempt([&] {
            JobModel::Opened wanted = model.lay_out(step);
            const bool same = opened_ && opened_->panel == wanted.panel;
            wanted.choices.request.grid_m = session_.edits.choices().request.grid_m,
            wanted.choices.request.seed = session_.edits.choices().request.seed;
            session_.notify(fmt::format("Making the {} ready ...", model.panel()->panel.name));
            opening_.ask({std::move(wanted), same ? session_.edits.job() : nullptr});
        });
    });
}

BoardPage::MadePanel BoardPage::make_panel(const PanelWish& wish, TaskState&) {
    MadePanel made{wish.opened, nullptr, {}};
    try {
        made.job = make_job(*wish.opened.presets, wish.opened.choices, wish.earlier.get());
    } catch (const InputError& error) {
        made.fault = error.what();
    }
    return made;
}

void BoardPage::take_panel(MadePanel made) {
    if (!made.job) {
        session_.messages.push_back(made.fault);
        return;
    }
    session_.leave_pages();
    if (!home_) {
        home_.emplace(Home{session_.edits, session_.settings.defects});
        session_.put_aside.push_back({session_.edits.choices().request, session_.settings.defects});
    }
    session_.replace_edits(EditHistory(*made.opened.presets, made.opened.choices, made.job));
    session_.forget_lists();
    session_.take_defects(made.opened.defects);
    opened_ = std::move(made.opened);
    session_.on_vehicle_panel = true;
    session_.pinned.reset();
    session_.hand_force_n = session_.choices().technique.force_n;
    session_.live.pause();
    session_.live.restart(session_.edits.job());
    session_.put_away(*this);
    session_.notice.clear();
}

const BoardPanel* BoardPage::opened_panel() const {
    if (!opened_ || !model.is_open()) return nullptr;
    const std::vector<BoardPanel>& panels = model.board().panels;
    const auto found =
        std::ranges::find_if(panels, [&](const BoardPanel& p) { return p.panel.id == opened_->panel; });
    return found == panels.end() ? nullptr : &*found;
}

bool BoardPage::act(Action action) {
    switch (action) {
    case Action::board:
        if (!model.is_open())
            session_.notify(fmt::format("No job is open: {} opens a file", keys_of(Action::open_file)));
        else if (session_.in_lesson) session_.notify("Leave the lesson first");
        else if (in_front()) session_.put_away(*this);
        else session_.bring_to_front(*this);
        return true;
    case Action::step_before: open_step(false); return true;
    case Action::step_after: open_step(true); return true;
    default: break;
    }
    if (action < Action::board_left || action > Action::spot_panel_after) return false;
    if (!in_front()) return true;
    session_.attempt([&] {
        if (!act_on_panels(action) && !act_on_visits(action)) act_on_readings(action);
    });
    return true;
}

/// The panel's planned step before or after the one that is shown.
void BoardPage::open_step(bool after) {
    const BoardPanel* panel = opened_panel();
    if (!panel || opened_->steps < 2 || session_.in_lesson) return;
    const std::size_t step = (opened_->step + (after ? 1 : opened_->steps - 1)) % opened_->steps;
    model.row = static_cast<std::size_t>(panel - model.board().panels.data());
    open_panel(step);
}

bool BoardPage::act_on_panels(Action action) {
    const auto form = [&](BoardForm::Kind kind) { model.ask(kind, session_.settings.unit); };
    switch (action) {
    case Action::board_left:
    case Action::board_right: {
        const int by = action == Action::board_right ? 1 : -1;
        model.page == BoardPart::plan ? model.look_along_front(by) : model.move(by, 0);
        break;
    }
    case Action::board_up: model.move(0, -1); break;
    case Action::board_down: model.move(0, 1); break;
    case Action::board_open: open_panel(0); break;
    case Action::board_readings: model.begin_readings(); break;
    case Action::board_clean: model.toggle_clean(); break;
    case Action::board_marks: form(BoardForm::Kind::marks); break;
    case Action::board_work: form(BoardForm::Kind::work); break;
    case Action::board_add_panel: form(BoardForm::Kind::panel); break;
    case Action::job_undo: undo_or_redo(true); break;
    case Action::job_redo: undo_or_redo(false); break;
    default: return false;
    }
    return true;
}

bool BoardPage::act_on_visits(Action action) {
    const auto form = [&](BoardForm::Kind kind) { model.ask(kind, session_.settings.unit); };
    switch (action) {
    case Action::board_visit_before: model.choose_visit(-1); break;
    case Action::board_visit_after: model.choose_visit(1); break;
    case Action::board_add_visit: form(BoardForm::Kind::visit); break;
    case Action::board_plan: form(BoardForm::Kind::plan); break;
    case Action::board_totals:
        model.page = model.page == BoardPart::plan ? BoardPart::panels : BoardPart::plan;
        break;
    case Action::board_call_off:
        if (!model.planning()) break;
        model.call_off_plan();
        session_.notify("The planning is called off; the job is as it was");
        break;
    case Action::board_sheet: form(BoardForm::Kind::sheet); break;
    default: return false;
    }
    return true;
}

void BoardPage::act_on_readings(Action action) {
    const auto form = [&](BoardForm::Kind kind) { model.ask(kind, session_.settings.unit); };
    switch (action) {
    case Action::spot_take: model.take_reading(session_.settings.unit); break;
    case Action::spot_rub_out: model.rub_out(); break;
    case Action::spot_remove: model.remove_reading(); break;
    case Action::spot_left: model.move_spot(-1, 0); break;
    case Action::spot_right: model.move_spot(1, 0); break;
    case Action::spot_up: model.move_spot(0, 1); break;
    case Action::spot_down: model.move_spot(0, -1); break;
    case Action::spot_kind: model.switch_kind(!model.entry->of_clear); break;
    case Action::spot_time: model.switch_time(!model.entry->after_work); break;
    case Action::spot_pattern: form(BoardForm::Kind::pattern); break;
    case Action::spot_gauge: form(BoardForm::Kind::gauge); break;
    case Action::spot_paste:
        if (const std::string told =
                model.paste(session_.clipboard ? session_.clipboard() : "", session_.settings.unit);
            !told.empty())
            session_.notify("Pasted: " + told);
        break;
    case Action::spot_panel_before: choose_panel(-1); break;
    case Action::spot_panel_after: choose_panel(1); break;
    default: break;
    }
}

void BoardPage::undo_or_redo(bool undo) {
    const std::string told = undo ? model.undo() : model.redo();
    session_.notify(!told.empty() ? told : undo ? "Nothing to undo" : "Nothing to redo");
}

/// Another panel, whose readings are entered then.
void BoardPage::choose_panel(int by) {
    const auto rows = static_cast<std::ptrdiff_t>(model.board().panels.size());
    model.row = static_cast<std::size_t>((static_cast<std::ptrdiff_t>(model.row) + by + rows) % rows);
    model.begin_readings();
}

bool BoardPage::close() {
    if (model.form) model.form.reset();
    else model.page = BoardPart::panels;
    return true;
}

bool BoardPage::take_file(Chooser what, const std::filesystem::path& file) {
    if (what != Chooser::save_sheet) return false;
    save_sheet(file);
    return true;
}

void BoardPage::enter_form() {
    session_.attempt([&] { model.enter_form(session_.settings.unit); });
    if (std::exchange(model.sheet_due, false)) session_.chooser = Chooser::save_sheet;
}

void BoardPage::save_sheet(const fs::path& file) {
    if (session_.attempt([&] { model.write_sheet(file, session_.settings.unit, shop_path()); }))
        session_.notify("Sheet written: " + file.string());
}

void BoardPage::tick(double now_s) {
    if (!session_.messages.empty()) return; // what was wrong is wrong until it has been read
    session_.attempt([&] {
        if (const std::string told = model.tick(now_s); !told.empty()) session_.notify(told);
    });
    if (std::optional<MadePanel> made = opening_.take())
        session_.attempt([&] { take_panel(std::move(*made)); });
}

} // namespace sparecoat::view::board
