#pragma once
#include "rooms.hpp"
#include <span>
#include <string>
#include <vector>

namespace sparecoat::picture {

/// A range of numbers with round divisions.
struct Scale {
    double low = 0, high = 1;
    double step = 1;
    std::vector<double> ticks; ///< multiples of step within [low, high], rising

    /// Share of the range below value; not clamped.
    double share(double value) const { return (value - low) / (high - low); }
};

/// The round number (1, 2, 2.5 or 5 times a power of ten) nearest to length / divisions by ratio.
/// @param length > 0, @param divisions > 0.
double round_step(double length, double divisions);

/// Widens [low, high] to round numbers about six divisions apart. Zero is taken in where the low end is
/// small beside the high one, so that film lost starts at nothing lost. An empty range gets a width of one
/// division either side of its value; a range of only zeros becomes 0 to 1.
Scale round_scale(double low, double high);

/// Keeps [low, high] as it is and puts round ticks inside. @throws std::invalid_argument unless low < high.
Scale locked_scale(double low, double high);

/// Where a scale of several maps ends, so that a few spots worked far more than the rest (an edge, a body
/// line) do not take all of its colours: under it lie 97 % of the values that are not 0, by their size. Where
/// the largest is not half as much again, that. NaN is left out; 0 where nothing is left.
double usual_end(std::span<const std::vector<float>* const> maps);

/// Which of a scale's ticks have room for their numbers, `apart` being the share of the range that two need
/// between them: those within the range first, then its ends.
std::vector<double> ticks_with_room(const Scale& scale, double apart);

/// "4.5", "0.25", "12": the value with the decimals that the step calls for, and a true minus sign.
std::string tick_text(double value, double step);

} // namespace sparecoat::picture
