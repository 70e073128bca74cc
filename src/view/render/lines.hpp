#pragma once
#include "view/render/gl.hpp"
#include <glm/glm.hpp>
#include <span>
#include <vector>

namespace sparecoat::view {

/// A point of a line in space, and the width of the piece that starts there, in pixels; 0 lifts the pen.
struct LinePoint {
    glm::vec3 at{0};
    float width_px = 0;
};

/// Points of many lines in one buffer.
class LineSet {
public:
    LineSet();

    void clear() { points_.clear(), sent_ = 0; }
    bool empty() const { return points_.size() < 2; }
    void add(glm::vec3 at, float width_px) { points_.push_back({at, width_px}); }
    /// Closes what was added from point `first` on, and lifts the pen.
    void close(std::size_t first);
    void lift();
    std::size_t size() const { return points_.size(); }

    /// Sends what has been added since the last call. @return bytes.
    std::size_t send();

private:
    friend class LinePainter;
    std::vector<LinePoint> points_;
    std::size_t sent_ = 0;
    gl::Buffer buffer_;
    gl::VertexArray vertices_;
};

/// Draws line sets; one view at a time.
class LinePainter {
public:
    struct Stroke {
        glm::vec4 ink;
        float widen_px = 0; ///< on top of the points' widths
        bool round_ends = false;
    };

    LinePainter();
    /// @param scale pixels for each pixel asked (large displays).
    void look(const glm::mat4& view_projection, glm::vec3 eye, glm::vec2 viewport_px, float scale);
    void draw(const LineSet& lines, const Stroke& stroke);

private:
    gl::Program program_;
};

} // namespace sparecoat::view
