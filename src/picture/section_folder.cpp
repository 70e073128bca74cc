#include "picture/section_folder.hpp"
#include "picture/chart/large_chart.hpp"
#include "picture/run_folder.hpp"
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

constexpr Rgb target_colour{0.25, 0.27, 0.31};
/// Eight that are told apart by lightness as well as by hue.
constexpr std::array<Rgb, 8> step_colours{Rgb{0.10, 0.37, 0.61}, Rgb{0.87, 0.52, 0.10}, Rgb{0.13, 0.55, 0.40},
                                          Rgb{0.70, 0.22, 0.24}, Rgb{0.48, 0.36, 0.66}, Rgb{0.52, 0.37, 0.22},
                                          Rgb{0.80, 0.45, 0.66}, Rgb{0.35, 0.62, 0.75}};
constexpr double page_width = 1400, page_height = 860;
constexpr double bold_line = 7, thin_line = 2.2, dot_radius = 8, chosen_radius = 11;

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

/// As far as the axis is to reach, in µm.
double axis_end_um(const PanelAdvice& panel) {
    const Advice& advice = panel.advice;
    double most = 0;
    if (advice.choice) most = 1.25 * advice.outlooks[*advice.choice].film_um.high;
    else if (!advice.outlooks.empty()) most = advice.outlooks.back().film_um.median;
    if (advice.so_far) most = std::max(most, 1.1 * advice.so_far->film_um.high);
    for (const LookPoint& look : look_points(panel)) most = std::max(most, 1.05 * look.film_um.high);
    return std::max(most, 0.5);
}

/// Nine in ten of what is believed of the share at each film lost.
PlotBand belief_band(const Plot& plot, const PanelAdvice& panel, const StepEffect& step, Rgb colour) {
    const std::vector<BeliefPoint> belief = points_of(panel.belief);
    const RemovedSpread one_set = spread_of(step.removed_um);
    PlotBand band{{}, {}, {colour, 0.12}};
    constexpr int stretches = 80;
    for (int n = 0; n <= stretches; ++n) {
        const double film = plot.x.scale.high / plot.x.factor * n / stretches;
        std::vector<std::pair<double, double>> shares; // share, weight
        for (const BeliefPoint& point : belief)
            shares.emplace_back(
                share_cleared(panel.ground.marks, one_set, film / step.mean_um, point.depth_scale),
                point.weight);
        std::ranges::sort(shares);
        double low = shares.front().first, high = shares.back().first, sum = 0;
        for (const auto& [share, weight] : shares) {
            if (sum < 0.05) low = share;
            if (sum < 0.95) high = share;
            sum += weight;
        }
        band.low.push_back({film, low}), band.high.push_back({film, high});
    }
    return band;
}

Stroke step_stroke(std::size_t n, bool bold) { return {{step_colours[n]}, bold ? bold_line : thin_line}; }

PlotCurve step_curve(const PanelAdvice& panel, const StepEffect& step, Middle middle, double most_sets,
                     const Stroke& stroke) {
    const RemovedSpread one_set = spread_of(step.removed_um);
    PlotCurve curve{{}, stroke};
    constexpr int stretches = 60;
    for (int n = 0; n <= stretches; ++n) {
        const double sets = most_sets * n / stretches;
        curve.points.push_back({middle.cut * sets * step.mean_um, curve_share(panel, one_set, sets, middle)});
    }
    return curve;
}

/// @param number inside it: sets of the first step; none for the key's
PlotMark dot(PlotPoint at, double radius, Rgb colour, bool filled, const std::string& number = {}) {
    return {at,
            {Marker::Shape::disc, radius, Fill{filled ? colour : paper}, Stroke{{colour}, 2}},
            number,
            {{1.5 * radius, true, filled ? paper : colour}},
            0.55 * radius};
}

PlotErrors bars(const Interval& film_um, const Interval& share, Rgb colour) {
    return {{film_um.median, share.median},
            std::pair{film_um.low, film_um.high},
            std::pair{share.low, share.high},
            5,
            {{colour}, 1.8}};
}

const Marker look_marker{Marker::Shape::diamond, 7.5, Fill{ink}};

/// How far each first step reaches. What clears goes by the film that is gone, whichever step takes it, so
/// the curves lie all but on each other: the recommended one goes beneath, the others in the order of their
/// reach, the shortest on top.
void add_curves(std::vector<PlotLayer>& layers, const PanelAdvice& panel,
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
        layers.emplace_back(step_curve(panel, panel.ground.effects[steps[reach.at]], middle, reach.sets,
                                       step_stroke(reach.at, steps[reach.at] == recommended)));
}

void add_dots(std::vector<PlotLayer>& layers, const Advice& advice, const std::vector<std::size_t>& steps,
              const Target& target) {
    for (const Outlook& outlook : advice.outlooks) {
        const auto at = std::ranges::find(steps, outlook.sequence.front().step);
        if (at == steps.end() || (advice.choice && &outlook == &advice.outlooks[*advice.choice])) continue;
        layers.emplace_back(dot({outlook.film_um.median, outlook.share.median}, dot_radius,
                                step_colours[static_cast<std::size_t>(at - steps.begin())],
                                outlook.haze <= target.haze, std::to_string(outlook.sequence.front().sets)));
    }
    if (!advice.choice) return;
    const Outlook& o = advice.outlooks[*advice.choice];
    layers.emplace_back(bars(o.film_um, o.share, step_colours[0]));
    layers.emplace_back(dot({o.film_um.median, o.share.median}, chosen_radius, step_colours[0], true,
                            std::to_string(o.sequence.front().sets)));
}

/// The column beside the plot: what the lines, dots and diamonds are.
class Key {
public:
    Key(const Painter& painter, PlotPoint at) : painter_(painter), at_(at) {}

    void heading(const std::string& words) {
        at_.y += 8;
        painter_.text(at_, words, {{17, true, ink}});
        at_.y += 28;
    }
    /// @param sample draws with its middle at a place
    template <class Sample> void entry(const std::string& words, bool bold, Sample sample) {
        const PlotText text{{16, bold, ink}};
        sample(PlotPoint{at_.x + 18, at_.y - 5});
        for (const std::string& part : wrap_text(words, text.style, page_width - at_.x - 78)) {
            painter_.text({at_.x + 50, at_.y}, part, text);
            at_.y += 21;
        }
        at_.y += 6;
    }
    /// A sample that is a mark.
    void entry(const std::string& words, bool bold, const PlotMark& mark) {
        entry(words, bold, [&](PlotPoint at) { paint_mark(painter_, at, mark); });
    }

private:
    const Painter& painter_;
    PlotPoint at_;
};

void draw_key(const Painter& painter, const PanelAdvice& panel, const std::vector<std::size_t>& steps,
              std::size_t recommended, bool any_looks, FilmUnit unit) {
    Key key(painter, {936, 140});
    key.heading("First steps, and what one set takes");
    for (std::size_t n = 0; n < steps.size(); ++n) {
        const StepEffect& effect = panel.ground.effects[steps[n]];
        const bool bold = steps[n] == recommended;
        key.entry(fmt::format("{}: {}", brief_words(panel.ground.effects, steps[n]),
                              film_text(effect.mean_um, unit)),
                  bold, [&](PlotPoint at) {
                      painter.line({at.x - 18, at.y}, {at.x + 18, at.y}, step_stroke(n, bold));
                  });
    }
    key.heading("Sequences");
    key.entry("so many sets of the first step, with all that refines it; the finish met", false,
              dot({}, dot_radius, large_chart_grey, true, "2"));
    key.entry("the finish not met", false, dot({}, dot_radius, large_chart_grey, false, "2"));
    if (recommended < panel.ground.effects.size())
        key.entry("recommended, with its 90 % intervals", true,
                  dot({}, chosen_radius, step_colours[0], true));
    key.entry("90 % of what is believed of the marks", false, [&](PlotPoint at) {
        painter.box({at.x - 18, at.y - 8, 36, 16}, {step_colours[0], 0.14});
    });
    if (any_looks) key.entry("seen on a square, with 90 % error bars", false, PlotMark{{}, look_marker});
}

} // namespace

std::string chart_name(const PanelAdvice& panel) {
    return std::filesystem::path(panel.panel.panel).stem().string() + ".png";
}

void draw_section_chart(const std::filesystem::path& png, const PanelAdvice& panel, const Target& target,
                        FilmUnit unit) {
    const Canvas canvas(page_width, page_height, 1, paper);
    const CanvasPainter painter(canvas);
    const Advice& advice = panel.advice;
    painter.text({36, 48}, panel.ground.panel->name + ": what clears, and what it costs", {{28, true, ink}});
    double y = 78;
    const PlotText lead{{18, false, ink}};
    for (const std::string& text :
         wrap_text(recommendation(panel, target, unit), lead.style, page_width - 72)) {
        painter.text({36, y}, text, lead);
        y += 24;
    }

    const double most_um = axis_end_um(panel), per_um = unit == FilmUnit::mil ? 1 / um_per_mil : 1;
    PlacedChart chart;
    Plot& plot = chart.plot;
    plot = {96,
            std::max(128.0, y + 12),
            900,
            760,
            axis_of(round_scale(0, most_um * per_um), per_um),
            axis_of(locked_scale(0, 104), 100)}; // room for what clears all
    const Middle middle{std::exp(panel.belief.cut.quantile(0.5)), std::exp(panel.belief.depth.quantile(0.5))};
    const std::vector<std::size_t> steps = first_steps(panel, most_um);
    const std::size_t none = panel.ground.effects.size();
    const std::size_t recommended =
        advice.choice ? advice.outlooks[*advice.choice].sequence.front().step : none;
    const std::vector<LookPoint> looks = look_points(panel);

    chart.look = large_chart_axes(plot,
                                  unit == FilmUnit::mil ? "film lost, mil (mean of the open panel)"
                                                        : "film lost, µm (mean of the open panel)",
                                  56, "share of the marks cleared, %", 34);
    chart.within = {plot.left, plot.top, plot.right - plot.left, plot.bottom - plot.top};
    chart.layers.emplace_back(belief_band(plot, panel, panel.ground.effects[steps.front()], step_colours[0]));
    for (PlotLayer& layer : large_chart_target(plot, target.share, target_colour, 1.6,
                                               fmt::format("target {:.3g} %", 100 * target.share)))
        chart.layers.push_back(std::move(layer));
    add_curves(chart.layers, panel, steps, recommended, middle);
    add_dots(chart.layers, advice, steps, target);
    for (const LookPoint& look : looks) {
        chart.layers.emplace_back(bars(look.film_um, look.share, ink));
        chart.layers.emplace_back(PlotMark{{look.film_um.median, look.share.median}, look_marker});
    }
    paint(painter, chart);
    draw_key(painter, panel, steps, recommended, !looks.empty(), unit);
    painter.text({36, page_height - 20}, "Estimate from a model: the film gauge decides.",
                 {{15, false, large_chart_grey}});
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
