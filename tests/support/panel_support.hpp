#pragma once
// Shared by the tests of panels.
#include "panel/outline.hpp"
#include "panel/panel.hpp"
#include "panel/shape.hpp"
#include "support/files.hpp"
#include "support/worlds.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <memory>
#include <png.h>

namespace sparecoat::test::panel_support {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;

inline Loop rectangle_loop(double u, double v, double radius_m = 0, Point2 at = {}) {
    return {{at, radius_m, "bottom"},
            {{at.x + u, at.y}, radius_m, "right"},
            {{at.x + u, at.y + v}, radius_m, "top"},
            {{at.x, at.y + v}, radius_m, "left"}};
}

inline Loop disc(Point2 centre, double radius_m, const std::string& edge = "rim") {
    Loop loop = rectangle_loop(2 * radius_m, 2 * radius_m, radius_m, centre - Point2{radius_m, radius_m});
    for (Corner& corner : loop) corner.edge = edge;
    return loop;
}

inline Loop turned(Loop loop, double angle) {
    for (Corner& corner : loop)
        corner.at = {corner.at.x * std::cos(angle) - corner.at.y * std::sin(angle),
                     corner.at.x * std::sin(angle) + corner.at.y * std::cos(angle)};
    return loop;
}

inline Features plain(Loop outline) {
    Features features;
    features.outline = std::move(outline);
    return features;
}

inline Panel built(Features features, double spacing_m = 0.002) {
    return build_panel({"sample", "steel", std::move(features)}, spacing_m, "sample.json");
}

/// What building complains of; empty if it does not.
inline std::string complaint(const std::function<void()>& build) {
    try {
        build();
    } catch (const InputError& error) {
        return error.what();
    }
    return {};
}

inline double total(const std::vector<float>& field) {
    double sum = 0;
    for (float value : field) sum += static_cast<double>(value);
    return sum;
}

} // namespace sparecoat::test::panel_support
