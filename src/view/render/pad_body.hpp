#pragma once
#include "view/render/gl.hpp"
#include "view/render/scene.hpp"
#include "view/render/surface.hpp"
#include <vector>

namespace sparecoat::view {

/// A corner of a solid in the solid's own frame: where, and which way it faces.
struct BodyVertex {
    glm::vec3 at, facing;
};

/// Draws solids with flat colours.
class BodyPainter {
public:
    struct Skin {
        glm::vec4 tint;
        glm::vec4 mark{0};
        float plate_radius = 1;
    };
    /// Where a solid's own frame stands in the panel's, and how far the disc's marks have turned in it.
    struct Pose {
        glm::vec3 origin{0}, along{1, 0, 0}, across{0, 1, 0}, normal{0, 0, 1};
        float spin_rad = 0;
    };
    BodyPainter();
    void look(const glm::mat4& view_projection, glm::vec3 eye);
    void set_skin(const Skin& skin);
    void set_pose(const Pose& pose);

private:
    gl::Program program_;
};

/// Where a backing plate stands: its face plane is that of the pad's working face with no load on it.
struct PlateFrame {
    glm::vec3 origin; ///< of the face plane, on the axis of the orbit
    glm::vec3 along, across, normal;
    glm::vec2 slope; ///< of the face plane, in the panel's frame
};

/// The pose that a step report stands for: depth and tilt are from the panel's least-squares plane under the
/// pad, as the simulation takes them. A lifted pad hovers.
PlateFrame plate_frame(const Surface& surface, const StepReport& report, double pad_radius_m);

/// The pad, the plate it is held on and the spindle's stub. Their shape is sent once; from frame to frame
/// only how far the panel pushes each corner of the foam.
class PadBody {
public:
    PadBody();
    /// @return bytes sent.
    std::size_t place(const Surface& surface, const SceneState& state);
    /// @return draws made. Depth is written, back faces are left out, blending is on.
    int draw(BodyPainter& painter, const SceneState& state);

private:
    struct Piece {
        GLsizei first = 0, count = 0; ///< of the indices
    };
    struct Shape {
        double radius_m = 0, thickness_m = 0, backing_radius_m = 0;
        bool operator==(const Shape&) const = default;
    };
    std::size_t build(const Shape& shape);

    gl::VertexArray vertices_; ///< before the index buffer, which is a part of it
    gl::Buffer buffer_, lift_buffer_, index_buffer_;
    Shape shape_;
    std::vector<BodyVertex> corners_;
    std::vector<float>
        lift_m_; ///< of every corner; only those of the foam, which come first, are ever pushed
    std::size_t foam_corners_ = 0;
    BodyPainter::Pose turning_, still_;
    Piece foam_, plate_, hub_;
};

/// The attributes of BodyVertex.
void describe_body_vertices(const gl::VertexArray& vertices, const gl::Buffer& buffer);

} // namespace sparecoat::view
