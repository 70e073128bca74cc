#pragma once
#include "picture/chart/painter.hpp"
#include "picture/scale.hpp"
#include <limits>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace sparecoat::picture {

// A chart with a place for everything: where numbers lie, how its axes look, and what lies on them. Charts
// that find their own places (chart.hpp) end as one of these; those that are laid out by hand begin as one.

/// An axis: numbers to shares of its length.
struct PlotAxis {
    enum class Beyond { free, held_low, held }; ///< held: what lies beyond an end is shown at that end
    struct Tick {
        double share = 0;
        std::vector<std::string> lines;
    };
    bool logarithmic = false;
    Scale scale;       ///< of the values, or of their decimal logarithms
    double factor = 1; ///< multiplies a value to what the scale shows: µm to mil, a share to per cent
    Beyond beyond = Beyond::free;
    std::vector<Tick> ticks = {};

    double share(double value) const;
    bool shows(double value) const; ///< finite, and positive where the axis is logarithmic
};
/// The scale's ticks with their numbers.
PlotAxis axis_of(Scale scale, double factor = 1, PlotAxis::Beyond beyond = PlotAxis::Beyond::free);

/// Where numbers lie on the page.
struct Plot {
    double left = 0, top = 0, right = 0, bottom = 0;
    PlotAxis x, y;

    double x_at(double value) const { return left + (right - left) * x.share(value); }
    double y_at(double value) const { return bottom - (bottom - top) * y.share(value); }
    PlotPoint at(PlotPoint value) const { return {x_at(value.x), y_at(value.y)}; }
    bool shows(PlotPoint value) const { return x.shows(value.x) && y.shows(value.y); }
};

/// How one axis is drawn.
struct AxisLook {
    std::optional<Stroke> grid = {}; ///< across the plot at every tick
    std::optional<Stroke> line = {}; ///< along the plot's side
    std::optional<Stroke> mark = {}; ///< out of the plot at every tick, so long:
    double mark_length = 0;
    PlotText words = {};
    double beside = 0;               ///< the words' place below the plot, or to the left of it
    double lower = 0;                ///< of the y axis' words: below their tick
    double pitch = 0;                ///< between lines of words
    std::optional<double> room = {}; ///< words that would come nearer to those before are left out
    double last = std::numeric_limits<double>::infinity(); ///< no words to the right of it
};

/// Words at a place of the page.
struct PlotWords {
    PlotPoint at;
    std::string words;
    PlotText text = {};
    Align align = Align::left;
    bool upward = false;
    std::optional<Rgb> halo = {}; ///< of words that read upwards
};

struct AxesLook {
    AxisLook x, y;
    std::optional<Stroke> zero = {}; ///< across at nothing, where that lies within the plot
    std::vector<PlotWords> titles = {};
};

// What lies on the axes, in the chart's numbers. A point that the plot does not show is left out, and breaks
// a line.

struct PlotCurve {
    std::vector<PlotPoint> points;
    Stroke stroke;
    bool steps = false;
};
struct PlotBand {
    std::vector<PlotPoint> low, high;
    Fill fill;
};
/// From a foot to a value, `from` and `width` on the page beside the value's place.
struct PlotColumn {
    PlotPoint at;
    double foot = 0;
    double from = 0, width = 0;
    Fill fill;
};
/// Bars through a point to the ends of its intervals, with caps so far to either side; `aside` on the page.
struct PlotErrors {
    PlotPoint at;
    std::optional<std::pair<double, double>> x = {}, y = {};
    double cap = 0;
    Stroke stroke;
    double aside = 0;
};
struct PlotMark {
    PlotPoint at;
    Marker marker;
    std::string words = {}; ///< in its middle
    PlotText text = {};
    double lower = 0; ///< of the words' baseline, on the page
};
/// A line across at a y, or up at an x.
struct PlotRule {
    double at = 0;
    bool upright = false;
    Stroke stroke;
};
using PlotLayer = std::variant<PlotCurve, PlotBand, PlotColumn, PlotErrors, PlotMark, PlotRule, PlotWords>;

struct PlacedChart {
    Plot plot;
    AxesLook look = {};
    bool axes_over = false;                        ///< axes and their words lie over everything else
    std::optional<PlotBox> within = {};            ///< what lies on the axes is seen only here
    std::vector<PlotLayer> layers = {}, over = {}; ///< in order; the second not cut off
};

void paint(const Painter& painter, const PlacedChart& chart);
void paint(const Painter& painter, const Plot& plot, const PlotLayer& layer);
/// A mark with its words at a place of the page, as for a key.
void paint_mark(const Painter& painter, PlotPoint at, const PlotMark& mark);

} // namespace sparecoat::picture
