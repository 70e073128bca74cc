#include "view/window/widgets.hpp"
#include <algorithm>
#include <cctype>
#include <cfloat>
#include <cmath>
#include <imgui_internal.h> // BringWindowToDisplayFront

namespace sparecoat::view {

float width_of(const ImFont* font, const std::string& words) {
    return font->CalcTextSizeA(font->FontSize, FLT_MAX, 0, words.data(), words.data() + words.size()).x;
}

float write(ImDrawList& list, const ImFont* font, float x, float y, ImU32 colour, const std::string& words,
            Align align) {
    const float width = width_of(font, words);
    if (align == Align::centre) x -= width / 2;
    if (align == Align::right) x -= width;
    list.AddText(font, font->FontSize, {std::round(x), std::round(y)}, colour, words.data(),
                 words.data() + words.size());
    return width;
}

std::string fitted(const ImFont* font, const std::string& words, float width) {
    if (width_of(font, words) <= width) return words;
    std::string cut = words;
    while (!cut.empty() && width_of(font, cut + "\u2026") > width) {
        unsigned char byte = 0; // whole code points: continuation bytes of UTF-8 start with 10
        do {
            byte = static_cast<unsigned char>(cut.back());
            cut.pop_back();
        } while (!cut.empty() && (byte & 0xc0) == 0x80);
    }
    while (!cut.empty() && cut.back() == ' ') cut.pop_back();
    return cut + "\u2026";
}

ImU32 with_alpha(ImU32 colour, float alpha) {
    const auto a = static_cast<ImU32>(std::lround(255 * std::clamp(alpha, 0.0f, 1.0f)));
    return (colour & ~IM_COL32_A_MASK) | (a << IM_COL32_A_SHIFT);
}

void hint_if_hovered(const Ui& ui, const std::string& hint) {
    if (hint.empty() || !ImGui::IsItemHovered(ImGuiHoveredFlags_AllowWhenDisabled)) return;
    ImGui::PushFont(ui.f.small);
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {ui.px(9), ui.px(6)});
    ImGui::BeginTooltip();
    ImGui::PushTextWrapPos(ui.px(340));
    ImGui::TextUnformatted(hint.c_str());
    ImGui::PopTextWrapPos();
    ImGui::EndTooltip();
    ImGui::PopStyleVar();
    ImGui::PopFont();
}

namespace {

/// Where a word ends that begins there: a unit belongs to the number before it.
std::size_t end_of_word(const std::string& words, std::size_t from) {
    constexpr std::string_view units[] = {"%", "\u00b5m", "mil", "mm", "min", "s"};
    std::size_t end = std::min(words.find_first_of(" \n", from), words.size());
    const bool number = end > from && std::isdigit(static_cast<unsigned char>(words[end - 1]));
    if (!number || end == words.size() || words[end] != ' ') return end;
    for (const std::string_view unit : units) {
        const std::size_t after = end + 1 + unit.size();
        const bool ends = after >= words.size() || !std::isalnum(static_cast<unsigned char>(words[after]));
        if (words.compare(end + 1, unit.size(), unit) == 0 && ends)
            return std::min(words.find_first_of(" \n", end + 1), words.size());
    }
    return end;
}

/// The words broken into lines at blanks alone: ImGui breaks after points and quotation marks too, in the
/// midst of numbers.
std::string in_lines(const ImFont* font, const std::string& words, float width) {
    std::string out;
    float taken = 0;
    for (std::size_t from = 0; from < words.size();) {
        const std::size_t end = end_of_word(words, from);
        const std::string word = words.substr(from, end - from);
        const float wide = width_of(font, word), blank = width_of(font, " ");
        if (taken > 0 && taken + blank + wide > width) out += '\n', taken = 0;
        if (taken > 0) out += ' ', taken += blank;
        out += word, taken += wide;
        if (end < words.size() && words[end] == '\n') out += '\n', taken = 0;
        from = end + 1;
    }
    return out;
}

} // namespace

float wrapped_height(const ImFont* font, const std::string& words, float width) {
    const std::string lines = in_lines(font, words, width);
    return font->CalcTextSizeA(font->FontSize, FLT_MAX, 0, lines.data(), lines.data() + lines.size()).y;
}

float write_wrapped(ImDrawList& list, const ImFont* font, float x, float y, ImU32 colour,
                    const std::string& words, float width) {
    const std::string lines = in_lines(font, words, width);
    list.AddText(font, font->FontSize, {std::round(x), std::round(y)}, colour, lines.data(),
                 lines.data() + lines.size());
    return font->CalcTextSizeA(font->FontSize, FLT_MAX, 0, lines.data(), lines.data() + lines.size()).y;
}

void draw_dashes(ImDrawList& list, ImVec2 from, ImVec2 to, ImU32 colour, float thickness, float dash) {
    const ImVec2 way{to.x - from.x, to.y - from.y};
    const float length = std::sqrt(way.x * way.x + way.y * way.y);
    for (float at = 0; at < length; at += 2 * dash) {
        const float a = at / length, b = std::min(1.0f, (at + dash) / length);
        list.AddLine({from.x + a * way.x, from.y + a * way.y}, {from.x + b * way.x, from.y + b * way.y},
                     colour, thickness);
    }
}

void draw_progress(const Ui& ui, const Box& box, float share, const std::string& words) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float until = box.x + box.w * std::clamp(share, 0.0f, 1.0f);
    list.AddRectFilled(box.low(), box.high(), ui.c.field, ui.px(4));
    list.AddRectFilled(box.low(), {until, box.y + box.h}, with_alpha(ui.c.accent, 0.35f), ui.px(4));
    write(list, ui.f.small, box.x + ui.px(8), box.y + (box.h - ui.f.small->FontSize) / 2, ui.c.ink,
          fitted(ui.f.small, words, box.w - ui.px(16)));
}

bool press(const Ui& ui, const char* id, const std::string& words, const Box& box, bool on,
           const std::string& hint, bool enabled) {
    ImGui::SetCursorScreenPos(box.low());
    const bool pressed = ImGui::InvisibleButton(id, {box.w, box.h}) && enabled;
    const bool lit = ImGui::IsItemHovered() && enabled;
    hint_if_hovered(ui, hint);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const ImU32 fill = on ? ui.c.accent : lit ? ui.c.field_lit : ui.c.field;
    list.AddRectFilled(box.low(), box.high(), enabled ? fill : with_alpha(ui.c.field, 0.4f), ui.px(4));
    if (!words.empty()) {
        const ImFont* font = width_of(ui.f.body, words) > box.w - ui.px(8) ? ui.f.small : ui.f.body;
        const ImU32 colour = !enabled ? with_alpha(ui.c.quiet, 0.55f) : on ? ui.c.on_accent : ui.c.ink;
        write(list, font, box.x + box.w / 2, box.y + (box.h - font->FontSize) / 2, colour,
              fitted(font, words, box.w - ui.px(6)), Align::centre);
    }
    return pressed;
}

std::string choose_from(const Ui& ui, const char* id, const Box& field, const std::string& current,
                        const std::string& shown, const std::vector<Listing>& from, bool open) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    std::string chosen;
    ImGui::SetCursorScreenPos(field.low());
    ImGui::PushID(id);
    open = ImGui::InvisibleButton("field", {field.w, field.h}) || open;
    const bool lit = ImGui::IsItemHovered();
    const std::string fits = fitted(ui.f.small, shown, field.w - ui.px(26));
    hint_if_hovered(ui, shown == fits ? "" : shown);
    list.AddRectFilled(field.low(), field.high(), lit ? ui.c.field_lit : ui.c.field, ui.px(4));
    write(list, ui.f.small, field.x + ui.px(8), field.y + ui.px(4), ui.c.ink, fits);
    const float a = ui.px(4), cx = field.x + field.w - ui.px(12), cy = field.y + field.h / 2;
    list.AddTriangleFilled({cx - a, cy - a * 0.5f}, {cx + a, cy - a * 0.5f}, {cx, cy + a * 0.7f}, ui.c.quiet);
    if (open) ImGui::OpenPopup("list");
    ImGui::SetNextWindowPos({field.x, field.y + field.h + ui.px(2)});
    ImGui::SetNextWindowSizeConstraints({field.w, 0}, {ui.px(560), ui.px(420)});
    if (ImGui::BeginPopup("list", ImGuiWindowFlags_NoMove)) {
        ImGui::PushFont(ui.f.small);
        for (const Listing& l : from) {
            if (ImGui::Selectable(l.name.c_str(), l.id == current)) chosen = l.id;
            if (ImGui::IsWindowAppearing() && l.id == current) ImGui::SetScrollHereY();
            if (!l.summary.empty()) hint_if_hovered(ui, l.summary);
        }
        ImGui::PopFont();
        ImGui::EndPopup();
    }
    ImGui::PopID();
    return chosen == current ? "" : chosen;
}

void begin_card(const char* name, const Box& box, ImU32 fill, bool scrolls, ImVec2 padding) {
    ImGui::SetNextWindowPos(box.low());
    ImGui::SetNextWindowSize({box.w, box.h});
    ImGuiWindowFlags flags = ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize |
                             ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoCollapse |
                             ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus |
                             ImGuiWindowFlags_NoNav;
    if (!scrolls) flags |= ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse;
    ImGui::PushStyleColor(ImGuiCol_WindowBg, fill);
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, padding);
    ImGui::Begin(name, nullptr, flags);
    ImGui::PopStyleVar();
    ImGui::PopStyleColor();
}

void begin_dialog(const Ui& ui, const char* name, const Box& box, float width, float height) {
    begin_card((std::string("behind ") + name).c_str(), {0, 0, width, height}, ui.c.scrim);
    ImGui::BringWindowToDisplayFront(ImGui::GetCurrentWindow());
    ImGui::End();
    ImGui::PushStyleVar(ImGuiStyleVar_WindowRounding, ui.px(8));
    begin_card(name, box, ui.c.card, false, {ui.px(22), ui.px(16)});
    ImGui::BringWindowToDisplayFront(ImGui::GetCurrentWindow());
    if (ImGui::IsWindowAppearing()) ImGui::SetWindowFocus();
}

void end_dialog() {
    ImGui::End();
    ImGui::PopStyleVar();
}

void draw_curves(ImDrawList& list, const Box& box, std::span<const Curve> curves, float x_low, float x_high,
                 float y_low, float y_high, float thickness) {
    const float across = std::max(x_high - x_low, 1e-6f), up = std::max(y_high - y_low, 1e-12f);
    list.PushClipRect(box.low(), box.high(), true);
    for (const Curve& curve : curves) {
        // A point a pixel at the most: of a column's values the largest is drawn, so that no spike is lost.
        std::vector<ImVec2> points;
        for (std::size_t k = 0; k < curve.x.size(); ++k) {
            const float x = box.x + (curve.x[k] - x_low) / across * box.w;
            const float y =
                box.y + box.h - std::clamp((curve.y[k] - y_low) / up, 0.0f, 1.0f) * (box.h - thickness);
            if (!points.empty() && x - points.back().x < 1) points.back().y = std::min(points.back().y, y);
            else points.push_back({x, y});
        }
        list.AddPolyline(points.data(), static_cast<int>(points.size()), curve.colour, 0, thickness);
    }
    list.PopClipRect();
}

} // namespace sparecoat::view
