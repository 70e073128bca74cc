#pragma once
#include "decide/sequence.hpp"
#include <cstddef>
#include <span>
#include <vector>

namespace sparecoat::decide {

// What a skilled hand keeps to when it puts steps together (common practice, no source). Advice and plan both
// ask here and nowhere else.

/// The most sets of one step: who has not got there with two takes a stronger step instead.
inline constexpr int most_sets = 2;
/// A first step and up to two finer ones after it: cut, polish, finish.
inline constexpr std::size_t most_steps = 3;

/// From stronger to finer: a step follows only one that leaves deeper marks of its own, or it would put its
/// marks on top of a better finish; and never a firmer pad after a softer one, which undoes what the softer
/// was taken for.
bool may_follow(const StepEffect& after, const StepEffect& before);

/// Open ground is for the largest heads that have room on the panel: a small one takes its time many times
/// over, and its turns show. Small heads are for what the large ones do not reach. What would get the film
/// too hot is for no ground. @return one flag a step.
std::vector<bool> reach_open_ground(std::span<const StepEffect> steps);

/// Found haze ends in a finish: of the steps that may be used, that which leaves least haze of its own.
/// @return whether a sequence ends as the panel's marks ask for.
bool ends_as_asked(std::span<const StepEffect> steps, const Sequence& sequence,
                   std::span<const MarkPopulation> marks);

/// Film that no gauge tells apart, nor the hand's own variation: of sequences that near to the mildest the
/// quickest is taken, of equally quick ones that with the fewest changes of pad and liquid.
inline constexpr double tied_film_um = 0.2;

/// Finer steps are for the finish: marks that the first step leaves are for a stronger first step. So a later
/// step is there, and has as many sets, only as the haze asks for, the steps' own or the found one, over all
/// cuts that are likely.
bool is_for_the_finish(std::span<const StepEffect> steps, const Sequence& sequence,
                       std::span<const MarkPopulation> marks, double haze, CutRange cuts);

/// Every sequence that these rules allow. @param haze of the steps' own marks, at the most.
std::vector<Sequence> allowed_sequences(std::span<const StepEffect> steps,
                                        std::span<const MarkPopulation> marks, double haze,
                                        CutRange cuts = {});

} // namespace sparecoat::decide
