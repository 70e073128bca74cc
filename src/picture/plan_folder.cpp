#include "picture/plan_folder.hpp"
#include "picture/canvas.hpp"
#include "picture/run_folder.hpp"
#include "picture/scale.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

constexpr Rgb paper{1, 1, 1}, ink{0.13, 0.14, 0.17}, faint{0.86, 0.87, 0.89}, grey{0.45, 0.47, 0.51};
constexpr double width = 1200, height = 820;
constexpr double left = 100, top = 130, right = 960, bottom = 710;
constexpr double dot_radius = 6, chosen_radius = 11;

/// The plot's scales and what a point's place and colour are.
struct Plot {
    Scale film;  ///< in the unit shown
    Scale share; ///< per cent
    Scale hours;
    double per_um = 1;
    double x(double um) const { return left + (right - left) * film.share(um * per_um); }
    double y(double share_of_one) const { return bottom - (bottom - top) * share.share(100 * share_of_one); }
    /// Quick is pale, slow is dark.
    Rgb colour(double seconds) const {
        return clear_left_colours().at(0.92 - 0.84 * hours.share(seconds / 3600));
    }
};

void line(const Canvas& canvas, double x0, double y0, double x1, double y1) {
    cairo_move_to(canvas.cairo(), x0, y0);
    cairo_line_to(canvas.cairo(), x1, y1);
    cairo_stroke(canvas.cairo());
}

void draw_axes(const Canvas& canvas, const Plot& plot, const Target& target, FilmUnit unit) {
    cairo_set_line_width(canvas.cairo(), 1);
    for (const double tick : plot.film.ticks) {
        const double x = left + (right - left) * plot.film.share(tick);
        canvas.set_colour(faint);
        line(canvas, x, top, x, bottom);
        canvas.text(x, bottom + 24, tick_text(tick, plot.film.step), {16, false, grey}, Align::centre);
    }
    for (const double tick : plot.share.ticks) {
        canvas.set_colour(faint);
        line(canvas, left, plot.y(tick / 100), right, plot.y(tick / 100));
        canvas.text(left - 12, plot.y(tick / 100) + 6, tick_text(tick, plot.share.step), {16, false, grey},
                    Align::right);
    }
    canvas.set_colour(ink);
    cairo_set_line_width(canvas.cairo(), 1.4);
    line(canvas, left, bottom, right, bottom);
    line(canvas, left, top, left, bottom);
    canvas.text(
        0.5 * (left + right), bottom + 58,
        fmt::format("film lost on open ground, {} (mean by area)", unit == FilmUnit::mil ? "mil" : "µm"),
        {18, false, ink}, Align::centre);
    canvas.text_on_line(
        36, 0.5 * (top + bottom), -0.5 * pi,
        fmt::format("marks cleared with a chance of {:.3g} %, % (mean by area)", 100 * target.chance),
        {18, false, ink}, paper);
}

void draw_target(const Canvas& canvas, const Plot& plot, const Target& target) {
    const double dashes[] = {9, 6};
    canvas.set_colour(ink);
    cairo_set_line_width(canvas.cairo(), 1.4);
    cairo_set_dash(canvas.cairo(), dashes, 2, 0);
    line(canvas, left, plot.y(target.share), right, plot.y(target.share));
    cairo_set_dash(canvas.cairo(), nullptr, 0, 0);
    canvas.text(right - 8, plot.y(target.share) - 8, fmt::format("target {:.3g} %", 100 * target.share),
                {16, false, ink}, Align::right);
}

void draw_dot(const Canvas& canvas, double x, double y, double radius, Rgb colour, double rim) {
    cairo_arc(canvas.cairo(), x, y, radius, 0, 2 * pi);
    canvas.set_colour(colour);
    cairo_fill_preserve(canvas.cairo());
    canvas.set_colour(ink);
    cairo_set_line_width(canvas.cairo(), rim);
    cairo_stroke(canvas.cairo());
}

void draw_time_key(const Canvas& canvas, const Plot& plot) {
    constexpr double x = 1010, key_width = 22, key_top = 210, key_bottom = 520;
    canvas.text(x, key_top - 44, "time, h,", {17, true, ink});
    canvas.text(x, key_top - 20, "set-up counted", {15, false, grey});
    for (double y = key_top; y < key_bottom; ++y) {
        canvas.set_colour(plot.colour(3600 * (plot.hours.high - (plot.hours.high - plot.hours.low) *
                                                                    (y - key_top) / (key_bottom - key_top))));
        cairo_rectangle(canvas.cairo(), x, y, key_width, 1.5);
        cairo_fill(canvas.cairo());
    }
    for (const double tick : plot.hours.ticks)
        canvas.text(x + key_width + 10, key_bottom - (key_bottom - key_top) * plot.hours.share(tick) + 6,
                    tick_text(tick, plot.hours.step), {16, false, grey});
    draw_dot(canvas, x + 11, key_bottom + 54, chosen_radius, plot.colour(plot.hours.low * 3600), 3);
    canvas.text(x + 32, key_bottom + 60, "the plan", {16, true, ink});
}

} // namespace

void draw_front_chart(const std::filesystem::path& png, const VehiclePlan& plan, FilmUnit unit) {
    const Canvas canvas(width, height, 1, paper);
    Plot plot;
    plot.per_um = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
    double most_um = plan.chosen.film_um, most_s = plan.chosen.time_s;
    for (const VehiclePlan::Point& point : plan.front)
        most_um = std::max(most_um, point.film_um), most_s = std::max(most_s, point.time_s);
    plot.film = round_scale(0, 1.02 * most_um * plot.per_um);
    plot.share = locked_scale(0, 104);
    plot.hours = round_scale(0, most_s / 3600);
    canvas.text(36, 48, plan.name + ": film against marks cleared against time", {28, true, ink});
    canvas.text(36, 82, "Each dot is a choice for every panel that no other beats in all three.",
                {18, false, grey});
    draw_axes(canvas, plot, plan.target, unit);
    draw_target(canvas, plot, plan.target);
    for (const VehiclePlan::Point& point : plan.front)
        draw_dot(canvas, plot.x(point.film_um), plot.y(point.share), dot_radius, plot.colour(point.time_s),
                 0.8);
    draw_dot(canvas, plot.x(plan.chosen.film_um), plot.y(plan.chosen.share), chosen_radius,
             plot.colour(plan.chosen.time_s), 3);
    draw_time_key(canvas, plot);
    canvas.write_png(png);
}

nlohmann::json write_plan(const std::filesystem::path& folder, const VehiclePlan& plan, FilmUnit unit) {
    const nlohmann::json document = plan_json(plan);
    write_json(folder / "plan.json", document);
    if (!plan.front.empty()) draw_front_chart(folder / "front.png", plan, unit);
    return document;
}

} // namespace sparecoat::picture
