#include "picture/map_drawing.hpp"
#include "picture/risk_folder.hpp"
#include "view/pages/risk/risk_page.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::risk {

using RiskUi = PageUi<RiskPage>;
using RiskColumn = ColumnOf<RiskUi>;

namespace {

void draw_badge(const RiskUi& ui, ImDrawList& list, ImVec2 at, std::size_t number) {
    list.AddCircleFilled(at, ui.px(11), ui.c.ink);
    write(list, ui.f.small, at.x, at.y - ui.f.small->FontSize / 2, ui.c.card, fmt::format("{}", number),
          Align::centre);
}

std::string ratio_text(double ratio) {
    return std::isfinite(ratio) ? fmt::format("\u00d7{:.2f}", ratio) : "\u2013";
}

/// Why this spot: its loss against the open panel's, factor by factor, in two columns.
void draw_split(RiskColumn& c, const SpotAtRisk& spot, float indent) {
    if (spot.removed_um <= 0)
        return c.wrapped(c.ui.f.small, c.ui.c.quiet, "Only a wandering hand gets here.", indent);
    const Split& s = spot.against_open;
    struct Factor {
        const char* name;
        double ratio;
    };
    const Factor factors[] = {{"time", s.time}, {"pressure", s.pressure}, {"speed", s.speed},
                              {"cut", s.cut},   {"heat", s.heat},         {"film", s.film}};
    const float half = (c.w - indent) / 2, row = c.ui.px(18);
    for (int k = 0; k < 6; ++k) {
        const float x = c.x + indent + static_cast<float>(k % 2) * half,
                    y = c.y() + static_cast<float>(k / 2) * row;
        const bool much = factors[k].ratio > 1.2;
        write(c.list, c.ui.f.small, x, y, c.ui.c.quiet, factors[k].name);
        write(c.list, c.ui.f.small, x + half - c.ui.px(12), y, much ? c.ui.c.warn : c.ui.c.ink,
              ratio_text(factors[k].ratio), Align::right);
    }
    c.down(3 * 18 + 2);
    c.line(c.ui.f.small, c.ui.c.ink, fmt::format("in all {} the open panel", ratio_text(s.all())), indent);
}

/// The changes that were tried, each to be taken over by a click. @return the one that was clicked.
const Remedy* draw_remedies(RiskColumn& c, const SpotAdvice& advice, FilmUnit unit, float indent) {
    const RiskPage& page = c.ui.page;
    const Remedy* chosen = nullptr;
    c.line(c.ui.f.small, c.ui.c.quiet, "Single changes: click to take", indent);
    for (std::size_t k = 0; k < advice.remedies.size(); ++k) {
        const Remedy& remedy = advice.remedies[k];
        const bool can = page.can_apply(remedy);
        const float inner = c.w - indent - c.ui.px(16);
        const float words = wrapped_height(c.ui.f.small, remedy.words, inner), line = c.ui.f.small->FontSize;
        const Box box{c.x + indent, c.y(), c.w - indent, words + line + c.ui.px(12)};
        const std::string hint = fmt::format(
            "Done once: {} at the panel, {}, the open panel loses {}. For the same result: {:.2g} times "
            "over.{}",
            clock_text(remedy.time_s), chance_text(remedy.peak.chance, remedy.peak.standard_error),
            film_text(remedy.open_um, unit), remedy.times,
            can ? "" : " A recorded path keeps its own force, tilt and pace: work it anew that way.");
        ImGui::PushID(static_cast<int>(k));
        if (press(c.ui, "remedy", "", box, false, hint, can)) chosen = &remedy;
        ImGui::PopID();
        write_wrapped(c.list, c.ui.f.small, box.x + c.ui.px(8), box.y + c.ui.px(4), c.ui.c.ink, remedy.words,
                      inner);
        const bool enough = remedy.equal.chance < window_threshold;
        write(c.list, c.ui.f.small, box.x + c.ui.px(8), box.y + c.ui.px(6) + words,
              enough ? c.ui.c.ink : c.ui.c.warn,
              fitted(c.ui.f.small,
                     fmt::format("{}{}", enough ? "leaves " : "still ",
                                 chance_text(remedy.equal.chance, remedy.equal.standard_error)),
                     inner));
        c.down(box.h / c.ui.s + 4);
    }
    if (advice.remedies.empty())
        c.wrapped(c.ui.f.small, c.ui.c.quiet, "No single change that could be tried.", indent);
    return chosen;
}

/// @return a change to take over.
const Remedy* draw_region(RiskColumn& c, std::size_t k, bool held) {
    RunSession& session = c.ui.session;
    RiskPage& page = c.ui.page;
    const RegionAtRisk& region = page.model.finding()->map.regions[k];
    const FilmUnit unit = session.settings.unit;
    const float indent = c.ui.px(30), top = c.y();
    ImGui::PushID(static_cast<int>(k));
    const Box head{c.x - c.ui.px(6), top, c.w + c.ui.px(6), c.ui.px(42)};
    ImGui::SetCursorScreenPos(head.low());
    if (ImGui::InvisibleButton("region", {head.w, head.h})) session.hold(region.spot.at);
    hint_if_hovered(c.ui, region.spot.place);
    if (held || ImGui::IsItemHovered())
        c.list.AddRectFilled(head.low(), head.high(), held ? c.ui.c.field_lit : c.ui.c.field, c.ui.px(4));
    draw_badge(c.ui, c.list, {c.x + c.ui.px(11), top + c.ui.px(21)}, k + 1);
    write(c.list, c.ui.f.bold, c.x + indent, top + c.ui.px(2), c.ui.c.ink,
          chance_text(region.chance, region.standard_error));
    write(c.list, c.ui.f.small, c.x + c.w - c.ui.px(4), top + c.ui.px(4), c.ui.c.ink,
          region.spot.clear_left_um > 0 ? fmt::format("{} left", film_text(region.spot.clear_left_um, unit))
                                        : "through",
          Align::right);
    write(c.list, c.ui.f.small, c.x + indent, top + c.ui.px(22), c.ui.c.quiet,
          fitted(c.ui.f.small, region.spot.place, c.w - indent - c.ui.px(4)));
    c.down(46);
    const Remedy* chosen = nullptr;
    if (held) {
        if (region.thin_before >= 0.5 * window_threshold)
            c.wrapped(c.ui.f.small, c.ui.c.warn,
                      fmt::format("{} that it is too thin before any work", chance_text(region.thin_before)),
                      indent);
        draw_split(c, region.spot, indent);
        c.down(2);
        if (const SpotAdvice* advice = page.model.advice(k)) {
            chosen = draw_remedies(c, *advice, unit, indent);
        } else if (page.model.trying(k)) {
            draw_progress(c.ui, c.row(26, indent), page.model.trial_share(),
                          fmt::format("Trying changes: {:.0f} %", 100 * page.model.trial_share()));
            c.down(32);
        } else {
            if (press(c.ui, "try", fmt::format("Try changes  {}", keys_of(Action::try_changes)),
                      c.row(26, indent), false,
                      "Works out what holding back, tape, a flatter or lighter head, a smaller pad, a milder "
                      "liquid and a "
                      "faster arm would leave of this chance"))
                session.act(Action::try_changes);
            c.down(32);
        }
    }
    ImGui::PopID();
    return chosen;
}

void draw_state(RiskColumn& c) {
    RunSession& session = c.ui.session;
    RiskPage& page = c.ui.page;
    if (page.model.working()) {
        draw_progress(c.ui, c.row(26), page.model.share(),
                      fmt::format("Working them out: {:.0f} %", 100 * page.model.share()));
        c.down(32);
        if (press(c.ui, "stop", "Stop", c.row(26))) page.model.call_off();
        c.down(32);
        return;
    }
    if (!page.model.fault().empty()) c.wrapped(c.ui.f.small, c.ui.c.warn, page.model.fault());
    if (!page.model.finding())
        c.wrapped(c.ui.f.small, c.ui.c.quiet, "Not worked out for the technique as it is now.");
    if (press(c.ui, "anew",
              fmt::format("{}  {}", page.model.finding() ? "Anew" : "Work them out",
                          keys_of(Action::work_out_chance)),
              c.row(26), !page.model.finding(),
              "Draws the hand over the whole technique, with film and cut uncertain"))
        session.act(Action::work_out_chance);
    c.down(32);
}

/// Over a panel whose chances are not shown: why.
void draw_chance_note(const RiskUi& ui, ImDrawList& list, const Box& stage) {
    const RiskModel& risk = ui.page.model;
    if (risk.finding()) return;
    const std::string words =
        risk.working() ? fmt::format("Working out the chances: {:.0f} %", 100 * risk.share())
        : risk.fault().empty()
            ? fmt::format("Chances not worked out. {} works them out.", keys_of(Action::work_out_chance))
            : "No chances: see the card at the right";
    const float w = width_of(ui.f.body, words) + ui.px(28),
                x = stage.x + (stage.w - ui.px(legend_width) - w) / 2;
    const float y = stage.y + ui.px(ui.session.view.hand ? 52 : 14);
    list.AddRectFilled({x, y}, {x + w, y + ui.px(32)}, ui.c.card, ui.px(6));
    list.AddRect({x, y}, {x + w, y + ui.px(32)}, ui.c.line, ui.px(6));
    if (risk.working())
        list.AddRectFilled({x, y}, {x + w * risk.share(), y + ui.px(32)}, with_alpha(ui.c.accent, 0.3f),
                           ui.px(6));
    write(list, ui.f.body, x + ui.px(14), y + ui.px(6), ui.c.ink, words);
}

} // namespace

void draw_risk_card(const RiskUi& ui, const Box& box) {
    RunSession& session = ui.session;
    RiskPage& page = ui.page;
    begin_card("risk", box, ui.c.card, true, {0, ui.px(9)});
    RiskColumn c(ui, box);
    c.list.AddLine({c.x, box.y}, {c.x + c.w, box.y}, ui.c.line);
    c.line(ui.f.bold, ui.c.ink, "Spots at risk");
    const RiskFinding* finding = page.model.finding();
    const ChanceTerms terms = finding ? finding->terms : ChanceTerms{};
    c.wrapped(ui.f.small, ui.c.quiet,
              fmt::format("Chance that less than {} of clear coat stays{}",
                          session.settings.unit == FilmUnit::um
                              ? fmt::format("{:.0f} \u00b5m", terms.reserve_um)
                              : film_text(terms.reserve_um, session.settings.unit),
                          session.view.by_hand ? ", of the technique and not of the stroke by hand" : ""));
    const Remedy* chosen = nullptr;
    if (finding) {
        const std::vector<RegionAtRisk>& regions = finding->map.regions;
        const std::optional<std::size_t> cell =
            session.pointer ? session.cell_at(*session.pointer) : std::nullopt;
        c.line(ui.f.small, ui.c.ink,
               cell ? fmt::format("Under the pointer: {}",
                                  chance_text(static_cast<double>(finding->map.chance[*cell])))
                    : fmt::format("{} {} from a chance of 1 % on", regions.size(),
                                  regions.size() == 1 ? "spot" : "spots"));
        c.down(4);
        if (regions.empty()) c.wrapped(ui.f.body, ui.c.ink, "No spot reaches a chance of 1 %.");
        const std::optional<std::size_t> held = page.held_region();
        for (std::size_t k = 0; k < std::min<std::size_t>(regions.size(), 9); ++k)
            if (const Remedy* clicked = draw_region(c, k, held == k)) chosen = clicked;
        if (regions.size() > 9)
            c.line(ui.f.small, ui.c.quiet, fmt::format("and {} lesser ones", regions.size() - 9));
        c.down(4);
    }
    draw_state(c);
    c.end();
    ImGui::End();
    if (chosen) page.apply(Remedy(*chosen)); // a copy: it may go with what is known
}

bool RiskPage::draw_card(const Ui& ui, CardPlace place, const Box& box) {
    if (place != CardPlace::spot || !session_.shows_chance()) return false;
    draw_risk_card({ui, *this}, box);
    return true;
}

void RiskPage::draw_over_panel(const Ui& ui, ImDrawList& list, const Box& stage, const PlaceOnPanel&) {
    if (session_.shows_chance()) draw_chance_note({ui, *this}, list, stage);
}

} // namespace sparecoat::view::risk
