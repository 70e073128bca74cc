#include "decide/work_rules.hpp"
#include <algorithm>

namespace sparecoat::decide {
namespace {

/// Heads down to this share of the largest count as large: 125 mm beside 150 mm.
constexpr double large_head = 0.8;

/// The finest of the steps that are for open ground.
std::size_t finest_of(std::span<const StepEffect> steps, const std::vector<bool>& usable) {
    std::size_t finest = steps.size();
    for (std::size_t k = 0; k < steps.size(); ++k)
        if (usable[k] && (finest == steps.size() || steps[k].own.depth_um < steps[finest].own.depth_um))
            finest = k;
    return finest;
}

bool haze_was_found(std::span<const MarkPopulation> marks) {
    return std::ranges::any_of(
        marks, [](const MarkPopulation& m) { return m.kind == MarkKind::haze && visible_share(m, 0) > 0; });
}

} // namespace

bool may_follow(const StepEffect& after, const StepEffect& before) {
    return after.own.depth_um < before.own.depth_um && after.firmness_pa <= before.firmness_pa;
}

std::vector<bool> reach_open_ground(std::span<const StepEffect> steps) {
    double largest_m = 0;
    for (const StepEffect& step : steps) largest_m = std::max(largest_m, step.pad_radius_m);
    std::vector<bool> out;
    for (const StepEffect& step : steps)
        out.push_back(!step.too_hot && step.pad_radius_m >= large_head * largest_m);
    return out;
}

bool ends_as_asked(std::span<const StepEffect> steps, const Sequence& sequence,
                   std::span<const MarkPopulation> marks) {
    if (sequence.empty() || !haze_was_found(marks)) return true;
    const std::size_t finest = finest_of(steps, reach_open_ground(steps));
    return steps[sequence.back().step].own.depth_um <= steps[finest].own.depth_um;
}

bool is_for_the_finish(std::span<const StepEffect> steps, const Sequence& sequence,
                       std::span<const MarkPopulation> marks, double haze, CutRange cuts) {
    if (sequence.size() < 2) return true;
    Sequence shorter = sequence;
    if (--shorter.back().sets == 0) shorter.pop_back();
    return !ends_as_asked(steps, shorter, marks) || worst_haze(steps, shorter, cuts) > haze;
}

std::vector<Sequence> allowed_sequences(std::span<const StepEffect> steps,
                                        std::span<const MarkPopulation> marks, double haze, CutRange cuts) {
    const std::vector<bool> usable = reach_open_ground(steps);
    std::vector<Sequence> all{Sequence{}};
    std::size_t from = 0;
    for (std::size_t length = 0; length < most_steps; ++length)
        for (const std::size_t to = all.size(); from < to; ++from)
            for (std::size_t step = 0; step < steps.size(); ++step) {
                if (!usable[step]) continue;
                if (!all[from].empty() && !may_follow(steps[step], steps[all[from].back().step])) continue;
                for (int sets = 1; sets <= most_sets; ++sets) {
                    Sequence longer = all[from];
                    longer.push_back({step, sets});
                    all.push_back(std::move(longer));
                }
            }
    all.erase(all.begin());
    std::erase_if(all, [&](const Sequence& one) {
        return !ends_as_asked(steps, one, marks) || !is_for_the_finish(steps, one, marks, haze, cuts);
    });
    return all;
}

} // namespace sparecoat::decide
