#include "decide/advice.hpp"
#include "decide/work_rules.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <tuple>

namespace sparecoat::decide {
namespace {

/// What is wanted of a candidate at each point of the belief, boiled down to its loss as film.
using Losses = std::vector<std::vector<double>>; // per candidate, per point

Losses losses_of(std::span<const AtPoints> at, const Target& target, const AdviceTerms& terms) {
    Losses losses;
    for (const AtPoints& a : at) {
        std::vector<double>& loss = losses.emplace_back(a.film_um);
        for (std::size_t k = 0; k < loss.size(); ++k) {
            if (a.share[k] < target.share || a.haze[k] > target.haze) loss[k] += terms.miss_um;
            loss[k] += terms.strike_um * (1 - a.keeping[k]);
        }
    }
    return losses;
}

struct Least {
    double value = std::numeric_limits<double>::infinity();
    std::size_t candidate = 0;
};

/// The least sum over points of weight x loss.
Least least_loss(const Losses& losses, std::span<const double> weight) {
    Least least;
    for (std::size_t c = 0; c < losses.size(); ++c) {
        const double sum = std::inner_product(weight.begin(), weight.end(), losses[c].begin(), 0.0);
        if (sum < least.value) least = {sum, c};
    }
    return least;
}

/// What a person tells apart under the lamp, as the steps between shares.
constexpr std::array lamp_steps{0.0, 0.1, 0.3, 0.5, 0.7, 0.85, 0.925, 0.975, 1.0};
/// Stretches that the gauge's reading is cut into, each a standard error wide; the outermost go on without
/// end.
constexpr int gauge_steps = 12;

/// Chance per point of a gauge's loss in each stretch; a single certain one where there is no gauge.
std::vector<std::vector<double>> gauge_outcomes(std::span<const double> film_um,
                                                std::span<const BeliefPoint> belief, double sd_um) {
    std::vector<std::vector<double>> outcomes;
    if (!std::isfinite(sd_um)) return {std::vector<double>(film_um.size(), 1.0)};
    double mean = 0;
    for (std::size_t k = 0; k < film_um.size(); ++k) mean += belief[k].weight * film_um[k];
    std::vector<double> below(film_um.size(), 0.0);
    for (int step = 1; step <= gauge_steps; ++step) {
        const double edge = mean + (step - gauge_steps / 2) * sd_um;
        std::vector<double>& chance = outcomes.emplace_back(film_um.size());
        for (std::size_t k = 0; k < film_um.size(); ++k) {
            const double up_to =
                step == gauge_steps ? 1.0 : 0.5 * std::erfc((film_um[k] - edge) / (sd_um * std::sqrt(2.0)));
            chance[k] = up_to - below[k];
            below[k] = up_to;
        }
    }
    return outcomes;
}

TrialWorth worth_of(const Sets& trial, const AtPoints& at, const Losses& losses,
                    std::span<const BeliefPoint> belief, const AdviceTerms& terms) {
    std::vector<double> weight(belief.size());
    for (std::size_t k = 0; k < belief.size(); ++k) weight[k] = belief[k].weight;
    const Least now = least_loss(losses, weight);

    double then = 0, changes = 0;
    const auto gauge = gauge_outcomes(at.film_um, belief, terms.gauge_sd_um);
    for (std::size_t seen = 0; seen + 1 < lamp_steps.size(); ++seen) {
        const SeenShare shown{lamp_steps[seen], lamp_steps[seen + 1]};
        std::vector<double> lamp(belief.size());
        for (std::size_t k = 0; k < belief.size(); ++k)
            lamp[k] = weight[k] * seen_probability(shown, at.share[k]);
        for (const std::vector<double>& read : gauge) {
            std::vector<double> joint(belief.size());
            for (std::size_t k = 0; k < belief.size(); ++k) joint[k] = lamp[k] * read[k];
            const Least known = least_loss(losses, joint);
            then += known.value;
            if (known.candidate != now.candidate) changes += std::accumulate(joint.begin(), joint.end(), 0.0);
        }
    }
    return {trial, std::max(0.0, now.value - then), changes};
}

/// Range of cuts that the later steps have to do with: nine in ten.
CutRange range_of(std::span<const BeliefPoint> belief) {
    std::vector<BeliefPoint> sorted(belief.begin(), belief.end());
    std::ranges::sort(sorted, {}, &BeliefPoint::cut_scale);
    CutRange range{sorted.front().cut_scale, sorted.back().cut_scale};
    double sum = 0;
    for (const BeliefPoint& point : sorted) {
        if (sum < 0.05) range.low = point.cut_scale;
        if (sum < 0.95) range.high = point.cut_scale;
        sum += point.weight;
    }
    return range;
}

/// So many points that the nodes of most beliefs need not be gathered: that would narrow them, and with them
/// the chances.
constexpr std::size_t most_points = 2000;

bool nothing_to_clear(std::span<const MarkPopulation> marks) {
    return std::ranges::all_of(
        marks, [](const MarkPopulation& m) { return !clearable(m.kind) || visible_share(m, 0) <= 0; });
}

/// Steps and sets alike, but for what may follow.
bool begins_with(const Sequence& whole, const Sequence& start) {
    return whole.size() >= start.size() && std::equal(start.begin(), start.end(), whole.begin());
}

/// How the recommendation stands to what was done on the square.
Next next_after(const Sequence& done, const Sequence& choice, std::span<const StepEffect> steps) {
    if (choice == done) return Next::enough;
    if (begins_with(choice, done)) return Next::refine;
    if (choice.front().step == done.front().step)
        return choice.front().sets > done.front().sets                                  ? Next::more_sets
               : choice.front().sets < done.front().sets || done.size() > choice.size() ? Next::milder
                                                                                        : Next::refine;
    return steps[choice.front().step].mean_um > steps[done.front().step].mean_um ? Next::stronger
                                                                                 : Next::milder;
}

/// Keeps the outlooks that are shown, the recommendation among them, and what points at them.
void show_only(Advice& advice, std::span<const Sequence> shown) {
    std::vector<Outlook> kept;
    std::optional<std::size_t> choice, best_kept;
    for (std::size_t k = 0; k < advice.outlooks.size(); ++k) {
        if (std::ranges::find(shown, advice.outlooks[k].sequence) == shown.end() && advice.choice != k &&
            advice.best_kept != k)
            continue;
        if (advice.choice == k) choice = kept.size();
        if (advice.best_kept == k) best_kept = kept.size();
        kept.push_back(std::move(advice.outlooks[k]));
    }
    advice.outlooks = std::move(kept);
    advice.choice = choice, advice.best_kept = best_kept;
}

/// A sequence at the belief's points, and what that means.
struct Weighed {
    AtPoints at;
    Outlook outlook;
};

/// Film by the presets of the mildest that is sure enough of the target; infinity where none is.
double mildest_meeting_um(std::span<const Weighed> weighed, std::span<const StepEffect> steps,
                          const Target& target) {
    double least = std::numeric_limits<double>::infinity();
    for (const Weighed& one : weighed)
        if (one.outlook.chance_of_target >= target.chance)
            least = std::min(least, mean_removed_um(steps, one.outlook.sequence));
    return least;
}

/// Works out, each once, the sequences that are shown and those `worth` it beside them, and puts their
/// outlooks into the advice, the least film first, of equals the quickest. @return what they come to at the
/// belief's points.
template <class At, class Worth>
std::vector<AtPoints> weigh_all(Advice& advice, const std::vector<Sequence>& shown,
                                std::span<const StepEffect> steps, std::span<const BeliefPoint> belief,
                                const Target& target, At at, Worth worth) {
    std::vector<Weighed> weighed;
    const auto weigh = [&](const Sequence& sequence) {
        AtPoints points = at(sequence);
        Outlook meant = outlook_of(points, steps, sequence, belief, target);
        weighed.push_back({std::move(points), std::move(meant)});
        advice.weighed.push_back(sequence);
    };
    std::ranges::for_each(shown, weigh);
    for (const Sequence& sequence : worth(weighed))
        if (std::ranges::find(shown, sequence) == shown.end()) weigh(sequence);
    std::ranges::stable_sort(weighed, [](const Weighed& a, const Weighed& b) {
        const Outlook &one = a.outlook, &other = b.outlook;
        return one.film_um.median != other.film_um.median ? one.film_um.median < other.film_um.median
                                                          : one.time_s < other.time_s;
    });
    std::vector<AtPoints> points;
    for (Weighed& one : weighed) {
        points.push_back(std::move(one.at));
        advice.outlooks.push_back(std::move(one.outlook));
    }
    return points;
}

} // namespace

std::string_view name_of(Next next) {
    switch (next) {
    case Next::clean_first: return "wash and decontaminate first";
    case Next::look_again: return "look again";
    case Next::try_first: return "try this first";
    case Next::enough: return "enough";
    case Next::more_sets: return "more passes";
    case Next::stronger: return "one step stronger";
    case Next::milder: return "a milder step does it";
    case Next::refine: return "refine now";
    case Next::touch_up: return "touch up";
    case Next::stop: return "stop: not worth the film";
    case Next::cannot: return "cannot be worked with this kit";
    }
    return "";
}

Advice advise(std::span<const StepEffect> steps, std::span<const MarkPopulation> marks,
              const PanelBelief& panel, const ClearCoat& clear, const Target& target,
              const std::optional<Done>& done, const AdviceTerms& terms) {
    Advice advice;
    if (nothing_to_clear(marks)) {
        advice.next = Next::touch_up;
        return advice;
    }
    const std::vector<BeliefPoint> belief = points_of(panel, most_points);
    const auto at = [&](const Sequence& sequence) {
        return at_points(steps, sequence, marks, belief, clear, target.reserve_um);
    };
    const CutRange cuts = range_of(belief);
    std::vector<Sequence> shown = candidates(steps, target, marks, cuts);
    const bool worked = done && !done->sequence.empty();
    const std::vector<bool> usable = reach_open_ground(steps);
    // However it was come by: what does it on the square does it, with heads that are for open ground.
    const bool proven_allowed =
        worked && std::ranges::all_of(done->sequence, [&](const Sets& part) { return usable[part.step]; });
    if (worked && std::ranges::find(shown, done->sequence) == shown.end()) shown.push_back(done->sequence);
    const auto worth = [&](std::span<const Weighed> weighed) {
        const double limit_um = mildest_meeting_um(weighed, steps, target);
        return sequences_worth(steps, marks, panel, clear, target, limit_um, cuts);
    };
    const std::vector<AtPoints> points = weigh_all(advice, shown, steps, belief, target, at, worth);

    const auto meets = [&](const Outlook& o) { return o.chance_of_target >= target.chance; };
    const auto keeps = [&](const Outlook& o) { return o.chance_of_keeping >= target.keep_chance; };
    const auto proven = [&](const Outlook& o) { return worked && o.sequence == done->sequence; };
    bool any_meets = false, any_keeps = false;
    double mildest_um = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < advice.outlooks.size(); ++k) {
        const Outlook& o = advice.outlooks[k];
        if (proven(o)) advice.so_far = o;
        any_meets = any_meets || meets(o), any_keeps = any_keeps || keeps(o);
        if (keeps(o) &&
            (!advice.best_kept || o.share.median > advice.outlooks[*advice.best_kept].share.median))
            advice.best_kept = k;
        if (!meets(o) || !keeps(o) || (proven(o) && !proven_allowed)) continue;
        mildest_um = std::min(mildest_um, o.film_um.median);
        if (o.film_um.median - mildest_um > tied_film_um) continue;
        // Of equals what is proven on the square, then the quickest, then the one with the fewest changes.
        const auto rank = [&](const Outlook& one) {
            return std::tuple(!proven(one), one.time_s, one.sequence.size());
        };
        if (!advice.choice || rank(o) < rank(advice.outlooks[*advice.choice])) advice.choice = k;
    }

    if (!advice.choice) {
        advice.next = Next::stop;
        advice.limited_by = any_meets ? LimitedBy::reserve : any_keeps ? LimitedBy::target : LimitedBy::both;
    } else {
        advice.best_kept.reset();
        advice.next = worked && done->seen
                          ? next_after(done->sequence, advice.outlooks[*advice.choice].sequence, steps)
                          : Next::try_first;
    }

    const double strongest = advice.choice
                                 ? steps[advice.outlooks[*advice.choice].sequence.front().step].mean_um
                                 : std::numeric_limits<double>::infinity();
    const Losses losses = losses_of(points, target, terms);
    for (std::size_t step = 0; step < steps.size(); ++step) {
        if (!usable[step] || steps[step].mean_um > strongest) continue;
        for (int sets = 1; sets <= 2; ++sets) {
            const Sets trial{step, sets};
            advice.trials.push_back(worth_of(trial, at({trial}), losses, belief, terms));
        }
    }
    std::ranges::stable_sort(advice.trials, [&](const TrialWorth& a, const TrialWorth& b) {
        return a.worth_um != b.worth_um
                   ? a.worth_um > b.worth_um
                   : a.trial.sets * steps[a.trial.step].mean_um < b.trial.sets * steps[b.trial.step].mean_um;
    });
    show_only(advice, shown);
    return advice;
}

} // namespace sparecoat::decide
