#include "cli/section_text.hpp"
#include "cli/page.hpp"
#include "finish/described.hpp"
#include "picture/section_words.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::cli {
namespace {

void candidates_table(Page& page, const PanelAdvice& panel, const Target& target, FilmUnit unit) {
    const Advice& advice = panel.advice;
    if (advice.outlooks.empty()) return;
    page.raw(fmt::format("Candidates   by film lost; * meets {} at {} and keeps {} at {}",
                         whole_percent(target.share), whole_percent(target.chance),
                         film_text(target.reserve_um, unit), whole_percent(target.keep_chance)));
    const std::size_t film_width = unit == FilmUnit::mil ? 32 : 26;
    page.raw("  " + padded("cleared (90 %)", 20) + padded("film lost (90 %)", film_width) +
             padded("target", 8) + padded("keeps", 8) + padded("time", 8) + "sequence");
    const CandidateRows rows = candidate_rows(advice);
    if (rows.from > 0) page.raw(fmt::format("  ... {} milder without a chance", rows.from));
    for (std::size_t k = rows.from; k < rows.to; ++k) {
        const Outlook& o = advice.outlooks[k];
        const bool meets = o.chance_of_target >= target.chance && o.chance_of_keeping >= target.keep_chance;
        const char* mark = advice.choice && *advice.choice == k ? ">*" : meets ? " *" : "  ";
        page.raw(
            mark + padded(share_text(o.share), 20) + padded(film_range_text(o.film_um, unit), film_width) +
            padded(whole_percent(o.chance_of_target), 8) + padded(whole_percent(o.chance_of_keeping), 8) +
            padded(minutes_text(o.time_s), 8) + brief_words(panel.ground.effects, o.sequence));
    }
    if (rows.to < advice.outlooks.size())
        page.raw(fmt::format("  ... {} more that take more film", advice.outlooks.size() - rows.to));
}

std::string panel_heading(const PanelAdvice& panel) {
    const RecordedPanel& p = panel.panel;
    return fmt::format("{}: {} paint, {} defects{}; {} {}", panel.ground.panel->name, p.paint, p.defects,
                       p.readings ? ", with gauge readings" : "",
                       panel.usual ? "room for a square of" : "last square",
                       square_text(panel.ground.square));
}

void marks_lines(Page& page, const PanelAdvice& panel) {
    for (std::size_t k = 0; k < panel.ground.marks.size(); ++k) {
        const MarkPopulation& marks = panel.ground.marks[k];
        page.line(k == 0 ? "Marks" : "",
                  fmt::format("{}: {}{}", name_of(marks.kind), numbers_of(marks),
                              clearable(marks.kind) ? "" : "; through the clear coat"));
    }
    if (panel.ground.marks.empty()) page.line("Marks", "none on this ground");
}

void steps_table(Page& page, const PanelAdvice& panel, FilmUnit unit) {
    page.raw("Steps        one set of each over the open panel, by the presets");
    std::size_t widest = 0;
    for (const StepEffect& effect : panel.ground.effects) widest = std::max(widest, effect.id.size());
    for (const StepEffect& effect : panel.ground.effects)
        page.raw("  " + padded(effect.id, widest + 2) + padded(film_text(effect.mean_um, unit), 12) +
                 padded(minutes_text(effect.time_s), 8) + fmt::format("up to {:.0f} °C", effect.peak_film_c));
}

void seen_lines(Page& page, const SectionReport& report_of_all, const PanelAdvice& panel, FilmUnit unit) {
    std::size_t square = panel.panel.squares.size();
    for (const TryReport& report : panel.tries) {
        if (report.square != square) {
            square = report.square;
            page.raw(fmt::format("Seen         square {}, {}", square + 1,
                                 square_text(panel.panel.squares[square])));
        }
        const Try& work = panel.panel.squares[report.square].tries[report.work];
        page.line(fmt::format("  {}.", report.work + 1),
                  try_words(work, step_named(report_of_all.steps, work.step).words, unit));
        page.line("", beside_model_words(report, unit));
    }
}

void panel_advice(Page& page, const SectionReport& report, const PanelAdvice& panel, FilmUnit unit) {
    const Target& target = report.record.target;
    page.raw(panel_heading(panel));
    page.line("Next", recommendation(panel, target, unit));
    for (std::size_t k = 0; k < panel.conflicts.size(); ++k)
        page.lines(k == 0 ? "Conflict" : "", conflict_words(panel, k, unit));
    if (panel.advice.next == Next::cannot) return;
    page.lines("Why", reasons(panel, target, unit));
    page.lines("Mind", remarks(panel, unit));
    if (panel.advice.next == Next::clean_first)
        page.raw(
            fmt::format("{:<{}}No advice before that. Then: sparecoat section record {} --panel {} --clean",
                        "", label_width, report.record.file, panel.panel.panel));
    seen_lines(page, report, panel, unit);
    if (!panel.tries.empty()) page.lines("Learned", learned_words(report, panel));
    if (panel.advice.next != Next::clean_first) {
        candidates_table(page, panel, target, unit);
        if (const std::string trial = trial_words(panel, unit); !trial.empty()) page.line("To learn", trial);
        if (panel.advice.next != Next::touch_up) page.lines("Unsure of", open_questions(report, panel, unit));
    }
    page.line("Touch-up", touch_up_words(panel));
}

} // namespace

std::string square_text(const TapedSquare& square) {
    return fmt::format("{:.0f} x {:.0f} mm at {:.0f} mm, {:.0f} mm", square.size.x / mm, square.size.y / mm,
                       square.at.x / mm, square.at.y / mm);
}

std::string predict_text(const SectionReport& report, FilmUnit unit) {
    Page page;
    const PanelAdvice& panel = report.panels.front();
    page.raw(panel_heading(panel));
    page.line("Kit", report.kit.name);
    page.line(
        "Clear coat",
        fmt::format("{}{}", film_error_text(panel.ground.clear.mean_um, panel.ground.clear.sd_um, unit),
                    panel.panel.readings ? " where it is thinnest, by the gauge readings" : ", nominal"));
    marks_lines(page, panel);
    steps_table(page, panel, unit);
    candidates_table(page, panel, report.record.target, unit);
    page.line("Next", recommendation(panel, report.record.target, unit));
    page.lines("Why", reasons(panel, report.record.target, unit));
    if (const std::string trial = trial_words(panel, unit); !trial.empty()) page.line("To learn", trial);
    page.line("Touch-up", touch_up_words(panel));
    return page.take();
}

std::string advice_text(const SectionReport& report, FilmUnit unit) {
    Page page;
    page.raw(fmt::format("{}, {}", report.record.name, report.kit.name));
    for (const PanelAdvice& panel : report.panels) {
        page.raw("");
        panel_advice(page, report, panel, unit);
    }
    page.raw("");
    return page.take();
}

std::string brief_advice_text(const SectionReport& report, FilmUnit unit) {
    std::string text;
    for (const PanelAdvice& panel : report.panels) {
        std::string sentence = recommendation(panel, report.record.target, unit);
        if (const Advice& advice = panel.advice; advice.choice) {
            const Outlook& expected = advice.outlooks[*advice.choice];
            if (sentence.ends_with('.')) sentence.pop_back();
            sentence += fmt::format(
                "; about {}, to clear {} for {} of clear coat, with a chance of {} of {} and of "
                "{} of keeping {}.",
                minutes_text(expected.time_s), share_text(expected.share),
                film_range_text(expected.film_um, unit), percent_never_sure(expected.chance_of_target),
                "reaching what is wanted", percent_never_sure(expected.chance_of_keeping),
                film_text(report.record.target.reserve_um, unit));
        }
        text += fmt::format("{}: {}\n", panel.ground.panel->name, sentence);
    }
    return text +
           "Estimates: the gauge decides. Eyes, ears and dust mask on; cord and sleeves clear of the pad; "
           "feel for heat; air and gloves with solvents; breaks from vibration; tape what is unsure.\n";
}

std::string record_text(const SectionRecord& record, const std::vector<KitStep>& steps, FilmUnit unit) {
    Page page;
    page.line("On file", fmt::format("{}, in {}; kit {}", record.name, record.file, record.kit));
    for (const RecordedPanel& panel : record.panels) {
        page.raw(fmt::format("  {}: {} paint, {} defects{}, {}", panel.panel, panel.paint, panel.defects,
                             panel.readings ? ", gauge readings" : "",
                             panel.clean ? "washed and decontaminated" : "not marked clean yet"));
        for (std::size_t s = 0; s < panel.squares.size(); ++s) {
            page.raw(fmt::format("    square {}: {}", s + 1, square_text(panel.squares[s])));
            const std::vector<Try>& tries = panel.squares[s].tries;
            for (std::size_t t = 0; t < tries.size(); ++t)
                page.line(fmt::format("      {}.", t + 1),
                          try_words(tries[t], step_named(steps, tries[t].step).words, unit));
        }
    }
    return page.take();
}

} // namespace sparecoat::cli
