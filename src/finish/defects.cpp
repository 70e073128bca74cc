#include "finish/defects.hpp"
#include "units/normal.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::finish {
namespace {

/// V(worn) of one population, with all that does not depend on the wear worked out once: learning from a test
/// section asks for it by the hundred thousand.
class VisibleShare {
public:
    VisibleShare(const MarkPopulation& marks, double depth_scale)
        : median_um_(marks.depth_um * depth_scale), ln_median_(std::log(median_um_)), sd_(marks.depth_sd),
          mean_um_(median_um_ * std::exp(0.5 * sd_ * sd_)), covered_(marks.covered()) {}

    double at(double worn_um) const {
        const double from_um = worn_um + visible_um;
        if (from_um <= 0) return covered_ * (mean_um_ - worn_um) / median_um_;
        const double z = (std::log(from_um) - ln_median_) / sd_;
        const double depth_left = mean_um_ * normal_above(z - sd_) - worn_um * normal_above(z);
        return covered_ * std::max(0.0, depth_left) / median_um_;
    }

private:
    double median_um_, ln_median_, sd_, mean_um_, covered_;
};

} // namespace

std::string_view name_of(MarkKind kind) {
    switch (kind) {
    case MarkKind::swirls: return "wash swirls";
    case MarkKind::scratches: return "scratches";
    case MarkKind::water_spots: return "water-spot etching";
    case MarkKind::bird_lime: return "bird-lime etching";
    case MarkKind::sanding: return "sanding marks";
    case MarkKind::haze: return "haze";
    case MarkKind::chips: return "stone chips";
    }
    return "";
}

bool made_of_lines(MarkKind kind) {
    return kind == MarkKind::swirls || kind == MarkKind::scratches || kind == MarkKind::sanding ||
           kind == MarkKind::haze;
}

double MarkPopulation::covered() const {
    const double one_m2 = made_of_lines(kind) ? length_m * width_m : pi / 4 * width_m * width_m;
    return per_m2 * one_m2;
}

double depth_moment(const MarkPopulation& marks, int k, double above_um, double depth_scale) {
    const double median = marks.depth_um * depth_scale, sd = marks.depth_sd;
    const double whole = std::pow(median, k) * std::exp(0.5 * k * k * sd * sd);
    if (above_um <= 0) return whole;
    return whole * normal_above((std::log(above_um / median) - k * sd * sd) / sd);
}

double visible_share(const MarkPopulation& marks, double worn_um, double depth_scale) {
    return VisibleShare(marks, depth_scale).at(worn_um);
}

double share_cleared(std::span<const MarkPopulation> marks, double removed_um, double depth_scale) {
    return share_cleared(marks, RemovedSpread{{removed_um}}, 1, depth_scale);
}

RemovedSpread spread_of(std::span<const float> removed_um, int parts) {
    std::vector<float> sorted;
    for (const float um : removed_um)
        if (!std::isnan(um)) sorted.push_back(um);
    std::ranges::sort(sorted);
    const std::size_t values = sorted.size();
    const std::size_t used = std::min(values, static_cast<std::size_t>(std::max(1, parts)));
    RemovedSpread spread;
    // A value that two parts share goes to both by its share, so that all parts weigh the same.
    for (std::size_t part = 0; part < used; ++part) {
        const double per_part = static_cast<double>(values) / static_cast<double>(used);
        const double from = static_cast<double>(part) * per_part, to = from + per_part;
        double sum = 0;
        for (auto k = static_cast<std::size_t>(from); k < values && static_cast<double>(k) < to; ++k) {
            const auto here = static_cast<double>(k);
            sum += static_cast<double>(sorted[k]) * (std::min(here + 1, to) - std::max(here, from));
        }
        spread.um.push_back(sum / per_part);
    }
    return spread;
}

double share_cleared(std::span<const MarkPopulation> marks, const RemovedSpread& removed, double cut_scale,
                     double depth_scale) {
    double before = 0, left = 0;
    for (const MarkPopulation& m : marks) {
        if (!clearable(m.kind)) continue;
        const VisibleShare visible(m, depth_scale);
        before += visible.at(0);
        for (const double um : removed.um) left += visible.at(cut_scale * um);
    }
    if (before <= 0 || removed.um.empty()) return before <= 0 ? 1 : 0;
    return 1 - left / (before * static_cast<double>(removed.um.size()));
}

} // namespace sparecoat::finish
