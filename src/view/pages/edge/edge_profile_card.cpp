#include "picture/map_drawing.hpp"
#include "picture/risk_folder.hpp"
#include "picture/scale.hpp"
#include "units/quantity.hpp"
#include "view/pages/edge/edge_page.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::edge {

using EdgeUi = PageUi<EdgePage>;

namespace {

/// From millimetres and micrometres to the window.
struct Axes {
    Box box;
    Scale across, up; ///< mm; film in the unit shown
    double per_um = 1;

    float x(float mm) const {
        return box.x + box.w * static_cast<float>(across.share(static_cast<double>(mm)));
    }
    float y(float um) const {
        const double share = std::clamp(up.share(static_cast<double>(um) * per_um), 0.0, 1.0);
        return box.y + box.h * (1 - static_cast<float>(share));
    }
};

/// A range that ends where the numbers do, with round ticks inside.
Scale range_of(double high, double divisions) {
    Scale scale{0, high, round_step(high, divisions), {}};
    for (double tick = 0; tick <= high * (1 + 1e-9); tick += scale.step) scale.ticks.push_back(tick);
    return scale;
}

Axes axes_of(const EdgeUi& ui, const Box& box) {
    const EdgeProfileModel& profile = ui.page.model;
    const ProfileColumns& c = profile.columns();
    float most = 20; // µm: a line of bare panel still has an axis
    for (std::size_t k = 0; k < c.before_um.size(); ++k)
        if (const float high = c.before_um[k] + 2 * c.sd_um[k]; high > most) most = high;
    Axes axes{box,
              range_of(1e3 * profile.profile().length_m, box.w / ui.px(90)),
              {},
              per_um(ui.session.settings.unit)};
    axes.up = range_of(1.04 * static_cast<double>(most) * axes.per_um, box.h / ui.px(26));
    return axes;
}

void draw_axes(const EdgeUi& ui, const Axes& axes) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const Box& box = axes.box;
    for (const double tick : axes.up.ticks) {
        const float y = box.y + box.h * (1 - static_cast<float>(axes.up.share(tick)));
        list.AddLine({box.x, y}, {box.x + box.w, y}, ui.c.line);
        write(list, ui.f.small, box.x - ui.px(6), y - ui.f.small->FontSize / 2, ui.c.quiet,
              tick_text(tick, axes.up.step), Align::right);
    }
    for (const double tick : axes.across.ticks) {
        const float x = box.x + box.w * static_cast<float>(axes.across.share(tick));
        const bool last = box.x + box.w - x < ui.px(70); // the length itself stands there
        list.AddLine({x, box.y + box.h}, {x, box.y + box.h + ui.px(4)}, ui.c.quiet);
        if (!last)
            write(list, ui.f.small, x, box.y + box.h + ui.px(4), ui.c.quiet,
                  tick_text(tick, axes.across.step), Align::centre);
    }
    write(list, ui.f.small, box.x + box.w, box.y + box.h + ui.px(4), ui.c.quiet,
          fmt::format("{:.0f} mm", axes.across.high), Align::right);
}

/// Calls `run` for each unbroken stretch of a line, as points.
template <class Run> void each_run(const Axes& axes, const std::vector<float>& along_mm,
                                   const std::vector<float>& um, const std::vector<std::uint8_t>& begins,
                                   Run run) {
    std::vector<ImVec2> points;
    const auto flush = [&] {
        if (points.size() > 1) run(points);
        points.clear();
    };
    for (std::size_t k = 0; k < std::min(along_mm.size(), um.size()); ++k) {
        if (k < begins.size() && begins[k]) flush();
        if (!std::isfinite(um[k])) flush();
        else points.push_back({axes.x(along_mm[k]), axes.y(um[k])});
    }
    flush();
}

void draw_line(ImDrawList& list, const std::vector<ImVec2>& points, ImU32 colour, float thickness) {
    list.AddPolyline(points.data(), static_cast<int>(points.size()), colour, 0, thickness);
}

/// A line of dashes: the pen counts the way, so that dashes keep their length round bends.
void draw_dashed(ImDrawList& list, const std::vector<ImVec2>& points, ImU32 colour, float thickness,
                 float dash) {
    float walked = 0;
    for (std::size_t k = 1; k < points.size(); ++k) {
        const ImVec2 a = points[k - 1], b = points[k];
        const float length = std::hypot(b.x - a.x, b.y - a.y);
        const auto at = [&](float way) {
            return ImVec2{a.x + way / length * (b.x - a.x), a.y + way / length * (b.y - a.y)};
        };
        for (float way = 0; way < length;) {
            const float phase = std::fmod(walked + way, 2 * dash);
            const float until =
                std::min(length, way + (phase < dash ? dash - phase : 2 * dash - phase) + 0.01f);
            if (phase < dash) list.AddLine(at(way), at(until), colour, thickness);
            way = until;
        }
        walked += length;
    }
}

/// To a tenth of a micrometre, or a thousandth of a mil: what a gauge tells, and short.
std::string short_text(double um, FilmUnit unit) {
    return unit == FilmUnit::um ? fmt::format("{:.{}f} \u00b5m", um, um == std::round(um) ? 0 : 1)
                                : fmt::format("{:.3f} mil", um * per_um(unit));
}

void draw_film(const EdgeUi& ui, const Axes& axes) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const EdgeProfileModel& profile = ui.page.model;
    const ProfileColumns& c = profile.columns();
    const std::vector<std::uint8_t>& begins = profile.profile().begins;
    // The film before, two standard deviations either way.
    for (std::size_t k = 0; k + 1 < c.before_um.size(); ++k) {
        if (begins[k + 1] || !std::isfinite(c.before_um[k]) || !std::isfinite(c.before_um[k + 1])) continue;
        const float x0 = axes.x(c.along_mm[k]), x1 = axes.x(c.along_mm[k + 1]);
        const auto low = [&](std::size_t n) { return axes.y(c.before_um[n] - 2 * c.sd_um[n]); };
        const auto high = [&](std::size_t n) { return axes.y(c.before_um[n] + 2 * c.sd_um[n]); };
        const ImVec2 corners[] = {{x0, high(k)}, {x1, high(k + 1)}, {x1, low(k + 1)}, {x0, low(k)}};
        const ImDrawListFlags kept = list.Flags;
        list.Flags &= ~ImDrawListFlags_AntiAliasedFill; // or a seam shows between neighbours
        list.AddConvexPolyFilled(corners, 4, with_alpha(ui.c.quiet, 0.16f));
        list.Flags = kept;
    }
    each_run(axes, c.along_mm, c.before_um, begins,
             [&](const auto& points) { draw_line(list, points, with_alpha(ui.c.quiet, 0.8f), ui.px(1)); });
    const double reserve_um = ui.session.reserve_um;
    const float y = axes.y(static_cast<float>(reserve_um));
    draw_dashes(list, {axes.box.x, y}, {axes.box.x + axes.box.w, y}, ui.c.warn, ui.px(1.5f), ui.px(6));
    write(list, ui.f.small, axes.box.x + ui.px(4), y - ui.f.small->FontSize - ui.px(1), ui.c.warn,
          "reserve " + short_text(reserve_um, ui.session.settings.unit));
    if (const HoldBackTrial* trial = profile.trial(); trial && trial->fault.empty())
        each_run(axes, trial->along_mm, trial->left_um, {},
                 [&](const auto& points) { draw_dashed(list, points, ui.c.ink, ui.px(1.8f), ui.px(4)); });
    each_run(axes, c.along_mm, c.left_um, begins,
             [&](const auto& points) { draw_line(list, points, ui.c.accent, ui.px(2.2f)); });
}

/// What the lines mean, right-aligned in the card's head.
void draw_key(const EdgeUi& ui, float right, float y) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float mid = y + ui.f.small->FontSize / 2 + ui.px(1), dash = ui.px(22), gap = ui.px(14);
    const auto entry = [&](const char* words, auto&& draw) {
        right -= width_of(ui.f.small, words);
        write(list, ui.f.small, right, y, ui.c.quiet, words);
        right -= ui.px(6) + dash;
        draw(right);
        right -= gap;
    };
    if (ui.page.model.trial())
        entry("held back so", [&](float x) {
            draw_dashed(list, {{x, mid}, {x + dash, mid}}, ui.c.ink, ui.px(1.8f), ui.px(4));
        });
    entry("before \u00b1 2 sd", [&](float x) {
        list.AddRectFilled({x, mid - ui.px(5)}, {x + dash, mid + ui.px(5)}, with_alpha(ui.c.quiet, 0.16f));
        list.AddLine({x, mid}, {x + dash, mid}, with_alpha(ui.c.quiet, 0.8f), ui.px(1));
    });
    entry("clear left", [&](float x) { list.AddLine({x, mid}, {x + dash, mid}, ui.c.accent, ui.px(2.2f)); });
}

std::string title_of(const Panel& panel, PanelFeature ground) {
    std::string words = feature_text(panel, ground);
    return words.starts_with("the ") ? words.substr(4) : words;
}

/// The list of edges and lines, and a step to either side.
void draw_chooser(const EdgeUi& ui, const Box& box) {
    RunSession& session = ui.session;
    EdgePage& page = ui.page;
    EdgeProfileModel& profile = page.model;
    const Panel& panel = session.shown->panel;
    if (!profile.chosen()) return;
    const std::size_t count = profile.grounds().size(), now = *profile.chosen();
    const std::string shown = title_of(panel, profile.grounds()[now]);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    ImGui::SetCursorScreenPos(box.low());
    const bool open = ImGui::InvisibleButton("line", {box.w, box.h});
    hint_if_hovered(ui, fmt::format("The least clear coat within {:.0f} mm of this line. {} takes the next "
                                    "line; a click on the panel "
                                    "near one takes that.",
                                    1e3 * profile_width_m, keys_of(Action::next_edge)));
    list.AddRectFilled(box.low(), box.high(), ImGui::IsItemHovered() ? ui.c.field_lit : ui.c.field, ui.px(4));
    write(list, ui.f.bold, box.x + ui.px(8), box.y + ui.px(3), ui.c.ink,
          fitted(ui.f.bold, shown, box.w - ui.px(30)));
    const float a = ui.px(4), cx = box.x + box.w - ui.px(12), cy = box.y + box.h / 2;
    list.AddTriangleFilled({cx - a, cy - a * 0.5f}, {cx + a, cy - a * 0.5f}, {cx, cy + a * 0.7f}, ui.c.quiet);
    if (open) ImGui::OpenPopup("lines");
    ImGui::SetNextWindowSizeConstraints({box.w, 0}, {ui.px(400), ui.px(300)});
    if (ImGui::BeginPopup("lines", ImGuiWindowFlags_NoMove)) {
        for (std::size_t k = 0; k < count; ++k)
            if (ImGui::Selectable(title_of(panel, profile.grounds()[k]).c_str(), k == now))
                profile.choose(panel, k);
        ImGui::EndPopup();
    }
}

/// Hovering shows the place, clicking holds it.
void take_pointer(const EdgeUi& ui, const Axes& axes) {
    RunSession& session = ui.session;
    EdgePage& page = ui.page;
    EdgeProfileModel& profile = page.model;
    const ProfileColumns& c = profile.columns();
    ImGui::SetCursorScreenPos(axes.box.low());
    const bool clicked = ImGui::InvisibleButton("graph", {axes.box.w, axes.box.h});
    profile.hovered.reset();
    if (!ImGui::IsItemHovered() || c.along_mm.empty()) return;
    const float mouse = ImGui::GetMousePos().x;
    const auto next = std::lower_bound(c.along_mm.begin(), c.along_mm.end(), mouse,
                                       [&](float mm, float x) { return axes.x(mm) < x; });
    std::size_t k = std::min(static_cast<std::size_t>(next - c.along_mm.begin()), c.along_mm.size() - 1);
    if (k > 0 && mouse - axes.x(c.along_mm[k - 1]) < axes.x(c.along_mm[k]) - mouse) --k;
    profile.hovered = k;
    const float x = axes.x(c.along_mm[k]);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine({x, axes.box.y}, {x, axes.box.y + axes.box.h}, ui.c.ink, ui.px(1));
    if (const std::optional<Point2> at = profile.hovered_at(session.shown->panel)) {
        list.AddCircleFilled({x, axes.y(c.left_um[k])}, ui.px(4), ui.c.ink);
        const FilmUnit unit = session.settings.unit;
        const std::string words = fmt::format("{:.0f} mm: {} left of {}", c.along_mm[k],
                                              film_text(static_cast<double>(c.left_um[k]), unit),
                                              film_text(static_cast<double>(c.before_um[k]), unit));
        const float w = width_of(ui.f.small, words) + ui.px(12), y = axes.box.y + ui.px(2);
        const float from = std::clamp(x - w / 2, axes.box.x, axes.box.x + axes.box.w - w);
        list.AddRectFilled({from, y}, {from + w, y + ui.px(20)}, ui.c.ink, ui.px(4));
        write(list, ui.f.small, from + ui.px(6), y + ui.px(2), ui.c.card, words);
        if (clicked) session.hold(*at);
    }
}

std::string trial_text(const EdgeUi& ui) {
    const EdgeProfileModel& profile = ui.page.model;
    const HoldBackTrial* trial = profile.trial();
    if (!profile.wanted_m) return "drag to see what would stay";
    if (!trial || trial->hold_back_m != *profile.wanted_m) return "working it out \u2026";
    if (!trial->fault.empty()) return "cannot be worked so";
    const std::string least =
        "least " + short_text(static_cast<double>(trial->least_um), ui.session.settings.unit);
    if (!profile.trial_chance()) return least + ", risk \u2026";
    return fmt::format("{}, risk {}", least, chance_text(*profile.trial_chance()));
}

/// The slider: what if the pad's rim were held back so far from this line.
void draw_hold_back(const EdgeUi& ui, const Box& box) {
    RunSession& session = ui.session;
    EdgePage& page = ui.page;
    EdgeProfileModel& profile = page.model;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float text_y = box.y + (box.h - ui.f.small->FontSize) / 2;
    const std::string idle = page.hold_back_idle();
    write(list, ui.f.body, box.x, box.y + (box.h - ui.f.body->FontSize) / 2, ui.c.quiet, "Hold-back");
    if (!idle.empty()) {
        write(list, ui.f.small, box.x + ui.px(92), text_y, ui.c.quiet, idle);
        return;
    }
    const double radius_m = session.shown->step.pad.radius_m, low = -radius_m, high = 0.1;
    const double shown = profile.wanted_m.value_or(page.held_back_m());
    const Box slider{box.x + ui.px(92), box.y, ui.px(132), box.h};
    ImGui::SetCursorScreenPos(slider.low());
    ImGui::InvisibleButton("slider", {slider.w, slider.h});
    const bool active = ImGui::IsItemActive(), lit = active || ImGui::IsItemHovered();
    hint_if_hovered(
        ui, "How far the pad's rim stays inside this line. The dashed graph is what a steady hand would "
            "leave, run to its end "
            "on cells of 4 mm; the risk is the chance that the reserve does not stay, the hand drawn.");
    if (active) {
        const double share =
            std::clamp(static_cast<double>((ImGui::GetMousePos().x - slider.x) / slider.w), 0.0, 1.0);
        const double wanted = std::round((low + share * (high - low)) / mm) * mm;
        if (!profile.wanted_m || std::abs(*profile.wanted_m - wanted) > 1e-9) page.try_hold_back(wanted);
    }
    const float mid = slider.y + slider.h / 2;
    const auto at = [&](double value) {
        return slider.x + slider.w * static_cast<float>(std::clamp((value - low) / (high - low), 0.0, 1.0));
    };
    list.AddRectFilled({slider.x, mid - ui.px(2)}, {slider.x + slider.w, mid + ui.px(2)},
                       lit ? ui.c.field_lit : ui.c.field, ui.px(2));
    list.AddLine({at(0), mid - ui.px(7)}, {at(0), mid + ui.px(7)}, ui.c.quiet); // the rim at the edge
    list.AddRectFilled({at(page.held_back_m()) - ui.px(1.5f), mid - ui.px(9)},
                       {at(page.held_back_m()) + ui.px(1.5f), mid + ui.px(9)}, ui.c.accent);
    list.AddCircleFilled({at(shown), mid}, ui.px(7), profile.wanted_m ? ui.c.ink : ui.c.accent);
    const float value_x = slider.x + slider.w + ui.px(80);
    write(list, ui.f.body, value_x, box.y + (box.h - ui.f.body->FontSize) / 2, ui.c.ink,
          fmt::format("{}{:.0f} mm", shown < -1e-6 ? "\u2212" : "", std::abs(shown) / mm), Align::right);
    const bool asked = profile.wanted_m.has_value();
    const float button = ui.px(60), gap = ui.px(6), words_x = value_x + ui.px(12);
    const float words_end = box.x + box.w - (asked ? 2 * (button + gap) : 0);
    write(list, ui.f.small, words_x, text_y, ui.c.ink,
          fitted(ui.f.small, trial_text(ui), words_end - words_x));
    if (!asked) return;
    const bool can = profile.trial() && profile.trial()->fault.empty() && !active;
    if (press(ui, "leave", "Leave", {words_end + gap, box.y, button, box.h}, false, "Puts the question away"))
        profile.forget_trial();
    else if (press(ui, "take", "Take it", {words_end + 2 * gap + button, box.y, button, box.h}, can,
                   "Holds the pad back so far from this line. Undo takes it back.", can))
        page.take_hold_back();
}

} // namespace

void draw_edge_profile_card(const EdgeUi& ui, const Box& box) {
    RunSession& session = ui.session;
    EdgePage& page = ui.page;
    begin_card("ribbon", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float pad = ui.px(14), row = ui.px(26), head = box.y + ui.px(7);
    draw_chooser(ui, {box.x + pad, head, ui.px(190), row});
    if (press(ui, "close", "\u00d7", {box.x + box.w - pad - row, head, row, row}, false,
              fmt::format("Close  {}", keys_of(Action::toggle_edge_profile)))) {
        page.model.open = false;
        ImGui::End();
        return;
    }
    draw_key(ui, box.x + box.w - pad - row - ui.px(12), head + ui.px(5));
    const float unit_y = head + row + ui.px(4);
    const Box graph{box.x + pad + ui.px(40), unit_y + ui.px(6), box.w - 2 * pad - ui.px(44),
                    box.h - ui.px(7 + 26 + 10 + 22 + 36)};
    if (!page.model.chosen()) {
        write(list, ui.f.body, graph.x, graph.y + graph.h / 2, ui.c.quiet, "This panel has no named edge.");
        ImGui::End();
        return;
    }
    const Axes axes = axes_of(ui, graph);
    draw_axes(ui, axes);
    draw_film(ui, axes);
    take_pointer(ui, axes);
    write(list, ui.f.small, box.x + pad + ui.px(198), head + ui.px(5), ui.c.quiet,
          text_of(session.settings.unit));
    draw_hold_back(ui, {box.x + pad, box.y + box.h - ui.px(33), box.w - 2 * pad, ui.px(27)});
    ImGui::End();
}

bool EdgePage::draw_card(const Ui& ui, CardPlace place, const Box& box) {
    if (place != CardPlace::strips || !model.open) return false;
    draw_edge_profile_card({ui, *this}, box);
    return true;
}

} // namespace sparecoat::view::edge
