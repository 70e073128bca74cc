#include "picture/sheet/map.hpp"
#include "picture/map_drawing.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <map>
#include <optional>

namespace sparecoat::picture::sheet {
namespace {

// All in points.
constexpr double key_width = 132, key_gap = 12, map_width = document::widest_pt - key_width - key_gap,
                 most_height = 270, rim = 18;
constexpr double cross_arm = 2.6, badge = 6.8;
constexpr Rgb held_grey{0.88, 0.88, 0.88}, taped_grey{0.64, 0.64, 0.64}, black{0.1, 0.1, 0.12};
const TextStyle name_style{7, false, black}, number_style{6, false, black}, badge_style{7.5, true, black},
    key_style{7.5, false, black};

struct Box {
    double x0, y0, x1, y1;
    bool meets(const Box& other) const {
        return x0 < other.x1 && other.x0 < x1 && y0 < other.y1 && other.y0 < y1;
    }
};

Box box_round(double x, double y, double width, double height) {
    return {x - width / 2, y - height / 2, x + width / 2, y + height / 2};
}

/// A text with its middle at a place, turned.
struct Label {
    std::string text;
    double x = 0, y = 0, angle = 0;
    TextStyle style;
    bool on_panel = false;

    double width() const { return text_width(text, style); }
    double height() const { return 1.2 * style.size; }
    Box box() const {
        const double c = std::abs(std::cos(angle)), s = std::abs(std::sin(angle)), w = width() + 2,
                     h = height();
        return box_round(x, y, w * c + h * s, w * s + h * c);
    }
};

/// As much of a text as fits.
std::string shortened(std::string text, const TextStyle& style, double width) {
    if (text_width(text, style) <= width) return text;
    const std::string cut = wrap_text(text, style, width - text_width("…", style)).front();
    return cut + "…";
}

/// A stretch of a line that bears one name.
struct Run {
    std::vector<Point2> points;
    double length() const {
        double sum = 0;
        for (std::size_t n = 1; n < points.size(); ++n) sum += norm(points[n] - points[n - 1]);
        return sum;
    }
    /// The point at a share of the way.
    Point2 at(double share) const {
        double left = std::clamp(share, 0.0, 1.0) * length();
        for (std::size_t n = 1; n < points.size(); ++n) {
            const double part = norm(points[n] - points[n - 1]);
            if (part > 0 && left <= part) return points[n - 1] + (left / part) * (points[n] - points[n - 1]);
            left -= part;
        }
        return points.back();
    }
};

/// Every stretch by its name; a closed line's last segment goes back to its first point.
std::map<int, std::vector<Run>> runs_of(const std::vector<Polyline>& lines) {
    std::map<int, std::vector<Run>> runs;
    for (const Polyline& line : lines) {
        const std::size_t n = line.points.size(), segments = line.closed ? n : n - 1;
        if (n < 2) continue;
        std::size_t first =
            0; // a closed line is begun where its name changes, so that no stretch is cut in two
        while (line.closed && first + 1 < segments &&
               line.edge[first] == line.edge[(first + segments - 1) % segments])
            ++first;
        int name = -1;
        for (std::size_t k = 0; k < segments; ++k) {
            const std::size_t s = (first + k) % segments;
            if (k == 0 || line.edge[s] != name) {
                name = line.edge[s];
                runs[name].push_back({{line.points[s]}});
            }
            runs[name].back().points.push_back(line.points[(s + 1) % n]);
        }
    }
    return runs;
}

class PanelMap {
public:
    explicit PanelMap(const SheetPanel& panel)
        : facts_(panel), drawing_(*panel.drawing), bounds_(bounds_of_outline(drawing_)) {
        const double scale =
            std::min((map_width - 2 * rim) / bounds_.width(), (most_height - 2 * rim) / bounds_.height());
        frame_.width = bounds_.width() * scale + 2 * rim, frame_.height = bounds_.height() * scale + 2 * rim;
        frame_.middle = 0.5 * (bounds_.low + bounds_.high), frame_.units_per_m = scale;
        edges_ = runs_of(drawing_.outline), crests_ = runs_of(drawing_.crests);
        find_kept_off();
        place();
        write_key();
    }

    double height() const { return std::max(frame_.height, key_height_); }

    void draw(const Canvas& canvas, double x, double y) const {
        cairo_t* cairo = canvas.cairo();
        cairo_save(cairo);
        cairo_translate(cairo, x, y);
        cairo_new_path(cairo);
        draw_kept_off(canvas);
        draw_lines(canvas);
        draw_squares(canvas);
        draw_readings(canvas);
        for (const Label& label : labels_) draw_label(canvas, label);
        draw_spots(canvas);
        draw_key(canvas);
        cairo_restore(cairo);
    }

    std::string words() const {
        return fmt::format("Map of the panel: {:.0f} x {:.0f} mm, {} readings, {} spots at risk",
                           bounds_.width() / mm, bounds_.height() / mm,
                           facts_.spots.empty() ? 0 : facts_.spots.back().number, spots().size());
    }

private:
    double px(Point2 p) const { return frame_.page_x(p.x); }
    double py(Point2 p) const { return frame_.page_y(p.y); }
    std::span<const RegionAtRisk> spots() const {
        return facts_.plan ? std::span<const RegionAtRisk>(facts_.plan->at_risk)
                           : std::span<const RegionAtRisk>();
    }

    // ---- what is kept off -------------------------------------------------------------------------------

    /// Each name's widest over all steps, m.
    void find_kept_off() {
        if (!facts_.plan) return;
        for (const PlannedStep& step : facts_.plan->steps) {
            const Technique& how = step.technique;
            for (const std::string& name : drawing_.edge_names) {
                const auto own = [&](const std::map<std::string, double>& by_name, double general) {
                    const auto found = by_name.find(name);
                    return found == by_name.end() ? general : found->second;
                };
                widen(held_m_, name, own(how.hold_back_edge_m, how.hold_back_m));
                widen(taped_m_, name, own(how.tape_edge_m, how.tape_m));
            }
            for (const std::string& name : drawing_.crest_names) {
                if (const auto held = how.hold_back_edge_m.find(name); held != how.hold_back_edge_m.end())
                    widen(held_m_, name, held->second);
                if (const auto taped = how.tape_edge_m.find(name); taped != how.tape_edge_m.end())
                    widen(taped_m_, name, taped->second);
            }
        }
    }
    static void widen(std::map<std::string, double>& widths_m, const std::string& name, double width_m) {
        if (width_m > 0) widths_m[name] = std::max(widths_m[name], width_m);
    }

    void trace(cairo_t* cairo, const std::vector<Point2>& points, bool closed) const {
        for (std::size_t n = 0; n < points.size(); ++n)
            n == 0 ? cairo_move_to(cairo, px(points[n]), py(points[n]))
                   : cairo_line_to(cairo, px(points[n]), py(points[n]));
        if (closed) cairo_close_path(cairo);
    }

    void draw_kept_off(const Canvas& canvas) const {
        cairo_t* cairo = canvas.cairo();
        cairo_save(cairo);
        for (const Polyline& loop : drawing_.outline) trace(cairo, loop.points, true);
        cairo_set_fill_rule(cairo, CAIRO_FILL_RULE_EVEN_ODD);
        cairo_clip(cairo);
        const auto bands = [&](const std::map<std::string, double>& widths_m, Rgb grey) {
            canvas.set_colour(grey);
            const auto along = [&](const std::map<int, std::vector<Run>>& all,
                                   const std::vector<std::string>& names) {
                for (const auto& [name, runs] : all) {
                    if (name < 0) continue;
                    const auto width = widths_m.find(names[static_cast<std::size_t>(name)]);
                    if (width == widths_m.end()) continue;
                    cairo_set_line_width(cairo, 2 * width->second *
                                                    frame_.units_per_m); // a half lies beyond the edge
                    for (const Run& run : runs) trace(cairo, run.points, false), cairo_stroke(cairo);
                }
            };
            along(edges_, drawing_.edge_names), along(crests_, drawing_.crest_names);
        };
        bands(held_m_, held_grey), bands(taped_m_, taped_grey);
        cairo_restore(cairo);
    }

    // ---- names and numbers, none upon another -------------------------------------------------------------

    bool within(const Box& box) const {
        return box.x0 >= 0 && box.y0 >= 0 && box.x1 <= frame_.width && box.y1 <= frame_.height;
    }
    bool free(const Box& box) const {
        return within(box) &&
               std::ranges::none_of(taken_, [&](const Box& other) { return box.meets(other); });
    }
    /// Whether the whole of a text is on the panel, or off it.
    bool all_on(const Label& label, bool on_panel) const {
        const double c = std::cos(label.angle), s = std::sin(label.angle);
        for (const double along : {-0.5, -0.25, 0.0, 0.25, 0.5})
            for (const double across : {-0.5, 0.5}) {
                const double dx = along * label.width(), dy = across * label.height();
                const Point2 at{frame_.panel_u(label.x + c * dx - s * dy),
                                frame_.panel_v(label.y + s * dx + c * dy)};
                if ((signed_distance(drawing_.outline, at) > 0) != on_panel) return false;
            }
        return true;
    }
    bool take(const Label& label) {
        if (!free(label.box()) || !all_on(label, label.on_panel)) return false;
        taken_.push_back(label.box());
        labels_.push_back(label);
        return true;
    }

    void place() {
        for (const RegionAtRisk& region : spots())
            taken_.push_back(box_round(px(region.spot.at), py(region.spot.at), 2 * badge + 1, 2 * badge + 1));
        for (const SpotRead& spot : facts_.spots)
            taken_.push_back(box_round(px(spot.at), py(spot.at), 2 * cross_arm, 2 * cross_arm));
        place_names(edges_, drawing_.edge_names, true);
        place_names(crests_, drawing_.crest_names, false);
        int last = 0;
        for (const SpotRead& spot : facts_.spots)
            if (spot.number != last) place_number(spot), last = spot.number;
    }

    void place_names(const std::map<int, std::vector<Run>>& all, const std::vector<std::string>& names,
                     bool outline) {
        for (const auto& [name, runs] : all) {
            if (name < 0) continue;
            const Run& run = *std::ranges::max_element(runs, {}, &Run::length);
            Label label{shortened(names[static_cast<std::size_t>(name)], name_style, 120),
                        0,
                        0,
                        0,
                        name_style,
                        false};
            if (!place_along(label, run, outline) && !place_near(label, run)) unnamed_.push_back(label.text);
        }
    }

    bool place_along(Label& label, const Run& run, bool outline) {
        const double length = run.length(),
                     half = 0.5 * label.width() / frame_.units_per_m / std::max(length, 1e-9);
        std::vector<bool> sides{true};
        if (outline) sides = {false, true};
        for (const bool on_panel : sides)
            for (const double away : {2.5, 6.0, 11.0}) // a line that bends towards the text needs more
                for (const double share : {0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9}) {
                    const double off = 0.5 * label.height() + away;
                    const Point2 a = run.at(share - half), b = run.at(share + half), middle = run.at(share);
                    const double dx = px(b) - px(a), dy = py(b) - py(a), d = std::hypot(dx, dy);
                    if (d <= 0) continue;
                    label.angle = std::atan2(dy, dx);
                    if (label.angle > pi / 2 + 1e-9) label.angle -= pi;
                    if (label.angle <= -pi / 2 + 1e-9) label.angle += pi;
                    if (std::abs(label.angle - pi / 2) < 1e-6)
                        label.angle = -pi / 2; // upright text reads from below
                    label.on_panel = on_panel;
                    for (const double side : {1.0, -1.0}) {
                        label.x = px(middle) - side * off * dy / d,
                        label.y = py(middle) + side * off * dx / d;
                        if (take(label)) return true;
                    }
                }
        return false;
    }

    /// Level, the nearest that has room.
    bool place_near(Label& label, const Run& run) {
        constexpr double farthest = 48, step = 3;
        label.angle = 0, label.on_panel = true;
        for (double far = 6; far <= farthest; far += step)
            for (const double share : {0.5, 0.25, 0.75, 0.0})
                for (int turn = 0; turn < 8; ++turn) {
                    const Point2 at = run.at(share);
                    label.x = px(at) + far * std::cos(turn * pi / 4) * 1.5,
                    label.y = py(at) + far * std::sin(turn * pi / 4);
                    if (take(label)) return true;
                }
        return false;
    }

    void place_number(const SpotRead& spot) {
        Label label{std::to_string(spot.number), 0, 0, 0, number_style, true};
        const double dx = cross_arm + 0.5 * label.width() + 1.5, dy = cross_arm + 0.5 * label.height();
        const std::array<std::array<double, 2>, 8> alternatives{
            {{1, 0}, {-1, 0}, {0, -1}, {0, 1}, {1, -1}, {-1, -1}, {1, 1}, {-1, 1}}};
        for (const auto& alternative : alternatives) {
            label.x = px(spot.at) + alternative[0] * dx, label.y = py(spot.at) + alternative[1] * dy;
            if (!free(label.box())) continue;
            taken_.push_back(label.box());
            labels_.push_back(label);
            return;
        }
    }

    void draw_label(const Canvas& canvas, const Label& label) const {
        cairo_t* cairo = canvas.cairo();
        cairo_save(cairo);
        cairo_translate(cairo, label.x, label.y);
        cairo_rotate(cairo, label.angle);
        if (label.on_panel) { // so that it can be read over lines and bands
            canvas.set_colour(picture::paper, 0.85);
            cairo_rectangle(cairo, -0.5 * label.width() - 0.8, -0.5 * label.height(), label.width() + 1.6,
                            label.height());
            cairo_fill(cairo);
        }
        canvas.text(-0.5 * label.width(), 0.36 * label.style.size, label.text, label.style);
        cairo_restore(cairo);
    }

    // ---- lines and marks ----------------------------------------------------------------------------------

    void draw_lines(const Canvas& canvas) const {
        cairo_t* cairo = canvas.cairo();
        canvas.set_colour(black);
        const double dashes[] = {4, 2.5};
        cairo_set_line_width(cairo, 0.8);
        cairo_set_dash(cairo, dashes, 2, 0);
        for (const Polyline& crest : drawing_.crests)
            trace(cairo, crest.points, crest.closed), cairo_stroke(cairo);
        cairo_set_dash(cairo, nullptr, 0, 0);
        cairo_set_line_width(cairo, 1.4);
        for (const Polyline& loop : drawing_.outline) trace(cairo, loop.points, true), cairo_stroke(cairo);
    }

    void draw_squares(const Canvas& canvas) const {
        cairo_t* cairo = canvas.cairo();
        const double dots[] = {1.2, 2};
        cairo_set_line_width(cairo, 0.8);
        cairo_set_dash(cairo, dots, 2, 0);
        canvas.set_colour(black);
        for (const TriedSquare& tried : facts_.squares) {
            const SquareRow& s = tried.square;
            cairo_rectangle(cairo, px({s.x_m - s.width_m / 2, 0}), py({0, s.y_m + s.height_m / 2}),
                            s.width_m * frame_.units_per_m, s.height_m * frame_.units_per_m);
            cairo_stroke(cairo);
        }
        cairo_set_dash(cairo, nullptr, 0, 0);
    }

    static void draw_cross(const Canvas& canvas, double x, double y) {
        cairo_t* cairo = canvas.cairo();
        canvas.set_colour(black);
        cairo_set_line_width(cairo, 0.8);
        cairo_move_to(cairo, x - cross_arm, y), cairo_line_to(cairo, x + cross_arm, y);
        cairo_move_to(cairo, x, y - cross_arm), cairo_line_to(cairo, x, y + cross_arm);
        cairo_stroke(cairo);
    }
    static void draw_spot(const Canvas& canvas, double x, double y, const std::string& number) {
        cairo_t* cairo = canvas.cairo();
        cairo_new_path(cairo);
        cairo_arc(cairo, x, y, badge, 0, 2 * pi);
        canvas.set_colour(picture::paper);
        cairo_fill_preserve(cairo);
        canvas.set_colour(black);
        cairo_set_line_width(cairo, 1.3);
        cairo_stroke(cairo);
        canvas.text(x, y + 0.36 * badge_style.size, number, badge_style, Align::centre);
    }

    void draw_readings(const Canvas& canvas) const {
        for (const SpotRead& spot : facts_.spots) draw_cross(canvas, px(spot.at), py(spot.at));
    }
    void draw_spots(const Canvas& canvas) const {
        std::vector<Box> drawn; // where two would lie upon each other the higher chance is shown
        for (std::size_t k = 0; k < spots().size(); ++k) {
            const double x = px(spots()[k].spot.at), y = py(spots()[k].spot.at);
            const Box box = box_round(x, y, 2 * badge, 2 * badge);
            if (std::ranges::any_of(drawn, [&](const Box& other) { return box.meets(other); })) continue;
            drawn.push_back(box);
            draw_spot(canvas, x, y, std::to_string(k + 1));
        }
    }

    // ---- key
    // ------------------------------------------------------------------------------------------------

    enum class Mark { edge, line, held, taped, reading, spot, square, none };
    struct Entry {
        Mark mark;
        std::vector<std::string> lines;
    };
    static constexpr double key_line = 10, key_step = 4, key_indent = 26;

    void write_key() {
        const auto add = [&](Mark mark, const std::string& text) {
            key_.push_back({mark, wrap_text(text, key_style, key_width - key_indent)});
            key_height_ += key_line * static_cast<double>(key_.back().lines.size()) + key_step;
        };
        add(Mark::edge, "edge of the panel");
        if (!drawing_.crests.empty()) add(Mark::line, "body line, roll or rim");
        if (!held_m_.empty()) add(Mark::held, "the pad's rim stays off (widest of the steps)");
        if (!taped_m_.empty()) add(Mark::taped, "taped (widest of the steps)");
        if (!facts_.spots.empty()) add(Mark::reading, "film reading, by its number");
        if (!spots().empty()) add(Mark::spot, "spot at risk, by its number");
        if (!facts_.squares.empty()) add(Mark::square, "test section");
        bar_mm_ = 100;
        while (2.01 * bar_mm_ * mm * frame_.units_per_m < key_width) bar_mm_ *= 2;
        while (bar_mm_ * mm * frame_.units_per_m > key_width - 4 && bar_mm_ > 1) bar_mm_ /= 2;
        add(Mark::none, "u to the right, v up, from the drawing's corner");
        if (!unnamed_.empty())
            add(Mark::none, shortened(fmt::format("no room for: {}", fmt::join(unnamed_, ", ")), key_style,
                                      3 * key_width));
        key_height_ += 2 * key_line + key_step; // the bar
    }

    void draw_key(const Canvas& canvas) const {
        cairo_t* cairo = canvas.cairo();
        const double left = map_width + key_gap;
        double y = key_line;
        for (const Entry& entry : key_) {
            draw_mark(canvas, entry.mark, left + 9, y - 2.7);
            for (const std::string& line : entry.lines) {
                canvas.text(left + (entry.mark == Mark::none ? 0 : key_indent), y, line, key_style);
                y += key_line;
            }
            y += key_step;
        }
        const double length = bar_mm_ * mm * frame_.units_per_m;
        canvas.set_colour(black);
        cairo_set_line_width(cairo, 1.2);
        for (const double x : {left, left + length})
            cairo_move_to(cairo, x, y - 3), cairo_line_to(cairo, x, y + 3);
        cairo_move_to(cairo, left, y), cairo_line_to(cairo, left + length, y);
        cairo_stroke(cairo);
        canvas.text(left, y + 12, fmt::format("{:g} mm", bar_mm_), key_style);
    }

    void draw_mark(const Canvas& canvas, Mark mark, double x, double y) const {
        cairo_t* cairo = canvas.cairo();
        const double dashes[] = {4, 2.5}, dots[] = {1.2, 2};
        canvas.set_colour(mark == Mark::held ? held_grey : mark == Mark::taped ? taped_grey : black);
        switch (mark) {
        case Mark::edge:
        case Mark::line:
            cairo_set_line_width(cairo, mark == Mark::edge ? 1.4 : 0.8);
            if (mark == Mark::line) cairo_set_dash(cairo, dashes, 2, 0);
            cairo_move_to(cairo, x - 9, y), cairo_line_to(cairo, x + 9, y);
            cairo_stroke(cairo);
            break;
        case Mark::held:
        case Mark::taped:
            cairo_rectangle(cairo, x - 9, y - 4, 18, 8);
            cairo_fill(cairo);
            break;
        case Mark::reading: draw_cross(canvas, x, y); break;
        case Mark::spot: draw_spot(canvas, x, y, "1"); break;
        case Mark::square:
            cairo_set_line_width(cairo, 0.8);
            cairo_set_dash(cairo, dots, 2, 0);
            cairo_rectangle(cairo, x - 5, y - 4, 10, 8);
            cairo_stroke(cairo);
            break;
        case Mark::none: break;
        }
        cairo_set_dash(cairo, nullptr, 0, 0);
    }

    SheetPanel facts_;
    const Panel& drawing_;
    Bounds bounds_;
    MapFrame frame_;
    std::map<int, std::vector<Run>> edges_, crests_;
    std::map<std::string, double> held_m_, taped_m_;
    std::vector<Box> taken_;
    std::vector<Label> labels_;
    std::vector<std::string> unnamed_;
    std::vector<Entry> key_;
    double key_height_ = 0, bar_mm_ = 100;
};

} // namespace

document::Picture map_of(const SheetPanel& panel) {
    const auto map = std::make_shared<const PanelMap>(panel);
    return {document::widest_pt, map->height(), map->words(),
            [map](const Canvas& canvas, double x, double y) { map->draw(canvas, x, y); }};
}

} // namespace sparecoat::picture::sheet
