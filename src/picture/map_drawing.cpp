#include "picture/map_drawing.hpp"
#include "picture/contours.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <optional>
#include <stdexcept>

namespace sparecoat::picture {
namespace {

using PagePoint = std::pair<double, double>;
using PageLine = std::vector<PagePoint>;

double distance(PagePoint p, PagePoint q) { return std::hypot(p.first - q.first, p.second - q.second); }

double distance_to_segment(PagePoint p, PagePoint a, PagePoint b) {
    const double du = b.first - a.first, dv = b.second - a.second;
    const double squared = du * du + dv * dv;
    const double along = squared > 0 ? ((p.first - a.first) * du + (p.second - a.second) * dv) / squared : 0;
    const double t = std::clamp(along, 0.0, 1.0);
    return distance(p, {a.first + t * du, a.second + t * dv});
}

/// How far a place on the page is inside the panel's outline, in design units; negative off the panel.
double inside_by(const Panel& panel, PagePoint p, const MapFrame& frame) {
    return frame.units_per_m *
           signed_distance(panel.outline, {frame.panel_u(p.first), frame.panel_v(p.second)});
}

PageLine on_page(const std::vector<Point2>& points, const MapFrame& frame) {
    PageLine line;
    line.reserve(points.size());
    for (const Point2 p : points) line.emplace_back(frame.page_x(p.x), frame.page_y(p.y));
    return line;
}

void trace_line(cairo_t* cairo, const PageLine& line, bool closed) {
    if (line.empty()) return;
    cairo_move_to(cairo, line.front().first, line.front().second);
    for (std::size_t n = 1; n < line.size(); ++n) cairo_line_to(cairo, line[n].first, line[n].second);
    if (closed) cairo_close_path(cairo);
}

// ---- the field, carried on to the drawn edge

/// A field on a grid that reaches past the panel on every side.
struct Carried {
    Grid grid;
    std::vector<float> values; ///< in the unit shown; NaN where nothing is known
    std::vector<std::uint8_t> known;
};

// A cell is inside when its centre is, so the outline runs up to 0.7 cells beyond the last known centre,
// and reading between four centres reaches one cell further. Two rings cover that, the third is spare.
constexpr int rings = 3;

void grow_one_ring(Carried& field) {
    const Grid& g = field.grid;
    const std::vector<std::uint8_t> before = field.known;
    for (int j = 0; j < g.nv; ++j)
        for (int i = 0; i < g.nu; ++i) {
            const std::size_t k = g.index(i, j);
            if (before[k]) continue;
            double sum = 0;
            int count = 0;
            for (int dj = std::max(j - 1, 0); dj <= std::min(j + 1, g.nv - 1); ++dj)
                for (int di = std::max(i - 1, 0); di <= std::min(i + 1, g.nu - 1); ++di)
                    if (const std::size_t n = g.index(di, dj); before[n]) {
                        sum += static_cast<double>(field.values[n]);
                        ++count;
                    }
            if (count == 0) continue;
            field.values[k] = static_cast<float>(sum / count);
            field.known[k] = 1;
        }
}

/// The field in the unit shown, with each outside cell near the edge given the mean of its known neighbours,
/// so that colour and lines reach the outline instead of stopping at a staircase of cells.
Carried carry_past_edge(const HeatmapSpec& spec) {
    const Grid& from = spec.panel.grid;
    Carried field;
    field.grid = from;
    field.grid.nu += 2 * rings;
    field.grid.nv += 2 * rings;
    field.grid.x0_m -= rings * from.h_m;
    field.grid.y0_m -= rings * from.h_m;
    field.values.assign(field.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    field.known.assign(field.grid.cells(), 0);
    const double factor = per_um(spec);
    for (int j = 0; j < from.nv; ++j)
        for (int i = 0; i < from.nu; ++i) {
            const std::size_t k = from.index(i, j);
            if (!spec.panel.inside[k] || !std::isfinite(spec.field_um[k])) continue;
            const std::size_t to = field.grid.index(i + rings, j + rings);
            field.values[to] = static_cast<float>(factor * static_cast<double>(spec.field_um[k]));
            field.known[to] = 1;
        }
    for (int ring = 0; ring < rings; ++ring) grow_one_ring(field);
    return field;
}

/// Value between the four nearest cell centres; NaN where one of them is not known.
double read_between(const Carried& field, double u_m, double v_m) {
    const Grid& g = field.grid;
    const double x = (u_m - g.x0_m) / g.h_m, y = (v_m - g.y0_m) / g.h_m;
    if (!(x >= 0 && y >= 0 && x < g.nu - 1 && y < g.nv - 1)) return std::numeric_limits<double>::quiet_NaN();
    const int i = static_cast<int>(x), j = static_cast<int>(y);
    const double wx = x - i, wy = y - j;
    const auto at = [&](int di, int dj) {
        return static_cast<double>(field.values[g.index(i + di, j + dj)]);
    };
    return (1 - wy) * ((1 - wx) * at(0, 0) + wx * at(1, 0)) + wy * ((1 - wx) * at(0, 1) + wx * at(1, 1));
}

std::uint32_t pixel_of(Rgb colour) {
    const auto byte = [](double part) {
        return static_cast<std::uint32_t>(std::lround(255 * std::clamp(part, 0.0, 1.0)));
    };
    return byte(colour.r) << 16 | byte(colour.g) << 8 | byte(colour.b);
}

void paint_field(const Canvas& canvas, const Carried& field, const ColourMap& colours, const Scale& scale,
                 const MapFrame& frame) {
    const double fineness = canvas.pixels_per_unit();
    const int columns = static_cast<int>(std::ceil(frame.width * fineness));
    const int rows = static_cast<int>(std::ceil(frame.height * fineness));
    cairo_surface_t* image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, columns, rows);
    unsigned char* bytes = cairo_image_surface_get_data(image);
    const int stride = cairo_image_surface_get_stride(image);
    const std::uint32_t unknown = pixel_of({0.80, 0.81, 0.82});
    for (int row = 0; row < rows; ++row) {
        auto* line = reinterpret_cast<std::uint32_t*>(bytes + static_cast<std::ptrdiff_t>(row) * stride);
        const double v = frame.panel_v(frame.y + (row + 0.5) / fineness);
        for (int column = 0; column < columns; ++column) {
            const double u = frame.panel_u(frame.x + (column + 0.5) / fineness);
            const double value = read_between(field, u, v);
            line[column] = std::isfinite(value) ? pixel_of(colours.at(scale.share(value))) : unknown;
        }
    }
    cairo_surface_mark_dirty(image);
    cairo_t* cairo = canvas.cairo();
    cairo_save(cairo);
    cairo_translate(cairo, frame.x, frame.y);
    cairo_scale(cairo, 1 / fineness, 1 / fineness);
    cairo_set_source_surface(cairo, image, 0, 0);
    cairo_pattern_set_filter(cairo_get_source(cairo), CAIRO_FILTER_NEAREST);
    cairo_paint(cairo);
    cairo_restore(cairo);
    cairo_surface_destroy(image);
}

void trace_outline(const Canvas& canvas, const Panel& panel, const MapFrame& frame) {
    for (const Polyline& loop : panel.outline) trace_line(canvas.cairo(), on_page(loop.points, frame), true);
}

void clip_to_outline(const Canvas& canvas, const Panel& panel, const MapFrame& frame) {
    trace_outline(canvas, panel, frame);
    cairo_set_fill_rule(canvas.cairo(), CAIRO_FILL_RULE_EVEN_ODD); // a hole lies within the outer loop
    cairo_clip(canvas.cairo());
    cairo_set_fill_rule(canvas.cairo(), CAIRO_FILL_RULE_WINDING);
}

// ---- spots

/// What is already on the map and may not be written over.
struct Taken {
    PagePoint at;
    double radius;
};

struct PlacedSpot {
    PagePoint at, badge;
};

constexpr double ring_radius = 6.5;

class SpotPlacer {
public:
    SpotPlacer(const HeatmapSpec& spec, const MapFrame& frame) : spec_(spec), frame_(frame) {
        for (const Spot& spot : spec.spots)
            placed_.push_back({{frame.page_x(spot.at.x), frame.page_y(spot.at.y)}, {}});
    }

    /// Gives every spot's badge the cheapest free place round it, in the order of their numbers.
    std::vector<PlacedSpot> place() {
        for (std::size_t n = 0; n < placed_.size(); ++n) {
            double least = std::numeric_limits<double>::infinity();
            for (const double reach : {36.0, 48.0, 64.0, 84.0, 110.0, 145.0})
                for (int turn = 0; turn < 24; ++turn) {
                    const double angle = 2 * pi * turn / 24;
                    const PagePoint badge{placed_[n].at.first + reach * std::cos(angle),
                                          placed_[n].at.second - reach * std::sin(angle)};
                    const double cost = reach + cost_of(badge, n);
                    if (cost < least) least = cost, placed_[n].badge = badge;
                }
        }
        return placed_;
    }

private:
    double cost_of(PagePoint badge, std::size_t n) const {
        constexpr double room = badge_radius + 4, clash = 1000;
        double cost = 0;
        const double past =
            std::max({frame_.x + room - badge.first, badge.first - frame_.x - frame_.width + room,
                      frame_.y + room - badge.second, badge.second - frame_.y - frame_.height + room});
        if (past > 0) cost += clash * (10 + past); // running out of the picture is worst
        for (std::size_t m = 0; m < placed_.size(); ++m) {
            if (m != n && distance(badge, placed_[m].at) < room + ring_radius) cost += clash;
            if (m != n && distance_to_segment(placed_[m].at, placed_[n].at, badge) < ring_radius + 3)
                cost += clash / 2;
            if (m >= n) continue;
            if (distance_to_segment(badge, placed_[m].at, placed_[m].badge) < room ||
                distance(badge, placed_[m].badge) < 2 * room)
                cost += clash;
            if (distance_to_segment(placed_[m].badge, placed_[n].at, badge) < room) cost += clash;
        }
        // Off the paint a badge hides nothing; on it, it should keep clear of the outline.
        const double inside = inside_by(spec_.panel, badge, frame_);
        if (inside > 0) cost += 45;
        if (std::abs(inside) < room) cost += 30;
        return cost;
    }

    const HeatmapSpec& spec_;
    const MapFrame& frame_;
    std::vector<PlacedSpot> placed_;
};

void draw_spots(const Canvas& canvas, const std::vector<PlacedSpot>& spots) {
    cairo_t* cairo = canvas.cairo();
    for (const PlacedSpot& spot : spots) {
        const double reach = distance(spot.at, spot.badge);
        const double part = reach > 0 ? ring_radius / reach : 0;
        const PagePoint rim{spot.at.first + part * (spot.badge.first - spot.at.first),
                            spot.at.second + part * (spot.badge.second - spot.at.second)};
        for (const bool halo : {true, false}) {
            canvas.set_colour(halo ? paper : ink, halo ? 0.9 : 1);
            cairo_set_line_width(cairo, halo ? 5.5 : 2);
            trace_line(cairo, {rim, spot.badge}, false);
            cairo_stroke(cairo);
            cairo_arc(cairo, spot.at.first, spot.at.second, ring_radius, 0, 2 * pi);
            cairo_stroke(cairo);
        }
    }
    for (std::size_t n = 0; n < spots.size(); ++n)
        draw_badge(canvas, spots[n].badge.first, spots[n].badge.second, static_cast<int>(n) + 1);
}

std::vector<Taken> room_of(const std::vector<PlacedSpot>& spots) {
    std::vector<Taken> taken;
    for (const PlacedSpot& spot : spots) {
        taken.push_back({spot.badge, badge_radius + 4});
        for (int n = 0; n <= 8; ++n) {
            const double t = n / 8.0;
            taken.push_back({{spot.at.first + t * (spot.badge.first - spot.at.first),
                              spot.at.second + t * (spot.badge.second - spot.at.second)},
                             ring_radius + 3});
        }
    }
    return taken;
}

// ---- contour lines and their numbers

struct PageContour {
    double level = 0;
    PageLine line;
    std::vector<double> walked; ///< length from the start to each point
    double length() const { return walked.back(); }
};

std::vector<PageContour> contours_on_page(const Carried& field, const std::vector<double>& levels,
                                          const MapFrame& frame) {
    constexpr double shortest = 14; // anything smaller is a speck nobody can read as a line
    std::vector<PageContour> contours;
    for (const Contour& contour : trace_contours(field.grid, field.values, field.known, levels)) {
        PageContour shown{contour.level, on_page(contour.points, frame), {0}};
        if (contour.closed) shown.line.push_back(shown.line.front());
        for (std::size_t n = 1; n < shown.line.size(); ++n)
            shown.walked.push_back(shown.walked.back() + distance(shown.line[n - 1], shown.line[n]));
        if (shown.length() >= shortest) contours.push_back(std::move(shown));
    }
    return contours;
}

PagePoint point_at(const PageContour& contour, double walked) {
    const auto next = std::upper_bound(contour.walked.begin() + 1, contour.walked.end() - 1, walked);
    const auto n = static_cast<std::size_t>(next - contour.walked.begin());
    const double stretch = contour.walked[n] - contour.walked[n - 1];
    const double t = stretch > 0 ? std::clamp((walked - contour.walked[n - 1]) / stretch, 0.0, 1.0) : 0;
    const PagePoint a = contour.line[n - 1], b = contour.line[n];
    return {a.first + t * (b.first - a.first), a.second + t * (b.second - a.second)};
}

struct LineNumber {
    PagePoint at;
    double angle = 0;
    double level = 0;
    std::string text;
};

class NumberPlacer {
public:
    NumberPlacer(const HeatmapSpec& spec, const Scale& scale, const MapFrame& frame, std::vector<Taken> taken)
        : spec_(spec), scale_(scale), frame_(frame), taken_(std::move(taken)) {}

    /// Every level gets one number on its longest line where there is room; then long lines get more.
    std::vector<LineNumber> place(const std::vector<PageContour>& contours, const TextStyle& style) {
        std::vector<const PageContour*> by_length;
        for (const PageContour& contour : contours) by_length.push_back(&contour);
        std::stable_sort(by_length.begin(), by_length.end(),
                         [](const auto* p, const auto* q) { return p->length() > q->length(); });
        for (const PageContour* contour : by_length)
            if (!numbered(contour->level)) try_number(*contour, style);
        for (const PageContour* contour : by_length)
            while (contour->length() > 170 && try_number(*contour, style)) {}
        return numbers_;
    }

private:
    static constexpr double apart_same_level = 380; ///< between numbers that say the same

    bool numbered(double level) const {
        return std::any_of(numbers_.begin(), numbers_.end(), [&](const LineNumber& number) {
            return !(number.level < level || number.level > level);
        });
    }

    bool try_number(const PageContour& contour, const TextStyle& style) {
        LineNumber best;
        best.level = contour.level;
        best.text = tick_text(contour.level, step_for(contour.level));
        const double width = text_width(best.text, style) + 8;
        double best_worth = 0.92; // chord over arc below this: the line bends too much to write on
        bool found = false;
        for (double from = 0; from + width <= contour.length(); from += 6) {
            const PagePoint a = point_at(contour, from), b = point_at(contour, from + width);
            const PagePoint middle = point_at(contour, from + width / 2);
            const PagePoint at{(a.first + b.first + 2 * middle.first) / 4,
                               (a.second + b.second + 2 * middle.second) / 4};
            const double angle = upright(std::atan2(b.second - a.second, b.first - a.first));
            const double worth = distance(a, b) / width - 0.06 * std::abs(angle) / (pi / 2);
            if (worth <= best_worth || !has_room(at, angle, width, style.size, contour.level)) continue;
            best_worth = worth;
            best.at = at;
            best.angle = angle;
            found = true;
        }
        if (!found) return false;
        for (const PagePoint& p : along(best.at, best.angle, width))
            taken_.push_back({p, style.size / 2 + 5});
        numbers_.push_back(best);
        return true;
    }

    /// Levels that were asked for need not be multiples of the legend's step: then they show as they are.
    double step_for(double level) const {
        const double ratio = level / scale_.step;
        if (std::abs(ratio - std::round(ratio)) < 1e-6) return scale_.step;
        double step = 1;
        while (step > 1e-4 && std::abs(level / step - std::round(level / step)) > 1e-6) step /= 10;
        return step;
    }

    static double upright(double angle) {
        return angle > pi / 2 ? angle - pi : angle <= -pi / 2 ? angle + pi : angle;
    }

    static std::array<PagePoint, 3> along(PagePoint at, double angle, double width) {
        const double dx = 0.35 * width * std::cos(angle), dy = 0.35 * width * std::sin(angle);
        return {PagePoint{at.first - dx, at.second - dy}, at, PagePoint{at.first + dx, at.second + dy}};
    }

    bool has_room(PagePoint at, double angle, double width, double height, double level) const {
        for (const LineNumber& number : numbers_)
            if (number.level >= level && number.level <= level && distance(number.at, at) < apart_same_level)
                return false;
        for (const PagePoint& p : along(at, angle, width)) {
            const double radius = height / 2 + 4;
            if (p.first < frame_.x + radius || p.first > frame_.x + frame_.width - radius ||
                p.second < frame_.y + radius || p.second > frame_.y + frame_.height - radius)
                return false;
            for (const Taken& taken : taken_)
                if (distance(p, taken.at) < radius + taken.radius) return false;
            if (inside_by(spec_.panel, p, frame_) < radius) return false;
        }
        return true;
    }

    const HeatmapSpec& spec_;
    const Scale& scale_;
    const MapFrame& frame_;
    std::vector<Taken> taken_;
    std::vector<LineNumber> numbers_;
};

void draw_contours(const Canvas& canvas, const std::vector<PageContour>& contours, const ColourMap& colours,
                   const Scale& scale) {
    cairo_t* cairo = canvas.cairo();
    cairo_set_line_width(cairo, 1.5);
    for (const PageContour& contour : contours) {
        canvas.set_colour(ink_over(colours, scale.share(contour.level)), 0.85);
        trace_line(cairo, contour.line, false);
        cairo_stroke(cairo);
    }
}

void draw_numbers(const Canvas& canvas, const std::vector<LineNumber>& numbers, TextStyle style,
                  const ColourMap& colours, const Scale& scale) {
    for (const LineNumber& number : numbers) {
        const double share = scale.share(number.level);
        style.colour = ink_over(colours, share);
        canvas.text_on_line(number.at.first, number.at.second, number.angle, number.text, style,
                            colours.at(share));
    }
}

// ---- axes

void draw_axes(const Canvas& canvas, const MapFrame& frame) {
    const TextStyle numbers{17, false, quiet_ink};
    cairo_t* cairo = canvas.cairo();
    canvas.set_colour(hairline);
    cairo_set_line_width(cairo, 1.5);
    cairo_rectangle(cairo, frame.x, frame.y, frame.width, frame.height);
    cairo_stroke(cairo);

    const double step_mm = round_step(110 / frame.units_per_m / mm, 1);
    const double bottom = frame.y + frame.height;
    const auto tick = [&](double x0, double y0, double x1, double y1) {
        canvas.set_colour(quiet_ink);
        trace_line(cairo, {{x0, y0}, {x1, y1}}, false);
        cairo_stroke(cairo);
    };
    const Scale u = locked_scale(frame.panel_u(frame.x) / mm, frame.panel_u(frame.x + frame.width) / mm);
    const Scale v = locked_scale(frame.panel_v(bottom) / mm, frame.panel_v(frame.y) / mm);
    for (double n = std::ceil(u.low / step_mm); n * step_mm <= u.high; n += 1) {
        const double x = frame.page_x(n * step_mm * mm);
        tick(x, bottom, x, bottom + 7);
        canvas.text(x, bottom + 27, tick_text(n * step_mm, step_mm), numbers, Align::centre);
    }
    for (double n = std::ceil(v.low / step_mm); n * step_mm <= v.high; n += 1) {
        const double y = frame.page_y(n * step_mm * mm);
        tick(frame.x - 7, y, frame.x, y);
        canvas.text(frame.x - 13, y + 6, tick_text(n * step_mm, step_mm), numbers, Align::right);
    }
    canvas.text(frame.x + frame.width / 2, bottom + 54, "u, mm", numbers, Align::centre);
    canvas.text_on_line(frame.x - axis_gutter + 14, frame.y + frame.height / 2, -pi / 2, "v, mm", numbers,
                        paper);
}

} // namespace

Bounds bounds_of_outline(const Panel& panel) {
    constexpr double far = std::numeric_limits<double>::infinity();
    Bounds box{{far, far}, {-far, -far}};
    for (const Polyline& loop : panel.outline)
        for (const Point2 p : loop.points) {
            box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
            box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
        }
    if (!(box.width() > 0 && box.height() > 0))
        throw std::invalid_argument("heatmap: the panel has no outline to draw");
    return box;
}

std::string film_text(double thickness_um, FilmUnit unit) {
    return unit == FilmUnit::um ? fmt::format("{:.2f} µm", thickness_um)
                                : fmt::format("{:.4f} mil", thickness_um * per_um(unit));
}

double per_um(FilmUnit unit) { return unit == FilmUnit::mil ? 1 / um_per_mil : 1; }

const char* text_of(FilmUnit unit) { return unit == FilmUnit::mil ? "mil" : "µm"; }

double per_um(const HeatmapSpec& spec) { return spec.own_unit.empty() ? per_um(spec.unit) : 1; }

std::string unit_of(const HeatmapSpec& spec) {
    return spec.own_unit.empty() ? text_of(spec.unit) : spec.own_unit;
}

std::pair<double, double> extremes(const HeatmapSpec& spec) {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (std::size_t k = 0; k < spec.field_um.size(); ++k) {
        const double value = per_um(spec) * static_cast<double>(spec.field_um[k]);
        if (!spec.panel.inside[k] || !std::isfinite(value)) continue;
        low = std::min(low, value);
        high = std::max(high, value);
    }
    return low <= high ? std::pair{low, high} : std::pair{0.0, 0.0};
}

std::vector<double> shown_levels(const HeatmapSpec& spec, const Scale& scale) {
    std::vector<double> levels;
    if (!spec.contours) return levels;
    if (spec.contour_levels_um.empty()) {
        for (const double tick : scale.ticks)
            if (tick > scale.low + 1e-6 * scale.step && tick < scale.high - 1e-6 * scale.step)
                levels.push_back(tick);
    } else {
        for (const double level : spec.contour_levels_um) levels.push_back(per_um(spec) * level);
    }
    return levels;
}

void draw_badge(const Canvas& canvas, double x, double y, int number) {
    cairo_t* cairo = canvas.cairo();
    cairo_new_path(cairo);
    cairo_arc(cairo, x, y, badge_radius, 0, 2 * pi);
    canvas.set_colour(paper);
    cairo_set_line_width(cairo, 5.5);
    cairo_stroke_preserve(cairo);
    cairo_fill_preserve(cairo);
    canvas.set_colour(ink);
    cairo_set_line_width(cairo, 2.2);
    cairo_stroke(cairo);
    canvas.text(x, y + 6.5, tick_text(number, 1), {18, true, ink}, Align::centre);
}

void stroke_pad_path(const Canvas& canvas, const std::vector<std::pair<double, double>>& points) {
    // A pale stroke under a dark one: one of the two shows on every colour of the map.
    for (const bool pale : {true, false}) {
        canvas.set_colour(pale ? paper : ink, pale ? 0.25 : 0.5);
        cairo_set_line_width(canvas.cairo(), pale ? 2.6 : 1);
        trace_line(canvas.cairo(), points, false);
        cairo_stroke(canvas.cairo());
    }
}

void stroke_crest(const Canvas& canvas, const std::vector<std::pair<double, double>>& points, bool closed) {
    const double dashes[] = {9, 6};
    cairo_t* cairo = canvas.cairo();
    cairo_save(cairo);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    for (const bool pale : {true, false}) {
        canvas.set_colour(pale ? paper : ink, pale ? 0.6 : 1);
        cairo_set_line_width(cairo, pale ? 3 : 1.6);
        cairo_set_dash(cairo, dashes, pale ? 0 : 2, 0);
        trace_line(cairo, points, closed);
        cairo_stroke(cairo);
    }
    cairo_restore(cairo);
}

void draw_map(const Canvas& canvas, const HeatmapSpec& spec, const Scale& scale, const MapFrame& frame) {
    const TextStyle number_style{17, true, ink};
    cairo_t* cairo = canvas.cairo();
    const Carried field = carry_past_edge(spec);
    const std::vector<PageContour> contours = contours_on_page(field, shown_levels(spec, scale), frame);
    const std::vector<PlacedSpot> spots = SpotPlacer(spec, frame).place();
    const std::vector<LineNumber> numbers =
        NumberPlacer(spec, scale, frame, room_of(spots)).place(contours, number_style);

    cairo_save(cairo);
    cairo_rectangle(cairo, frame.x, frame.y, frame.width, frame.height);
    cairo_clip_preserve(cairo);
    canvas.set_colour(surroundings);
    cairo_fill(cairo);

    cairo_save(cairo);
    clip_to_outline(canvas, spec.panel, frame);
    paint_field(canvas, field, *spec.colours, scale, frame);
    cairo_restore(cairo);

    for (const auto& stroke : spec.pad_path) stroke_pad_path(canvas, on_page(stroke, frame));

    cairo_save(cairo);
    clip_to_outline(canvas, spec.panel, frame);
    for (const Polyline& crest : spec.panel.crests)
        stroke_crest(canvas, on_page(crest.points, frame), crest.closed);
    draw_contours(canvas, contours, *spec.colours, scale);
    draw_numbers(canvas, numbers, number_style, *spec.colours, scale);
    cairo_restore(cairo);

    trace_outline(canvas, spec.panel, frame);
    canvas.set_colour(ink);
    cairo_set_line_width(cairo, 2.4);
    cairo_stroke(cairo);
    draw_spots(canvas, spots);
    cairo_restore(cairo);
    draw_axes(canvas, frame);
}

} // namespace sparecoat::picture
