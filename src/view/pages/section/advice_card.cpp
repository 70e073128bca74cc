#include "decide/cautions.hpp"
#include "picture/section_words.hpp"
#include "units/quantity.hpp"
#include "view/pages/section/section_cards.hpp"
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::section {
namespace {

std::string sentence_of(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
    return text;
}

/// A heading over sentences; nothing where there are none.
void passage(SectionColumn& c, const char* heading, const std::vector<std::string>& sentences, ImU32 colour) {
    if (sentences.empty()) return;
    c.down(4);
    c.line(c.ui.f.small, c.ui.c.accent, heading);
    for (const std::string& sentence : sentences) {
        c.wrapped(c.ui.f.small, colour, sentence_of(sentence));
        c.down(1);
    }
}

/// A sign beside what warns, so that colour is not alone in saying so.
void draw_warning_sign(SectionColumn& c) {
    const float a = c.ui.px(8), x = c.x, y = c.y() + c.ui.px(9);
    c.list.AddTriangle({x + a, y - a}, {x + 2 * a, y + a * 0.8f}, {x, y + a * 0.8f}, c.ui.c.warn, c.ui.px(2));
    write(c.list, c.ui.f.small, x + a, y - c.ui.px(7), c.ui.c.warn, "!", Align::centre);
}

void warn(SectionColumn& c, const ImFont* font, const std::string& words) {
    draw_warning_sign(c);
    c.wrapped(font, c.ui.c.warn, words, c.ui.px(24));
}

/// Whether the advice is being worked out, is of an earlier record, or could not be had.
void draw_state(SectionColumn& c) {
    RunSession& session = c.ui.session;
    SectionPage& page = c.ui.page;
    SectionModel& section = page.model;
    if (section.stale()) warn(c, c.ui.f.small, "This is of the record before its last entry.");
    if (section.working()) {
        draw_progress(c.ui, c.row(26), section.share(),
                      fmt::format("Working the steps of the kit: {:.0f} %", 100 * section.share()));
        c.down(32);
        if (press(c.ui, "stop", "Stop", c.row(24))) section.call_off();
        c.down(30);
        return;
    }
    if (!section.fault().empty()) warn(c, c.ui.f.small, section.fault());
    if (section.finding() && !section.stale()) return;
    if (!section.finding() && section.fault().empty())
        c.wrapped(c.ui.f.small, c.ui.c.quiet, "Not worked out yet for the record as it is.");
    if (press(c.ui, "advise", fmt::format("Work it out  {}", keys_of(Action::work_out_advice)), c.row(26),
              true,
              "Works every step of the kit over the open panel, and what was done on its squares, and weighs "
              "what may come of them, alone and one after the other"))
        session.act(Action::work_out_advice);
    c.down(32);
}

std::string target_line(const Target& target, FilmUnit unit) {
    return fmt::format("Wanted: {:.3g} % cleared, a {} finish ({:.0f} %), {} left ({:.0f} %)",
                       100 * target.share,
                       target.haze <= full_finish_haze   ? "full"
                       : target.haze <= good_finish_haze ? "good"
                                                         : "coarse",
                       100 * target.chance, film_text(target.reserve_um, unit), 100 * target.keep_chance);
}

/// The step that the advice begins with, to be seen at work in the square.
void draw_watch(SectionColumn& c, const PanelAdvice& panel) {
    SectionPage& page = c.ui.page;
    if (!panel.advice.choice) return;
    const Sets first = panel.advice.outlooks[*panel.advice.choice].sequence.front();
    const std::string& id = panel.ground.effects[first.step].id;
    const auto step = std::ranges::find(page.model.steps(), id, &KitStep::id);
    if (step == page.model.steps().end()) return;
    c.down(4);
    if (press(
            c.ui, "watch", "Watch its first step", c.row(24), false,
            "Puts one set of it into the technique, in the square, as the kit works it. Undo takes it back"))
        page.watch_step(static_cast<std::size_t>(step - page.model.steps().begin()), panel.ground.square);
    c.down(28);
}

void draw_finding(SectionColumn& c, const SectionFinding& finding, FilmUnit unit) {
    const PanelAdvice& panel = finding.panel();
    const Target& target = finding.report.record.target;
    const bool look = panel.advice.next == Next::look_again;
    c.down(2);
    // Its first words say which way; what follows says what of.
    const std::string whole = recommendation(panel, target, unit);
    const std::size_t colon = std::min(whole.find(": "), whole.size());
    if (look) warn(c, c.ui.f.bold, whole.substr(0, colon));
    else c.wrapped(c.ui.f.bold, c.ui.c.accent, whole.substr(0, colon));
    if (colon < whole.size()) c.wrapped(c.ui.f.body, c.ui.c.ink, sentence_of(whole.substr(colon + 2)));
    for (std::size_t k = 0; k < panel.conflicts.size(); ++k)
        passage(c, k == 0 ? "What stands against what" : "And", conflict_words(panel, k, unit), c.ui.c.ink);
    passage(c, "Why", reasons(panel, target, unit), c.ui.c.ink);
    draw_watch(c, panel);
    passage(c, "Mind", remarks(panel, unit), c.ui.c.warn);
    if (!panel.tries.empty()) passage(c, "Learned", learned_words(finding.report, panel), c.ui.c.ink);
    if (const std::string trial = trial_words(panel, unit); !trial.empty())
        passage(c, "What would teach most", {trial}, c.ui.c.ink);
    if (panel.advice.next != Next::touch_up)
        passage(c, "Unsure of", open_questions(finding.report, panel, unit), c.ui.c.quiet);
    passage(c, "Touch-up", {touch_up_words(panel)}, c.ui.c.ink);
}

/// Advice is for people with machines in their hands.
void draw_cautions(SectionColumn& c) {
    c.down(6);
    c.list.AddLine({c.x, c.y()}, {c.x + c.w, c.y()}, c.ui.c.line);
    c.down(6);
    c.wrapped(c.ui.f.small, c.ui.c.ink, std::string(estimate_notice));
    for (const std::string_view caution : cautions)
        c.wrapped(c.ui.f.small, c.ui.c.quiet, "\u2022 " + std::string(caution));
}

} // namespace

void draw_advice_card(const SectionUi& ui, const Box& box) {
    RunSession& session = ui.session;
    SectionPage& page = ui.page;
    const SectionModel& section = page.model;
    const FilmUnit unit = session.settings.unit;
    begin_card("advice", box, ui.c.card, true, {0, ui.px(9)});
    SectionColumn c(ui, box);
    c.list.AddLine({c.x, box.y}, {c.x + c.w, box.y}, ui.c.line);
    c.line(ui.f.bold, ui.c.ink, "What to do next");
    if (!section.has_record()) {
        c.wrapped(ui.f.small, ui.c.quiet,
                  "Begin a record, or open one: the advice follows from what is on it.");
    } else if (!section.clean()) {
        PanelAdvice withheld;
        withheld.advice.next = Next::clean_first;
        warn(c, ui.f.bold, recommendation(withheld, section.record().target, unit));
        c.wrapped(ui.f.small, ui.c.quiet,
                  fmt::format("Advice is withheld until the panel is marked clean  {}",
                              keys_of(Action::mark_clean)));
    } else {
        c.wrapped(ui.f.small, ui.c.quiet, target_line(section.record().target, unit));
        draw_state(c);
        if (section.finding()) draw_finding(c, *section.finding(), unit);
    }
    draw_cautions(c);
    c.end();
    ImGui::End();
}

} // namespace sparecoat::view::section
