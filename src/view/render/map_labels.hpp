#pragma once
#include "panel/panel.hpp"
#include "picture/canvas.hpp"
#include "picture/scale.hpp"
#include "view/render/camera.hpp"
#include <span>
#include <string>
#include <vector>

namespace sparecoat::view {

/// Where a scene lies on a page, in the page's units, y down.
struct SceneFrame {
    double x = 0, y = 0, width = 0, height = 0;
    float aspect() const { return static_cast<float>(width / height); }
};

/// The number of a contour line, lying on the line.
struct ContourNumber {
    double x = 0, y = 0, angle = 0; ///< middle on the page, turned clockwise (rad), upright
    Point2 at;                      ///< the same middle on the panel
    double level = 0;               ///< in the unit shown
    std::string text;
};

/// A circle on the page to keep clear of.
struct Taken {
    double x = 0, y = 0, radius = 0;
};

/// How the numbers are to be seen: on which page, through which camera, in which unit.
struct LabelView {
    double factor = 1; ///< from the map's unit to the scale's
    Scale scale;
    Camera camera;
    SceneFrame frame;
    TextStyle style;
    std::vector<Taken> taken;
};

/// Places numbers on the contour lines of a map as a camera sees them: one on every level that has room, more
/// on long lines. @param values in the map's unit, NaN outside.
std::vector<ContourNumber> place_contour_numbers(const Panel& panel, std::span<const float> values,
                                                 const LabelView& view);

} // namespace sparecoat::view
