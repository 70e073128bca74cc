#include "run/draws.hpp"
#include "tool/vary.hpp"

namespace sparecoat::run {

std::vector<float> removed_along(Simulation simulation, const ArmPath& path) {
    for (std::size_t k = 0; k + 1 < path.samples.size(); ++k)
        simulation.step(path.samples[k], path.samples[k + 1]);
    return simulation.fields().removed_um;
}

DrawnPair drawn_pair(const Simulation& fresh, const ArmPath& path, const HandVariation& hand,
                     std::uint64_t seed) {
    std::vector<float> drawn = removed_along(fresh, vary(path, hand, seed, 1));
    return {std::move(drawn), removed_along(fresh, vary(path, hand, seed, -1))};
}

} // namespace sparecoat::run
