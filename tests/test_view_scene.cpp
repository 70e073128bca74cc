// The scene: what is drawn, and pictures of it.
#include "support/scene_world.hpp"
#include <catch2/catch.hpp>

namespace test_view_scene {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using namespace sparecoat::test::scene_world;

// ---- drawing

TEST_CASE("A whole scene draws without a GL error from every side in both themes", "[view][gl]") {
    const Panel panel = crowned_panel();
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2 p) { return 5 * p.x; }));
    SceneState state = plain_state();
    state.high = 3, state.contour_step = 0.5f;
    state.pad = pressed_at({0.3, 0.2});
    state.orbit_radius_m = 0.0075;
    const ArmPath path = straight({{0.1, 0.2}, {0.3, 0.2}});
    state.path = path.samples;
    state.pins = {{0.1, 0.1}, {0.5, 0.3}};
    state.pointer = Point2{0.2, 0.1};
    for (const bool light : {true, false})
        for (const char* side : sides) {
            state.light_theme = light;
            studio.draw(camera_on(panel, side), state);
            const std::vector<std::string> errors = studio.errors();
            INFO(side << ": " << (errors.empty() ? "" : errors.front()));
            CHECK(errors.empty());
            CHECK(studio.count().draws > 8);
        }
}

TEST_CASE("The watch hears of a GL error", "[view][gl]") {
    const OffscreenContext context(true);
    gl::Watch watch;
    CHECK(watch.take().empty());
    glEnable(0xdead);
    CHECK_FALSE(watch.take().empty());
    CHECK(watch.take().empty());
}

TEST_CASE("A scene without a panel is its backdrop, and takes no map", "[view][gl]") {
    const OffscreenContext context(true);
    const OffscreenPicture picture(width, height);
    picture.bind();
    Scene scene;
    CHECK(scene.draw(Camera(), plain_state(), 0, 0, width, height).draws == 1);
    CHECK_THROWS_AS(scene.update_map(std::vector<float>(4), {{0, 0}}), std::invalid_argument);
    const Image image = picture.read();
    const glm::vec3 rim = background(true);
    CHECK(distance_to(image.at(0, 0), {static_cast<double>(rim.r), static_cast<double>(rim.g),
                                       static_cast<double>(rim.b)}) <= 2);
}

TEST_CASE("A map's value shows in its legend's colour where it lies", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    // Three broad stripes.
    const auto stripe = [](Point2 p) { return p.x < 0.2 ? 0.5 : p.x < 0.4 ? 2.0 : 3.5; };
    studio.set_map(map_of(panel, stripe));
    SceneState state = plain_state();
    state.low = 0, state.high = 4;
    for (const char* side : {"front", "corner"}) {
        const Camera camera = camera_on(panel, side);
        const Image image = studio.draw(camera, state);
        for (const Point2 at : {Point2{0.1, 0.1}, {0.1, 0.3}, {0.3, 0.2}, {0.5, 0.05}, {0.5, 0.35}}) {
            const Pixel p = pixel_of(camera, panel, at);
            const Rgb wanted = film_lost_colours().at(stripe(at) / 4);
            INFO(side << " " << at.x << " " << at.y);
            // Clear coat mirrors the bay on top of the colour: up to 1.24 times brighter in the squares that
            // light is reckoned in, so 1.12 times as stored. Neighbouring stripes are 100 apart.
            CHECK(distance_to(image.at(p.x, p.y), wanted) < 24);
        }
    }
}

TEST_CASE("Beyond the outline and in a hole the backdrop shows", "[view][gl]") {
    const Panel panel = plate_with_hole();
    Studio studio(panel);
    const Camera camera = camera_on(panel, "front");
    studio.set_map(map_of(panel, [](Point2) { return 1; })); // plum: far from any grey
    const Image image = studio.draw(camera, plain_state());
    const auto is_grey = [&](Point2 at) {
        const Pixel p = pixel_of(camera, panel, at);
        const std::uint8_t* rgb = image.at(p.x, p.y);
        return std::abs(rgb[0] - rgb[1]) < 12 && rgb[0] > 180;
    };
    CHECK(is_grey({0.3, 0.2}));
    CHECK(is_grey({0.21, 0.15}));
    CHECK_FALSE(is_grey({0.19, 0.15}));
    CHECK(is_grey({-0.012, 0.2}));
    CHECK_FALSE(is_grey({0.012, 0.2}));
}

TEST_CASE("Cells without a value show the paint", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    const Camera camera = camera_on(panel, "front");
    studio.set_map(map_of(panel, [](Point2 p) { return p.x < 0.3 ? 0.0 : std::nan(""); }));
    const Image image = studio.draw(camera, plain_state());
    const Pixel known = pixel_of(camera, panel, {0.1, 0.2}), unknown = pixel_of(camera, panel, {0.5, 0.2});
    CHECK(brightness(image.at(known.x, known.y)) > 600);
    CHECK(brightness(image.at(unknown.x, unknown.y)) < 400);
}

TEST_CASE("Only tiles that changed are sent, and only their place changes", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002); // 306 x 206 cells: 5 x 4 tiles
    Studio studio(panel);
    const Camera camera = camera_on(panel, "front");
    std::vector<float> values = map_of(panel, [](Point2) { return 0; });
    studio.set_map(values);
    const Image before = studio.draw(camera, plain_state());
    CHECK(studio.count().tiles_uploaded == 20);
    studio.draw(camera, plain_state());
    CHECK(studio.count().bytes_uploaded == 0);
    CHECK(studio.count().tiles_uploaded == 0);

    std::fill(values.begin(), values.end(), 1.0f); // all new, but one tile alone is said to be
    studio.scene().update_map(values, {{2, 1}});
    const Image after = studio.draw(camera, plain_state());
    CHECK(studio.count().tiles_uploaded == 1);
    constexpr std::size_t side = Tile::side + 2 * Surface::rim_cells;
    CHECK(studio.count().bytes_uploaded == side * side * sizeof(float));

    const Changed box = changed(before, after);
    const Grid& g = panel.grid;
    const Pixel low = pixel_of(camera, panel, {g.x(2 * Tile::side), g.y(Tile::side)});
    const Pixel high = pixel_of(camera, panel, {g.x(3 * Tile::side - 1), g.y(2 * Tile::side - 1)});
    // The tile's rim of two cells and the smoothing between cells reach about three pixels farther.
    CHECK(std::abs(box.left - low.x) <= 4);
    CHECK(std::abs(box.right - high.x) <= 4);
    CHECK(std::abs(box.bottom - low.y) <= 4);
    CHECK(std::abs(box.top - high.y) <= 4);
}

TEST_CASE("A map of another grid is refused", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    CHECK_THROWS_AS(studio.scene().update_map(std::vector<float>(7), {{0, 0}}), std::invalid_argument);
}

TEST_CASE("Contour lines lie at their values and keep their width", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2 p) { return p.x / 0.6; }));
    SceneState state = plain_state();
    for (const float nearer : {1.0f, 0.4f}) {
        Camera camera = camera_on(panel, "front");
        camera.zoom(nearer);
        state.contour_step = 0;
        const Image without = studio.draw(camera, state);
        state.contour_step = 0.5f;
        const Image with = studio.draw(camera, state);
        const Pixel at = pixel_of(camera, panel, {0.3, 0.17});
        int first = -1, pixels = 0;
        for (int x = 0; x < width; ++x)
            if (difference(without.at(x, at.y), with.at(x, at.y)) > 10)
                first = first < 0 ? x : first, ++pixels;
        INFO(nearer);
        CHECK(pixels >= 1);
        CHECK(pixels <= 3); // one and a quarter wide, smoothed
        CHECK(std::abs(first + pixels / 2 - at.x) <= 2);
    }
}

TEST_CASE("Contour lines can be asked for at levels of their own", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2 p) { return 100 * p.x / 0.6; }));
    SceneState state = plain_state();
    state.low = 0, state.high = 100;
    const Camera camera = camera_on(panel, "front");
    const Image without = studio.draw(camera, state);
    state.contour_step = 1;
    state.contour_levels = {20, 50, 70};
    const Image with = studio.draw(camera, state);
    const int row = pixel_of(camera, panel, {0.3, 0.17}).y;
    std::vector<int> lines; // first pixel of each
    for (int x = 1; x < width; ++x)
        if (difference(without.at(x, row), with.at(x, row)) > 10 &&
            difference(without.at(x - 1, row), with.at(x - 1, row)) <= 10)
            lines.push_back(x);
    REQUIRE(lines.size() == 3);
    for (const auto& [line, level] : {std::pair{0, 20}, {1, 50}, {2, 70}})
        CHECK(std::abs(lines[static_cast<std::size_t>(line)] -
                       pixel_of(camera, panel, {0.006 * level, 0.17}).x) <= 3);
}

TEST_CASE("Tape lies on the panel as cream with slanted lines, over any map, and comes off again",
          "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 0.9; })); // dark
    const Camera camera = camera_on(panel, "front");
    SceneState state = plain_state();
    const Image bare = studio.draw(camera, state);
    auto taped = std::make_shared<std::vector<std::uint8_t>>(panel.grid.cells(), std::uint8_t{0});
    for (std::size_t k = 0; k < taped->size(); ++k) (*taped)[k] = panel.grid.centre(k).x < 0.1;
    state.taped = taped;
    const Image image = studio.draw(camera, state);
    int least = 765, most = 0;
    for (double x = 0.03; x < 0.07; x += 0.001) {
        const Pixel p = pixel_of(camera, panel, {x, 0.2});
        const std::uint8_t* c = image.at(p.x, p.y);
        CHECK(c[0] > c[2]); // yellowish all through
        least = std::min(least, brightness(c)), most = std::max(most, brightness(c));
    }
    CHECK(most > least + 60); // a hatch
    const Pixel beyond = pixel_of(camera, panel, {0.12, 0.2});
    CHECK(difference(image.at(beyond.x, beyond.y), bare.at(beyond.x, beyond.y)) <= 3);
    state.taped = nullptr;
    CHECK(studio.draw(camera, state).rgba == bare.rgba);
}

TEST_CASE("Different cameras give different pictures, the same one the same", "[view][gl]") {
    const Panel panel = crowned_panel();
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2 p) { return p.y; }));
    const SceneState state = plain_state();
    const Image front = studio.draw(camera_on(panel, "front"), state);
    for (const char* side : {"left", "right", "top", "bottom", "corner"}) {
        INFO(side);
        CHECK(changed(front, studio.draw(camera_on(panel, side), state)).count > width * height / 20);
    }
    CHECK(studio.draw(camera_on(panel, "front"), state).rgba == front.rgba);
}

TEST_CASE("Paint without a map mirrors the bay: two places of a crown differ", "[view][gl]") {
    const Panel panel = crowned_panel();
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 0; }));
    SceneState state = plain_state();
    state.draw_map = false;
    const Camera camera = camera_on(panel, "front");
    const Image image = studio.draw(camera, state);
    int darkest = 1000, brightest = 0;
    for (double v = 0.02; v < 0.39; v += 0.01) {
        const Pixel p = pixel_of(camera, panel, {0.2, v});
        darkest = std::min(darkest, brightness(image.at(p.x, p.y)));
        brightest = std::max(brightest, brightness(image.at(p.x, p.y)));
    }
    CHECK(brightest - darkest > 120);
}

TEST_CASE("The pad's body stands where its report says", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 0; }));
    const Camera camera = camera_on(panel, "front");
    SceneState state = plain_state();
    const Image bare = studio.draw(camera, state);
    for (const Point2 at : {Point2{0.2, 0.15}, {0.4, 0.25}, {0.6, 0.2}}) {
        state.pad = pressed_at(at);
        const Image with = studio.draw(camera, state);
        // Its shadow is fainter than 40 of 255 in part of its fringe; the body is not.
        const Changed box = changed(bare, with, 40);
        const Pixel middle = pixel_of(camera, panel, at);
        const int radius = pixel_of(camera, panel, at + Point2{0.075, 0}).x - middle.x;
        INFO(at.x << " " << at.y);
        // The body rises 36 mm towards an eye 0.9 m away and so looks larger and shifted by up to 4 %.
        CHECK(std::abs(box.left - (middle.x - radius)) <= 10);
        CHECK(std::abs(box.right - std::min(width - 1, middle.x + radius)) <= 10);
        CHECK(std::abs(box.top - (middle.y - radius)) <= 10);
        CHECK(std::abs(box.bottom - (middle.y + radius)) <= 10);
    }
    CHECK(studio.count().bytes_uploaded > 0);
    CHECK(studio.count().bytes_uploaded <
          4096); // its shape was sent before: now a float for each of the foam's 648 corners
}

TEST_CASE("The mark on the backing plate turns with the spin", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 1; }));
    const Camera camera = camera_on(panel, "front");
    SceneState state = plain_state();
    const Point2 at{0.3, 0.2};
    state.pad = pressed_at(at);
    for (const double turned : {0.0, 0.5 * pi, 2.1}) {
        state.spin_angle_rad = turned;
        const Image image = studio.draw(camera, state);
        const auto light_at = [&](double angle) {
            const double r = 0.62 * state.backing_radius_m;
            const Pixel p = pixel_of(camera, panel, at + r * Point2{std::cos(angle), std::sin(angle)}, 0.035);
            return brightness(image.at(p.x, p.y));
        };
        INFO(turned);
        CHECK(light_at(turned) > 600);
        CHECK(light_at(turned + pi) < 450);
        CHECK(light_at(turned + 0.5 * pi) < 450);
    }
}

TEST_CASE("A lifted pad hovers over where it stood", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    const Surface surface(panel);
    StepReport report = pressed_at({0.3, 0.2});
    report.tilt_rad = {0.1, 0};
    report.down = false;
    const PlateFrame frame = plate_frame(surface, report, 0.075);
    CHECK(frame.origin.z > 0.01f);
    CHECK(frame.slope.x == Approx(0).margin(1e-6));
}

TEST_CASE("A growing path sends its new points alone, another path all of its own", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 0; }));
    const Camera camera = camera_on(panel, "front");
    SceneState state = plain_state();
    const Image bare = studio.draw(camera, state);
    const ArmPath path = straight({{0.1, 0.1}, {0.5, 0.1}});
    const std::span<const ArmSample> samples = path.samples;
    state.path = samples.first(samples.size() - 5);
    studio.draw(camera, state);
    const std::size_t most = studio.count().bytes_uploaded;
    state.path = samples;
    const Image drawn = studio.draw(camera, state);
    CHECK(studio.count().bytes_uploaded > 0);
    CHECK(studio.count().bytes_uploaded < most / 5);
    const Changed box = changed(bare, drawn);
    const Pixel from = pixel_of(camera, panel, {0.1, 0.1}), to = pixel_of(camera, panel, {0.5, 0.1});
    CHECK(std::abs(box.left - from.x) <= 3);
    CHECK(std::abs(box.right - to.x) <= 10); // drawn every 12 mm: the last few are left to the pad's body
    CHECK(box.bottom - box.top <= 5);

    const ArmPath other = straight({{0.1, 0.3}, {0.3, 0.3}});
    state.path = other.samples;
    const Changed moved = changed(bare, studio.draw(camera, state));
    CHECK(std::abs(moved.top - pixel_of(camera, panel, {0.1, 0.3}).y) <= 4);
    CHECK(moved.bottom - moved.top <= 5);
    state.path = {};
    CHECK(changed(bare, studio.draw(camera, state)).count == 0);
}

TEST_CASE("Pins and the pointer's ring stand at their spots", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 0; }));
    const Camera camera = camera_on(panel, "corner");
    const Image bare = studio.draw(camera, plain_state());
    SceneState state = plain_state();
    state.pins = {{0.2, 0.2}};
    const Image pinned = studio.draw(camera, state);
    const Pixel head = pixel_of(camera, panel, {0.2, 0.2}, pin_height_m);
    CHECK(brightness(pinned.at(head.x, head.y)) < 150);
    CHECK(brightness(bare.at(head.x, head.y)) > 500);
    state.pins.clear();
    state.pointer = Point2{0.4, 0.2};
    const Pixel spot = pixel_of(camera, panel, {0.4, 0.2});
    const Image pointed = studio.draw(camera, state);
    CHECK(brightness(pointed.at(spot.x, spot.y)) < 300);
    CHECK(difference(pointed.at(head.x, head.y), bare.at(head.x, head.y)) <= 3);
}

TEST_CASE("From behind no pin is seen, nor told to be facing", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    Studio studio(panel);
    studio.set_map(map_of(panel, [](Point2) { return 0; }));
    Camera camera = camera_on(panel, "front");
    const Point2 inside{0.2, 0.2}, at_edge{0.0, 0.2}; // no cell beyond the edge to tell the slope by
    CHECK(faces(panel, inside, camera.eye()));
    CHECK(faces(panel, at_edge, camera.eye()));
    camera.orbit(static_cast<float>(pi), 0);
    CHECK_FALSE(faces(panel, inside, camera.eye()));
    CHECK_FALSE(faces(panel, at_edge, camera.eye()));
    SceneState state = plain_state();
    const Image bare = studio.draw(camera, state);
    state.pins = {inside, at_edge};
    CHECK(studio.draw(camera, state).rgba == bare.rgba);
}

TEST_CASE("A viewport leaves the rest of the picture alone", "[view][gl]") {
    const Panel panel = plate(0.6, 0.4, 0.002);
    const OffscreenContext context(true);
    gl::Watch watch;
    const OffscreenPicture picture(width, height, 1);
    picture.bind();
    glClearColor(0, 1, 0, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    Scene scene;
    scene.set_panel(panel);
    scene.draw(camera_on(panel, "front"), plain_state(), 40, 30, 200, 150);
    const Image image = picture.read();
    const auto green = [&](int x, int y) { return distance_to(image.at(x, y), {0, 1, 0}) == 0; };
    CHECK(green(39, height - 31));
    CHECK(green(40, height - 30));
    CHECK_FALSE(green(40, height - 31)); // GL counts from below
    CHECK_FALSE(green(239, height - 180));
    CHECK(green(240, height - 180));
    CHECK(green(239, height - 181));
    CHECK(watch.take().empty());
}

// ---- pictures

namespace {

Image read_png(const std::filesystem::path& file) {
    png_image header{};
    header.version = PNG_IMAGE_VERSION;
    REQUIRE(png_image_begin_read_from_file(&header, file.string().c_str()));
    header.format = PNG_FORMAT_RGBA;
    Image image{static_cast<int>(header.width), static_cast<int>(header.height), {}};
    image.rgba.resize(PNG_IMAGE_SIZE(header));
    REQUIRE(png_image_finish_read(&header, nullptr, image.rgba.data(), 0, nullptr));
    return image;
}

ShotRequest small_shot() {
    ShotRequest request;
    request.library = Library(source_at("presets"));
    request.run.panel = "test-plate";
    request.run.technique = "finishing-pass";
    request.run.grid_m = 0.004;
    request.width_px = 900, request.height_px = 600;
    request.at_s = 5.0;
    return request;
}

} // namespace

TEST_CASE("A picture reads back from its PNG as it was", "[view]") {
    const ScratchFolder scratch;
    Image image{3, 2, {}};
    for (int n = 0; n < 24; ++n) image.rgba.push_back(static_cast<std::uint8_t>(n % 4 == 3 ? 255 : 10 * n));
    write_png(scratch.path / "small.png", image);
    CHECK(read_png(scratch.path / "small.png").rgba == image.rgba);
    CHECK_THROWS_AS(write_png(scratch.path / "none" / "small.png", image), InputError);
}

TEST_CASE("A shot has the size asked for and shows more film gone as time goes on", "[view][gl]") {
    const ScratchFolder scratch;
    ShotRequest request = small_shot();
    write_shot(scratch.path / "early.png", request);
    request.at_s = 60.0;
    write_shot(scratch.path / "late.png", request);
    const Image early = read_png(scratch.path / "early.png"), late = read_png(scratch.path / "late.png");
    CHECK(early.width == 900);
    CHECK(early.height == 600);
    int different = 0;
    for (int y = 0; y < 600; ++y)
        for (int x = 0; x < 900; ++x) different += difference(early.at(x, y), late.at(x, y)) > 20;
    CHECK(different > 5000);
    CHECK(std::distance(std::filesystem::directory_iterator(scratch.path), {}) ==
          2); // nothing half-made left
}

TEST_CASE("The same shot twice gives the same bytes", "[view][gl]") {
    const ScratchFolder scratch;
    write_shot(scratch.path / "a.png", small_shot());
    write_shot(scratch.path / "b.png", small_shot());
    CHECK(read_png(scratch.path / "a.png").rgba == read_png(scratch.path / "b.png").rgba);
}

TEST_CASE("Every map and side has a picture of its own, and the dark theme is dark", "[view][gl]") {
    const ScratchFolder scratch;
    ShotRequest request = small_shot();
    std::vector<std::uint8_t> last;
    for (int n = 0; n < map_kinds; ++n) {
        request.map = map_info(static_cast<MapKind>(n)).id;
        request.at_s = static_cast<MapKind>(n) == MapKind::chance
                           ? std::nullopt
                           : small_shot().at_s; // of the whole technique
        request.camera = sides[static_cast<std::size_t>(n) % std::size(sides)];
        write_shot(scratch.path / "map.png", request);
        const Image image = read_png(scratch.path / "map.png");
        CHECK(image.rgba != last);
        last = image.rgba;
    }
    request.light_theme = false;
    write_shot(scratch.path / "dark.png", request);
    CHECK(brightness(read_png(scratch.path / "dark.png").at(890, 5)) < 120);
}

TEST_CASE("A shot refuses what it cannot show, by the option's name, and writes nothing", "[view]") {
    const ScratchFolder scratch;
    const auto place_of_refusal = [&](const ShotRequest& request) {
        try {
            write_shot(scratch.path / "x.png", request);
        } catch (const InputError& error) {
            return error.place();
        }
        return std::string("taken");
    };
    ShotRequest request = small_shot();
    request.map = "rust";
    CHECK(place_of_refusal(request) == "--map");
    request = small_shot(), request.camera = "behind";
    CHECK(place_of_refusal(request) == "--camera");
    request = small_shot(), request.at_s = 1e6;
    CHECK(place_of_refusal(request) == "--at");
    request = small_shot(), request.at_s = std::nan("");
    CHECK(place_of_refusal(request) == "--at");
    request = small_shot(), request.width_px = 10;
    CHECK(place_of_refusal(request) == "--size");
    CHECK(std::filesystem::is_empty(scratch.path));
    CHECK_THROWS_AS(write_shot(scratch.path / "none" / "x.png", small_shot()), InputError);
}

TEST_CASE("A size is read as width x height", "[view]") {
    CHECK(parse_shot_size("1280x720") == std::pair{1280, 720});
    for (const char* wrong :
         {"", "1280", "1280x", "x720", "1280x720x3", "-1280x720", "1280 x 720", "99999x720", "12x8"})
        CHECK_THROWS_AS(parse_shot_size(wrong), InputError);
}

} // namespace test_view_scene
