#pragma once
#include "panel/panel.hpp"
#include "picture/colour_map.hpp"
#include "view/render/gl.hpp"
#include "view/render/surface.hpp"
#include "view/render/tape_frames.hpp"
#include "view/run/live_run.hpp"
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::view {

/// A panel on the card: a coarse mesh for where it is; textures of the full grid for how it slopes, where it
/// ends and what the map says.
class PanelMesh {
public:
    explicit PanelMesh(const Panel& panel, const Surface& surface);

    /// Takes the map's values of changed tiles. @return bytes sent.
    std::size_t update(const Surface& surface, std::span<const float> values, const std::vector<Tile>& tiles);
    /// Takes the cells under masking tape: one a cell, or none at all. @return bytes sent.
    std::size_t set_tape(std::span<const std::uint8_t> taped);
    /// @return bytes sent: none while the colours stay.
    std::size_t set_colours(const ColourMap& colours);

    struct Look {
        glm::mat4 view_projection;
        glm::vec3 eye;
        float low = 0, high = 1, contour_step = 0, contour_width_px = 1.3f;
        glm::vec3 contour_levels{0}; ///< see SceneState
        bool map = true;
        glm::vec3 paint, underside;
        float lamps = 1;
        glm::vec4 pad_shadow{0, 0, 0, 0}; ///< centre u, v, radius, depth 0..1
        std::span<const TapeFrame> frames;
    };
    void draw(const Look& look);

    // For another program in use: where the grid's textures are ("shape", "tape", "grid_corner",
    // "grid_size"), and the mesh itself, positions at 0.
    void set_places(gl::Program& program) const;
    void draw_with(gl::Program& program) const;

    std::size_t bytes_sent() const { return bytes_sent_; } ///< when built
    int triangles() const { return indices_ / 3; }

private:
    gl::Program program_;
    gl::VertexArray vertices_;
    gl::Buffer positions_, index_{GL_ELEMENT_ARRAY_BUFFER};
    gl::Texture shape_, values_, colours_, tape_;
    int nu_ = 0, nv_ = 0;
    std::vector<float> image_; ///< the map as sent: values carried past the edge
    const ColourMap* colours_shown_ = nullptr;
    glm::vec2 corner_, size_;
    int indices_ = 0;
    std::size_t bytes_sent_ = 0;
};

} // namespace sparecoat::view
