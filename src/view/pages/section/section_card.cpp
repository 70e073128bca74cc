#include "picture/section_words.hpp"
#include "units/quantity.hpp"
#include "view/pages/section/section_cards.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <imgui_stdlib.h>

namespace sparecoat::view::section {
namespace {

constexpr float label_width = 74, field_height = 23;
constexpr std::size_t most_matches = 6;

/// The form's fields: one at a time has the keyboard, Tab goes on to the next, Enter puts all in.
class Fields {
public:
    explicit Fields(const SectionUi& ui) : ui_(ui) {}

    /// @return whether the keyboard is in the field.
    bool field(const char* id, const Box& box, std::string& text, const char* hint) {
        const int here = count_++;
        ImGui::SetCursorScreenPos(box.low());
        ImGui::SetNextItemWidth(box.w);
        ImGui::PushFont(ui_.f.small);
        ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {ui_.px(7), (box.h - ui_.f.small->FontSize) / 2});
        if (std::exchange(wanted_, wanted_ == here ? -1 : wanted_) == here) ImGui::SetKeyboardFocusHere();
        const bool enter = ImGui::InputTextWithHint(
            id, hint, &text, ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
        const bool active = ImGui::IsItemActive();
        ImGui::PopStyleVar();
        ImGui::PopFont();
        if (active && ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Tab))) go_on_from_ = here;
        if (enter) entered_ = here;
        return active || enter;
    }
    bool entered(int field) const { return entered_ == field; }
    bool entered() const { return entered_ >= 0; }
    void take_enter() { entered_ = -1; }
    static void go_to(int field) { wanted_ = field; }
    void end() {
        if (go_on_from_ < 0) return;
        const int by = ImGui::GetIO().KeyShift ? count_ - 1 : 1;
        wanted_ = (go_on_from_ + by) % count_;
    }

private:
    const SectionUi& ui_;
    int count_ = 0, entered_ = -1, go_on_from_ = -1;
    static inline int wanted_ = -1; // there is one form
};

std::string name_in(const std::vector<Listing>& listings, const std::string& reference) {
    const auto found = std::ranges::find(listings, reference, &Listing::id);
    return found == listings.end() ? std::filesystem::path(reference).filename().string() : found->name;
}

std::string with_key(const char* words, Action action) {
    return fmt::format("{}  {}", words, keys_of(action));
}

/// Buttons side by side across the card.
template <std::size_t N> std::array<Box, N> across(const SectionColumn& c, float height, float indent = 0) {
    const float gap = c.ui.px(6),
                w = (c.w - indent - gap * static_cast<float>(N - 1)) / static_cast<float>(N);
    std::array<Box, N> boxes;
    for (std::size_t k = 0; k < N; ++k)
        boxes[k] = {c.x + indent + static_cast<float>(k) * (w + gap), c.y(), w, c.ui.px(height)};
    return boxes;
}

// ---- the record and its panel ---------------------------------------------------------------------

void draw_record(SectionColumn& c) {
    RunSession& session = c.ui.session;
    SectionPage& page = c.ui.page;
    const SectionModel& section = page.model;
    const bool there = section.has_record();
    c.line(c.ui.f.bold, c.ui.c.ink,
           there && !section.file().empty() ? section.record().name
           : there                          ? "Record, not kept yet"
                                            : "Test sections");
    c.line(c.ui.f.small, c.ui.c.quiet,
           !there ? "No record is open"
                  : fmt::format("{}{}", section.kit().name,
                                section.file().empty() ? "" : ", " + section.file().filename().string()));
    if (!there)
        c.wrapped(c.ui.f.small, c.ui.c.quiet,
                  "Mildest first: tape a square, work it with one step, look under the lamp, read the gauge. "
                  "What was done and "
                  "seen goes on record; what it tells of paint, marks and hand decides the next step.");
    const auto box = across<3>(c, 26);
    if (press(c.ui, "new", "New", box[0], !there, with_key("Begins a record", Action::new_record)))
        session.act(Action::new_record);
    if (press(c.ui, "open", "Open", box[1], false, with_key("Opens a record from a file", Action::open_file)))
        session.act(Action::open_file);
    const bool kept = there && !section.file().empty();
    if (press(c.ui, "save", kept ? "Kept" : "Save", box[2], section.unsaved(),
              kept ? fmt::format("{} is written with every entry", section.file().string())
                   : with_key("Names a file, which is then written with every entry", Action::save_record),
              there && !section.record().panels.empty()))
        session.act(Action::save_record);
    c.down(32);
}

void choice(SectionColumn& c, const char* label, PresetKind kind, const std::string& now,
            const std::function<void(const std::string&)>& chosen) {
    RunSession& session = c.ui.session;
    write(c.list, c.ui.f.body, c.x, c.y() + c.ui.px(2), c.ui.c.quiet, label);
    const Box row = c.row(field_height);
    const Box field{row.x + c.ui.px(label_width), row.y, row.w - c.ui.px(label_width), row.h};
    const std::vector<Listing>& from = session.list(kind);
    if (const std::string id = choose_from(c.ui, label, field, now, name_in(from, now), from); !id.empty())
        chosen(id);
    c.down(field_height + 3);
}

void draw_panel(SectionColumn& c) {
    RunSession& session = c.ui.session;
    SectionPage& page = c.ui.page;
    SectionModel& section = page.model;
    const RecordedPanel* panel = section.panel();
    const PanelInUse& bench = section.on_bench();
    c.line(c.ui.f.bold, c.ui.c.ink, session.shown->panel.name);
    choice(c, "Paint", PresetKind::paint, panel ? panel->paint : bench.paint,
           [&](const std::string& id) { page.enter([&] { section.choose_paint(id); }); });
    choice(c, "Marks", PresetKind::defects, panel ? panel->defects : bench.defects,
           [&](const std::string& id) {
               if (page.enter([&] { section.choose_defects(id); })) session.choose_defects(id);
           });
    panel = section.panel(); // an entry may have been made
    if (panel && panel->readings)
        c.line(c.ui.f.small, c.ui.c.quiet,
               "Film by " + std::filesystem::path(*panel->readings).filename().string());
    if (panel && panel->paint != bench.paint) {
        const Box row = c.row(24);
        const float w = c.ui.px(76);
        write(c.list, c.ui.f.small, row.x, row.y + c.ui.px(4), c.ui.c.warn,
              fitted(c.ui.f.small, fmt::format("The run has {} paint", bench.paint), row.w - w - c.ui.px(6)));
        if (press(c.ui, "paint", "Take this", {row.x + row.w - w, row.y, w, row.h}, false,
                  "Has the run worked on the record's paint"))
            page.take_record_paint();
        c.down(28);
    }
    const bool clean = section.clean();
    if (press(c.ui, "clean", clean ? "Washed and decontaminated" : "Not washed yet: mark it clean", c.row(26),
              !clean,
              with_key(clean ? "Takes the mark off"
                             : "Grit that is left scratches under the pad: no advice before it is off",
                       Action::mark_clean)))
        session.act(Action::mark_clean);
    c.down(32);
    const auto box = across<2>(c, 26);
    const bool any = !section.squares().empty();
    if (press(c.ui, "tape", section.placing ? "Taping now" : "Tape a square", box[0], section.placing,
              with_key("Press and drag on the panel. A square is moved by its middle and resized by a corner",
                       Action::tape_square)))
        session.act(Action::tape_square);
    if (press(c.ui, "work", "Work in it", box[1], false,
              with_key("The technique's section becomes the last square, so that the run works inside it",
                       Action::work_in_square),
              any))
        session.act(Action::work_in_square);
    c.down(32);
}

// ---- entering -------------------------------------------------------------------------------------

/// A step's words without its machine where no other step of the kit has the same liquid and pad.
std::string kit_step_words(const std::vector<KitStep>& steps, std::size_t k) {
    const auto without_machine = [](const std::string& words) { return words.substr(0, words.rfind(" (")); };
    const std::string brief = without_machine(steps[k].words);
    const auto alike =
        std::ranges::count_if(steps, [&](const KitStep& s) { return without_machine(s.words) == brief; });
    return alike == 1 ? brief : steps[k].words;
}

/// The kit's steps that match what is typed, to be chosen by click, arrows and Enter.
void draw_matches(SectionColumn& c, Fields& fields, bool typing) {
    SectionModel& section = c.ui.page.model;
    TryForm& form = section.form;
    if (form.chosen || (!typing && form.step.empty())) return;
    const std::vector<std::size_t> found = matching_steps(section.steps(), form.step);
    form.row = found.empty() ? 0 : std::min(form.row, found.size() - 1);
    if (typing && !found.empty()) {
        if (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_DownArrow)))
            form.row = (form.row + 1) % found.size();
        if (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_UpArrow)))
            form.row = (form.row + found.size() - 1) % found.size();
    }
    const std::size_t first = form.row < most_matches ? 0 : form.row + 1 - most_matches;
    const float indent = c.ui.px(8);
    for (std::size_t k = first; k < std::min(found.size(), first + most_matches); ++k) {
        const Box row = c.row(19, indent);
        ImGui::PushID(static_cast<int>(k));
        ImGui::SetCursorScreenPos(row.low());
        const bool clicked = ImGui::InvisibleButton("match", {row.w, row.h});
        const bool lit = ImGui::IsItemHovered();
        hint_if_hovered(c.ui, section.steps()[found[k]].words);
        ImGui::PopID();
        if (lit || k == form.row)
            c.list.AddRectFilled(row.low(), row.high(), k == form.row ? c.ui.c.field_lit : c.ui.c.field,
                                 c.ui.px(3));
        write(c.list, c.ui.f.small, row.x + c.ui.px(6), row.y + c.ui.px(1), c.ui.c.ink,
              fitted(c.ui.f.small, kit_step_words(section.steps(), found[k]), row.w - c.ui.px(8)));
        if (clicked || (k == form.row && fields.entered(0))) {
            form.choose_step(section.steps(), found[k]);
            fields.take_enter();
            Fields::go_to(1);
            return;
        }
        c.down(19);
    }
    if (found.size() > most_matches)
        c.line(c.ui.f.small, c.ui.c.quiet,
               fmt::format("{} of {}: type some of its words", std::min(found.size(), most_matches),
                           found.size()),
               indent);
    if (found.empty()) c.line(c.ui.f.small, c.ui.c.warn, "no step of the kit has these words", indent);
    c.down(3);
}

void label(SectionColumn& c, const char* words) {
    write(c.list, c.ui.f.body, c.x, c.y() + c.ui.px(2), c.ui.c.quiet, words);
}

void draw_seen_words(SectionColumn& c) {
    TryForm& form = c.ui.page.model.form;
    const float indent = c.ui.px(label_width);
    for (std::size_t k = 0; k < seen_words.size(); k += 3) {
        const auto box = across<3>(c, 21, indent);
        for (std::size_t n = 0; n < 3 && k + n < seen_words.size(); ++n) {
            const std::string word(seen_words[k + n].word);
            const SeenShare& share = seen_words[k + n].share;
            if (press(
                    c.ui, word.c_str(), word, box[n], form.seen == word,
                    fmt::format("Stands for {:.0f} to {:.0f} % cleared", 100 * share.low, 100 * share.high)))
                form.seen = word;
        }
        c.down(24);
    }
    c.down(2);
}

void draw_form(SectionColumn& c) {
    RunSession& session = c.ui.session;
    SectionPage& page = c.ui.page;
    SectionModel& section = page.model;
    TryForm& form = section.form;
    const std::vector<TapedSquare> squares = section.squares();
    c.list.AddLine({c.x, c.y()}, {c.x + c.w, c.y()}, c.ui.c.line);
    c.down(7);
    if (squares.empty()) {
        section.begin_typing = false;
        return c.wrapped(c.ui.f.small, c.ui.c.quiet,
                         "Tape a square first. What is done on it is entered here.");
    }
    const bool any = !squares.back().tries.empty();
    if (any) {
        const auto box = across<2>(c, 24);
        if (press(c.ui, "new work", "New work", box[0], !form.look_only,
                  "Sets of a step on the last square, and what was seen then"))
            form = {};
        if (press(c.ui, "look", "Look at the last", box[1], form.look_only,
                  "Adds to the last try, or puts right, what was seen and read"))
            section.look_at_last(session.settings.unit);
        c.down(30);
    } else {
        c.line(c.ui.f.bold, c.ui.c.ink, fmt::format("Work on square {}", squares.size()));
    }
    if (std::exchange(section.begin_typing, false)) Fields::go_to(0);
    Fields fields(c.ui);
    const float indent = c.ui.px(label_width), gap = c.ui.px(6);
    if (!form.look_only) {
        label(c, "Step");
        std::string typed = form.step;
        const bool typing =
            fields.field("##step", c.row(field_height, indent), typed, "type some of its words");
        form.type_step(typed);
        c.down(field_height + 3);
        draw_matches(c, fields, typing);
        label(c, "Sets");
        Box row = c.row(field_height, indent);
        fields.field("##sets", {row.x, row.y, c.ui.px(48), row.h}, form.sets, "1");
        c.down(field_height + 3);
    }
    label(c, "Seen");
    fields.field("##seen", c.row(field_height, indent), form.seen, "cleared: %, or a word");
    c.down(field_height + 3);
    draw_seen_words(c);
    label(c, "Gauge");
    const Box row = c.row(field_height, indent);
    const float n = c.ui.px(40), w = (row.w - n - 2 * gap) / 2;
    fields.field("##before", {row.x, row.y, w, row.h}, form.before, "before");
    fields.field("##after", {row.x + w + gap, row.y, w, row.h}, form.after, "after");
    fields.field("##n", {row.x + 2 * (w + gap), row.y, n, row.h}, form.readings,
                 section.kit().gauge ? fmt::format("{}", section.kit().gauge->readings).c_str() : "n");
    c.down(field_height + 1);
    c.line(c.ui.f.small, c.ui.c.quiet,
           fmt::format("means in {}, and how many", session.settings.unit == FilmUnit::um ? "µm" : "mil"),
           indent);
    c.down(2);
    const auto box = across<2>(c, 26);
    const bool pressed = press(c.ui, "enter", "Enter it  Enter", box[0], true,
                               with_key("Puts it on record", Action::enter_try));
    if (press(c.ui, "back", "Take back", box[1], false,
              section.can_undo()
                  ? fmt::format("Takes back {}  {}", section.undo_label(), keys_of(Action::take_back_entry))
                  : with_key("Takes back the last entry", Action::take_back_entry),
              section.can_undo()))
        session.act(Action::take_back_entry);
    c.down(30);
    fields.end();
    if (pressed || fields.entered()) page.enter_form();
    if (!form.fault.empty()) c.wrapped(c.ui.f.small, c.ui.c.warn, form.fault);
}

// ---- squares --------------------------------------------------------------------------------------

std::string step_words(const SectionModel& section, const std::string& id) {
    const auto found = std::ranges::find(section.steps(), id, &KitStep::id);
    return found == section.steps().end()
               ? id
               : kit_step_words(section.steps(), static_cast<std::size_t>(found - section.steps().begin()));
}

/// What a try was to show by the presets, and shows by all that was learned.
void draw_beside_model(SectionColumn& c, std::size_t square, std::size_t work, float indent) {
    const SectionModel& section = c.ui.page.model;
    if (!section.finding()) return;
    for (const TryReport& report : section.finding()->panel().tries)
        if (report.square == square && report.work == work)
            c.wrapped(c.ui.f.small, c.ui.c.quiet, beside_model_words(report, c.ui.session.settings.unit),
                      indent);
}

/// A card of its own for each square: where it is, its tries, what they showed.
void draw_square(SectionColumn& c, const TapedSquare& square, std::size_t k, bool last) {
    RunSession& session = c.ui.session;
    SectionPage& page = c.ui.page;
    SectionModel& section = page.model;
    const float top = c.y(), indent = c.ui.px(10);
    const bool open = last || section.folded_open == k;
    ImGui::PushID(static_cast<int>(k));
    const Box head{c.x, top, c.w, c.ui.px(40)};
    ImGui::SetCursorScreenPos(head.low());
    if (ImGui::InvisibleButton("square", {head.w, head.h}) && !last)
        section.folded_open = open ? std::nullopt : std::optional(k);
    if (ImGui::IsItemHovered() && !last)
        c.list.AddRectFilled(head.low(), head.high(), c.ui.c.field, c.ui.px(5));
    ImGui::PopID();
    c.down(4);
    write(c.list, c.ui.f.bold, c.x + indent, c.y(), c.ui.c.ink, fmt::format("Square {}", k + 1));
    write(c.list, c.ui.f.small, c.x + c.w - indent, c.y() + c.ui.px(2), c.ui.c.ink, size_text(square),
          Align::right);
    c.down(19);
    const std::size_t tries = square.tries.size();
    const std::string done = tries == 0   ? "nothing done yet"
                             : tries == 1 ? "1 try"
                                          : fmt::format("{} tries", tries);
    write(c.list, c.ui.f.small, c.x + indent, c.y(), c.ui.c.quiet,
          open ? done : done + (last ? "" : ": click to see"));
    write(c.list, c.ui.f.small, c.x + c.w - indent, c.y(), c.ui.c.quiet,
          fmt::format("at {:.0f}, {:.0f} mm", square.at.x / mm, square.at.y / mm), Align::right);
    c.down(20);
    if (open)
        for (std::size_t t = 0; t < tries; ++t) {
            const std::string words =
                try_words(square.tries[t], step_words(section, square.tries[t].step), session.settings.unit);
            c.wrapped(c.ui.f.small, c.ui.c.ink, fmt::format("{}. {}", t + 1, words), indent);
            draw_beside_model(c, k, t, c.ui.px(22));
        }
    c.list.AddRect({c.x, top}, {c.x + c.w, c.y()}, c.ui.c.line, c.ui.px(5));
    if (last) c.list.AddRectFilled({c.x, top}, {c.x + c.ui.px(3), c.y()}, c.ui.c.accent, c.ui.px(2));
    c.down(7);
}

/// Numbers and sizes of the taped squares; of one in the hand also why it will not do.
void draw_tape_labels(const SectionUi& ui, ImDrawList& list, const PlaceOnPanel& place) {
    const RunSession& session = ui.session;
    const SectionPage& page = ui.page;
    if (!page.shown()) return;
    const SquareDrag& drag = page.model.drag;
    const std::vector<TapedSquare> squares = page.model.squares();
    const auto label = [&](const TapedSquare& square, const std::string& words, bool clear, bool bad) {
        const std::optional<ImVec2> at =
            place(square.at - Point2{0, 0.5 * square.size.y - 0.03}); // off what the map shows in it
        if (!at) return;
        const float w = width_of(ui.f.small, words) / 2 + ui.px(6), h = ui.f.small->FontSize / 2 + ui.px(3);
        list.AddRectFilled({at->x - w, at->y - h}, {at->x + w, at->y + h},
                           with_alpha(bad ? ui.c.warn : ui.c.card, clear ? 0.92f : 0.6f), ui.px(4));
        write(list, ui.f.small, at->x, at->y - ui.f.small->FontSize / 2,
              bad     ? ui.c.card
              : clear ? ui.c.ink
                      : ui.c.quiet,
              words, Align::centre);
    };
    for (std::size_t k = 0; k < squares.size(); ++k) {
        if (drag.active() && drag.changes() == k) continue;
        const bool current = k + 1 == squares.size() && !drag.active();
        label(squares[k],
              current ? fmt::format("{}: {}", k + 1, size_text(squares[k])) : fmt::format("{}", k + 1),
              current, false);
    }
    if (!drag.active()) return;
    const std::string fault = drag.moved() ? square_fault(session.shown->panel, drag.square(),
                                                          page.model.least_pad_m(), squares, drag.changes())
                                           : "";
    label(drag.square(),
          fault.empty() ? size_text(drag.square()) : fmt::format("{}: {}", size_text(drag.square()), fault),
          true, !fault.empty());
}

} // namespace

void draw_section_card(const SectionUi& ui, const Box& box) {
    SectionPage& page = ui.page;
    begin_card("section", box, ui.c.card, true, {0, ui.px(9)});
    SectionColumn c(ui, box);
    draw_record(c);
    if (page.model.has_record()) {
        draw_panel(c);
        draw_form(c);
        c.down(4);
        const std::vector<TapedSquare> squares = page.model.squares();
        for (std::size_t k = squares.size(); k-- > 0;) draw_square(c, squares[k], k, k + 1 == squares.size());
    }
    c.end();
    ImGui::End();
}

bool SectionPage::draw_card(const Ui& ui, CardPlace place, const Box& box) {
    if (!shown()) return false;
    switch (place) {
    case CardPlace::technique: draw_section_card({ui, *this}, box); return true;
    case CardPlace::spot: draw_advice_card({ui, *this}, box); return true;
    case CardPlace::strips: draw_section_chart({ui, *this}, box); return true;
    default: return false;
    }
}

void SectionPage::draw_over_panel(const Ui& ui, ImDrawList& list, const Box& stage,
                                  const PlaceOnPanel& place) {
    draw_tape_labels({ui, *this}, list, place);
    if (model.placing && !session_.view.hand)
        draw_mode(ui, list, stage, "Taping: drag on the panel. Esc leaves");
}

} // namespace sparecoat::view::section
