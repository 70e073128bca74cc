// A vehicle's job on the desk: its file, its board, and its panels on the bench.
#include "units/error.hpp"
#include "view/app/session.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <utility>

namespace sparecoat::view {

namespace fs = std::filesystem;

KeyContext Session::key_context() const {
    if (shows_charts()) return KeyContext::charts;
    if (shows_compare()) return KeyContext::compare;
    if (!shows_board()) return KeyContext::always;
    return vehicle.page == BoardPage::readings ? KeyContext::readings : KeyContext::board;
}

bool Session::dialog() const {
    return !messages.empty() || asks() || help || lesson_list || chooser != Chooser::none ||
           vehicle.form.has_value();
}

void Session::open_job(const fs::path& file) {
    unless_lost([this, file] {
        attempt([&] {
            vehicle.open(file);
            leave_lesson();
            leave_panels();
            close_compare();
            charts.close();
            board = true;
            if (vehicle.backup())
                notify("The file was of an older version; as it was it is in " + vehicle.backup()->string());
            else if (vehicle.read_only()) notify("To look at only: the file is not to be written");
            else notice.clear();
        });
    });
}

void Session::close_job() {
    leave_panels();
    vehicle.close();
    board = false;
}

/// Puts back what was on the bench before the first of the job's panels.
void Session::leave_panels() {
    opening_.call_off();
    if (!home_) return;
    leave_lesson(); // its home is a panel of the job
    close_compare();
    charts.close();
    drop_edits();
    bench = std::move(home_->bench);
    choose_defects(home_->defects);
    home_.reset();
    listings_.clear();
    live.pause();
    live.restart(bench.job());
    opened_.reset(); // last: the bench before read its presets
}

// ---- panels on the bench ----------------------------------------------------------------------------

void Session::open_panel(std::size_t step) {
    unless_lost([this, step] {
        attempt([&] {
            JobModel::Opened wanted = vehicle.lay_out(step);
            const bool same = opened_ && opened_->panel == wanted.panel;
            wanted.choices.request.grid_m = bench.choices().request.grid_m,
            wanted.choices.request.seed = bench.choices().request.seed;
            notify(fmt::format("Making the {} ready ...", vehicle.panel()->panel.name));
            opening_.ask({std::move(wanted), same ? bench.job() : nullptr});
        });
    });
}

Session::MadePanel Session::make_panel(const PanelWish& wish, TaskState&) {
    MadePanel made{wish.opened, nullptr, {}};
    try {
        made.job = make_job(*wish.opened.presets, wish.opened.choices, wish.earlier.get());
    } catch (const InputError& error) {
        made.fault = error.what();
    }
    return made;
}

void Session::take_panel(MadePanel made) {
    if (!made.job) {
        messages.push_back(made.fault);
        return;
    }
    leave_lesson();
    close_compare();
    charts.close();
    drop_edits();
    if (!home_) home_.emplace(Home{bench, settings.defects});
    bench = EditHistory(*made.opened.presets, made.opened.choices, made.job);
    listings_.clear();
    lamp.set_defects(static_cast<const Library&>(*made.opened.presets).defects(made.opened.defects));
    settings.defects = made.opened.defects;
    opened_ = std::move(made.opened);
    pinned.reset();
    hand_force_n = choices().technique.force_n;
    live.pause();
    live.restart(bench.job());
    board = false;
    notice.clear();
}

const BoardPanel* Session::opened_panel() const {
    if (!opened_ || !vehicle.is_open()) return nullptr;
    const std::vector<BoardPanel>& panels = vehicle.board().panels;
    const auto found =
        std::ranges::find_if(panels, [&](const BoardPanel& p) { return p.panel.id == opened_->panel; });
    return found == panels.end() ? nullptr : &*found;
}

// ---- keys -------------------------------------------------------------------------------------------

/// @return whether the action is one of the job's.
bool Session::act_on_job(Action action) {
    if (action == Action::board) {
        if (!vehicle.is_open())
            notify(fmt::format("No job is open: {} opens a file", keys_of(Action::open_file)));
        else if (lesson) notify("Leave the lesson first");
        else board = !board;
        return true;
    }
    if (action == Action::step_before || action == Action::step_after) {
        const BoardPanel* panel = opened_panel();
        if (!panel || opened_->steps < 2 || lesson) return true;
        const std::size_t step =
            (opened_->step + (action == Action::step_after ? 1 : opened_->steps - 1)) % opened_->steps;
        vehicle.row = static_cast<std::size_t>(panel - vehicle.board().panels.data());
        open_panel(step);
        return true;
    }
    const bool of_sections =
        action >= Action::toggle_section && action <= Action::save_record && action != Action::section_table;
    if (of_sections && opened_) {
        notify("A job's test squares come in with their record: drop it on the board");
        return true;
    }
    if (action < Action::board_left || action > Action::spot_panel_after) return false;
    if (!shows_board()) return true;
    const auto form = [&](BoardForm::Kind kind) { vehicle.ask(kind, settings.unit); };
    const auto step_panel = [&](int by) {
        const auto rows = static_cast<std::ptrdiff_t>(vehicle.board().panels.size());
        vehicle.row = static_cast<std::size_t>((static_cast<std::ptrdiff_t>(vehicle.row) + by + rows) % rows);
        vehicle.begin_readings();
    };
    attempt([&] {
        switch (action) {
        case Action::board_left:
        case Action::board_right: {
            const int by = action == Action::board_right ? 1 : -1;
            vehicle.page == BoardPage::plan ? vehicle.look_along_front(by) : vehicle.move(by, 0);
            break;
        }
        case Action::board_up: vehicle.move(0, -1); break;
        case Action::board_down: vehicle.move(0, 1); break;
        case Action::board_open: open_panel(0); break;
        case Action::board_readings: vehicle.begin_readings(); break;
        case Action::board_clean: vehicle.toggle_clean(); break;
        case Action::board_marks: form(BoardForm::Kind::marks); break;
        case Action::board_work: form(BoardForm::Kind::work); break;
        case Action::board_add_panel: form(BoardForm::Kind::panel); break;
        case Action::board_visit_before: vehicle.choose_visit(-1); break;
        case Action::board_visit_after: vehicle.choose_visit(1); break;
        case Action::board_add_visit: form(BoardForm::Kind::visit); break;
        case Action::board_plan: form(BoardForm::Kind::plan); break;
        case Action::board_totals:
            vehicle.page = vehicle.page == BoardPage::plan ? BoardPage::panels : BoardPage::plan;
            break;
        case Action::board_call_off:
            if (!vehicle.planning()) break;
            vehicle.call_off_plan();
            notify("The planning is called off; the job is as it was");
            break;
        case Action::board_sheet: form(BoardForm::Kind::sheet); break;
        case Action::job_undo:
        case Action::job_redo: {
            const std::string told = action == Action::job_undo ? vehicle.undo() : vehicle.redo();
            notify(!told.empty() ? told : action == Action::job_undo ? "Nothing to undo" : "Nothing to redo");
            break;
        }
        case Action::spot_take: vehicle.take_reading(settings.unit); break;
        case Action::spot_rub_out: vehicle.rub_out(); break;
        case Action::spot_remove: vehicle.remove_reading(); break;
        case Action::spot_left: vehicle.move_spot(-1, 0); break;
        case Action::spot_right: vehicle.move_spot(1, 0); break;
        case Action::spot_up: vehicle.move_spot(0, 1); break;
        case Action::spot_down: vehicle.move_spot(0, -1); break;
        case Action::spot_kind: vehicle.switch_kind(!vehicle.entry->of_clear); break;
        case Action::spot_time: vehicle.switch_time(!vehicle.entry->after_work); break;
        case Action::spot_pattern: form(BoardForm::Kind::pattern); break;
        case Action::spot_gauge: form(BoardForm::Kind::gauge); break;
        case Action::spot_paste: vehicle.paste(clipboard ? clipboard() : "", settings.unit); break;
        case Action::spot_panel_before: step_panel(-1); break;
        case Action::spot_panel_after: step_panel(1); break;
        default: break;
        }
    });
    return true;
}

void Session::close_on_board() {
    if (vehicle.form) vehicle.form.reset();
    else vehicle.page = BoardPage::panels;
}

void Session::enter_board_form() {
    attempt([&] { vehicle.enter_form(settings.unit); });
    if (std::exchange(vehicle.sheet_due, false)) chooser = Chooser::save_sheet;
}

void Session::save_sheet(const fs::path& file) {
    if (attempt([&] { vehicle.write_sheet(file, settings.unit, shop_path()); }))
        notify("Sheet written: " + file.string());
}

void Session::tick_job() {
    if (!messages.empty()) return; // what was wrong is wrong until it has been read
    attempt([&] {
        if (const std::string told = vehicle.tick(now_s_); !told.empty()) notify(told);
    });
    if (std::optional<MadePanel> made = opening_.take()) attempt([&] { take_panel(std::move(*made)); });
}

} // namespace sparecoat::view
