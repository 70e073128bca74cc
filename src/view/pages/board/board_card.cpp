// The vehicle's board: every panel as a tile, the chosen one told beside them, and what is filled in over it.
#include "decide/cautions.hpp"
#include "view/pages/board/board_cards.hpp"
#include "view/pages/board/board_words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <imgui_stdlib.h>

namespace sparecoat::view::board {
namespace {

constexpr float head_height = 92, foot_height = 46, side_width = 344, least_tile = 288, tile_height = 176,
                tile_gap = 10;

std::string with_key(const std::string& words, Action action) {
    return fmt::format("{}  {}", words, keys_of(action));
}

// ---- the mark that says where a panel stands ------------------------------------------------------

ImU32 stand_colour(const BoardUi& ui, PanelStand stand) {
    switch (stand) {
    case PanelStand::wash:
    case PanelStand::less:
    case PanelStand::touch_up: return ui.c.warn;
    case PanelStand::planned:
    case PanelStand::finish_only: return ui.c.accent;
    case PanelStand::no_plan: return ui.c.ink;
    case PanelStand::leave:
    case PanelStand::done: return ui.c.quiet;
    }
    return ui.c.ink;
}

/// A shape of its own for each, so that no colour has to be told apart.
void draw_stand(const BoardUi& ui, ImDrawList& list, ImVec2 at, float r, PanelStand stand) {
    const ImU32 colour = stand_colour(ui, stand);
    const float thick = std::max(1.5f, r * 0.2f);
    switch (stand) {
    case PanelStand::wash: // a warning triangle
        list.AddTriangle({at.x, at.y - r}, {at.x + r * 1.05f, at.y + r * 0.8f},
                         {at.x - r * 1.05f, at.y + r * 0.8f}, colour, thick);
        list.AddLine({at.x, at.y - r * 0.35f}, {at.x, at.y + r * 0.2f}, colour, thick);
        list.AddCircleFilled({at.x, at.y + r * 0.5f}, thick * 0.6f, colour);
        return;
    case PanelStand::no_plan: list.AddCircle(at, r, colour, 0, thick); return; // an empty ring
    case PanelStand::planned:                                                  // a disc that says go
        list.AddCircleFilled(at, r, colour);
        list.AddTriangleFilled({at.x - r * 0.35f, at.y - r * 0.5f}, {at.x + r * 0.6f, at.y},
                               {at.x - r * 0.35f, at.y + r * 0.5f}, ui.c.on_accent);
        return;
    case PanelStand::less: // half a disc
        list.AddCircle(at, r, colour, 0, thick);
        list.PathArcTo(at, r, 0, static_cast<float>(3.14159265));
        list.PathFillConvex(colour);
        return;
    case PanelStand::finish_only: // a ring with a dot
        list.AddCircle(at, r, colour, 0, thick);
        list.AddCircleFilled(at, r * 0.4f, colour);
        return;
    case PanelStand::leave:
        list.AddLine({at.x - r, at.y}, {at.x + r, at.y}, colour, thick * 1.6f);
        return; // a bar
    case PanelStand::touch_up:
        list.AddQuad({at.x, at.y - r}, {at.x + r, at.y}, {at.x, at.y + r}, {at.x - r, at.y}, colour, thick);
        return;
    case PanelStand::done: // a tick
        list.AddRectFilled({at.x - r, at.y - r}, {at.x + r, at.y + r}, colour, r * 0.3f);
        list.AddLine({at.x - r * 0.55f, at.y}, {at.x - r * 0.1f, at.y + r * 0.45f}, ui.c.card, thick);
        list.AddLine({at.x - r * 0.1f, at.y + r * 0.45f}, {at.x + r * 0.6f, at.y - r * 0.45f}, ui.c.card,
                     thick);
        return;
    }
}

// ---- tiles ----------------------------------------------------------------------------------------

/// What is left of the allowance as a bar; what the plan takes of it hatched.
void draw_life(const BoardUi& ui, ImDrawList& list, const Box& bar, const BoardPanel& panel) {
    const Board& board = ui.page.model.board();
    const double all_um = board.vehicle.allowance_um;
    list.AddRectFilled(bar.low(), bar.high(), ui.c.field, ui.px(2));
    if (all_um <= 0) return;
    const auto share = [&](double um) {
        return bar.w * static_cast<float>(std::clamp(um / all_um, 0.0, 1.0));
    };
    const double left_um = board.left_um(panel);
    const bool low = left_um < 0.25 * all_um; // a quarter: one more visit's worth
    list.AddRectFilled(bar.low(), {bar.x + share(left_um), bar.y + bar.h}, low ? ui.c.warn : ui.c.accent,
                       ui.px(2));
    if (!panel.plan || panel.work || panel.plan->film_um <= 0) return;
    const Box takes{bar.x + share(left_um - panel.plan->film_um), bar.y,
                    share(left_um) - share(left_um - panel.plan->film_um), bar.h};
    list.PushClipRect(takes.low(), takes.high(), true);
    for (float x = takes.x - bar.h; x < takes.x + takes.w; x += ui.px(5))
        list.AddLine({x, bar.y + bar.h}, {x + bar.h, bar.y}, ui.c.card, ui.px(2));
    list.PopClipRect();
}

/// A figure with what it is of under it.
void draw_figure(const BoardUi& ui, ImDrawList& list, float x, float y, const std::string& figure,
                 const char* of, ImU32 colour) {
    write(list, ui.f.bold, x, y, colour, figure);
    write(list, ui.f.small, x, y + ui.px(19), ui.c.quiet, of);
}

void draw_tile(const BoardUi& ui, ImDrawList& list, const Box& box, const BoardPanel& panel, bool chosen,
               bool lit) {
    const Board& board = ui.page.model.board();
    const FilmUnit unit = ui.session.settings.unit;
    const ImU32 colour = stand_colour(ui, panel.stand);
    list.AddRectFilled(box.low(), box.high(), lit ? ui.c.field_lit : ui.c.card, ui.px(7));
    list.AddRectFilled(box.low(), {box.x + ui.px(6), box.y + box.h}, colour, ui.px(7),
                       ImDrawFlags_RoundCornersLeft);
    list.AddRect(box.low(), box.high(), chosen ? ui.c.accent : ui.c.line, ui.px(7), 0,
                 ui.px(chosen ? 3.5f : 1));
    const float x = box.x + ui.px(18), w = box.w - ui.px(30);
    float y = box.y + ui.px(7);
    draw_stand(ui, list, {box.x + box.w - ui.px(26), y + ui.px(17)}, ui.px(12), panel.stand);
    const float room = w - ui.px(34);
    const bool fits = width_of(ui.f.large, panel.panel.name) <= room;
    write(list, fits ? ui.f.large : ui.f.bold, x, y + (fits ? 0 : ui.px(5)), ui.c.ink,
          fitted(fits ? ui.f.large : ui.f.bold, panel.panel.name, room));
    y += ui.px(31);
    const std::string extra = panel.stand == PanelStand::done && panel.lost
                                  ? fmt::format(", {} lost", film_sum_words(*panel.lost, unit))
                                  : "";
    write(list, ui.f.bold, x, y, colour == ui.c.quiet ? ui.c.ink : colour,
          fitted(ui.f.bold, std::string(words_of(panel.stand)) + extra, w));
    y += ui.px(23);
    for (const std::string& words :
         {fmt::format("{} marks, {}", panel.marks.empty() ? "unknown" : panel.marks,
                      panel.clean() ? "washed" : "not washed"),
          film_words(panel, unit)}) {
        write(list, ui.f.small, x, y, ui.c.ink, fitted(ui.f.small, words, w));
        y += ui.px(18);
    }
    std::string steps = panel.plan ? steps_words(*panel.plan) : "";
    if (panel.plan && !panel.plan->fault.empty()) steps = panel.plan->fault;
    std::size_t kept = 0;
    if (panel.plan)
        for (const PlanGlance::Step& step : panel.plan->steps) kept += step.kept_off.size();
    if (steps.empty() && panel.plan) steps = "no steps";
    write(list, ui.f.small, x, y, ui.c.ink, fitted(ui.f.small, steps, w));
    y += ui.px(20);
    if (panel.plan && panel.plan->chance_of_target) {
        draw_figure(ui, list, x, y, chance_words(*panel.plan->chance_of_target), "target met", ui.c.ink);
        const double keep = *panel.plan->chance_of_keeping;
        draw_figure(ui, list, x + 0.3f * w, y, chance_words(keep), "reserve kept",
                    keep < board.vehicle.keep_chance ? ui.c.warn : ui.c.ink);
        draw_figure(ui, list, x + 0.645f * w, y, hours_text(panel.plan->time_s),
                    kept == 0   ? "at work"
                    : kept == 1 ? "1 hold-back"
                                : fmt::format("{} hold-backs", kept).c_str(),
                    ui.c.ink);
    } else {
        const std::string left = left_words(board, panel, unit);
        write(list, ui.f.body, x, y + ui.px(8), ui.c.ink, fitted(ui.f.body, left, w));
    }
    draw_life(ui, list, {x, box.y + box.h - ui.px(12), w, ui.px(6)}, panel);
}

void draw_tiles(const BoardUi& ui, const Box& box) {
    RunSession& session = ui.session;
    BoardPage& page = ui.page;
    JobModel& job = page.model;
    begin_card("board tiles", box, ui.c.page, true, {ui.px(14), ui.px(10)});
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float inner = box.w - ui.px(28) - ui.px(10), gap = ui.px(tile_gap);
    const auto columns =
        static_cast<std::size_t>(std::max(1.0f, std::floor((inner + gap) / (ui.px(least_tile) + gap))));
    job.columns = columns;
    const float w = (inner - gap * static_cast<float>(columns - 1)) / static_cast<float>(columns),
                h = ui.px(tile_height);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    static std::size_t followed = 0;
    for (std::size_t k = 0; k < job.board().panels.size(); ++k) {
        const Box tile{from.x + static_cast<float>(k % columns) * (w + gap),
                       from.y + static_cast<float>(k / columns) * (h + gap), w, h};
        ImGui::SetCursorScreenPos(tile.low());
        ImGui::PushID(static_cast<int>(k));
        if (ImGui::InvisibleButton("tile", {w, h})) job.row = k;
        const bool lit = ImGui::IsItemHovered(), twice = lit && ImGui::IsMouseDoubleClicked(0);
        if (k == job.row && std::exchange(followed, k) != k) ImGui::SetScrollHereY();
        ImGui::PopID();
        draw_tile(ui, list, tile, job.board().panels[k], k == job.row, lit);
        if (twice) {
            job.row = k;
            session.act(Action::board_open);
            break;
        }
    }
    if (job.board().panels.empty())
        write(list, ui.f.large, from.x + ui.px(8), from.y + ui.px(20), ui.c.quiet,
              fmt::format("No panel yet. {} adds one.", keys_of(Action::board_add_panel)));
    ImGui::SetCursorScreenPos(
        {from.x,
         from.y + static_cast<float>((job.board().panels.size() + columns - 1) / columns) * (h + gap)});
    ImGui::Dummy({1, 1});
    ImGui::End();
}

// ---- the chosen panel -----------------------------------------------------------------------------

void section(BoardColumn& c, const char* words) {
    c.down(5);
    c.line(c.ui.f.bold, c.ui.c.ink, words);
}

void tell_plan(BoardColumn& c, const BoardPanel& panel) {
    const FilmUnit unit = c.ui.session.settings.unit;
    const PlanGlance& plan = *panel.plan;
    if (!plan.fault.empty()) return c.wrapped(c.ui.f.small, c.ui.c.warn, plan.fault);
    section(c, "Plan");
    c.wrapped(c.ui.f.small, c.ui.c.ink, plan.reason);
    for (std::size_t k = 0; k < plan.steps.size(); ++k) {
        const PlanGlance::Step& step = plan.steps[k];
        c.wrapped(
            c.ui.f.body, c.ui.c.ink,
            fmt::format("{}. {} {} of {}", k + 1, step.sets, step.sets == 1 ? "set" : "sets", step.words));
        c.line(c.ui.f.small, c.ui.c.quiet,
               fmt::format("{} off open ground, {}", film_text(step.open_um, unit), hours_text(step.time_s)),
               c.ui.px(14));
        for (const std::string& kept : step.kept_off)
            c.wrapped(c.ui.f.small, c.ui.c.warn, "\u2022 " + kept, c.ui.px(14));
    }
    const auto list = [&](const char* heading, const std::vector<std::string>& all) {
        if (all.empty()) return;
        section(c, heading);
        for (const std::string& one : all) c.wrapped(c.ui.f.small, c.ui.c.ink, "\u2022 " + one);
    };
    list("Stays at risk", plan.at_risk);
    list("Unsure", plan.doubts);
}

void tell_panel(BoardColumn& c, const BoardPanel& panel) {
    RunSession& session = c.ui.session;
    BoardPage& page = c.ui.page;
    const FilmUnit unit = session.settings.unit;
    c.line(c.ui.f.large, c.ui.c.ink, panel.panel.name);
    c.line(c.ui.f.small, c.ui.c.quiet, fmt::format("{}, {} paint", panel.shape, panel.paint));
    c.down(2);
    const auto button = [&](const char* id, const std::string& words, Action action, bool on,
                            const std::string& hint) {
        if (press(c.ui, id, with_key(words, action), c.row(26), on, hint)) session.act(action);
        c.down(30);
    };
    const bool clean = panel.clean();
    button("clean", clean ? "Washed and decontaminated" : "Not washed yet: mark it clean",
           Action::board_clean, !clean, "");
    button("marks", panel.marks.empty() ? "Say which marks it has" : fmt::format("Marks: {}", panel.marks),
           Action::board_marks, false, "");
    button("readings",
           fmt::format("Gauge: {}", panel.readings.empty()
                                        ? "enter readings"
                                        : fmt::format("{} on file", panel.readings.size())),
           Action::board_readings, false, "");
    button("work", panel.work ? "Work: noted" : "Note work as done", Action::board_work, false, "");
    button("open", "See it with its step", Action::board_open, true, "Also by a double click");
    section(c, "Film");
    c.wrapped(c.ui.f.small, c.ui.c.ink, film_words(panel, unit));
    c.wrapped(c.ui.f.small, c.ui.c.ink,
              left_words(page.model.board(), panel, unit) +
                  (panel.plan && !panel.work && panel.plan->film_um > 0
                       ? fmt::format("; the plan takes {}", film_text(panel.plan->film_um, unit))
                       : ""));
    if (panel.tries > 0)
        c.line(c.ui.f.small, c.ui.c.quiet,
               fmt::format("{} on test squares",
                           panel.tries == 1 ? "1 try" : fmt::format("{} tries", panel.tries)));
    if (panel.work) {
        section(c, "Done");
        c.wrapped(c.ui.f.small, c.ui.c.ink, panel.work->done.empty() ? "not said" : panel.work->done);
        if (panel.lost)
            c.wrapped(c.ui.f.small, c.ui.c.ink, film_sum_words(*panel.lost, unit) + " of film lost");
    }
    if (panel.plan) tell_plan(c, panel);
    for (const std::string& note : {panel.panel.note, panel.at ? panel.at->note : std::string()})
        if (!note.empty()) c.wrapped(c.ui.f.small, c.ui.c.quiet, note);
}

void draw_side(const BoardUi& ui, const Box& box) {
    begin_card("board panel", box, ui.c.card, true, {0, ui.px(10)});
    BoardColumn c(ui, box);
    if (const BoardPanel* panel = ui.page.model.panel()) tell_panel(c, *panel);
    section(c, "Cautions");
    for (const std::string_view caution : cautions)
        c.wrapped(ui.f.small, ui.c.quiet, "\u2022 " + std::string(caution));
    c.end();
    ImGui::End();
}

// ---- head and foot --------------------------------------------------------------------------------

std::string counts_words(const Board& board) {
    const int all = static_cast<int>(board.panels.size()), dirty = board.count(PanelStand::wash),
              done = board.count(PanelStand::done);
    std::string words = fmt::format("{} of {} done", done, all);
    if (dirty > 0) words += fmt::format(" \u00b7 {} to wash", dirty);
    if (board.planned_s() > 0)
        words += fmt::format(" \u00b7 {} at work planned", hours_text(board.planned_s()));
    return words;
}

void draw_head(const BoardUi& ui, const Box& box) {
    RunSession& session = ui.session;
    BoardPage& page = ui.page;
    JobModel& job = page.model;
    const Board& board = job.board();
    begin_card("board head", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float pad = ui.px(16), half = box.w * 0.42f;
    write(list, ui.f.large, pad, ui.px(8), ui.c.ink, fitted(ui.f.large, board.vehicle.name, half - pad));
    const std::string kind = job.read_only() ? "To look at only: the file is not to be written"
                                             : job.file().path().filename().string();
    write(list, ui.f.small, pad, ui.px(40), job.read_only() ? ui.c.warn : ui.c.quiet,
          fitted(ui.f.small,
                 board.vehicle.description.empty() ? kind : kind + " \u00b7 " + board.vehicle.description,
                 half - pad));
    write(list, ui.f.bold, pad, ui.px(63), ui.c.ink, fitted(ui.f.bold, counts_words(board), half - pad));

    const float gap = ui.px(6), h = ui.px(32), right = box.w - pad, row = ui.px(10), below = ui.px(50);
    const auto place = [&](float x, float y, float w) { return Box{box.x + x, box.y + y, w, h}; };
    const float from = half + ui.px(10), arrow = ui.px(34),
                named = right - from - 2 * (arrow + gap) - ui.px(104) - gap;
    if (press(ui, "before", "\u2190", place(from, row, arrow), false,
              with_key("Visit before", Action::board_visit_before)))
        session.act(Action::board_visit_before);
    list.AddRectFilled({from + arrow + gap, row}, {from + arrow + gap + named, row + h}, ui.c.field,
                       ui.px(4));
    std::string visit = "no visit yet";
    if (board.visit) {
        const auto at = std::ranges::find(board.visits, board.visit->id, &Visit::id) - board.visits.begin();
        visit = fmt::format("{}   {} of {}", visit_words(*board.visit), at + 1, board.visits.size());
    }
    write(list, ui.f.bold, from + arrow + gap + named / 2, row + (h - ui.f.bold->FontSize) / 2, ui.c.ink,
          fitted(ui.f.bold, visit, named - ui.px(12)), Align::centre);
    if (press(ui, "after", "\u2192", place(from + arrow + 2 * gap + named, row, arrow), false,
              with_key("Next visit", Action::board_visit_after)))
        session.act(Action::board_visit_after);
    if (press(ui, "visit", with_key("Visit", Action::board_add_visit),
              place(right - ui.px(104), row, ui.px(104)), !board.visit, "Adds a visit"))
        session.act(Action::board_add_visit);

    struct Button {
        const char* id;
        std::string words;
        Action action;
        bool on;
    };
    const bool panels = job.page == BoardPart::panels;
    const Button buttons[] = {
        {"plan",
         with_key(job.planning() ? "Planning" : "Plan",
                  job.planning() ? Action::board_call_off : Action::board_plan),
         job.planning() ? Action::board_call_off : Action::board_plan, !job.planning()},
        {"totals", panels ? with_key("Totals", Action::board_totals) : "Panels  Esc",
         panels ? Action::board_totals : Action::close, false},
        {"panel", with_key("Panel", Action::board_add_panel), Action::board_add_panel, false},
        {"sheet", with_key("Sheet", Action::board_sheet), Action::board_sheet, false},
        {"undo", "Undo", Action::job_undo, false},
        {"redo", "Redo", Action::job_redo, false},
        {"bench", with_key("Bench", Action::board), Action::board, false}};
    const float w = (right - from - gap * 6) / 7;
    for (std::size_t k = 0; k < std::size(buttons); ++k) {
        const Button& b = buttons[k];
        const bool enabled = b.action == Action::job_undo   ? job.can_undo()
                             : b.action == Action::job_redo ? job.can_redo()
                                                            : true;
        const std::string hint =
            b.action == Action::job_undo || b.action == Action::job_redo ? keys_of(b.action) : "";
        if (press(ui, b.id, b.words, place(from + static_cast<float>(k) * (w + gap), below, w), b.on, hint,
                  enabled))
            session.act(b.action);
    }
    list.AddLine({0, box.h - 1}, {box.w, box.h - 1}, ui.c.line);
    ImGui::End();
}

void draw_foot(const BoardUi& ui, const Box& box) {
    RunSession& session = ui.session;
    BoardPage& page = ui.page;
    const JobModel& job = page.model;
    begin_card("board foot", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddLine(box.low(), {box.x + box.w, box.y}, ui.c.line);
    const float pad = ui.px(16);
    if (job.planning()) {
        draw_progress(ui, {box.x + pad, box.y + ui.px(8), box.w - 2 * pad, ui.px(30)}, job.planned_share(),
                      fmt::format("Planning: {:.0f} %, {}.  {} calls it off",
                                  100 * static_cast<double>(job.planned_share()), job.planned_panel(),
                                  keys_of(Action::board_call_off)));
    } else {
        std::string said = session.notice;
        if (said.empty())
            if (const auto since = job.board().edits_since_plan; since && *since > 0)
                said = fmt::format("{} since the plan was made: it does not know of {}",
                                   *since == 1 ? "1 entry" : fmt::format("{} entries", *since),
                                   *since == 1 ? "it" : "them");
        const std::string first = said.empty() ? std::string(estimate_notice) : said;
        write(list, said.empty() ? ui.f.small : ui.f.bold, box.x + pad, box.y + ui.px(4), ui.c.ink,
              fitted(said.empty() ? ui.f.small : ui.f.bold, first, box.w - 2 * pad));
        const std::size_t turn =
            job.row %
            cautions.size(); // all of them stand in the card at the right, where it may have to be scrolled
        const std::string words =
            fmt::format("{} {}", cautions[turn], cautions[(turn + 1) % cautions.size()]);
        write(list, ui.f.small, box.x + pad, box.y + ui.px(25), ui.c.quiet,
              fitted(ui.f.small, words, box.w - 2 * pad));
    }
    ImGui::End();
}

} // namespace

void draw_board(const BoardUi& ui, float width, float height) {
    const JobModel& job = ui.page.model;
    const float head = ui.px(head_height), foot = ui.px(foot_height), side = ui.px(side_width);
    const Box body{0, head, width, height - head - foot};
    draw_head(ui, {0, 0, width, head});
    draw_foot(ui, {0, height - foot, width, foot});
    switch (job.page) {
    case BoardPart::panels:
        draw_tiles(ui, {0, body.y, width - side, body.h});
        draw_side(ui, {width - side, body.y, side, body.h});
        break;
    case BoardPart::readings: draw_readings(ui, body); break;
    case BoardPart::plan: draw_plan_page(ui, body); break;
    }
}

void draw_job_marks(const BoardUi& ui, ImDrawList& list, const Box& stage, const PlaceOnPanel& place) {
    const RunSession& session = ui.session;
    const BoardPage& page = ui.page;
    const BoardPanel* panel = page.opened_panel();
    if (!panel || session.in_lesson) return;
    std::vector<ImVec2> taken;
    for (const FilmReading& reading : panel->film) {
        const std::optional<ImVec2> at = place({reading.x_m, reading.y_m});
        if (!at) continue;
        const float r = ui.px(4.5f);
        list.AddCircleFilled(*at, r, ui.c.card);
        list.AddCircle(*at, r, ui.c.ink, 0, ui.px(1.8f));
        const bool free = std::ranges::none_of(taken, [&](ImVec2 t) {
            return std::abs(t.x - at->x) < ui.px(38) && std::abs(t.y - at->y) < ui.px(18);
        });
        if (!free) continue;
        taken.push_back(*at);
        const std::string words = session.settings.unit == FilmUnit::mil
                                      ? fmt::format("{:.2f}", reading.film_um / 25.4)
                                      : fmt::format("{:.0f}", reading.film_um);
        const float w = width_of(ui.f.small, words) / 2 + ui.px(3), y = at->y + r + ui.px(2);
        list.AddRectFilled({at->x - w, y}, {at->x + w, y + ui.f.small->FontSize},
                           with_alpha(ui.c.card, 0.85f), ui.px(3));
        write(list, ui.f.small, at->x, y - ui.px(1), ui.c.ink, words, Align::centre);
    }
    if (session.mouse_taken() || session.view.hand) return; // what the mouse does stands there
    const auto& opened = *page.opened();
    std::string words = fmt::format("{}   {} board", panel->panel.name, keys_of(Action::board));
    if (opened.steps > 1)
        words += fmt::format(", {} {} step {} of {}", keys_of(Action::step_before),
                             keys_of(Action::step_after), opened.step + 1, opened.steps);
    if (opened.steps == 0) words += ": no planned step, a polish stands in";
    else if (panel->plan && opened.step < panel->plan->steps.size())
        words += fmt::format(": {} x {}", panel->plan->steps[opened.step].sets,
                             panel->plan->steps[opened.step].words);
    const std::string shown = fitted(ui.f.bold, words, stage.w - ui.px(140));
    const float w = width_of(ui.f.bold, shown) + ui.px(24);
    list.AddRectFilled({stage.x + ui.px(12), stage.y + ui.px(10)},
                       {stage.x + ui.px(12) + w, stage.y + ui.px(38)}, with_alpha(ui.c.card, 0.92f),
                       ui.px(6));
    list.AddRect({stage.x + ui.px(12), stage.y + ui.px(10)}, {stage.x + ui.px(12) + w, stage.y + ui.px(38)},
                 ui.c.accent, ui.px(6), 0, ui.px(1.5f));
    write(list, ui.f.bold, stage.x + ui.px(24), stage.y + ui.px(14), ui.c.ink, shown);
}

void BoardPage::draw(const Ui& ui, float width, float height) {
    draw_board({ui, *this}, width, height);
    draw_board_form({ui, *this}, width, height);
}

void BoardPage::draw_over_panel(const Ui& ui, ImDrawList& list, const Box& stage, const PlaceOnPanel& place) {
    draw_job_marks({ui, *this}, list, stage, place);
}

} // namespace sparecoat::view::board
