#include "view/pages/section/section_chart.hpp"
#include "units/quantity.hpp"
#include "view/window/chart_painter.hpp"
#include <algorithm>
#include <cmath>
#include <limits>

namespace sparecoat::view::section {
namespace {

float distance(ImVec2 a, ImVec2 b) { return std::hypot(a.x - b.x, a.y - b.y); }

float distance_to_piece(ImVec2 p, ImVec2 a, ImVec2 b) {
    const ImVec2 along{b.x - a.x, b.y - a.y};
    const float length2 = along.x * along.x + along.y * along.y;
    const float t =
        length2 > 0 ? std::clamp(((p.x - a.x) * along.x + (p.y - a.y) * along.y) / length2, 0.0f, 1.0f) : 0;
    return distance(p, {a.x + t * along.x, a.y + t * along.y});
}

float distance_to_curve(const SectionChart& chart, const ClearingCurve& curve, ImVec2 p) {
    float nearest = std::numeric_limits<float>::infinity();
    for (std::size_t k = 1; k < curve.film_um.size(); ++k)
        nearest = std::min(nearest, distance_to_piece(p, chart.at(curve.film_um[k - 1], curve.share[k - 1]),
                                                      chart.at(curve.film_um[k], curve.share[k])));
    return nearest;
}

} // namespace

bool SectionChart::holds(ImVec2 p) const {
    const auto px = static_cast<double>(p.x), py = static_cast<double>(p.y);
    return px >= plot.left && px < plot.right && py >= plot.top && py < plot.bottom;
}

SectionChart section_chart(const Box& box, double most_um, FilmUnit unit) {
    const double per_um = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
    return {plot_in(box, axis_of(round_scale(0, most_um * per_um), per_um, PlotAxis::Beyond::held_low),
                    axis_of(locked_scale(0, 100), 100))};
}

std::optional<ChartHit> hit_on(const SectionChart& chart, const SectionFinding& finding, ImVec2 pointer,
                               float reach) {
    if (!chart.holds(pointer)) return {};
    const Advice& advice = finding.panel().advice;
    std::optional<ChartHit> hit;
    float nearest = reach;
    const auto take = [&](ChartHit::Kind kind, std::size_t index, float away) {
        if (away > nearest) return;
        nearest = away;
        hit = ChartHit{kind, index};
    };
    for (std::size_t k = finding.curves.candidates.size(); k-- > 0;) {
        const Outlook& o = advice.outlooks[k];
        take(ChartHit::Kind::candidate, k, distance(pointer, chart.at(o.film_um.median, o.share.median)));
    }
    for (std::size_t k = 0; k < finding.curves.looks.size(); ++k) {
        const LookPoint& look = finding.curves.looks[k];
        take(ChartHit::Kind::look, k, distance(pointer, chart.at(look.film_um.median, look.share.median)));
    }
    if (hit) return hit;
    for (std::size_t k = finding.curves.candidates.size(); k-- > 0;)
        take(ChartHit::Kind::candidate, k, distance_to_curve(chart, finding.curves.candidates[k], pointer));
    if (advice.choice && hit) {
        constexpr float together = 1; // pixel
        const float away = distance_to_curve(chart, finding.curves.candidates[*advice.choice], pointer);
        if (away <= nearest + together) hit = ChartHit{ChartHit::Kind::candidate, *advice.choice};
    }
    return hit;
}

} // namespace sparecoat::view::section
