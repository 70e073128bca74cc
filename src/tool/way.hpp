#pragma once
#include "panel/panel.hpp"
#include <vector>

namespace sparecoat::tool {

/// A polyline that knows its arc length.
class ArmWay {
public:
    ArmWay() = default;
    explicit ArmWay(std::vector<Point2> points);
    ArmWay(Point2 from, Point2 to) : ArmWay(std::vector<Point2>{from, to}) {}

    double length_m() const { return arc_m_.empty() ? 0 : arc_m_.back(); }
    Point2 front() const { return points_.front(); }
    Point2 back() const { return points_.back(); }
    const std::vector<Point2>& points() const { return points_; }
    /// The point `arc_m` along; clamped to the ends.
    Point2 at(double arc_m) const;
    /// The stretch between two arc lengths.
    ArmWay part(double from_m, double to_m) const;
    ArmWay reversed() const { return ArmWay({points_.rbegin(), points_.rend()}); }

private:
    std::vector<Point2> points_;
    std::vector<double> arc_m_; ///< up to each point
};

/// Motion along a length from rest to rest: constant acceleration up to the speed, cruise, constant
/// deceleration (a trapezoid; a triangle where the length is too short to reach the speed).
/// Duration L/v + v/a, or 2 sqrt(L/a) below L = v²/a.
class SpeedProfile {
public:
    SpeedProfile(double length_m, double speed_m_s, double acceleration_m_s2);

    double ramp_s() const { return ramp_s_; } ///< of each of the two ramps
    double cruise_s() const { return cruise_s_; }
    double peak_m_s() const { return peak_m_s_; }
    double duration_s() const { return 2 * ramp_s_ + cruise_s_; }
    double arc_m(double t_s) const; ///< way made after t_s; 0 before, length after

private:
    double length_m_, acceleration_m_s2_, peak_m_s_, ramp_s_, cruise_s_;
};

} // namespace sparecoat::tool
