#include "tool/strokes.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::tool {

namespace {

constexpr double least_move_m = 1e-6; ///< shorter moves are rounding

double lifted_s(double distance_m) { return lift_s + distance_m / lifted_speed_m_s; }

} // namespace

void StrokePlan::begin_pass(int pass, bool recharge) {
    pass_ = pass;
    recharge_due_ = recharge;
}

bool StrokePlan::may_stay_down(const ArmWay& way) const {
    return way.length_m() <= longest_move_m_ && region_->keeps(way, path_slack_m);
}

double StrokePlan::reach_s(Point2 to) const {
    if (!at_) return 0;
    const ArmWay straight(*at_, to);
    if (straight.length_m() < least_move_m) return 0;
    if (!may_stay_down(straight)) return lifted_s(straight.length_m());
    return SpeedProfile(straight.length_m(), speed_m_s_, acceleration_m_s2_).duration_s();
}

void StrokePlan::stroke(const ArmWay& way) {
    if (at_) {
        const ArmWay straight(*at_, way.front());
        if (recharge_due_) lift(way.front(), recharge_s);
        else if (straight.length_m() >= least_move_m)
            may_stay_down(straight) ? down(straight) : lift(way.front(), 0);
    }
    start(way);
}

void StrokePlan::next_stroke(const ArmWay& way, const std::function<std::optional<ArmWay>()>& border) {
    const ArmWay straight(*at_, way.front());
    const auto clears = [this](const ArmWay& move, double slack_m) { return region_->keeps(move, slack_m); };
    std::optional<ArmWay> round;
    if (clears(straight, least_move_m)) down(straight);
    else if (round = border(); round && clears(*round, path_slack_m)) down(*round);
    else if (clears(straight, path_slack_m)) down(straight);
    else lift(way.front(), 0);
    start(way);
}

void StrokePlan::start(const ArmWay& way) {
    at_ = way.front();
    recharged_ = recharged_ || recharge_due_;
    recharge_due_ = false;
    down(way);
}

void StrokePlan::lift(Point2 to, double at_least_s) {
    const ArmWay way(*at_, to);
    legs_.push_back({Leg::Kind::lifted, way, std::max(at_least_s, lifted_s(way.length_m())), pass_, false});
    at_ = to;
}

void StrokePlan::down(const ArmWay& way) {
    if (way.length_m() < least_move_m) return;
    legs_.push_back({Leg::Kind::down, way, 0, pass_, recharged_});
    recharged_ = false;
    at_ = way.back();
}

ArmWay spiral_way(const Rect& box, double spacing_m, const std::function<double(double)>& wander_m) {
    const Point2 centre = box.centre(), half = 0.5 * box.size();
    const double outer_m = std::max(half.x, half.y);
    const double turns = std::max(1.0, std::ceil(outer_m / spacing_m - 1e-6));
    const double pitch_m = outer_m / turns;

    std::vector<Point2> points;
    constexpr int per_turn = 180; // 2°: the chord stays within 0.02 % of the radius
    const int count = static_cast<int>(turns + 1) * per_turn;
    for (int k = 0; k <= count; ++k) {
        const double turn = static_cast<double>(k) / per_turn;
        double radius_m = std::min(pitch_m * turn, outer_m);
        if (wander_m) radius_m = std::clamp(radius_m + wander_m(turn), 0.0, outer_m);
        const double share = radius_m / outer_m, angle = 2 * pi * turn;
        points.push_back(centre + Point2{half.x * share * std::cos(angle), half.y * share * std::sin(angle)});
    }
    return ArmWay(std::move(points));
}

void add_way(StrokePlan& plan, const PadRegion& region, const ArmWay& way) {
    constexpr double shortest_m = 5e-3;
    for (const Stretch& stretch : region.along(way))
        if (stretch.length_m() >= std::min(shortest_m, way.length_m()))
            plan.stroke(way.part(stretch.from_m, stretch.to_m));
}

} // namespace sparecoat::tool
