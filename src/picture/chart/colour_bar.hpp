#pragma once
#include "picture/chart/plot.hpp"

namespace sparecoat::picture {

/// What the colours of a map stand for.
struct ColourBar {
    const ColourMap& colours;
    const Scale& scale; ///< in the unit
    std::string name, unit;
    std::vector<double> lines = {};    ///< values that are lines on the map
    std::string foot = {};             ///< written under it
    bool below = false, above = false; ///< values go beyond the low or the high end
    double from = 0, to = 1;           ///< shares of the colours that the scale's ends have

    Rgb at(double share) const { return colours.at(from + (to - from) * share); }
};

/// How a bar is drawn, its low end at the left or, where it stands, at the foot.
struct ColourBarLook {
    /// Words at a place of the page.
    struct Place {
        PlotPoint at;
        PlotText text = {};
        Align align = Align::left;
    };
    bool upright = true;
    int pieces = 64;
    bool blended = false;      ///< one colour goes over into the next; else each piece has its own
    double overlap = 0;        ///< a piece reaches so far into the next, so that no paper shows between them
    double last_overlap = 0;   ///< so far the last reaches beyond the end
    double sample = 0.5;       ///< where in a piece the colour is its own, from its beginning
    bool whole_pixels = false; ///< pieces begin at whole units
    double tip = 0;            ///< an arrow head so long at an end says that values go beyond it
    std::optional<Stroke> frame = {};
    Stroke lines = {}; ///< colour by what lies under them
    double inset = 0;  ///< lines end so far within the bar
    std::optional<Stroke> mark = {};
    double mark_length = 0; ///< to the right; negative: to the left
    PlotText numbers = {};
    double beside = 0, lower = 0; ///< of the numbers: to the right of or under the bar; negative: to its left
    Align align = Align::left;
    double number_height = 0;                              ///< numbers nearer than that are left out
    std::optional<Place> title = {}, unit = {}, foot = {}; ///< without a place for the unit: "name, unit"
};

void paint(const Painter& painter, const ColourBar& bar, const PlotBox& box, const ColourBarLook& look);

} // namespace sparecoat::picture
