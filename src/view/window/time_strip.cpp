#include "decide/cautions.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <numeric>

namespace sparecoat::view {
namespace {

/// A mark of an event: each kind has a shape of its own, so that it is told apart without colour.
void draw_event_mark(ImDrawList& list, EventKind kind, ImVec2 at, float r, ImU32 colour) {
    switch (kind) {
    case EventKind::stalled_pad:
        list.AddRectFilled({at.x - r, at.y - r}, {at.x + r, at.y + r}, colour);
        break;
    case EventKind::pad_lifting:
        list.AddTriangleFilled({at.x - r, at.y + r}, {at.x + r, at.y + r}, {at.x, at.y - r}, colour);
        break;
    case EventKind::pad_tipping:
        list.AddQuadFilled({at.x, at.y - r * 1.2f}, {at.x + r * 1.2f, at.y}, {at.x, at.y + r * 1.2f},
                           {at.x - r * 1.2f, at.y}, colour);
        break;
    case EventKind::bottomed_foam:
        list.AddTriangleFilled({at.x - r, at.y - r}, {at.x + r, at.y - r}, {at.x, at.y + r}, colour);
        break;
    case EventKind::dry_pad: list.AddCircleFilled(at, r, colour); break;
    case EventKind::hot_panel: list.AddNgonFilled(at, r * 1.1f, colour, 5); break;
    }
}

/// The whole run as a track: what is done, the worst spot's share as a line over it, the events above.
void draw_track(const Ui& ui, const Box& track) {
    RunSession& session = ui.session;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const double end_s = std::max(session.view.end_s, 1e-6);
    const auto at = [&](double t_s) {
        return track.x + track.w * static_cast<float>(std::clamp(t_s / end_s, 0.0, 1.0));
    };
    ImGui::SetCursorScreenPos(track.low());
    ImGui::InvisibleButton("track", {track.w, track.h});
    const float mouse = std::clamp((ImGui::GetMousePos().x - track.x) / track.w, 0.0f, 1.0f);
    static float last = -1; // seek only where the pointer has moved to
    if (ImGui::IsItemActive() && !session.view.hand) {
        if (mouse != last) session.live.seek(static_cast<double>(mouse) * session.view.end_s);
        last = mouse;
    } else {
        last = -1;
        if (ImGui::IsItemHovered())
            hint_if_hovered(ui, clock_text(static_cast<double>(mouse) * session.view.end_s));
    }
    list.AddRectFilled(track.low(), track.high(), ui.c.field, ui.px(4));
    const float now = at(session.view.t_s);
    list.AddRectFilled(track.low(), {now, track.y + track.h}, with_alpha(ui.c.accent, 0.30f), ui.px(4));
    const RunColumns& c = session.columns;
    if (!c.t_s.empty()) {
        const Curve worst{c.t_s, c.worst_percent, ui.c.accent};
        draw_curves(list, track, {&worst, 1}, 0, static_cast<float>(end_s), 0,
                    std::max(c.worst_percent.back() * 1.15f, 1e-6f), ui.px(2));
    }
    list.AddRectFilled({now - ui.px(2), track.y - ui.px(3)}, {now + ui.px(2), track.y + track.h + ui.px(3)},
                       ui.c.ink, ui.px(2));
}

/// Marks over the track and, under it, what each shape means and how often it came.
void draw_events(const Ui& ui, const Box& marks, const Box& words) {
    RunSession& session = ui.session;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const double end_s = std::max(session.view.end_s, 1e-6);
    std::array<int, event_kinds> count{};
    for (const Event& event : session.view.events) ++count[static_cast<std::size_t>(event.kind)];
    std::vector<std::size_t> order(session.view.events.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    // The rarer a kind, the sooner it gets its place: a crowd is one mark, and of it the rarest is worth
    // showing.
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        const auto many = [&](std::size_t k) {
            return count[static_cast<std::size_t>(session.view.events[k].kind)];
        };
        return many(a) < many(b);
    });
    const float r = ui.px(5), apart = ui.px(12);
    std::vector<float> taken;
    for (const std::size_t k : order) {
        const Event& event = session.view.events[k];
        const float x = marks.x + marks.w * static_cast<float>(event.from_s / end_s);
        if (std::any_of(taken.begin(), taken.end(), [&](float at) { return std::abs(at - x) < apart; }))
            continue;
        taken.push_back(x);
        draw_event_mark(list, event.kind, {x, marks.y + marks.h / 2}, r, ui.c.warn);
        ImGui::SetCursorScreenPos({x - r, marks.y});
        ImGui::PushID(static_cast<int>(k));
        if (ImGui::InvisibleButton("event", {2 * r, marks.h}) && !session.view.hand)
            session.live.seek(event.from_s);
        hint_if_hovered(ui, fmt::format("{}, {} to {}", name_of(event.kind), clock_text(event.from_s),
                                        clock_text(event.to_s)));
        ImGui::PopID();
    }
    float x = words.x;
    const float y = words.y;
    bool any = false;
    for (std::size_t k = 0; k < count.size(); ++k) {
        if (count[k] == 0) continue;
        any = true;
        draw_event_mark(list, static_cast<EventKind>(k),
                        {x + ui.px(6), y + ui.f.small->FontSize / 2 + ui.px(1)}, ui.px(5), ui.c.warn);
        const std::string text =
            count[k] == 1 ? std::string(name_of(static_cast<EventKind>(k)))
                          : fmt::format("{} \u00d7{}", name_of(static_cast<EventKind>(k)), count[k]);
        x += ui.px(17) + write(list, ui.f.small, x + ui.px(17), y, ui.c.ink, text) + ui.px(20);
    }
    if (!any) write(list, ui.f.small, x, y, ui.c.quiet, "no events so far");
    const std::string line = "line: worst spot's share of clear";
    if (x + width_of(ui.f.small, line) < words.x + words.w) // many kinds of event take its place
        write(list, ui.f.small, words.x + words.w, y, ui.c.quiet, line, Align::right);
}

} // namespace

void draw_transport(const Ui& ui, float x, float y, bool playing, bool steps) {
    RunSession& session = ui.session;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float h = ui.px(40), w = ui.px(50);
    if (press(ui, "play", "", {x, y, w, h}, true,
              fmt::format("{}  {}", playing ? "Pause" : "Play", keys_of(Action::play_pause).substr(0, 5))))
        session.act(Action::play_pause);
    const float cx = x + w / 2, cy = y + h / 2, r = ui.px(9);
    if (playing) {
        list.AddRectFilled({cx - r * 0.8f, cy - r}, {cx - r * 0.2f, cy + r}, ui.c.on_accent);
        list.AddRectFilled({cx + r * 0.2f, cy - r}, {cx + r * 0.8f, cy + r}, ui.c.on_accent);
    } else {
        list.AddTriangleFilled({cx - r * 0.7f, cy - r}, {cx + r, cy}, {cx - r * 0.7f, cy + r},
                               ui.c.on_accent);
    }
    const float sx = x + w + ui.px(6), sw = ui.px(36);
    if (steps) {
        if (press(ui, "step", "", {sx, y, sw, h}, false, fmt::format("One step  {}", keys_of(Action::step))))
            session.act(Action::step);
        const float q = ui.px(6), mx = sx + sw / 2;
        list.AddTriangleFilled({mx - q, cy - q}, {mx + q * 0.6f, cy}, {mx - q, cy + q}, ui.c.ink);
        list.AddRectFilled({mx + q * 0.6f, cy - q}, {mx + q, cy + q}, ui.c.ink);
    }
    const float vx = steps ? sx + sw + ui.px(6) : sx, vw = ui.px(28);
    if (press(ui, "slower", "\u2212", {vx, y, vw, h}, false,
              fmt::format("Slower  {}", keys_of(Action::slower))))
        session.act(Action::slower);
    const double times = session.settings.times_real_time;
    const std::string speed =
        times < 1 ? fmt::format("\u00d71/{:.0f}", 1 / times) : fmt::format("\u00d7{:.0f}", times);
    write(list, ui.f.bold, vx + vw + ui.px(29), cy - ui.f.bold->FontSize / 2, ui.c.ink, speed, Align::centre);
    if (press(ui, "faster", "+", {vx + vw + ui.px(58), y, vw, h}, false,
              fmt::format("Faster  {}", keys_of(Action::faster))))
        session.act(Action::faster);
}

void draw_time_strip(const Ui& ui, const Box& box, const Box& track) {
    RunSession& session = ui.session;
    begin_card("time", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float pad = ui.px(16), top = box.y + ui.px(20);
    draw_transport(ui, pad, top, session.view.playing, true);
    draw_track(ui, track);
    draw_events(ui, {track.x, box.y + ui.px(3), track.w, ui.px(15)},
                {track.x, top + ui.px(44), track.w, ui.px(18)});

    float bx = track.x + track.w + ui.px(14);
    const float gap = ui.px(6), h = ui.px(40), w = (box.w - pad - bx - 5 * gap) / 6;
    struct Button {
        const char* words;
        Action action;
        bool on;
        const char* hint;
    };
    const Button row[] = {
        {"Hand", Action::hand_mode, session.view.hand, "Drive the pad by hand"},
        {"Learn", Action::lessons, session.is_on(Action::lessons), "Lessons"},
        {"Test", Action::toggle_section, session.is_on(Action::toggle_section),
         "Test sections: tape, tries and advice"},
        {"Charts", Action::toggle_strips, session.settings.strip_charts, "Strip charts"},
        {session.settings.light_theme ? "Dark" : "Light", Action::toggle_theme, false, "Light or dark"},
        {"Help", Action::toggle_help, session.help, "Keys and cautions"}};
    for (const Button& button : row) {
        if (press(ui, button.words, button.words, {bx, top, w, h}, button.on,
                  fmt::format("{}  {}", button.hint, keys_of(button.action))))
            session.act(button.action);
        bx += w + gap;
    }
    write(list, ui.f.small, pad, box.y + box.h - ui.px(20), ui.c.quiet, std::string(estimate_notice));
    ImGui::End();
}

} // namespace sparecoat::view
