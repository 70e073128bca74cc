#include "picture/section_words.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

/// A film without its unit.
std::string bare_film(double um, FilmUnit unit) {
    const std::string text = film_text(um, unit);
    return text.substr(0, text.rfind(' '));
}

/// "2 sets of polish on medium foam 150 mm, then 1 set of ...".
std::string words_for(const PanelAdvice& panel, const Sequence& sequence) {
    std::string words;
    for (const Sets& part : sequence)
        add_sets(words, part.sets, brief_words(panel.ground.effects, part.step));
    return words;
}

const Outlook* choice_of(const Advice& advice) {
    return advice.choice ? &advice.outlooks[*advice.choice] : nullptr;
}

std::string finish_word(double haze) {
    if (haze <= full_finish_haze) return "a full finish";
    return haze <= good_finish_haze ? "a good finish" : "that finish";
}

std::string target_words(const Target& target) {
    return fmt::format("{} % cleared and {}", of_hundred(target.share), finish_word(target.haze));
}

/// A choice or the lack of one, within a sentence.
std::string outcome(const PanelAdvice& panel, const Advice& advice, FilmUnit unit) {
    if (const Outlook* o = choice_of(advice))
        return fmt::format("{}, for {} (with a chance of {})", words_for(panel, o->sequence),
                           film_text(o->film_um.median, unit), percent_never_sure(o->chance_of_target));
    return "stop, nothing of the kit does it and keeps the reserve";
}

const Try* last_try(const PanelAdvice& panel) {
    if (panel.panel.squares.empty() || panel.panel.squares.back().tries.empty()) return nullptr;
    return &panel.panel.squares.back().tries.back();
}

const Try& try_of(const PanelAdvice& panel, const Conflict& conflict) {
    return panel.panel.squares[conflict.square].tries[conflict.look];
}

std::string where_words(const PanelAdvice& panel, const Conflict& conflict) {
    const auto& squares = panel.panel.squares;
    std::string words =
        squares[conflict.square].tries.size() > 1 ? fmt::format("after try {}", conflict.look + 1) : "";
    if (squares.size() > 1)
        words += fmt::format("{}square {}", words.empty() ? "on " : " on ", conflict.square + 1);
    return words.empty() ? words : " " + words;
}

/// Whether much was seen to be cleared.
bool seen_well(const Try& work) { return work.seen && seen_share(*work.seen).low >= 0.6; }

std::vector<std::string> lamp_conflict(const PanelAdvice& panel, const Conflict& c) {
    const Try& work = try_of(panel, c);
    const SeenShare seen = seen_share(*work.seen);
    const bool more = 0.5 * (seen.low + seen.high) > c.median;
    std::vector<std::string> out{fmt::format(
        "The lamp shows \"{}\" cleared{} where the rest of what is known allows {}: much {} than it should.",
        *work.seen, where_words(panel, c), share_text({c.low, c.median, c.high}), more ? "more" : "less")};
    out.push_back(
        more ? "Oils and fillers in the polish hide marks: wipe with a panel wipe and look again (common "
               "practice, no source)."
             : "New marks from grit or a dirty pad? Another kind of defect than described, or a deeper one? "
               "Clean pad and paint, look again, feel with a fingernail.");
    return out;
}

std::vector<std::string> gauge_conflict(const PanelAdvice& panel, const Conflict& c, FilmUnit unit) {
    const GaugePair& gauge = *try_of(panel, c).gauge;
    const std::string sd = film_text(gauge.sd_um(), unit), where = where_words(panel, c);
    if (c.impossible)
        return {fmt::format("The gauge says that the film has grown by {} (± {}){}. Film does not grow.",
                            film_text(-gauge.loss_um(), unit), sd, where),
                "Dust or residue under the probe, another spot than before, a warm panel? Wipe, let it cool "
                "and read "
                "again on the same marked spots. The reading was left out of what was learned."};
    const bool more = gauge.loss_um() > c.median;
    return {fmt::format(
                "The gauge says that {} has gone (± {}){} where the rest of what is known allows {}: much {} "
                "than it should be.",
                film_text(gauge.loss_um(), unit), sd, where, film_range_text({c.low, c.median, c.high}, unit),
                more ? "more" : "less"),
            more ? "Another spot than before? A softer repaint? Read again on the same marked spots before "
                   "anything "
                   "more comes off."
            : seen_well(try_of(panel, c)) ? "Oils and fillers in the polish hide marks: wipe with a panel "
                                            "wipe and look again (common practice, "
                                            "no source). And read again on the same marked spots."
                                          : "Another spot than before, or residue under the probe? Wipe and "
                                            "read again on the same marked spots."};
}

const char* name_of(Witness witness) { return witness == Witness::lamp ? "lamp" : "gauge"; }

} // namespace

std::string share_text(const Interval& share) {
    const std::string low = of_hundred(share.low), median = of_hundred(share.median),
                      high = of_hundred(share.high);
    return low == high ? median + " %" : fmt::format("{} % ({} to {} %)", median, low, high);
}

std::string film_range_text(const Interval& film_um, FilmUnit unit) {
    return fmt::format("{} ({} to {})", film_text(film_um.median, unit), bare_film(film_um.low, unit),
                       bare_film(film_um.high, unit));
}

std::string film_error_text(double film_um, double sd_um, FilmUnit unit) {
    return fmt::format("{} ± {}", bare_film(film_um, unit), film_text(sd_um, unit));
}

std::string brief_words(std::span<const StepEffect> steps, std::size_t step) {
    const auto without_machine = [](const std::string& words) { return words.substr(0, words.rfind(" (")); };
    const std::string brief = without_machine(steps[step].words);
    const auto alike =
        std::ranges::count_if(steps, [&](const StepEffect& s) { return without_machine(s.words) == brief; });
    return alike == 1 ? brief : steps[step].words;
}

std::string brief_words(std::span<const StepEffect> steps, const Sequence& sequence) {
    std::string words;
    for (const Sets& part : sequence) add_sets_briefly(words, part.sets, brief_words(steps, part.step));
    return words;
}

std::string recommendation(const PanelAdvice& panel, const Target& target, FilmUnit unit) {
    const Advice& advice = panel.advice;
    const Outlook* choice = choice_of(advice);
    const std::string whole = choice ? words_for(panel, choice->sequence) : "";
    switch (advice.next) {
    case Next::clean_first:
        return "Wash and decontaminate first: grit that is left on the paint scratches under the pad.";
    case Next::look_again: return "Look again: what was seen cannot be true together.";
    case Next::try_first: return fmt::format("Try first: {}.", whole);
    case Next::enough: return fmt::format("Enough: {} does it.", whole);
    case Next::more_sets: {
        const Sets first = choice->sequence.front();
        const Sequence done = advice.so_far ? advice.so_far->sequence : Sequence{};
        const int more = done.empty() ? 0 : first.sets - done.front().sets;
        std::string text = fmt::format("More passes: {} in all", whole);
        if (done.size() == 1 && more > 0)
            text += fmt::format("; on this square {} more of the first step", counted(more, "set", "sets"));
        return text + ".";
    }
    case Next::stronger: return fmt::format("One step stronger: {}.", whole);
    case Next::milder: return fmt::format("A milder step does it: on the rest of the panel {}.", whole);
    case Next::refine:
        return fmt::format("Refine now, the marks are out and the finish is not: {} in all.", whole);
    case Next::touch_up:
        return fmt::format(
            "Nothing here that polishing takes out; {:.0f} stone chips are expected on the panel, for "
            "touch-up.",
            panel.ground.chips);
    case Next::cannot: return fmt::format("It cannot be worked with this kit: {}.", panel.cannot);
    case Next::stop:
        switch (advice.limited_by) {
        case LimitedBy::target:
            return fmt::format(
                "Stop: not worth the film. No sequence of this kit reaches {} with a chance of {}.",
                target_words(target), percent_never_sure(target.chance));
        case LimitedBy::reserve:
            return fmt::format(
                "Stop: not worth the film. Whatever is done leaves too little clear coat to be sure of {}.",
                film_text(target.reserve_um, unit));
        default:
            return fmt::format("Stop: not worth the film. What would reach {} leaves too little clear coat "
                               "to be sure of {}.",
                               target_words(target), film_text(target.reserve_um, unit));
        }
    }
    return "";
}

std::vector<std::string> reasons(const PanelAdvice& panel, const Target& target, FilmUnit unit) {
    const Advice& advice = panel.advice;
    std::vector<std::string> out;
    if (advice.next == Next::clean_first || advice.next == Next::touch_up || advice.next == Next::cannot)
        return out;
    if (advice.so_far && panel.panel.squares.back().tries.size() > 0)
        out.push_back(fmt::format(
            "What was done on the square, done to the panel, clears {} and leaves {}; the chance that it "
            "reaches {} is {}.",
            share_text(advice.so_far->share),
            advice.so_far->haze <= target.haze
                ? finish_word(target.haze)
                : fmt::format("a haze of {:.1f}, where {:.1f} is wanted", advice.so_far->haze, target.haze),
            target_words(target), percent_never_sure(advice.so_far->chance_of_target)));
    if (const Outlook* o = choice_of(advice)) {
        if (advice.next == Next::look_again) return out;
        if (advice.so_far && o->sequence == advice.so_far->sequence) {
            out.push_back(fmt::format("It costs {}; the chance that {} of clear coat stays is {}.",
                                      film_range_text(o->film_um, unit), film_text(target.reserve_um, unit),
                                      percent_never_sure(o->chance_of_keeping)));
            return out;
        }
        out.push_back(fmt::format(
            "It is the mildest of {} that does it: {} cleared and a chance of {} of reaching {}, for {}. The "
            "chance that {} of clear coat stays is {}.",
            advice.outlooks.size(), share_text(o->share), percent_never_sure(o->chance_of_target),
            target_words(target), film_range_text(o->film_um, unit), film_text(target.reserve_um, unit),
            percent_never_sure(o->chance_of_keeping)));
        if (*advice.choice > 0) {
            const Outlook& milder = advice.outlooks[*advice.choice - 1];
            out.push_back(fmt::format(
                "The next milder, {}, clears {}{}; its chance is {}.", words_for(panel, milder.sequence),
                share_text(milder.share),
                milder.haze > target.haze ? fmt::format(" but leaves a haze of {:.1f}", milder.haze) : "",
                percent_never_sure(milder.chance_of_target)));
        }
        return out;
    }
    if (advice.next != Next::stop) return out;
    if (advice.best_kept) {
        const Outlook& o = advice.outlooks[*advice.best_kept];
        out.push_back(fmt::format(
            "The best that keeps the reserve is {}: {} cleared, for {}; its chance of the target is {}.",
            words_for(panel, o.sequence), share_text(o.share), film_range_text(o.film_um, unit),
            percent_never_sure(o.chance_of_target)));
    }
    out.push_back(fmt::format(
        "There is {} of clear coat. Leave the deepest marks, lower the target, or have it refinished.",
        film_error_text(panel.ground.clear.mean_um, panel.ground.clear.sd_um, unit)));
    return out;
}

std::vector<std::string> conflict_words(const PanelAdvice& panel, std::size_t k, FilmUnit unit) {
    const Conflict& c = panel.conflicts[k];
    std::vector<std::string> out =
        c.witness == Witness::lamp ? lamp_conflict(panel, c) : gauge_conflict(panel, c, unit);
    if (c.impossible || k >= panel.either_way.size()) return out;
    // Both witnesses of a look stand against each other: their outcomes are told once.
    const bool told =
        std::any_of(panel.conflicts.begin(), panel.conflicts.begin() + static_cast<std::ptrdiff_t>(k),
                    [&](const Conflict& d) { return d.square == c.square && d.look == c.look; });
    if (told) return out;
    const EitherWay& alternatives = panel.either_way[k];
    const Witness other = c.witness == Witness::lamp ? Witness::gauge : Witness::lamp;
    if (alternatives.believed) {
        out.push_back(fmt::format("Were the {} right: {}.", name_of(other),
                                  outcome(panel, alternatives.without, unit)));
        out.push_back(fmt::format("Were the {} right: {}.", name_of(c.witness),
                                  outcome(panel, *alternatives.believed, unit)));
    } else {
        out.push_back(fmt::format("Were the {} wrong: {}.", name_of(c.witness),
                                  outcome(panel, alternatives.without, unit)));
        out.push_back(fmt::format("Were it right: {}.", outcome(panel, panel.advice, unit)));
    }
    return out;
}

std::vector<std::string> remarks(const PanelAdvice& panel, FilmUnit unit) {
    std::vector<std::string> out;
    for (const TryReport& report : panel.tries) {
        const Try& work = panel.panel.squares[report.square].tries[report.work];
        const auto conflicting = std::ranges::any_of(panel.conflicts, [&](const Conflict& c) {
            return c.square == report.square && c.look == report.work;
        });
        if (conflicting || !work.gauge || !work.seen) continue;
        // A gauge that would have told what was expected to go, and tells nothing.
        if (seen_well(work) && work.gauge->loss_um() < work.gauge->sd_um() &&
            report.expected_um > 1.5 * work.gauge->sd_um())
            out.push_back(fmt::format(
                "\"{}\" cleared, and the gauge tells {} gone from nothing (± {}): marks that clear "
                "for nothing may only be filled. Wipe with a panel wipe and look again (common "
                "practice, no source).",
                *work.seen, film_text(std::max(0.0, work.gauge->loss_um()), unit),
                film_text(work.gauge->sd_um(), unit)));
    }
    const Try* last = last_try(panel);
    if (last == nullptr) return out;
    if (!last->seen && !last->gauge)
        out.push_back("Nobody has looked at the last try yet: look under the lamp, and read the gauge if "
                      "there is one.");
    if (last->seen && !last->gauge) {
        const SeenShare seen = seen_share(*last->seen);
        if (seen.high - seen.low > 0.5)
            out.push_back(fmt::format(
                "\"{}\" alone hardly tells: it goes with anything from {:.0f} to {:.0f} % cleared. A "
                "number under the lamp, or gauge means before and after, would. What follows is "
                "the best guess until then.",
                *last->seen, 100 * seen.low, 100 * seen.high));
    }
    return out;
}

std::vector<std::string> open_questions(const SectionReport& report, const PanelAdvice& panel,
                                        FilmUnit unit) {
    std::vector<std::string> out;
    if (!panel.panel.readings)
        out.push_back(
            fmt::format("the film: no gauge readings, so it is the paint's nominal {}",
                        film_error_text(panel.ground.clear.mean_um, panel.ground.clear.sd_um, unit)));
    const bool any_gauge = std::ranges::any_of(panel.panel.squares, [](const TapedSquare& square) {
        return std::ranges::any_of(square.tries, [](const Try& work) { return work.gauge.has_value(); });
    });
    if (panel.ground.panel->substrate.polymer)
        out.push_back(
            any_gauge ? "the gauge: on plastic, magnetic and eddy-current gauges do not read; these readings "
                        "hold only if it is an ultrasonic one"
                      : "the film lost: on plastic, magnetic and eddy-current gauges do not read");
    if (panel.usual) out.push_back("this paint and these marks: no section was tried on the panel yet");
    const double cut_sd = panel.belief.cut.sd(), depth_sd = panel.belief.depth.sd();
    out.push_back(
        fmt::format("the cut, by a factor of {:.2f} either way, and the depth of the marks, by {:.2f} (90 %)",
                    std::exp(1.645 * cut_sd), std::exp(1.645 * depth_sd)));
    if (!report.kit.gauge) out.push_back("what has gone: the kit has no film gauge");
    return out;
}

std::string trial_words(const PanelAdvice& panel, FilmUnit unit) {
    constexpr double worth_saying_um = 0.01;
    if (panel.advice.trials.empty()) return "";
    const TrialWorth& best = panel.advice.trials.front();
    if (best.worth_um < worth_saying_um) return "Another section would hardly change the advice.";
    return fmt::format(
        "{} of {} on a new square: worth {} of film on average; the chance that it changes the advice is {}.",
        counted(best.trial.sets, "set", "sets"), brief_words(panel.ground.effects, best.trial.step),
        film_text(best.worth_um, unit), percent_never_sure(best.changes));
}

std::string factor_words(const Belief1& belief, const FactorWords& words) {
    const auto percent_more = [&](double share) { return 100 * std::expm1(belief.quantile(share)); };
    const double low = percent_more(0.05), median = percent_more(0.5), high = percent_more(0.95);
    const std::string range =
        low >= 0 || high <= 0 ? fmt::format("{:.0f} to {:.0f} %", std::min(std::abs(low), std::abs(high)),
                                            std::max(std::abs(low), std::abs(high)))
                              : fmt::format("{:.0f} % {} to {:.0f} % {}", -low, words.less, high, words.more);
    constexpr double about_same_percent = 2.5;
    if (std::abs(median) < about_same_percent) return fmt::format("{} ({})", words.same, range);
    return fmt::format("{:.0f} % {} {} ({})", std::abs(median), median > 0 ? words.more : words.less,
                       words.than, range);
}

std::string try_words(const Try& work, const std::string& step_words, FilmUnit unit) {
    std::string text = fmt::format("{} of {}", counted(work.sets, "set", "sets"), step_words);
    if (work.seen) text += fmt::format("; seen: {}", *work.seen);
    if (work.gauge) {
        const GaugePair& g = *work.gauge;
        text += fmt::format("; gauge: {} {} (± {})", film_text(std::abs(g.loss_um()), unit),
                            g.loss_um() < 0 ? "more than before" : "gone", film_text(g.sd_um(), unit));
    }
    if (!work.seen && !work.gauge) text += "; not looked at";
    return work.note.empty() ? text : fmt::format("{}; {}", text, work.note);
}

std::vector<std::string> learned_words(const SectionReport& report, const PanelAdvice& panel) {
    const auto paint = std::ranges::find(report.paints, panel.panel.paint) - report.paints.begin();
    const FactorWords softness{"softer", "harder", "than its preset", "as soft as its preset"};
    const FactorWords depth{"deeper", "shallower", "than described", "as deep as described"};
    const FactorWords removal{"more", "less", "than the model says", "what the model says"};
    return {"the paint is " +
                factor_words(report.learned.softness[static_cast<std::size_t>(paint)], softness),
            "the marks are " + factor_words(panel.belief.depth, depth),
            "the hand takes off " + factor_words(report.learned.hand, removal)};
}

std::string beside_model_words(const TryReport& report, FilmUnit unit) {
    return fmt::format("expected {:.0f} % cleared and {} gone; as learned {} and {}",
                       100 * report.expected_share, film_text(report.expected_um, unit),
                       share_text(report.share), film_range_text(report.film_um, unit));
}

std::string touch_up_words(const PanelAdvice& panel) {
    if (panel.ground.chips <= 0) return "nothing expected";
    return fmt::format("about {:.0f} stone chips on the panel: no polishing takes them out",
                       std::max(1.0, panel.ground.chips));
}

CandidateRows candidate_rows(const Advice& advice, std::size_t most) {
    constexpr double hopeless = 0.02;
    const std::vector<Outlook>& all = advice.outlooks;
    const auto first =
        std::ranges::find_if(all, [](const Outlook& o) { return o.chance_of_target > hopeless; });
    CandidateRows rows;
    rows.from = static_cast<std::size_t>(first - all.begin());
    if (first == all.end()) rows.from = all.size() > most ? all.size() - most : 0;
    else rows.from = rows.from > 2 ? rows.from - 2 : 0;
    rows.to = std::min(all.size(), rows.from + most);
    if (advice.choice && *advice.choice >= rows.to) rows.to = *advice.choice + 1, rows.from = rows.to - most;
    return rows;
}

} // namespace sparecoat::picture
