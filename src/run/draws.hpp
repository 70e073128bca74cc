#pragma once
#include "run/meter.hpp"
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <oneapi/tbb/parallel_for.h>
#include <utility>
#include <vector>

namespace sparecoat::run {

// Monte Carlo over the hand: what a technique does is worked out once for each of many hands that stray from
// its path, and added up.

/// Into how many tallies the draws of a hand are dealt, whatever the number of threads: they are merged in
/// their order, so that an outcome does not depend on it.
inline constexpr int tallies = 8;

/// Of the sideways place of a line, the deviation that counts as its greatest, in standard deviations.
inline constexpr double farthest_deviations = 3;

/// The seed of a draw, the same for every technique, so that its hand strays in all of them alike.
/// @param step of a sequence of several, each with a hand of its own.
constexpr std::uint64_t seed_of_draw(std::uint64_t seed, std::uint64_t draw, std::uint64_t step = 0) {
    return seed + 0x9e3779b97f4a7c15ULL * (draw + 1) + 0xbf58476d1ce4e5b9ULL * step;
}

/// Film removed along a path, µm per cell, by a copy of a simulation.
std::vector<float> removed_along(Simulation simulation, const ArmPath& path);

/// Film removed, µm per cell, by a hand that strays and by one that strays as far the other way, which
/// together are surer of a mean than any two.
struct DrawnPair {
    std::vector<float> drawn, mirrored;
};
/// @param fresh not run yet. @param path a steady hand's.
DrawnPair drawn_pair(const Simulation& fresh, const ArmPath& path, const HandVariation& hand,
                     std::uint64_t seed);

/// Makes draws 0 to `draws` - 1 of each of `series` techniques, within the caller's oneTBB arena, and adds
/// each to a tally. @param empty to begin every tally with; has merge(Tally).
/// @param draw called as draw(Tally&, series, number), from any thread. @return a tally for each of the
/// series.
template <class Tally, class Draw>
std::vector<Tally> tally_draws(std::size_t series, int draws, const Tally& empty, const Draw& draw) {
    const auto count = static_cast<std::size_t>(draws), deal = std::min<std::size_t>(tallies, count);
    std::vector<Tally> parts(series * deal, empty);
    oneapi::tbb::parallel_for(std::size_t{0}, parts.size(), [&](std::size_t n) {
        const std::size_t part = n % deal;
        for (std::size_t number = part * count / deal; number < (part + 1) * count / deal; ++number)
            draw(parts[n], n / deal, number);
    });
    std::vector<Tally> sums;
    for (std::size_t s = 0; s < series; ++s) {
        sums.push_back(std::move(parts[s * deal]));
        for (std::size_t part = 1; part < deal; ++part) sums.back().merge(std::move(parts[s * deal + part]));
    }
    return sums;
}

/// The same for one technique.
template <class Tally, class Draw> Tally tally_draws(int draws, const Tally& empty, const Draw& draw) {
    const auto one = [&](Tally& tally, std::size_t, std::size_t number) { draw(tally, number); };
    return std::move(tally_draws(1, draws, empty, one).front());
}

} // namespace sparecoat::run
