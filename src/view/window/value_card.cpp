#include "view/window/value_card.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fmt/format.h>

namespace sparecoat::view {
namespace {

constexpr float combo_label = 74, value_width = 112;

} // namespace

void ValueCard::heading(const std::string& words) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    write(list_, ui_.f.bold, x_, at.y + ui_.px(3), ui_.c.ink, words);
    advance(at, 28);
}

bool ValueCard::fold(const char* words, bool& open, const std::string& summary) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImGui::SetCursorScreenPos({x_, at.y});
    if (ImGui::InvisibleButton(words, {w_, ui_.px(row_height)})) open = !open;
    if (cursor_here(words, at)) {
        if (take_typing()) open = !open;
        take_nudge();
    }
    const float a = ui_.px(4), cx = x_ + a, cy = at.y + ui_.px(row_height) / 2;
    if (open)
        list_.AddTriangleFilled({cx - a, cy - a * 0.6f}, {cx + a, cy - a * 0.6f}, {cx, cy + a}, ui_.c.quiet);
    else list_.AddTriangleFilled({cx - a * 0.6f, cy - a}, {cx + a, cy}, {cx - a * 0.6f, cy + a}, ui_.c.quiet);
    write(list_, ui_.f.body, x_ + ui_.px(14), at.y + ui_.px(3),
          ImGui::IsItemHovered() ? ui_.c.accent : ui_.c.ink, words);
    if (!open) write(list_, ui_.f.small, x_ + w_, at.y + ui_.px(5), ui_.c.quiet, summary, Align::right);
    advance(at, row_height);
    return open;
}

std::string ValueCard::choice(const char* label, const std::string& id, const std::string& shown,
                              const std::vector<Listing>& from) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    std::string chosen;
    const bool here = cursor_here(label, at);
    if (here) {
        const int by = take_nudge();
        const auto k = std::find_if(from.begin(), from.end(), [&](const Listing& l) { return l.id == id; });
        const auto next = (k == from.end() ? 0 : k - from.begin()) + (k == from.end() ? 0 : by);
        if (by != 0 && next >= 0 && next < static_cast<std::ptrdiff_t>(from.size()))
            chosen = from[static_cast<std::size_t>(next)].id;
    }
    write(list_, ui_.f.body, x_ + indent_, at.y + ui_.px(3), ui_.c.quiet, label);
    const Box field{x_ + ui_.px(combo_label), at.y + ui_.px(1), w_ - ui_.px(combo_label),
                    ui_.px(row_height - 3)};
    const std::string listed = choose_from(ui_, label, field, id, shown, from, here && take_typing());
    if (!listed.empty()) chosen = listed;
    advance(at, row_height);
    return chosen == id ? "" : chosen;
}

bool ValueCard::value(ValueSpec v, double& si) {
    if (!v.typed) v.typed = limits_of(PresetKind::technique, v.pointer).in(v.per_unit);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImGui::PushID(v.label);
    const bool here = cursor_here(v.label, at);
    write(list_, ui_.f.body, x_ + indent_, at.y + ui_.px(3), ui_.c.quiet,
          fitted(ui_.f.body, v.label, w_ - ui_.px(value_width) - indent_ - ui_.px(6)));
    const Box field{x_ + w_ - ui_.px(value_width), at.y + ui_.px(1), ui_.px(value_width),
                    ui_.px(row_height - 3)};
    ImGui::SetCursorScreenPos(field.low());
    const ImGuiID id = ImGui::GetID("field");
    bool changed = false;
    if (typing_ == id) {
        changed = type(v, si, field);
    } else {
        ImGui::InvisibleButton("field", {field.w, field.h});
        const bool lit = ImGui::IsItemHovered();
        hint_if_hovered(
            ui_,
            fmt::format("{}\nDrag, or double-click to type. Usual {} to {} {}, allowed {} to {} {}.", v.hint,
                        number(v.usual_low, v.decimals), number(v.usual_high, v.decimals), v.unit,
                        number(v.typed->low, v.decimals), number(v.typed->high, v.decimals), v.unit));
        if (lit) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
        const bool by_mouse =
            lit && (ImGui::IsMouseDoubleClicked(0) || (ImGui::GetIO().KeyCtrl && ImGui::IsMouseClicked(0)));
        if (by_mouse || (here && take_typing())) start_typing(id, v, si);
        else if (ImGui::IsItemActive()) changed = drag(v, si);
        if (here)
            if (const int by = take_nudge())
                changed = set(v, si, std::round(si / v.per_unit / v.step + by) * v.step);
        draw_field(v, si, field, lit || ImGui::IsItemActive());
    }
    ImGui::PopID();
    advance(at, row_height);
    return changed;
}

bool ValueCard::toggle(const char* label, bool& on, const char* yes, const char* no) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const bool here = cursor_here(label, at);
    write(list_, ui_.f.body, x_, at.y + ui_.px(3), ui_.c.quiet, label);
    const Box field{x_ + w_ - ui_.px(value_width), at.y + ui_.px(1), ui_.px(value_width),
                    ui_.px(row_height - 3)};
    const bool flipped = press(ui_, label, on ? yes : no, field, false, "Alternate passes at right angles") ||
                         (here && (take_nudge() != 0 || take_typing()));
    if (flipped) on = !on;
    advance(at, row_height);
    return flipped;
}

void ValueCard::advance(ImVec2 from, float units) {
    ImGui::SetCursorScreenPos({from.x, from.y + ui_.px(units)});
    ImGui::Dummy({1, 0.01f}); // tells ImGui how far the card reaches
    ImGui::SetCursorScreenPos({from.x, from.y + ui_.px(units)});
}

bool ValueCard::cursor_here(const char*, ImVec2 at) {
    const bool here = ui_.session.value_row == row_++;
    if (!here) return false;
    list_.AddRectFilled({x_ - ui_.px(10), at.y + ui_.px(1)}, {x_ - ui_.px(6), at.y + ui_.px(row_height - 2)},
                        ui_.c.accent, ui_.px(2));
    if (ui_.session.nudge != 0 || ui_.session.begin_typing) ImGui::SetScrollHereY(0.5f);
    return true;
}

bool ValueCard::set(const ValueSpec& v, double& si, double shown) {
    const double held = std::clamp(shown, v.typed->low, v.typed->high) * v.per_unit;
    if (std::abs(held - si) < 1e-9 * v.per_unit) return false;
    si = held;
    return true;
}

bool ValueCard::drag(const ValueSpec& v, double& si) {
    if (ImGui::IsItemActivated()) {
        ++drags_;
        drag_from_ = si / v.per_unit;
    }
    drag_ = drags_;
    const float moved = ImGui::GetMouseDragDelta(0, ui_.px(2)).x / ui_.s;
    if (moved == 0) return false;
    // The usual range is 220 units of mouse travel wide, in whole steps.
    const double wanted = drag_from_ + static_cast<double>(moved) / 220 * (v.usual_high - v.usual_low);
    return set(v, si,
               std::clamp(std::round(wanted / v.step) * v.step, std::min(v.usual_low, drag_from_),
                          std::max(v.usual_high, drag_from_)));
}

void ValueCard::start_typing(ImGuiID id, const ValueSpec& v, double si) {
    typing_ = id;
    focus_ = true;
    std::snprintf(text_, sizeof text_, "%s", fmt::format("{:.{}f}", si / v.per_unit, v.decimals).c_str());
}

bool ValueCard::type(const ValueSpec& v, double& si, const Box& field) {
    ImGui::SetNextItemWidth(field.w);
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {ui_.px(6), ui_.px(2)});
    if (focus_) ImGui::SetKeyboardFocusHere();
    const bool entered =
        ImGui::InputText("##type", text_, sizeof text_,
                         ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
    ImGui::PopStyleVar();
    const bool left = !focus_ && !ImGui::IsItemActive();
    const bool cancelled = ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Escape));
    focus_ = false;
    if (!entered && !left) return false;
    typing_ = 0;
    if (cancelled) return false;
    bool changed = false;
    ui_.session.attempt([&] {
        const double typed = read(v);
        if (typed < v.typed->low * v.per_unit - 1e-9 * v.per_unit ||
            typed > v.typed->high * v.per_unit + 1e-9 * v.per_unit)
            throw InputError("", v.pointer, print_quantity(typed, v.dim),
                             fmt::format("{} to {}", print_quantity(v.typed->low * v.per_unit, v.dim),
                                         print_quantity(v.typed->high * v.per_unit, v.dim)));
        changed = set(v, si, typed / v.per_unit);
    });
    return changed;
}

double ValueCard::read(const ValueSpec& v) const {
    const std::string text = text_;
    const bool bare = text.find_first_not_of("0123456789.,-+ eE") == std::string::npos;
    try {
        return parse_quantity(bare && *v.unit ? text + " " + v.unit : text, v.dim);
    } catch (const std::invalid_argument& error) {
        throw InputError("", v.pointer, error.what(),
                         fmt::format("{} to {} {}", number(v.typed->low, v.decimals),
                                     number(v.typed->high, v.decimals), v.unit));
    }
}

void ValueCard::draw_field(const ValueSpec& v, double si, const Box& field, bool lit) {
    list_.AddRectFilled(field.low(), field.high(), lit ? ui_.c.field_lit : ui_.c.field, ui_.px(4));
    // A line at the foot says where in the usual range the value is.
    const double share = std::clamp((si / v.per_unit - v.usual_low) / (v.usual_high - v.usual_low), 0.0, 1.0);
    const float foot = field.y + field.h - ui_.px(3);
    list_.AddRectFilled({field.x, foot}, {field.x + field.w * static_cast<float>(share), field.y + field.h},
                        ui_.c.accent, ui_.px(1.5f));
    const bool joined = v.dim == Dim::angle || v.dim == Dim::rotation; // 3°, 4500/min
    const std::string unit = *v.unit ? fmt::format("{}{}", joined ? "" : " ", v.unit) : "";
    const double shown = si / v.per_unit;
    write(list_, ui_.f.body, field.x + field.w - ui_.px(8), field.y + ui_.px(1), ui_.c.ink,
          (shown < 0 ? "\u2212" : "") + number(std::abs(shown), v.decimals) + unit, Align::right);
}

} // namespace sparecoat::view
