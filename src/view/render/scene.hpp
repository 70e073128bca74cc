#pragma once
#include "panel/panel.hpp"
#include "picture/colour_map.hpp"
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include "view/render/camera.hpp"
#include "view/render/lamp.hpp"
#include "view/render/tape_frames.hpp"
#include "view/run/live_run.hpp"
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::view {

/// What is drawn besides the panel and its map.
struct SceneState {
    bool light_theme = true;
    const ColourMap* colours = nullptr;
    float low = 0, high = 1;     ///< of the map, in its unit
    float contour_step = 0;      ///< 0 = none
    glm::vec3 contour_levels{0}; ///< lines at these instead of at multiples of the step; first 0 = not
    std::shared_ptr<const std::vector<std::uint8_t>>
        taped;                     ///< cells under masking tape; none where there is none
    std::vector<TapeFrame> frames; ///< taped squares
    bool draw_map = true;          ///< else plain paint
    std::optional<StepReport> pad; ///< where the pad is; none = not drawn
    double pad_radius_m = 0.075, pad_thickness_m = 0.025, backing_radius_m = 0.065, orbit_radius_m = 0;
    double spin_angle_rad = 0, orbit_angle_rad = 0;
    float pad_opacity = 1;           ///< of the pad's body; lower to see what the map says under it
    std::span<const ArmSample> path; ///< laid so far
    float path_opacity = 1;          ///< a whole run's path covers the map: fainter shows more of that
    std::vector<Point2> pins;        ///< numbered spots: drawn as small posts; numbers are the window's
    std::optional<Point2> pointer;   ///< ring on the panel under the pointer
    std::optional<LampState> lamp;   ///< the paint under a lamp instead of the map, see Scene::update_lamp
    float lamp_own_scale = 1;        ///< see LampCells
    int lamp_fineness = 1;           ///< texels of light to a pixel: more for a picture that is not in motion
    bool lamp_foot = false;          ///< marks the place that the lamp is over
    float pixel_scale = 1;           ///< pixels drawn for each pixel of line width: large displays
};

/// Height of a pin's head over the panel: its number belongs beside that.
inline constexpr double pin_height_m = 0.045;

/// What is behind the panel at the rim of the view, sRGB: for a page or a window that goes on from there.
glm::vec3 background(bool light_theme);

/// Fills in what follows from the work itself: the pad's body and where it has turned to, the path laid up to
/// the view's time, a pin for each of the verdict's spots. The pad itself (`pad`) is left to the caller.
/// @param samples of the path in use; must outlive the state.
void show_work(SceneState& state, const RunJob& job, const LiveView& view, std::span<const ArmSample> samples,
               const std::optional<Verdict>& verdict);

/// Work handed to GL in one frame.
struct FrameCount {
    int draws = 0;
    std::size_t bytes_uploaded = 0;
    int tiles_uploaded = 0;
};

/// Draws a panel and the work on it with OpenGL 3.3 into the bound framebuffer. Needs a current context
/// for all its life. One map texture; only changed tiles are uploaded.
class Scene {
public:
    Scene();
    ~Scene();
    Scene(const Scene&) = delete;
    Scene& operator=(const Scene&) = delete;

    void set_panel(const Panel& panel);
    /// @param values grid.cells() long, NaN outside; @param tiles changed ones.
    /// @throws std::invalid_argument before set_panel, or where the length is another.
    void update_map(std::span<const float> values, const std::vector<Tile>& tiles);
    /// What a lamp shows: marks, and cells as LampCells has them. @throws as update_map.
    void update_lamp(const std::shared_ptr<const LampMarks>& marks, std::span<const LampCell> cells,
                     const std::vector<Tile>& tiles);
    /// Viewport in framebuffer pixels, (x, y) its lower left corner as GL counts. Blending, depth test, face
    /// culling and scissor are off afterwards, and no program, vertex array or texture unit but 0 is in use.
    FrameCount draw(const Camera& camera, const SceneState& state, int x, int y, int width, int height);

private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

/// The panel point under a ray, by marching the height field; none where it misses.
std::optional<Point2> pick(const Panel& panel, const Ray& ray);

/// The cell of a point, if it is on painted panel.
std::optional<std::size_t> painted_cell(const Panel& panel, Point2 at);

/// Height (m) of the panel's surface above the drawing plane at a point, bilinear between cells on the panel;
/// 0 where there are none. And its unit normal.
double height_at(const Panel& panel, Point2 at);
glm::vec3 normal_at(const Panel& panel, Point2 at);
/// Whether the painted side at a point is turned to the eye.
bool faces(const Panel& panel, Point2 at, glm::vec3 eye);

} // namespace sparecoat::view
