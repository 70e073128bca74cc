// Techniques side by side: what stands round their panes.
#include "decide/cautions.hpp"
#include "picture/compare_maps.hpp"
#include "picture/compare_table.hpp"
#include "picture/compare_words.hpp"
#include "picture/map_drawing.hpp"
#include "view/pages/compare/compare_page.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include "view/window/cards.hpp"
#include "view/window/chart_painter.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace sparecoat::view::compare {

using CompareUi = PageUi<ComparePage>;
using CompareColumn = ColumnOf<CompareUi>;

namespace {

constexpr float head_height = 56, pane_head_height = 52, table_height = 284, time_height = 72,
                legend_width = 96, name_width = 238, estimate_width = 168, difference_width = 256,
                least_told = 330;

std::string with_key(const std::string& words, Action action) {
    return fmt::format("{}  {}", words, keys_of(action));
}

// ---- over the panes -------------------------------------------------------------------------------

void draw_head(const CompareUi& ui, const Box& box) {
    RunSession& session = ui.session;
    ComparePage& page = ui.page;
    CompareModel& model = page.model;
    begin_card("compare head", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    struct Button {
        const char* id;
        std::string words;
        Action action;
        bool on, enabled;
    };
    const Button buttons[] = {
        {"add", with_key("Add", Action::compare_add), Action::compare_add, false, model.can_add()},
        {"differences", with_key("Differences", Action::compare_differences), Action::compare_differences,
         model.differences, true},
        {"draws", with_key("Mean of draws", Action::compare_draws), Action::compare_draws,
         model.shows_draws(), model.comparison() != nullptr && map_info(model.map).film},
        {"save", model.saving() ? "Writing ..." : with_key("Report", Action::compare_save),
         Action::compare_save, false, model.comparison() != nullptr && !model.saving()},
        {"leave", with_key("Back", Action::close), Action::compare, false, true}};
    constexpr float widths[] = {74, 136, 158, 112, 96};
    float x = box.x + box.w - ui.px(16);
    for (std::size_t k = std::size(buttons); k-- > 0;) {
        const Button& b = buttons[k];
        x -= ui.px(widths[k]);
        if (press(ui, b.id, b.words, {x, box.y + ui.px(11), ui.px(widths[k]), ui.px(34)}, b.on, "",
                  b.enabled))
            session.act(b.action);
        x -= ui.px(8);
    }
    const float left = box.x + ui.px(16), room = x - left - ui.px(8);
    const std::string panel = model.has_runs() ? model.panel().name : model.request().run.panel;
    write(list, ui.f.large, left, box.y + ui.px(4), ui.c.ink, fitted(ui.f.large, panel, room));
    const std::string ground = model.comparison() ? ground_of(*model.comparison())
                               : model.has_runs()
                                   ? fmt::format("{} on {}; marks: {}", model.job(0).paint.name,
                                                 model.panel().substrate.name, session.defects().name)
                                   : std::string("being made ready");
    write(list, ui.f.small, left, box.y + ui.px(35), ui.c.quiet, fitted(ui.f.small, ground, room));
    list.AddLine({box.x, box.y + box.h - 1}, {box.x + box.w, box.y + box.h - 1}, ui.c.line);
    ImGui::End();
}

void draw_letter(const CompareUi& ui, ImDrawList& list, float x, float y, char letter, bool on) {
    const float size = ui.px(24);
    list.AddRectFilled({x, y}, {x + size, y + size}, on ? ui.c.accent : ui.c.ink, ui.px(4));
    write(list, ui.f.bold, x + size / 2, y + (size - ui.f.bold->FontSize) / 2,
          on ? ui.c.on_accent : ui.c.card, std::string(1, letter), Align::centre);
}

/// Whose pane it is, to be chosen anew; of a difference, what it means.
void draw_pane_head(const CompareUi& ui, const Box& box, const ComparePane& pane) {
    RunSession& session = ui.session;
    ComparePage& page = ui.page;
    CompareModel& model = page.model;
    begin_card(fmt::format("pane head {}{}", pane.side, pane.over_first ? " over" : "").c_str(), box,
               ui.c.page);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const bool chosen = model.chosen == pane.side;
    const char letter = static_cast<char>('A' + pane.side);
    const float x = box.x + ui.px(8), y = box.y + ui.px(4), right = box.x + box.w - ui.px(8);
    list.AddLine({box.x + box.w - 1, box.y}, {box.x + box.w - 1, box.y + box.h}, ui.c.line);
    if (pane.over_first && model.runs() == 2) {
        write(list, ui.f.bold, x, y + ui.px(2), ui.c.ink, fmt::format("{} \u2212 A", letter));
        write(list, ui.f.small, x, box.y + ui.px(31), ui.c.quiet,
              fitted(ui.f.small, fmt::format("brown: {} has more, blue: less", letter), right - x));
        ImGui::End();
        return;
    }
    const std::string mark = pane.over_first ? fmt::format("{} \u2212 A", letter) : std::string(1, letter);
    draw_letter(ui, list, x, y, letter, chosen);
    float from = x + ui.px(30);
    if (pane.over_first) from += write(list, ui.f.bold, from, y + ui.px(2), ui.c.ink, "\u2212 A") + ui.px(8);
    const float drop = model.sides() > fewest_compared ? ui.px(28) : 0;
    const Box field{from, y, right - from - drop, ui.px(24)};
    const std::string reference =
        pane.side == 0 && model.request().first ? "" : model.request().techniques[pane.side];
    if (ImGui::IsMouseHoveringRect(box.low(), box.high()) && ImGui::IsMouseClicked(0))
        model.chosen = pane.side;
    const bool open = std::exchange(page.choosing, page.choosing && !chosen) && chosen;
    const std::string taken = choose_from(ui, "technique", field, reference, model.name(pane.side),
                                          session.list(PresetKind::technique), open);
    if (!taken.empty()) session.attempt([&] { model.replace(pane.side, taken); });
    if (drop > 0 && press(ui, "drop", "\u00d7", {right - ui.px(24), y, ui.px(24), ui.px(24)}, false,
                          with_key("Leave it out", Action::compare_drop)))
        model.drop(pane.side);
    if (pane.side < model.runs()) {
        const RunJob& job = model.job(pane.side);
        const Resolved& step = job.step;
        const std::string words = fmt::format("{}; {}, {}, {}", working_of(job), step.machine.name,
                                              step.pad.name, step.liquid.name);
        const std::string fits = fitted(ui.f.small, words, right - x);
        write(list, ui.f.small, x, box.y + ui.px(31), ui.c.quiet, fits);
        ImGui::SetCursorScreenPos({x, box.y + ui.px(31)});
        ImGui::Dummy({right - x, ui.px(18)});
        hint_if_hovered(ui, fits == words ? "" : words);
    }
    ImGui::End();
}

// ---- in the panes ---------------------------------------------------------------------------------

std::string spot_value(const CompareModel& model, const ComparePane& pane, std::size_t cell, FilmUnit unit) {
    const std::vector<float>& values = model.values(pane);
    if (cell >= values.size() || std::isnan(values[cell])) return "\u2013";
    const auto value = static_cast<double>(values[cell]);
    const MapInfo& info = map_info(model.map);
    const double finest = (pane.over_first ? model.over_scale() : model.scale()).step / 10;
    const std::string text = info.film ? film_text(std::abs(value), unit)
                                       : fmt::format("{} {}", tick_text(std::abs(value), finest), info.unit);
    return (value < 0 ? "\u2212" : pane.over_first && value > 0 ? "+" : "") + text;
}

void draw_pane_marks(const CompareUi& ui, const Box& stage, const ComparePane& pane, bool first) {
    const RunSession& session = ui.session;
    const ComparePage& page = ui.page;
    const CompareModel& model = page.model;
    ImDrawList& list = *ImGui::GetBackgroundDrawList();
    list.PushClipRect(stage.low(), stage.high(), true);
    if (!first) list.AddLine({stage.x, stage.y}, {stage.x, stage.y + stage.h}, ui.c.line);
    const auto tag = [&](float x, float y, const std::string& words, bool right) {
        const float w = width_of(ui.f.small, words) + ui.px(12), from = right ? x - w : x;
        list.AddRectFilled({from, y}, {from + w, y + ui.px(21)}, with_alpha(ui.c.card, 0.9f), ui.px(4));
        write(list, ui.f.small, from + ui.px(6), y + ui.px(2), ui.c.ink, words);
    };
    if (const auto spot = model.spot()) // the value there
        if (const auto cell = painted_cell(model.panel(), *spot))
            tag(stage.x + ui.px(8), stage.y + stage.h - ui.px(28),
                spot_value(model, pane, *cell, session.settings.unit), false);
    if (!pane.over_first) {
        const LiveView& view = model.view(pane.side);
        const std::string clock = model.shows_draws()
                                      ? fmt::format("mean of {} draws", model.comparison()->draws)
                                  : view.finished ? fmt::format("done at {}", clock_text(view.end_s))
                                                  : clock_text(view.t_s);
        tag(stage.x + stage.w - ui.px(8), stage.y + ui.px(6), clock, true);
    }
    if (const auto weakest =
            model.map == MapKind::chance && !pane.over_first ? model.weakest(pane.side) : std::nullopt) {
        const glm::vec3 foot(static_cast<float>(weakest->x), static_cast<float>(weakest->y),
                             static_cast<float>(height_at(model.panel(), *weakest) + pin_height_m));
        const glm::vec3 p = model.camera.project(foot, stage.w / stage.h);
        const double chance = model.comparison()
                                  ->techniques[pane.side]
                                  .estimates[static_cast<std::size_t>(Measure::chance)]
                                  .mean;
        if (p.z > 0)
            tag(stage.x + p.x * stage.w + ui.px(4), stage.y + p.y * stage.h - ui.px(22),
                fmt::format("highest: {} %",
                            value_text(chance, words_of(Measure::chance, session.settings.unit))),
                p.x > 0.6f);
    }
    list.PopClipRect();
}

/// Where the scale ends before the worst spot: how far that goes.
std::string beyond(double most, const Scale& scale) {
    return most > scale.high * 1.001 ? fmt::format("up to {}", tick_text(most, scale.step)) : "";
}

void draw_scales(const CompareUi& ui, const Box& box) {
    const RunSession& session = ui.session;
    const ComparePage& page = ui.page;
    const CompareModel& model = page.model;
    ImDrawList& list = *ImGui::GetBackgroundDrawList();
    list.AddRectFilled(box.low(), box.high(), ui.c.card);
    const MapInfo& info = map_info(model.map);
    const std::string unit = info.film ? text_of(session.settings.unit) : info.unit;
    const float half = model.differences ? box.h / 2 : box.h;
    const ColourMap& colours = colours_of(model.map);
    draw_colour_bar(ui, list, {box.x, box.y, box.w, half},
                    {colours, model.scale(), short_name(model.map), unit,
                     session.settings.contours ? model.scale().ticks : std::vector<double>{},
                     beyond(model.most(), model.scale())});
    if (!model.differences) return;
    list.AddLine({box.x, box.y + half}, {box.x + box.w, box.y + half}, ui.c.line);
    draw_colour_bar(ui, list, {box.x, box.y + half, box.w, half},
                    {difference_colours(),
                     model.over_scale(),
                     "over A",
                     unit,
                     {},
                     beyond(model.farthest(), model.over_scale())});
}

/// Over the panes: what is being waited for, why nothing is there.
void draw_note(const CompareUi& ui, const CompareLayout& at) {
    const RunSession& session = ui.session;
    const ComparePage& page = ui.page;
    const CompareModel& model = page.model;
    ImDrawList& list = *ImGui::GetForegroundDrawList();
    const std::string words = model.preparing() ? "Making the techniques ready ..."
                              : model.map == MapKind::chance && !model.comparison()
                                  ? model.working() ? "The chances come with the draws"
                                                    : with_key("Not worked out", Action::compare_work_out)
                                  : session.notice;
    if (words.empty() || session.dialog()) return;
    const Box& first = at.stages.front();
    draw_words_below(ui, list, {first.x, first.y, at.legend.x - first.x, first.h - ui.px(24)}, words);
}

// ---- the table ------------------------------------------------------------------------------------

/// The technique that the table holds against the first.
std::size_t held(const CompareModel& model) {
    return std::clamp<std::size_t>(model.chosen, 1, model.comparison()->techniques.size() - 1);
}

void draw_rows(const CompareUi& ui, const Box& box, const Comparison& comparison) {
    CompareModel& model = ui.page.model;
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const FilmUnit unit = ui.session.settings.unit;
    const std::size_t count = comparison.techniques.size(), other = held(model);
    const float row = ui.px(20.5f), x = box.x + ui.px(16);
    const float wide = std::min(ui.px(estimate_width), (box.w - ui.px(16 + name_width + difference_width)) /
                                                           static_cast<float>(count));
    const bool means_alone = wide < ui.px(0.85f * estimate_width); // no room for intervals
    const auto column = [&](std::size_t t) { return x + ui.px(name_width) + wide * static_cast<float>(t); };
    float y = box.y + ui.px(6);
    for (std::size_t t = 0; t < count; ++t)
        write(list, ui.f.bold, column(t), y, ui.c.ink, letter_of(comparison, t));
    write(list, ui.f.bold, column(count), y, ui.c.ink,
          fmt::format("{} \u2212 A", letter_of(comparison, other)));
    y += ui.px(25);
    const TextTable measures = measures_table(comparison, unit),
                    differences = differences_table(comparison, other, unit);
    for (std::size_t m = 0; m < all_measures.size(); ++m, y += row) {
        const ComparedDifference& difference = comparison.difference(other, all_measures[m]);
        const Box line{box.x, y, box.w, row};
        if (ImGui::IsMouseHoveringRect(line.low(), line.high()) && ImGui::IsMouseClicked(0)) model.row = m;
        if (model.row == m) list.AddRectFilled(line.low(), line.high(), with_alpha(ui.c.accent, 0.16f));
        write(list, ui.f.small, x, y, ui.c.ink,
              fitted(ui.f.small, measures.rows[m][0], ui.px(name_width - 8)));
        for (std::size_t t = 0; t < count; ++t) {
            const std::string& whole = measures.rows[m][t + 1];
            write(
                list, ui.f.small, column(t), y, ui.c.ink,
                fitted(ui.f.small, means_alone ? whole.substr(0, whole.find(' ')) : whole, wide - ui.px(6)));
            if (means_alone && ImGui::IsMouseHoveringRect({column(t), y}, {column(t) + wide, y + row}))
                ImGui::SetTooltip("%s", whole.c_str());
        }
        // Where it is more than noise a mark says so, and the words are in ink.
        const ImU32 colour = difference.more_than_noise ? ui.c.ink : ui.c.quiet;
        const float r = ui.px(4), mark = column(count) + r;
        if (difference.more_than_noise) list.AddCircleFilled({mark, y + row * 0.46f}, r, ui.c.accent);
        else list.AddCircle({mark, y + row * 0.46f}, r, ui.c.quiet, 0, ui.px(1.2f));
        write(list, ui.f.small, column(count) + ui.px(14), y, colour,
              fitted(ui.f.small, differences.rows[m][1], ui.px(difference_width - 20)));
    }
    const float ky = y + ui.px(5), r = ui.px(4);
    list.AddCircleFilled({x + r, ky + ui.px(9)}, r, ui.c.accent);
    float kx = x + ui.px(14);
    kx += write(list, ui.f.small, kx, ky, ui.c.quiet,
                comparison.hand_varies ? "more than the noise of the hand" : "differs") +
          ui.px(18);
    list.AddCircle({kx + r, ky + ui.px(9)}, r, ui.c.quiet, 0, ui.px(1.2f));
    write(list, ui.f.small, kx + ui.px(14), ky, ui.c.quiet,
          comparison.hand_varies ? "within it" : "the same");
}

void draw_table(const CompareUi& ui, const Box& box) {
    CompareModel& model = ui.page.model;
    begin_card("compare table", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float x = box.x + ui.px(16), w = box.w - ui.px(32);
    if (const auto comparison = model.comparison()) {
        draw_rows(ui, box, *comparison);
    } else if (model.working()) {
        write(list, ui.f.bold, x, box.y + ui.px(10), ui.c.ink, "What they come to");
        draw_progress(ui, {x, box.y + ui.px(44), std::min(w, ui.px(520)), ui.px(28)}, model.share(),
                      fmt::format("Working {} draws of the hand for each: {:.0f} %",
                                  model.request().terms.replicates, 100 * model.share()));
        write_wrapped(list, ui.f.small, x, box.y + ui.px(86), ui.c.quiet,
                      "Every draw is a whole run with the same stray hand for all techniques, so that what "
                      "differs is theirs. The panes can be "
                      "played meanwhile.",
                      std::min(w, ui.px(620)));
    } else if (!model.fault().empty()) {
        write(list, ui.f.bold, x, box.y + ui.px(10), ui.c.warn, "That cannot be compared");
        write_wrapped(list, ui.f.small, x, box.y + ui.px(40), ui.c.ink, model.fault(), w);
    } else {
        write(list, ui.f.body, x, box.y + ui.px(12), ui.c.quiet,
              model.preparing() ? std::string("The table comes with the draws.")
                                : with_key("Not worked out", Action::compare_work_out));
    }
    ImGui::End();
}

void draw_told(const CompareUi& ui, const Box& box, ChartImage& image) {
    CompareModel& model = ui.page.model;
    begin_card("compare told", box, ui.c.card, true, {0, ui.px(8)});
    ImGui::GetWindowDrawList()->AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    CompareColumn c(ui, box);
    if (const auto comparison = model.comparison()) {
        const FilmUnit unit = ui.session.settings.unit;
        const Measure measure = all_measures[model.row];
        image.draw(ui, c.row(150), measure_chart(*comparison, measure, unit),
                   fmt::format("compared {} {} {} {}", model.generation(),
                               static_cast<const void*>(comparison.get()), model.row, static_cast<int>(unit)),
                   12.5f);
        c.down(158);
        for (const std::string& warning : warnings_of(*comparison)) c.wrapped(ui.f.body, ui.c.warn, warning);
        for (const std::string& sentence : what_differs(*comparison, held(model), unit))
            c.wrapped(ui.f.body, ui.c.ink, sentence);
        c.down(4);
        c.wrapped(ui.f.small, ui.c.quiet, interval_words(*comparison));
        c.down(4);
        c.line(ui.f.bold, ui.c.ink, "What is unsure");
        for (const std::string& doubt : doubts_of(*comparison, unit))
            c.wrapped(ui.f.small, ui.c.ink, "\u2022 " + doubt);
        c.down(4);
    }
    c.line(ui.f.bold, ui.c.ink, "Cautions");
    c.wrapped(ui.f.small, ui.c.ink, std::string(estimate_notice));
    for (const std::string_view caution : cautions)
        c.wrapped(ui.f.small, ui.c.quiet, "\u2022 " + std::string(caution));
    c.end();
    ImGui::End();
}

// ---- the clock ------------------------------------------------------------------------------------

void draw_clock(const CompareUi& ui, const Box& box, const Box& track) {
    ComparePage& page = ui.page;
    CompareModel& model = page.model;
    begin_card("compare time", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float y = track.y, h = track.h;
    draw_transport(ui, box.x + ui.px(16), y, model.playing(), false);
    ImGui::SetCursorScreenPos(track.low());
    ImGui::InvisibleButton("compare track", {track.w, track.h});
    const float mouse = std::clamp((ImGui::GetMousePos().x - track.x) / track.w, 0.0f, 1.0f);
    if (ImGui::IsItemActive() && ImGui::GetIO().MouseDelta.x != 0)
        model.seek(static_cast<double>(mouse) * model.end_s());
    else if (ImGui::IsItemActivated()) model.seek(static_cast<double>(mouse) * model.end_s());
    if (ImGui::IsItemHovered()) hint_if_hovered(ui, clock_text(static_cast<double>(mouse) * model.end_s()));
    list.AddRectFilled(track.low(), track.high(), ui.c.field, ui.px(4));
    const double end = std::max(model.end_s(), 1e-6);
    const auto at = [&](double t_s) {
        return track.x + track.w * static_cast<float>(std::clamp(t_s / end, 0.0, 1.0));
    };
    list.AddRectFilled(track.low(), {at(model.t_s()), track.y + h}, with_alpha(ui.c.accent, 0.3f), ui.px(4));
    std::map<int, std::string> ends; // where each of them is done, those at one place together
    for (std::size_t side = 0; side < model.runs(); ++side) {
        std::string& letters = ends[static_cast<int>(at(model.job(side).path.samples.back().t_s))];
        letters += (letters.empty() ? "" : " ") + std::string(1, static_cast<char>('A' + side));
    }
    int line = 0;
    for (const auto& [pixel, letters] : ends) {
        const auto x = static_cast<float>(pixel);
        list.AddLine({x, track.y}, {x, track.y + h}, ui.c.quiet, ui.px(1.5f));
        write(list, ui.f.small, x - ui.px(4), track.y + ui.px(2) + static_cast<float>(line++ % 2) * ui.px(17),
              ui.c.ink, letters, Align::right);
    }
    const float now = at(model.t_s());
    list.AddRectFilled({now - ui.px(2), track.y - ui.px(3)}, {now + ui.px(2), track.y + h + ui.px(3)},
                       ui.c.ink, ui.px(2));
    const float x = track.x + track.w + ui.px(16);
    write(list, ui.f.bold, x, y, ui.c.ink,
          fmt::format("{} of {}", clock_text(model.t_s()), clock_text(model.end_s())));
    write(list, ui.f.small, x, y + ui.px(20), ui.c.quiet, "one clock for all, a steady hand");
    ImGui::End();
}

} // namespace

std::optional<std::size_t> CompareLayout::pane_at(ImVec2 at) const {
    for (std::size_t k = 0; k < stages.size(); ++k)
        if (stages[k].holds(at)) return k;
    return {};
}

CompareLayout lay_out_compare(float width, float height, float s, std::size_t panes, std::size_t sides,
                              bool cards) {
    CompareLayout out;
    out.head = {0, 0, width, head_height * s};
    out.time = {0, height - time_height * s, width, time_height * s};
    out.track = {212 * s, out.time.y + 16 * s, width - (212 + 244) * s, 40 * s};
    const float below = cards ? table_height * s : 0, top = out.head.h + pane_head_height * s,
                bottom = out.time.y - below;
    out.legend = {width - legend_width * s, out.head.h, legend_width * s, bottom - out.head.h};
    panes = std::max<std::size_t>(panes, 1);
    const float w = std::floor(out.legend.x / static_cast<float>(panes));
    for (std::size_t k = 0; k < panes; ++k) {
        const float x = w * static_cast<float>(k);
        out.heads.push_back({x, out.head.h, w, pane_head_height * s});
        out.stages.push_back({x, top, w, bottom - top});
    }
    if (!cards) return out;
    const float told = std::max(
        least_told * s,
        width - (16 + name_width + difference_width + estimate_width * static_cast<float>(sides)) * s);
    out.table = {0, bottom, width - told, below};
    out.told = {width - told, bottom, told, below};
    return out;
}

void draw_compare(const CompareUi& ui, const CompareLayout& at, ChartImage& chart) {
    const CompareModel& model = ui.page.model;
    draw_head(ui, at.head);
    const std::vector<ComparePane> panes = model.panes();
    for (std::size_t k = 0; k < panes.size() && k < at.stages.size(); ++k) {
        draw_pane_head(ui, at.heads[k], panes[k]);
        if (!model.values(panes[k]).empty()) draw_pane_marks(ui, at.stages[k], panes[k], k == 0);
    }
    if (model.has_runs()) draw_scales(ui, at.legend);
    if (at.table.h > 0) {
        draw_table(ui, at.table);
        draw_told(ui, at.told, chart);
    }
    draw_clock(ui, at.time, at.track);
    draw_note(ui, at);
}

void ComparePage::draw(const Ui& ui, float, float) { draw_compare({ui, *this}, layout_, stage().chart()); }

} // namespace sparecoat::view::compare
