#include "view/render/scene.hpp"
#include "units/quantity.hpp"
#include "view/render/gl.hpp"
#include "view/render/lamp_painter.hpp"
#include "view/render/lines.hpp"
#include "view/render/pad_body.hpp"
#include "view/render/panel_mesh.hpp"
#include "view/render/shaders.hpp"
#include "view/render/surface.hpp"
#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace sparecoat::view {
namespace {

constexpr float line_lift_m = 4e-4f; ///< of what lies on the panel
constexpr float path_lift_m = 8e-4f;
constexpr double hem_m = 0.012;       ///< how far the panel's edge is turned down
constexpr double path_step_m = 0.012; ///< the path is drawn no finer

struct Theme {
    glm::vec3 rim, middle; ///< backdrop
    glm::vec3 paint, underside, hem;
    glm::vec4 outline, crest;
    float lamps;
};

const Theme& theme_of(bool light) {
    static const Theme light_theme{{0.845f, 0.860f, 0.878f},     {0.925f, 0.933f, 0.942f},
                                   {0.055f, 0.165f, 0.260f},     {0.42f, 0.44f, 0.47f},
                                   {0.50f, 0.52f, 0.55f},        {0.12f, 0.13f, 0.16f, 0.95f},
                                   {0.12f, 0.13f, 0.16f, 0.55f}, 2.6f};
    static const Theme dark_theme{{0.080f, 0.090f, 0.105f},     {0.165f, 0.180f, 0.205f},
                                  {0.060f, 0.180f, 0.285f},     {0.20f, 0.215f, 0.24f},
                                  {0.30f, 0.32f, 0.35f},        {0.88f, 0.90f, 0.93f, 0.95f},
                                  {0.10f, 0.11f, 0.14f, 0.60f}, 2.2f};
    return light ? light_theme : dark_theme;
}

/// The outline walked in pieces short enough to follow the surface.
template <class Visit> void walk(const Polyline& line, double step_m, const Visit& visit) {
    const std::size_t count = line.points.size();
    if (count < 2) return;
    for (std::size_t n = 0; n < (line.closed ? count : count - 1); ++n) {
        const Point2 a = line.points[n], b = line.points[(n + 1) % count];
        const int pieces = std::max(1, static_cast<int>(std::ceil(norm(b - a) / step_m)));
        for (int piece = 0; piece < pieces; ++piece)
            visit(a + (static_cast<double>(piece) / pieces) * (b - a));
    }
    visit(line.closed ? line.points.front() : line.points.back());
}

void add_polyline(LineSet& to, const Surface& surface, const Polyline& line, float width_px) {
    to.lift();
    walk(line, 0.006, [&](Point2 p) { to.add(surface.point(p, line_lift_m), width_px); });
    to.lift();
}

void add_circle(LineSet& to, const Surface& surface, Point2 centre, double radius_m, float width_px) {
    constexpr int pieces = 40;
    to.lift();
    for (int n = 0; n <= pieces; ++n) {
        const double angle = 2 * pi * n / pieces;
        const Point2 rim = centre + radius_m * Point2{std::cos(angle), std::sin(angle)};
        to.add(surface.point(rim, path_lift_m), width_px);
    }
    to.lift();
}

/// The sheet's edge turned down all round, so that the panel reads as pressed metal and not as paper.
std::vector<BodyVertex> hem_of(const Surface& surface, const std::vector<Polyline>& outline) {
    std::vector<BodyVertex> triangles;
    for (const Polyline& loop : outline) {
        std::vector<glm::vec3> rim;
        walk(loop, 0.008, [&](Point2 p) { rim.push_back(surface.point(p)); });
        for (std::size_t n = 0; n + 1 < rim.size(); ++n) {
            const glm::vec3 along = rim[n + 1] - rim[n];
            if (glm::dot(along, along) < 1e-14f) continue;
            // Painted side on the left of the loop: outward is to its right.
            const glm::vec3 facing = glm::normalize(glm::vec3(along.y, -along.x, 0));
            const glm::vec3 down(0, 0, -hem_m);
            const glm::vec3 corner[] = {rim[n] + down, rim[n + 1] + down, rim[n + 1], rim[n]};
            for (const int c : {0, 1, 2, 0, 2, 3}) triangles.push_back({corner[c], facing});
        }
    }
    return triangles;
}

bool same(const ArmSample& a, const ArmSample& b) {
    return std::abs(a.t_s - b.t_s) < 1e-12 && norm(a.at - b.at) < 1e-12 && a.down == b.down;
}

/// The path on the card: grows with the path, starts anew when it is another one.
class PathLine {
public:
    /// @return bytes sent.
    std::size_t follow(const Surface& surface, std::span<const ArmSample> path) {
        const bool goes_on =
            taken_ > 0 && path.size() >= taken_ && same(path[0], first_) && same(path[taken_ - 1], last_);
        if (!goes_on) reset();
        for (; taken_ < path.size(); ++taken_) take(surface, path[taken_]);
        if (taken_ > 0) first_ = path[0], last_ = path[taken_ - 1];
        return line_.send();
    }
    void reset() {
        line_.clear();
        taken_ = 0;
        down_ = false;
    }
    const LineSet& line() const { return line_; }

private:
    void take(const Surface& surface, const ArmSample& sample) {
        if (sample.down != down_) {
            if (sample.down) line_.lift();
            add(surface, sample.at, sample.down);
            down_ = sample.down;
        } else if (sample.down && norm(sample.at - drawn_) >= path_step_m) {
            add(surface, sample.at, true);
        }
    }
    void add(const Surface& surface, Point2 at, bool goes_on) {
        line_.add(surface.point(at, path_lift_m), goes_on ? 1.1f : 0.0f);
        drawn_ = at;
    }

    LineSet line_;
    std::size_t taken_ = 0;
    ArmSample first_, last_;
    Point2 drawn_;
    bool down_ = false;
};

} // namespace

glm::vec3 background(bool light_theme) { return theme_of(light_theme).rim; }

struct Scene::Parts {
    gl::Program backdrop{"backdrop", shaders::backdrop_vert, shaders::backdrop_frag};
    gl::VertexArray no_vertices;
    LinePainter line_painter;
    BodyPainter body_painter;
    LineSet outline, crests, marks;
    PathLine path;
    PadBody pad;
    gl::Buffer hem_buffer;
    gl::VertexArray hem_vertices;
    GLsizei hem_count = 0;
    std::optional<Surface> surface;
    std::optional<PanelMesh> mesh;
    std::optional<LampPainter> lamp;                        ///< from the first time that one is lit
    std::shared_ptr<const std::vector<std::uint8_t>> taped; ///< as sent
    FrameCount pending;                                     ///< uploads since the last frame

    Parts() { describe_body_vertices(hem_vertices, hem_buffer); }

    void sent(std::size_t bytes) { pending.bytes_uploaded += bytes; }

    void draw_backdrop(const Theme& theme) {
        backdrop.use();
        backdrop.set("rim", theme.rim);
        backdrop.set("middle", theme.middle);
        no_vertices.bind();
        glDrawArrays(GL_TRIANGLES, 0, 3);
        ++pending.draws;
    }

    void draw_panel(const Theme& theme, const glm::mat4& view_projection, glm::vec3 eye,
                    const SceneState& state) {
        body_painter.look(view_projection, eye);
        body_painter.set_skin({glm::vec4(theme.hem, 1)});
        body_painter.set_pose({});
        hem_vertices.bind();
        glDrawArrays(GL_TRIANGLES, 0, hem_count);

        PanelMesh::Look look;
        look.view_projection = view_projection;
        look.eye = eye;
        look.low = state.low, look.high = state.high;
        look.contour_step = state.contour_step;
        look.contour_levels = state.contour_levels;
        look.contour_width_px = 1.25f * state.pixel_scale;
        look.map = state.draw_map && !state.lamp;
        look.paint = theme.paint, look.underside = theme.underside;
        look.lamps = theme.lamps;
        look.frames = state.frames;
        if (state.pad)
            look.pad_shadow = glm::vec4(state.pad->at.x, state.pad->at.y, state.pad_radius_m,
                                        state.pad->down ? 0.30 : 0.15);
        glEnable(GL_BLEND);
        mesh->draw(look);
        pending.draws += 2;
    }

    void draw_lamp(const glm::mat4& view_projection, glm::vec3 eye, const SceneState& state,
                   glm::ivec4 viewport) {
        if (!lamp) return;
        LampPainter::Look look;
        look.view_projection = view_projection;
        look.eye = eye;
        look.lamp = *state.lamp;
        look.own_scale = state.lamp_own_scale;
        look.fineness = state.lamp_fineness;
        look.frames = state.frames;
        look.viewport = viewport;
        pending.draws += lamp->draw(*mesh, look);
    }

    void draw_lines(const LineSet& lines, const LinePainter::Stroke& stroke) {
        if (lines.empty()) return;
        line_painter.draw(lines, stroke);
        ++pending.draws;
    }

    void draw_pad(const glm::mat4& view_projection, glm::vec3 eye, const SceneState& state) {
        sent(pad.place(*surface, state));
        body_painter.look(view_projection, eye);
        glEnable(GL_CULL_FACE);
        glDepthMask(GL_TRUE);
        pending.draws += pad.draw(body_painter, state);
        glDisable(GL_CULL_FACE);
    }

    /// Pins and the pointer's ring: few, and different from frame to frame.
    void draw_marks(const SceneState& state, glm::vec3 eye) {
        marks.clear();
        for (const Point2 pin : state.pins) {
            if (!surface->faces(pin, eye)) continue;
            add_circle(marks, *surface, pin, 0.008, 1.6f);
            const glm::vec3 foot = surface->point(pin), head = foot + glm::vec3(0, 0, pin_height_m);
            marks.add(foot, 2.0f);
            marks.add(head, 9.0f); // a dot: a piece of no length with round ends
            marks.add(head, 0);
        }
        if (state.lamp && state.lamp_foot) { // under the lamp, in the colour of its light
            const Point2 foot{static_cast<double>(state.lamp->place.x),
                              static_cast<double>(state.lamp->place.y)};
            add_circle(marks, *surface, foot, 0.016, 1.4f);
            const glm::vec3 middle = surface->point(foot, path_lift_m);
            marks.add(middle, 6.0f);
            marks.add(middle, 0);
        }
        if (state.pointer) {
            add_circle(marks, *surface, *state.pointer, 0.012, 1.8f);
            const glm::vec3 spot = surface->point(*state.pointer, path_lift_m);
            marks.add(spot, 4.0f);
            marks.add(spot, 0);
        }
        if (marks.empty()) return;
        sent(marks.send());
        draw_lines(marks, {{1, 1, 1, 0.95f}, 2.4f, true});
        draw_lines(marks, {{0.10f, 0.11f, 0.14f, 1}, 0, true});
    }
};

Scene::Scene() : parts_(std::make_unique<Parts>()) {}
Scene::~Scene() = default;

void Scene::set_panel(const Panel& panel) {
    Parts& p = *parts_;
    p.surface.emplace(panel);
    p.mesh.emplace(panel, *p.surface);
    p.taped.reset();
    p.sent(p.mesh->bytes_sent());
    p.path.reset();
    p.outline.clear();
    for (const Polyline& loop : panel.outline) add_polyline(p.outline, *p.surface, loop, 1.5f);
    p.crests.clear();
    for (const Polyline& crest : panel.crests) add_polyline(p.crests, *p.surface, crest, 1.0f);
    p.sent(p.outline.send());
    p.sent(p.crests.send());
    const std::vector<BodyVertex> hem = hem_of(*p.surface, panel.outline);
    p.hem_count = static_cast<GLsizei>(hem.size());
    p.sent(p.hem_buffer.fill(std::span<const BodyVertex>(hem)));
}

void Scene::update_map(std::span<const float> values, const std::vector<Tile>& tiles) {
    if (!parts_->mesh) throw std::invalid_argument("a map needs a panel first");
    parts_->sent(parts_->mesh->update(*parts_->surface, values, tiles));
    parts_->pending.tiles_uploaded += static_cast<int>(tiles.size());
}

void Scene::update_lamp(const std::shared_ptr<const LampMarks>& marks, std::span<const LampCell> cells,
                        const std::vector<Tile>& tiles) {
    Parts& p = *parts_;
    if (!p.mesh) throw std::invalid_argument("a lamp needs a panel first");
    if (!p.lamp) p.lamp.emplace();
    p.sent(p.lamp->set_marks(marks));
    p.sent(p.lamp->update(*p.surface, cells, tiles));
    p.pending.tiles_uploaded += static_cast<int>(tiles.size());
}

FrameCount Scene::draw(const Camera& camera, const SceneState& state, int x, int y, int width, int height) {
    Parts& p = *parts_;
    if (width <= 0 || height <= 0) return {};
    const Theme& theme = theme_of(state.light_theme);
    const float aspect = static_cast<float>(width) / static_cast<float>(height);
    const glm::mat4 view_projection = camera.projection(aspect) * camera.view();
    if (p.mesh && state.colours) p.sent(p.mesh->set_colours(*state.colours));
    if (p.mesh && state.taped != p.taped) {
        p.sent(p.mesh->set_tape(state.taped ? std::span<const std::uint8_t>(*state.taped)
                                            : std::span<const std::uint8_t>()));
        p.taped = state.taped;
    }

    glViewport(x, y, width, height);
    glScissor(x, y, width, height);
    glEnable(GL_SCISSOR_TEST);
    glDisable(GL_CULL_FACE);
    glDisable(GL_BLEND);
    glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
    glBlendEquation(GL_FUNC_ADD);
    glBlendFuncSeparate(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA, GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
    glDisable(GL_DEPTH_TEST);
    glDepthFunc(GL_LESS);
    glDepthMask(GL_TRUE);
    glClear(GL_DEPTH_BUFFER_BIT);
    p.draw_backdrop(theme);

    if (p.mesh) {
        glEnable(GL_DEPTH_TEST);
        p.draw_panel(theme, view_projection, camera.eye(), state);
        if (state.lamp) p.draw_lamp(view_projection, camera.eye(), state, {x, y, width, height});
        glDepthMask(GL_FALSE);
        p.line_painter.look(view_projection, camera.eye(), glm::vec2(width, height), state.pixel_scale);
        if (!state.lamp) p.draw_lines(p.crests, {theme.crest});
        p.draw_lines(p.outline, {theme.outline});
        p.sent(p.path.follow(*p.surface, state.lamp ? std::span<const ArmSample>() : state.path));
        p.draw_lines(p.path.line(), {{1, 1, 1, 0.22f * state.path_opacity}, 1.6f});
        p.draw_lines(p.path.line(), {{0.09f, 0.10f, 0.14f, 0.52f * state.path_opacity}});
        if (state.pad) p.draw_pad(view_projection, camera.eye(), state);
        glDepthMask(GL_FALSE);
        p.draw_marks(state, camera.eye());
    }

    glDepthMask(GL_TRUE);
    glDisable(GL_BLEND);
    glDisable(GL_DEPTH_TEST);
    glDisable(GL_SCISSOR_TEST);
    glBindVertexArray(0);
    glUseProgram(0);
    glActiveTexture(GL_TEXTURE0);
    return std::exchange(p.pending, {});
}

void show_work(SceneState& state, const RunJob& job, const LiveView& view, std::span<const ArmSample> samples,
               const std::optional<Verdict>& verdict) {
    const Pad& pad = job.step.pad;
    state.pad_radius_m = pad.radius_m, state.pad_thickness_m = pad.thickness_m;
    state.backing_radius_m = 0.87 * pad.radius_m; // a plate leaves some of the pad's rim free
    state.orbit_radius_m = 0.5 * job.step.machine.throw_m;
    state.taped = job.taped;
    state.spin_angle_rad = view.spin_angle_rad, state.orbit_angle_rad = view.orbit_angle_rad;
    const auto laid = std::upper_bound(samples.begin(), samples.end(), view.t_s + 1e-9,
                                       [](double t, const ArmSample& sample) { return t < sample.t_s; });
    state.path = samples.first(static_cast<std::size_t>(laid - samples.begin()));
    if (verdict)
        for (const SpotAtRisk& spot : verdict->worst) state.pins.push_back(spot.at);
}

} // namespace sparecoat::view
