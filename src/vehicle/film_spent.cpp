#include "vehicle/film_spent.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::vehicle {

std::optional<FilmStatistics> statistics_of(std::span<const FilmReading> readings, bool after_work,
                                            bool of_clear) {
    FilmStatistics s;
    double sum = 0, squares = 0;
    const auto counts = [&](const FilmReading& r) {
        return r.after_work == after_work && r.of_clear == of_clear;
    };
    for (const FilmReading& r : readings) {
        if (!counts(r)) continue;
        s.least_um = s.spots == 0 ? r.film_um : std::min(s.least_um, r.film_um);
        s.most_um = s.spots == 0 ? r.film_um : std::max(s.most_um, r.film_um);
        sum += r.film_um;
        ++s.spots;
    }
    if (s.spots == 0) return std::nullopt;
    s.mean_um = sum / static_cast<double>(s.spots);
    for (const FilmReading& r : readings)
        if (counts(r)) squares += (r.film_um - s.mean_um) * (r.film_um - s.mean_um);
    if (s.spots > 1) s.sd_um = std::sqrt(squares / static_cast<double>(s.spots - 1));
    return s;
}

namespace {

double variance_of(const FilmReading& r) { return r.sd_um * r.sd_um / r.n; }

} // namespace

const FilmReading* reading_near(std::span<const FilmReading> readings, const FilmReading& at, bool after_work,
                                bool of_clear) {
    const FilmReading* nearest = nullptr;
    double least_m = same_spot_m;
    for (const FilmReading& r : readings) {
        if (r.after_work != after_work || r.of_clear != of_clear) continue;
        const double apart_m = std::hypot(r.x_m - at.x_m, r.y_m - at.y_m);
        if (apart_m <= least_m && (nearest == nullptr || apart_m < least_m)) nearest = &r, least_m = apart_m;
    }
    return nearest;
}

std::optional<FilmSum> loss_by_readings(std::span<const FilmReading> readings) {
    double sum = 0, variance = 0;
    int spots = 0;
    for (const FilmReading& before : readings) {
        if (before.after_work) continue;
        const FilmReading* after = reading_near(readings, before, true, before.of_clear);
        if (after == nullptr) continue;
        const bool total_too = before.of_clear && reading_near(readings, before, false, false) != nullptr &&
                               reading_near(readings, before, true, false) != nullptr;
        if (total_too) continue;
        sum += before.film_um - after->film_um;
        variance += variance_of(before) + variance_of(*after);
        ++spots;
    }
    if (spots == 0) return std::nullopt;
    return FilmSum{sum / spots, std::sqrt(variance) / spots};
}

SpentFilm spent_by(const std::optional<Work>& work, std::span<const FilmReading> readings) {
    SpentFilm spent;
    if (work)
        if (const auto gauge = work->gauge.pair()) spent.gauge = FilmSum{gauge->loss_um(), gauge->sd_um()};
    if (!spent.gauge) spent.gauge = loss_by_readings(readings);
    if (work && work->predicted_um) spent.predicted = FilmSum{*work->predicted_um, *work->predicted_sd_um};
    spent.best = spent.gauge ? spent.gauge : spent.predicted;
    if (spent.gauge && spent.predicted && spent.predicted->sd_um > 0) {
        const double of_gauge = 1 / (spent.gauge->sd_um * spent.gauge->sd_um);
        const double of_model = 1 / (spent.predicted->sd_um * spent.predicted->sd_um);
        spent.best =
            FilmSum{(of_gauge * spent.gauge->um + of_model * spent.predicted->um) / (of_gauge + of_model),
                    1 / std::sqrt(of_gauge + of_model)};
    }
    return spent;
}

FilmSum sum_of(std::span<const FilmSum> parts) {
    FilmSum sum;
    double variance = 0;
    for (const FilmSum& part : parts) sum.um += part.um, variance += part.sd_um * part.sd_um;
    sum.sd_um = std::sqrt(variance);
    return sum;
}

} // namespace sparecoat::vehicle
