#pragma once
#include "panel/panel.hpp"
#include "picture/colour_map.hpp"
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::picture {

/// What film thickness is printed in; fields are µm always.
enum class FilmUnit { um, mil };

/// A place pointed out on the map. Its number is its place in the list, from 1; the text stands in the key.
struct Spot {
    Point2 at;
    std::string label; ///< "4.83 µm lost, 31.2 µm clear left, 6 mm from window sill"
};

/// A thickness to read: "4.83 µm", "0.1902 mil".
std::string film_text(double thickness_um, FilmUnit unit);

struct FilmRange {
    double low_um = 0, high_um = 0;
};

/// One field over one panel and all that is drawn with it. Views into the panel and the field: both must
/// outlive the call.
struct HeatmapSpec {
    const Panel& panel; ///< grid, inside, outline and crests are drawn; at least one outline loop
    std::span<const float> field_um; ///< one value a cell; outside cells and values not finite are not drawn
    std::string title = {};
    std::vector<std::string> subtitle = {}; ///< lines; long ones are wrapped
    std::string quantity = "film lost";     ///< named over the legend, followed by the unit
    const ColourMap* colours = &film_lost_colours();
    FilmUnit unit = FilmUnit::um;
    std::string own_unit = {}; ///< of a field that is no thickness ("%", "°C"): values are shown as they are
    std::optional<FilmRange> range = {};        ///< locks the legend; values beyond take the end's colour
    std::vector<double> contour_levels_um = {}; ///< none: the legend's round numbers
    bool contours = true;
    std::vector<std::vector<Point2>> pad_path = {}; ///< strokes of the pad's centre, m
    double pad_diameter_m = 0;                      ///< drawn to scale beside the map; 0 = not
    std::vector<Spot> spots = {};                   ///< up to nine, numbered in this order
    int width_px = 1600;                            ///< of the picture; a tall panel's picture is narrower
};

/// Draws the field as a heatmap: colours inside the outline with contour lines and their numbers, panel
/// outline, holes and crests, pad path, numbered spots, axes in mm, and at the right the legend, the spots'
/// text and the pad at the map's scale. v points up.
/// @throws std::invalid_argument where the spec contradicts itself (lengths, empty outline, range, more than
/// nine spots, width under 400), InputError where the file cannot be written.
void draw_heatmap(const std::filesystem::path& png, const HeatmapSpec& spec);

/// Heading over several maps.
struct ComparisonHeading {
    std::string title = {};
    std::vector<std::string> subtitle = {};
    int width_px = 2000;
};

/// Draws two or more maps of the same quantity next to each other, at one scale of length and with one
/// legend: the first spec's range, or else the range of all fields together. Quantity, colours, unit and
/// contour levels are the first spec's; each map keeps its own title, spots and path. Errors as above.
void draw_side_by_side(const std::filesystem::path& png, const ComparisonHeading& heading,
                       const std::vector<HeatmapSpec>& maps);

} // namespace sparecoat::picture
