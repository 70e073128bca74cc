#pragma once
#include "decide/sequence.hpp"
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::decide {

/// What to do next on a panel.
enum class Next {
    clean_first, ///< not washed and decontaminated: no advice
    look_again,  ///< what was seen cannot be true together
    try_first,   ///< nothing seen yet: begin with this
    enough,      ///< what was done on the square does it
    more_sets,   ///< the same step again
    stronger,    ///< begin with a stronger step
    milder,      ///< a milder step does it too
    refine,      ///< the marks are out, the finish is not
    touch_up,    ///< there is nothing that polishing takes out
    stop,        ///< nothing does it and keeps the reserve
    cannot       ///< nothing can be said of it: no pad of the kit has room, say
};
std::string_view name_of(Next next); ///< "one step stronger"

/// Why nothing is recommended.
enum class LimitedBy {
    nothing, ///< something is
    target,  ///< no candidate is sure enough to reach the target, however much film it may take
    reserve, ///< those that reach it may take more than the film has to spare
    both     ///< none reaches it, and none keeps the reserve
};

/// What a trial on a new taped square, or going on with it, is worth.
struct TrialWorth {
    Sets trial;
    double worth_um = 0; ///< film that knowing its outcome saves on average; see advise()
    double changes = 0;  ///< chance that its outcome changes the recommendation
};

struct AdviceTerms {
    LearningTerms learning;
    /// What missing the target costs, as film: the panel is done again from a stronger step (from memory).
    double miss_um = 3;
    /// What falling under the reserve costs, as film: a respray (from memory).
    double strike_um = 50;
    double gauge_sd_um = 0.45; ///< of a loss as the shop would read it next; infinity where no gauge reads
};

/// What was done on the panel's last square, and seen of it.
struct Done {
    Sequence sequence;
    bool seen = false; ///< whether lamp or gauge said anything about it
};

struct Advice {
    Next next = Next::try_first;
    std::optional<std::size_t> choice; ///< of `outlooks`: the recommendation
    std::vector<Outlook> outlooks; ///< of all candidates and the recommendation, by film lost, ties by time
    std::vector<Sequence> weighed; ///< in full: these and all that may do it with less film
    std::optional<Outlook> so_far; ///< of what was done on the square
    LimitedBy limited_by = LimitedBy::nothing;
    std::vector<TrialWorth> trials; ///< by worth, highest first; none where nothing could be learned
    /// Where nothing is recommended: the candidate that clears most and keeps the reserve.
    std::optional<std::size_t> best_kept;
};

/// Weighs all candidates, and all other sequences that may do it with less film, under a belief and picks the
/// mildest, by median film lost, whose chance of the target and chance of keeping the reserve both hold; of
/// those within tied_film_um what was done on the square, else the quickest, else the one with the fewest
/// steps. What was done is weighed even where it is no candidate; it is picked only where its heads are for
/// open ground.
///
/// A trial's worth is the expected value of its outcome (Raiffa and Schlaifer, Applied Statistical Decision
/// Theory, 1961): with the loss of a candidate film + miss_um x P(target missed) + strike_um x P(reserve
/// gone),
///     worth = min over candidates of E[loss] - E over outcomes of min over candidates of E[loss | outcome],
/// outcomes being what the lamp may show, in the steps a person tells apart, and what the gauge may read.
/// Trials are one or two sets on a new square, mildest first: of no stronger step than the recommended
/// sequence begins with. That the new square differs from the rest of the panel is left out, so that worths
/// are a little high.
/// @param marks of the panel, @param steps on its judged ground, @param done on its last square, if any.
Advice advise(std::span<const StepEffect> steps, std::span<const MarkPopulation> marks,
              const PanelBelief& belief, const ClearCoat& clear, const Target& target,
              const std::optional<Done>& done, const AdviceTerms& terms = {});

} // namespace sparecoat::decide
