#include "picture/section_words.hpp"
#include "view/pages/section/section_cards.hpp"
#include "view/pages/section/section_chart.hpp"
#include "view/window/cards.hpp"
#include "view/window/chart_painter.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::section {
namespace {

/// First steps that get a colour of their own; told apart by lightness as well as by hue, on light and on
/// dark.
constexpr std::size_t most_colours = 7;
ImU32 step_colour(std::size_t n, bool light) {
    constexpr std::array<ImU32, most_colours> on_light{
        IM_COL32(26, 95, 160, 255), IM_COL32(196, 110, 10, 255), IM_COL32(30, 125, 90, 255),
        IM_COL32(168, 50, 56, 255), IM_COL32(118, 88, 165, 255), IM_COL32(124, 88, 50, 255),
        IM_COL32(186, 96, 156, 255)};
    constexpr std::array<ImU32, most_colours> on_dark{
        IM_COL32(110, 174, 236, 255), IM_COL32(240, 172, 84, 255),  IM_COL32(106, 204, 162, 255),
        IM_COL32(238, 126, 130, 255), IM_COL32(184, 160, 232, 255), IM_COL32(204, 168, 128, 255),
        IM_COL32(240, 162, 212, 255)};
    return (light ? on_light : on_dark)[n];
}

/// The steps that candidates begin with, mildest first, the recommended one before all.
std::vector<std::size_t> first_steps(const Advice& advice) {
    std::vector<std::size_t> steps;
    const auto add = [&](std::size_t step) {
        if (std::ranges::find(steps, step) == steps.end()) steps.push_back(step);
    };
    if (advice.choice) add(advice.outlooks[*advice.choice].sequence.front().step);
    if (advice.so_far)
        for (const Sets& part : advice.so_far->sequence) add(part.step);
    for (const Outlook& o : advice.outlooks) add(o.sequence.front().step);
    return steps;
}

/// Without the pad's size, for where there is little room: "polish on medium foam".
std::string without_size(const std::string& words) {
    const std::size_t unit = words.find(" mm");
    const std::size_t number = unit == std::string::npos ? unit : words.rfind(' ', unit - 1);
    return number == std::string::npos ? words : words.substr(0, number) + words.substr(unit + 3);
}

class ChartPainter {
public:
    ChartPainter(const SectionUi& ui, const SectionFinding& finding, const SectionChart& chart)
        : ui_(ui), list_(*ImGui::GetWindowDrawList()), finding_(finding), panel_(finding.panel()),
          chart_(chart), painter_(ui, list_), steps_(first_steps(panel_.advice)) {}

    void draw() {
        const Plot& plot = chart_.plot;
        PlacedChart chart{plot, axes()};
        const double rim = units(6);
        chart.within = {plot.left - rim, plot.top - rim, plot.right - plot.left + rim,
                        plot.bottom - plot.top + rim + 1};
        const ClearingCurve &low = finding_.curves.band_low, &high = finding_.curves.band_high;
        chart.layers.emplace_back(PlotBand{points_of(low), points_of(high), fill_of(ui_.c.accent, 0.2f)});
        const auto lit = ui_.page.model.hovered;
        for (std::size_t k = finding_.curves.candidates.size(); k-- > 0;)
            if (k != choice() && k != lit) add_candidate(chart.layers, k, false);
        if (choice() < finding_.curves.candidates.size()) add_candidate(chart.layers, choice(), true);
        if (lit && *lit < finding_.curves.candidates.size()) add_candidate(chart.layers, *lit, true);
        for (const LookPoint& look : finding_.curves.looks) {
            chart.layers.emplace_back(bars(look.film_um, look.share, ui_.c.ink));
            chart.layers.emplace_back(PlotMark{{look.film_um.median, look.share.median}, diamond(6)});
        }
        const double share = finding_.report.record.target.share;
        chart.over.emplace_back(
            PlotRule{share, false, {fill_of(ui_.c.ink), units(1.2f), units(6), units(6)}});
        paint(painter_, chart);
        write_target(share);
    }

    /// The key beside the plot: what the colours are, and what one set of each takes.
    void key(const Box& box) {
        const FilmUnit unit = ui_.session.settings.unit;
        float y = box.y;
        const float row = ui_.f.small->FontSize + ui_.px(2), x = box.x + ui_.px(24), w = box.w - ui_.px(24);
        const auto words = [&](ImU32 colour, const std::string& text) {
            write(list_, ui_.f.small, x, y, colour, fitted(ui_.f.small, text, w));
            y += row;
        };
        const auto middle = [&] { return y + ui_.f.small->FontSize / 2 + ui_.px(1); };
        // What the marks are comes last and always has its place.
        const float foot = box.y + box.h - 3 * row;
        for (std::size_t n = 0; n < steps_.size() && n < most_colours && y + row <= foot; ++n) {
            const StepEffect& effect = panel_.ground.effects[steps_[n]];
            const bool recommended = choice() < panel_.advice.outlooks.size() && n == 0;
            list_.AddLine({box.x, middle()}, {box.x + ui_.px(17), middle()}, colour_of(steps_[n]),
                          ui_.px(recommended ? 3.5f : 2));
            ImGui::PushID(static_cast<int>(n));
            ImGui::SetCursorScreenPos({box.x, y});
            ImGui::InvisibleButton("step", {box.w, row});
            hint_if_hovered(ui_, fmt::format("Begins with {}: one set takes {} here, by the presets",
                                             effect.words, film_text(effect.mean_um, unit)));
            ImGui::PopID();
            words(ui_.c.ink, without_size(brief_words(panel_.ground.effects, steps_[n])));
        }
        y = foot;
        const auto place = [&](float right) { return PlotPoint{box.x + ui_.px(right), middle()}; };
        painter_.marker(place(5), dot(fill_of(ui_.c.quiet), 4, true));
        painter_.marker(place(14), dot(fill_of(ui_.c.quiet), 4, false));
        words(ui_.c.quiet, "all of it; open: finish not met");
        list_.AddRectFilled({box.x, middle() - ui_.px(5)}, {box.x + ui_.px(17), middle() + ui_.px(5)},
                            with_alpha(ui_.c.accent, 0.22f));
        words(ui_.c.quiet, "recommended, for 90 % of marks");
        painter_.marker(place(8), diamond(5));
        words(ui_.c.quiet, "seen on a square, 90 % bars");
    }

    void tell(const ChartHit& hit) {
        const FilmUnit unit = ui_.session.settings.unit;
        if (hit.kind == ChartHit::Kind::look) {
            const LookPoint& look = finding_.curves.looks[hit.index];
            const Try& work = panel_.panel.squares[look.square].tries[look.work];
            return box_at(chart_.at(look.film_um.median, look.share.median),
                          {fmt::format("Square {}, after try {}", look.square + 1, look.work + 1),
                           look.seen ? fmt::format("seen: {} cleared", *work.seen)
                                     : "cleared, as learned " + share_text(look.share),
                           look.gauged
                               ? fmt::format("gauge: {} gone, ± {}", film_text(work.gauge->loss_um(), unit),
                                             film_text(work.gauge->sd_um(), unit))
                               : "gone, as learned " + film_range_text(look.film_um, unit)});
        }
        const Outlook& o = panel_.advice.outlooks[hit.index];
        box_at(chart_.at(o.film_um.median, o.share.median),
               {brief_words(panel_.ground.effects, o.sequence), share_text(o.share) + " cleared",
                film_range_text(o.film_um, unit) + " lost",
                fmt::format("{:.0f} % of the target, {:.0f} % of keeping the reserve, {}",
                            100 * o.chance_of_target, 100 * o.chance_of_keeping, minutes_text(o.time_s))});
    }

private:
    std::size_t choice() const { return panel_.advice.choice.value_or(panel_.advice.outlooks.size()); }

    ImU32 colour_of(std::size_t step) const {
        const auto n = static_cast<std::size_t>(std::ranges::find(steps_, step) - steps_.begin());
        if (n == 0 && panel_.advice.choice) return ui_.c.accent;
        return n < most_colours ? step_colour(n, ui_.session.settings.light_theme)
                                : with_alpha(ui_.c.quiet, 0.7f);
    }

    double units(float n) const { return static_cast<double>(ui_.px(n)); }

    AxesLook axes() const {
        AxesLook look = window_axes(ui_);
        look.y.grid = Stroke{fill_of(ui_.c.line, 0.7f), 1};
        look.x.line = look.y.line = Stroke{fill_of(ui_.c.quiet), 1};
        look.x.room = units(8);
        return look;
    }

    /// On a plate, so that curves may pass under it.
    void write_target(double share) {
        const std::string words = fmt::format("{:.3g} % wanted", 100 * share);
        const float w = width_of(ui_.f.small, words),
                    x = static_cast<float>(chart_.plot.right) - w - ui_.px(4),
                    top = chart_.y(share) + ui_.px(3);
        list_.AddRectFilled({x - ui_.px(3), top},
                            {x + w + ui_.px(3), top + ui_.f.small->FontSize + ui_.px(2)},
                            with_alpha(ui_.c.card, 0.8f), ui_.px(3));
        write(list_, ui_.f.small, x, top, ui_.c.ink, words);
    }

    static std::vector<PlotPoint> points_of(const ClearingCurve& curve) {
        std::vector<PlotPoint> points;
        for (std::size_t n = 0; n < curve.film_um.size(); ++n)
            points.push_back({curve.film_um[n], curve.share[n]});
        return points;
    }

    void add_candidate(std::vector<PlotLayer>& layers, std::size_t k, bool bold) const {
        const Outlook& o = panel_.advice.outlooks[k];
        const ImU32 colour = colour_of(o.sequence.front().step);
        const Fill fill = fill_of(colour);
        layers.emplace_back(PlotCurve{points_of(finding_.curves.candidates[k]),
                                      {bold ? fill : fill_of(colour, 0.55f), units(bold ? 3 : 1.2f)}});
        if (bold) layers.emplace_back(bars(o.film_um, o.share, colour));
        layers.emplace_back(
            PlotMark{{o.film_um.median, o.share.median},
                     dot(fill, bold ? 6 : 3.5f, o.haze <= finding_.report.record.target.haze)});
    }

    PlotErrors bars(const Interval& film_um, const Interval& share, ImU32 colour) const {
        return {{film_um.median, share.median},
                std::pair{film_um.low, film_um.high},
                std::pair{share.low, share.high},
                units(4),
                {fill_of(colour), units(1.4f)}};
    }

    Marker dot(Fill colour, float radius, bool filled) const {
        return {Marker::Shape::disc, units(radius), filled ? colour : fill_of(ui_.c.card),
                Stroke{colour, units(1.6f)}};
    }
    Marker diamond(float size) const {
        Marker marker{Marker::Shape::diamond, units(size), fill_of(ui_.c.ink)};
        marker.radius /= marker.extent() / marker.radius;
        return marker;
    }

    /// The numbers in a box beside what they are of, within the plot.
    void box_at(ImVec2 at, const std::vector<std::string>& lines) {
        ImDrawList& list = *ImGui::GetForegroundDrawList();
        const float row = ui_.f.small->FontSize + ui_.px(2), pad = ui_.px(7), most = ui_.px(430);
        float w = 0, h = 2 * pad;
        for (const std::string& line : lines) {
            w = std::max(w, std::min(most, width_of(ui_.f.small, line)));
            h += wrapped_height(ui_.f.small, line, most) + (row - ui_.f.small->FontSize);
        }
        const ImVec2 room = ImGui::GetIO().DisplaySize;
        const float x = std::clamp(at.x + ui_.px(14), ui_.px(4), room.x - w - 2 * pad - ui_.px(4));
        float y = std::clamp(at.y + ui_.px(14), ui_.px(4), room.y - h - ui_.px(4));
        list.AddRectFilled({x, y}, {x + w + 2 * pad, y + h}, ui_.c.ink, ui_.px(5));
        y += pad;
        for (const std::string& line : lines)
            y += write_wrapped(list, ui_.f.small, x + pad, y, ui_.c.card, line, most) +
                 (row - ui_.f.small->FontSize);
    }

    const SectionUi& ui_;
    ImDrawList& list_;
    const SectionFinding& finding_;
    const PanelAdvice& panel_;
    const SectionChart& chart_;
    WindowPainter painter_;
    std::vector<std::size_t> steps_; ///< in the colours' order
};

void draw_curves_part(const SectionUi& ui, const Box& box, const SectionFinding& finding) {
    RunSession& session = ui.session;
    SectionPage& page = ui.page;
    const float key_width = ui.px(262), gap = ui.px(14);
    const Box plot{box.x + ui.px(34), box.y + ui.px(8), box.w - ui.px(34) - key_width - gap,
                   box.h - ui.px(8 + 38)};
    const SectionChart chart = section_chart(plot, finding.curves.most_um, session.settings.unit);
    ImGui::SetCursorScreenPos(plot.low());
    ImGui::InvisibleButton("plot", {plot.w, plot.h});
    const ImVec2 off{-1, -1}; // the window, where nothing is hit
    const std::optional<ChartHit> hit =
        hit_on(chart, finding, ImGui::IsItemHovered() ? ImGui::GetMousePos() : off, ui.px(9));
    page.model.hovered =
        hit && hit->kind == ChartHit::Kind::candidate ? std::optional(hit->index) : std::nullopt;
    ChartPainter painter(ui, finding, chart);
    painter.draw();
    painter.key({plot.x + plot.w + gap, box.y, key_width, box.h});
    write(
        *ImGui::GetWindowDrawList(), ui.f.small, plot.x + plot.w / 2, plot.y + plot.h + ui.px(20), ui.c.quiet,
        fmt::format("film lost, {}; marks cleared, %", session.settings.unit == FilmUnit::um ? "µm" : "mil"),
        Align::centre);
    if (hit) painter.tell(*hit);
}

// ---- the table ------------------------------------------------------------------------------------

/// Where the columns begin.
constexpr std::array<float, 5> table_at{0, 146, 360, 424, 488};
constexpr float row_tag = 118; ///< beside a row's words

/// One candidate: its words, then its numbers in columns.
void draw_row(const SectionUi& ui, const Box& row, const PanelAdvice& panel, std::size_t k,
              const Target& target) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const Advice& advice = panel.advice;
    const Outlook& o = advice.outlooks[k];
    const FilmUnit unit = ui.session.settings.unit;
    const bool chosen = advice.choice == k, lit = ui.page.model.hovered == k;
    const bool meets = o.chance_of_target >= target.chance && o.chance_of_keeping >= target.keep_chance;
    if (chosen || lit)
        list.AddRectFilled(row.low(), row.high(), chosen ? ui.c.field_lit : ui.c.field, ui.px(4));
    if (chosen) list.AddRectFilled(row.low(), {row.x + ui.px(3), row.y + row.h}, ui.c.accent, ui.px(2));
    const float x = row.x + ui.px(10), first = row.y + ui.px(3),
                second = row.y + row.h - ui.f.small->FontSize - ui.px(4);
    write_wrapped(list, ui.f.small, x, first, ui.c.ink, brief_words(panel.ground.effects, o.sequence),
                  row.w - row_tag * ui.s);
    if (meets || chosen)
        write(list, ui.f.small, row.x + row.w - ui.px(8), first, ui.c.accent,
              chosen ? "recommended" : "does it", Align::right);
    const auto column = [&](float at, const std::string& words, bool bad) {
        write(list, ui.f.small, x + ui.px(at), second, bad ? ui.c.warn : ui.c.quiet, words);
    };
    column(0, share_text(o.share), false);
    column(table_at[1], film_range_text(o.film_um, unit), false);
    column(table_at[2], fmt::format("{:.0f} %", 100 * o.chance_of_target),
           o.chance_of_target < target.chance);
    column(table_at[3], fmt::format("{:.0f} %", 100 * o.chance_of_keeping),
           o.chance_of_keeping < target.keep_chance);
    column(table_at[4], minutes_text(o.time_s), false);
}

void draw_table_part(const SectionUi& ui, const Box& box, const SectionFinding& finding) {
    SectionPage& page = ui.page;
    const PanelAdvice& panel = finding.panel();
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const std::array<std::pair<float, const char*>, 5> heads{{{0, "cleared (90 %)"},
                                                              {table_at[1], "film lost (90 %)"},
                                                              {table_at[2], "target"},
                                                              {table_at[3], "keeps"},
                                                              {table_at[4], "time"}}};
    for (const auto& [at, words] : heads)
        write(list, ui.f.small, box.x + ui.px(10 + at), box.y, ui.c.accent, words);
    const float head = ui.f.small->FontSize + ui.px(4);
    ImGui::SetCursorScreenPos({box.x, box.y + head});
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, ui.px(2)});
    ImGui::BeginChild("candidates", {box.w, box.h - head});
    const CandidateRows rows = candidate_rows(panel.advice, 40);
    page.model.hovered.reset();
    if (rows.from > 0)
        ImGui::TextDisabled("%s", fmt::format("  {} milder without a chance", rows.from).c_str());
    for (std::size_t k = rows.from; k < rows.to; ++k) {
        const ImVec2 at = ImGui::GetCursorScreenPos();
        const float w = box.w - ui.px(16);
        const float words =
            wrapped_height(ui.f.small, brief_words(panel.ground.effects, panel.advice.outlooks[k].sequence),
                           w - row_tag * ui.s);
        const Box row{at.x, at.y, w, words + ui.f.small->FontSize + ui.px(10)};
        ImGui::PushID(static_cast<int>(k));
        ImGui::InvisibleButton("row", {row.w, row.h});
        ImGui::PopID();
        if (ImGui::IsItemHovered()) page.model.hovered = k;
        if (ImGui::IsWindowAppearing() && panel.advice.choice == k) ImGui::SetScrollHereY();
        draw_row(ui, row, panel, k, finding.report.record.target);
    }
    if (rows.to < panel.advice.outlooks.size())
        ImGui::TextDisabled(
            "%s",
            fmt::format("  {} more that take more film", panel.advice.outlooks.size() - rows.to).c_str());
    ImGui::EndChild();
    ImGui::PopStyleVar();
}

std::string why_empty(const SectionModel& section) {
    if (!section.has_record())
        return "Curves of what clears against what it costs stand here once there is a record.";
    if (!section.clean()) return "No curves before the panel is clean: grit scratches under the pad.";
    if (section.working())
        return fmt::format("Working the steps of the kit: {:.0f} %", 100 * section.share());
    if (section.finding()) return "There is nothing here that polishing takes out.";
    return fmt::format("Not worked out yet. {} works it out.", keys_of(Action::work_out_advice));
}

} // namespace

void draw_section_chart(const SectionUi& ui, const Box& box) {
    if (box.h <= 0) return;
    SectionPage& page = ui.page;
    SectionModel& section = page.model;
    begin_card("clearing", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float pad = ui.px(14), head = box.y + ui.px(7), w = ui.px(76), h = ui.px(24);
    const SectionFinding* finding = section.clean() ? section.finding() : nullptr;
    const std::string title = finding && section.stale()
                                  ? "What clears, and what it cost before the last entry"
                                  : "What clears, and what it costs";
    write(list, ui.f.bold, box.x + pad, head + ui.px(1), ui.c.ink,
          fitted(ui.f.bold, title, box.w - 3 * pad - 2 * w));
    const float right = box.x + box.w - pad;
    const std::string hint = fmt::format("Curves or table  {}", keys_of(Action::section_table));
    if (press(ui, "curves", "Curves", {right - 2 * w - ui.px(4), head, w, h}, !section.table, hint))
        section.table = false;
    if (press(ui, "table", "Table", {right - w, head, w, h}, section.table, hint)) section.table = true;
    const Box body{box.x + pad, head + h + ui.px(8), box.w - 2 * pad, box.h - h - ui.px(7 + 8 + 6)};
    if (!finding || finding->curves.candidates.empty())
        write(list, ui.f.body, body.x + body.w / 2, body.y + body.h / 2 - ui.px(16), ui.c.quiet,
              fitted(ui.f.body, why_empty(section), body.w), Align::centre);
    else if (section.table) draw_table_part(ui, body, *finding);
    else draw_curves_part(ui, body, *finding);
    ImGui::End();
}

} // namespace sparecoat::view::section
