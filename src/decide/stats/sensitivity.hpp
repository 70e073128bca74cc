#pragma once
#include "decide/stats/designs.hpp"
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::decide {

// What of a model's output its factors account for.

/// A value with an interval.
struct IndexEstimate {
    double value = 0, low = 0, high = 0;
};

/// Sobol's indices of one factor: shares of the output's variance (Sobol, Math. Modelling Comput. Exp. 1, 407
/// (1993)).
struct FactorIndices {
    IndexEstimate first; ///< S: by the factor alone
    IndexEstimate total; ///< ST: by the factor and whatever it does together with others
};

struct Indices {
    std::vector<FactorIndices> factors;
    double mean = 0, variance = 0; ///< of the output over the points of A and B
};

/// What is asked of the intervals.
struct BootstrapTerms {
    double level = 0.9;
    int draws = 1000;
    std::uint64_t seed = 1;
};

/// First-order and total indices from the outputs at a saltelli_scheme's points, in its order. With f_A, f_B
/// and f_k the outputs at a row's A, B and AB_k, all less the mean of those at A and B, and V the variance of
/// those,
///     S_k  = mean of f_B (f_k - f_A) / V          (Saltelli et al., Comput. Phys. Commun. 181, 259 (2010),
///     table 2 (b)) ST_k = mean of (f_A - f_k)² / (2 V)         (Jansen, Comput. Phys. Commun. 117, 35
///     (1999); there (f)).
/// The intervals are the bootstrap's percentiles over the rows (Archer, Saltelli and Sobol, J. Stat. Comput.
/// Simul. 58, 99 (1997)): as many rows as there are, drawn with replacement. They take the rows for
/// independent; those of Sobol points are better spread than that, so there the intervals are on the wide
/// side. An output that does not vary has indices of 0.
/// @throws std::invalid_argument for under two rows or a number of outputs that does not fit the factors.
Indices sobol_indices(std::span<const double> outputs, std::size_t factors, const BootstrapTerms& terms = {});

/// The mean output where a factor lies in one part of its range, the others as the design has them.
struct EffectLevel {
    double x = 0; ///< mean of the coordinate there
    double mean = 0;
    double standard_error = 0; ///< of the mean, as if the points were independent; 0 for one
    std::size_t points = 0;
};

/// Main effect of a coordinate: its equal parts from left to right, those without points left out.
/// @throws std::invalid_argument for another number of outputs than points, or no parts.
std::vector<EffectLevel> main_effect(const Points& points, std::size_t coordinate,
                                     std::span<const double> outputs, std::size_t parts);

/// The points that no other one beats: none costs less and gains as much, or gains more and costs as much. By
/// cost; of equals the first.
/// @throws std::invalid_argument for lists of different lengths.
std::vector<std::size_t> pareto_front(std::span<const double> cost, std::span<const double> gain);

} // namespace sparecoat::decide
