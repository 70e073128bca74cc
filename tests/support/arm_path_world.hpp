#pragma once
// Shared by the tests of the arm's path.
#include "formats/path_csv.hpp"
#include "support/files.hpp"
#include "tool/arm_path.hpp"
#include "tool/hand.hpp"
#include "tool/strokes.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <rapidcheck.h>
#include <set>

namespace sparecoat::test::arm_path_world {
using namespace sparecoat::cli;
using namespace sparecoat::test;

constexpr double pad_radius = 0.075;

/// Adds a closed loop whose k-th side (from point k) is named names[k].
inline void add_loop(Panel& panel, const std::vector<Point2>& points, const std::vector<std::string>& names) {
    Polyline loop;
    loop.points = points;
    for (const std::string& name : names) {
        const auto known = std::find(panel.edge_names.begin(), panel.edge_names.end(), name);
        loop.edge.push_back(static_cast<int>(known - panel.edge_names.begin()));
        if (known == panel.edge_names.end()) panel.edge_names.push_back(name);
    }
    panel.outline.push_back(loop);
}

/// Corner at the origin; sides bottom, right, top, left.
inline Panel plate(double width, double height) {
    Panel panel;
    panel.name = "plate";
    add_loop(panel, {{0, 0}, {width, 0}, {width, height}, {0, height}}, {"bottom", "right", "top", "left"});
    return panel;
}

/// A 1.0 x 0.8 m plate with a window in the middle.
inline Panel plate_with_window() {
    Panel panel = plate(1.0, 0.8);
    add_loop(panel, {{0.4, 0.3}, {0.4, 0.5}, {0.6, 0.5}, {0.6, 0.3}},
             {"window", "window", "window", "window"});
    return panel;
}

/// A 1.0 x 0.7 m plate with a half-round wheel arch of 0.3 m radius cut into its bottom edge.
inline Panel plate_with_arch() {
    Panel panel;
    panel.name = "wing";
    std::vector<Point2> points{{0, 0}};
    std::vector<std::string> names{"bottom"};
    for (int k = 0; k <= 90; ++k) {
        const double angle = pi * (1 - k / 90.0);
        points.push_back({0.5 + 0.3 * std::cos(angle), 0.3 * std::sin(angle)});
        names.push_back(k < 90 ? "wheel arch" : "bottom");
    }
    for (const Point2 p : {Point2{1, 0}, Point2{1, 0.7}, Point2{0, 0.7}}) points.push_back(p);
    for (const char* name : {"right", "top", "left"}) names.push_back(name);
    add_loop(panel, points, names);
    return panel;
}

inline Technique one_pass() {
    Technique t;
    t.pattern = Pattern::raster;
    t.force_n = 45;
    t.speed_rad_s = 4500 * per_min;
    t.arm_speed_m_s = 0.04;
    t.arm_acceleration_m_s2 = 1.0;
    t.passes = 1;
    t.crossed = false;
    t.section_size = {20, 20}; // a whole panel in one go, unless a test says otherwise
    return t;
}

inline Technique line_technique(Point2 from, Point2 to) {
    Technique t = one_pass();
    t.pattern = Pattern::line;
    t.line_from = from;
    t.line_to = to;
    return t;
}

struct Span {
    double low = 1e9, high = -1e9;
};

inline Span span_of(const ArmPath& path, double Point2::*axis) {
    Span span;
    for (const ArmSample& s : path.samples) {
        span.low = std::min(span.low, s.at.*axis);
        span.high = std::max(span.high, s.at.*axis);
    }
    return span;
}

inline int lifts(const ArmPath& path) {
    int count = 0;
    for (std::size_t k = 1; k < path.samples.size(); ++k)
        if (path.samples[k - 1].down && !path.samples[k].down) ++count;
    return count;
}

inline double travelled_m(const ArmPath& path) {
    double sum = 0;
    for (std::size_t k = 1; k < path.samples.size(); ++k)
        sum += norm(path.samples[k].at - path.samples[k - 1].at);
    return sum;
}

/// Where the lines lie: the v of every step that runs along u while down, to a micrometre.
inline std::vector<double> lines_at_v(const ArmPath& path) {
    std::set<long> found;
    for (std::size_t k = 1; k < path.samples.size(); ++k) {
        const Point2 step = path.samples[k].at - path.samples[k - 1].at;
        if (path.samples[k - 1].down && std::abs(step.x) > 1e-5 && std::abs(step.y) < 1e-9)
            found.insert(std::lround(path.samples[k].at.y * 1e6));
    }
    std::vector<double> lines;
    for (const long v : found) lines.push_back(static_cast<double>(v) * 1e-6);
    return lines;
}

/// The message of the InputError that a call throws; empty if it throws none.
inline std::string refused(const std::function<void()>& call) {
    try {
        call();
    } catch (const InputError& error) {
        return error.what();
    }
    return {};
}

inline bool same(const ArmSample& a, const ArmSample& b) {
    return a.t_s == b.t_s && a.at.x == b.at.x && a.at.y == b.at.y && a.force_n == b.force_n &&
           a.tilt_rad.x == b.tilt_rad.x && a.tilt_rad.y == b.tilt_rad.y && a.speed_rad_s == b.speed_rad_s &&
           a.down == b.down && a.recharge == b.recharge && a.pass == b.pass;
}

inline bool same(const ArmPath& a, const ArmPath& b) {
    return std::equal(a.samples.begin(), a.samples.end(), b.samples.begin(), b.samples.end(),
                      [](const ArmSample& x, const ArmSample& y) { return same(x, y); });
}

inline std::string edge_at(const Panel& panel, Point2 p) {
    int edge = -1;
    signed_distance(panel.outline, p, &edge);
    return panel.edge_names.at(static_cast<std::size_t>(edge));
}

} // namespace sparecoat::test::arm_path_world
