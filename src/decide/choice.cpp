#include "decide/choice.hpp"
#include "decide/work_rules.hpp"
#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <stdexcept>
#include <tuple>

namespace sparecoat::decide {
namespace {

/// A share as choosing counts it: no higher than wanted, and under that in the twentieths that a person tells
/// apart, or film would be spent on what nobody sees.
double counted_share(double share, double wanted) {
    constexpr double steps = 20;
    return share >= wanted - 1e-12 ? wanted : std::floor(steps * share + 1e-9) / steps;
}

/// A choice for the first few panels; sums, not means.
struct Partial {
    double share = 0, film = 0, time_s = 0;
    std::vector<std::size_t> alternatives;
};

/// Drops what another is no worse than in share, film and time; of equals the first stays. In the order of
/// share, the most first (of three values, where pareto_front of stats/sensitivity has two): one is dominated
/// if and only if some earlier one has no more film and no more time,
/// which a staircase of least times by film answers in logarithmic time.
std::vector<Partial> undominated(std::vector<Partial> all) {
    std::ranges::stable_sort(all, [](const Partial& a, const Partial& b) {
        return std::tuple(-a.share, a.film, a.time_s) < std::tuple(-b.share, b.film, b.time_s);
    });
    std::map<double, double> staircase; // film -> least time of those with up to that film; falls with film
    std::vector<Partial> kept;
    for (Partial& one : all) {
        auto above = staircase.upper_bound(one.film);
        if (above != staircase.begin() && std::prev(above)->second <= one.time_s) continue;
        while (above != staircase.end() && above->second >= one.time_s) above = staircase.erase(above);
        staircase[one.film] = one.time_s;
        kept.push_back(std::move(one));
    }
    return kept;
}

/// More choices than this of a part of the vehicle are thinned for a front, which is to be looked at; see
/// thinned().
constexpr std::size_t most_partials = 3000;
/// For choosing, which is exact up to here: about ten panels.
constexpr std::size_t most_exact = 30000;

/// At most `most`: of those in one box of film and time the one with the largest share, and the ends of each
/// of the three. Boxes are halved in number until they do.
std::vector<Partial> thinned(std::vector<Partial> all, std::size_t most) {
    if (all.size() <= most) return all;
    const auto ends = [&](auto value) {
        const auto [low, high] = std::ranges::minmax_element(all, {}, value);
        return std::pair(low - all.begin(), high - all.begin());
    };
    const auto film = ends([](const Partial& p) { return p.film; });
    const auto time = ends([](const Partial& p) { return p.time_s; });
    const auto share = ends([](const Partial& p) { return p.share; });
    const auto at = [&](auto n) -> const Partial& { return all[static_cast<std::size_t>(n)]; };
    const double film_span = at(film.second).film - at(film.first).film;
    const double time_span = at(time.second).time_s - at(time.first).time_s;
    const auto box = [](double value, double low, double span, double boxes) {
        return span > 0 ? std::floor(std::min(boxes - 1, boxes * (value - low) / span)) : 0.0;
    };
    for (double boxes = 512;; boxes /= 2) {
        std::map<std::pair<double, double>, std::size_t> best;
        for (std::size_t n = 0; n < all.size(); ++n) {
            const std::pair place{box(all[n].film, at(film.first).film, film_span, boxes),
                                  box(all[n].time_s, at(time.first).time_s, time_span, boxes)};
            const auto [found, fresh] = best.try_emplace(place, n);
            if (!fresh && all[n].share > all[found->second].share) found->second = n;
        }
        if (best.size() + 6 > most && boxes > 1) continue;
        std::vector<std::size_t> kept;
        for (const auto& [place, n] : best) kept.push_back(n);
        for (const auto& [low, high] : {film, time, share})
            for (const auto n : {low, high}) kept.push_back(static_cast<std::size_t>(n));
        std::ranges::sort(kept);
        kept.erase(std::ranges::unique(kept).begin(), kept.end());
        std::vector<Partial> out;
        for (const std::size_t n : kept) out.push_back(std::move(all[n]));
        return out;
    }
}

/// The undominated choices of all panels. @param value_of share and film of a way as they count.
template <class ValueOf> std::vector<Partial> merged(std::span<const PanelAlternatives> panels,
                                                     std::optional<double> time_limit_s, ValueOf value_of,
                                                     std::size_t most) {
    std::vector<Partial> front{Partial{}};
    for (std::size_t p = 0; p < panels.size(); ++p) {
        std::vector<Partial> longer;
        for (const Partial& so_far : front)
            for (std::size_t w = 0; w < panels[p].alternatives.size(); ++w) {
                const auto value = value_of(p, w);
                if (!value) continue;
                Partial next = so_far;
                next.share += panels[p].area_m2 * value->first;
                next.film += panels[p].area_m2 * value->second;
                next.time_s += panels[p].alternatives[w].time_s;
                if (time_limit_s && next.time_s > *time_limit_s) continue;
                next.alternatives.push_back(w);
                longer.push_back(std::move(next));
            }
        front = thinned(undominated(std::move(longer)), most);
    }
    return front;
}

/// Film of each way as choosing counts it: of eligible ways that clear as much, those that no gauge tells
/// from the mildest count as that one, so that the quickest of them is taken, and the preferred one as a hair
/// less.
std::vector<double> counted_film(const PanelAlternatives& panel, double wanted, const auto& eligible) {
    std::vector<double> film;
    for (std::size_t w = 0; w < panel.alternatives.size(); ++w) {
        const double share = counted_share(panel.alternatives[w].share, wanted);
        double mildest_um = panel.alternatives[w].film_um;
        for (std::size_t other = 0; other < panel.alternatives.size(); ++other)
            if (eligible(other) && counted_share(panel.alternatives[other].share, wanted) == share)
                mildest_um = std::min(mildest_um, panel.alternatives[other].film_um);
        const bool tied = panel.alternatives[w].film_um - mildest_um <= tied_film_um;
        film.push_back(tied ? mildest_um - (panel.alternatives[w].preferred ? 1e-9 : 0.0)
                            : panel.alternatives[w].film_um);
    }
    return film;
}

} // namespace

std::vector<std::size_t> choose_alternatives(std::span<const PanelAlternatives> panels,
                                             const ChoiceTerms& terms) {
    std::vector<std::vector<double>> film(panels.size());
    const auto eligible = [&](std::size_t p, std::size_t w) {
        const Alternative& alternative = panels[p].alternatives[w];
        return alternative.allowed && (!terms.film_um || alternative.film_um <= *terms.film_um);
    };
    for (std::size_t p = 0; p < panels.size(); ++p)
        film[p] = counted_film(panels[p], terms.share, [&](std::size_t w) { return eligible(p, w); });
    const auto value = [&](std::size_t p, std::size_t w) -> std::optional<std::pair<double, double>> {
        if (!eligible(p, w)) return std::nullopt;
        return std::pair(counted_share(panels[p].alternatives[w].share, terms.share), film[p][w]);
    };
    const auto first = [](const std::vector<Partial>& front) {
        if (front.empty()) throw std::invalid_argument("a panel without a way within the limits");
        // Sorted by share, the most first, then film, then time.
        return front.front().alternatives;
    };
    if (terms.time_s) return first(merged(panels, terms.time_s, value, most_exact));
    std::vector<std::size_t> alternatives; // without a limit for all, each panel is its own affair
    for (std::size_t p = 0; p < panels.size(); ++p) {
        const auto own = [&](std::size_t, std::size_t w) { return value(p, w); };
        alternatives.push_back(first(merged(panels.subspan(p, 1), std::nullopt, own, most_exact)).front());
    }
    return alternatives;
}

FrontPoint point_of(std::span<const PanelAlternatives> panels, const std::vector<std::size_t>& alternatives) {
    FrontPoint point;
    point.alternatives = alternatives;
    double area = 0;
    for (std::size_t p = 0; p < panels.size(); ++p) {
        const Alternative& alternative = panels[p].alternatives[alternatives[p]];
        area += panels[p].area_m2;
        point.film_um += panels[p].area_m2 * alternative.film_um;
        point.share += panels[p].area_m2 * alternative.share;
        point.time_s += alternative.time_s;
    }
    if (area > 0) point.film_um /= area, point.share /= area;
    return point;
}

bool beats(const FrontPoint& one, const FrontPoint& other) {
    const bool no_worse =
        one.film_um <= other.film_um && one.share >= other.share && one.time_s <= other.time_s;
    return no_worse && (one.film_um < other.film_um || one.share > other.share || one.time_s < other.time_s);
}

std::vector<FrontPoint> front_of(std::span<const PanelAlternatives> panels, std::size_t most) {
    const auto value = [&](std::size_t p, std::size_t w) -> std::optional<std::pair<double, double>> {
        const Alternative& alternative = panels[p].alternatives[w];
        if (!alternative.allowed) return std::nullopt;
        return std::pair(alternative.share, alternative.film_um);
    };
    std::vector<FrontPoint> front;
    for (const Partial& one :
         thinned(merged(panels, std::nullopt, value, std::max(most, most_partials)), most))
        front.push_back(point_of(panels, one.alternatives));
    std::ranges::stable_sort(front, [](const FrontPoint& a, const FrontPoint& b) {
        return std::tuple(a.film_um, a.time_s) < std::tuple(b.film_um, b.time_s);
    });
    return front;
}

} // namespace sparecoat::decide
