#pragma once
// Shared by the tests of the scene.
#include "picture/colour_map.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include "units/error.hpp"
#include "view/render/camera.hpp"
#include "view/render/gl.hpp"
#include "view/render/offscreen.hpp"
#include "view/render/pad_body.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include "view/render/surface.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <png.h>

namespace sparecoat::test::scene_world {
using namespace sparecoat::cli;
using namespace sparecoat::test;

constexpr const char* sides[] = {"front", "left", "right", "top", "bottom", "corner"};
constexpr int width = 480, height = 300;
constexpr float aspect = static_cast<float>(width) / height;

/// 0.6 x 0.4 m, bulging towards the viewer; steepest slope at its rim 0.2.
inline Panel crowned_panel() {
    Features shape = rectangle(0.6, 0.4);
    shape.radius_u_m = 1.5, shape.radius_v_m = 1.2;
    return panel_of(std::move(shape), 0.002);
}

inline Panel plate_with_hole() {
    Features shape = rectangle(0.6, 0.4);
    shape.holes = {{{{0.2, 0.1}, 0.02, "hole"},
                    {{0.4, 0.1}, 0.02, "hole"},
                    {{0.4, 0.3}, 0.02, "hole"},
                    {{0.2, 0.3}, 0.02, "hole"}}};
    return panel_of(std::move(shape), 0.002);
}

inline Camera camera_on(const Panel& panel, const char* side) {
    Camera camera;
    camera.frame(panel, aspect);
    REQUIRE(camera.look_from(side));
    return camera;
}

template <class Value> std::vector<float> map_of(const Panel& panel, const Value& value) {
    std::vector<float> values(panel.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    for (std::size_t k = 0; k < values.size(); ++k)
        if (panel.inside[k]) values[k] = static_cast<float>(value(panel.grid.centre(k)));
    return values;
}

inline SceneState plain_state() {
    SceneState state;
    state.colours = &film_lost_colours();
    return state;
}

/// A context that hears errors, a scene in it and a picture it draws on.
class Studio {
public:
    explicit Studio(const Panel& panel) : panel_(panel) { scene_.set_panel(panel); }
    ~Studio() { CHECK(watch_.take().empty()); }

    Scene& scene() { return scene_; }
    void set_map(const std::vector<float>& values) { scene_.update_map(values, all_tiles(panel_.grid)); }
    Image draw(const Camera& camera, const SceneState& state) {
        picture_.bind();
        glClearColor(1, 0, 1, 1);
        glClear(GL_COLOR_BUFFER_BIT);
        count_ = scene_.draw(camera, state, 0, 0, width, height);
        return picture_.read();
    }
    FrameCount count() const { return count_; }
    std::vector<std::string> errors() { return watch_.take(); }

private:
    const Panel& panel_;
    OffscreenContext context_{true};
    gl::Watch watch_;
    OffscreenPicture picture_{width, height};
    Scene scene_;
    FrameCount count_;
};

struct Pixel {
    int x, y;
};

inline Pixel pixel_of(const Camera& camera, const Panel& panel, Point2 at, double lift_m = 0) {
    const glm::vec3 seen = camera.project(glm::vec3(at.x, at.y, height_at(panel, at) + lift_m), aspect);
    return {static_cast<int>(seen.x * width), static_cast<int>(seen.y * height)};
}

inline int difference(const std::uint8_t* a, const std::uint8_t* b) {
    int most = 0;
    for (int part = 0; part < 3; ++part) most = std::max(most, std::abs(a[part] - b[part]));
    return most;
}

/// Farthest of the three parts from a colour, of 255.
inline int distance_to(const std::uint8_t* pixel, Rgb colour) {
    const std::uint8_t wanted[3] = {static_cast<std::uint8_t>(std::lround(255 * colour.r)),
                                    static_cast<std::uint8_t>(std::lround(255 * colour.g)),
                                    static_cast<std::uint8_t>(std::lround(255 * colour.b))};
    return difference(pixel, wanted);
}

inline int brightness(const std::uint8_t* pixel) { return pixel[0] + pixel[1] + pixel[2]; }

/// Pixels that differ by more than rounding does, and the box round them.
struct Changed {
    int count = 0, left = width, right = -1, top = height, bottom = -1;
};
inline Changed changed(const Image& a, const Image& b, int more_than = 3) {
    Changed out;
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            if (difference(a.at(x, y), b.at(x, y)) <= more_than) continue;
            ++out.count;
            out.left = std::min(out.left, x), out.right = std::max(out.right, x);
            out.top = std::min(out.top, y), out.bottom = std::max(out.bottom, y);
        }
    return out;
}

inline StepReport pressed_at(Point2 at) {
    StepReport report;
    report.at = at;
    report.depth_m = 0.001;
    report.down = true;
    return report;
}

} // namespace sparecoat::test::scene_world
