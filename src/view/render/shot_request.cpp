// One picture as it is asked for on a command line.
#include "finish/clearing.hpp"
#include "picture/canvas.hpp"
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
#include "view/render/shot.hpp"
#include "view/render/shot_checks.hpp"
#include "view/run/window_draws.hpp"
#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <system_error>

namespace sparecoat::view {

[[noreturn]] void refuse_camera(const std::string& camera) {
    throw InputError("", "--camera", "\"" + camera + "\"", "front, left, right, top, bottom, corner");
}

void check_size(int width, int height) {
    if (width < smallest_shot_width || height < smallest_shot_height || width > largest_shot_side ||
        height > largest_shot_side)
        throw InputError("", "--size", fmt::format("{}x{}", width, height),
                         fmt::format("{}x{} to {}x{} pixels", smallest_shot_width, smallest_shot_height,
                                     largest_shot_side, largest_shot_side));
}

namespace {

/// The chances of the technique, from as many draws as the window makes.
void add_chances(ShotScene& scene, const ShotRequest& request) {
    ChanceTerms terms;
    terms.pairs = window_pairs;
    terms.seed = request.run.seed;
    const RiskMap map =
        risk_map(request.library, steady(prepare(request.library, request.run)), terms, window_threshold, 0);
    scene.view.chance_percent = map.chance;
    for (float& value : scene.view.chance_percent) value *= 100; // NaN stays
    scene.reserve_um = terms.reserve_um;
    constexpr std::size_t most = 9;
    for (const RegionAtRisk& region : map.regions)
        if (scene.at_risk.size() < most)
            scene.at_risk.push_back(
                {region.spot.at,
                 fmt::format("{}, {} left, {}", chance_text(region.chance, region.standard_error),
                             film_text(std::max(0.0, region.spot.clear_left_um), request.unit),
                             region.spot.place)});
}

LitScene lit_scene(const RunJob& job, const LiveView& view, const Defects& defects, const ShotLamp& asked) {
    const double softness = job.paint.softness, work_j = work_since_fresh_j(job.path, view.trace);
    const auto own = [&](double done_j) {
        return step_marks(job.step.liquid, job.step.pad, done_j, softness);
    };
    return {defects, std::make_shared<const LampMarks>(job.panel, defects.marks, own(0), job.request.seed),
            own(work_j), asked.place, asked.show};
}

} // namespace

void write_shot(const std::filesystem::path& png, const ShotRequest& request) {
    check_size(request.width_px, request.height_px); // before the work, not after it
    if (!Camera().look_from(request.camera)) refuse_camera(request.camera);
    ShotPage page;
    if (!request.lamp) page.map = map_kind(request.map);
    const bool chances = page.map == MapKind::chance;
    if (chances && request.at_s)
        throw InputError("", "--at", fmt::format("{:g} s with --map chance", *request.at_s),
                         "no --at: the chance is that of the whole technique");
    page.camera = request.camera, page.nearer = request.nearer;
    page.width_px = request.width_px, page.height_px = request.height_px;
    page.light_theme = request.light_theme, page.unit = request.unit;

    ShotScene scene;
    std::optional<Defects> defects;
    if (request.lamp) defects = request.library.defects(request.lamp->defects);
    scene.job = std::make_shared<const RunJob>(prepare(request.library, request.run));
    const double end_s = scene.job->path.samples.back().t_s;
    if (request.at_s && !(*request.at_s >= 0 && *request.at_s <= end_s))
        throw InputError("", "--at", fmt::format("{:g} s", *request.at_s),
                         fmt::format("0 to {:.1f} s, the length of the run", end_s));
    LiveRun live(scene.job);
    scene.view = view_at(live, request.at_s.value_or(end_s));
    if (chances) add_chances(scene, request);
    if (defects) scene.lit = lit_scene(*scene.job, scene.view, *defects, *request.lamp);
    scene.pad = request.at_s.has_value();
    scene.title = scene.job->panel.name + ": " + scene.job->step.technique.name;
    page.scenes.push_back(std::move(scene));
    write_page(png, page);
}

glm::vec3 parse_lamp_place(std::string_view text) {
    constexpr const char* allowed =
        "u, v and height over the panel, such as \"400 mm, 300 mm, 500 mm\": up to 4 m aside, "
        "50 mm to 3 m high";
    const auto refuse = [&](const std::string& found) { return InputError("", "--lamp", found, allowed); };
    std::vector<double> numbers;
    std::string_view rest = text;
    for (bool more = true; more;) {
        const std::size_t comma = rest.find(',');
        more = comma != std::string_view::npos;
        try {
            numbers.push_back(parse_quantity(rest.substr(0, comma), Dim::length));
        } catch (const std::invalid_argument& error) {
            throw refuse(error.what());
        }
        if (more) rest.remove_prefix(comma + 1);
    }
    constexpr double aside_m = 4, low_m = 0.05, high_m = 3;
    if (numbers.size() != 3 || std::abs(numbers[0]) > aside_m || std::abs(numbers[1]) > aside_m ||
        numbers[2] < low_m || numbers[2] > high_m)
        throw refuse(fmt::format("\"{}\"", text));
    return {numbers[0], numbers[1], numbers[2]};
}

std::pair<int, int> parse_shot_size(std::string_view text) {
    const auto refuse = [&] {
        return InputError("", "--size", fmt::format("\"{}\"", text),
                          "width x height in pixels, such as 1280x720");
    };
    int width = 0, height = 0;
    const char* end = text.data() + text.size();
    const auto [after_width, bad_width] = std::from_chars(text.data(), end, width);
    if (bad_width != std::errc() || after_width == end || *after_width != 'x') throw refuse();
    const auto [after_height, bad_height] = std::from_chars(after_width + 1, end, height);
    if (bad_height != std::errc() || after_height != end) throw refuse();
    check_size(width, height);
    return {width, height};
}

} // namespace sparecoat::view
