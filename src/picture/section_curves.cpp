#include "picture/section_curves.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::picture {
namespace {

constexpr double ninety_sds = 1.645; ///< standard deviations that nine in ten lie within

/// Points on the way through one part of a sequence. Marks clear steeply at first, so that the first part has
/// more.
constexpr int first_points = 28, later_points = 10;

/// What the judged ground has lost somewhere on the way through a sequence, by the presets.
struct Waypoint {
    double mean_um = 0;
    RemovedSpread removed;
};

std::vector<Waypoint> way_through(std::span<const StepEffect> effects, const Sequence& sequence) {
    std::vector<Waypoint> alternative;
    if (effects.empty()) return alternative;
    std::vector<float> done(effects.front().removed_um.size(), 0.0f);
    alternative.push_back({0, spread_of(done)});
    double mean_um = 0;
    for (std::size_t part = 0; part < sequence.size(); ++part) {
        const StepEffect& effect = effects[sequence[part].step];
        const int points = part == 0 ? first_points : later_points;
        std::vector<float> here(done.size());
        for (int n = 1; n <= points; ++n) {
            const double sets = static_cast<double>(sequence[part].sets) * n / points;
            for (std::size_t k = 0; k < here.size(); ++k)
                here[k] = done[k] + static_cast<float>(sets) * effect.removed_um[k];
            alternative.push_back({mean_um + sets * effect.mean_um, spread_of(here)});
        }
        done = here;
        mean_um = alternative.back().mean_um;
    }
    return alternative;
}

ClearingCurve along(const std::vector<Waypoint>& alternative, const std::vector<MarkPopulation>& marks,
                    double cut_scale, double depth_scale) {
    ClearingCurve curve;
    for (const Waypoint& at : alternative) {
        curve.film_um.push_back(cut_scale * at.mean_um);
        curve.share.push_back(share_cleared(marks, at.removed, cut_scale, depth_scale));
    }
    return curve;
}

/// As far as the recommendation and what was done may reach; without either, half of the candidates.
double most_film_um(const PanelAdvice& panel, const std::vector<LookPoint>& looks) {
    const Advice& advice = panel.advice;
    double most = 0.5;
    if (advice.choice) most = std::max(most, 1.25 * advice.outlooks[*advice.choice].film_um.high);
    else if (!advice.outlooks.empty())
        most = std::max(most, advice.outlooks[advice.outlooks.size() / 2].film_um.high);
    if (advice.so_far) most = std::max(most, 1.1 * advice.so_far->film_um.high);
    for (const LookPoint& look : looks) most = std::max(most, 1.05 * look.film_um.high);
    return most;
}

} // namespace

std::vector<LookPoint> look_points(const PanelAdvice& panel) {
    std::vector<LookPoint> points;
    for (const TryReport& report : panel.tries) {
        const Try& work = panel.panel.squares[report.square].tries[report.work];
        if (!work.seen && !work.gauge) continue;
        LookPoint point{report.square,          report.work,          report.film_um, report.share,
                        work.gauge.has_value(), work.seen.has_value()};
        if (work.gauge) {
            const double loss = work.gauge->loss_um(), bar = ninety_sds * work.gauge->sd_um();
            point.film_um = {loss - bar, loss, loss + bar};
        }
        if (work.seen) {
            const SeenShare seen = seen_share(*work.seen);
            const double middle = 0.5 * (seen.low + seen.high), bar = ninety_sds * lamp_sd(middle);
            point.share = {std::max(0.0, seen.low - bar), middle, std::min(1.0, seen.high + bar)};
        }
        points.push_back(point);
    }
    return points;
}

ClearingCurve clearing_curve(const SquareGround& ground, const Sequence& sequence, double cut_scale,
                             double depth_scale) {
    return along(way_through(ground.effects, sequence), ground.marks, cut_scale, depth_scale);
}

SectionCurves section_curves(const PanelAdvice& panel) {
    SectionCurves curves;
    const Advice& advice = panel.advice;
    const double cut = std::exp(panel.belief.cut.quantile(0.5));
    const auto depth = [&](double share) { return std::exp(panel.belief.depth.quantile(share)); };
    for (const Outlook& outlook : advice.outlooks)
        curves.candidates.push_back(clearing_curve(panel.ground, outlook.sequence, cut, depth(0.5)));
    if (advice.choice) { // the deeper the marks, the less of them is cleared: their quantiles are the share's
        const std::vector<Waypoint> alternative =
            way_through(panel.ground.effects, advice.outlooks[*advice.choice].sequence);
        curves.band_low = along(alternative, panel.ground.marks, cut, depth(0.95));
        curves.band_high = along(alternative, panel.ground.marks, cut, depth(0.05));
    }
    curves.looks = look_points(panel);
    curves.most_um = most_film_um(panel, curves.looks);
    return curves;
}

} // namespace sparecoat::picture
