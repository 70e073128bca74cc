#include "view/render/panel_mesh.hpp"
#include "view/render/shaders.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <glm/gtc/packing.hpp>
#include <stdexcept>

namespace sparecoat::view {
namespace {

constexpr int most_steps = 180;   ///< of the mesh along the panel's longer side
constexpr float unknown = -1e30f; ///< in the map: drawn as plain paint
constexpr float edge_reach_mm =
    40; ///< distances to the edge are kept up to here: half floats are finest near 0

struct Coarse {
    int nu, nv;
    float step;
    glm::vec2 corner;
    glm::vec2 at(int i, int j) const { return corner + step * glm::vec2(i, j); }
};

/// A coarser grid over the same ground; no finer than the panel's own.
Coarse coarse_grid(const Grid& grid) {
    const double width = (grid.nu - 1) * grid.h_m, height = (grid.nv - 1) * grid.h_m;
    const double step = std::max(grid.h_m, std::max(width, height) / most_steps);
    return {static_cast<int>(std::ceil(width / step)) + 1, static_cast<int>(std::ceil(height / step)) + 1,
            static_cast<float>(step), glm::vec2(grid.x0_m, grid.y0_m)};
}

/// A shader with functions put in behind its first line, which has to be the version.
std::string after_version(const std::string& source, const char* functions) {
    const std::size_t line = source.find("#version"), end = source.find('\n', line) + 1;
    return source.substr(0, end) + functions + source.substr(end);
}

float edge_distance_at(const Panel& panel, glm::vec2 at) {
    const Grid& g = panel.grid;
    const int i =
        std::clamp(static_cast<int>(std::lround((static_cast<double>(at.x) - g.x0_m) / g.h_m)), 0, g.nu - 1);
    const int j =
        std::clamp(static_cast<int>(std::lround((static_cast<double>(at.y) - g.y0_m) / g.h_m)), 0, g.nv - 1);
    return panel.edge_distance_m[g.index(i, j)];
}

} // namespace

PanelMesh::PanelMesh(const Panel& panel, const Surface& surface)
    : program_("panel", shaders::panel_vert,
               after_version(shaders::panel_frag, shaders::tape_frames_glsl).c_str()),
      image_(panel.grid.cells(), unknown),
      corner_(panel.grid.x0_m - 0.5 * panel.grid.h_m, panel.grid.y0_m - 0.5 * panel.grid.h_m),
      size_(panel.grid.nu * panel.grid.h_m, panel.grid.nv * panel.grid.h_m) {
    const Grid& grid = panel.grid;
    nu_ = grid.nu, nv_ = grid.nv;

    const Coarse coarse = coarse_grid(grid);
    std::vector<glm::vec3> positions;
    std::vector<float> to_edge;
    for (int j = 0; j < coarse.nv; ++j)
        for (int i = 0; i < coarse.nu; ++i) {
            const glm::vec2 at = coarse.at(i, j);
            positions.push_back(surface.point({static_cast<double>(at.x), static_cast<double>(at.y)}));
            to_edge.push_back(edge_distance_at(panel, at));
        }
    std::vector<std::uint32_t> indices;
    const auto vertex = [&](int i, int j) { return static_cast<std::uint32_t>(j * coarse.nu + i); };
    for (int j = 0; j + 1 < coarse.nv; ++j)
        for (int i = 0; i + 1 < coarse.nu; ++i) {
            const std::array<std::uint32_t, 4> corner = {vertex(i, j), vertex(i + 1, j), vertex(i, j + 1),
                                                         vertex(i + 1, j + 1)};
            // Squares wholly beyond the edge are left out; what sticks out of the others the shader cuts.
            if (std::all_of(corner.begin(), corner.end(),
                            [&](std::uint32_t v) { return to_edge[v] < -1.5f * coarse.step; }))
                continue;
            for (const int n : {0, 1, 3, 0, 3, 2}) indices.push_back(corner[static_cast<std::size_t>(n)]);
        }
    vertices_.attribute(0, positions_, 3, 3, 0);
    bytes_sent_ += positions_.fill(std::span<const glm::vec3>(positions));
    vertices_.bind();
    bytes_sent_ += index_.fill(std::span<const std::uint32_t>(indices));
    glBindVertexArray(0);
    indices_ = static_cast<int>(indices.size());

    std::vector<std::uint64_t> shape(grid.cells());
    for (int j = 0; j < grid.nv; ++j)
        for (int i = 0; i < grid.nu; ++i) {
            const std::size_t k = grid.index(i, j);
            const glm::vec2 slope = surface.slope(i, j);
            const float edge_mm = std::clamp(1e3f * panel.edge_distance_m[k], -edge_reach_mm, edge_reach_mm);
            shape[k] = glm::packHalf4x16(glm::vec4(slope, edge_mm, surface.height_m()[k]));
        }
    shape_.allocate(GL_RGBA16F, grid.nu, grid.nv, GL_RGBA, GL_HALF_FLOAT, shape.data());
    values_.allocate(GL_R32F, grid.nu, grid.nv, GL_RED, GL_FLOAT, image_.data());
    bytes_sent_ += shape.size() * sizeof(shape[0]) + image_.size() * sizeof(image_[0]) + set_tape({});

    program_.use();
    program_.set("shape", 0);
    program_.set("values", 1);
    program_.set("colours", 2);
    program_.set("tape", 3);
    program_.set("grid_corner", corner_);
    program_.set("grid_size", size_);
}

std::size_t PanelMesh::update(const Surface& surface, std::span<const float> values,
                              const std::vector<Tile>& tiles) {
    const Grid& grid = surface.grid();
    if (values.size() != grid.cells()) throw std::invalid_argument("a map needs one value for each cell");
    const std::vector<std::uint32_t>& stand_in = surface.stand_in();
    std::size_t bytes = 0;
    for (const Tile tile : tiles) {
        // A tile's cells also stand for cells past the edge within rim_cells of them: these go along.
        const int i0 = std::max(0, tile.i * Tile::side - Surface::rim_cells);
        const int j0 = std::max(0, tile.j * Tile::side - Surface::rim_cells);
        const int i1 = std::min(grid.nu, (tile.i + 1) * Tile::side + Surface::rim_cells);
        const int j1 = std::min(grid.nv, (tile.j + 1) * Tile::side + Surface::rim_cells);
        if (i0 >= i1 || j0 >= j1) continue;
        for (int j = j0; j < j1; ++j)
            for (int i = i0; i < i1; ++i) {
                const std::size_t k = grid.index(i, j);
                const std::uint32_t source = stand_in[k];
                const float value = source == Surface::no_cell ? unknown : values[source];
                image_[k] = std::isfinite(value) ? value : unknown;
            }
        values_.update(i0, j0, i1 - i0, j1 - j0, GL_RED, GL_FLOAT, image_.data() + grid.index(i0, j0),
                       grid.nu);
        bytes += static_cast<std::size_t>(i1 - i0) * static_cast<std::size_t>(j1 - j0) * sizeof(float);
    }
    return bytes;
}

std::size_t PanelMesh::set_tape(std::span<const std::uint8_t> taped) {
    std::vector<std::uint8_t> image(static_cast<std::size_t>(nu_) * static_cast<std::size_t>(nv_), 0);
    if (!taped.empty() && taped.size() != image.size())
        throw std::invalid_argument("tape needs one value for each cell");
    for (std::size_t k = 0; k < taped.size(); ++k) image[k] = taped[k] ? 255 : 0;
    tape_.allocate(GL_R8, nu_, nv_, GL_RED, GL_UNSIGNED_BYTE, image.data());
    return image.size();
}

std::size_t PanelMesh::set_colours(const ColourMap& colours) {
    if (&colours == colours_shown_) return 0;
    colours_shown_ = &colours;
    std::array<std::array<std::uint8_t, 4>, 256> row{};
    for (std::size_t n = 0; n < row.size(); ++n) {
        const Rgb rgb = colours.at(static_cast<double>(n) / 255);
        const auto byte = [](double part) { return static_cast<std::uint8_t>(std::lround(255 * part)); };
        row[n] = {byte(rgb.r), byte(rgb.g), byte(rgb.b), 255};
    }
    colours_.allocate(GL_RGBA8, static_cast<int>(row.size()), 1, GL_RGBA, GL_UNSIGNED_BYTE, row.data());
    return sizeof row;
}

void PanelMesh::draw(const Look& look) {
    program_.use();
    program_.set("view_projection", look.view_projection);
    program_.set("eye", look.eye);
    program_.set("low", look.low);
    program_.set("per_range", look.high > look.low ? 1 / (look.high - look.low) : 0.0f);
    program_.set("contour_step", look.contour_step);
    program_.set("contour_levels", look.contour_levels);
    program_.set("contour_width", look.contour_width_px);
    program_.set("draw_map", look.map && colours_shown_ ? 1.0f : 0.0f);
    program_.set("paint", look.paint);
    program_.set("underside", look.underside);
    program_.set("lamps", look.lamps);
    program_.set("pad", look.pad_shadow);
    set_tape_frames(program_, look.frames);
    shape_.bind(0);
    values_.bind(1);
    colours_.bind(2);
    tape_.bind(3);
    vertices_.bind();
    glDrawElements(GL_TRIANGLES, indices_, GL_UNSIGNED_INT, nullptr);
}

void PanelMesh::set_places(gl::Program& program) const {
    program.set("shape", 0);
    program.set("tape", 3);
    program.set("grid_corner", corner_);
    program.set("grid_size", size_);
    shape_.bind(0);
    tape_.bind(3);
}

void PanelMesh::draw_with(gl::Program& program) const {
    program.use();
    vertices_.bind();
    glDrawElements(GL_TRIANGLES, indices_, GL_UNSIGNED_INT, nullptr);
}

} // namespace sparecoat::view
