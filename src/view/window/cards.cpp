#include "view/window/cards.hpp"
#include "decide/cautions.hpp"
#include "picture/heatmap.hpp"
#include "picture/map_drawing.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include "view/window/chart_painter.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view {
namespace {

constexpr float headline_height = 66, technique_width = 322, right_width = 286, maps_height = 196,
                time_height = 106, strips_height = 128, lesson_height = 148, profile_height = 212,
                section_height = 246, advice_width = 344;

/// Caption over a large figure with a quieter remark behind it. @return width taken.
float draw_fact(const Ui& ui, float x, float y, const std::string& caption, const std::string& figure,
                ImU32 colour, const std::string& remark, float width) {
    ImDrawList& list = *ImGui::GetWindowDrawList();
    write(list, ui.f.small, x, y + ui.px(7), ui.c.quiet, caption);
    const float taken = write(list, ui.f.large, x, y + ui.px(25), colour, figure);
    if (remark.empty()) return taken;
    const float left = width - taken - ui.px(12);
    return taken + ui.px(12) +
           write(list, ui.f.body, x + taken + ui.px(12), y + ui.px(33), ui.c.ink,
                 fitted(ui.f.body, remark, left));
}

} // namespace

void draw_key_mark(const Ui& ui, const Box& button, const std::string& key, bool on) {
    const float size = ui.px(10.5f);
    ImGui::GetWindowDrawList()->AddText(ui.f.small, size, {button.x + ui.px(4), button.y + ui.px(2)},
                                        on ? ui.c.on_accent : ui.c.quiet, key.c_str());
}

bool draw_card(const Ui& ui, CardPlace place, const Box& box) {
    return std::ranges::any_of(ui.session.pages(),
                               [&](Page* page) { return page->draw_card(ui, place, box); });
}

Layout lay_out(float width, float height, float s, bool cards, bool strip_charts, bool lesson, bool profile,
               bool section) {
    Layout out;
    out.headline = {0, 0, width, headline_height * s};
    out.time = {0, height - time_height * s, width, time_height * s};
    const float top = out.headline.h, below = (profile        ? profile_height
                                               : section      ? section_height
                                               : strip_charts ? strips_height
                                                              : 0) *
                                              s;
    const float telling = lesson ? lesson_height * s : 0;
    const float bottom = out.time.y - below - telling, left = cards ? technique_width * s : 0,
                right = cards ? (section ? advice_width : right_width) * s : 0;
    if (cards) {
        out.technique = {0, top, left, out.time.y - top};
        out.maps = {width - right, top, right, maps_height * s};
        out.spot = {width - right, top + out.maps.h, right, out.time.y - top - out.maps.h};
    }
    const float before = 248 * s, after = 376 * s; // the transport's buttons, and those at the right
    out.track = {before, out.time.y + 20 * s, width - before - after, 40 * s};
    out.strips = {left, out.time.y - below, width - left - right, below};
    out.lesson = {left, bottom, width - left - right, telling};
    out.stage = {left, top, width - left - right, bottom - top};
    out.legend = {out.stage.x + out.stage.w - legend_width * s, top, legend_width * s, out.stage.h};
    return out;
}

void draw_headline(const Ui& ui, const Box& box) {
    const RunSession& session = ui.session;
    begin_card("headline", box, ui.c.card);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const FilmUnit unit = session.settings.unit;
    const float pad = ui.px(16), time_width = ui.px(190);
    float x = pad;
    const std::string open =
        session.verdict ? film_text(session.verdict->open.median_um, unit) : film_text(0, unit);
    draw_fact(ui, x, box.y, "Open panel loses", open, ui.c.ink, "", ui.px(170));
    x += std::max(ui.px(172), width_of(ui.f.large, open) + ui.px(28));
    const float worst_width = box.w - x - time_width - pad;
    if (session.verdict && !session.verdict->worst.empty()) {
        const SpotAtRisk& worst = session.verdict->worst.front();
        const bool through = worst.clear_left_um <= 0;
        const std::string figure = through ? "through the clear" : film_text(worst.removed_um, unit);
        const std::string remark =
            through ? worst.place
                    : fmt::format("{:.0f} % of its clear \u00b7 {}", 100 * worst.share(), worst.place);
        const bool warn =
            through || worst.share() > 0.25; // a quarter of the clear: beyond what is usually tolerated
        float at = x;
        if (warn) { // the shape says it too
            const float a = ui.px(11), cy = box.y + ui.px(39);
            list.AddTriangle({at + a, cy - a}, {at + 2 * a, cy + a * 0.8f}, {at, cy + a * 0.8f}, ui.c.warn,
                             ui.px(2.5f));
            write(list, ui.f.bold, at + a, cy - ui.px(9), ui.c.warn, "!", Align::centre);
            at += 2 * a + ui.px(8);
        }
        draw_fact(ui, at, box.y, "Worst spot loses", figure, warn ? ui.c.warn : ui.c.ink, remark,
                  worst_width - (at - x));
    } else {
        draw_fact(ui, x, box.y, "Worst spot loses", "\u2013", ui.c.quiet, "nothing taken off yet",
                  worst_width);
    }
    const std::string clock = clock_text(session.view.t_s);
    const std::string of =
        session.view.hand ? "by hand" : fmt::format("of {}", clock_text(session.view.end_s));
    draw_fact(ui, box.w - time_width, box.y, "Time at the panel", clock, ui.c.ink, of, time_width - pad);
    list.AddLine({0, box.h - 1}, {box.w, box.h - 1}, ui.c.line);
    ImGui::End();
}

// ---- maps -----------------------------------------------------------------------------------------

const char* short_name(MapKind kind) {
    constexpr const char* words[map_kinds] = {"Film lost", "Clear left", "Pressure",  "Pad speed", "Contact",
                                              "Friction",  "Heat now",   "Heat peak", "Chance"};
    return words[static_cast<std::size_t>(kind)];
}

void draw_map_chooser(const Ui& ui, const Box& box) {
    RunSession& session = ui.session;
    begin_card("maps", box, ui.c.card);
    constexpr Action actions[map_kinds] = {
        Action::map_film_lost,   Action::map_clear_left,       Action::map_pressure,
        Action::map_speed,       Action::map_contact,          Action::map_work,
        Action::map_temperature, Action::map_peak_temperature, Action::map_chance};
    const float pad = ui.px(14), gap = ui.px(6), w = (box.w - 2 * pad - 2 * gap) / 3, h = ui.px(30);
    float y = box.y + ui.px(10);
    for (int k = 0; k < map_kinds; ++k) {
        const Box at{box.x + pad + static_cast<float>(k % 3) * (w + gap),
                     y + static_cast<float>(k / 3) * (h + gap), w, h};
        const auto kind = static_cast<MapKind>(k);
        const bool on = session.shows_map() && session.settings.map == kind;
        if (press(ui, short_name(kind), short_name(kind), at, on,
                  fmt::format("{}  {}, {}", keys_of(actions[k]), map_info(kind).name, map_info(kind).unit)))
            session.act(actions[k]);
        draw_key_mark(ui, at, keys_of(actions[k]), on);
    }
    y += 3 * (h + gap) + ui.px(2);
    const float third = (box.w - 2 * pad - 2 * gap) / 3, low = ui.px(28);
    const auto hint = [](const char* what, Action action) {
        return fmt::format("{}  {}", what, keys_of(action));
    };
    if (press(ui, "unit", session.settings.unit == FilmUnit::um ? "µm" : "mil", {box.x + pad, y, third, low},
              false, hint("Film in µm or mil", Action::toggle_unit)))
        session.act(Action::toggle_unit);
    if (press(ui, "range", session.range_locked() ? "range held" : "range free",
              {box.x + pad + third + gap, y, third, low}, session.range_locked(),
              hint("Hold the colour range or let it follow", Action::lock_range)))
        session.act(Action::lock_range);
    if (press(ui, "contours", "contours", {box.x + pad + 2 * (third + gap), y, third, low},
              session.settings.contours, hint("Contour lines", Action::toggle_contours)))
        session.act(Action::toggle_contours);
    draw_card(ui, CardPlace::below_maps, {box.x + pad, y + low + gap, box.w - 2 * pad, low});
    ImGui::End();
}

/// What tape looks like on the panel, its right end at x.
void draw_tape_mark(const Ui& ui, ImDrawList& list, float right, float y) {
    const Box patch{right - ui.px(28), y, ui.px(28), ui.px(16)};
    list.PushClipRect(patch.low(), patch.high(), true);
    list.AddRectFilled(patch.low(), patch.high(), IM_COL32(237, 224, 178, 255));
    for (float x = patch.x - patch.h; x < patch.x + patch.w; x += ui.px(7))
        list.AddLine({x, patch.y}, {x + patch.h, patch.y + patch.h}, IM_COL32(178, 153, 92, 255),
                     ui.px(2.2f));
    list.PopClipRect();
    list.AddRect(patch.low(), patch.high(), ui.c.quiet);
    write(list, ui.f.small, patch.x - ui.px(6), y, ui.c.ink, "tape", Align::right);
}

void draw_legend(const Ui& ui, const Box& box) {
    const RunSession& session = ui.session;
    ImDrawList& list = *ImGui::GetBackgroundDrawList();
    draw_card(ui, CardPlace::legend, box);
    if (!session.shows_map()) {
        if (session.shown->taped)
            draw_tape_mark(ui, list, box.x + box.w - ui.px(14), box.y + box.h - ui.px(34));
        return;
    }
    const MapInfo& info = map_info(session.settings.map);
    const ColourMap& colours = colours_of(session.settings.map);
    const bool taped = session.shown->taped != nullptr;
    const bool heat = &colours == &temperature_colours(),
               worse = info.film || session.settings.map == MapKind::chance;
    const char* end = info.low_is_bad ? "\u2193 thin"
                      : heat          ? "\u2191 hotter"
                      : worse         ? "\u2191 worse"
                                      : "\u2191 more";
    draw_colour_bar(
        ui, list, box,
        {colours, session.scale, session.settings.map == MapKind::chance ? "Burning through" : info.name,
         session.unit_text(), session.settings.contours ? session.scale.ticks : std::vector<double>{},
         session.range_locked() ? fmt::format("held  {}", end) : end},
        taped ? 68.0f : 40.0f);
    if (taped) draw_tape_mark(ui, list, box.x + box.w - ui.px(14), box.y + box.h - ui.px(34));
}

// ---- on the panel ---------------------------------------------------------------------------------

void draw_mode(const Ui& ui, ImDrawList& list, const Box& stage, const std::string& words) {
    const std::string shown = fitted(ui.f.bold, words, stage.w - ui.px(56));
    const float w = width_of(ui.f.bold, shown) + ui.px(28);
    list.AddRectFilled({stage.x + ui.px(14), stage.y + ui.px(12)},
                       {stage.x + ui.px(14) + w, stage.y + ui.px(42)}, ui.c.accent, ui.px(15));
    write(list, ui.f.bold, stage.x + ui.px(28), stage.y + ui.px(17), ui.c.on_accent, shown);
}

void draw_words_below(const Ui& ui, ImDrawList& list, const Box& box, const std::string& words) {
    const std::string shown = fitted(ui.f.body, words, box.w - ui.px(60));
    const float w = width_of(ui.f.body, shown) + ui.px(28), x = box.x + (box.w - w) / 2,
                y = box.y + box.h - ui.px(46);
    list.AddRectFilled({x, y}, {x + w, y + ui.px(32)}, ui.c.ink, ui.px(6));
    write(list, ui.f.body, x + ui.px(14), y + ui.px(6), ui.c.card, shown);
}

void draw_notice(const Ui& ui, const Box& box) {
    if (!ui.session.notice.empty() && !ui.session.dialog())
        draw_words_below(ui, *ImGui::GetForegroundDrawList(), box, ui.session.notice);
}

void draw_stage_marks(const Ui& ui, const Box& stage) {
    const RunSession& session = ui.session;
    ImDrawList& list = *ImGui::GetBackgroundDrawList();
    list.PushClipRect(stage.low(), stage.high(), true);
    const float aspect = stage.w / stage.h;
    const auto place = [&](Point2 at) -> std::optional<ImVec2> {
        const auto height = static_cast<float>(height_at(session.shown->panel, at)) + 0.001f;
        const glm::vec3 p =
            session.camera.project({static_cast<float>(at.x), static_cast<float>(at.y), height}, aspect);
        if (p.z < 0 || !faces(session.shown->panel, at, session.camera.eye())) return {};
        return ImVec2{stage.x + p.x * stage.w, stage.y + p.y * stage.h};
    };
    std::vector<ImVec2> taken;
    const auto is_free = [&](ImVec2 at, float room) {
        return std::none_of(taken.begin(), taken.end(), [&](ImVec2 t) {
            return std::abs(t.x - at.x) < room && std::abs(t.y - at.y) < room * 0.6f;
        });
    };
    const std::vector<Point2> pins = session.pins();
    if (session.shows_map())
        for (std::size_t k = 0; k < pins.size(); ++k) {
            const std::optional<ImVec2> foot = place(pins[k]);
            if (!foot) continue;
            const ImVec2 at{foot->x, foot->y - ui.px(pin_head)};
            taken.push_back(at);
            list.AddLine(*foot, at, ui.c.ink, ui.px(2));
            list.AddCircleFilled(at, ui.px(pin_size), ui.c.ink);
            list.AddCircle(at, ui.px(pin_size), ui.c.card, 0, ui.px(1.5f));
            write(list, ui.f.bold, at.x, at.y - ui.f.bold->FontSize / 2, ui.c.card, fmt::format("{}", k + 1),
                  Align::centre);
        }
    if (session.shows_map() && session.settings.contours)
        for (const ContourNumber& label : session.contour_labels) {
            const std::optional<ImVec2> at = place(label.at);
            if (!at || !is_free(*at, ui.px(36))) continue; // the view may have turned since they were placed
            taken.push_back(*at);
            const std::string& number = label.text;
            const float w = width_of(ui.f.small, number) / 2 + ui.px(4),
                        h = ui.f.small->FontSize / 2 + ui.px(1);
            list.AddRectFilled({at->x - w, at->y - h}, {at->x + w, at->y + h}, with_alpha(ui.c.card, 0.85f),
                               ui.px(3));
            write(list, ui.f.small, at->x, at->y - ui.f.small->FontSize / 2, ui.c.ink, number, Align::centre);
        }
    for (Page* page : ui.session.pages()) page->draw_over_panel(ui, list, stage, place);
    if (session.view.hand) {
        const std::string words =
            fmt::format("Hand mode   {:.0f} N   {}", session.hand_force_n,
                        session.trigger_key || session.trigger_button ? "running" : "trigger off");
        draw_mode(ui, list, stage, words);
    }
    if (!session.notice.empty()) {
        const float room =
            stage.w - (session.draw_map ? ui.px(legend_width) : 0); // the legend stays readable
        draw_words_below(ui, list, {stage.x, stage.y, room, stage.h}, session.notice);
    }
    list.PopClipRect();
}

void draw_timing(const Ui& ui, const Box& stage, const FrameTimes& t) {
    ImDrawList& list = *ImGui::GetForegroundDrawList();
    const auto ms = [](double value) { return fmt::format("{:.1f} ms", value); };
    struct Line {
        const char* part;
        std::string time, count;
    };
    const Line lines[] = {
        {"frame", ms(t.whole_ms), fmt::format("{:.0f} a second", t.whole_ms > 0 ? 1000 / t.whole_ms : 0)},
        {"run", ms(t.update_ms), ""},
        {"panel", ms(t.scene_ms), fmt::format("{} draws", t.draws)},
        {"upload", fmt::format("{:.0f} kB", t.uploaded_kb), fmt::format("{} tiles", t.tiles)},
        {"cards", ms(t.cards_ms), ""},
        {"type", ms(t.gui_ms), ""},
        {"swap", ms(t.swap_ms), ""}};
    const float x = stage.x + ui.px(14), row = ui.px(19);
    float y = stage.y + ui.px(52);
    list.AddRectFilled({x, y}, {x + ui.px(250), y + row * static_cast<float>(std::size(lines)) + ui.px(14)},
                       with_alpha(ui.c.card, 0.92f), ui.px(5));
    y += ui.px(7);
    for (const Line& line : lines) {
        write(list, ui.f.small, x + ui.px(10), y, ui.c.quiet, line.part);
        write(list, ui.f.small, x + ui.px(138), y, ui.c.ink, line.time, Align::right);
        write(list, ui.f.small, x + ui.px(240), y, ui.c.ink, line.count, Align::right);
        y += row;
    }
}

// ---- help and messages ----------------------------------------------------------------------------

void draw_help(const Ui& ui, float width, float height) {
    if (!ui.session.help) return;
    const float w = std::min(width - ui.px(40), ui.px(1220)), h = std::min(height - ui.px(30), ui.px(690));
    const Box box{(width - w) / 2, (height - h) / 2, w, h};
    begin_dialog(ui, "help", box, width, height);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float pad = ui.px(24), columns = 4, column = (w - 2 * pad) / columns, row = ui.px(17.2f);
    std::vector<KeyBinding> table; // what counts where one is
    const KeyContext page = ui.session.key_context();
    const bool board = page == KeyContext::board || page == KeyContext::readings;
    const auto of_a_page = [](KeyContext context) { return context >= KeyContext::board; };
    for (const KeyBinding& binding : key_bindings()) {
        const bool of_board = binding.context == KeyContext::board || binding.context == KeyContext::readings;
        const bool here = board                        ? of_board
                          : page == KeyContext::always ? !of_a_page(binding.context)
                                                       : binding.context == page;
        if (here || (page != KeyContext::always && binding.context == KeyContext::always &&
                     works_on(page, binding.action)))
            table.push_back(binding);
    }
    write(list, ui.f.large, box.x + pad, box.y + ui.px(12), ui.c.ink,
          board                         ? "Keys of the board"
          : page == KeyContext::compare ? "Keys side by side"
          : page == KeyContext::charts  ? "Keys of the charts"
                                        : "Keys");
    write(list, ui.f.small, box.x + w - pad, box.y + ui.px(20), ui.c.quiet, "Esc closes", Align::right);
    // Groups are kept whole: a column is begun anew where the next group would not fit.
    const float top = box.y + ui.px(50), foot = box.y + h - ui.px(119);
    float x = box.x + pad, y = top;
    for (std::size_t k = 0; k < table.size();) {
        std::size_t end = k;
        while (end < table.size() && std::string_view(table[end].group) == table[k].group) ++end;
        std::vector<const KeyBinding*> shown; // one row an action, with all its keys
        for (std::size_t n = k; n < end; ++n)
            if (shown.empty() || std::none_of(shown.begin(), shown.end(),
                                              [&](auto* b) { return b->action == table[n].action; }))
                shown.push_back(&table[n]);
        if (y + row * (static_cast<float>(shown.size()) + 1.2f) > foot && y > top &&
            x + column < box.x + w - pad - 1)
            x += column, y = top;
        write(list, ui.f.bold, x, y, ui.c.accent, table[k].group);
        y += row * 1.15f;
        for (const KeyBinding* binding : shown) {
            write(list, ui.f.small, x, y, ui.c.ink, keys_of(binding->action));
            write(list, ui.f.small, x + ui.px(106), y, ui.c.quiet,
                  fitted(ui.f.small, binding->words, column - ui.px(110)));
            y += row;
        }
        y += row * 0.45f;
        k = end;
    }
    y = foot + ui.px(8);
    list.AddLine({box.x + pad, y - ui.px(6)}, {box.x + w - pad, y - ui.px(6)}, ui.c.line);
    write(list, ui.f.bold, box.x + pad, y, ui.c.ink, std::string(estimate_notice));
    y += ui.px(25);
    const float half = (w - 2 * pad) / 2;
    for (std::size_t side = 0; side < 2; ++side) { // in two columns
        float line = y;
        const std::size_t first = side * cautions.size() / 2, end = (side + 1) * cautions.size() / 2;
        for (std::size_t k = first; k < end; ++k)
            line += write_wrapped(list, ui.f.small, box.x + pad + static_cast<float>(side) * half, line,
                                  ui.c.quiet, "\u2022 " + std::string(cautions[k]), half - ui.px(14)) +
                    ui.px(3);
    }
    end_dialog();
}

void draw_question(const Ui& ui, float width, float height) {
    if (!ui.session.asks() || !ui.session.messages.empty()) return;
    const float w = std::min(ui.px(560), width - ui.px(40)), inner = w - ui.px(48), h = ui.px(150);
    const Box box{(width - w) / 2, (height - h) / 2, w, h};
    begin_dialog(ui, "question", box, width, height);
    ImGui::PushFont(ui.f.bold);
    const bool stroke = ui.session.asks_about() == RunSession::Unsaved::stroke;
    ImGui::TextUnformatted(stroke ? "The stroke by hand is not saved" : "The record has no file yet");
    ImGui::PopFont();
    ImGui::Dummy({1, ui.px(2)});
    ImGui::PushTextWrapPos(inner);
    ImGui::TextUnformatted("Go on without saving it, and it is lost.");
    ImGui::PopTextWrapPos();
    const float gap = ui.px(8), bw = (w - ui.px(48) - 2 * gap) / 3, by = box.y + h - ui.px(52);
    const auto place = [&](int n) {
        return Box{box.x + ui.px(24) + static_cast<float>(n) * (bw + gap), by, bw, ui.px(34)};
    };
    std::optional<RunSession::Answer> given;
    if (press(ui, "back", "Go back  Esc", place(0))) given = RunSession::Answer::go_back;
    if (press(ui, "drop", "Drop it  D", place(1))) given = RunSession::Answer::drop;
    if (press(ui, "save", "Save it  Enter", place(2), true)) given = RunSession::Answer::save;
    end_dialog();
    if (given) ui.session.answer(*given);
}

void draw_message(const Ui& ui, float width, float height) {
    if (ui.session.messages.empty()) return;
    const std::string& message = ui.session.messages.front();
    const float w = std::min(ui.px(640), width - ui.px(40)), inner = w - ui.px(48);
    const ImVec2 size = ui.f.body->CalcTextSizeA(ui.f.body->FontSize, FLT_MAX, inner, message.c_str());
    const float h = std::min(size.y + ui.px(118), height - ui.px(40));
    const Box box{(width - w) / 2, (height - h) / 2, w, h};
    begin_dialog(ui, "message", box, width, height);
    ImGui::PushFont(ui.f.bold);
    ImGui::TextUnformatted("That cannot be used");
    ImGui::PopFont();
    ImGui::Dummy({1, ui.px(2)});
    ImGui::BeginChild("words", {inner, h - ui.px(106)});
    ImGui::PushTextWrapPos(inner);
    ImGui::TextUnformatted(message.c_str());
    ImGui::PopTextWrapPos();
    ImGui::EndChild();
    if (press(ui, "close", "Close",
              {box.x + w - ui.px(24 + 110), box.y + h - ui.px(46), ui.px(110), ui.px(32)}, true))
        ui.session.act(Action::close);
    end_dialog();
}

} // namespace sparecoat::view
