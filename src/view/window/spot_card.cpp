#include "picture/map_drawing.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view {
namespace {

/// The film at the spot to scale, what is gone of it shown as a gap with slanted lines.
void draw_film_stack(const Ui& ui, const Box& box, const Panel& panel, std::size_t cell, double removed_um) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    struct Layer {
        const char* name;
        double um;
        ImU32 colour;
    };
    const auto um = [&](const std::vector<float>& layer) { return static_cast<double>(layer[cell]); };
    const std::array<Layer, 4> layers{{{"clear", um(panel.clear_um), IM_COL32(150, 196, 214, 255)},
                                       {"base", um(panel.base_um), IM_COL32(54, 92, 140, 255)},
                                       {"primer", um(panel.primer_um), IM_COL32(150, 150, 146, 255)},
                                       {"e-coat", um(panel.ecoat_um), IM_COL32(88, 92, 84, 255)}}};
    double total = 0;
    for (const Layer& layer : layers) total += layer.um;
    if (total <= 0) return;
    const FilmUnit unit = ui.session.settings.unit;
    const auto short_text = [&](double value) {
        return fmt::format("{:.{}f}", value * per_um(unit), unit == FilmUnit::um ? 1 : 2);
    };
    const float bar = ui.px(74);
    double gone = removed_um;
    float y = box.y, last_text = box.y - ui.px(30);
    for (const Layer& layer : layers) {
        const auto h = static_cast<float>(layer.um / total) * box.h;
        const double taken = std::min(gone, layer.um);
        gone -= taken;
        const float cut = layer.um > 0 ? h * static_cast<float>(taken / layer.um) : 0;
        list.AddRectFilled({box.x, y + cut}, {box.x + bar, y + h}, layer.colour);
        if (cut > 0) {
            list.PushClipRect({box.x, y}, {box.x + bar, y + std::max(cut, ui.px(2))}, true);
            list.AddRectFilled({box.x, y}, {box.x + bar, y + cut}, ui.c.card);
            for (float x = box.x - cut; x < box.x + bar; x += ui.px(7))
                list.AddLine({x, y + cut}, {x + cut, y}, ui.c.warn, ui.px(1.5f));
            list.PopClipRect();
            list.AddLine({box.x, y + cut}, {box.x + bar, y + cut}, ui.c.warn, ui.px(2));
        }
        const bool clear = layer.name == layers[0].name;
        const std::string words =
            clear || taken > 0 ? fmt::format("{} {} of {} {}", layer.name, short_text(layer.um - taken),
                                             short_text(layer.um), text_of(unit))
                               : fmt::format("{} {}", layer.name, short_text(layer.um));
        const float text_y = std::max(y + (h - ui.f.small->FontSize) / 2, last_text + ui.f.small->FontSize);
        write(list, clear ? ui.f.body : ui.f.small, box.x + bar + ui.px(10), text_y,
              clear ? ui.c.ink : ui.c.quiet, words);
        last_text = text_y + (clear ? ui.px(3) : 0);
        y += h;
    }
    list.AddRect(box.low(), {box.x + bar, box.y + box.h}, ui.c.quiet);
}

/// One factor: here, in the open, and their ratio, which is also a bar from 1.
void draw_factor(const Ui& ui, const Box& box, const std::string& name, const std::string& here,
                 const std::string& open, double ratio, bool sum = false) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const ImFont* font = ui.f.small;
    const float y = box.y + ui.px(1.5f);
    write(list, font, box.x, y, sum ? ui.c.ink : ui.c.quiet, name);
    write(list, ui.f.small, box.x + box.w * 0.57f, box.y + ui.px(1.5f), ui.c.ink, here, Align::right);
    write(list, ui.f.small, box.x + box.w * 0.79f, box.y + ui.px(1.5f), ui.c.quiet, open, Align::right);
    const bool much = ratio > 1.2;
    write(list, much || sum ? ui.f.bold : ui.f.small, box.x + box.w, y - (much ? ui.px(1) : 0),
          much ? ui.c.warn : ui.c.ink,
          std::isfinite(ratio) ? fmt::format("\u00d7{:.{}f}", ratio, ratio < 9.995 ? 2 : 0) : "\u2013",
          Align::right);
}

constexpr float factor_row = 17.5f;

void draw_factors(const Ui& ui, Box box, const SpotAtRisk& spot, const SpotAtRisk& open) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const FilmUnit unit = ui.session.settings.unit;
    const float row = ui.px(factor_row);
    write(list, ui.f.small, box.x + box.w * 0.57f, box.y, ui.c.quiet, "here", Align::right);
    write(list, ui.f.small, box.x + box.w * 0.79f, box.y, ui.c.quiet, "open", Align::right);
    box.y += row, box.h = row;
    const Split& s = spot.against_open;
    const Factors &h = spot.factors, &o = open.factors;
    const auto line = [&](const char* name, const char* format, double here, double there, double ratio) {
        draw_factor(ui, box, name, fmt::format(fmt::runtime(format), here),
                    fmt::format(fmt::runtime(format), there), ratio);
        box.y += row;
    };
    line("time s", "{:.1f}", h.time_s, o.time_s, s.time);
    line("\u00d7 pressure kPa", "{:.2f}", h.pressure_pa * 1e-3, o.pressure_pa * 1e-3, s.pressure);
    line("\u00d7 speed m/s", "{:.2f}", h.speed_m_s, o.speed_m_s, s.speed);
    // film per pressure and way: in nm per kPa m the numbers are easy to say
    line("\u00d7 cut nm/kPa m", "{:.1f}", h.cut_per_pa * 1e12, o.cut_per_pa * 1e12, s.cut);
    line("\u00d7 heat", "{:.2f}", h.heat, o.heat, s.heat);
    list.AddLine({box.x, box.y}, {box.x + box.w, box.y}, ui.c.line);
    box.y += ui.px(2);
    const auto film = [&](double um) {
        return fmt::format("{:.{}f}", um * per_um(unit), unit == FilmUnit::um ? 2 : 4);
    };
    draw_factor(ui, box, fmt::format("= lost {}", text_of(unit)), film(spot.removed_um),
                film(open.removed_um), s.time * s.pressure * s.speed * s.cut * s.heat);
    box.y += row;
    draw_factor(ui, box, fmt::format("\u00d7 clear {}", text_of(unit)),
                fmt::format("{:.{}f}", spot.clear_before_um * per_um(unit), unit == FilmUnit::um ? 1 : 2),
                fmt::format("{:.{}f}", open.clear_before_um * per_um(unit), unit == FilmUnit::um ? 1 : 2),
                s.film);
    box.y += row;
    draw_factor(ui, box, "= share gone", fmt::format("{:.1f} %", 100 * spot.share()),
                fmt::format("{:.1f} %", 100 * open.share()), s.all(), true);
}

void draw_history(const Ui& ui, Box box, const SpotHistory& history) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    struct Line {
        const char* name;
        const std::vector<float>& values;
    };
    const Line lines[] = {
        {"pressure", history.pressure_kpa}, {"speed", history.speed_m_s}, {"film lost", history.removed_um}};
    const float row = box.h / 3;
    for (int k = 0; k < 3; ++k) {
        const Box chart{box.x + ui.px(76), box.y + row * static_cast<float>(k) + ui.px(3), box.w - ui.px(76),
                        row - ui.px(6)};
        const float size = std::min(ui.f.small->FontSize, row); // where the card is short, so are its letters
        list.AddText(ui.f.small, size, {std::round(box.x), std::round(chart.y + (chart.h - size) / 2)},
                     ui.c.quiet, lines[k].name);
        list.AddLine({chart.x, chart.y + chart.h}, {chart.x + chart.w, chart.y + chart.h}, ui.c.line);
        if (history.t_s.size() < 2) {
            if (k == 1 && row > ui.px(12))
                write(list, ui.f.small, chart.x + chart.w, chart.y - ui.px(2), ui.c.quiet,
                      "drawn while it plays", Align::right);
            continue;
        }
        const float high = *std::max_element(lines[k].values.begin(), lines[k].values.end());
        const Curve curve{history.t_s, lines[k].values, ui.c.accent};
        draw_curves(list, chart, {&curve, 1}, history.t_s.front(), history.t_s.back(), 0,
                    std::max(high, 1e-9f) * 1.05f, ui.px(1.5f));
    }
}

} // namespace

void draw_spot_card(const Ui& ui, const Box& box) {
    const RunSession& session = ui.session;
    begin_card("spot", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float pad = ui.px(14), x = box.x + pad, w = box.w - 2 * pad;
    list.AddLine({x, box.y}, {x + w, box.y}, ui.c.line);
    const std::optional<std::size_t> cell = session.spot() ? session.cell_at(*session.spot()) : std::nullopt;
    float y = box.y + ui.px(9);
    if (!cell || session.view.fields.removed_um.size() <= *cell) {
        write(list, ui.f.bold, x, y, ui.c.ink, "A spot on the panel");
        y += ui.px(28);
        for (const std::string& words :
             {std::string("Point at the panel to read its film."), std::string("Click to hold on to a spot."),
              fmt::format("{} goes through the worst ones.", keys_of(Action::next_spot))}) {
            write(list, ui.f.small, x, y, ui.c.quiet, words);
            y += ui.px(21);
        }
        ImGui::End();
        return;
    }
    const std::optional<SpotAtRisk> spot = session.described_spot();
    const std::string place = spot ? spot->place : "Untouched so far";
    write(list, ui.f.bold, x, y, ui.c.ink, fitted(ui.f.bold, place, w));
    write(list, ui.f.small, x, y + ui.px(22), ui.c.quiet,
          fitted(ui.f.small,
                 fmt::format("{:.0f}, {:.0f} mm  \u00b7  {:.0f} \u00b0C{}", session.spot()->x * 1e3,
                             session.spot()->y * 1e3, session.view.film_c[*cell],
                             session.pinned ? fmt::format("  \u00b7  {} lets go", keys_of(Action::drop_spot))
                                            : fmt::format(", most {:.0f}", session.view.peak_c[*cell])),
                 w));
    y += ui.px(44);
    // Nothing is kept free for the factors of a spot that nobody has worked.
    const float factors = spot && session.verdict ? ui.px(factor_row * 9 + 3) : 0, curves = ui.px(60),
                foot = box.y + box.h - ui.px(8);
    const float stack = std::clamp(foot - y - factors - curves - ui.px(18), ui.px(80), ui.px(180));
    draw_film_stack(ui, {x, y, w, stack}, session.shown->panel, *cell,
                    static_cast<double>(session.view.fields.removed_um[*cell]));
    y += stack + ui.px(8);
    if (spot && session.verdict) {
        const SpotAtRisk open = describe_spot(session.shown->panel, session.view.fields,
                                              session.verdict->open, session.verdict->open.cell);
        draw_factors(ui, {x, y, w, 0}, *spot, open);
    }
    y += factors + ui.px(4);
    draw_history(ui, {x, y, w, std::min(curves, foot - y)}, session.history);
    ImGui::End();
}

} // namespace sparecoat::view
