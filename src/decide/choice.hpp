#pragma once
#include "rooms.hpp"
#include <optional>
#include <span>
#include <vector>

namespace sparecoat::decide {

// Choosing a way for every panel of a vehicle at once, and what a choice trades: film against marks cleared
// against time. All three add up over panels, so that fronts of parts of the vehicle can be merged panel by
// panel.

/// One way to do a panel.
struct Alternative {
    double share = 0;   ///< of its marks cleared, reached with the chance that the target asks for
    double film_um = 0; ///< off its open ground, median
    double time_s = 0;  ///< for all of it, set-up counted
    bool allowed =
        true; ///< keeps the reserve and what else must hold; others are never chosen and on no front
    bool preferred = false; ///< of ways whose film no gauge tells apart, the one to take
};

/// All ways of one panel. Leaving it as it is must be one of them.
struct PanelAlternatives {
    double area_m2 = 0; ///< weight in means over the vehicle
    std::vector<Alternative> alternatives;
};

/// What holds for a choice.
struct ChoiceTerms {
    double share = 0.95;           ///< wanted: more than that is worth nothing
    std::optional<double> time_s;  ///< at the most, for the vehicle
    std::optional<double> film_um; ///< at the most, off any panel's open ground
};

/// For every panel the index of its way. Of choices within the limits the one that comes nearest to the
/// wanted share, summed by area and counted no higher than wanted, and under that in twentieths, which is
/// what a person tells apart; of those the one with the least film, told apart as a gauge does (tied_film_um
/// on a panel); of those the preferred ones, then the quickest. Exact while no more than 30,000 choices for a
/// part of the vehicle stand side by side, which takes a time limit and some ten panels; then the nearest of
/// those are dropped. @throws std::invalid_argument where a panel has no allowed way within the limits.
std::vector<std::size_t> choose_alternatives(std::span<const PanelAlternatives> panels,
                                             const ChoiceTerms& terms);

/// A choice for the vehicle: means by area, sum of times.
struct FrontPoint {
    double film_um = 0, share = 0, time_s = 0;
    std::vector<std::size_t> alternatives; ///< per panel
};
FrontPoint point_of(std::span<const PanelAlternatives> panels, const std::vector<std::size_t>& alternatives);

/// Whether one is no worse in all three and better in one.
bool beats(const FrontPoint& one, const FrontPoint& other);

/// Choices that no other beats, by film, ties by time. Where there are more than `most`, one is kept of those
/// that differ by less than a step in film and time, the one that clears most, with steps just wide enough;
/// the ends stay.
std::vector<FrontPoint> front_of(std::span<const PanelAlternatives> panels, std::size_t most = 120);

} // namespace sparecoat::decide
