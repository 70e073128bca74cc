// Charts in the window.
#include "decide/cautions.hpp"
#include "view/pages/charts/charts_page.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::view::charts {

using ChartsUi = PageUi<ChartsPage>;
using ChartsColumn = ColumnOf<ChartsUi>;

namespace {

constexpr float head_height = 56, list_width = 318;

void draw_head(const ChartsUi& ui, const Box& box) {
    RunSession& session = ui.session;
    ChartsPage& page = ui.page;
    const ChartModel& model = page.model;
    begin_card("charts head", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    struct Button {
        const char *id, *words;
        Action action, key;
        bool enabled;
    };
    const Button buttons[] = {
        {"again", "Make anew", Action::charts_again, Action::charts_again, !model.working()},
        {"save", "Save it", Action::chart_save, Action::chart_save, model.chart() != nullptr},
        {"back", "Back", Action::charts, Action::close, true}};
    constexpr float widths[] = {132, 112, 96};
    float x = box.x + box.w - ui.px(16);
    for (std::size_t k = std::size(buttons); k-- > 0;) {
        const Button& b = buttons[k];
        x -= ui.px(widths[k]);
        if (press(ui, b.id, fmt::format("{}  {}", b.words, keys_of(b.key)),
                  {x, box.y + ui.px(11), ui.px(widths[k]), ui.px(34)}, false, "", b.enabled))
            session.act(b.action);
        x -= ui.px(8);
    }
    const float left = box.x + ui.px(16), room = x - left - ui.px(8);
    const ChartSet* set = model.set();
    write(list, ui.f.large, left, box.y + ui.px(4), ui.c.ink,
          fitted(ui.f.large, set ? set->heading : "Charts", room));
    const std::string ground = set ? set->ground : "being made";
    write(list, ui.f.small, left, box.y + ui.px(35), ui.c.quiet, fitted(ui.f.small, ground, room));
    list.AddLine({box.x, box.y + box.h - 1}, {box.x + box.w, box.y + box.h - 1}, ui.c.line);
    ImGui::End();
}

void draw_list(const ChartsUi& ui, const Box& box) {
    ChartModel& model = ui.page.model;
    begin_card("charts list", box, ui.c.card, true, {0, ui.px(8)});
    ChartsColumn c(ui, box);
    static std::size_t seen = 0; // the row that the list was last scrolled to
    if (const ChartSet* set = model.set()) {
        for (std::size_t k = 0; k < set->charts.size(); ++k) {
            const NamedChart& one = set->charts[k];
            if (k == 0 || one.group != set->charts[k - 1].group) {
                c.down(k == 0 ? 0 : 7);
                c.line(ui.f.bold, ui.c.ink, one.group);
            }
            const Box row = c.row(25);
            if (press(ui, fmt::format("chart {}", k).c_str(), one.name, row, model.row == k))
                model.row = seen = k;
            if (model.row == k && seen != k) {
                ImGui::SetScrollFromPosY(row.y + row.h / 2 - ImGui::GetWindowPos().y, 0.5f);
                seen = k;
            }
            c.down(28);
        }
        c.down(8);
        for (const std::string& sentence : set->said) c.wrapped(ui.f.small, ui.c.ink, sentence);
    }
    c.down(6);
    c.wrapped(ui.f.small, ui.c.ink, std::string(estimate_notice));
    for (const std::string_view caution : cautions)
        c.wrapped(ui.f.small, ui.c.quiet, "\u2022 " + std::string(caution));
    c.end();
    ImGui::End();
}

void draw_chart_page(const ChartsUi& ui, const Box& box, ChartImage& image) {
    const ChartModel& model = ui.page.model;
    begin_card("charts page", box, ui.c.page);
    const float pad = ui.px(16);
    Box place{box.x + pad, box.y + pad, box.w - 2 * pad, box.h - 2 * pad};
    if (model.working()) {
        draw_progress(ui, {place.x, place.y, std::min(place.w, ui.px(520)), ui.px(28)}, model.share(),
                      model.share() > 0 ? fmt::format("Working the charts out: {:.0f} %", 100 * model.share())
                                        : std::string("Working the charts out"));
        place.y += ui.px(40), place.h -= ui.px(40);
    }
    if (const NamedChart* one = model.chart())
        image.draw(ui, place, one->chart, fmt::format("charts {} {}", model.generation(), model.row), 15);
    ImGui::End();
}

} // namespace

void draw_charts(const ChartsUi& ui, float width, float height, ChartImage& image) {
    const float head = ui.px(head_height), side = ui.px(list_width);
    draw_head(ui, {0, 0, width, head});
    draw_list(ui, {0, head, side, height - head});
    draw_chart_page(ui, {side, head, width - side, height - head}, image);
    draw_notice(ui, {side, head, width - side, height - head});
}

void ChartsPage::draw(const Ui& ui, float width, float height) {
    draw_charts({ui, *this}, width, height, image_);
}

} // namespace sparecoat::view::charts
