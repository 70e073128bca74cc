#include "view/render/pad_body.hpp"
#include "view/render/shaders.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <glm/gtc/constants.hpp>

namespace sparecoat::view {
namespace {

constexpr int around = 72; ///< pieces of a full turn
constexpr float plate_height_m = 0.011f;
constexpr float hub_radius_m = 0.014f, hub_height_m = 0.022f;
constexpr double hover_m = 0.035; ///< of a lifted pad
constexpr float clear_of_surface_m = 4e-4f;

/// A point of a solid of revolution: radius and height above the face plane; and which way it faces in
/// that section.
struct Ring {
    float radius, height;
    glm::vec2 facing; ///< outward, up
};

float angle_of(int n) { return glm::two_pi<float>() * static_cast<float>(n) / around; }

/// Adds a skin of revolution, from the lowest ring outward and up to the top. @return number of indices.
template <std::size_t rings> GLsizei add_turned(std::vector<BodyVertex>& corners,
                                                std::vector<std::uint16_t>& indices,
                                                const std::array<Ring, rings>& profile) {
    const std::size_t base = corners.size(), before = indices.size();
    for (const Ring& ring : profile)
        for (int n = 0; n < around; ++n) {
            const glm::vec2 out(std::cos(angle_of(n)), std::sin(angle_of(n)));
            corners.push_back(
                {glm::vec3(ring.radius * out, ring.height), glm::vec3(ring.facing.x * out, ring.facing.y)});
        }
    const auto corner = [&](std::size_t ring, int n) {
        return static_cast<std::uint16_t>(base + ring * around + static_cast<std::size_t>(n % around));
    };
    // Two triangles of a face whose corners run counter-clockwise seen from outside.
    for (std::size_t ring = 0; ring + 1 < rings; ++ring)
        for (int n = 0; n < around; ++n)
            for (const std::uint16_t c : {corner(ring, n), corner(ring, n + 1), corner(ring + 1, n + 1),
                                          corner(ring, n), corner(ring + 1, n + 1), corner(ring + 1, n)})
                indices.push_back(c);
    return static_cast<GLsizei>(indices.size() - before);
}

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

void BodyPainter::set_pose(const Pose& pose) {
    program_.use();
    program_.set("origin", pose.origin);
    program_.set("along", pose.along);
    program_.set("across", pose.across);
    program_.set("upright", pose.normal);
    program_.set("spin", pose.spin_rad);
}

PadBody::PadBody() : index_buffer_(GL_ELEMENT_ARRAY_BUFFER) {
    describe_body_vertices(vertices_, buffer_);
    vertices_.attribute(2, lift_buffer_, 1, 1, 0);
    vertices_.bind();
    index_buffer_.bind();
    glBindVertexArray(0);
}

std::size_t PadBody::build(const Shape& shape) {
    shape_ = shape;
    const auto radius = static_cast<float>(shape.radius_m), thickness = static_cast<float>(shape.thickness_m);
    const auto plate = std::min(static_cast<float>(shape.backing_radius_m), radius);
    corners_.clear();
    std::vector<std::uint16_t> indices;
    const auto add = [&](const auto& profile) {
        const auto first = static_cast<GLsizei>(indices.size());
        return Piece{first, add_turned(corners_, indices, profile)};
    };
    const float bevel = std::min(0.2f * thickness, 0.004f);
    foam_ = add(std::array<Ring, 9>{{{0, 0, {0, -1}},
                                     {0.5f * radius, 0, {0, -1}},
                                     {radius - bevel, 0, {0.1f, -1}},
                                     {radius, bevel, {1, -0.2f}},
                                     {radius, 0.4f * thickness, {1, 0}},
                                     {radius, thickness - bevel, {1, 0.2f}},
                                     {radius - bevel, thickness, {0.3f, 1}},
                                     {plate, thickness, {0, 1}},
                                     {0.2f * radius, thickness, {0, 1}}}});
    foam_corners_ = corners_.size();
    const float top = thickness + plate_height_m;
    plate_ = add(std::array<Ring, 6>{{{plate - 0.001f, thickness, {1, 0}},
                                      {plate, thickness + 0.002f, {1, 0}},
                                      {plate, top - 0.003f, {1, 0.3f}},
                                      {plate - 0.003f, top, {0.4f, 1}},
                                      {0.5f * plate, top, {0, 1}},
                                      {0, top, {0, 1}}}});
    hub_ = add(std::array<Ring, 4>{{{hub_radius_m, top, {1, 0}},
                                    {hub_radius_m, top + hub_height_m - 0.002f, {1, 0.3f}},
                                    {hub_radius_m - 0.002f, top + hub_height_m, {0.4f, 1}},
                                    {0, top + hub_height_m, {0, 1}}}});
    lift_m_.assign(corners_.size(), 0.0f);
    vertices_.bind();
    std::size_t sent = index_buffer_.fill(std::span<const std::uint16_t>(indices));
    glBindVertexArray(0);
    sent += buffer_.fill(std::span<const BodyVertex>(corners_));
    sent += lift_buffer_.fill(std::span<const float>(lift_m_), GL_STREAM_DRAW);
    return sent;
}

std::size_t PadBody::place(const Surface& surface, const SceneState& state) {
    const Shape shape{state.pad_radius_m, state.pad_thickness_m, state.backing_radius_m};
    const std::size_t built = shape == shape_ ? 0 : build(shape);
    const PlateFrame frame = plate_frame(surface, *state.pad, state.pad_radius_m);
    const auto orbit = static_cast<float>(state.orbit_radius_m),
               angle = static_cast<float>(state.orbit_angle_rad);
    turning_ = {frame.origin + orbit * (std::cos(angle) * frame.along + std::sin(angle) * frame.across),
                frame.along, frame.across, frame.normal, static_cast<float>(state.spin_angle_rad)};
    still_ = turning_; // the machine's own axis: it stays while plate and pad go round it
    still_.origin = frame.origin;

    // Foam gives way to the panel: a point that would lie in it is pushed out, and what is above it by the
    // share that its height leaves.
    const auto thickness = static_cast<float>(state.pad_thickness_m);
    for (std::size_t k = 0; k < foam_corners_; ++k) {
        const glm::vec3 own = corners_[k].at;
        const glm::vec3 at =
            turning_.origin + own.x * frame.along + own.y * frame.across + own.z * frame.normal;
        const Point2 below{static_cast<double>(at.x), static_cast<double>(at.y)};
        const float share = 1 - std::clamp(own.z / thickness, 0.0f, 1.0f), face = at.z - own.z;
        lift_m_[k] = share > 0 && surface.on_panel(below)
                         ? share * std::max(0.0f, surface.height(below) + clear_of_surface_m - face)
                         : 0.0f;
    }
    return built + lift_buffer_.rewrite(std::span<const float>(lift_m_).first(foam_corners_));
}

int PadBody::draw(BodyPainter& painter, const SceneState& state) {
    const auto draw = [&](const Piece& piece, const BodyPainter::Pose& pose, const BodyPainter::Skin& skin) {
        painter.set_pose(pose);
        painter.set_skin(skin);
        const auto* first =
            reinterpret_cast<const void*>(static_cast<std::uintptr_t>(piece.first) * sizeof(std::uint16_t));
        glDrawElements(GL_TRIANGLES, piece.count, GL_UNSIGNED_SHORT, first);
    };
    vertices_.bind();
    const bool lifted = !state.pad->down;
    const float fade = (lifted ? 0.6f : 1.0f) * state.pad_opacity;
    const auto plate = static_cast<float>(state.backing_radius_m);
    draw(foam_, turning_, {glm::vec4(0.74f, 0.83f, 0.90f, 0.55f * fade), glm::vec4(0), plate});
    draw(plate_, turning_,
         {glm::vec4(0.22f, 0.24f, 0.28f, 0.58f * fade), glm::vec4(0.98f, 0.97f, 0.93f, state.pad_opacity),
          plate});
    draw(hub_, still_, {glm::vec4(0.62f, 0.65f, 0.70f, 0.9f * fade), glm::vec4(0), plate});
    painter.set_pose({});
    return 3;
}

} // namespace sparecoat::view
