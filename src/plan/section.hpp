#pragma once
#include "decide/advice.hpp"
#include "library/kit.hpp"
#include "library/record.hpp"
#include "plan/worked_sets.hpp"
#include "run/run_job.hpp"
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::plan {

/// The ground of a taped square that counts: a pad's radius in from the tape, where the pad has worked
/// evenly, but never more than a quarter of a side. Judge there, read the gauge there. Its four corners.
std::vector<Point2> judged_ground(const TapedSquare& square, double pad_radius_m);

/// A square in the middle of the panel's open ground, as large as fits up to 400 mm, for where none was taped
/// yet: off the body lines and farthest from edges and lines. @throws InputError where not even the smallest,
/// 60 mm, fits.
TapedSquare usual_square(const Panel& panel);

/// Everything about a square's judged ground, or a panel's open ground, that does not depend on what was
/// seen.
struct SquareGround {
    std::shared_ptr<const Panel> panel;
    TapedSquare square;
    std::vector<std::size_t> cells; ///< of that ground
    std::vector<StepEffect>
        effects; ///< of the steps that were asked for and whose pad has room, in the kit's order
    std::vector<Technique> techniques; ///< of one set of each, where slowed so that the film stays cool
    std::vector<MarkPopulation> marks; ///< on that ground, chips among them
    ClearCoat clear;                   ///< of the thinnest tenth
    double chips = 0;                  ///< stone chips expected on the panel, for touch-up
};

/// What one set removes of some cells, and their mean, from a field of the panel.
void take_removed(StepEffect& effect, const std::vector<std::size_t>& cells,
                  const std::vector<float>& removed_um);

/// Simulates one set of every step of a kit on a square, on up to `threads` threads; cells of 4 mm, a steady
/// hand.
/// @throws InputError: whatever the panel's entry names; without a file, at "/at" or "/size", a square off
/// the panel or too small for the smallest pad. Stopped.
SquareGround square_ground(const Library& library, const std::vector<KitStep>& steps,
                           const RecordedPanel& panel, const TapedSquare& square, int threads,
                           const Progress& progress = {});

/// Holds a record to what it names, without simulating: kit and steps, panels, paints, defects, readings,
/// and that squares are on their panels. @throws InputError with the record's file and the place.
void hold_to_library(const Library& library, const SectionRecord& record);

/// A try of the record beside the model: what it shows of the untouched square by then, all tries together.
struct TryReport {
    std::size_t square = 0, work = 0;           ///< of RecordedPanel::squares, and of its tries
    double expected_share = 0, expected_um = 0; ///< by the presets
    Interval share, film_um;                    ///< by all that was learned
};

/// What follows from a conflict, whichever way it is settled.
struct EitherWay {
    Advice without; ///< the witness that stands against the rest was wrong
    std::optional<Advice>
        believed; ///< it was right, and the look's other witness, where there is one, was wrong
};

/// What `advise` says of one panel.
struct PanelAdvice {
    RecordedPanel panel;
    /// The panel's open ground, worked all over: a pad that turns round within a small square takes more off
    /// its middle than on the open panel, so that what a square taught is carried over, not what went there.
    /// The square named with it is the last one, or the usual one.
    SquareGround ground;
    std::string cannot; ///< why nothing can be said of it (Next::cannot); its ground is then without cells
    bool usual = false; ///< no square was taped yet
    PanelBelief belief;
    std::vector<TryReport> tries;
    Advice advice; ///< next: clean_first where it is not clean; the outlooks are then left empty
    std::vector<Conflict>
        conflicts; ///< of this panel's squares; square and look count within this panel, look a try
    std::vector<EitherWay> either_way; ///< in the conflicts' order; none where the panel is not clean
};

struct SectionReport {
    SectionRecord record;
    Kit kit;
    std::vector<KitStep> steps;
    Learned learned;
    std::vector<std::string> paints; ///< as in Learned::softness
    std::vector<double> paint_sd;
    std::vector<PanelAdvice> panels;
};

/// Learns from the whole record and advises on one panel, or on all where `panel` is empty. Of all, one on
/// which no step of the kit has room is told as such and the others go on; asked for by itself it is refused.
/// @param kept where sets that were worked out before are looked for, and new ones kept; null: for this once.
/// @throws InputError, Stopped.
SectionReport advise_on(const Library& library, const SectionRecord& record, const std::string& panel,
                        int threads, const Progress& progress = {}, WorkedSets* kept = nullptr);

/// docs/schema/advice.schema.json.
nlohmann::json advice_json(const SectionReport& report);

} // namespace sparecoat::plan
