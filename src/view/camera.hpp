#pragma once
#include "panel/panel.hpp"
#include <glm/glm.hpp>
#include <string>

namespace sparecoat {

struct Ray {
    glm::vec3 from, direction; ///< direction of length 1
};

/// Looks at the panel: u to the right, v up, z (towards the pad) to the viewer. Orbit about a target.
class Camera {
public:
    /// Fits the panel into a view of this aspect (width / height).
    void frame(const Panel& panel, float aspect);
    void orbit(float yaw_rad, float pitch_rad);
    void pan(float right_share, float up_share); ///< of the view's height
    void zoom(float factor);                     ///< < 1 comes nearer
    /// "front", "left", "right", "top", "bottom", "corner" (the reset view). @return false if unknown.
    bool look_from(const std::string& side);

    glm::mat4 view() const;
    glm::mat4 projection(float aspect) const;
    glm::vec3 eye() const;
    /// Through a pixel of the viewport, (0, 0) top left, (1, 1) bottom right.
    Ray ray(float x_share, float y_share, float aspect) const;
    /// Where a point lands in the viewport, 0..1, y down; z < 0: behind the eye.
    glm::vec3 project(glm::vec3 point, float aspect) const;

private:
    glm::vec3 target_{0};
    float yaw_ = 0.0f, pitch_ = 0.0f, distance_ = 1.0f, fit_ = 1.0f;
};

} // namespace sparecoat
