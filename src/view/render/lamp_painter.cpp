#include "view/render/lamp_painter.hpp"
#include "view/render/shaders.hpp"
#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>

namespace sparecoat::view {
namespace {

/// How bright the picture is: an aligned swirl of a few micrometres, spread over a pixel of a millimetre, is
/// plainly seen, and the dark paint beside it hardly.
constexpr float exposure = 95;

constexpr double longest_piece_m = 0.032; ///< of a line that one ribbon draws: finer than its light changes
constexpr float pull_m = 0.004f;          ///< more than the mesh leaves out of a tight curve

/// As lamp_line.vert has them.
struct LinePiece {
    glm::vec4 line, cut, piece;
};
struct SpotVertex {
    glm::vec4 spot;
    glm::vec2 look;
};

void add_pieces(std::vector<LinePiece>& to, const Mark& mark, bool own) {
    const int pieces = std::max(1, static_cast<int>(std::ceil((mark.to_m - mark.from_m) / longest_piece_m)));
    const double step = (mark.to_m - mark.from_m) / pieces;
    // The whole length is that of the uncut line: where panel or region cut it, it does not run out.
    const double whole_m = 2 * std::max(mark.to_m, -mark.from_m);
    for (int n = 0; n < pieces; ++n)
        to.push_back(
            {glm::vec4(mark.at.x, mark.at.y, mark.direction_rad, whole_m),
             glm::vec4(mark.curvature_per_m, mark.depth_um, mark.width_m,
                       groove_slope(mark.depth_um, mark.width_m)),
             glm::vec4(mark.from_m + n * step, mark.from_m + (n + 1) * step, own ? mark.rank : 0, 0)});
}

SpotVertex spot_of(const Mark& mark) {
    const float look = mark.kind == MarkKind::chips ? 2.0f : mark.kind == MarkKind::bird_lime ? 1.0f : 0.0f;
    return {glm::vec4(mark.at.x, mark.at.y, mark.width_m, mark.depth_um), glm::vec2(look, mark.rank)};
}

gl::Program program(const char* name, const char* vertex, const char* fragment, bool covers) {
    const std::string light = shaders::lamp_light_glsl;
    return {
        name, (light + vertex).c_str(),
        (light + (covers ? std::string(shaders::tape_frames_glsl) + shaders::lamp_cover_glsl : "") + fragment)
            .c_str()};
}

} // namespace

LampPainter::LampPainter()
    : paint_(program("lamp_panel", shaders::lamp_panel_vert, shaders::lamp_panel_frag, true)),
      lines_program_(program("lamp_line", shaders::lamp_line_vert, shaders::lamp_line_frag, true)),
      spots_program_(program("lamp_spot", shaders::lamp_spot_vert, shaders::lamp_spot_frag, true)),
      film_program_("lamp_film", shaders::lamp_film_vert, shaders::lamp_film_frag) {
    constexpr int piece_floats = sizeof(LinePiece) / sizeof(float),
                  spot_floats = sizeof(SpotVertex) / sizeof(float);
    for (int place = 0; place < 3; ++place)
        line_vertices_.attribute(static_cast<GLuint>(place), lines_, 4, piece_floats, 4 * place, 1);
    spot_vertices_.attribute(0, spots_, 4, spot_floats, 0, 1);
    spot_vertices_.attribute(1, spots_, 2, spot_floats, 4, 1);
    glBindVertexArray(0);
}

std::size_t LampPainter::set_marks(const std::shared_ptr<const LampMarks>& marks) {
    if (marks == marks_) return 0;
    marks_ = marks;
    std::vector<LinePiece> lines;
    std::vector<SpotVertex> spots;
    if (marks) {
        for (const Mark& mark : marks->scattered().marks) {
            if (made_of_lines(mark.kind)) add_pieces(lines, mark, false);
            else spots.push_back(spot_of(mark));
        }
        for (const Mark& mark : marks->own_scattered().marks) add_pieces(lines, mark, true);
    }
    // Chips last: they are through whatever else is there.
    std::ranges::stable_sort(spots, {}, [](const SpotVertex& spot) { return spot.look.x; });
    line_count_ = static_cast<GLsizei>(lines.size()), spot_count_ = static_cast<GLsizei>(spots.size());
    return lines_.fill(std::span<const LinePiece>(lines)) + spots_.fill(std::span<const SpotVertex>(spots));
}

std::size_t LampPainter::update(const Surface& surface, std::span<const LampCell> cells,
                                const std::vector<Tile>& tiles) {
    const Grid& grid = surface.grid();
    if (cells.size() != grid.cells())
        throw std::invalid_argument("a lamp's picture needs one value for each cell");
    if (grid.nu != nu_ || grid.nv != nv_ || image_.size() != cells.size()) {
        nu_ = grid.nu, nv_ = grid.nv;
        image_.assign(cells.size(), LampCell(0, 0, 1, 0));
        cells_.allocate(GL_RGBA32F, nu_, nv_, GL_RGBA, GL_FLOAT, image_.data());
    }
    const std::vector<std::uint32_t>& stand_in = surface.stand_in();
    std::size_t bytes = 0;
    for (const Tile tile : tiles) {
        const int i0 = std::max(0, tile.i * Tile::side - Surface::rim_cells);
        const int j0 = std::max(0, tile.j * Tile::side - Surface::rim_cells);
        const int i1 = std::min(nu_, (tile.i + 1) * Tile::side + Surface::rim_cells);
        const int j1 = std::min(nv_, (tile.j + 1) * Tile::side + Surface::rim_cells);
        if (i0 >= i1 || j0 >= j1) continue;
        for (int j = j0; j < j1; ++j)
            for (int i = i0; i < i1; ++i) {
                const std::size_t k = grid.index(i, j);
                if (stand_in[k] != Surface::no_cell) image_[k] = cells[stand_in[k]];
            }
        cells_.update(i0, j0, i1 - i0, j1 - j0, GL_RGBA, GL_FLOAT, image_.data() + grid.index(i0, j0), nu_);
        bytes += static_cast<std::size_t>(i1 - i0) * static_cast<std::size_t>(j1 - j0) * sizeof(LampCell);
    }
    return bytes;
}

void LampPainter::Film::fit(int w, int h) {
    if (w == width && h == height) return;
    width = w, height = h;
    light.allocate(GL_RGBA16F, w, h, GL_RGBA, GL_HALF_FLOAT, nullptr);
    GLuint name = 0;
    if (!frame) {
        glGenFramebuffers(1, &name);
        frame = gl::Name<gl::destroy_framebuffer>(name);
        glGenRenderbuffers(1, &name);
        depth = gl::Name<gl::destroy_renderbuffer>(name);
    }
    glBindFramebuffer(GL_FRAMEBUFFER, *frame);
    glBindRenderbuffer(GL_RENDERBUFFER, *depth);
    glRenderbufferStorage(GL_RENDERBUFFER, GL_DEPTH_COMPONENT24, w, h);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, light.name(), 0);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_DEPTH_ATTACHMENT, GL_RENDERBUFFER, *depth);
    if (glCheckFramebufferStatus(GL_FRAMEBUFFER) != GL_FRAMEBUFFER_COMPLETE)
        throw std::runtime_error("no framebuffer for the light of " + std::to_string(w) + " x " +
                                 std::to_string(h) + " pixels");
}

void LampPainter::look_with(gl::Program& program, const PanelMesh& panel, const Look& look) {
    program.use();
    program.set("view_projection", look.view_projection);
    program.set("eye", look.eye);
    program.set("lamp", look.lamp.place);
    program.set("viewport", glm::vec2(film_.width, film_.height));
    program.set("pull", pull_m);
    const bool halves = look.lamp.show == LampShow::half;
    program.set("half_tape", glm::vec2(look.lamp.half_at_m, halves ? half_tape_m / 2 : 0.0));
    set_tape_frames(program, look.frames);
    panel.set_places(program);
    program.set("cells", 4);
    cells_.bind(4);
}

int LampPainter::draw(PanelMesh& panel, const Look& look) {
    if (image_.empty()) return 0;
    GLint bound = 0;
    glGetIntegerv(GL_DRAW_FRAMEBUFFER_BINDING, &bound);
    const GLint depth_was_tested = glIsEnabled(GL_DEPTH_TEST);
    film_.fit(look.fineness * look.viewport.z, look.fineness * look.viewport.w);
    glBindFramebuffer(GL_FRAMEBUFFER, *film_.frame);
    glViewport(0, 0, film_.width, film_.height);
    glDisable(GL_SCISSOR_TEST);
    glEnable(GL_DEPTH_TEST);
    glDepthMask(GL_TRUE);
    glDisable(GL_BLEND);
    glClearColor(0, 0, 0, 0);
    glClear(GL_COLOR_BUFFER_BIT | GL_DEPTH_BUFFER_BIT);

    look_with(paint_, panel, look);
    paint_.set("veil_slope", static_cast<float>(marks_ ? marks_->veil_slope() : 0.1));
    panel.draw_with(paint_);
    int draws = 1;

    glDepthMask(GL_FALSE);
    glEnable(GL_BLEND);
    if (spot_count_ > 0) {
        glBlendFuncSeparate(GL_ONE, GL_ONE_MINUS_SRC_ALPHA, GL_ZERO, GL_ONE);
        look_with(spots_program_, panel, look);
        spot_vertices_.bind();
        glDrawArraysInstanced(GL_TRIANGLE_STRIP, 0, 4, spot_count_);
        ++draws;
    }
    if (line_count_ > 0) {
        glBlendFunc(GL_ONE, GL_ONE);
        look_with(lines_program_, panel, look);
        lines_program_.set("own_scale", look.own_scale);
        line_vertices_.bind();
        glDrawArraysInstanced(GL_TRIANGLE_STRIP, 0, 10, line_count_);
        ++draws;
    }

    glBindFramebuffer(GL_FRAMEBUFFER, static_cast<GLuint>(bound));
    glViewport(look.viewport.x, look.viewport.y, look.viewport.z, look.viewport.w);
    glEnable(GL_SCISSOR_TEST);
    glDisable(GL_DEPTH_TEST);
    glBlendFuncSeparate(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA, GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
    film_program_.use();
    film_program_.set("lit", 0);
    film_program_.set("exposure", exposure);
    film_program_.set("fineness", look.fineness);
    film_program_.set("corner", glm::ivec2(look.viewport));
    film_.light.bind(0);
    no_vertices_.bind();
    glDrawArrays(GL_TRIANGLES, 0, 3);
    if (depth_was_tested) glEnable(GL_DEPTH_TEST);
    return draws + 1;
}

} // namespace sparecoat::view
