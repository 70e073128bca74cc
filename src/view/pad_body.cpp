#include "view/pad_body.hpp"
#include "view/shaders.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <glm/gtc/constants.hpp>

namespace sparecoat {
namespace {

constexpr int around = 72;            ///< pieces of a full turn
constexpr float plate_height_m = 0.011f;
constexpr float hub_radius_m = 0.014f, hub_height_m = 0.022f;
constexpr double hover_m = 0.035;     ///< of a lifted pad
constexpr float clear_of_surface_m = 4e-4f;

/// A point of a solid of revolution: radius and height above the face plane; and which way it faces in
/// that section.
struct Ring {
    float radius, height;
    glm::vec2 facing; ///< outward, up
};

/// Point and facing of a ring at an angle about an axis through `centre`.
struct Turner {
    const PlateFrame& frame;
    glm::vec3 centre;
    float spin; ///< of the disc's own frame

    BodyVertex at(const Ring& ring, float angle) const {
        const glm::vec3 out = std::cos(angle) * frame.along + std::sin(angle) * frame.across;
        return {centre + ring.radius * out + ring.height * frame.normal,
                ring.facing.x * out + ring.facing.y * frame.normal,
                ring.radius * glm::vec2(std::cos(angle - spin), std::sin(angle - spin))};
    }
};

float angle_of(int n) { return glm::two_pi<float>() * static_cast<float>(n) / around; }

/// Two triangles of a face whose corners run counter-clockwise seen from outside.
void add_quad(std::vector<BodyVertex>& to, const BodyVertex& a, const BodyVertex& b, const BodyVertex& c,
              const BodyVertex& d) {
    for (const BodyVertex* v : {&a, &b, &c, &a, &c, &d}) to.push_back(*v);
}

/// A skin of revolution, from the lowest ring outward and up to the top; @param shape moves a vertex where
/// it really lies.
template <class Shape, std::size_t rings>
void add_turned(std::vector<BodyVertex>& to, const Turner& turner, const std::array<Ring, rings>& profile,
                const Shape& shape) {
    const auto corner = [&](std::size_t ring, int n) {
        BodyVertex vertex = turner.at(profile[ring], angle_of(n));
        vertex.at = shape(vertex.at, profile[ring]);
        return vertex;
    };
    for (std::size_t ring = 0; ring + 1 < rings; ++ring)
        for (int n = 0; n < around; ++n)
            add_quad(to, corner(ring, n), corner(ring, n + 1), corner(ring + 1, n + 1), corner(ring + 1, n));
}

const auto as_it_is = [](glm::vec3 at, const Ring&) { return at; };

} // namespace

PlateFrame plate_frame(const Surface& surface, const StepReport& report, double pad_radius_m) {
    // Normal equations of a plane over points spread evenly on the disc, those beyond the panel left out.
    glm::dmat3 normal(0);
    glm::dvec3 right(0);
    constexpr int rings = 5, spokes = 24;
    for (int r = 0; r < rings; ++r)
        for (int s = 0; s < spokes; ++s) {
            const double radius = pad_radius_m * std::sqrt((r + 0.5) / rings);
            const double angle = glm::two_pi<double>() * (s + 0.5 * (r % 2)) / spokes;
            const Point2 out{radius * std::cos(angle), radius * std::sin(angle)};
            if (!surface.on_panel(report.at + out)) continue;
            const glm::dvec3 row(1, out.x, out.y);
            normal += glm::outerProduct(row, row);
            right += static_cast<double>(surface.height(report.at + out)) * row;
        }
    glm::dvec3 plane(static_cast<double>(surface.height(report.at)), 0, 0);
    if (normal[0][0] >= 3) {
        normal[1][1] += 1e-9 * normal[0][0], normal[2][2] += 1e-9 * normal[0][0];
        plane = glm::inverse(normal) * right;
    }
    PlateFrame frame;
    const double lift = report.down ? -report.depth_m : hover_m;
    const Point2 tilt = report.down ? report.tilt_rad : Point2{};
    frame.slope = glm::vec2(plane.y - tilt.x, plane.z - tilt.y);
    frame.origin = glm::vec3(report.at.x, report.at.y, plane.x + lift);
    frame.normal = glm::normalize(glm::vec3(-frame.slope, 1));
    frame.along = glm::normalize(glm::vec3(1, 0, frame.slope.x));
    frame.across = glm::cross(frame.normal, frame.along);
    return frame;
}

void describe_body_vertices(const gl::VertexArray& vertices, const gl::Buffer& buffer) {
    constexpr int floats = sizeof(BodyVertex) / sizeof(float);
    vertices.attribute(0, buffer, 3, floats, 0);
    vertices.attribute(1, buffer, 3, floats, 3);
    vertices.attribute(2, buffer, 2, floats, 6);
    glBindVertexArray(0);
}

BodyPainter::BodyPainter() : program_("body", shaders::body_vert, shaders::body_frag) {}

void BodyPainter::look(const glm::mat4& view_projection, glm::vec3 eye) {
    program_.use();
    program_.set("view_projection", view_projection);
    program_.set("eye", eye);
}

void BodyPainter::set_skin(const Skin& skin) {
    program_.use();
    program_.set("tint", skin.tint);
    program_.set("mark", skin.mark);
    program_.set("plate_radius", skin.plate_radius);
}

PadBody::PadBody() { describe_body_vertices(vertices_, buffer_); }

std::size_t PadBody::place(const Surface& surface, const SceneState& state) {
    triangles_.clear();
    const StepReport& report = *state.pad;
    const PlateFrame frame = plate_frame(surface, report, state.pad_radius_m);
    const auto radius = static_cast<float>(state.pad_radius_m), thickness = static_cast<float>(state.pad_thickness_m);
    const auto plate = std::min(static_cast<float>(state.backing_radius_m), radius);
    const auto orbit = static_cast<float>(state.orbit_radius_m);
    const auto orbit_angle = static_cast<float>(state.orbit_angle_rad);
    const glm::vec3 centre = frame.origin + orbit * (std::cos(orbit_angle) * frame.along +
                                                     std::sin(orbit_angle) * frame.across);
    const Turner turner{frame, centre, static_cast<float>(state.spin_angle_rad)};
    const auto begin = [&] { return static_cast<GLint>(triangles_.size()); };
    const auto end = [&](GLint first) { return Piece{first, static_cast<GLsizei>(triangles_.size()) - first}; };

    // Foam gives way to the panel: a point that would lie in it is pushed out, and what is above it by the
    // share that its height leaves.
    const auto squashed = [&](glm::vec3 at, const Ring& ring) {
        const Point2 below{static_cast<double>(at.x), static_cast<double>(at.y)};
        if (!surface.on_panel(below)) return at;
        const float share = 1 - std::clamp(ring.height / thickness, 0.0f, 1.0f);
        const float face = at.z - ring.height;
        at.z += share * std::max(0.0f, surface.height(below) + clear_of_surface_m - face);
        return at;
    };
    const float bevel = std::min(0.2f * thickness, 0.004f);
    const std::array<Ring, 9> foam{{{0, 0, {0, -1}},
                                    {0.5f * radius, 0, {0, -1}},
                                    {radius - bevel, 0, {0.1f, -1}},
                                    {radius, bevel, {1, -0.2f}},
                                    {radius, 0.4f * thickness, {1, 0}},
                                    {radius, thickness - bevel, {1, 0.2f}},
                                    {radius - bevel, thickness, {0.3f, 1}},
                                    {plate, thickness, {0, 1}},
                                    {0.2f * radius, thickness, {0, 1}}}};
    GLint first = begin();
    add_turned(triangles_, turner, foam, squashed);
    foam_ = end(first);

    const float top = thickness + plate_height_m;
    const std::array<Ring, 6> disc{{{plate - 0.001f, thickness, {1, 0}},
                                    {plate, thickness + 0.002f, {1, 0}},
                                    {plate, top - 0.003f, {1, 0.3f}},
                                    {plate - 0.003f, top, {0.4f, 1}},
                                    {0.5f * plate, top, {0, 1}},
                                    {0, top, {0, 1}}}};
    first = begin();
    add_turned(triangles_, turner, disc, as_it_is);
    plate_ = end(first);

    // The machine's own axis: it stays while plate and pad go round it.
    const Turner still{frame, frame.origin, 0};
    const std::array<Ring, 4> hub{{{hub_radius_m, top, {1, 0}},
                                   {hub_radius_m, top + hub_height_m - 0.002f, {1, 0.3f}},
                                   {hub_radius_m - 0.002f, top + hub_height_m, {0.4f, 1}},
                                   {0, top + hub_height_m, {0, 1}}}};
    first = begin();
    add_turned(triangles_, still, hub, as_it_is);
    hub_ = end(first);
    return buffer_.fill(std::span<const BodyVertex>(triangles_), GL_STREAM_DRAW);
}

int PadBody::draw(BodyPainter& painter, const SceneState& state) {
    vertices_.bind();
    const auto draw = [](const Piece& piece) { glDrawArrays(GL_TRIANGLES, piece.first, piece.count); };
    const bool lifted = !state.pad->down;
    const float fade = (lifted ? 0.6f : 1.0f) * state.pad_opacity;
    const auto plate = static_cast<float>(state.backing_radius_m);
    painter.set_skin({glm::vec4(0.74f, 0.83f, 0.90f, 0.55f * fade), glm::vec4(0), plate});
    draw(foam_);
    painter.set_skin({glm::vec4(0.22f, 0.24f, 0.28f, 0.58f * fade), glm::vec4(0.98f, 0.97f, 0.93f, state.pad_opacity), plate});
    draw(plate_);
    painter.set_skin({glm::vec4(0.62f, 0.65f, 0.70f, 0.9f * fade), glm::vec4(0), plate});
    draw(hub_);
    return 3;
}

} // namespace sparecoat
