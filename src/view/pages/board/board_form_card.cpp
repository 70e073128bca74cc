// What is filled in over the board.
#include "decide/cautions.hpp"
#include "view/pages/board/board_cards.hpp"
#include "view/pages/board/board_words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <imgui_stdlib.h>

namespace sparecoat::view::board {

namespace {

constexpr std::size_t most_matches = 6;

/// What of a field's list matches, to be chosen by click, Up and Down. @return its height.
float draw_choices(const BoardUi& ui, BoardField& field, float x, float y, float w, bool typing) {
    const std::vector<std::size_t> found = field.matches();
    ImDrawList& list = *ImGui::GetWindowDrawList();
    if (found.empty()) {
        write(list, ui.f.small, x, y, ui.c.warn, "nothing in the list has these words");
        return ui.px(22);
    }
    field.row = std::min(field.row, found.size() - 1);
    if (typing) {
        if (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_DownArrow)))
            field.row = (field.row + 1) % found.size();
        if (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_UpArrow)))
            field.row = (field.row + found.size() - 1) % found.size();
    }
    if (!typing) { // only what is meant
        write(list, ui.f.small, x, y, ui.c.quiet, fitted(ui.f.small, field.from[found[field.row]].name, w));
        return ui.px(22);
    }
    const std::size_t first = field.row < most_matches ? 0 : field.row + 1 - most_matches;
    float at = y;
    for (std::size_t k = first; k < std::min(found.size(), first + most_matches); ++k) {
        const Box line{x, at, w, ui.px(20)};
        ImGui::SetCursorScreenPos(line.low());
        ImGui::PushID(static_cast<int>(k));
        if (ImGui::InvisibleButton("choice", {line.w, line.h})) field.row = k;
        ImGui::PopID();
        if (k == field.row) list.AddRectFilled(line.low(), line.high(), ui.c.field_lit, ui.px(3));
        write(list, ui.f.small, x + ui.px(6), at + ui.px(1), ui.c.ink,
              fitted(ui.f.small, field.from[found[k]].name, w - ui.px(10)));
        at += ui.px(20);
    }
    if (found.size() > most_matches) {
        write(list, ui.f.small, x, at, ui.c.quiet,
              fmt::format("{} of {}: type some of its words", most_matches, found.size()));
        at += ui.px(20);
    }
    return at - y + ui.px(4);
}

} // namespace

void draw_board_form(const BoardUi& ui, float width, float height) {
    RunSession& session = ui.session;
    BoardPage& page = ui.page;
    if (!page.model.form || !session.messages.empty()) return;
    BoardForm& form = *page.model.form;
    static std::size_t wanted = 0, active = 0;
    constexpr std::size_t none = static_cast<std::size_t>(-1);
    const float w = std::min(ui.px(600), width - ui.px(40)), inner = w - ui.px(48);
    float h = ui.px(122) + ui.px(32) * static_cast<float>(form.fields.size());
    for (std::size_t k = 0; k < form.fields.size(); ++k)
        if (!form.fields[k].from.empty())
            h += ui.px(k == active ? 20 * static_cast<float>(std::clamp<std::size_t>(
                                              form.fields[k].matches().size(), 1, most_matches + 1)) +
                                         6
                                   : 22);
    if (!form.remark.empty()) h += wrapped_height(ui.f.small, form.remark, inner) + ui.px(6);
    if (!form.fault.empty()) h += wrapped_height(ui.f.small, form.fault, inner) + ui.px(6);
    h = std::min(h, height - ui.px(30));
    const Box box{(width - w) / 2, (height - h) / 2, w, h};
    begin_dialog(ui, "board form", box, width, height);
    if (ImGui::IsWindowAppearing()) wanted = 0;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float x = box.x + ui.px(24), label = ui.px(118);
    float y = box.y + ui.px(14);
    write(list, ui.f.large, x, y, ui.c.ink, fitted(ui.f.large, form.title, inner));
    y += ui.px(38);
    if (!form.remark.empty())
        y += write_wrapped(list, ui.f.small, x, y, ui.c.quiet, form.remark, inner) + ui.px(6);
    bool entered = false;
    std::size_t go_on = none;
    const std::size_t focus = std::exchange(wanted, none);
    for (std::size_t k = 0; k < form.fields.size(); ++k) {
        BoardField& field = form.fields[k];
        ImGui::PushID(static_cast<int>(k));
        write(list, ui.f.body, x, y + ui.px(3), ui.c.quiet, fitted(ui.f.body, field.label, label - ui.px(6)));
        ImGui::SetCursorScreenPos({x + label, y});
        ImGui::SetNextItemWidth(inner - label);
        if (focus == k) ImGui::SetKeyboardFocusHere();
        const std::string before = field.text;
        const bool enter = ImGui::InputTextWithHint("##field", field.hint.c_str(), &field.text,
                                                    ImGuiInputTextFlags_EnterReturnsTrue |
                                                        ImGuiInputTextFlags_AutoSelectAll);
        if (field.text != before) field.row = 0;
        const bool typing = ImGui::IsItemActive() || enter;
        if (typing) active = k;
        if (typing && ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Tab))) go_on = k;
        entered = entered || enter;
        y += ui.px(32);
        if (!field.from.empty()) y += draw_choices(ui, field, x + label, y, inner - label, active == k);
        ImGui::PopID();
    }
    if (go_on != none)
        wanted = (go_on + (ImGui::GetIO().KeyShift ? form.fields.size() - 1 : 1)) % form.fields.size();
    if (!form.fault.empty()) write_wrapped(list, ui.f.small, x, y, ui.c.warn, form.fault, inner);
    const float by = box.y + h - ui.px(46), bw = ui.px(150);
    const bool back =
        press(ui, "leave", "Cancel  Esc", {box.x + w - ui.px(24) - 2 * bw - ui.px(8), by, bw, ui.px(32)});
    entered =
        press(ui, "take", form.action + "  Enter", {box.x + w - ui.px(24) - bw, by, bw, ui.px(32)}, true) ||
        entered;
    end_dialog();
    if (entered) {
        page.enter_form();
        if (page.model.form) wanted = active; // something was refused: still to be typed
    } else if (back) {
        page.model.form.reset();
    }
}

} // namespace sparecoat::view::board
