#pragma once
#include "picture/heatmap.hpp"
#include "plan/section.hpp"
#include "units/words.hpp"
#include <string>
#include <vector>

namespace sparecoat::picture {

// An advice on test sections in the trade's words, for the terminal and the window.

/// "97 % (93 to 99 %)". Short of all it is 99 % at the most.
std::string share_text(const Interval& share);
/// "1.52 µm (1.04 to 2.21)".
std::string film_range_text(const Interval& film_um, FilmUnit unit);
/// "40.00 ± 4.00 µm".
std::string film_error_text(double film_um, double sd_um, FilmUnit unit);

/// A step's words without its machine where no other step of the kit has the same liquid and pad.
std::string brief_words(std::span<const StepEffect> steps, std::size_t step);
/// "2 x polish on medium foam 150 mm, then 1 x finishing polish on soft foam 150 mm".
std::string brief_words(std::span<const StepEffect> steps, const Sequence& sequence);

/// What to do next, as one sentence: "One step stronger: 2 sets of ...".
std::string recommendation(const PanelAdvice& panel, const Target& target, FilmUnit unit);
/// Why, in numbers: sentences.
std::vector<std::string> reasons(const PanelAdvice& panel, const Target& target, FilmUnit unit);
/// What cannot be true together, what it may come of, what to do about it, and what follows either way.
std::vector<std::string> conflict_words(const PanelAdvice& panel, std::size_t conflict, FilmUnit unit);
/// What is odd about single looks, or says little, without contradicting the rest.
std::vector<std::string> remarks(const PanelAdvice& panel, FilmUnit unit);
/// What the advice is unsure about and what would help.
std::vector<std::string> open_questions(const SectionReport& report, const PanelAdvice& panel, FilmUnit unit);
/// The section that would teach most.
std::string trial_words(const PanelAdvice& panel, FilmUnit unit);

/// What a factor is more and less of, and than what.
struct FactorWords {
    const char *more, *less, *than, *same;
};
/// "20 % softer than its preset (3 to 40 %)": the median and the 90 % interval of a factor, given its
/// logarithm's belief.
std::string factor_words(const Belief1& belief, const FactorWords& words);

/// What was learned of paint, marks and hand, a sentence each: "the paint is 20 % softer than its preset
/// (...)".
std::vector<std::string> learned_words(const SectionReport& report, const PanelAdvice& panel);

/// What a try was to show by the presets, and what it shows by all that was learned.
std::string beside_model_words(const TryReport& report, FilmUnit unit);

/// What no polishing takes out.
std::string touch_up_words(const PanelAdvice& panel);

/// Candidates worth a row of a table: those with a chance, and the two next milder, which show where it
/// begins.
struct CandidateRows {
    std::size_t from = 0, to = 0; ///< of Advice::outlooks
};
CandidateRows candidate_rows(const Advice& advice, std::size_t most = 14);

/// "2 sets of polish on medium foam 150 mm; seen: 70 %; gauge: 1.40 ± 0.63 µm gone".
std::string try_words(const Try& work, const std::string& step_words, FilmUnit unit);

} // namespace sparecoat::picture
