// The scene: camera, picking and the plate's pose.
#include "support/scene_world.hpp"
#include <catch2/catch.hpp>

namespace test_view_camera {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::scene_world;

// ---- camera

TEST_CASE("The ray through the pixel where a point appears leads back to the point", "[view]") {
    const Panel panel = crowned_panel();
    for (const char* side : sides) {
        const Camera camera = camera_on(panel, side);
        for (const glm::vec3 point :
             {glm::vec3(0, 0, 0), glm::vec3(0.6f, 0.4f, -0.05f), glm::vec3(0.1f, 0.3f, 0.08f)}) {
            const glm::vec3 seen = camera.project(point, aspect);
            REQUIRE(seen.z > 0);
            const Ray ray = camera.ray(seen.x, seen.y, aspect);
            const glm::vec3 off = glm::cross(point - ray.from, ray.direction);
            CHECK(glm::length(off) < 2e-6f * glm::length(point - ray.from)); // some ulps of single precision
            CHECK(glm::length(ray.direction) == Approx(1.0f).epsilon(1e-6));
        }
    }
}

TEST_CASE("Matrices and projected points agree", "[view]") {
    const Panel panel = crowned_panel();
    Camera camera = camera_on(panel, "corner");
    camera.orbit(0.3f, 0.2f);
    camera.pan(0.1f, -0.05f);
    camera.zoom(0.7f);
    for (const glm::vec3 point : {glm::vec3(0.1f, 0.1f, 0), glm::vec3(0.5f, 0.3f, 0.02f)}) {
        const glm::vec4 clip = camera.projection(aspect) * camera.view() * glm::vec4(point, 1);
        const glm::vec3 seen = camera.project(point, aspect);
        CHECK(seen.x == Approx(0.5f + 0.5f * clip.x / clip.w).margin(1e-5));
        CHECK(seen.y == Approx(0.5f - 0.5f * clip.y / clip.w).margin(1e-5));
        CHECK(seen.z == Approx(clip.w).epsilon(1e-5));
    }
}

TEST_CASE("A point behind the eye is told by its depth", "[view]") {
    const Camera camera = camera_on(crowned_panel(), "front");
    CHECK(camera.project(camera.eye() + glm::vec3(0, 0, 1), aspect).z < 0);
}

TEST_CASE("A framed panel is wholly in view and fills it, from every side", "[view]") {
    const Panel panel = crowned_panel();
    for (const char* side : sides) {
        INFO(side);
        const Camera camera = camera_on(panel, side);
        float left = 1, right = 0, top = 1, bottom = 0;
        for (std::size_t k = 0; k < panel.inside.size(); ++k) {
            if (!panel.inside[k]) continue;
            const Point2 at = panel.grid.centre(k);
            const glm::vec3 seen = camera.project(glm::vec3(at.x, at.y, panel.height_m[k]), aspect);
            left = std::min(left, seen.x), right = std::max(right, seen.x);
            top = std::min(top, seen.y), bottom = std::max(bottom, seen.y);
        }
        CHECK((left > 0 && right < 1 && top > 0 && bottom < 1));
        // Seven parts in a hundred are margin; a panel bulging out of its box's corners leaves some more.
        CHECK(std::max(right - left, bottom - top) > 0.82f);
    }
}

TEST_CASE("A panel framed beside a legend keeps clear of it and is in the middle of the rest", "[view]") {
    const Panel panel = crowned_panel();
    Camera camera;
    constexpr float free = 0.2f; // of the height
    camera.frame(panel, aspect, free);
    for (const char* side : {"front", "top"}) {
        INFO(side);
        REQUIRE(camera.look_from(side));
        float left = 1, right = 0;
        for (std::size_t k = 0; k < panel.inside.size(); ++k) {
            if (!panel.inside[k]) continue;
            const Point2 at = panel.grid.centre(k);
            const glm::vec3 seen = camera.project(glm::vec3(at.x, at.y, panel.height_m[k]), aspect);
            left = std::min(left, seen.x), right = std::max(right, seen.x);
        }
        const float rest = 1 - free / aspect;
        CHECK(right < rest);
        CHECK(left ==
              Approx(rest - right).margin(0.02)); // the box round a crown is not quite what is seen of it
    }
}

TEST_CASE("Panning moves the picture by the share of the view's height asked for", "[view]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Camera camera = camera_on(panel, "front");
    const glm::vec3 point(0.3f, 0.2f, 0);
    const glm::vec3 before = camera.project(point, aspect);
    camera.pan(0.10f, 0.05f);
    const glm::vec3 after = camera.project(point, aspect);
    CHECK(after.x - before.x == Approx(0.10f / aspect).margin(1e-4));
    CHECK(after.y - before.y == Approx(-0.05f).margin(1e-4));
}

TEST_CASE("A side that does not exist leaves the camera as it is", "[view]") {
    Camera camera = camera_on(crowned_panel(), "left");
    const glm::vec3 eye = camera.eye();
    CHECK_FALSE(camera.look_from("behind"));
    CHECK(camera.eye() == eye);
}

// ---- picking

TEST_CASE("The pixel of a spot on a crowned panel picks that spot to within half a cell", "[view]") {
    const Panel panel = crowned_panel();
    for (const char* side : sides) {
        const Camera camera = camera_on(panel, side);
        for (double u = 0.01; u < 0.6; u += 0.0437)
            for (double v = 0.01; v < 0.4; v += 0.0391) {
                const Point2 spot{u, v};
                const glm::vec3 seen = camera.project(glm::vec3(u, v, height_at(panel, spot)), aspect);
                const std::optional<Point2> hit = pick(panel, camera.ray(seen.x, seen.y, aspect));
                INFO(side << " " << u << " " << v);
                REQUIRE(hit);
                CHECK(norm(*hit - spot) < 0.5 * panel.grid.h_m);
            }
    }
}

TEST_CASE("A ray past the panel or through a hole picks nothing", "[view]") {
    const Panel panel = plate_with_hole();
    for (const char* side : sides) {
        const Camera camera = camera_on(panel, side);
        const glm::vec3 hole = camera.project(glm::vec3(0.3f, 0.2f, 0), aspect);
        CHECK_FALSE(pick(panel, camera.ray(hole.x, hole.y, aspect)));
        CHECK_FALSE(pick(panel, camera.ray(0.002f, 0.002f, aspect)));
        const glm::vec3 beside = camera.project(glm::vec3(0.19f, 0.2f, 0), aspect);
        CHECK(pick(panel, camera.ray(beside.x, beside.y, aspect)));
    }
}

TEST_CASE("A crest hides what lies behind it from a flat view", "[view]") {
    Features shape = rectangle(0.6, 0.4);
    shape.body_lines = {{"ridge", {{0.05, 0.2}, {0.55, 0.2}}, 0.03, 0.01, 0.04, 0.02}};
    const Panel panel = panel_of(std::move(shape), 0.002);
    // 10 degrees over the plate, across the ridge (30 mm high, 40 mm to its foot): the far foot is in its
    // lee.
    const glm::vec3 behind(0.3f, 0.235f, height_at(panel, {0.3, 0.235}));
    const glm::vec3 towards = glm::normalize(glm::vec3(0, 1, -std::tan(glm::radians(10.0f))));
    const std::optional<Point2> hit = pick(panel, {behind - 0.5f * towards, towards});
    REQUIRE(hit);
    CHECK(hit->y < 0.205);
}

TEST_CASE("Height beside an edge is that of the panel and not of the void beyond", "[view]") {
    const Panel panel = crowned_panel();
    const double h = panel.grid.h_m;
    // Within half a cell of the edge two of the four cells are outside; slope 0.2 at most over one cell.
    for (double v = 0.05; v < 0.35; v += 0.03)
        CHECK(height_at(panel, {0.0003, v}) == Approx(height_at(panel, {0.0003 + h, v})).margin(0.25 * h));
}

TEST_CASE("A surface carries its slope on past the edge", "[view]") {
    const Panel panel = crowned_panel();
    const Surface surface(panel);
    // In the middle of the left edge the crown falls away along u only; two cells out, in a straight line.
    const Point2 rim{0.001, 0.2}, inner{0.005, 0.2}, outer{-0.003, 0.2};
    const float fall = surface.height(inner) - surface.height(rim);
    CHECK(surface.height(rim) - surface.height(outer) == Approx(fall).epsilon(0.05));
    CHECK(surface.height({-5, 0.2}) == Approx(surface.height({panel.grid.x0_m, 0.2})));
}

// ---- the plate's pose

TEST_CASE("A plate on a flat panel stands as deep and as tilted as its report says", "[view]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    StepReport report = pressed_at({0.3, 0.2});
    report.depth_m = 0.002;
    report.tilt_rad = {0.10, -0.04};
    const PlateFrame frame = plate_frame(Surface(panel), report, 0.075);
    // Compression grows along the tilt, so the plate's face falls that way.
    CHECK(frame.slope.x == Approx(-0.10).margin(1e-6));
    CHECK(frame.slope.y == Approx(0.04).margin(1e-6));
    CHECK(frame.origin.z == Approx(-0.002).margin(1e-7));
    CHECK(glm::dot(frame.normal, frame.along) == Approx(0).margin(1e-6));
}

TEST_CASE("A level plate on a crown lies along the crown", "[view]") {
    const Panel panel = crowned_panel();
    const Point2 at{0.45, 0.2};
    const PlateFrame frame = plate_frame(Surface(panel), pressed_at(at), 0.075);
    const glm::vec3 normal = normal_at(panel, at);
    // A least-squares plane of a paraboloid over a disc is parallel to its tangent in the middle.
    CHECK(frame.slope.x == Approx(-normal.x / normal.z).margin(2e-3));
    CHECK(frame.slope.y == Approx(-normal.y / normal.z).margin(2e-3));
}

} // namespace test_view_camera
