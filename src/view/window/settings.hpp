#pragma once
#include "picture/heatmap.hpp"
#include "view/run/live_run.hpp"
#include <array>
#include <filesystem>
#include <optional>
#include <string>

namespace sparecoat::view {

/// A locked range of a map, in the map's own unit (µm for film).
struct LockedRange {
    float low = 0, high = 0;
};

/// What the window remembers from one start to the next.
struct Settings {
    bool light_theme = true;
    FilmUnit unit = FilmUnit::um;
    std::string panel = "rear-door", technique = "edge-overrun", paint = "typical";
    std::string defects = "severe"; ///< what a lamp shows
    std::string record;             ///< of test sections, a file; empty for none
    bool section = false;           ///< the cards of the test section are shown
    int width = 1280, height = 720; ///< of the window, in screen coordinates
    MapKind map = MapKind::film_lost;
    bool contours = true, strip_charts = false;
    double times_real_time = 10;
    std::array<std::optional<LockedRange>, map_kinds> ranges{};
};

/// $XDG_CONFIG_HOME/sparecoat/settings.json, or ~/.config/... where that is unset, empty or relative (XDG
/// Base Directory Specification). Empty where there is no home either: then nothing is kept.
std::filesystem::path settings_path();
/// The shop's file (kind "shop", docs/formats.md) beside it: shop.json. Empty where that is.
std::filesystem::path shop_path();

struct LoadedSettings {
    Settings settings;
    std::string notice; ///< what was wrong with the file, for the person; empty where nothing was
};

/// Never throws over what the file holds: a missing one gives the defaults, a broken one the defaults and a
/// notice. Unknown keys are passed over, so that an older program reads a newer file.
LoadedSettings load_settings(const std::filesystem::path& file);

/// Writes the whole file beside and renames it, so that it is never half there.
/// @throws InputError where it cannot be written.
void save_settings(const std::filesystem::path& file, const Settings& settings);

} // namespace sparecoat::view
