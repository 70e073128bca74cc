#pragma once
#include "view/render/gl.hpp"
#include "view/render/lamp.hpp"
#include "view/render/panel_mesh.hpp"
#include <glm/glm.hpp>
#include <memory>
#include <optional>
#include <span>

namespace sparecoat::view {

/// Draws a panel as an inspection lamp shows it: smooth paint, then etching and chips, then every line on
/// top, in linear light; then the whole as a film would take it, over what has been drawn.
class LampPainter {
public:
    LampPainter();

    /// @return bytes sent: none while the marks stay. Null: no marks.
    std::size_t set_marks(const std::shared_ptr<const LampMarks>& marks);
    /// Takes the cells of changed tiles, past the edge as PanelMesh does. @return bytes sent.
    std::size_t update(const Surface& surface, std::span<const LampCell> cells,
                       const std::vector<Tile>& tiles);

    struct Look {
        glm::mat4 view_projection;
        glm::vec3 eye;
        LampState lamp;
        float own_scale = 1; ///< see LampCells
        int fineness = 1;    ///< texels of light to a pixel, each way: more make finer lines
        std::span<const TapeFrame> frames;
        glm::ivec4 viewport; ///< x, y, width, height in the framebuffer bound
    };
    /// The bound framebuffer, blending and depth test are as before afterwards. @return draws.
    int draw(PanelMesh& panel, const Look& look);

private:
    /// Linear light with depth, as large as the viewport.
    struct Film {
        int width = 0, height = 0;
        gl::Texture light;
        gl::Name<gl::destroy_framebuffer> frame;
        gl::Name<gl::destroy_renderbuffer> depth;
        void fit(int width, int height);
    };
    void look_with(gl::Program& program, const PanelMesh& panel, const Look& look);

    gl::Program paint_, lines_program_, spots_program_, film_program_;
    gl::Buffer lines_, spots_;
    gl::VertexArray line_vertices_, spot_vertices_, no_vertices_;
    GLsizei line_count_ = 0, spot_count_ = 0;
    std::shared_ptr<const LampMarks> marks_;
    gl::Texture cells_;
    int nu_ = 0, nv_ = 0;
    std::vector<LampCell> image_; ///< the cells as sent
    Film film_;
};

} // namespace sparecoat::view
