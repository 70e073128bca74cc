// The plan of the vehicle on the board: what it comes to, and what a limit trades as a chart.
#include "decide/cautions.hpp"
#include "picture/colour_map.hpp"
#include "picture/scale.hpp"
#include "units/quantity.hpp"
#include "view/pages/board/board_cards.hpp"
#include "view/pages/board/board_words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::board {
namespace {

constexpr float plan_side_width = 470;

ImU32 colour_of(Rgb c) {
    const auto byte = [](double part) {
        return static_cast<int>(std::lround(std::clamp(part, 0.0, 1.0) * 255));
    };
    return IM_COL32(byte(c.r), byte(c.g), byte(c.b), 255);
}

/// Film across, share up, time as the dots' size and lightness.
class FrontChart {
public:
    FrontChart(const BoardUi& ui, const Box& plot, const VehiclePlan& plan)
        : ui_(ui), list_(*ImGui::GetWindowDrawList()), plot_(plot), plan_(plan),
          per_um_(ui.session.settings.unit == FilmUnit::mil ? 1 / um_per_mil : 1) {
        double most_um = plan.chosen.film_um, most_s = plan.chosen.time_s;
        for (const VehiclePlan::Point& p : plan.front)
            most_um = std::max(most_um, p.film_um), most_s = std::max(most_s, p.time_s);
        film_ = round_scale(0, 1.02 * most_um * per_um_), share_ = locked_scale(0, 104),
        hours_ = round_scale(0, most_s / 3600);
    }

    ImVec2 at(const VehiclePlan::Point& p) const {
        return {plot_.x + plot_.w * static_cast<float>(film_.share(p.film_um * per_um_)),
                plot_.y + plot_.h * (1 - static_cast<float>(share_.share(100 * p.share)))};
    }
    float radius(const VehiclePlan::Point& p) const {
        return ui_.px(4 + 6 * static_cast<float>(hours_.share(p.time_s / 3600)));
    }

    void draw() const {
        for (const double tick : film_.ticks) {
            const float x = plot_.x + plot_.w * static_cast<float>(film_.share(tick));
            list_.AddLine({x, plot_.y}, {x, plot_.y + plot_.h}, with_alpha(ui_.c.line, 0.7f));
            write(list_, ui_.f.small, x, plot_.y + plot_.h + ui_.px(5), ui_.c.quiet,
                  tick_text(tick, film_.step), Align::centre);
        }
        for (const double tick : share_.ticks) {
            const float y = plot_.y + plot_.h * (1 - static_cast<float>(share_.share(tick)));
            list_.AddLine({plot_.x, y}, {plot_.x + plot_.w, y}, with_alpha(ui_.c.line, 0.7f));
            write(list_, ui_.f.small, plot_.x - ui_.px(7), y - ui_.f.small->FontSize / 2, ui_.c.quiet,
                  tick_text(tick, share_.step), Align::right);
        }
        list_.AddLine({plot_.x, plot_.y + plot_.h}, {plot_.x + plot_.w, plot_.y + plot_.h}, ui_.c.ink,
                      ui_.px(1.4f));
        list_.AddLine({plot_.x, plot_.y}, {plot_.x, plot_.y + plot_.h}, ui_.c.ink, ui_.px(1.4f));
        write(list_, ui_.f.body, plot_.x + plot_.w / 2, plot_.y + plot_.h + ui_.px(24), ui_.c.ink,
              fmt::format("film lost on open ground, {} (mean by area)", per_um_ == 1 ? "µm" : "mil"),
              Align::centre);
        target();
        for (const VehiclePlan::Point& p : plan_.front) dot(p);
        const ImVec2 here = at(plan_.chosen);
        dot(plan_.chosen);
        list_.AddCircle(here, radius(plan_.chosen) + ui_.px(5), ui_.c.accent, 0, ui_.px(3));
        const bool left = here.x > plot_.x + plot_.w / 2;
        label({here.x + (left ? -1.0f : 1.0f) * (radius(plan_.chosen) + ui_.px(12)), here.y + ui_.px(10)},
              "the plan", left);
    }

    void mark(std::size_t row) const {
        const ImVec2 here = at(plan_.front[row]);
        const float r = radius(plan_.front[row]) + ui_.px(5);
        list_.AddQuad({here.x, here.y - r * 1.4f}, {here.x + r * 1.4f, here.y}, {here.x, here.y + r * 1.4f},
                      {here.x - r * 1.4f, here.y}, ui_.c.ink, ui_.px(2));
    }

private:
    void target() const {
        const float y = plot_.y + plot_.h * (1 - static_cast<float>(share_.share(100 * plan_.target.share)));
        draw_dashes(list_, {plot_.x, y}, {plot_.x + plot_.w, y}, ui_.c.ink, ui_.px(1.4f), ui_.px(6));
        label({plot_.x + plot_.w - ui_.px(4), y + ui_.px(4)},
              fmt::format("{:.3g} % wanted", 100 * plan_.target.share), true);
    }
    void label(ImVec2 at, const std::string& words, bool to_the_left) const {
        const float w = width_of(ui_.f.small, words), x = to_the_left ? at.x - w : at.x;
        list_.AddRectFilled({x - ui_.px(3), at.y},
                            {x + w + ui_.px(3), at.y + ui_.f.small->FontSize + ui_.px(2)},
                            with_alpha(ui_.c.page, 0.85f), ui_.px(3));
        write(list_, ui_.f.small, x, at.y, ui_.c.ink, words);
    }
    void dot(const VehiclePlan::Point& p) const {
        list_.AddCircleFilled(
            at(p), radius(p),
            colour_of(clear_left_colours().at(0.92 - 0.84 * hours_.share(p.time_s / 3600))));
        list_.AddCircle(at(p), radius(p), ui_.c.ink, 0, ui_.px(1));
    }

    const BoardUi& ui_;
    ImDrawList& list_;
    const Box plot_;
    const VehiclePlan& plan_;
    const double per_um_;
    Scale film_, share_, hours_;
};

std::string point_words(const VehiclePlan::Point& p, FilmUnit unit) {
    return fmt::format("{} lost, {} cleared, {}", film_text(p.film_um, unit), chance_words(p.share),
                       hours_text(p.time_s));
}

void draw_front(const BoardUi& ui, const Box& box, const VehiclePlan& plan) {
    RunSession& session = ui.session;
    BoardPage& page = ui.page;
    begin_card("front", box, ui.c.page);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float x = box.x + ui.px(18);
    write(list, ui.f.bold, x, box.y + ui.px(10), ui.c.ink, "What a limit trades");
    write(list, ui.f.small, x, box.y + ui.px(32), ui.c.quiet,
          fitted(ui.f.small,
                 "Each dot is a choice for every panel that no other beats in film, marks cleared and time. "
                 "Large and dark takes long.",
                 box.w - ui.px(36)));
    write(
        list, ui.f.small, x, box.y + ui.px(54), ui.c.ink,
        fmt::format("marks cleared with a chance of {}, % (mean by area)", chance_words(plan.target.chance)));
    const FrontChart chart(
        ui, {box.x + ui.px(62), box.y + ui.px(80), box.w - ui.px(92), box.h - ui.px(80 + 84)}, plan);
    chart.draw();
    for (std::size_t k = 0; k < plan.front.size(); ++k) { // under the pointer
        const ImVec2 at = chart.at(plan.front[k]), mouse = ImGui::GetIO().MousePos;
        if (std::hypot(at.x - mouse.x, at.y - mouse.y) < chart.radius(plan.front[k]) + ui.px(2))
            page.model.front_row = k;
    }
    std::string words = "The plan: " + point_words(plan.chosen, session.settings.unit);
    if (const auto row = page.model.front_row; row && *row < plan.front.size()) {
        chart.mark(*row);
        words += fmt::format("   \u00b7   marked: {}", point_words(plan.front[*row], session.settings.unit));
    } else {
        words += "   \u00b7   Left and Right go through the others";
    }
    write(list, ui.f.body, x, box.y + box.h - ui.px(32), ui.c.ink,
          fitted(ui.f.body, words, box.w - ui.px(36)));
    ImGui::End();
}

void tell_plan(BoardColumn& c, const VehiclePlan& plan) {
    const JobModel& job = c.ui.page.model;
    c.line(c.ui.f.large, c.ui.c.ink, hours_text(plan.time_s));
    for (const PlanLine& line : plan_lines(plan, job.vibration(), c.ui.session.settings.unit)) {
        if (line.heading) c.down(5), c.line(c.ui.f.bold, c.ui.c.ink, line.text);
        else c.wrapped(c.ui.f.small, c.ui.c.ink, line.text);
    }
    if (!job.assumed().empty()) {
        c.down(5);
        c.line(c.ui.f.bold, c.ui.c.ink, "Assumed");
        for (const std::string& one : job.assumed()) c.wrapped(c.ui.f.small, c.ui.c.ink, "\u2022 " + one);
    }
    c.down(5);
    c.line(c.ui.f.bold, c.ui.c.ink, "Cautions");
    for (const std::string_view caution : plan_cautions(plan))
        c.wrapped(c.ui.f.small, c.ui.c.warn, "\u2022 " + std::string(caution));
}

} // namespace

void draw_plan_page(const BoardUi& ui, const Box& box) {
    BoardPage& page = ui.page;
    const VehiclePlan* plan = page.model.plan();
    const float side = ui.px(plan_side_width);
    const Box left{box.x, box.y, box.w - side, box.h}, right{box.x + box.w - side, box.y, side, box.h};
    if (plan && plan->front.size() > 1) {
        draw_front(ui, left, *plan);
    } else {
        begin_card("no front", left, ui.c.page);
        write_wrapped(*ImGui::GetWindowDrawList(), ui.f.body, left.x + ui.px(24), left.y + ui.px(24),
                      ui.c.quiet,
                      page.model.planning() ? "The chart comes with the plan."
                      : plan                ? "No chart: there is nothing to choose between."
                             : fmt::format("Totals and chart come with a plan of the whole vehicle: {}.",
                                           keys_of(Action::board_plan)),
                      left.w - ui.px(48));
        ImGui::End();
    }
    begin_card("plan", right, ui.c.card, true, {0, ui.px(10)});
    BoardColumn c(ui, right);
    if (plan) tell_plan(c, *plan);
    else
        c.line(ui.f.large, ui.c.ink,
               page.model.planning() ? "Being worked out" : "No plan of this visit yet");
    if (!plan) c.down(5), c.line(ui.f.bold, ui.c.ink, "Cautions");
    for (const std::string_view caution : cautions)
        c.wrapped(ui.f.small, ui.c.quiet, "\u2022 " + std::string(caution));
    c.end();
    ImGui::End();
}

} // namespace sparecoat::view::board
