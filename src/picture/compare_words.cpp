#include "picture/compare_words.hpp"
#include "picture/map_drawing.hpp"
#include "sim/heat.hpp"
#include "units/quantity.hpp"
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

/// What more and less of a measure is called; with nothing it is not worth a clause.
struct Phrases {
    const char *more = nullptr, *less = nullptr;
};

Phrases phrases_of(Measure measure) {
    switch (measure) {
    case Measure::film_open: return {"takes {} more off the open panel", "takes {} less off the open panel"};
    case Measure::film_worst: return {"takes {} more at its worst spot", "takes {} less at its worst spot"};
    case Measure::cleared: return {"clears {} more of the marks", "clears {} less of the marks"};
    case Measure::gloss: return {"leaves {} more gloss", "leaves {} less gloss"};
    case Measure::haze: return {"leaves a haze index {} higher", "leaves a haze index {} lower"};
    case Measure::chance: return {"is {} likelier to burn through", "is {} less likely to burn through"};
    case Measure::peak: return {"gets {} hotter", "stays {} cooler"};
    case Measure::turning: return {};
    case Measure::stalled: return {"lets the pad stand {} longer", "lets the pad stand {} less"};
    case Measure::time: return {"takes {} longer", "takes {} less time"};
    case Measure::unevenness: return {"is less even by {}", "is more even by {}"};
    }
    return {};
}

std::string joined(const std::vector<std::string>& parts) {
    std::string out;
    for (std::size_t k = 0; k < parts.size(); ++k)
        out += (k == 0 ? "" : k + 1 == parts.size() ? " and " : ", ") + parts[k];
    return out;
}

/// The amount in a sentence: a share's difference is one of percentage points, not of its own size.
std::string amount_text(double amount, const MeasureWords& words) {
    const std::string value = value_text(std::abs(amount), words);
    if (words.unit == "%") return value + " percentage points";
    return words.unit.empty() ? value : value + " " + words.unit;
}

bool shows(double value, const MeasureWords& words) {
    return std::abs(value) * words.factor >= 0.5 * std::pow(10.0, -words.decimals);
}

} // namespace

MeasureWords words_of(Measure measure, FilmUnit unit) {
    const MeasureInfo& info = info_of(measure);
    const std::string given = info.unit;
    MeasureWords words{info.name, given, 1, 1};
    if (given == "um")
        words.unit = text_of(unit), words.factor = per_um(unit),
        words.decimals = unit == FilmUnit::um ? 2 : 4;
    if (given == "share") words.unit = "%", words.factor = 100;
    if (given == "C") words.unit = "°C";
    if (measure == Measure::chance || measure == Measure::haze || measure == Measure::gloss)
        words.decimals = 2;
    if (measure == Measure::time) words.unit = "min", words.factor = 1.0 / 60;
    return words;
}

std::string value_text(double value, const MeasureWords& words, bool with_sign) {
    std::string text = fmt::format("{:.{}f}", std::abs(value) * words.factor, words.decimals);
    if (!shows(value, words)) return text;
    return (value < 0 ? "\u2212" : with_sign ? "+" : "") + text;
}

std::string estimate_text(const Estimate& estimate, const MeasureWords& words, bool with_sign) {
    const std::string mean = value_text(estimate.mean, words, with_sign);
    if (!(estimate.low < estimate.high)) return mean;
    return fmt::format("{} ({} to {})", mean, value_text(estimate.low, words, with_sign),
                       value_text(estimate.high, words, with_sign));
}

std::string noise_text(const Comparison& comparison, const ComparedDifference& difference) {
    if (!difference.more_than_noise) return comparison.hand_varies ? "within noise" : "the same";
    const std::string verdict = comparison.hand_varies ? "more than noise" : "differs";
    const bool seen = shows(difference.paired.estimate.mean, words_of(difference.measure, FilmUnit::um));
    return seen ? verdict : verdict + ", too small to show";
}

std::string letter_of(const Comparison& comparison, std::size_t technique) {
    return std::string(1, comparison.techniques[technique].letter);
}

std::string name_of_compared(const Comparison& comparison, std::size_t technique) {
    return comparison.techniques[technique].job.step.technique.name;
}

std::string worked_with(const ComparedTechnique& technique) {
    const Resolved& step = technique.job.step;
    return fmt::format("{}, {}, {}; {}", step.machine.name, step.pad.name, step.liquid.name,
                       working_of(technique.job));
}

std::vector<std::string> what_differs(const Comparison& comparison, std::size_t technique, FilmUnit unit) {
    std::vector<std::string> clauses, noise;
    for (const Measure measure : all_measures) {
        const ComparedDifference& difference = comparison.difference(technique, measure);
        const MeasureWords words = words_of(measure, unit);
        const double by = difference.paired.estimate.mean;
        if (!difference.more_than_noise) {
            noise.push_back(words.name);
            continue;
        }
        const Phrases phrases = phrases_of(measure);
        if (!phrases.more || !shows(by, words)) continue;
        clauses.push_back(
            fmt::format(fmt::runtime(by > 0 ? phrases.more : phrases.less), amount_text(by, words)));
    }
    const std::string letter = letter_of(comparison, technique);
    std::vector<std::string> says;
    if (clauses.empty())
        says.push_back(fmt::format("{} does nothing otherwise than A that the draws can tell.", letter));
    else says.push_back(fmt::format("Against A, {} {}.", letter, joined(clauses)));
    if (!noise.empty())
        says.push_back(fmt::format(
            "{}: {}.", comparison.hand_varies ? "Within the noise of the hand" : "The same", joined(noise)));
    return says;
}

std::string weakest_text(const Comparison& comparison, std::size_t technique) {
    const ComparedTechnique& one = comparison.techniques[technique];
    const Panel& panel = comparison.panel();
    const double chance = one.estimates[static_cast<std::size_t>(Measure::chance)].mean;
    const MeasureWords words = words_of(Measure::chance, FilmUnit::um);
    if (!shows(chance, words))
        return fmt::format("{}: under {} % everywhere", letter_of(comparison, technique), "0.01");
    const Point2 at = panel.grid.centre(one.weakest_cell);
    return fmt::format("{}: {} %, {} (x {:.0f} mm, y {:.0f} mm)", letter_of(comparison, technique),
                       value_text(chance, words), place_of(panel, one.weakest_cell), at.x / mm, at.y / mm);
}

std::vector<std::string> warnings_of(const Comparison& comparison) {
    constexpr double worth_saying = 0.05, likely = 0.5; // chances of burning through
    const double hot_c = Surroundings{}.film_limit_c;
    std::vector<std::string> out;
    for (std::size_t t = 0; t < comparison.techniques.size(); ++t) {
        const ComparedTechnique& one = comparison.techniques[t];
        const double chance = one.estimates[static_cast<std::size_t>(Measure::chance)].mean;
        const double peak_c = one.estimates[static_cast<std::size_t>(Measure::peak)].mean;
        if (chance >= worth_saying)
            out.push_back(fmt::format(
                "{} {} burn through: {:.0f} % {}. Hold it back from there, tape it, or take less.",
                letter_of(comparison, t), chance >= likely ? "is likely to" : "may", 100 * chance,
                place_of(comparison.panel(), one.weakest_cell)));
        if (peak_c > hot_c)
            out.push_back(fmt::format("{} heats the film to {:.0f} °C: over {:.0f} °C is too hot. Move on "
                                      "faster, press less, or let it "
                                      "cool in between.",
                                      letter_of(comparison, t), peak_c, hot_c));
    }
    return out;
}

std::string ground_of(const Comparison& comparison) {
    const RunJob& job = comparison.techniques.front().job;
    return fmt::format("{} on {}, {}; marks: {}; {}", job.paint.name, job.panel.substrate.name,
                       job.film ? fmt::format("film measured at {} spots", job.film->readings)
                                : std::string("film not measured"),
                       comparison.defects.name,
                       comparison.hand_varies
                           ? fmt::format("{} draws of the hand, the same for all", comparison.draws)
                           : std::string("a steady hand in all"));
}

std::string interval_words(const Comparison& comparison) {
    const double percent = 100 * comparison.request.terms.confidence;
    if (!comparison.hand_varies)
        return "The hand is steady in all of them, so that nothing varies and there are no intervals.";
    return fmt::format(
        "In brackets: {:g} % intervals of the mean over {} draws of the hand (Student). Differences are "
        "taken draw "
        "by draw, with the same stray hand for all (paired). More than noise: so by Holm's rule over all {} "
        "differences together, at {:g} %.",
        percent, comparison.draws, comparison.differences.size(), 100 - percent);
}

std::vector<std::string> doubts_of(const Comparison& comparison, FilmUnit unit) {
    const CompareTerms& terms = comparison.request.terms;
    std::vector<std::string> doubts;
    doubts.push_back("The intervals are the hand's alone: how force, arm speed, tilt and place stray. More "
                     "draws narrow them; the "
                     "doubts below they do not touch.");
    doubts.push_back(fmt::format(
        "How fast liquid, pad and paint cut is known to a factor of about {:.2g} either way (from memory). "
        "Where machine, pad and liquid are the same it shifts all techniques alike; where they differ "
        "it does not.",
        std::exp(terms.cut_sd)));
    if (!comparison.techniques.front().job.film)
        doubts.push_back("The film was not measured: it is the paint's usual one, with its usual spread.");
    doubts.push_back(fmt::format(
        "Burning through means under {} of clear coat left; film and cut count with their own "
        "uncertainty. The chance is read where it is highest over all draws, and its interval leaves "
        "the choice of that place out.",
        film_text(terms.reserve_um, unit)));
    doubts.push_back(
        "The marks are described, not counted on this panel, and gloss and haze follow from them.");
    doubts.push_back("More than noise is not yet enough to matter: a difference can be sure and too small "
                     "for a gauge or an eye.");
    return doubts;
}

} // namespace sparecoat::picture
