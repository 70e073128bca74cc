#pragma once
#include "rooms.hpp"
#include <span>
#include <vector>

namespace sparecoat::decide {

/// A mean with the limits of its confidence interval.
struct Estimate {
    double mean = 0, low = 0, high = 0;
};

/// Chance that |t| is no greater than `t` >= 0 for Student's t with `freedom` >= 1 degrees of freedom: for a
/// whole number of them a finite sum over the cosine of atan(t / sqrt(freedom)) (Abramowitz and Stegun,
/// Handbook of Mathematical Functions, 1964, 26.7.3 and 26.7.4).
double student_within(double t, int freedom);

/// The t that |t| keeps within with the chance `confidence`, over 0 and under 1; the one for 95 % and 15
/// degrees is 2.131.
double student_bound(double confidence, int freedom);

/// Mean of independent draws with Student's interval, mean ± t s / sqrt(n) ("The probable error of a mean",
/// Biometrika 6, 1, 1908). One draw, or draws that are all the same, leave no width. @param values one at
/// least.
Estimate mean_estimate(std::span<const double> values, double confidence);

/// What a second way gives over a first, draw by draw.
struct PairedDifference {
    Estimate estimate;
    double p = 1; ///< chance of a mean at least as far from nothing, were there no difference; two-sided
};

/// Student's paired test: that of the differences of draws that have their random numbers in common, so that
/// what both ways suffer alike drops out (Law, Simulation Modeling and Analysis, 5th ed. 2015, 10.2.1
/// and 11.2). Differences that are all the same leave no doubt: p is 1 where they are 0, else 0.
/// @throws std::invalid_argument for other than equally many draws, one at least.
PairedDifference paired_difference(std::span<const double> first, std::span<const double> second,
                                   double confidence);

/// p-values as they stand once all are looked at together: whoever calls those significant that are at most
/// alpha is wrong about any of them with a chance of alpha at most, whatever their dependence (Holm, "A
/// simple sequentially rejective multiple test procedure", Scand. J. Stat. 6, 65, 1979).
std::vector<double> holm_adjusted(std::span<const double> p);

} // namespace sparecoat::decide
