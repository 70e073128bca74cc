#include "decide/cautions.hpp"
#include "view/pages/lesson/lesson_page.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::view::lesson {

using LessonUi = PageUi<LessonPage>;

namespace {

struct Button {
    const char* words;
    Action action;
    bool enabled, lit;
};

/// Buttons from the right edge leftwards, so that the way on is always at the same place.
void draw_buttons(const LessonUi& ui, const Box& box, std::span<const Button> buttons) {
    const float w = ui.px(104), h = ui.px(28), gap = ui.px(6);
    float x = box.x + box.w - ui.px(12) - w;
    for (const Button& button : buttons) {
        if (press(ui, button.words, button.words, {x, box.y + ui.px(8), w, h}, button.lit,
                  keys_of(button.action), button.enabled))
            ui.session.act(button.action);
        x -= w + gap;
    }
}

/// What a lesson is about; where its settings come from is for its file's reader.
std::string first_sentence(const std::string& note) {
    const std::size_t stop = note.find(". ");
    return stop == std::string::npos ? note : note.substr(0, stop + 1);
}

} // namespace

void draw_lesson_card(const LessonUi& ui, const Box& box) {
    RunSession& session = ui.session;
    LessonPage& page = ui.page;
    if (!page.play || box.h <= 0) return;
    begin_card("lesson", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float pad = ui.px(14);
    const std::string caption =
        page.play->caption(session.settings.unit); // before a button may leave the lesson
    write(list, ui.f.bold, box.x + pad, box.y + ui.px(8), ui.c.ink,
          fitted(ui.f.bold, page.play->lesson().name, box.w - ui.px(460)));
    const bool two = page.play->has_other_side(), mistake = page.play->side() == LessonSide::mistake;
    write(list, ui.f.small, box.x + pad, box.y + ui.px(27), mistake ? ui.c.warn : ui.c.accent,
          fmt::format("step {} of {}: the {}", page.play->step() + 1, page.play->steps(),
                      name_of(page.play->side())));

    ImGui::SetCursorScreenPos({box.x + pad, box.y + ui.px(48)});
    ImGui::BeginChild("caption", {box.w - 2 * pad, box.h - ui.px(48 + 20)});
    ImGui::PushTextWrapPos(box.w - 2 * pad - ui.px(14));
    ImGui::TextUnformatted(caption.c_str());
    ImGui::PopTextWrapPos();
    ImGui::EndChild();
    write(list, ui.f.small, box.x + pad, box.y + box.h - ui.px(18), ui.c.quiet,
          fitted(ui.f.small, std::string(cautions[page.play->step() % cautions.size()]), box.w - 2 * pad));

    const bool first = page.play->step() == 0, last = page.play->step() + 1 == page.play->steps();
    const Button all[] = {{"Next", Action::lesson_on, !last, !last},
                          {"Back", Action::lesson_back, !first, false},
                          {mistake ? "See remedy" : "See mistake", Action::lesson_turn, two, false},
                          {"Leave", Action::lesson_leave, true, last}};
    draw_buttons(ui, box, all);
    ImGui::End();
}

void draw_lesson_list(const LessonUi& ui, float width, float height) {
    RunSession& session = ui.session;
    LessonPage& page = ui.page;
    if (!page.list) return;
    const std::vector<Listing>& lessons = session.list(PresetKind::lesson);
    const float row = ui.px(44), pad = ui.px(24);
    const float w = std::min(ui.px(880), width - ui.px(40));
    const float h = std::min(ui.px(60 + 180) + row * static_cast<float>(lessons.size()), height - ui.px(30));
    const Box box{(width - w) / 2, (height - h) / 2, w, h};
    begin_dialog(ui, "lessons", box, width, height);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    write(list, ui.f.large, box.x + pad, box.y + ui.px(12), ui.c.ink, "Lessons");
    write(list, ui.f.small, box.x + w - pad, box.y + ui.px(22), ui.c.quiet,
          "Up, Down and Enter choose, Esc closes", Align::right);
    float y = box.y + ui.px(52);
    std::string chosen;
    for (std::size_t k = 0; k < lessons.size(); ++k) {
        const bool on = static_cast<int>(k) == page.row;
        if (press(ui, lessons[k].id.c_str(), lessons[k].name, {box.x + pad, y, ui.px(210), row - ui.px(8)},
                  on))
            chosen = lessons[k].id;
        const float x = box.x + pad + ui.px(224);
        list.AddText(ui.f.small, ui.f.small->FontSize, {x, y + ui.px(2)}, ui.c.quiet,
                     first_sentence(lessons[k].note).c_str(), nullptr, box.x + w - pad - x);
        y += row;
    }
    y += ui.px(8);
    list.AddLine({box.x + pad, y}, {box.x + w - pad, y}, ui.c.line);
    y += ui.px(10);
    write(list, ui.f.small, box.x + pad, y, ui.c.ink,
          fitted(ui.f.small, std::string(estimate_notice), w - 2 * pad));
    for (const std::string_view caution : cautions) {
        y += ui.px(20);
        write(list, ui.f.small, box.x + pad, y, ui.c.quiet,
              fitted(ui.f.small, "\u2022 " + std::string(caution), w - 2 * pad));
    }
    end_dialog();
    if (!chosen.empty()) page.open(chosen);
}

bool LessonPage::draw_card(const Ui& ui, CardPlace place, const Box& box) {
    if (place != CardPlace::lesson || !play) return false;
    draw_lesson_card({ui, *this}, box);
    return true;
}

void LessonPage::draw_dialog(const Ui& ui, float width, float height) {
    draw_lesson_list({ui, *this}, width, height);
}

} // namespace sparecoat::view::lesson
