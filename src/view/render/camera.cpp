#include "view/render/camera.hpp"
#include <algorithm>
#include <cmath>
#include <glm/gtc/matrix_transform.hpp>
#include <iterator>
#include <limits>

namespace sparecoat::view {
namespace {

// A long lens: the panel keeps its proportions across the view.
const float half_view_tan = std::tan(glm::radians(26.0f) / 2);
constexpr float steepest_rad = 1.45f; ///< short of the poles, where left and right would change over
constexpr float margin = 0.93f;       ///< share of the view that a framed panel may take

struct Side {
    const char* name;
    float yaw_deg, pitch_deg;
};
constexpr Side sides[] = {{"front", 0, 0}, {"left", -58, -6},  {"right", 58, -6},
                          {"top", 0, 55},  {"bottom", 0, -55}, {"corner", -12, -38}};

} // namespace

void Camera::frame(const Panel& panel, float aspect, float right_free) {
    constexpr float far = std::numeric_limits<float>::infinity();
    low_ = glm::vec3(far), high_ = glm::vec3(-far);
    for (std::size_t k = 0; k < panel.inside.size(); ++k) {
        if (!panel.inside[k]) continue;
        const Point2 at = panel.grid.centre(k);
        const glm::vec3 point(at.x, at.y, panel.height_m[k]);
        low_ = glm::min(low_, point), high_ = glm::max(high_, point);
    }
    if (!(low_.x <= high_.x)) low_ = glm::vec3(-0.5f, -0.5f, 0), high_ = glm::vec3(0.5f, 0.5f, 0);
    resize(aspect, right_free);
    fit();
}

/// Puts the box in the middle of the view and as near as it goes. Moving sideways to centre it changes
/// the distance needed, and the other way round: a few rounds settle both.
void Camera::fit() {
    const Axes axis = axes();
    const glm::vec2 reach = margin * half_view_tan * glm::vec2(aspect_ - right_free_, 1);
    target_ = 0.5f * (low_ + high_);
    for (int round = 0; round < 6; ++round) {
        distance_ = 0.05f;
        const auto each_corner = [&](auto&& visit) {
            for (int corner = 0; corner < 8; ++corner) {
                const glm::vec3 point((corner & 1) ? high_.x : low_.x, (corner & 2) ? high_.y : low_.y,
                                      (corner & 4) ? high_.z : low_.z);
                const glm::vec3 from = point - target_;
                visit(glm::vec2(glm::dot(from, axis.right), glm::dot(from, axis.up)),
                      glm::dot(from, axis.back));
            }
        };
        each_corner([&](glm::vec2 across, float nearer) {
            const glm::vec2 needed = glm::abs(across) / reach;
            distance_ = std::max(distance_, nearer + std::max(needed.x, needed.y));
        });
        glm::vec2 least(1e9f), most(-1e9f);
        each_corner([&](glm::vec2 across, float nearer) {
            const glm::vec2 seen = across / (distance_ - nearer);
            least = glm::min(least, seen), most = glm::max(most, seen);
        });
        const glm::vec2 off = 0.5f * (least + most) * distance_;
        if (round < 5) target_ += off.x * axis.right + off.y * axis.up;
    }
    target_ += right_free_ * half_view_tan * distance_ * axis.right; // half of what is free
    fit_ = distance_;
}

void Camera::orbit(float yaw_rad, float pitch_rad) {
    yaw_ = std::remainder(yaw_ + yaw_rad, glm::two_pi<float>());
    pitch_ = std::clamp(pitch_ + pitch_rad, -steepest_rad, steepest_rad);
}

void Camera::pan(float right_share, float up_share) {
    const Axes axis = axes();
    const float view_height = 2 * half_view_tan * distance_;
    aim(target_ - view_height * (right_share * axis.right + up_share * axis.up));
}

void Camera::aim(glm::vec3 target) {
    // A panel moved out of sight is lost: the target stays about it.
    const glm::vec3 slack(0.25f * glm::length(high_ - low_));
    target_ = glm::clamp(target, low_ - slack, high_ + slack);
}

void Camera::zoom(float factor) { distance_ = std::clamp(distance_ * factor, 0.03f * fit_, 3 * fit_); }

bool Camera::look_from(const std::string& side) {
    const auto found =
        std::find_if(std::begin(sides), std::end(sides), [&](const Side& s) { return s.name == side; });
    if (found == std::end(sides)) return false;
    yaw_ = glm::radians(found->yaw_deg);
    pitch_ = glm::radians(found->pitch_deg);
    fit();
    return true;
}

Camera::Axes Camera::axes() const {
    const glm::vec3 back(std::sin(yaw_) * std::cos(pitch_), std::sin(pitch_),
                         std::cos(yaw_) * std::cos(pitch_));
    const glm::vec3 right(std::cos(yaw_), 0, -std::sin(yaw_));
    return {right, glm::cross(back, right), back};
}

glm::vec3 Camera::eye() const { return target_ + distance_ * axes().back; }

glm::mat4 Camera::view() const { return glm::lookAt(eye(), target_, axes().up); }

glm::mat4 Camera::projection(float aspect) const {
    const float size = glm::length(high_ - low_);
    return glm::perspective(2 * std::atan(half_view_tan), aspect, 0.02f * distance_ + 0.002f,
                            distance_ + 3 * size + 1);
}

Ray Camera::ray(float x_share, float y_share, float aspect) const {
    const Axes axis = axes();
    const glm::vec3 direction = -axis.back + (2 * x_share - 1) * half_view_tan * aspect * axis.right +
                                (1 - 2 * y_share) * half_view_tan * axis.up;
    return {eye(), glm::normalize(direction)};
}

glm::vec3 Camera::project(glm::vec3 point, float aspect) const {
    const Axes axis = axes();
    const glm::vec3 from = point - eye();
    const float ahead = -glm::dot(from, axis.back);
    const float scale = 1 / (2 * half_view_tan * (std::abs(ahead) > 1e-9f ? ahead : 1e-9f));
    return {0.5f + glm::dot(from, axis.right) * scale / aspect, 0.5f - glm::dot(from, axis.up) * scale,
            ahead};
}

} // namespace sparecoat::view
