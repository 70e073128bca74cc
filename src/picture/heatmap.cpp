#include "picture/heatmap.hpp"
#include "picture/chart/colour_bar.hpp"
#include "picture/map_drawing.hpp"
#include "picture/scale.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <stdexcept>

namespace sparecoat::picture {
namespace {

// Sizes in design units: a picture of one map is 1600 wide, so that at the default width a unit is a pixel.
constexpr double design_width = 1600, comparison_width = 2000;
constexpr double page_margin = 44;
constexpr double key_width = 372, shared_key_width = 236, key_gap = 40, map_gap = 44;
constexpr double panel_air = 34; // between the panel and its frame
constexpr double frame_tallest = 1180, frame_lowest = 300;
constexpr double narrowest_page = 1060; // room for a heading over a tall, thin panel

const TextStyle page_heading_style{34, true, ink}, map_heading_style{25, true, ink};
const TextStyle subheading_style{20, false, quiet_ink};
const TextStyle key_heading_style{20, true, ink}, key_style{18, false, ink},
    note_style{16.5, false, quiet_ink};

void demand_drawable(const HeatmapSpec& spec) {
    const std::size_t cells = spec.panel.grid.cells();
    if (cells == 0 || spec.field_um.size() != cells || spec.panel.inside.size() != cells)
        throw std::invalid_argument("heatmap: field and mask need one entry a cell");
    if (spec.range && !(spec.range->low_um < spec.range->high_um))
        throw std::invalid_argument("heatmap: the locked range is empty");
    if (spec.spots.size() > 9) throw std::invalid_argument("heatmap: more than nine spots");
    if (spec.width_px < 400) throw std::invalid_argument("heatmap: narrower than 400 pixels");
    if (spec.colours == nullptr) throw std::invalid_argument("heatmap: no colour map");
}

// ---- blocks of the page: each is drawn with its top at y and gives the y below it. Without a page it is
// only measured, so the page's height is known before the page is made.

double lay_lines(const Canvas* page, double x, double y, double width, const std::string& words,
                 const TextStyle& style) {
    for (const std::string& line : wrap_text(words, style, width)) {
        if (page) page->text(x, y + style.size, line, style);
        y += 1.32 * style.size;
    }
    return y;
}

double lay_heading(const Canvas* page, double x, double y, double width, const std::string& title,
                   const std::vector<std::string>& subtitle, const TextStyle& title_style) {
    if (!title.empty()) y = lay_lines(page, x, y, width, title, title_style) + 4;
    for (const std::string& line : subtitle) y = lay_lines(page, x, y, width, line, subheading_style);
    return y;
}

/// What the legend says besides the scale.
struct LegendText {
    std::string quantity;
    std::vector<std::string> notes;
    bool below = false, above = false; ///< values beyond the low or the high end
};

void draw_legend_bar(const Canvas& page, const PlotBox& box, const Scale& scale, const HeatmapSpec& spec,
                     const LegendText& text) {
    ColourBar bar{*spec.colours, scale, text.quantity, unit_of(spec), {}, {}, text.below, text.above};
    for (const double level : shown_levels(spec, scale))
        if (level > scale.low && level < scale.high) bar.lines.push_back(level);
    const Stroke thin{{ink}, 1.5};
    ColourBarLook look;
    look.blended = true, look.pieces = 96;
    look.tip = 18, look.frame = thin;
    look.lines = {{{}, 0.85}, thin.width}, look.inset = 1;
    look.mark = thin, look.mark_length = 8;
    look.numbers = {key_style}, look.beside = 15, look.lower = 6.5;
    paint(CanvasPainter(page), bar, box, look);
}

double lay_legend(const Canvas* page, double x, double y, double width, double bar_height, const Scale& scale,
                  const HeatmapSpec& spec, const LegendText& text) {
    y = lay_lines(page, x, y, width, fmt::format("{}, {}", text.quantity, unit_of(spec)), key_heading_style);
    y += text.above ? 32 : 14;
    if (page) draw_legend_bar(*page, {x, y, 40, bar_height}, scale, spec, text);
    y += bar_height + (text.below ? 30 : 14);
    for (const std::string& note : text.notes) y = lay_lines(page, x, y, width, note, note_style);
    return y;
}

/// @param columns side by side, filled from the top of the first
double lay_spot_key(const Canvas* page, double x, double y, double width, const std::vector<Spot>& spots,
                    std::size_t columns = 1) {
    if (spots.empty()) return y;
    constexpr double gap = 12, column_gap = 36, indent = 2 * badge_radius + 14;
    const double top = lay_lines(page, x, y, width, "Marked spots", key_heading_style) + 10;
    const double column =
        (width - static_cast<double>(columns - 1) * column_gap) / static_cast<double>(columns);
    const std::size_t rows = (spots.size() + columns - 1) / columns;
    double bottom = top;
    for (std::size_t n = 0; n < spots.size(); ++n) {
        if (n % rows == 0) y = top;
        const double left = x + static_cast<double>(n / rows) * (column + column_gap);
        if (page) draw_badge(*page, left + badge_radius + 2, y + badge_radius, static_cast<int>(n) + 1);
        const double below =
            lay_lines(page, left + indent, y + 4, column - indent, spots[n].label, key_style);
        y = std::max(below, y + 2 * badge_radius) + gap;
        bottom = std::max(bottom, y - gap);
    }
    return bottom;
}

/// The pad's face at the map's scale: whole where it fits, else a quarter of it, else only its size in words.
double lay_pad(const Canvas* page, double x, double y, double width, double diameter_m, double units_per_m) {
    const double radius = diameter_m / 2 * units_per_m;
    const bool whole = 2 * radius <= width - 8, quarter = !whole && radius <= width - 8;
    y = lay_lines(page, x, y, width,
                  fmt::format("Pad {:.4g} mm{}", diameter_m / mm, quarter ? ", a quarter of it" : ""),
                  key_heading_style) +
        8;
    if (!whole && !quarter) return y;
    if (page) {
        cairo_t* cairo = page->cairo();
        cairo_new_path(cairo);
        if (whole) cairo_arc(cairo, x + radius + 2, y + radius, radius, 0, 2 * pi);
        else {
            cairo_move_to(cairo, x + 2, y + radius);
            cairo_arc(cairo, x + 2, y + radius, radius, -pi / 2, 0);
            cairo_close_path(cairo);
        }
        page->set_colour({0.88, 0.90, 0.92});
        cairo_fill_preserve(cairo);
        page->set_colour(ink);
        cairo_set_line_width(cairo, 2);
        cairo_stroke(cairo);
        if (whole) { // the centre, which is what the pad path follows
            cairo_arc(cairo, x + radius + 2, y + radius, 3, 0, 2 * pi);
            cairo_fill(cairo);
        }
    }
    return y + (whole ? 2 : 1) * radius + 4;
}

/// The strokes on the map that do not explain themselves.
struct Strokes {
    bool path = false, crests = false;
    bool any() const { return path || crests; }
};

double lay_line_key(const Canvas* page, double x, double y, double width, Strokes strokes) {
    constexpr double sample = 44;
    const auto entry = [&](const char* words, const auto& stroke) {
        if (page) stroke();
        y = lay_lines(page, x + sample + 14, y, width - sample - 14, words, key_style) + 6;
    };
    if (strokes.path)
        entry("path of the pad's centre", [&] {
            stroke_pad_path(*page, {{x + 2, y + 13}, {x + sample, y + 13}});
        });
    if (strokes.crests)
        entry("body line, roll or rim", [&] {
            stroke_crest(*page, {{x + 2, y + 13}, {x + sample, y + 13}}, false);
        });
    return y;
}

/// Pads and strokes: beside each other where one pad leaves room for words, else below each other.
double lay_key_foot(const Canvas* page, double x, double y, double width, const std::vector<double>& pads_m,
                    Strokes strokes, double units_per_m) {
    constexpr double gap = 28, words = 190;
    const double disc = pads_m.size() == 1 ? pads_m.front() * units_per_m + 28 : width;
    const double top = y;
    for (const double pad : pads_m) y = lay_pad(page, x, y + gap, width, pad, units_per_m);
    if (!strokes.any()) return y;
    if (disc + words > width) return lay_line_key(page, x, y + gap, width, strokes);
    const double beside = top + gap + 1.32 * key_heading_style.size + 10;
    return std::max(y, lay_line_key(page, x + disc, beside, width - disc, strokes));
}

// ---- one map

Scale scale_for(const HeatmapSpec& spec, double low, double high) {
    if (!spec.range) return round_scale(low, high);
    return locked_scale(per_um(spec) * spec.range->low_um, per_um(spec) * spec.range->high_um);
}

/// One figure finer than the legend: as much as the colours can say.
std::string extremes_text(const HeatmapSpec& spec, const Scale& scale) {
    const auto [low, high] = extremes(spec);
    const double step = scale.step / 10;
    return fmt::format("lowest {}, highest {} {}", tick_text(low, step), tick_text(high, step),
                       unit_of(spec));
}

/// The frame that shows the box at the largest scale that fits, its sides kept between the limits.
MapFrame fit_frame(const Bounds& box, double widest, double narrowest) {
    MapFrame frame;
    frame.units_per_m =
        std::min((widest - 2 * panel_air) / box.width(), (frame_tallest - 2 * panel_air) / box.height());
    frame.width = std::clamp(box.width() * frame.units_per_m + 2 * panel_air, narrowest, widest);
    frame.height = std::max(box.height() * frame.units_per_m + 2 * panel_air, frame_lowest);
    frame.middle = 0.5 * (box.low + box.high);
    return frame;
}

LegendText legend_text(const HeatmapSpec& spec, const Scale& scale, double low, double high) {
    LegendText text;
    text.quantity = spec.quantity;
    const double little = 1e-6 * (scale.high - scale.low);
    text.below = low < scale.low - little;
    text.above = high > scale.high + little;
    return text;
}

} // namespace

void draw_heatmap(const std::filesystem::path& png, const HeatmapSpec& spec) {
    demand_drawable(spec);
    const auto [low, high] = extremes(spec);
    const Scale scale = scale_for(spec, low, high);
    LegendText legend = legend_text(spec, scale, low, high);
    legend.notes = {extremes_text(spec, scale)};

    constexpr double beside_frame = 2 * page_margin + axis_gutter + key_gap + key_width;
    MapFrame frame =
        fit_frame(bounds_of_outline(spec.panel), design_width - beside_frame, narrowest_page - beside_frame);
    const double page_width = frame.width + beside_frame;
    const double text_width = page_width - 2 * page_margin;
    frame.x = page_margin + axis_gutter;
    frame.y = lay_heading(nullptr, page_margin, page_margin, text_width, spec.title, spec.subtitle,
                          page_heading_style) +
              22;

    const double key_x = frame.x + frame.width + key_gap, under_map = frame.y + frame.height + axis_foot;
    const std::size_t columns =
        frame.width > 760 ? 2 : 1; // of the spots' text, where it stands under the map
    const std::vector<double> pads =
        spec.pad_diameter_m > 0 ? std::vector{spec.pad_diameter_m} : std::vector<double>{};
    const Strokes strokes{!spec.pad_path.empty(), !spec.panel.crests.empty()};
    const auto lay_key = [&](const Canvas* page, double bar, bool spots_beside) {
        double y = lay_legend(page, key_x, frame.y, key_width, bar, scale, spec, legend);
        if (spots_beside && !spec.spots.empty()) y = lay_spot_key(page, key_x, y + 28, key_width, spec.spots);
        return lay_key_foot(page, key_x, y, key_width, pads, strokes, frame.units_per_m);
    };
    const auto lay_under_map = [&](const Canvas* page) {
        return spec.spots.empty()
                   ? under_map
                   : lay_spot_key(page, frame.x, under_map + 18, frame.width, spec.spots, columns);
    };
    // The legend's bar takes up what height the map has and the rest of the key leaves. Beside a low, wide
    // panel the spots' text would run on far below the map, so it goes under the map where that is shorter.
    const auto bar_for = [&](bool spots_beside) {
        return std::clamp(frame.y + frame.height - lay_key(nullptr, 0, spots_beside), 230.0, 460.0);
    };
    const auto bottom_for = [&](bool spots_beside) {
        return std::max(lay_key(nullptr, bar_for(spots_beside), spots_beside),
                        spots_beside ? under_map : lay_under_map(nullptr));
    };
    const bool spots_beside = bottom_for(true) <= bottom_for(false);

    const Canvas canvas(page_width, bottom_for(spots_beside) + page_margin - 12, spec.width_px / design_width,
                        paper);
    lay_heading(&canvas, page_margin, page_margin, text_width, spec.title, spec.subtitle, page_heading_style);
    draw_map(canvas, spec, scale, frame);
    lay_key(&canvas, bar_for(spots_beside), spots_beside);
    if (!spots_beside) lay_under_map(&canvas);
    canvas.write_png(png);
}

// ---- several maps

namespace {

/// Maps that share one legend: what it depends on is the first map's.
struct OneLegend {
    std::vector<HeatmapSpec> maps;
    Bounds box;       ///< that any of their panels fits into
    double low, high; ///< of all their values
};
OneLegend with_one_legend(const std::vector<HeatmapSpec>& given) {
    constexpr double infinity = std::numeric_limits<double>::infinity();
    OneLegend out{given, {{0, 0}, {0, 0}}, infinity, -infinity};
    for (HeatmapSpec& map : out.maps) {
        const HeatmapSpec& first = given.front();
        map.quantity = first.quantity;
        map.colours = first.colours;
        map.unit = first.unit;
        map.own_unit = first.own_unit;
        map.contours = first.contours;
        map.contour_levels_um = first.contour_levels_um;
        demand_drawable(map);
        const auto [map_low, map_high] = extremes(map);
        out.low = std::min(out.low, map_low);
        out.high = std::max(out.high, map_high);
        const Bounds own = bounds_of_outline(map.panel);
        out.box.high = {std::max(out.box.high.x, own.width()), std::max(out.box.high.y, own.height())};
    }
    return out;
}

} // namespace

void draw_side_by_side(const std::filesystem::path& png, const ComparisonHeading& heading,
                       const std::vector<HeatmapSpec>& given) {
    if (given.size() < 2) throw std::invalid_argument("draw_side_by_side: needs two maps");
    if (heading.width_px < 400) throw std::invalid_argument("draw_side_by_side: narrower than 400 pixels");

    const auto [maps_of_one_legend, box, low, high] = with_one_legend(given);
    std::vector<HeatmapSpec> maps = maps_of_one_legend;
    const Scale scale = scale_for(maps.front(), low, high);
    const LegendText legend = legend_text(maps.front(), scale, low, high);
    for (HeatmapSpec& map : maps) map.subtitle.push_back(extremes_text(map, scale));

    const auto count = static_cast<double>(maps.size());
    constexpr double beside_frames = 2 * page_margin + key_gap + shared_key_width;
    const double widest = (comparison_width - beside_frames - (count - 1) * map_gap) / count - axis_gutter;
    const MapFrame shape = fit_frame(box, widest, std::min(widest, 460.0));
    const double column = axis_gutter + shape.width + map_gap;
    const double page_width = beside_frames + count * column - map_gap;
    const double text_width = page_width - 2 * page_margin;

    const double top = lay_heading(nullptr, page_margin, page_margin, text_width, heading.title,
                                   heading.subtitle, page_heading_style) +
                       (heading.title.empty() && heading.subtitle.empty() ? 0 : 26);
    double frame_y = top;
    for (const HeatmapSpec& map : maps)
        frame_y = std::max(
            frame_y, lay_heading(nullptr, 0, top, shape.width, map.title, map.subtitle, map_heading_style));
    frame_y += 16;

    std::vector<double> pads; // each size once
    Strokes strokes;
    for (const HeatmapSpec& map : maps) {
        const auto same = [&](double d) { return std::abs(d - map.pad_diameter_m) < 1e-6; };
        if (map.pad_diameter_m > 0 && std::none_of(pads.begin(), pads.end(), same))
            pads.push_back(map.pad_diameter_m);
        strokes.path = strokes.path || !map.pad_path.empty();
        strokes.crests = strokes.crests || !map.panel.crests.empty();
    }
    const double key_x = page_margin + count * column - map_gap + key_gap;
    const auto lay_key = [&](const Canvas* page, double bar) {
        const double y = lay_legend(page, key_x, frame_y, shared_key_width, bar, scale, maps.front(), legend);
        return lay_key_foot(page, key_x, y, shared_key_width, pads, strokes, shape.units_per_m);
    };
    const double bar = std::clamp(frame_y + shape.height - lay_key(nullptr, 0), 230.0, 460.0);

    const double spots_y = frame_y + shape.height + axis_foot + 16;
    double bottom = std::max(lay_key(nullptr, bar), spots_y - 16);
    for (const HeatmapSpec& map : maps)
        bottom = std::max(bottom, lay_spot_key(nullptr, 0, spots_y, shape.width, map.spots));

    const Canvas canvas(page_width, bottom + page_margin - 8, heading.width_px / comparison_width, paper);
    lay_heading(&canvas, page_margin, page_margin, text_width, heading.title, heading.subtitle,
                page_heading_style);
    for (std::size_t n = 0; n < maps.size(); ++n) {
        MapFrame frame = shape;
        frame.x = page_margin + static_cast<double>(n) * column + axis_gutter;
        frame.y = frame_y;
        const Bounds own = bounds_of_outline(maps[n].panel);
        frame.middle = 0.5 * (own.low + own.high);
        lay_heading(&canvas, frame.x, top, shape.width, maps[n].title, maps[n].subtitle, map_heading_style);
        draw_map(canvas, maps[n], scale, frame);
        lay_spot_key(&canvas, frame.x, spots_y, shape.width, maps[n].spots);
    }
    lay_key(&canvas, bar);
    canvas.write_png(png);
}

} // namespace sparecoat::picture
