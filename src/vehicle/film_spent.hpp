#pragma once
#include "vehicle/job_file.hpp"
#include <optional>
#include <span>
#include <vector>

namespace sparecoat::vehicle {

/// Film in µm with its standard deviation.
struct FilmSum {
    double um = 0, sd_um = 0;
};

/// Mean of some readings, of the total or of the clear coat.
struct FilmStatistics {
    std::size_t spots = 0;
    double mean_um = 0, sd_um = 0; ///< over the spots; sd with n - 1, 0 for one spot
    double least_um = 0, most_um = 0;
};
std::optional<FilmStatistics> statistics_of(std::span<const FilmReading> readings, bool after_work,
                                            bool of_clear);

/// Loss by the gauge over the spots that were read before and after work, of one kind, within `same_spot_m`
/// of each other: the mean of the differences, with sd sqrt(sum (s_b²/n_b + s_a²/n_a)) / spots, as far as
/// repeatability goes. Spots may be of total and of clear coat, each against its own; of a spot read both
/// ways the total counts, which a gauge reads best. Empty without such spots.
inline constexpr double same_spot_m = 5e-3;
/// The nearest reading of a kind within same_spot_m of another; null where there is none.
const FilmReading* reading_near(std::span<const FilmReading> readings, const FilmReading& at, bool after_work,
                                bool of_clear);
std::optional<FilmSum> loss_by_readings(std::span<const FilmReading> readings);

/// What a panel's work at a visit cost: the gauge's means where they were entered, else its readings; the
/// model's loss; where there are both, their mean weighted by 1/sd², as independent estimates of one thing.
/// Empty where there is neither.
struct SpentFilm {
    std::optional<FilmSum> gauge, predicted, best;
};
SpentFilm spent_by(const std::optional<Work>& work, std::span<const FilmReading> readings);

/// Sum over visits; variances add up.
FilmSum sum_of(std::span<const FilmSum> parts);

} // namespace sparecoat::vehicle
