#include "picture/map_drawing.hpp"
#include "picture/risk_folder.hpp"
#include "units/quantity.hpp"
#include "view/pages/edge/edge_page.hpp"
#include "view/window/cards.hpp"
#include "view/window/chart_painter.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace sparecoat::view::edge {

using EdgeUi = PageUi<EdgePage>;

namespace {

/// From millimetres and micrometres to the window.
struct Axes {
    Box box;
    Plot plot; ///< film in the unit shown

    float x(float mm) const { return static_cast<float>(plot.x_at(static_cast<double>(mm))); }
    float y(float um) const { return static_cast<float>(plot.y_at(static_cast<double>(um))); }
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
    const double shown = per_um(ui.session.settings.unit);
    return {box, plot_in(box, axis_of(range_of(1e3 * profile.profile().length_m, box.w / ui.px(90))),
                         axis_of(range_of(1.04 * static_cast<double>(most) * shown, box.h / ui.px(26)), shown,
                                 PlotAxis::Beyond::held))};
}

/// The length itself stands at the end of the axis.
AxesLook look_of(const EdgeUi& ui, const Plot& plot) {
    const auto units = [&](float n) { return static_cast<double>(ui.px(n)); };
    AxesLook look = window_axes(ui);
    look.y.grid = Stroke{fill_of(ui.c.line), 1};
    look.x.last = plot.right - units(70);
    look.titles = {{{plot.right, plot.bottom + units(4)},
                    fmt::format("{:.0f} mm", plot.x.scale.high),
                    type_of(ui, ui.f.small, ui.c.quiet),
                    Align::right}};
    return look;
}

/// A line along the edge, broken where a stretch begins.
std::vector<PlotPoint> points_of(const std::vector<float>& along_mm, const std::vector<float>& um,
                                 const std::vector<std::uint8_t>& begins) {
    constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
    std::vector<PlotPoint> points;
    for (std::size_t k = 0; k < std::min(along_mm.size(), um.size()); ++k) {
        if (k < begins.size() && begins[k]) points.push_back({nothing, nothing});
        points.push_back({static_cast<double>(along_mm[k]), static_cast<double>(um[k])});
    }
    return points;
}

/// The film before, two standard deviations either way, a band for each stretch.
void add_bands(std::vector<PlotLayer>& layers, const ProfileColumns& c,
               const std::vector<std::uint8_t>& begins, Fill fill) {
    PlotBand band{{}, {}, fill};
    const auto flush = [&] {
        if (band.low.size() > 1) layers.emplace_back(band);
        band.low.clear(), band.high.clear();
    };
    for (std::size_t k = 0; k < c.before_um.size(); ++k) {
        if (begins[k] || !std::isfinite(c.before_um[k])) flush();
        if (!std::isfinite(c.before_um[k])) continue;
        const auto x = static_cast<double>(c.along_mm[k]);
        band.low.push_back({x, static_cast<double>(c.before_um[k] - 2 * c.sd_um[k])});
        band.high.push_back({x, static_cast<double>(c.before_um[k] + 2 * c.sd_um[k])});
    }
    flush();
}

/// How the lines are drawn, in the graph and in its key.
struct Lines {
    explicit Lines(const Ui& ui)
        : before{fill_of(ui.c.quiet, 0.8f), units(ui, 1)}, left{fill_of(ui.c.accent), units(ui, 2.2f)},
          trial{fill_of(ui.c.ink), units(ui, 1.8f), units(ui, 4), units(ui, 4)},
          spread(fill_of(ui.c.quiet, 0.16f)) {}
    Stroke before, left, trial;
    Fill spread;

private:
    static double units(const Ui& ui, float n) { return static_cast<double>(ui.px(n)); }
};

/// To a tenth of a micrometre, or a thousandth of a mil: what a gauge tells, and short.
std::string short_text(double um, FilmUnit unit) {
    return unit == FilmUnit::um ? fmt::format("{:.{}f} \u00b5m", um, um == std::round(um) ? 0 : 1)
                                : fmt::format("{:.3f} mil", um * per_um(unit));
}

void draw_graph(const EdgeUi& ui, const Axes& axes) {
    const EdgeProfileModel& profile = ui.page.model;
    const ProfileColumns& c = profile.columns();
    const std::vector<std::uint8_t>& begins = profile.profile().begins;
    const Plot& plot = axes.plot;
    const Lines lines(ui);
    PlacedChart chart{plot, look_of(ui, plot)};
    add_bands(chart.layers, c, begins, lines.spread);
    chart.layers.emplace_back(PlotCurve{points_of(c.along_mm, c.before_um, begins), lines.before});
    const double reserve_um = ui.session.reserve_um;
    const auto units = [&](float n) { return static_cast<double>(ui.px(n)); };
    chart.layers.emplace_back(
        PlotRule{reserve_um, false, {fill_of(ui.c.warn), units(1.5f), units(6), units(6)}});
    const double over = static_cast<double>(ui.f.small->FontSize + ui.px(1));
    chart.layers.emplace_back(PlotWords{{plot.left + units(4), plot.y_at(reserve_um) - over},
                                        "reserve " + short_text(reserve_um, ui.session.settings.unit),
                                        type_of(ui, ui.f.small, ui.c.warn)});
    if (const HoldBackTrial* trial = profile.trial(); trial && trial->fault.empty())
        chart.layers.emplace_back(PlotCurve{points_of(trial->along_mm, trial->left_um, {}), lines.trial});
    chart.layers.emplace_back(PlotCurve{points_of(c.along_mm, c.left_um, begins), lines.left});
    paint(WindowPainter(ui, *ImGui::GetWindowDrawList()), chart);
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
    const WindowPainter painter(ui, list);
    const Lines lines(ui);
    const auto sample = [&](float x, const Stroke& stroke) {
        const auto from = static_cast<double>(x), middle = static_cast<double>(mid);
        painter.line({from, middle}, {from + static_cast<double>(dash), middle}, stroke);
    };
    if (ui.page.model.trial()) entry("held back so", [&](float x) { sample(x, lines.trial); });
    entry("before \u00b1 2 sd", [&](float x) {
        const double half = static_cast<double>(ui.px(5));
        painter.box(
            {static_cast<double>(x), static_cast<double>(mid) - half, static_cast<double>(dash), 2 * half},
            lines.spread);
        sample(x, lines.before);
    });
    entry("clear left", [&](float x) { sample(x, lines.left); });
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
    draw_graph(ui, axes);
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
