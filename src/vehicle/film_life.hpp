#pragma once
#include "vehicle/film_spent.hpp"
#include "vehicle/job_file.hpp"
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::vehicle {

// What a panel's clear coat has cost over the vehicle's life, and how much more it can give. All in µm;
// standard deviations are those of independent estimates, whose variances add up.

/// What a plan on file (docs/schema/plan.schema.json, panels[]) says of film. A plan that was brought in from
/// elsewhere may say less than Sparecoat's own.
struct PlannedFilm {
    std::string decision; ///< "planned", "finish only", ...
    /// "2 sets of polish on medium foam 150 mm, then 1 set of ...", with machines where they differ; empty
    /// where nothing is done.
    std::string steps;
    std::optional<FilmSum> loss;  ///< off open ground; sd from the 90 % interval, as of a normal law
    std::optional<FilmSum> clear; ///< before it, where it is thinnest
};
PlannedFilm planned_film(const std::string& plan);

/// How often something fits into something, with its 90 % interval; `high` is infinite where it may be next
/// to nothing.
struct HowOften {
    double number = 0, low = 0, high = 0;
};

/// left / each by Fieller's theorem (Fieller, J. R. Stat. Soc. B 16, 175, 1954): the ratios r for which left
/// - r each does not differ from 0, |left - r each| <= z sd(left - r each), z = 1.645. Holds for every
/// ratio of two normal estimates, also where `each` is hardly known. Not below 0. @param covariance of the
/// two, µm².
/// @return nothing where `each` is 0 or less, which says that nothing could be measured.
std::optional<HowOften> how_often(const FilmSum& left, const FilmSum& each, double covariance = 0);

/// A panel's film over its visits.
struct FilmLife {
    struct Cost {
        Visit visit;
        FilmSum film; ///< SpentFilm::best
    };
    std::vector<Cost> costs; ///< by date; visits whose work is known to have cost film
    FilmSum spent;           ///< all of them
    FilmSum left;            ///< of the allowance; below 0 where it is overdrawn
    /// Clear coat over the reserve where it is thinnest, by the latest plan, less what was lost since;
    /// nothing without a plan.
    std::optional<FilmSum> over_reserve;
    /// Film for one more correction: the latest plan's, where its work is still to be done; else the mean of
    /// `costs`.
    std::optional<FilmSum> each;
    bool each_is_planned = false;
    std::optional<HowOften>
        corrections; ///< into what is less, what is left of the allowance or what is over the reserve
    bool reserve_holds = false; ///< the second is
};

/// @param before visits from this one on are left out, as they were not when it began; none: all count.
FilmLife film_life(const JobFile& job, const JobPanel& panel, const std::optional<Visit>& before = {});

} // namespace sparecoat::vehicle
