#pragma once
#include "panel/panel.hpp"
#include "view/render/camera.hpp"
#include <glm/glm.hpp>
#include <vector>

namespace sparecoat::view {

/// The panel's shape made ready to be drawn: heights carried on past the edge, so that meshes, lines and a
/// pad that overhangs do not fall off it, and its slopes. A copy: the panel may go.
class Surface {
public:
    explicit Surface(const Panel& panel);

    const Grid& grid() const { return grid_; }
    const std::vector<float>& height_m() const { return height_m_; }
    /// Height (m) at a point, bilinear; beyond the grid that of its rim.
    float height(Point2 at) const;
    /// The point on the surface, `lift_m` above it.
    glm::vec3 point(Point2 at, float lift_m = 0) const;
    /// Slopes along u and v at a cell.
    glm::vec2 slope(int i, int j) const;
    /// Whether the painted side at a point is turned to the eye.
    bool faces(Point2 at, glm::vec3 eye) const;
    /// Whether the nearest cell is on the panel.
    bool on_panel(Point2 at) const;
    /// For each cell, the inside cell whose value stands for it: itself inside, else one within `rim_cells`
    /// (so that colour reaches the outline); `no_cell` farther out.
    const std::vector<std::uint32_t>& stand_in() const { return stand_in_; }

    static constexpr std::uint32_t no_cell = 0xffffffff;
    static constexpr int rim_cells = 2;

private:
    Grid grid_;
    std::vector<float> height_m_;
    std::vector<std::uint8_t> inside_;
    std::vector<std::uint32_t> stand_in_;
};

} // namespace sparecoat::view
