// Test sections on the desk: the record and its panel, tape laid with the mouse, and the advice that follows
// an entry.
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/app/session.hpp"
#include <fmt/format.h>

namespace sparecoat::view {

namespace fs = std::filesystem;

namespace {
constexpr const char* usual_kit = "workshop";
}

PanelInUse Session::panel_in_use() const {
    const RunRequest& request = home_    ? home_->bench.choices().request
                                : lesson ? lesson->home.bench.choices().request
                                         : shown->request;
    return {request.panel, request.paint, home_ ? home_->defects : settings.defects,
            request.readings ? std::optional<std::filesystem::path>(request.readings->source) : std::nullopt};
}

void Session::open_section(bool open) {
    section.open = settings.section = open;
    section.drag.cancel();
    if (!open) section.placing = false;
    else if (profile.open) profile.open = false; // the curves take its place
    if (open && !section.has_record() && !settings.record.empty()) load_last_record();
}

void Session::load_last_record() {
    const std::string file = std::exchange(settings.record, "");
    try {
        section.load(bench.library(), file);
        settings.record = file;
    } catch (const InputError&) {
        notify("Last time's record is not to be had: " + file);
    }
}

void Session::new_record() {
    unless_record_lost([this] {
        if (!attempt([&] { section.begin(bench.library(), usual_kit); })) return;
        settings.record.clear();
        open_section(true);
    });
}

void Session::load_record(const fs::path& file) {
    unless_record_lost([this, file] {
        const bool loaded = attempt([&] { section.load(bench.library(), file); });
        if (!loaded) return;
        settings.record = fs::absolute(file).string();
        open_section(true);
        section.show_panel(panel_in_use());
        section.work_out(bench.library());
        notify(section.panel()
                   ? "Record of " + section.record().name
                   : fmt::format("Record of {}: nothing on this panel yet", section.record().name));
    });
}

void Session::save_record(const fs::path& file) {
    if (!attempt([&] { section.save(file); })) return;
    settings.record = fs::absolute(file).string();
    notify("Record kept in " + file.string());
    if (const std::function<void()> what = std::exchange(after_save_, nullptr)) what();
}

/// Goes ahead unless that would lose a record without a file: then it is asked about first.
void Session::unless_record_lost(std::function<void()> what) {
    if (!section.unsaved()) return what();
    if (!in_question_) in_question_ = std::move(what), question_ = Unsaved::record;
}

bool Session::enter(const std::function<void()>& what) {
    const bool entered = attempt([&] {
        if (!section.has_record()) section.begin(bench.library(), usual_kit);
        section.show_panel(panel_in_use());
        what();
    });
    if (entered) section.work_out(bench.library());
    return entered;
}

void Session::enter_form() {
    try {
        section.enter_form(settings.unit);
        section.work_out(bench.library());
    } catch (const InputError&) {
        // said in the form
    }
}

void Session::take_tape(Point2 at, double reach_m) { section.drag.begin(at, section.squares(), reach_m); }

void Session::lay_tape(Point2 at) { section.drag.drag_to(at); }

std::vector<TapeFrame> Session::tape_frames() const {
    std::vector<TapeFrame> frames;
    if (!shows_section()) return frames;
    constexpr float faint = 0.35f;
    const SquareDrag& drag = section.drag;
    const std::vector<TapedSquare> squares = section.squares();
    for (std::size_t k = 0; k < squares.size(); ++k)
        if (!drag.active() || drag.changes() != k)
            frames.push_back(
                {squares[k].at, squares[k].size, k + 1 == squares.size() && !drag.active() ? 1 : faint});
    if (drag.active()) frames.push_back({drag.square().at, drag.square().size, 1});
    return frames;
}

void Session::let_tape_go() {
    const SquareDrag drag = section.drag;
    section.drag.cancel();
    if (!drag.active() || !drag.moved()) return;
    const std::vector<TapedSquare> others = section.squares();
    const std::string fault =
        square_fault(shown->panel, drag.square(), section.least_pad_m(), others, drag.changes());
    if (!fault.empty()) return notify(fmt::format("No square: {}, {}", size_text(drag.square()), fault));
    if (!enter([&] { section.tape(shown->panel, drag.square(), drag.changes()); })) return;
    section.placing = false;
    notify(
        fmt::format("Taped {}. {} works in it.", size_text(drag.square()), keys_of(Action::work_in_square)));
}

void Session::work_in(const TapedSquare& square) {
    if (lesson) return;
    Choices next = choices();
    next.technique.section_centre = square.at;
    next.technique.section_size = square.size;
    if (next.technique.pattern == Pattern::line)
        next.technique.pattern = Pattern::raster; // a line has no section
    next.request.path_csv.reset();                // recorded somewhere else
    edit(next, "section");
}

void Session::watch_step(std::size_t step, const TapedSquare& square) {
    if (lesson || step >= section.steps().size()) return;
    Choices next = choices();
    next.technique = section.steps()[step].technique;
    next.technique.section_centre = square.at;
    next.technique.section_size = square.size;
    next.request.path_csv.reset();
    edit(next, "step in the square");
}

void Session::take_record_paint() {
    if (lesson || !section.panel()) return;
    Choices next = choices();
    next.request.paint = section.panel()->paint;
    edit(next, "paint");
}

void Session::tick_section() {
    if (section.show_panel(panel_in_use()) && section.open && section.has_record())
        section.work_out(bench.library());
    section.tick();
    if (lesson) section.placing = false, section.drag.cancel();
}

} // namespace sparecoat::view
