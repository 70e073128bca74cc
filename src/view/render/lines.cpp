#include "view/render/lines.hpp"
#include "view/render/shaders.hpp"

namespace sparecoat::view {

LineSet::LineSet() {
    // The same buffer twice, once a point later: a segment is an instance with two ends.
    constexpr int floats = sizeof(LinePoint) / sizeof(float);
    vertices_.attribute(0, buffer_, 4, floats, 0, 1);
    vertices_.attribute(1, buffer_, 4, floats, floats, 1);
    glBindVertexArray(0);
}

void LineSet::close(std::size_t first) {
    if (points_.size() > first) add(points_[first].at, 0);
}

void LineSet::lift() {
    // A point sent already cannot change: the pen is lifted by a further one on the same spot.
    if (points_.empty()) return;
    if (sent_ == points_.size()) points_.push_back(points_.back());
    points_.back().width_px = 0;
}

std::size_t LineSet::send() {
    if (sent_ == points_.size()) return 0;
    const std::size_t bytes = buffer_.append(std::span<const LinePoint>(points_), sent_);
    sent_ = points_.size();
    return bytes;
}

LinePainter::LinePainter() : program_("line", shaders::line_vert, shaders::line_frag) {}

void LinePainter::look(const glm::mat4& view_projection, glm::vec3 eye, glm::vec2 viewport_px, float scale) {
    program_.use();
    program_.set("view_projection", view_projection);
    program_.set("viewport", viewport_px);
    program_.set("scale", scale);
    program_.set("eye", eye);
    program_.set("pull", 0.004f); // more than the mesh leaves out of a tight curve
}

void LinePainter::draw(const LineSet& lines, const Stroke& stroke) {
    if (lines.sent_ < 2) return;
    program_.use();
    program_.set("ink", stroke.ink);
    program_.set("widen", stroke.widen_px);
    program_.set("round_ends", stroke.round_ends ? 1.0f : 0.0f);
    lines.vertices_.bind();
    glDrawArraysInstanced(GL_TRIANGLE_STRIP, 0, 4, static_cast<GLsizei>(lines.sent_ - 1));
}

} // namespace sparecoat::view
