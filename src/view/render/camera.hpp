#pragma once
#include "panel/panel.hpp"
#include <glm/glm.hpp>
#include <string>

namespace sparecoat::view {

struct Ray {
    glm::vec3 from, direction; ///< direction of length 1
};

/// Looks at the panel: u to the right, v up, z (towards the pad) to the viewer. Orbit about a target.
class Camera {
public:
    /// Fits the panel into a view of this aspect (width / height); the direction of view stays.
    /// @param right_free as a share of the view's height: kept free at its right, for a legend.
    void frame(const Panel& panel, float aspect, float right_free = 0);
    /// The view has changed its size: the next look_from() fits into that.
    void resize(float aspect, float right_free) { aspect_ = aspect, right_free_ = right_free; }
    void orbit(float yaw_rad, float pitch_rad);
    /// Moves the picture by this share of the view's height.
    void pan(float right_share, float up_share);
    void zoom(float factor); ///< < 1 comes nearer
    /// Brings a point into the middle of the view; direction and distance stay.
    void aim(glm::vec3 target);
    /// "front", "left", "right", "top", "bottom", "corner" (the reset view): from that side, at a slant,
    /// and framed as by frame(). @return false if unknown.
    bool look_from(const std::string& side);

    glm::mat4 view() const;
    glm::mat4 projection(float aspect) const;
    glm::vec3 eye() const;
    /// Through a pixel of the viewport, (0, 0) top left, (1, 1) bottom right.
    Ray ray(float x_share, float y_share, float aspect) const;
    /// Where a point lands in the viewport, 0..1, y down; z: metres in front of the eye, < 0 behind it.
    glm::vec3 project(glm::vec3 point, float aspect) const;

private:
    struct Axes {
        glm::vec3 right, up, back;
    };
    Axes axes() const;
    void fit();

    glm::vec3 target_{0};
    float yaw_ = 0.0f, pitch_ = 0.0f, distance_ = 1.0f, fit_ = 1.0f;
    glm::vec3 low_{-0.5f, -0.5f, 0}, high_{0.5f, 0.5f, 0}; ///< box round the panel framed last
    float aspect_ = 1.5f, right_free_ = 0;                 ///< and the view's
};

} // namespace sparecoat::view
