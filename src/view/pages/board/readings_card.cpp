// Gauge readings entered spot by spot: the panel as a map with its spots, what is typed, what is on file.
#include "units/quantity.hpp"
#include "view/pages/board/board_cards.hpp"
#include "view/pages/board/board_words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::board {
namespace {

constexpr float readings_side_width = 372;

/// A film without its unit, as short as a gauge shows it.
std::string bare_film(double um, FilmUnit unit) {
    return unit == FilmUnit::mil  ? fmt::format("{:.2f}", um / um_per_mil)
           : um == std::round(um) ? fmt::format("{:.0f}", um)
                                  : fmt::format("{:.1f}", um);
}

/// The panel in a box, v upwards.
class PanelMap {
public:
    PanelMap(const Panel& panel, const Box& box) {
        Point2 low = panel.outline.front().points.front(), high = low;
        for (const Point2 p : panel.outline.front().points) {
            low = {std::min(low.x, p.x), std::min(low.y, p.y)};
            high = {std::max(high.x, p.x), std::max(high.y, p.y)};
        }
        scale_ =
            std::min(box.w / static_cast<float>(high.x - low.x), box.h / static_cast<float>(high.y - low.y));
        x_ = box.x + (box.w - scale_ * static_cast<float>(high.x - low.x)) / 2 -
             scale_ * static_cast<float>(low.x);
        y_ = box.y + (box.h + scale_ * static_cast<float>(high.y - low.y)) / 2 +
             scale_ * static_cast<float>(low.y);
    }
    ImVec2 at(Point2 p) const {
        return {x_ + scale_ * static_cast<float>(p.x), y_ - scale_ * static_cast<float>(p.y)};
    }
    /// Pixels a metre.
    float scale() const { return scale_; }

private:
    float scale_ = 1, x_ = 0, y_ = 0;
};

void draw_outline(const BoardUi& ui, ImDrawList& list, const Panel& panel, const PanelMap& map) {
    const auto draw = [&](const Polyline& line, ImU32 colour, float thick) {
        std::vector<ImVec2> points;
        for (const Point2 p : line.points) points.push_back(map.at(p));
        list.AddPolyline(points.data(), static_cast<int>(points.size()), colour,
                         line.closed ? ImDrawFlags_Closed : 0, thick);
    };
    for (const Polyline& crest : panel.crests) draw(crest, ui.c.line, ui.px(1.2f));
    for (const Polyline& loop : panel.outline) draw(loop, ui.c.quiet, ui.px(1.8f));
}

/// The way from spot to spot, faint.
void draw_walk(const BoardUi& ui, ImDrawList& list, const ReadingEntry& entry, const PanelMap& map) {
    std::vector<ImVec2> points;
    for (std::size_t n = 0; n < entry.spots(); ++n)
        points.push_back(map.at(entry.pattern.spots[entry.pattern.walked(n)]));
    list.AddPolyline(points.data(), static_cast<int>(points.size()), with_alpha(ui.c.accent, 0.3f), 0,
                     ui.px(1.2f));
}

void draw_spot(const BoardUi& ui, ImDrawList& list, ImVec2 at, const std::string& value, bool here,
               bool suspicious) {
    const float r = ui.px(5);
    if (here) list.AddCircle(at, ui.px(13), ui.c.accent, 0, ui.px(3));
    if (suspicious) { // the shape says it too
        list.AddTriangleFilled({at.x, at.y - r * 1.3f}, {at.x + r * 1.3f, at.y + r},
                               {at.x - r * 1.3f, at.y + r}, ui.c.warn);
    } else if (value.empty()) {
        list.AddCircleFilled(at, r, ui.c.card);
        list.AddCircle(at, r, ui.c.quiet, 0, ui.px(1.5f));
    } else {
        list.AddCircleFilled(at, r, ui.c.ink);
    }
    if (value.empty()) return;
    const ImFont* font = here ? ui.f.bold : ui.f.small;
    const float w = width_of(font, value) / 2 + ui.px(3), y = at.y + ui.px(here ? 15 : 8);
    list.AddRectFilled({at.x - w, y}, {at.x + w, y + font->FontSize + ui.px(1)}, with_alpha(ui.c.card, 0.85f),
                       ui.px(3));
    write(list, font, at.x, y, suspicious ? ui.c.warn : here ? ui.c.accent : ui.c.ink, value, Align::centre);
}

void draw_map(const BoardUi& ui, const Box& box) {
    RunSession& session = ui.session;
    BoardPage& page = ui.page;
    JobModel& job = page.model;
    ReadingEntry& entry = *job.entry;
    begin_card("gauge map", box, ui.c.page);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float pad = ui.px(34);
    const PanelMap map(*entry.shape, {box.x + pad, box.y + ui.px(20), box.w - 2 * pad, box.h - ui.px(54)});
    draw_outline(ui, list, *entry.shape, map);
    draw_walk(ui, list, entry, map);
    const std::vector<const FilmReading*> shown = job.readings_shown();
    const JobModel::Remarks& remarks = job.remarks();
    std::vector<const FilmReading*> on_pattern;
    for (std::size_t spot = 0; spot < entry.spots(); ++spot) {
        const FilmReading* reading = job.reading_at(spot);
        if (reading) on_pattern.push_back(reading);
        const bool here = !entry.at_end() && entry.spot() == spot;
        std::string value = reading ? bare_film(reading->film_um, session.settings.unit) : "";
        if (here && !entry.text.empty()) value = entry.text;
        const ImVec2 at = map.at(entry.pattern.spots[spot]);
        draw_spot(ui, list, at, value, here, reading && remarks.is_suspicious(reading, shown));
        ImGui::SetCursorScreenPos({at.x - ui.px(12), at.y - ui.px(12)});
        ImGui::PushID(static_cast<int>(spot));
        if (ImGui::InvisibleButton("spot", {ui.px(24), ui.px(24)})) job.go_to_spot(spot);
        ImGui::PopID();
    }
    for (const FilmReading* reading : shown)
        if (std::ranges::find(on_pattern, reading) == on_pattern.end())
            draw_spot(ui, list, map.at({reading->x_m, reading->y_m}),
                      bare_film(reading->film_um, session.settings.unit), false,
                      remarks.is_suspicious(reading, shown));
    ImGui::End();
}

void say_entry(BoardColumn& c) {
    RunSession& session = c.ui.session;
    BoardPage& page = c.ui.page;
    JobModel& job = page.model;
    const ReadingEntry& entry = *job.entry;
    const char* unit = session.settings.unit == FilmUnit::mil ? "mil" : "µm";
    c.line(c.ui.f.large, c.ui.c.ink, job.panel()->panel.name);
    const std::string where = entry.at_end() ? fmt::format("all {} spots walked", entry.spots())
                                             : fmt::format("spot {} of {}", entry.turn + 1, entry.spots());
    c.line(c.ui.f.bold, c.ui.c.accent, where);
    const Box field = c.row(52);
    c.list.AddRectFilled(field.low(), field.high(), c.ui.c.field, c.ui.px(6));
    c.list.AddRect(field.low(), field.high(), entry.fault.empty() ? c.ui.c.accent : c.ui.c.warn, c.ui.px(6),
                   0, c.ui.px(2));
    const FilmReading* there = entry.at_end() ? nullptr : job.reading_at(entry.spot());
    const bool typed = !entry.text.empty();
    const std::string value = typed   ? entry.text + "_"
                              : there ? bare_film(there->film_um, session.settings.unit)
                                      : "_";
    write(c.list, c.ui.f.large, field.x + c.ui.px(14), field.y + c.ui.px(11),
          typed || !there ? c.ui.c.ink : c.ui.c.quiet, value);
    write(c.list, c.ui.f.body, field.x + field.w - c.ui.px(12), field.y + c.ui.px(17), c.ui.c.quiet,
          fmt::format("{} {}", unit, entry.of_clear ? "of clear coat" : "in all"), Align::right);
    c.down(58);
    if (!entry.fault.empty()) c.wrapped(c.ui.f.body, c.ui.c.warn, entry.fault);
    else
        c.wrapped(c.ui.f.small, c.ui.c.quiet,
                  entry.at_end() ? fmt::format("{} goes to the next panel, Esc to the board.",
                                               keys_of(Action::spot_panel_after))
                                 : "Type it, Enter takes it and goes on; Enter alone leaves the spot out.");
}

void choose_kind(BoardColumn& c) {
    RunSession& session = c.ui.session;
    BoardPage& page = c.ui.page;
    JobModel& job = page.model;
    const float gap = c.ui.px(6), w = (c.w - gap) / 2, h = c.ui.px(28);
    const auto pair = [&](const char* one, const char* other, bool second, Action action,
                          const std::function<void(bool)>& take) {
        const Box row = c.row(28);
        if (press(c.ui, one, one, {row.x, row.y, w, h}, !second, keys_of(action))) take(false);
        if (press(c.ui, other, other, {row.x + w + gap, row.y, w, h}, second, keys_of(action))) take(true);
        c.down(33);
    };
    c.down(4);
    pair("Total film", "Clear coat", job.entry->of_clear, Action::spot_kind,
         [&](bool clear) { job.switch_kind(clear); });
    pair("Before work", "After work", job.entry->after_work, Action::spot_time,
         [&](bool after) { job.switch_time(after); });
    const auto button = [&](const char* id, const std::string& words, Action action) {
        if (press(c.ui, id, fmt::format("{}  {}", words, keys_of(action)), c.row(28))) session.act(action);
        c.down(33);
    };
    button("pattern", fmt::format("Pattern {} x {}", job.entry->pattern.rows, job.entry->pattern.columns),
           Action::spot_pattern);
    const char* unit = session.settings.unit == FilmUnit::mil ? "mil" : "µm";
    button("gauge",
           fmt::format("n {}, repeatability {:.3g} {}", job.gauge_n,
                       job.gauge_sd_um / (session.settings.unit == FilmUnit::mil ? um_per_mil : 1), unit),
           Action::spot_gauge);
    button("paste", "Paste from a spreadsheet", Action::spot_paste);
    button("remove", "Take this one off file", Action::spot_remove);
}

void tell_readings(BoardColumn& c) {
    const RunSession& session = c.ui.session;
    const BoardPage& page = c.ui.page;
    const JobModel& job = page.model;
    const auto statistics = statistics_of(job.panel()->readings, job.entry->after_work, job.entry->of_clear);
    c.down(4);
    if (!statistics) {
        c.line(c.ui.f.body, c.ui.c.quiet, "none on file yet");
    } else {
        const FilmUnit unit = session.settings.unit;
        const char* name = unit == FilmUnit::mil ? "mil" : "µm";
        c.line(c.ui.f.bold, c.ui.c.ink,
               fmt::format("{} on file, mean {} {}", statistics->spots, bare_film(statistics->mean_um, unit),
                           name));
        c.line(c.ui.f.small, c.ui.c.ink,
               fmt::format("{} to {} {}, spread {:.2g}", bare_film(statistics->least_um, unit),
                           bare_film(statistics->most_um, unit), name,
                           statistics->sd_um / (unit == FilmUnit::mil ? um_per_mil : 1)));
    }
    for (const FilmFlag& flag : job.remarks().flags)
        c.wrapped(c.ui.f.small, c.ui.c.warn, fmt::format("{}: {}", name_of(flag.kind), flag.text));
    c.wrapped(c.ui.f.small, c.ui.c.quiet,
              "A triangle marks readings to look at again; they are kept. The gauge decides, not the model: "
              "wipe the probe, "
              "check it on its standard, read away from edges.");
}

} // namespace

void draw_readings(const BoardUi& ui, const Box& box) {
    JobModel& job = ui.page.model;
    if (!job.entry || !job.panel()) return;
    const float side = ui.px(readings_side_width);
    draw_map(ui, {box.x, box.y, box.w - side, box.h});
    const Box right{box.x + box.w - side, box.y, side, box.h};
    begin_card("gauge entry", right, ui.c.card, true, {0, ui.px(10)});
    BoardColumn c(ui, right);
    say_entry(c);
    choose_kind(c);
    if (job.entry && job.page == BoardPart::readings) tell_readings(c);
    c.end();
    ImGui::End();
}

} // namespace sparecoat::view::board
