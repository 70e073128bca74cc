#pragma once
#include "picture/heatmap.hpp"
#include "study/compare.hpp"
#include <string>
#include <vector>

namespace sparecoat::picture {

/// How a measure is written.
struct MeasureWords {
    std::string name, unit; ///< "film lost, open panel", "µm"
    double factor = 1;      ///< from its values to the unit
    int decimals = 0;
    std::string heading() const { return unit.empty() ? name : name + ", " + unit; }
};
MeasureWords words_of(Measure measure, FilmUnit unit);

/// "1.02"; "+0.29" and "−0.29" where signed. Without its unit.
std::string value_text(double value, const MeasureWords& words, bool with_sign = false);
/// "1.02 (0.99 to 1.05)"; the mean alone where there is no interval.
std::string estimate_text(const Estimate& estimate, const MeasureWords& words, bool with_sign = false);

/// "more than noise", "within noise"; with a steady hand, which has no noise, "differs", "the same". Where
/// the digits that are given do not show it, it says so.
std::string noise_text(const Comparison& comparison, const ComparedDifference& difference);

/// "B": and the name of its technique.
std::string letter_of(const Comparison& comparison, std::size_t technique);
std::string name_of_compared(const Comparison& comparison, std::size_t technique);
/// "Free-spinning orbital, 15 mm throw, Medium foam 150 mm, Polish; 45 N, 4500/min, arm 40 mm/s".
std::string worked_with(const ComparedTechnique& technique);

/// What a technique does otherwise than the first, in a sentence, and what of it is noise, in another.
std::vector<std::string> what_differs(const Comparison& comparison, std::size_t technique, FilmUnit unit);
/// What comes before all figures: techniques that may burn through (from a chance of 5 %) or get the film too
/// hot.
std::vector<std::string> warnings_of(const Comparison& comparison);
/// Where its chance of burning through is highest.
std::string weakest_text(const Comparison& comparison, std::size_t technique);
/// What was compared on what: paint, marks, draws.
std::string ground_of(const Comparison& comparison);
/// How intervals and the word "noise" are meant.
std::string interval_words(const Comparison& comparison);
/// What the figures leave unsure.
std::vector<std::string> doubts_of(const Comparison& comparison, FilmUnit unit);

} // namespace sparecoat::picture
