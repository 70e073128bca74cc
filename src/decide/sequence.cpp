#include "decide/sequence.hpp"
#include "decide/work_rules.hpp"
#include "finish/step_marks.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <map>
#include <numeric>

namespace sparecoat::decide {
namespace {

/// Under this nothing in a sequence's film matters, µm: no gauge tells it.
constexpr double same_film_um = 0.01;

double haze_of(std::span<const Marks> marks) {
    return 100 * (1 - mirror_share(marks, gloss_angles_rad.front()));
}

/// One or two finer steps to follow a step; least film first, of equals the quickest.
std::vector<Sequence> refinements(std::span<const StepEffect> steps, const std::vector<bool>& usable,
                                  std::size_t after) {
    std::vector<Sequence> found;
    const auto follows = [&](std::size_t a, std::size_t b) {
        return usable[a] && may_follow(steps[a], steps[b]);
    };
    for (std::size_t one = 0; one < steps.size(); ++one) {
        if (!follows(one, after)) continue;
        for (int sets = 1; sets <= most_sets; ++sets) {
            found.push_back({{one, sets}});
            for (std::size_t two = 0; two < steps.size(); ++two)
                if (follows(two, one))
                    for (int last = 1; last <= most_sets; ++last) found.push_back({{one, sets}, {two, last}});
        }
    }
    std::ranges::stable_sort(found, [&](const Sequence& a, const Sequence& b) {
        const double film_a = mean_removed_um(steps, a), film_b = mean_removed_um(steps, b);
        return film_a != film_b ? film_a < film_b : time_of(steps, a) < time_of(steps, b);
    });
    return found;
}

/// The first step followed by whatever its haze and the found one need.
Sequence refined(std::span<const StepEffect> steps, Sets first, std::span<const Sequence> ways, double haze,
                 std::span<const MarkPopulation> marks, CutRange cuts) {
    Sequence best{first};
    double least = ends_as_asked(steps, best, marks) ? worst_haze(steps, best, cuts)
                                                     : std::numeric_limits<double>::infinity();
    for (const Sequence& way : ways) {
        if (least <= haze) break;
        Sequence tried{first};
        tried.insert(tried.end(), way.begin(), way.end());
        if (!ends_as_asked(steps, tried, marks)) continue;
        const double left = worst_haze(steps, tried, cuts);
        if (left < least) best = std::move(tried), least = left;
    }
    return best;
}

/// Value below which a share of the weight lies, the values' weights spread evenly between their neighbours.
Interval interval_of(std::span<const double> values, std::span<const BeliefPoint> belief) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::ranges::stable_sort(order, {}, [&](std::size_t k) { return values[k]; });
    const auto below = [&](double share) {
        double sum = 0, last_at = 0, last_value = 0;
        for (std::size_t n = 0; n < order.size(); ++n) {
            const double weight = belief[order[n]].weight, at = sum + 0.5 * weight, value = values[order[n]];
            if (at >= share)
                return n == 0 ? value
                              : last_value + (value - last_value) * (share - last_at) / (at - last_at);
            sum += weight, last_at = at, last_value = value;
        }
        return last_value;
    };
    return {below(0.05), below(0.5), below(0.95)};
}

} // namespace

RemovedSpread removed_by(std::span<const StepEffect> steps, const Sequence& sequence) {
    std::vector<float> sum;
    for (const Sets& part : sequence) {
        const std::vector<float>& one = steps[part.step].removed_um;
        sum.resize(one.size(), 0.0f);
        for (std::size_t k = 0; k < one.size(); ++k) sum[k] += static_cast<float>(part.sets) * one[k];
    }
    return spread_of(sum);
}

double mean_removed_um(std::span<const StepEffect> steps, const Sequence& sequence) {
    double sum = 0;
    for (const Sets& part : sequence) sum += part.sets * steps[part.step].mean_um;
    return sum;
}

double time_of(std::span<const StepEffect> steps, const Sequence& sequence) {
    double sum = 0;
    for (const Sets& part : sequence) sum += part.sets * steps[part.step].time_s;
    return sum;
}

std::vector<Marks> marks_after(std::span<const StepEffect> steps, const Sequence& sequence,
                               double cut_scale) {
    std::vector<Marks> marks;
    for (const Sets& part : sequence)
        marks = after_step(std::move(marks), steps[part.step].own,
                           cut_scale * part.sets * steps[part.step].mean_um);
    return marks;
}

double haze_after(std::span<const StepEffect> steps, const Sequence& sequence, double cut_scale) {
    return haze_of(marks_after(steps, sequence, cut_scale));
}

double worst_haze(std::span<const StepEffect> steps, const Sequence& sequence, CutRange cuts) {
    return std::max(haze_after(steps, sequence, cuts.low), haze_after(steps, sequence, cuts.high));
}

std::string words_of(std::span<const StepEffect> steps, const Sequence& sequence) {
    std::string words;
    for (const Sets& part : sequence) add_sets(words, part.sets, steps[part.step].words);
    return words;
}

std::vector<Sequence> candidates(std::span<const StepEffect> steps, const Target& target,
                                 std::span<const MarkPopulation> marks, CutRange cuts) {
    std::vector<Sequence> all;
    const std::vector<bool> usable = reach_open_ground(steps);
    for (std::size_t step = 0; step < steps.size(); ++step) {
        if (!usable[step]) continue;
        const std::vector<Sequence> ways = refinements(steps, usable, step);
        for (int sets = 1; sets <= most_sets; ++sets)
            all.push_back(refined(steps, {step, sets}, ways, target.haze, marks, cuts));
    }
    // Film to the hundredth first, so that of equals the quickest comes first and the others go.
    const auto film = [&](const Sequence& s) { return std::round(mean_removed_um(steps, s) / same_film_um); };
    std::ranges::stable_sort(all, [&](const Sequence& a, const Sequence& b) {
        return film(a) != film(b) ? film(a) < film(b) : time_of(steps, a) < time_of(steps, b);
    });
    const auto [first, last] = std::ranges::unique(all, {}, film);
    all.erase(first, last);
    return all;
}

AtPoints at_points(std::span<const StepEffect> steps, const Sequence& sequence,
                   std::span<const MarkPopulation> marks, std::span<const BeliefPoint> belief,
                   const ClearCoat& clear, double reserve_um) {
    const RemovedSpread removed = removed_by(steps, sequence);
    const double mean_um = mean_removed_um(steps, sequence);
    const double worst_um = removed.um.empty() ? 0 : removed.um.back();
    AtPoints at;
    std::map<double, double> haze; // points share their cuts, and haze is what costs most
    for (const BeliefPoint& point : belief) {
        const double cut = point.cut_scale;
        at.share.push_back(share_cleared(marks, removed, cut, point.depth_scale));
        at.film_um.push_back(cut * mean_um);
        const auto [known, fresh] = haze.try_emplace(cut, 0);
        if (fresh) known->second = haze_after(steps, sequence, cut);
        at.haze.push_back(known->second);
        const double spare_um = clear.mean_um - reserve_um - cut * worst_um;
        at.keeping.push_back(clear.sd_um > 0 ? 0.5 * std::erfc(-spare_um / (clear.sd_um * std::sqrt(2.0)))
                                             : (spare_um >= 0 ? 1.0 : 0.0));
    }
    return at;
}

double sure_share(const AtPoints& at, std::span<const BeliefPoint> belief, double chance,
                  std::optional<double> haze) {
    std::vector<std::size_t> order(belief.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto counted = [&](std::size_t k) { return haze && at.haze[k] > *haze ? 0.0 : at.share[k]; };
    std::ranges::stable_sort(order, [&](std::size_t a, std::size_t b) { return counted(a) > counted(b); });
    double sum = 0;
    for (const std::size_t k : order) {
        sum += belief[k].weight;
        if (sum >= chance - 1e-12) return counted(k);
    }
    return counted(order.back());
}

std::vector<Sequence> sequences_worth(std::span<const StepEffect> steps,
                                      std::span<const MarkPopulation> marks, const PanelBelief& belief,
                                      const ClearCoat& clear, const Target& target, double limit_um,
                                      CutRange cuts) {
    constexpr std::size_t screening_points = 60;
    constexpr double screening_error = 0.05; ///< of a chance
    const std::vector<BeliefPoint> points = points_of(belief, screening_points);
    struct Screened {
        Sequence sequence;
        double share = 0, film_um = 0, time_s = 0;
        bool near = false;
    };
    std::vector<Screened> screened;
    for (Sequence& sequence : allowed_sequences(steps, marks, target.haze, cuts)) {
        if (mean_removed_um(steps, sequence) >= limit_um) continue;
        const AtPoints at = at_points(steps, sequence, marks, points, clear, target.reserve_um);
        const Outlook outlook = outlook_of(at, steps, sequence, points, target);
        const double share = sure_share(at, points, target.chance, target.haze);
        if (share > 0)
            screened.push_back({std::move(sequence), share, outlook.film_um.median, outlook.time_s,
                                outlook.chance_of_target >= target.chance - screening_error});
    }
    const auto beaten = [&](const Screened& one) {
        return std::ranges::any_of(screened, [&](const Screened& other) {
            return other.share >= one.share && other.film_um <= one.film_um && other.time_s <= one.time_s &&
                   (other.share > one.share || other.film_um < one.film_um || other.time_s < one.time_s);
        });
    };
    std::vector<Sequence> worth;
    for (const Screened& one : screened)
        if (one.near || !beaten(one)) worth.push_back(one.sequence);
    return worth;
}

Outlook outlook_of(const AtPoints& at, std::span<const StepEffect> steps, const Sequence& sequence,
                   std::span<const BeliefPoint> belief, const Target& target) {
    Outlook out;
    out.sequence = sequence;
    out.share = interval_of(at.share, belief);
    out.film_um = interval_of(at.film_um, belief);
    out.haze = interval_of(at.haze, belief).median;
    for (std::size_t k = 0; k < belief.size(); ++k) {
        const bool met = at.share[k] >= target.share && at.haze[k] <= target.haze;
        if (met) out.chance_of_target += belief[k].weight;
        out.chance_of_keeping += belief[k].weight * at.keeping[k];
    }
    out.time_s = time_of(steps, sequence);
    return out;
}

} // namespace sparecoat::decide
