#include "view/pages/section/section_page.hpp"
#include "units/error.hpp"
#include <fmt/format.h>

namespace sparecoat::view::section {

namespace fs = std::filesystem;

namespace {
constexpr const char* usual_kit = "workshop";

std::optional<fs::path> source_of(const SharedReadings& readings) {
    return readings ? std::optional<fs::path>(readings->source) : std::nullopt;
}

} // namespace

PanelInUse SectionPage::panel_in_use() const {
    if (session_.put_aside.empty()) {
        const RunRequest& request = session_.shown->request;
        return {request.panel, request.paint, session_.settings.defects, source_of(request.readings)};
    }
    const RunSession::OwnRun& own = session_.put_aside.front();
    return {own.request.panel, own.request.paint, own.defects.value_or(session_.settings.defects),
            source_of(own.request.readings)};
}

void SectionPage::open(bool wanted) {
    model.open = session_.settings.section = wanted;
    model.drag.cancel();
    if (!wanted) model.placing = false;
    else session_.take_strips(); // the curves take its place
    if (wanted && !model.has_record() && !session_.settings.record.empty()) load_last_record();
}

void SectionPage::load_last_record() {
    const std::string file = std::exchange(session_.settings.record, "");
    try {
        model.load(session_.edits.library(), file);
        session_.settings.record = file;
    } catch (const InputError&) {
        session_.notify("Last time's record is not to be had: " + file);
    }
}

void SectionPage::new_record() {
    unless_record_lost([this] {
        if (!session_.attempt([&] { model.begin(session_.edits.library(), usual_kit); })) return;
        session_.settings.record.clear();
        open(true);
    });
}

void SectionPage::load_record(const fs::path& file) {
    unless_record_lost([this, file] {
        const bool loaded = session_.attempt([&] { model.load(session_.edits.library(), file); });
        if (!loaded) return;
        session_.settings.record = fs::absolute(file).string();
        open(true);
        model.show_panel(panel_in_use());
        model.work_out(session_.edits.library());
        session_.notify(model.panel()
                            ? "Record of " + model.record().name
                            : fmt::format("Record of {}: nothing on this panel yet", model.record().name));
    });
}

void SectionPage::save_record(const fs::path& file) {
    if (!session_.attempt([&] { model.save(file); })) return;
    session_.settings.record = fs::absolute(file).string();
    session_.notify("Record kept in " + file.string());
    session_.saved();
}

/// Goes ahead unless that would lose a record without a file: then it is asked about first.
void SectionPage::unless_record_lost(std::function<void()> what) {
    if (!model.unsaved()) return what();
    session_.ask_first(RunSession::Unsaved::record, std::move(what));
}

bool SectionPage::enter(const std::function<void()>& what) {
    const bool entered = session_.attempt([&] {
        if (!model.has_record()) model.begin(session_.edits.library(), usual_kit);
        model.show_panel(panel_in_use());
        what();
    });
    if (entered) model.work_out(session_.edits.library());
    return entered;
}

void SectionPage::enter_form() {
    try {
        model.enter_form(session_.settings.unit);
        model.work_out(session_.edits.library());
    } catch (const InputError&) {
        // said in the form
    }
}

void SectionPage::take_tape(Point2 at, double reach_m) { model.drag.begin(at, model.squares(), reach_m); }

void SectionPage::lay_tape(Point2 at) { model.drag.drag_to(at); }

void SectionPage::let_tape_go() {
    const SquareDrag drag = model.drag;
    model.drag.cancel();
    if (!drag.active() || !drag.moved()) return;
    const std::vector<TapedSquare> others = model.squares();
    const std::string fault =
        square_fault(session_.shown->panel, drag.square(), model.least_pad_m(), others, drag.changes());
    if (!fault.empty())
        return session_.notify(fmt::format("No square: {}, {}", size_text(drag.square()), fault));
    if (!enter([&] { model.tape(session_.shown->panel, drag.square(), drag.changes()); })) return;
    model.placing = false;
    session_.notify(
        fmt::format("Taped {}. {} works in it.", size_text(drag.square()), keys_of(Action::work_in_square)));
}

std::vector<TapeFrame> SectionPage::tape_frames() const {
    std::vector<TapeFrame> frames;
    if (!shown()) return frames;
    constexpr float faint = 0.35f;
    const SquareDrag& drag = model.drag;
    const std::vector<TapedSquare> squares = model.squares();
    for (std::size_t k = 0; k < squares.size(); ++k)
        if (!drag.active() || drag.changes() != k)
            frames.push_back(
                {squares[k].at, squares[k].size, k + 1 == squares.size() && !drag.active() ? 1 : faint});
    if (drag.active()) frames.push_back({drag.square().at, drag.square().size, 1});
    return frames;
}

void SectionPage::work_in(const TapedSquare& square) {
    if (session_.in_lesson) return;
    Choices next = session_.choices();
    next.technique.section_centre = square.at;
    next.technique.section_size = square.size;
    if (next.technique.pattern == Pattern::line || next.technique.pattern == Pattern::strips)
        next.technique.pattern = Pattern::raster; // they have no section
    next.request.path_csv.reset();                // recorded somewhere else
    session_.edit(next, "section");
}

void SectionPage::watch_step(std::size_t step, const TapedSquare& square) {
    if (session_.in_lesson || step >= model.steps().size()) return;
    Choices next = session_.choices();
    next.technique = model.steps()[step].technique;
    next.technique.section_centre = square.at;
    next.technique.section_size = square.size;
    next.request.path_csv.reset();
    session_.edit(next, "step in the square");
}

void SectionPage::take_record_paint() {
    if (session_.in_lesson || !model.panel()) return;
    Choices next = session_.choices();
    next.request.paint = model.panel()->paint;
    session_.edit(next, "paint");
}

bool SectionPage::act(Action action) {
    if (action < Action::toggle_section || action > Action::save_record) return false;
    if (action != Action::section_table && session_.on_vehicle_panel) {
        session_.notify("A job's test squares come in with their record: drop it on the board");
        return true;
    }
    switch (action) {
    case Action::toggle_section: open(!model.open); break;
    case Action::tape_square:
        open(true);
        model.drag.cancel();
        model.placing = !model.placing && !session_.view.hand && !session_.in_lesson;
        break;
    case Action::work_in_square:
        if (const std::vector<TapedSquare> squares = model.squares(); !squares.empty())
            work_in(squares.back());
        break;
    case Action::mark_clean:
        open(true);
        enter([this] { model.set_clean(!model.clean()); });
        break;
    case Action::enter_try:
        open(true);
        session_.cards = model.begin_typing = true;
        break;
    case Action::take_back_entry:
        if (model.can_undo()) enter([this] { model.undo(); });
        break;
    case Action::work_out_advice:
        open(true);
        if (model.has_record()) model.work_out(session_.edits.library());
        break;
    case Action::section_table: model.table = !model.table; break;
    case Action::new_record: new_record(); break;
    default:
        if (!model.has_record()) break;
        if (model.file().empty()) session_.chooser = Chooser::save_record;
        else save_record(model.file());
    }
    return true;
}

bool SectionPage::let_go() {
    if (model.drag.active()) model.drag.cancel();
    else if (model.placing) model.placing = false;
    else return false;
    return true;
}

bool SectionPage::close() {
    if (!shown()) return false;
    open(false);
    return true;
}

bool SectionPage::take_file(Chooser what, const std::filesystem::path& file) {
    if (what != Chooser::save_record) return false;
    save_record(file);
    return true;
}

void SectionPage::end_tick() {
    if (model.show_panel(panel_in_use()) && model.open && model.has_record())
        model.work_out(session_.edits.library());
    model.tick();
    if (session_.in_lesson) model.placing = false, model.drag.cancel();
}

} // namespace sparecoat::view::section
