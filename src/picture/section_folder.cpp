#include "picture/section_folder.hpp"
#include "picture/canvas.hpp"
#include "picture/run_folder.hpp"
#include "picture/scale.hpp"
#include "picture/section_curves.hpp"
#include "picture/section_words.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

constexpr Rgb paper{1, 1, 1}, ink{0.13, 0.14, 0.17}, faint{0.86, 0.87, 0.89}, grey{0.45, 0.47, 0.51};
constexpr Rgb target_colour{0.25, 0.27, 0.31};
/// Eight that are told apart by lightness as well as by hue.
constexpr std::array<Rgb, 8> step_colours{Rgb{0.10, 0.37, 0.61}, Rgb{0.87, 0.52, 0.10}, Rgb{0.13, 0.55, 0.40},
                                          Rgb{0.70, 0.22, 0.24}, Rgb{0.48, 0.36, 0.66}, Rgb{0.52, 0.37, 0.22},
                                          Rgb{0.80, 0.45, 0.66}, Rgb{0.35, 0.62, 0.75}};
constexpr double width = 1400, height = 860;
constexpr double bold_line = 7, thin_line = 2.2, dot_radius = 8, chosen_radius = 11;

/// The plot's box on the page, and what its sides stand for.
struct Plot {
    double left = 96, top = 128, right = 900, bottom = 760;
    Scale film;  ///< in the unit shown
    Scale share; ///< per cent
    double per_um = 1;
    double x(double um) const { return left + (right - left) * film.share(um * per_um); }
    double y(double share_of_one) const { return bottom - (bottom - top) * share.share(100 * share_of_one); }
};

/// Values that stand for what is believed: cut and depth at their medians.
struct Middle {
    double cut = 1, depth = 1;
};

double curve_share(const PanelAdvice& panel, const RemovedSpread& one_set, double sets, Middle middle) {
    return share_cleared(panel.ground.marks, one_set, sets * middle.cut, middle.depth);
}

/// First steps that get a curve: that of the recommendation, those that were used, then the mildest others.
std::vector<std::size_t> first_steps(const PanelAdvice& panel, double most_um) {
    std::vector<std::size_t> steps;
    const auto add = [&](std::size_t step) {
        if (steps.size() < step_colours.size() && std::ranges::find(steps, step) == steps.end())
            steps.push_back(step);
    };
    const Advice& advice = panel.advice;
    if (advice.choice) add(advice.outlooks[*advice.choice].sequence.front().step);
    if (advice.so_far)
        for (const Sets& part : advice.so_far->sequence) add(part.step);
    for (const Outlook& outlook : advice.outlooks)
        if (outlook.film_um.median < most_um) add(outlook.sequence.front().step);
    return steps;
}

double most_film_um(const PanelAdvice& panel) {
    const Advice& advice = panel.advice;
    double most = 0;
    if (advice.choice) most = 1.25 * advice.outlooks[*advice.choice].film_um.high;
    else if (!advice.outlooks.empty()) most = advice.outlooks.back().film_um.median;
    if (advice.so_far) most = std::max(most, 1.1 * advice.so_far->film_um.high);
    for (const LookPoint& look : look_points(panel)) most = std::max(most, 1.05 * look.film_um.high);
    return std::max(most, 0.5);
}

void line(const Canvas& canvas, double x0, double y0, double x1, double y1) {
    cairo_move_to(canvas.cairo(), x0, y0);
    cairo_line_to(canvas.cairo(), x1, y1);
    cairo_stroke(canvas.cairo());
}

void draw_axes(const Canvas& canvas, const Plot& plot, FilmUnit unit) {
    cairo_t* cairo = canvas.cairo();
    cairo_set_line_width(cairo, 1);
    canvas.set_colour(faint);
    for (const double tick : plot.film.ticks) {
        const double x = plot.left + (plot.right - plot.left) * plot.film.share(tick);
        canvas.set_colour(faint);
        line(canvas, x, plot.top, x, plot.bottom);
        canvas.text(x, plot.bottom + 24, tick_text(tick, plot.film.step), {16, false, grey}, Align::centre);
    }
    for (const double tick : plot.share.ticks) {
        const double y = plot.y(tick / 100);
        canvas.set_colour(faint);
        line(canvas, plot.left, y, plot.right, y);
        canvas.text(plot.left - 12, y + 6, tick_text(tick, plot.share.step), {16, false, grey}, Align::right);
    }
    canvas.set_colour(ink);
    cairo_set_line_width(cairo, 1.4);
    line(canvas, plot.left, plot.bottom, plot.right, plot.bottom);
    line(canvas, plot.left, plot.top, plot.left, plot.bottom);
    canvas.text(0.5 * (plot.left + plot.right), plot.bottom + 56,
                unit == FilmUnit::mil ? "film lost, mil (mean of the open panel)"
                                      : "film lost, µm (mean of the open panel)",
                {18, false, ink}, Align::centre);
    canvas.text_on_line(34, 0.5 * (plot.top + plot.bottom), -0.5 * pi, "share of the marks cleared, %",
                        {18, false, ink}, paper);
}

void clip_to(const Canvas& canvas, const Plot& plot) {
    cairo_rectangle(canvas.cairo(), plot.left, plot.top, plot.right - plot.left, plot.bottom - plot.top);
    cairo_clip(canvas.cairo());
}

void draw_target(const Canvas& canvas, const Plot& plot, const Target& target) {
    const double dashes[] = {9, 6};
    canvas.set_colour(target_colour);
    cairo_set_line_width(canvas.cairo(), 1.6);
    cairo_set_dash(canvas.cairo(), dashes, 2, 0);
    line(canvas, plot.left, plot.y(target.share), plot.right, plot.y(target.share));
    cairo_set_dash(canvas.cairo(), nullptr, 0, 0);
    canvas.text(plot.right - 8, plot.y(target.share) - 8, fmt::format("target {:.3g} %", 100 * target.share),
                {16, false, target_colour}, Align::right);
}

/// Nine in ten of what is believed of the share at each film lost.
void draw_band(const Canvas& canvas, const Plot& plot, const PanelAdvice& panel, const StepEffect& step,
               Rgb colour) {
    const std::vector<BeliefPoint> belief = points_of(panel.belief);
    const RemovedSpread one_set = spread_of(step.removed_um);
    std::vector<std::pair<double, Interval>> band;
    constexpr int stretches = 80;
    for (int n = 0; n <= stretches; ++n) {
        const double film = plot.film.high / plot.per_um * n / stretches;
        std::vector<std::pair<double, double>> shares; // share, weight
        for (const BeliefPoint& point : belief)
            shares.emplace_back(
                share_cleared(panel.ground.marks, one_set, film / step.mean_um, point.depth_scale),
                point.weight);
        std::ranges::sort(shares);
        Interval interval{shares.front().first, 0, shares.back().first};
        double sum = 0;
        for (const auto& [share, weight] : shares) {
            if (sum < 0.05) interval.low = share;
            if (sum < 0.95) interval.high = share;
            sum += weight;
        }
        band.emplace_back(film, interval);
    }
    cairo_t* cairo = canvas.cairo();
    for (const auto& [film, share] : band) cairo_line_to(cairo, plot.x(film), plot.y(share.low));
    for (auto at = band.rbegin(); at != band.rend(); ++at)
        cairo_line_to(cairo, plot.x(at->first), plot.y(at->second.high));
    cairo_close_path(cairo);
    canvas.set_colour(colour, 0.12);
    cairo_fill(cairo);
}

void draw_curve(const Canvas& canvas, const Plot& plot, const PanelAdvice& panel, const StepEffect& step,
                Middle middle, double most_sets, Rgb colour, bool bold) {
    const RemovedSpread one_set = spread_of(step.removed_um);
    constexpr int stretches = 60;
    for (int n = 0; n <= stretches; ++n) {
        const double sets = most_sets * n / stretches;
        cairo_line_to(canvas.cairo(), plot.x(middle.cut * sets * step.mean_um),
                      plot.y(curve_share(panel, one_set, sets, middle)));
    }
    canvas.set_colour(colour);
    cairo_set_line_width(canvas.cairo(), bold ? bold_line : thin_line);
    cairo_stroke(canvas.cairo());
}

/// @param number inside it: sets of the first step; none for the key's
void draw_dot(const Canvas& canvas, double x, double y, double radius, Rgb colour, bool filled,
              const std::string& number = {}) {
    cairo_arc(canvas.cairo(), x, y, radius, 0, 2 * pi);
    canvas.set_colour(filled ? colour : paper);
    cairo_fill_preserve(canvas.cairo());
    canvas.set_colour(colour);
    cairo_set_line_width(canvas.cairo(), 2);
    cairo_stroke(canvas.cairo());
    canvas.text(x, y + 0.55 * radius, number, {1.5 * radius, true, filled ? paper : colour}, Align::centre);
}

void draw_bars(const Canvas& canvas, const Plot& plot, const Interval& film_um, const Interval& share,
               Rgb colour) {
    canvas.set_colour(colour);
    cairo_set_line_width(canvas.cairo(), 1.8);
    const double x = plot.x(film_um.median), y = plot.y(share.median), cap = 5;
    const double x0 = plot.x(film_um.low), x1 = plot.x(film_um.high), y0 = plot.y(share.low),
                 y1 = plot.y(share.high);
    line(canvas, x0, y, x1, y);
    line(canvas, x, y0, x, y1);
    for (const double end : {x0, x1}) line(canvas, end, y - cap, end, y + cap);
    for (const double end : {y0, y1}) line(canvas, x - cap, end, x + cap, end);
}

void draw_diamond(const Canvas& canvas, double x, double y, double size) {
    cairo_t* cairo = canvas.cairo();
    cairo_move_to(cairo, x, y - size);
    cairo_line_to(cairo, x + size, y);
    cairo_line_to(cairo, x, y + size);
    cairo_line_to(cairo, x - size, y);
    cairo_close_path(cairo);
    canvas.set_colour(ink);
    cairo_fill(cairo);
}

/// How far each first step reaches. What clears goes by the film that is gone, whichever step takes it, so
/// the curves lie all but on each other: the recommended one goes beneath, the others in the order of their
/// reach, the shortest on top.
void draw_curves(const Canvas& canvas, const Plot& plot, const PanelAdvice& panel,
                 const std::vector<std::size_t>& steps, std::size_t recommended, Middle middle) {
    struct Reach {
        std::size_t at;
        int sets;
        double um;
    };
    std::vector<Reach> reaches;
    for (std::size_t n = 0; n < steps.size(); ++n) {
        int sets = 2;
        for (const Outlook& outlook : panel.advice.outlooks)
            if (outlook.sequence.front().step == steps[n])
                sets = std::max(sets, outlook.sequence.front().sets);
        const bool bold = steps[n] == recommended;
        reaches.push_back({n, sets, bold ? 1e9 : sets * panel.ground.effects[steps[n]].mean_um});
    }
    std::ranges::stable_sort(reaches, std::ranges::greater(), &Reach::um);
    for (const Reach& reach : reaches)
        draw_curve(canvas, plot, panel, panel.ground.effects[steps[reach.at]], middle, reach.sets,
                   step_colours[reach.at], steps[reach.at] == recommended);
}

/// The column beside the plot: what the lines, dots and diamonds are.
class Key {
public:
    Key(const Canvas& canvas, double x, double y) : canvas_(canvas), x_(x), y_(y) {}

    void heading(const std::string& words) {
        y_ += 8;
        canvas_.text(x_, y_, words, {17, true, ink});
        y_ += 28;
    }
    template <class Draw> void entry(const std::string& words, bool bold, Draw draw) {
        draw(x_ + 18, y_ - 5);
        for (const std::string& text : wrap_text(words, {16, bold, ink}, width - x_ - 78)) {
            canvas_.text(x_ + 50, y_, text, {16, bold, ink});
            y_ += 21;
        }
        y_ += 6;
    }

private:
    const Canvas& canvas_;
    double x_, y_;
};

void draw_key(const Canvas& canvas, const PanelAdvice& panel, const std::vector<std::size_t>& steps,
              std::size_t recommended, bool any_looks, FilmUnit unit) {
    Key key(canvas, 936, 140);
    key.heading("First steps, and what one set takes");
    for (std::size_t n = 0; n < steps.size(); ++n) {
        const StepEffect& effect = panel.ground.effects[steps[n]];
        const bool bold = steps[n] == recommended;
        key.entry(fmt::format("{}: {}", brief_words(panel.ground.effects, steps[n]),
                              film_text(effect.mean_um, unit)),
                  bold, [&](double x, double y) {
                      canvas.set_colour(step_colours[n]);
                      cairo_set_line_width(canvas.cairo(), bold ? bold_line : thin_line);
                      line(canvas, x - 18, y, x + 18, y);
                  });
    }
    key.heading("Sequences");
    key.entry("so many sets of the first step, with all that refines it; the finish met", false,
              [&](double x, double y) { draw_dot(canvas, x, y, dot_radius, grey, true, "2"); });
    key.entry("the finish not met", false,
              [&](double x, double y) { draw_dot(canvas, x, y, dot_radius, grey, false, "2"); });
    if (recommended < panel.ground.effects.size())
        key.entry("recommended, with its 90 % intervals", true,
                  [&](double x, double y) { draw_dot(canvas, x, y, chosen_radius, step_colours[0], true); });
    key.entry("90 % of what is believed of the marks", false, [&](double x, double y) {
        canvas.set_colour(step_colours[0], 0.14);
        cairo_rectangle(canvas.cairo(), x - 18, y - 8, 36, 16);
        cairo_fill(canvas.cairo());
    });
    if (any_looks)
        key.entry("seen on a square, with 90 % error bars", false,
                  [&](double x, double y) { draw_diamond(canvas, x, y, 9); });
}

} // namespace

std::string chart_name(const PanelAdvice& panel) {
    return std::filesystem::path(panel.panel.panel).stem().string() + ".png";
}

void draw_section_chart(const std::filesystem::path& png, const PanelAdvice& panel, const Target& target,
                        FilmUnit unit) {
    const Canvas canvas(width, height, 1, paper);
    const Advice& advice = panel.advice;
    canvas.text(36, 48, panel.ground.panel->name + ": what clears, and what it costs", {28, true, ink});
    double y = 78;
    for (const std::string& text :
         wrap_text(recommendation(panel, target, unit), {18, false, ink}, width - 72)) {
        canvas.text(36, y, text, {18, false, ink});
        y += 24;
    }

    const double most_um = most_film_um(panel);
    Plot plot;
    plot.top = std::max(plot.top, y + 12);
    plot.per_um = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
    plot.film = round_scale(0, most_um * plot.per_um);
    plot.share = locked_scale(0, 104); // room for what clears all
    const Middle middle{std::exp(panel.belief.cut.quantile(0.5)), std::exp(panel.belief.depth.quantile(0.5))};
    const std::vector<std::size_t> steps = first_steps(panel, most_um);
    const std::size_t none = panel.ground.effects.size();
    const std::size_t recommended =
        advice.choice ? advice.outlooks[*advice.choice].sequence.front().step : none;

    draw_axes(canvas, plot, unit);
    cairo_save(canvas.cairo());
    clip_to(canvas, plot);
    draw_band(canvas, plot, panel, panel.ground.effects[steps.front()], step_colours[0]);
    draw_target(canvas, plot, target);
    draw_curves(canvas, plot, panel, steps, recommended, middle);
    for (const Outlook& outlook : advice.outlooks) {
        const auto at = std::ranges::find(steps, outlook.sequence.front().step);
        if (at == steps.end() || (advice.choice && &outlook == &advice.outlooks[*advice.choice])) continue;
        draw_dot(canvas, plot.x(outlook.film_um.median), plot.y(outlook.share.median), dot_radius,
                 step_colours[static_cast<std::size_t>(at - steps.begin())], outlook.haze <= target.haze,
                 std::to_string(outlook.sequence.front().sets));
    }
    if (advice.choice) {
        const Outlook& o = advice.outlooks[*advice.choice];
        draw_bars(canvas, plot, o.film_um, o.share, step_colours[0]);
        draw_dot(canvas, plot.x(o.film_um.median), plot.y(o.share.median), chosen_radius, step_colours[0],
                 true, std::to_string(o.sequence.front().sets));
    }
    const std::vector<LookPoint> looks = look_points(panel);
    for (const LookPoint& look : looks) {
        draw_bars(canvas, plot, look.film_um, look.share, ink);
        draw_diamond(canvas, plot.x(look.film_um.median), plot.y(look.share.median), 9);
    }
    cairo_restore(canvas.cairo());
    draw_key(canvas, panel, steps, recommended, !looks.empty(), unit);
    canvas.text(36, height - 20, "Estimate from a model: the film gauge decides.", {15, false, grey});
    canvas.write_png(png);
}

nlohmann::json write_section(const std::filesystem::path& folder, const SectionReport& report,
                             FilmUnit unit) {
    for (const PanelAdvice& panel : report.panels)
        if (!panel.advice.outlooks.empty())
            draw_section_chart(folder / chart_name(panel), panel, report.record.target, unit);
    nlohmann::json document = advice_json(report);
    write_json(folder / "advice.json", document);
    return document;
}

} // namespace sparecoat::picture
