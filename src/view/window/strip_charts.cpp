#include "view/window/cards.hpp"
#include <algorithm>
#include <array>
#include <fmt/format.h>

namespace sparecoat::view {

void draw_strip_charts(const Ui& ui, const Box& box) {
    if (box.h <= 0) return;
    const RunColumns& c = ui.session.columns;
    begin_card("strips", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    struct Strip {
        const char* name;
        const char* unit;
        const std::vector<float>*first, *second;
        int decimals;
    };
    const std::array<Strip, 4> strips{{{"Force", "N", &c.carried_n, &c.asked_n, 0},
                                       {"Pad spin", "/min", &c.spin_per_min, nullptr, 0},
                                       {"Removal", "mm³/min", &c.removal_mm3_min, nullptr, 1},
                                       {"Worst spot", "% of clear", &c.worst_percent, nullptr, 1}}};
    const float gap = ui.px(18), w = (box.w - gap * 5) / 4;
    const float until = c.t_s.empty() ? 30.0f : std::max(30.0f, c.t_s.back());
    for (std::size_t k = 0; k < strips.size(); ++k) {
        const Strip& strip = strips[k];
        const float x = box.x + gap + static_cast<float>(k) * (w + gap);
        const Box chart{x, box.y + ui.px(48), w, box.h - ui.px(58)};
        write(list, ui.f.small, x, box.y + ui.px(7), ui.c.quiet, strip.name);
        const std::string now =
            strip.first->empty() ? "\u2013"
                                 : fmt::format("{:.{}f} {}", strip.first->back(), strip.decimals, strip.unit);
        write(list, ui.f.body, x, box.y + ui.px(24), ui.c.ink, fitted(ui.f.body, now, w));
        list.AddLine({chart.x, chart.y + chart.h}, {chart.x + chart.w, chart.y + chart.h}, ui.c.line);
        if (strip.first->empty()) continue;
        float high = *std::max_element(strip.first->begin(), strip.first->end());
        if (strip.second)
            high = std::max(high, *std::max_element(strip.second->begin(), strip.second->end()));
        std::vector<Curve> curves;
        if (strip.second) curves.push_back({c.t_s, *strip.second, with_alpha(ui.c.quiet, 0.7f)});
        curves.push_back({c.t_s, *strip.first, ui.c.accent});
        draw_curves(list, chart, curves, 0, until, 0, std::max(high, 1e-6f) * 1.05f, ui.px(1.5f));
    }
    if (!c.asked_n.empty()) {
        const std::string words = fmt::format("asked {:.0f}", c.asked_n.back());
        write(list, ui.f.small, box.x + gap + w, box.y + ui.px(27), ui.c.quiet, words, Align::right);
    }
    ImGui::End();
}

} // namespace sparecoat::view
