#include "view/widgets.hpp"
#include <algorithm>
#include <cfloat>
#include <cmath>
#include <imgui_internal.h> // BringWindowToDisplayFront

namespace sparecoat {

float width_of(const ImFont* font, const std::string& words) {
    return font->CalcTextSizeA(font->FontSize, FLT_MAX, 0, words.data(), words.data() + words.size()).x;
}

float write(ImDrawList& list, const ImFont* font, float x, float y, ImU32 colour, const std::string& words, Place place) {
    const float width = width_of(font, words);
    if (place == Place::centre) x -= width / 2;
    if (place == Place::right) x -= width;
    list.AddText(font, font->FontSize, {std::round(x), std::round(y)}, colour, words.data(), words.data() + words.size());
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

float wrapped_height(const ImFont* font, const std::string& words, float width) {
    return font->CalcTextSizeA(font->FontSize, FLT_MAX, width, words.data(), words.data() + words.size()).y;
}

float write_wrapped(ImDrawList& list, const ImFont* font, float x, float y, ImU32 colour, const std::string& words, float width) {
    list.AddText(font, font->FontSize, {std::round(x), std::round(y)}, colour, words.data(), words.data() + words.size(), width);
    return wrapped_height(font, words, width);
}

void draw_dashes(ImDrawList& list, ImVec2 from, ImVec2 to, ImU32 colour, float thickness, float dash) {
    const ImVec2 way{to.x - from.x, to.y - from.y};
    const float length = std::sqrt(way.x * way.x + way.y * way.y);
    for (float at = 0; at < length; at += 2 * dash) {
        const float a = at / length, b = std::min(1.0f, (at + dash) / length);
        list.AddLine({from.x + a * way.x, from.y + a * way.y}, {from.x + b * way.x, from.y + b * way.y}, colour, thickness);
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

bool press(const Ui& ui, const char* id, const std::string& words, const Box& box, bool on, const std::string& hint,
           bool enabled) {
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
              fitted(font, words, box.w - ui.px(6)), Place::centre);
    }
    return pressed;
}

void begin_card(const char* name, const Box& box, ImU32 fill, bool scrolls, ImVec2 padding) {
    ImGui::SetNextWindowPos(box.low());
    ImGui::SetNextWindowSize({box.w, box.h});
    ImGuiWindowFlags flags = ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove |
                             ImGuiWindowFlags_NoCollapse | ImGuiWindowFlags_NoSavedSettings |
                             ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoNav;
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

void draw_curves(ImDrawList& list, const Box& box, std::span<const Curve> curves, float x_low, float x_high, float y_low,
                 float y_high, float thickness) {
    const float across = std::max(x_high - x_low, 1e-6f), up = std::max(y_high - y_low, 1e-12f);
    list.PushClipRect(box.low(), box.high(), true);
    for (const Curve& curve : curves) {
        // A point a pixel at the most: of a column's values the largest is drawn, so that no spike is lost.
        std::vector<ImVec2> points;
        for (std::size_t k = 0; k < curve.x.size(); ++k) {
            const float x = box.x + (curve.x[k] - x_low) / across * box.w;
            const float y = box.y + box.h - std::clamp((curve.y[k] - y_low) / up, 0.0f, 1.0f) * (box.h - thickness);
            if (!points.empty() && x - points.back().x < 1) points.back().y = std::min(points.back().y, y);
            else points.push_back({x, y});
        }
        list.AddPolyline(points.data(), static_cast<int>(points.size()), curve.colour, 0, thickness);
    }
    list.PopClipRect();
}

} // namespace sparecoat
