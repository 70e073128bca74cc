#include "view/render/shot.hpp"
#include "finish/clearing.hpp"
#include "picture/canvas.hpp"
#include "picture/chart/colour_bar.hpp"
#include "picture/map_drawing.hpp"
#include "picture/risk_folder.hpp"
#include "study/risk.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/render/camera.hpp"
#include "view/render/gl.hpp"
#include "view/render/map_labels.hpp"
#include "view/render/offscreen.hpp"
#include "view/render/scene.hpp"
#include "view/render/shot_checks.hpp"
#include "view/run/window_draws.hpp"
#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <system_error>

namespace sparecoat::view {
namespace {

// The page, in units of which there are 720 to the height of a wide picture.
constexpr double page_height = 720, least_page_width = 1080;
constexpr double head_height = 84, narrow_head_height = 104, key_width = 262, side_margin = 28, gutter = 14;

/// One scene with all that is drawn of it, and where.
struct Taking {
    const ShotScene* scene = nullptr;
    MapKind map{};
    std::vector<float> values;
    double factor = 1; ///< from the map's unit to the one shown
    std::string unit;
    Scale scale;
    std::optional<Verdict> verdict; ///< none while no film is gone
    std::vector<Spot> spots;        ///< numbered on the panel, with what the key says of them
    SceneFrame frame;

    const RunJob& job() const { return *scene->job; }
    const LiveView& view() const { return scene->view; }
};

struct Inks {
    Rgb strong, quiet, line;
};

Inks inks(bool light) {
    return light ? Inks{ink, quiet_ink, {0.62, 0.64, 0.67}}
                 : Inks{{0.93, 0.94, 0.95}, {0.66, 0.68, 0.72}, {0.42, 0.44, 0.48}};
}

Rgb rgb(glm::vec3 colour) {
    return {static_cast<double>(colour.r), static_cast<double>(colour.g), static_cast<double>(colour.b)};
}

// ---- what is shown

Taking take(const ShotScene& scene, const ShotPage& page) {
    Taking taking;
    taking.scene = &scene;
    taking.map = page.map;
    map_values(page.map, *scene.job, scene.view, taking.values);
    const MapInfo& info = map_info(page.map);
    taking.factor = info.film ? per_um(page.unit) : 1;
    taking.unit = info.film ? text_of(page.unit) : info.unit;
    taking.verdict = judge_if_worked(scene.job->panel, scene.view.fields, scene.job->step.pad.radius_m);
    if (page.map == MapKind::chance) {
        taking.spots = scene.at_risk;
    } else if (taking.verdict) {
        for (const SpotAtRisk& spot : taking.verdict->worst)
            taking.spots.push_back(
                {spot.at, spot.clear_left_um > 0
                              ? fmt::format("{} lost, {} left, {}", film_text(spot.removed_um, page.unit),
                                            film_text(spot.clear_left_um, page.unit), spot.place)
                              : fmt::format("through the clear coat, {}", spot.place)});
        taking.spots.resize(
            std::min(taking.spots.size(), static_cast<std::size_t>(std::max(0, scene.spots))));
    }
    return taking;
}

/// One range for all scenes of a page. @param values of all of them.
Scale scale_of(const ShotPage& page, std::span<const float> values, double factor) {
    float most = -INFINITY;
    switch (page.map) {
    case MapKind::temperature:
    case MapKind::peak_temperature: { // of the hottest so far, so that the two compare
        double air_c = INFINITY;
        for (const ShotScene& scene : page.scenes) {
            most = std::max(most, *std::max_element(scene.view.peak_c.begin(), scene.view.peak_c.end()));
            air_c = std::min(air_c, scene.job->request.air_c);
        }
        return temperature_scale(air_c, static_cast<double>(most));
    }
    case MapKind::chance:
        for (const float value : values) most = value > most ? value : most; // NaN drops out
        return chance_scale(static_cast<double>(std::max(0.0f, most)));
    default: return map_scale(values, factor);
    }
}

std::vector<Taking> take_all(const ShotPage& page) {
    std::vector<Taking> takings;
    std::vector<float> all;
    for (const ShotScene& scene : page.scenes) {
        takings.push_back(take(scene, page));
        all.insert(all.end(), takings.back().values.begin(), takings.back().values.end());
    }
    for (Taking& taking : takings) taking.scale = scale_of(page, all, taking.factor);
    return takings;
}

// ---- the scene

SceneState state_of(const Taking& taking, const ShotPage& page, float pixel_scale) {
    SceneState state;
    state.light_theme = page.light_theme;
    state.colours = &colours_of(taking.map);
    state.low = static_cast<float>(taking.scale.low / taking.factor);
    state.high = static_cast<float>(taking.scale.high / taking.factor);
    state.contour_step = static_cast<float>(taking.scale.step / taking.factor);
    state.pixel_scale = pixel_scale;
    if (taking.scene->lit) {
        show_work(state, taking.job(), taking.view(), {}, std::nullopt);
        if (taking.scene->pad) state.pad = taking.view().now;
        return state;
    }
    if (taking.map == MapKind::chance)
        state.contour_levels = {chance_levels[0], chance_levels[1], chance_levels[2]};
    show_work(state, taking.job(), taking.view(), taking.job().path.samples, std::nullopt);
    for (const Spot& spot : taking.spots) state.pins.push_back(spot.at);
    if (taking.scene->pad) state.pad = taking.view().now;
    if (taking.map == MapKind::pressure_now || taking.map == MapKind::speed_now) state.pad_opacity = 0.25f;
    state.path_opacity = state.pad ? 0.75f : 0.35f;
    return state;
}

constexpr int lamp_fineness = 2;

/// Lights the lamp of a scene and hands its marks and cells over.
void light(Scene& scene, SceneState& state, const Taking& taking, const ShotPage& page,
           const Camera& camera) {
    const LitScene& lit = *taking.scene->lit;
    const Panel& panel = taking.job().panel;
    const Point2 middle = page.look_at.value_or(open_place(panel));
    LampState lamp;
    lamp.show = lit.show;
    lamp.half_at_m = middle.x;
    lamp.place = lit.place ? *lit.place : lamp_mirrored_at(panel, middle, camera.eye(), usual_lamp_height_m);
    LampCells cells;
    const std::vector<Tile> tiles =
        cells.update(panel, lit.marks, taking.view().fields.removed_um, lit.own, lamp, {});
    scene.update_lamp(lit.marks, cells.cells(), tiles);
    state.lamp = lamp, state.lamp_own_scale = cells.own_scale(), state.lamp_fineness = lamp_fineness;
}

Camera camera_for(const Taking& taking, const ShotPage& page, const SceneState& state) {
    Camera camera;
    camera.frame(taking.job().panel, taking.frame.aspect());
    if (!camera.look_from(page.camera)) refuse_camera(page.camera);
    if (page.nearer > 1) {
        std::optional<Point2> at = page.look_at;
        if (!at && taking.scene->lit) at = open_place(taking.job().panel);
        if (!at && state.pad) at = state.pad->at;
        if (!at && !state.pins.empty()) at = state.pins.front();
        if (at) camera.aim(glm::vec3(at->x, at->y, height_at(taking.job().panel, *at)));
        camera.zoom(1 / page.nearer);
    }
    return camera;
}

void paint_image(const Canvas& canvas, const Image& image) {
    cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, image.width, image.height);
    const int stride = cairo_image_surface_get_stride(surface);
    for (int y = 0; y < image.height; ++y) {
        auto* row = reinterpret_cast<std::uint32_t*>(cairo_image_surface_get_data(surface) + y * stride);
        for (int x = 0; x < image.width; ++x) {
            const std::uint8_t* from = image.at(x, y);
            row[x] = static_cast<std::uint32_t>(from[0] << 16 | from[1] << 8 | from[2]);
        }
    }
    cairo_surface_mark_dirty(surface);
    cairo_t* cairo = canvas.cairo();
    cairo_save(cairo);
    cairo_identity_matrix(cairo);
    cairo_set_source_surface(cairo, surface, 0, 0);
    cairo_paint(cairo);
    cairo_restore(cairo);
    cairo_surface_destroy(surface);
}

// ---- what is written over it

std::string clock_text(double t_s) {
    const long tenths = std::lround(t_s * 10);
    return fmt::format("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10);
}

/// What is worked and how far it is, over the scene. A narrow one has smaller type and more lines.
void draw_head(const Canvas& canvas, const Taking& taking, const Inks& inks, FilmUnit unit, bool narrow) {
    const RunJob& job = taking.job();
    const LiveView& view = taking.view();
    const Technique& t = job.step.technique;
    std::string when =
        view.finished
            ? fmt::format("{}; {} at the panel.", job.paint.name, clock_text(view.end_s))
            : fmt::format("{}; {} of {}.", job.paint.name, clock_text(view.t_s), clock_text(view.end_s));
    if (view.finished && taking.verdict)
        when += fmt::format(" Open panel {} lost.", film_text(taking.verdict->open.median_um, unit));
    if (taking.map == MapKind::chance)
        when += fmt::format(" Chance that less than {} of clear coat stays.",
                            film_text(taking.scene->reserve_um, unit));
    const double x = taking.frame.x + (narrow && taking.frame.x > 0 ? 0 : side_margin);
    const double width = taking.frame.x + taking.frame.width - x;
    TextStyle title{narrow ? 17.0 : 22.0, true, inks.strong};
    const TextStyle small{narrow ? 12.5 : 14.0, false, inks.quiet};
    if (const double needed = text_width(taking.scene->title, title); needed > width)
        title.size *= width / needed;
    double y = narrow ? 32 : 38;
    canvas.text(x, y, taking.scene->title, title);
    y += 22;
    for (const std::string& line :
         {fmt::format("{}, {}, {}; {:.0f} N, {:.0f}/min, {:.0f} mm/s", job.step.machine.name,
                      job.step.pad.name, job.step.liquid.name, t.force_n, t.speed_rad_s / per_min,
                      t.arm_speed_m_s * 1e3),
          when + " Estimate: the film gauge decides."})
        for (const std::string& part : wrap_text(line, small, width)) {
            canvas.text(x, y, part, small);
            y += narrow ? 16 : 20;
        }
}

/// The colour bar, high end up, with the contour lines' marks. @return its foot.
double draw_bar(const Canvas& canvas, const Taking& taking, const Inks& inks, double x, double y,
                double height) {
    const Scale& scale = taking.scale;
    const bool chance = taking.map == MapKind::chance; // its whole name is too long for the margin
    ColourBar bar{colours_of(taking.map), scale, chance ? "Burning through" : map_info(taking.map).name,
                  chance ? "%" : taking.unit};
    for (const double tick : scale.ticks)
        if (std::abs(tick) > 0.5 * scale.step && tick > scale.low && tick < scale.high)
            bar.lines.push_back(tick);
    ColourBarLook look;
    look.title = {{x, y}, {{15, true, inks.strong}}};
    look.blended = true;
    look.frame = Stroke{{inks.line}, 1};
    look.lines = {{{}, 0.72}, 1.3}, look.inset = 1;
    look.mark = Stroke{{inks.quiet}, 1}, look.mark_length = 5;
    look.numbers = {{14, false, inks.strong}}, look.beside = 10, look.lower = 5, look.number_height = 15;
    const double top = y + 20, width = 24;
    paint(CanvasPainter(canvas), bar, {x, top, width, height}, look);
    return top + height;
}

constexpr double badge_size = 9.5;

void draw_number_badge(const Canvas& canvas, double x, double y, int number) {
    cairo_t* cairo = canvas.cairo();
    cairo_new_path(cairo);
    cairo_arc(cairo, x, y, badge_size, 0, 2 * pi);
    canvas.set_colour(paper);
    cairo_fill_preserve(cairo);
    canvas.set_colour(ink);
    cairo_set_line_width(cairo, 1.6);
    cairo_stroke(cairo);
    canvas.text(x, y + 4.6, std::to_string(number), {12.5, true, ink}, Align::centre);
}

/// The numbered spots in words, one after the other. @return where the next block may begin.
double draw_key(const Canvas& canvas, const Taking& taking, const Inks& inks, const std::string& heading,
                double x, double y, double width, double foot) {
    const TextStyle style{13, false, inks.strong};
    const bool none_at_risk = taking.map == MapKind::chance && taking.spots.empty();
    if (taking.spots.empty() && !none_at_risk) return y;
    canvas.text(x, y, heading, {15, true, inks.strong});
    y += 26;
    if (none_at_risk) {
        canvas.text(x, y, "none from a chance of 1 % on", style);
        return y + 44;
    }
    int number = 1;
    for (const Spot& spot : taking.spots) {
        const std::vector<std::string> lines = wrap_text(spot.label, style, width - 28);
        if (y + 17 * static_cast<double>(lines.size()) > foot) return y;
        draw_number_badge(canvas, x + badge_size, y - 4.5, number++);
        for (const std::string& line : lines) {
            canvas.text(x + 28, y, line, style);
            y += 17;
        }
        y += 9;
    }
    return y + 18;
}

/// What masking tape looks like on the panel. @return the space it takes.
double draw_tape_mark(const Canvas& canvas, const Inks& inks, double x, double y) {
    cairo_t* cairo = canvas.cairo();
    constexpr double width = 24, height = 14;
    cairo_save(cairo);
    cairo_rectangle(cairo, x, y, width, height);
    cairo_clip(cairo);
    canvas.set_colour({0.93, 0.88, 0.70});
    cairo_paint(cairo);
    canvas.set_colour({0.70, 0.60, 0.36});
    cairo_set_line_width(cairo, 2);
    for (double from = x - height; from < x + width; from += 6.5) {
        cairo_move_to(cairo, from, y);
        cairo_line_to(cairo, from + height, y + height);
    }
    cairo_stroke(cairo);
    cairo_restore(cairo);
    canvas.text(x + width + 10, y + 12, "masking tape", {14, false, inks.strong});
    return height + 14;
}

/// What the lamp shows, in words: the marks found, how much of them is cleared, what is left for touch-up.
/// @return where the next block may begin.
double draw_lamp_key(const Canvas& canvas, const Taking& taking, const Inks& inks, double x, double y,
                     double width) {
    const LitScene& lit = *taking.scene->lit;
    const TextStyle strong{13, false, inks.strong}, quiet{13, false, inks.quiet};
    const auto line = [&](const std::string& words, const TextStyle& style) {
        for (const std::string& part : wrap_text(words, style, width))
            canvas.text(x, y, part, style), y += 17;
    };
    canvas.text(x, y, "Under the lamp", {15, true, inks.strong});
    y += 24;
    switch (lit.show) {
    case LampShow::before: line("The panel as it was found.", strong); break;
    case LampShow::after: line("The panel as it is now.", strong); break;
    case LampShow::half: line("Left of the tape as it was found, right of it as it is now.", strong); break;
    }
    y += 8;
    line(lit.defects.name, quiet);
    y += 10;
    const Clearing cleared = clearing(taking.job().panel, lit.defects.marks, taking.view().fields.removed_um);
    if (lit.show != LampShow::before) {
        if (cleared.before_m2 > 0)
            line(fmt::format("Marks cleared: {:.0f} %", std::floor(100 * cleared.share())), strong);
        for (const PopulationCleared& p : cleared.populations)
            line(fmt::format("{}: {:.0f} %", name_of(p.kind), std::floor(100 * p.share())), quiet);
    }
    if (cleared.chips >= 0.5)
        line(fmt::format("{} for touch-up: about {:.0f}", name_of(MarkKind::chips), cleared.chips), quiet);
    return y + 24;
}

/// Pin numbers stand beside the pins' heads.
struct PinPlace {
    double x = 0, y = 0;
    bool seen = false;
};

std::vector<PinPlace> pin_places(const Taking& taking, const SceneState& state, const Camera& camera) {
    const SceneFrame& frame = taking.frame;
    std::vector<PinPlace> places;
    for (const Point2 pin : state.pins) {
        const double height = height_at(taking.job().panel, pin) + pin_height_m;
        const glm::vec3 seen = camera.project(glm::vec3(pin.x, pin.y, height), frame.aspect());
        places.push_back({frame.x + static_cast<double>(seen.x) * frame.width,
                          frame.y + static_cast<double>(seen.y) * frame.height - badge_size - 3,
                          faces(taking.job().panel, pin, camera.eye()) && seen.z > 0 && seen.x > 0.02f &&
                              seen.x < 0.98f && seen.y > 0.04f && seen.y < 0.98f});
    }
    return places;
}

std::vector<Taken> taken_by(const std::vector<PinPlace>& pins, const Taking& taking, const SceneState& state,
                            const Camera& camera) {
    const SceneFrame& frame = taking.frame;
    std::vector<Taken> taken;
    for (const PinPlace& pin : pins) {
        taken.push_back({pin.x, pin.y, badge_size + 3});
        taken.push_back({pin.x, pin.y + 2 * badge_size, badge_size});
    }
    if (!state.pad || state.pad_opacity < 0.5f) return taken;
    // The pad's disc as circles strung over what its projection covers.
    const double z = height_at(taking.job().panel, state.pad->at);
    for (int n = 0; n < 24; ++n)
        for (const double share : {0.0, 0.45, 0.9}) {
            const double angle = 2 * pi * n / 24, r = share * state.pad_radius_m;
            for (const double lift : {0.0, 0.03}) {
                const glm::vec3 seen =
                    camera.project(glm::vec3(state.pad->at.x + r * std::cos(angle),
                                             state.pad->at.y + r * std::sin(angle), z + lift),
                                   frame.aspect());
                taken.push_back({frame.x + static_cast<double>(seen.x) * frame.width,
                                 frame.y + static_cast<double>(seen.y) * frame.height, 10});
            }
        }
    return taken;
}

void draw_contour_numbers(const Canvas& canvas, const Taking& taking,
                          const std::vector<ContourNumber>& numbers, TextStyle style) {
    const ColourMap& colours = colours_of(taking.map);
    for (const ContourNumber& number : numbers) {
        const double share = taking.scale.share(number.level);
        style.colour = ink_over(colours, share);
        canvas.text_on_line(number.x, number.y, number.angle, number.text, style, colours.at(share));
    }
}

void write_whole(const Canvas& canvas, const std::filesystem::path& png) {
    std::filesystem::path part = png;
    part += ".part";
    std::error_code ignored;
    try {
        canvas.write_png(part);
        std::filesystem::rename(part, png);
    } catch (const std::filesystem::filesystem_error& error) {
        std::filesystem::remove(part, ignored);
        throw InputError(png.string(), "", error.code().message(), "a picture file that can be written");
    } catch (const InputError& error) {
        std::filesystem::remove(part, ignored);
        throw InputError(png.string(), "", error.found(), error.allowed());
    }
}

// ---- the page

constexpr double caption_size = 18, caption_line = 26, caption_head = 20;

/// A page's caption broken into lines, and the height of all that is under the scenes.
struct Foot {
    std::vector<std::string> lines;
    double height = 0;
};

Foot foot_of(const ShotPage& page, double page_width) {
    if (page.caption.empty()) return {};
    Foot foot{wrap_text(page.caption, {caption_size, false, ink}, page_width - 2 * side_margin), 0};
    foot.height = caption_head + 24 + caption_line * static_cast<double>(foot.lines.size()) + 14;
    return foot;
}

void draw_foot(const Canvas& canvas, const ShotPage& page, const Foot& foot, const Inks& inks, double top) {
    if (foot.lines.empty()) return;
    cairo_t* cairo = canvas.cairo();
    canvas.set_colour(inks.line);
    cairo_set_line_width(cairo, 1);
    cairo_move_to(cairo, side_margin, top + 4);
    cairo_line_to(cairo, canvas.width() - side_margin, top + 4);
    cairo_stroke(cairo);
    double y = top + caption_head + 8;
    canvas.text(side_margin, y, page.heading, {14, true, inks.quiet});
    y += 8;
    for (const std::string& line : foot.lines)
        canvas.text(side_margin, y += caption_line, line, {caption_size, false, inks.strong});
}

/// What is drawn over a scene: contour and pin numbers.
void draw_marks(const Canvas& canvas, const Taking& taking, const SceneState& state, const Camera& camera) {
    const std::vector<PinPlace> pins = pin_places(taking, state, camera);
    const TextStyle number_style{12.5, true, ink};
    draw_contour_numbers(canvas, taking,
                         place_contour_numbers(taking.job().panel, taking.values,
                                               {taking.factor, taking.scale, camera, taking.frame,
                                                number_style, taken_by(pins, taking, state, camera)}),
                         number_style);
    for (std::size_t n = 0; n < pins.size(); ++n)
        if (pins[n].seen) draw_number_badge(canvas, pins[n].x, pins[n].y, static_cast<int>(n) + 1);
}

} // namespace

LiveView view_at(LiveRun& live, double at_s) {
    live.seek(at_s);
    live.wait_idle();
    LiveView view;
    live.update(view);
    return view;
}

void write_page(const std::filesystem::path& png, const ShotPage& page) {
    check_size(page.width_px, page.height_px);
    if (!Camera().look_from(page.camera)) refuse_camera(page.camera);
    std::vector<Taking> takings = take_all(page);
    const bool several = takings.size() > 1;

    const double pixels_per_unit = std::min(page.height_px / page_height, page.width_px / least_page_width);
    const double page_width = page.width_px / pixels_per_unit, page_tall = page.height_px / pixels_per_unit;
    const Foot foot = foot_of(page, page_width);
    const double gaps = gutter * static_cast<double>(takings.size() - 1);
    const double scene_width = (page_width - key_width - gaps) / static_cast<double>(takings.size());
    const double head = several ? narrow_head_height : head_height, scenes_foot = page_tall - foot.height;
    const auto pixels = [&](double units) { return static_cast<int>(std::lround(units * pixels_per_unit)); };

    const OffscreenContext context;
    const OffscreenPicture picture(page.width_px, page.height_px);
    picture.bind();
    const glm::vec3 behind = background(page.light_theme);
    glClearColor(behind.r, behind.g, behind.b, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    std::vector<SceneState> states;
    std::vector<Camera> cameras;
    for (std::size_t k = 0; k < takings.size(); ++k) {
        Taking& taking = takings[k];
        taking.frame = {static_cast<double>(k) * (scene_width + gutter), head, scene_width,
                        scenes_foot - head};
        states.push_back(state_of(taking, page, static_cast<float>(pixels_per_unit)));
        cameras.push_back(camera_for(taking, page, states.back()));
        Scene scene;
        scene.set_panel(taking.job().panel);
        scene.update_map(taking.values, all_tiles(taking.job().panel.grid));
        if (taking.scene->lit) light(scene, states.back(), taking, page, cameras.back());
        scene.draw(cameras.back(), states.back(), pixels(taking.frame.x), pixels(foot.height),
                   pixels(taking.frame.width), pixels(taking.frame.height));
    }

    const Inks colours = inks(page.light_theme);
    const Canvas canvas(page_width, page_tall, pixels_per_unit, rgb(behind));
    paint_image(canvas, picture.read());
    const double key_x = page_width - key_width + 10;
    const bool any_map =
        std::ranges::any_of(takings, [](const Taking& taking) { return !taking.scene->lit; });
    double key_y = head_height + 24;
    if (any_map)
        key_y =
            draw_bar(canvas, takings.front(), colours, key_x, key_y, std::min(0.36 * scenes_foot, 320.0)) +
            48;
    if (std::any_of(takings.begin(), takings.end(), [](const Taking& taking) {
            return taking.job().taped != nullptr ||
                   (taking.scene->lit && taking.scene->lit->show == LampShow::half);
        }))
        key_y += draw_tape_mark(canvas, colours, key_x, key_y - (any_map ? 28 : 12)) + (any_map ? 0 : 16);
    for (std::size_t k = 0; k < takings.size(); ++k) {
        draw_head(canvas, takings[k], colours, page.unit, several);
        if (takings[k].scene->lit) {
            key_y = draw_lamp_key(canvas, takings[k], colours, key_x, key_y, key_width - 30);
            continue;
        }
        draw_marks(canvas, takings[k], states[k], cameras[k]);
        const char* spots = page.map == MapKind::chance ? "spots at risk"
                            : several                   ? "most of it gone"
                                                        : "most of the clear coat gone";
        std::string heading = several ? fmt::format("{}, {}", k == 0 ? "Left" : "Right", spots) : spots;
        heading[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(heading[0])));
        key_y =
            draw_key(canvas, takings[k], colours, heading, key_x, key_y, key_width - 30, scenes_foot - 16);
    }
    draw_foot(canvas, page, foot, colours, scenes_foot);
    write_whole(canvas, png);
}

} // namespace sparecoat::view
