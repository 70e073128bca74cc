#pragma once
#include "decide/advice.hpp"
#include "job/kit.hpp"
#include "job/record.hpp"
#include "job/run_job.hpp"
#include <functional>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace sparecoat {

/// The ground of a taped square that counts: a pad's radius in from the tape, where the pad has worked evenly, but
/// never more than a quarter of a side. Judge there, read the gauge there.
std::vector<Point2> judged_ground(const TapedSquare& square, double pad_radius_m);

/// A square in the middle of the panel's open ground, as large as fits up to 400 mm, for where none was taped yet.
TapedSquare usual_square(const Panel& panel);

using SectionProgress = std::function<bool(double share)>;

/// Everything about one panel's square that does not depend on what was seen.
struct SquareGround {
    std::shared_ptr<const Panel> panel;
    TapedSquare square;
    std::vector<std::size_t> cells;    ///< judged
    std::vector<StepEffect> effects;   ///< of every step of the kit, in its order
    ClearCoat clear;
    double chips = 0;                  ///< stone chips expected on the panel, for touch-up
};

/// Simulates one set of every step of a kit on a square, on up to `threads` threads; cells of 4 mm, a steady hand.
/// @throws InputError: a square off the panel or too small for the smallest pad; Stopped.
SquareGround square_ground(const Library& library, const std::vector<KitStep>& steps, const RecordedPanel& panel,
                           const TapedSquare& square, int threads, const SectionProgress& progress = {});

/// What `advise` says of one panel.
struct PanelAdvice {
    RecordedPanel panel;
    SquareGround ground;               ///< of its last square, or the usual one
    std::vector<MarkPopulation> marks;
    PanelBelief belief;
    Advice advice;                     ///< next: clean_first where it is not clean; the outlooks are then left empty
    std::vector<Conflict> conflicts;   ///< of this panel's squares; Conflict::square counts within this panel
    /// Where there are conflicts: the advice were one of its witnesses left out, in the conflicts' order.
    std::vector<Advice> without;
};

struct SectionReport {
    SectionRecord record;
    std::vector<KitStep> steps;
    Learned learned;
    std::vector<std::string> paints;   ///< as in Learned::softness
    std::vector<PanelAdvice> panels;
};

/// Learns from the whole record and advises on one panel, or on all where `panel` is empty.
/// @throws InputError, Stopped.
SectionReport advise_on(const Library& library, const SectionRecord& record, const std::string& panel, int threads,
                        const SectionProgress& progress = {});

/// docs/schema/advice.schema.json.
nlohmann::json advice_json(const SectionReport& report);

} // namespace sparecoat
