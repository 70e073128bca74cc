// Paint under an inspection lamp: what lights up, what goes as film goes, and the lamp's place.
#include "finish/described.hpp"
#include "finish/finish.hpp"
#include "support/places.hpp"
#include "support/worlds.hpp"
#include "units/error.hpp"
#include "view/render/camera.hpp"
#include "view/render/gl.hpp"
#include "view/render/lamp.hpp"
#include "view/render/offscreen.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

namespace test_view_lamp {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

constexpr int side_px = 400;
constexpr double plate_m = 0.5;
constexpr glm::vec3 over_middle{0.25f, 0.25f, 0.5f};

MarkPopulation glaring(MarkKind kind) { return population_of({kind, Visible::glaring, false}); }

/// Lines that all lie one way.
MarkPopulation one_way(double direction_rad) {
    MarkPopulation swirls = glaring(MarkKind::swirls);
    swirls.direction_rad = direction_rad;
    return swirls;
}

/// What a cut leaves: so many lines of haze that they merge.
MarkPopulation coarse_haze() { return glaring(MarkKind::haze); }

/// Light that a pixel shows, the film's law backwards; the film burns out towards 1, where little is to be
/// read.
double light_of(const std::uint8_t* pixel) {
    const double shown = std::pow(std::min(0.995, pixel[1] / 255.0), 2.2);
    return shown / (1 - shown);
}

/// A square plate seen from straight above, with a lamp over it.
class DarkRoom {
public:
    DarkRoom(std::vector<MarkPopulation> defects, MarkPopulation own = {}, std::size_t most = most_marks)
        : marks_(std::make_shared<const LampMarks>(panel_, defects, own, 4, most)), own_(std::move(own)) {
        scene_.set_panel(panel_);
        camera_.frame(panel_, 1);
        camera_.look_from("front");
        lamp.place = over_middle;
    }
    ~DarkRoom() { CHECK(watch_.take().empty()); }

    Image picture(double removed_um = 0) {
        LampCells cells;
        const std::vector<float> removed(panel_.grid.cells(), static_cast<float>(removed_um));
        const std::vector<Tile> tiles = cells.update(panel_, marks_, removed, own_, lamp, {});
        scene_.update_lamp(marks_, cells.cells(), tiles);
        SceneState state;
        state.light_theme = false;
        state.lamp = lamp, state.lamp_own_scale = cells.own_scale();
        picture_.bind();
        glClear(GL_COLOR_BUFFER_BIT);
        scene_.draw(camera_, state, 0, 0, side_px, side_px);
        return picture_.read();
    }
    /// The pixel in which a point of the plate is seen.
    glm::ivec2 pixel(Point2 at) const {
        const glm::vec3 seen = camera_.project({static_cast<float>(at.x), static_cast<float>(at.y), 0}, 1);
        return {static_cast<int>(seen.x * side_px), static_cast<int>(seen.y * side_px)};
    }
    /// Mean light of a square of the plate round a point.
    double mean_light(const Image& image, Point2 at, double half_m) const {
        const glm::ivec2 a = pixel({at.x - half_m, at.y + half_m}), b = pixel({at.x + half_m, at.y - half_m});
        double sum = 0;
        for (int y = a.y; y <= b.y; ++y)
            for (int x = a.x; x <= b.x; ++x) sum += light_of(image.at(x, y));
        return sum / ((b.x - a.x + 1) * (b.y - a.y + 1));
    }
    const Panel& panel() const { return panel_; }
    glm::vec3 eye() const { return camera_.eye(); }

    LampState lamp;

private:
    const Panel panel_ = plate(plate_m, plate_m, 0.002);
    OffscreenContext context_{true};
    gl::Watch watch_;
    OffscreenPicture picture_{side_px, side_px, 1};
    Scene scene_;
    Camera camera_;
    std::shared_ptr<const LampMarks> marks_;
    MarkPopulation own_;
};

int pixels_that_differ(const Image& a, const Image& b, int x0 = 0, int x1 = side_px, int more_than = 3) {
    int count = 0;
    for (int y = 0; y < side_px; ++y)
        for (int x = x0; x < x1; ++x) {
            int most = 0;
            for (int part = 0; part < 3; ++part)
                most = std::max(most, std::abs(a.at(x, y)[part] - b.at(x, y)[part]));
            count += most > more_than;
        }
    return count;
}

} // namespace

// ---- the lamp's place ------------------------------------------------------------------------------

TEST_CASE("A lamp placed for its image to be seen somewhere has its image there, on a crown too",
          "[view][lamp]") {
    Features shape = rectangle(0.6, 0.4);
    shape.radius_u_m = 1.5, shape.radius_v_m = 1.2;
    const Panel panel = panel_of(std::move(shape), 0.002);
    for (const glm::vec3 eye : {glm::vec3(0.3f, 0.2f, 2.0f), glm::vec3(0.0f, -0.8f, 1.5f)})
        for (const Point2 at : {Point2{0.3, 0.2}, Point2{0.2, 0.25}}) {
            const glm::vec3 lamp = lamp_mirrored_at(panel, at, eye, 0.4);
            CHECK(lamp.z == Approx(height_at(panel, at) + 0.4).margin(1e-5));      // of floats
            CHECK(norm(lamp_image(panel, lamp, eye) - at) < 1.5 * panel.grid.h_m); // found to a cell
        }
}

TEST_CASE("The place that a lamp begins at is well inside of any panel", "[view][lamp]") {
    Features shape = rectangle(0.6, 0.4);
    shape.holes = {{{{0.2, 0.1}, 0.02, "hole"},
                    {{0.4, 0.1}, 0.02, "hole"},
                    {{0.4, 0.3}, 0.02, "hole"},
                    {{0.2, 0.3}, 0.02, "hole"}}};
    const Panel panel = panel_of(std::move(shape), 0.002);
    CHECK(signed_distance(panel.outline, open_place(panel)) > 0.06);
}

TEST_CASE("A lamp's place is read as three lengths, and refused where it cannot be", "[view][lamp]") {
    const glm::vec3 place = parse_lamp_place("400 mm, 0.3 m,50 cm");
    CHECK(place.x == Approx(0.4));
    CHECK(place.y == Approx(0.3));
    CHECK(place.z == Approx(0.5));
    for (const char* wrong :
         {"", "400 mm", "400 mm, 300 mm", "1,2,3", "400 mm, 300 mm, 500 mm, 1 mm", "0 mm, 0 mm, 10 mm",
          "0 mm, 0 mm, -1 m", "9 m, 0 mm, 500 mm", "0 mm, 0 mm, 5 kg", "0 mm, 0 mm, 500 mm,"}) {
        INFO(wrong);
        CHECK_THROWS_AS(parse_lamp_place(wrong), InputError);
    }
    for (const LampShow show : {LampShow::before, LampShow::after, LampShow::half})
        CHECK(lamp_show(name_of(show)) == show);
    CHECK_THROWS_AS(lamp_show("now"), std::invalid_argument);
}

// ---- cells -----------------------------------------------------------------------------------------

TEST_CASE("A lamp's cells tell what is worn, and the mirror's share as the finish has it", "[view][lamp]") {
    const Panel panel = plate(0.2, 0.2, 0.002);
    const std::vector defects{glaring(MarkKind::swirls), glaring(MarkKind::scratches)};
    const MarkPopulation own = coarse_haze();
    const auto marks = std::make_shared<const LampMarks>(panel, defects, own, 1);
    LampCells cells;
    std::vector<float> removed(panel.grid.cells(), 0.7f);
    LampState lamp;
    cells.update(panel, marks, removed, own, lamp, {});
    std::vector<Marks> there = after_step(marks_of(defects), own, 0.7);
    const LampCell cell = cells.cells()[cell_at(panel, {0.1, 0.1})];
    CHECK(cell.x == 0.7f);
    CHECK(cell.y == Approx(marks_made(own, 0.7)).epsilon(1e-5));
    CHECK(cell.z == Approx(mirror_share(there, 0)).epsilon(0.003)); // read from a table of 128 between

    SECTION("found as it was nothing is worn and no step has been") {
        lamp.show = LampShow::before;
        CHECK(cells.update(panel, marks, removed, own, lamp, {}).size() == all_tiles(panel.grid).size());
        const LampCell found = cells.cells()[cell_at(panel, {0.1, 0.1})];
        CHECK((found.x == 0 && found.y == 0));
        CHECK(found.z == Approx(mirror_share(marks_of(defects), 0)).epsilon(0.003));
    }
    SECTION("only tiles that changed are worked on") {
        std::ranges::fill(removed, 0.9f);
        CHECK(cells.update(panel, marks, removed, own, lamp, {{0, 0}}).size() == 1);
        CHECK(cells.cells()[panel.grid.index(3, 3)].x == 0.9f);
        CHECK(cells.cells()[panel.grid.index(80, 80)].x == 0.7f);
    }
}

// ---- light -----------------------------------------------------------------------------------------

TEST_CASE("Grooves light up where they lie round the lamp's image and not where they point at it",
          "[view][gl][lamp]") {
    // Lines along u: round the image above and below it, towards it at the left and right.
    DarkRoom room({one_way(0)}), bare({});
    const Image marked = room.picture(), plain = bare.picture();
    const auto gain = [&](double du, double dv) {
        const Point2 at{0.25 + du, 0.25 + dv};
        return room.mean_light(marked, at, 0.02) - room.mean_light(plain, at, 0.02);
    };
    const double round = gain(0, 0.1) + gain(0, -0.1), towards = gain(0.1, 0) + gain(-0.1, 0);
    CHECK(round > 0.1);
    // At 100 mm the half vector lies 0.13 off the normal, seven deviations of a groove's lobe: nothing by the
    // law. What is left are eight bits of a pixel.
    CHECK(std::abs(towards) < 0.02 * round);
}

TEST_CASE("Grooves every way make rings: as bright all round, fading outward", "[view][gl][lamp]") {
    DarkRoom room({glaring(MarkKind::swirls)}), bare({});
    const Image marked = room.picture(), plain = bare.picture();
    const auto ring = [&](double radius) {
        std::vector<double> light;
        for (int k = 0; k < 8; ++k) {
            const Point2 at{0.25 + radius * std::cos(k * pi / 4), 0.25 + radius * std::sin(k * pi / 4)};
            light.push_back(room.mean_light(marked, at, 0.02) - room.mean_light(plain, at, 0.02));
        }
        return light;
    };
    const std::vector<double> near = ring(0.06), far = ring(0.18);
    const auto [dim, bright] = std::ranges::minmax(near);
    CHECK(bright < 2 * dim); // some tens of lit lines a square of 40 mm
    CHECK(std::accumulate(far.begin(), far.end(), 0.0) <
          0.4 * std::accumulate(near.begin(), near.end(), 0.0));
    CHECK(*std::ranges::min_element(far) > 0);
}

TEST_CASE("Marks that are thinned out shine on as a veil", "[view][gl][lamp]") {
    // Both go by what falls on the grooves; a veil's share of that is had from the mirror's loss, 5 % more,
    // and a line's is lost where it is under the threshold, at its ends and where eight bits burn out. 13 %
    // seen.
    DarkRoom every({glaring(MarkKind::swirls)}), few({glaring(MarkKind::swirls)}, {}, 1500), bare({});
    const Image with_every = every.picture(), with_few = few.picture(), plain = bare.picture();
    double sum_every = 0, sum_few = 0;
    for (int k = 0; k < 12; ++k) {
        const Point2 at{0.25 + 0.12 * std::cos(k * pi / 6), 0.25 + 0.12 * std::sin(k * pi / 6)};
        sum_every += every.mean_light(with_every, at, 0.02) - every.mean_light(plain, at, 0.02);
        sum_few += every.mean_light(with_few, at, 0.02) - every.mean_light(plain, at, 0.02);
    }
    CHECK(sum_few == Approx(sum_every).epsilon(0.2));
    CHECK(pixels_that_differ(with_every, with_few) > 5000);
}

TEST_CASE("Marks fade as film goes and are gone in the end; stone chips stay", "[view][gl][lamp]") {
    MarkPopulation chips = glaring(MarkKind::chips);
    chips.per_m2 = 200;
    const std::vector all{chips, glaring(MarkKind::swirls), glaring(MarkKind::scratches),
                          glaring(MarkKind::water_spots), glaring(MarkKind::bird_lime)};
    DarkRoom room(all), chips_alone({chips}), bare({});
    const Image plain = bare.picture();
    const auto shown = [&](double removed_um) {
        const Image image = room.picture(removed_um);
        return room.mean_light(image, {0.25, 0.25}, 0.2) - room.mean_light(plain, {0.25, 0.25}, 0.2);
    };
    double last = shown(0);
    for (const double removed_um : {0.4, 0.8, 1.4, 2.2}) {
        const double now = shown(removed_um);
        CHECK(now < last);
        last = now;
    }
    const Image worn = room.picture(11), only_chips = chips_alone.picture(11);
    CHECK(pixels_that_differ(worn, only_chips) == 0);
    CHECK(pixels_that_differ(chips_alone.picture(0), only_chips) == 0);
    CHECK(pixels_that_differ(worn, plain) > 100); // 50 chips of a few pixels each
}

TEST_CASE("A step's own marks make the paint about the lamp's image milky, once it has worked there",
          "[view][gl][lamp]") {
    DarkRoom cut({}, coarse_haze()), bare({});
    CHECK(pixels_that_differ(cut.picture(0), bare.picture(0)) == 0);
    const Image milky = cut.picture(3), clear = bare.picture(3);
    for (const double away : {0.03, 0.08, 0.15})
        CHECK(cut.mean_light(milky, {0.25 + away, 0.25}, 0.01) >
              1.5 * cut.mean_light(clear, {0.25 + away, 0.25}, 0.01));
    CHECK(cut.mean_light(milky, {0.28, 0.25}, 0.01) > cut.mean_light(milky, {0.40, 0.25}, 0.01));
}

TEST_CASE("Half and half is before at the left, after at the right, and tape between", "[view][gl][lamp]") {
    DarkRoom room({glaring(MarkKind::swirls), glaring(MarkKind::water_spots), glaring(MarkKind::chips)},
                  coarse_haze());
    room.lamp.half_at_m = 0.25;
    room.lamp.show = LampShow::before;
    const Image before = room.picture(1);
    room.lamp.show = LampShow::after;
    const Image after = room.picture(1);
    room.lamp.show = LampShow::half;
    const Image half = room.picture(1);
    const int left = room.pixel({0.25 - half_tape_m / 2, 0.25}).x - 1,
              right = room.pixel({0.25 + half_tape_m / 2, 0.25}).x + 2;
    CHECK(pixels_that_differ(half, before, 0, left) == 0);
    CHECK(pixels_that_differ(half, after, right, side_px) == 0);
    CHECK(pixels_that_differ(before, after, 0, left) > 1000);
    CHECK(pixels_that_differ(before, after, right, side_px) > 1000);
    const std::uint8_t* tape = half.at(room.pixel({0.25, 0.35}).x, room.pixel({0.25, 0.35}).y);
    CHECK((tape[0] > 90 && tape[0] > tape[2] + 30)); // cream
}

TEST_CASE("The lamp's image moves with the lamp", "[view][gl][lamp]") {
    DarkRoom room({});
    for (const Point2 at : {Point2{0.25, 0.25}, Point2{0.15, 0.3}, Point2{0.36, 0.12}}) {
        room.lamp.place = lamp_mirrored_at(room.panel(), at, room.eye(), 0.5);
        const Image image = room.picture();
        double sum = 0, x_sum = 0, y_sum = 0;
        for (int y = 0; y < side_px; ++y)
            for (int x = 0; x < side_px; ++x)
                if (image.at(x, y)[0] > 240) sum += 1, x_sum += x, y_sum += y;
        const glm::ivec2 wanted = room.pixel(at);
        REQUIRE(sum > 20);
        CHECK(x_sum / sum == Approx(wanted.x).margin(1.5)); // pixels
        CHECK(y_sum / sum == Approx(wanted.y).margin(1.5));
    }
}

TEST_CASE("A lamp's picture is drawn in few calls, and standing still sends nothing", "[view][gl][lamp]") {
    const Panel panel = plate(0.3, 0.3, 0.002);
    const OffscreenContext context;
    const OffscreenPicture picture(200, 200);
    picture.bind();
    Scene scene;
    scene.set_panel(panel);
    const auto marks = std::make_shared<const LampMarks>(
        panel, std::vector{glaring(MarkKind::swirls), glaring(MarkKind::chips)}, MarkPopulation{}, 1);
    LampCells cells;
    std::vector<float> removed(panel.grid.cells(), 0.0f);
    SceneState state;
    state.lamp.emplace();
    Camera camera;
    camera.frame(panel, 1);
    const auto frame = [&](const std::vector<Tile>& tiles) {
        const std::vector<Tile> changed =
            cells.update(panel, marks, removed, MarkPopulation{}, *state.lamp, tiles);
        scene.update_lamp(marks, cells.cells(), changed);
        return scene.draw(camera, state, 0, 0, 200, 200);
    };
    CHECK(frame({}).bytes_uploaded > marks->scattered().marks.size());
    const FrameCount still = frame({}), worked = frame({{0, 0}});
    CHECK(still.bytes_uploaded == 0);
    CHECK(still.draws <= 9); // backdrop, hem, panel, outline; paint, spots, lines, film
    CHECK(worked.bytes_uploaded > 0);
    CHECK(worked.bytes_uploaded <= 70 * 70 * sizeof(LampCell)); // a tile and its rim
    CHECK_THROWS_AS(scene.update_lamp(marks, std::vector<LampCell>(3), all_tiles(panel.grid)),
                    std::invalid_argument);
}

// ---- shots -----------------------------------------------------------------------------------------

TEST_CASE("A shot under the lamp is refused without defects that there are", "[view][lamp]") {
    ShotRequest request;
    request.library = Library(source_at("presets"));
    request.run.panel = "test-plate", request.run.technique = "finishing-pass", request.run.grid_m = 0.004;
    request.lamp.emplace();
    request.lamp->defects = "rust";
    CHECK_THROWS_AS(write_shot("never-written.png", request), UnknownPreset);
    CHECK_FALSE(std::filesystem::exists("never-written.png"));
}

} // namespace test_view_lamp
