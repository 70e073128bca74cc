#pragma once
#include "picture/colour_map.hpp"
#include "picture/heatmap.hpp"
#include "picture/scale.hpp"
#include "run/run_job.hpp"
#include "view/render/lamp.hpp"
#include "view/render/shot.hpp"
#include "view/run/live_run.hpp"
#include <array>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace sparecoat::view {

/// The paint under an inspection lamp instead of a map.
struct ShotLamp {
    std::string defects;            ///< preset or file: what the panel was found with
    std::optional<glm::vec3> place; ///< see LampState; none: where its image is in the middle of the view
    LampShow show = LampShow::after;
};

/// A picture of a run as the window would show it.
struct ShotRequest {
    Library library = Library::standard();
    RunRequest run;
    std::string map = "film_lost"; ///< MapInfo::id
    std::string camera = "corner"; ///< see Camera::look_from
    int width_px = 1280, height_px = 720;
    std::optional<double> at_s; ///< none: the end of the run, the pad gone
    bool light_theme = true;
    FilmUnit unit = FilmUnit::um;
    float nearer = 1;             ///< > 1 comes nearer to the pad, or to the worst spot where there is none
    std::optional<ShotLamp> lamp; ///< then `map` is not looked at
};

/// What a lamp shows of a scene.
struct LitScene {
    Defects defects;
    std::shared_ptr<const LampMarks> marks;
    MarkPopulation own;             ///< that the step leaves
    std::optional<glm::vec3> place; ///< see ShotLamp
    LampShow show = LampShow::after;
};

/// One panel at one moment of its run, as a page shows it.
struct ShotScene {
    std::shared_ptr<const RunJob> job;
    LiveView view;
    bool pad = false;  ///< shown where it is now; else gone
    std::string title; ///< over it
    std::vector<Spot>
        at_risk;           ///< with view.chance_percent, where the page's map is of chances: pinned instead
    double reserve_um = 0; ///< that the chances are of
    std::optional<LitScene> lit; ///< under a lamp instead of the page's map
    int spots = 5;               ///< of the worst, at the most, that are pinned and numbered
};

/// A page with one panel, or two beside each other that wear one map with one legend.
struct ShotPage {
    std::vector<ShotScene> scenes;
    MapKind map = MapKind::film_lost;
    std::string camera = "corner"; ///< see Camera::look_from
    float nearer = 1;              ///< > 1 comes nearer to what it looks at
    std::optional<Point2> look_at; ///< none: the pad, or the worst spot where there is none
    int width_px = 1280, height_px = 720;
    bool light_theme = true;
    FilmUnit unit = FilmUnit::um;
    std::string heading, caption; ///< written under it where there is a caption
};

/// Draws a page. The file appears complete or not at all.
/// @throws InputError: "--camera", "--size", a file that cannot be written; std::runtime_error as write_shot.
void write_page(const std::filesystem::path& png, const ShotPage& page);

/// The run at a moment, simulated up to it from where the last call left off, or from the nearest snapshot.
LiveView view_at(LiveRun& live, double at_s);

inline constexpr int smallest_shot_width = 640, smallest_shot_height = 400, largest_shot_side = 8192;

/// Runs the technique up to that time and draws panel, map, path, pad and worst spots without a window, with
/// title, legend, contour numbers and the spots' key. The file appears complete or not at all.
/// @throws InputError: presets (see prepare), "--map", "--camera", "--size", "--at", a lamp's defects, a file
/// that cannot be written. @throws std::runtime_error where nothing on the system can draw with OpenGL 3.3.
void write_shot(const std::filesystem::path& png, const ShotRequest& request);

/// "400 mm, 300 mm, 500 mm": u, v and height of a lamp over the panel. @throws InputError ("--lamp").
glm::vec3 parse_lamp_place(std::string_view text);

/// "1280x720". @throws InputError ("--size").
std::pair<int, int> parse_shot_size(std::string_view text);

/// The map of that MapInfo::id. @throws InputError ("--map") that lists them.
MapKind map_kind(std::string_view id);

/// The colours of a map: worse is darker for those that tell of film, busier is darker for the others.
const ColourMap& colours_of(MapKind kind);

/// Round range of a map's finite values, in the unit shown. @param factor from the map's unit to that.
Scale map_scale(std::span<const float> values, double factor = 1);

/// A range of temperatures: from the air's to the hottest film, 10 K wide at the least.
Scale temperature_scale(double air_c, double hottest_c);

/// A range of chances in per cent, from 0. Its ticks are the levels that the contour lines are drawn at, and
/// its ends.
/// @param most the highest to show: nothing at risk is to look like nothing, so 5 at the least.
Scale chance_scale(double most_percent);
/// The same range with those ticks.
Scale with_chance_ticks(const Scale& range);
inline constexpr std::array<double, 3> chance_levels{1, 10, 50}; ///< %

} // namespace sparecoat::view
