#pragma once
#include "view/gl.hpp"
#include "view/scene.hpp"
#include "view/surface.hpp"
#include <vector>

namespace sparecoat {

/// A corner of a solid: where, which way it faces, and its place on the backing plate in the frame that
/// turns with it.
struct BodyVertex {
    glm::vec3 at, facing;
    glm::vec2 disc;
};

/// Solids with flat colours, drawn a piece at a time out of one buffer.
class BodyPainter {
public:
    struct Skin {
        glm::vec4 tint;
        glm::vec4 mark{0};
        float plate_radius = 1;
    };
    BodyPainter();
    void look(const glm::mat4& view_projection, glm::vec3 eye);
    void set_skin(const Skin& skin);

private:
    gl::Program program_;
};

/// Where a backing plate stands: its face plane is that of the pad's working face with no load on it.
struct PlateFrame {
    glm::vec3 origin;            ///< of the face plane, on the axis of the orbit
    glm::vec3 along, across, normal;
    glm::vec2 slope;             ///< of the face plane, in the panel's frame
};

/// The pose that a step report stands for: depth and tilt are from the panel's least-squares plane under the
/// pad, as the simulation takes them. A lifted pad hovers.
PlateFrame plate_frame(const Surface& surface, const StepReport& report, double pad_radius_m);

/// The pad, the plate it is held on and the spindle's stub, as triangles.
class PadBody {
public:
    PadBody();
    /// @return bytes sent.
    std::size_t place(const Surface& surface, const SceneState& state);
    /// @return draws made. Depth is written, back faces are left out, blending is on.
    int draw(BodyPainter& painter, const SceneState& state);

private:
    struct Piece {
        GLint first = 0;
        GLsizei count = 0;
    };
    gl::Buffer buffer_;
    gl::VertexArray vertices_;
    std::vector<BodyVertex> triangles_;
    Piece foam_, plate_, hub_;
};

/// The attributes of BodyVertex.
void describe_body_vertices(const gl::VertexArray& vertices, const gl::Buffer& buffer);

} // namespace sparecoat
