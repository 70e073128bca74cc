#pragma once
#include "picture/canvas.hpp"
#include "picture/heatmap.hpp"
#include "picture/inks.hpp"
#include "picture/scale.hpp"
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::picture {

/// A box on the panel, m.
struct Bounds {
    Point2 low, high;
    double width() const { return high.x - low.x; }
    double height() const { return high.y - low.y; }
};

/// Box round the panel's outline. @throws std::invalid_argument where there is none.
Bounds bounds_of_outline(const Panel& panel);

/// The rectangle of the page that shows a stretch of panel: design units, y down; v up.
struct MapFrame {
    double x = 0, y = 0, width = 0, height = 0;
    Point2 middle; ///< panel point shown in the middle, m
    double units_per_m = 1;

    double page_x(double u_m) const { return x + width / 2 + (u_m - middle.x) * units_per_m; }
    double page_y(double v_m) const { return y + height / 2 - (v_m - middle.y) * units_per_m; }
    double panel_u(double page_x_) const { return middle.x + (page_x_ - x - width / 2) / units_per_m; }
    double panel_v(double page_y_) const { return middle.y - (page_y_ - y - height / 2) / units_per_m; }
};

/// Page left of and below a frame that its ticks and axis names take.
inline constexpr double axis_gutter = 88, axis_foot = 62;

/// Multiplies µm to the unit shown.
double per_um(FilmUnit unit);
const char* text_of(FilmUnit unit);
double per_um(const HeatmapSpec& spec); ///< 1 for a field with a unit of its own
std::string unit_of(const HeatmapSpec& spec);

/// Lowest and highest finite value inside, in the unit shown; (0, 0) where there is none.
std::pair<double, double> extremes(const HeatmapSpec& spec);

/// Contour levels in the unit shown: those asked for, or the legend's ticks between its ends.
std::vector<double> shown_levels(const HeatmapSpec& spec, const Scale& scale);

/// Draws the map, its axes and the spots' numbers into a frame.
void draw_map(const Canvas& canvas, const HeatmapSpec& spec, const Scale& scale, const MapFrame& frame);

/// The round badge that stands for a spot on the map and in the key.
void draw_badge(const Canvas& canvas, double x, double y, int number);
inline constexpr double badge_radius = 15;

/// Strokes used on the map and shown again in the key.
void stroke_pad_path(const Canvas& canvas, const std::vector<std::pair<double, double>>& points);
void stroke_crest(const Canvas& canvas, const std::vector<std::pair<double, double>>& points, bool closed);

} // namespace sparecoat::picture
