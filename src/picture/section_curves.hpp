#pragma once
#include "plan/section.hpp"
#include <vector>

namespace sparecoat::picture {

// What clears against what it costs, as numbers for a chart.

/// Points of a line: film lost (µm, mean of the ground) and the share of the marks cleared.
struct ClearingCurve {
    std::vector<double> film_um, share;
};

/// A look at a square as a point with its 90 % error bars: what was not measured is what is believed. Of the
/// square's judged ground, while the candidates are of the open panel.
struct LookPoint {
    std::size_t square = 0, work = 0; ///< of RecordedPanel::squares, and of its tries
    Interval film_um, share;
    bool gauged = false, seen = false;
};

/// Those of all tries that somebody looked at, in the record's order.
std::vector<LookPoint> look_points(const PanelAdvice& panel);

struct SectionCurves {
    std::vector<ClearingCurve> candidates; ///< as Advice::outlooks
    /// Shares that nine in ten of what is believed of the marks lie between, on the way through the
    /// recommendation. Empty where nothing is recommended.
    ClearingCurve band_low, band_high;
    std::vector<LookPoint> looks;
    double most_um = 0; ///< as far as is worth drawing
};

/// The way through a sequence with cut and depth at the medians of what is believed, from nothing done to all
/// of it. The share rises with the film; its end is the sequence's.
ClearingCurve clearing_curve(const SquareGround& ground, const Sequence& sequence, double cut_scale,
                             double depth_scale);

/// All of the above for a panel that was advised on.
SectionCurves section_curves(const PanelAdvice& panel);

} // namespace sparecoat::picture
