#pragma once
// What stands behind a test section: its ground on the panel, and what a kit's steps do there.
#include "plan/section.hpp"
#include "plan/worked_sets.hpp"
#include "run/meter.hpp"
#include "run/run_job.hpp"
#include <memory>
#include <vector>

namespace sparecoat::plan {

/// Indices of the panel's cells on a square's judged ground. @throws InputError "/at": it has none.
std::vector<std::size_t> judged_cells(const Panel& panel, const TapedSquare& square, double pad_radius_m);

/// The panel's open ground: more than a pad's radius from every edge and crest, where a pad that is kept on
/// the panel has covered it as often as any. Where a panel has no such ground, as far in as leaves some.
std::vector<std::size_t> open_ground_cells(const Panel& panel, double pad_radius_m);

/// Populations with a region of their own count by the share of the cells that it covers.
std::vector<MarkPopulation> marks_on(const Panel& panel, const std::vector<MarkPopulation>& marks,
                                     const std::vector<std::size_t>& cells);

double largest_pad_m(const std::vector<KitStep>& steps);

/// A recorded panel with its film, made once for all of its squares.
struct SectionPanel {
    RunRequest request;
    std::shared_ptr<const Panel> panel;
    Paint paint;
    std::vector<MarkPopulation> defects;
};
/// @throws InputError.
SectionPanel model_for(const Library& library, const RecordedPanel& recorded);

/// A square's ground, with one set of each of the `wanted` of a kit's steps simulated there, those whose pad
/// has no room left out. Within the caller's oneTBB arena. @throws InputError "/at", "/size"; Stopped.
SquareGround ground_of(const Library& library, const SectionPanel& model, const std::vector<KitStep>& steps,
                       const std::vector<std::size_t>& wanted, const TapedSquare& square, Meter& meter,
                       WorkedSets& kept);

/// The panel worked all over, as its open ground shows it: a step whose film would get too hot there is
/// slowed down until it does not, as far as its machine goes. @param square to be named with it. @throws
/// InputError "/panel"; Stopped.
SquareGround open_ground_of(const Library& library, const SectionPanel& model,
                            const std::vector<KitStep>& steps, const std::vector<std::size_t>& wanted,
                            const TapedSquare& square, Meter& meter, WorkedSets& kept);

} // namespace sparecoat::plan
