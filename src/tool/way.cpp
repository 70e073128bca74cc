#include "tool/way.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::tool {

ArmWay::ArmWay(std::vector<Point2> points) : points_(std::move(points)) {
    arc_m_.reserve(points_.size());
    double arc_m = 0;
    for (std::size_t k = 0; k < points_.size(); ++k) {
        if (k > 0) arc_m += norm(points_[k] - points_[k - 1]);
        arc_m_.push_back(arc_m);
    }
}

Point2 ArmWay::at(double arc_m) const {
    if (arc_m <= 0) return points_.front();
    if (arc_m >= length_m()) return points_.back();
    const auto after = std::upper_bound(arc_m_.begin(), arc_m_.end(), arc_m);
    const auto k = static_cast<std::size_t>(after - arc_m_.begin());
    const double share = (arc_m - arc_m_[k - 1]) / (arc_m_[k] - arc_m_[k - 1]);
    return points_[k - 1] + share * (points_[k] - points_[k - 1]);
}

ArmWay ArmWay::part(double from_m, double to_m) const {
    std::vector<Point2> points{at(from_m)};
    for (std::size_t k = 0; k < points_.size(); ++k)
        if (arc_m_[k] > from_m && arc_m_[k] < to_m) points.push_back(points_[k]);
    points.push_back(at(to_m));
    return ArmWay(std::move(points));
}

SpeedProfile::SpeedProfile(double length_m, double speed_m_s, double acceleration_m_s2)
    : length_m_(length_m), acceleration_m_s2_(acceleration_m_s2),
      peak_m_s_(std::min(speed_m_s, std::sqrt(length_m * acceleration_m_s2))),
      ramp_s_(peak_m_s_ / acceleration_m_s2), cruise_s_(0) {
    const double cruise_m = length_m - peak_m_s_ * ramp_s_;
    if (peak_m_s_ > 0) cruise_s_ = std::max(0.0, cruise_m / peak_m_s_);
}

double SpeedProfile::arc_m(double t_s) const {
    if (t_s <= 0) return 0;
    if (t_s >= duration_s()) return length_m_;
    if (t_s < ramp_s_) return 0.5 * acceleration_m_s2_ * t_s * t_s;
    if (t_s <= ramp_s_ + cruise_s_) return peak_m_s_ * (t_s - 0.5 * ramp_s_);
    const double left_s = duration_s() - t_s;
    return length_m_ - 0.5 * acceleration_m_s2_ * left_s * left_s;
}

} // namespace sparecoat::tool
