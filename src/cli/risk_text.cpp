#include "cli/risk_text.hpp"
#include "cli/verdict_text.hpp"
#include "picture/risk_folder.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <iterator>

namespace sparecoat::cli {
namespace {

/// Three decimals, so that the product comes out right to the last digit but one.
std::string split_text(const Split& s) {
    return fmt::format(
        "time {:.3f} x pressure {:.3f} x speed {:.3f} x cut {:.3f} x heat {:.3f} x film {:.3f}", s.time,
        s.pressure, s.speed, s.cut, s.heat, s.film);
}

std::size_t highest_cell(const std::vector<float>& chance) {
    std::size_t most = 0;
    for (std::size_t k = 1; k < chance.size(); ++k) // NaN off the panel: any value beats it
        if (chance[k] > chance[most] || std::isnan(chance[most])) most = k;
    return most;
}

std::string area_text(double area_m2) {
    return area_m2 < 0.01 ? fmt::format("{:.1f} cm²", area_m2 * 1e4)
                          : fmt::format("{:.0f} cm²", area_m2 * 1e4);
}

} // namespace

std::string risk_text(const RiskReport& report, FilmUnit unit) {
    const RunJob& job = report.job;
    const RiskMap& map = report.map;
    std::string out = heading_text(job);
    const auto line = [&](auto format, const auto&... args) {
        fmt::format_to(std::back_inserter(out), fmt::runtime(format), args...);
        out += '\n';
    };
    line("Asked        the chance that less than {} of clear coat stays, anywhere",
         film_text(report.terms.reserve_um, unit));
    line("Uncertain    the film ({}), the cut (a factor of {:.2f} either way), {}",
         job.film.has_value() ? "gauge readings" : "no gauge readings: the paint's usual spread",
         std::exp(report.terms.cut_sd),
         map.hand_varies ? fmt::format("the hand ({} draws)", 2 * map.pairs)
                         : std::string("no hand: the technique says it is steady"));
    line("Open panel   {} lost by a steady hand", film_text(map.verdict.open.median_um, unit));
    if (map.regions.empty()) {
        const std::size_t most = highest_cell(map.chance);
        line("At risk      nothing: no spot reaches a chance of {}; the highest is {}, {}",
             chance_text(report.threshold), chance_text(static_cast<double>(map.chance[most])),
             place_of(job.panel, most));
        return out;
    }
    line("At risk      {} {} where the chance reaches {}", map.regions.size(),
         map.regions.size() == 1 ? "spot" : "spots", chance_text(report.threshold));
    for (std::size_t k = 0; k < map.regions.size(); ++k) {
        const RegionAtRisk& region = map.regions[k];
        const SpotAtRisk& spot = region.spot;
        if (k == 9) {
            line("  ... and {} more, in risk.json with --out", map.regions.size() - k);
            break;
        }
        line("{}. {} at {:.0f} mm, {:.0f} mm: {}, {} left of {}; {} in all", k + 1, spot.place,
             spot.at.x / mm, spot.at.y / mm, chance_text(region.chance, region.standard_error),
             film_text(spot.clear_left_um, unit), film_text(spot.clear_before_um, unit),
             area_text(region.area_m2));
        if (spot.removed_um > 0)
            line("   why       {} = {:.2f} times the open panel's share", split_text(spot.against_open),
                 spot.against_open.all());
        else line("   why       only a wandering hand gets here");
        if (region.thin_before >= 0.5 * report.threshold)
            line("   before    {} that the film is under the reserve without any work",
                 chance_text(region.thin_before));
        if (k >= report.spots.size()) continue;
        const std::vector<Remedy>& remedies = report.spots[k].remedies;
        for (std::size_t n = 0; n < remedies.size(); ++n) {
            const Remedy& r = remedies[n];
            const bool helps = r.equal.chance < region.chance;
            const std::string judged = !helps ? "no help" : n == 0 ? "best" : "or";
            const std::string once = chance_text(r.peak.chance, r.peak.standard_error);
            // A change that takes as much off as the job does is the same for the pass and for the result.
            if (std::abs(r.times - 1) < 0.02)
                line("   {:<10}{}: {} (open panel {} lost, {:.0f} min)", judged, r.words, once,
                     film_text(r.open_um, unit), r.time_s / 60);
            else
                line(
                    "   {:<10}{}: {} for the same result ({:.2g} times over, {:.0f} min); done once {} (open "
                    "panel {} lost, {:.0f} min)",
                    judged, r.words, chance_text(r.equal.chance, r.equal.standard_error), r.times,
                    r.times * r.time_s / 60, once, film_text(r.open_um, unit), r.time_s / 60);
        }
    }
    return out;
}

} // namespace sparecoat::cli
