#pragma once
// Small worlds for tests of what test sections teach.
#include "decide/learning.hpp"
#include "finish/described.hpp"
#include "tool/hand.hpp"
#include <cmath>
#include <cstdint>
#include <optional>
#include <vector>

namespace sparecoat::test {
using namespace cli;

inline std::vector<MarkPopulation> light_marks() {
    return {population_of({MarkKind::swirls, Visible::faint, false})};
}

inline std::vector<MarkPopulation> severe_marks() {
    return {population_of({MarkKind::swirls, Visible::glaring, false}),
            population_of({MarkKind::water_spots, Visible::glaring, false}),
            population_of({MarkKind::bird_lime, Visible::glaring, false}),
            population_of({MarkKind::scratches, Visible::plain, false}),
            population_of({MarkKind::chips, Visible::glaring, false})};
}

/// A look at ground that lost about `um` by the model, unevenly as a pad leaves it.
inline Look look(double um, std::optional<SeenShare> seen = {}, std::optional<GaugePair> gauge = {}) {
    return {RemovedSpread{{0.8 * um, 0.95 * um, 1.05 * um, 1.2 * um}}, um, seen, gauge};
}

/// Means whose difference has so much error.
inline GaugePair gauge_of(double loss_um, double sd_um) {
    return {110 + loss_um, 110, 1, 1, sd_um / std::sqrt(2.0)};
}

/// One panel of one paint with its squares.
inline Evidence one_panel(std::vector<MarkPopulation> marks, std::vector<Look> looks, double paint_sd = 0.3) {
    return {{paint_sd}, {{0, std::move(marks)}}, {{0, std::move(looks)}}};
}

/// Normal deviates, one after the other.
class Deviates {
public:
    explicit Deviates(std::uint64_t seed) : seed_(seed) {}
    double operator()() { return normal_at(seed_, HandChannel::force, next_++); }

private:
    std::uint64_t seed_;
    std::int64_t next_ = 0;
};

/// What a person whose impression this is says: the nearest of 0, 5, ... 95, 96, ... 100 %.
inline SeenShare said_of(double impression) {
    for (int percent = 0; percent < 100; percent += percent < 95 ? 5 : 1) {
        const SeenShare share = seen_number(percent / 100.0);
        if (impression < share.high) return share;
    }
    return seen_number(1);
}

} // namespace sparecoat::test
