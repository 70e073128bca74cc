#include "picture/chart/plot.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::picture {

double PlotAxis::share(double value) const {
    const double at = scale.share(logarithmic ? std::log10(value) : value * factor);
    if (beyond == Beyond::free) return at;
    return beyond == Beyond::held ? std::clamp(at, 0.0, 1.0) : std::max(at, 0.0);
}

bool PlotAxis::shows(double value) const { return std::isfinite(value) && (!logarithmic || value > 0); }

PlotAxis axis_of(Scale scale, double factor, PlotAxis::Beyond beyond) {
    PlotAxis axis;
    axis.scale = std::move(scale), axis.factor = factor, axis.beyond = beyond;
    for (const double tick : axis.scale.ticks)
        axis.ticks.push_back({axis.scale.share(tick), {tick_text(tick, axis.scale.step)}});
    return axis;
}

namespace {

double tick_x(const Plot& plot, const PlotAxis::Tick& tick) {
    return plot.left + (plot.right - plot.left) * tick.share;
}
double tick_y(const Plot& plot, const PlotAxis::Tick& tick) {
    return plot.bottom - (plot.bottom - plot.top) * tick.share;
}

void paint_grid(const Painter& painter, const Plot& plot, const AxesLook& look) {
    if (look.x.grid)
        for (const PlotAxis::Tick& tick : plot.x.ticks)
            painter.line({tick_x(plot, tick), plot.top}, {tick_x(plot, tick), plot.bottom}, *look.x.grid);
    if (look.y.grid)
        for (const PlotAxis::Tick& tick : plot.y.ticks)
            painter.line({plot.left, tick_y(plot, tick)}, {plot.right, tick_y(plot, tick)}, *look.y.grid);
}

void paint_one(const Painter& painter, const Plot&, const PlotWords& words) {
    if (words.upward) painter.text_upward(words.at, words.words, words.text, words.halo);
    else painter.text(words.at, words.words, words.text, words.align);
}

void paint_words_below(const Painter& painter, const Plot& plot, const AxisLook& look) {
    double from = -std::numeric_limits<double>::infinity(); // as far as words stand
    for (const PlotAxis::Tick& tick : plot.x.ticks) {
        const double x = tick_x(plot, tick);
        if (look.mark) painter.line({x, plot.bottom}, {x, plot.bottom + look.mark_length}, *look.mark);
        if (x > look.last) continue;
        if (look.room) {
            const double half = 0.5 * painter.width_of(tick.lines.front(), look.words);
            if (x - half < from) continue;
            from = x + half + *look.room;
        }
        double y = plot.bottom + look.beside;
        for (const std::string& words : tick.lines)
            painter.text({x, y}, words, look.words, Align::centre), y += look.pitch;
    }
}

void paint_axes(const Painter& painter, const Plot& plot, const AxesLook& look) {
    if (look.x.line) painter.line({plot.left, plot.bottom}, {plot.right, plot.bottom}, *look.x.line);
    if (look.y.line) painter.line({plot.left, plot.top}, {plot.left, plot.bottom}, *look.y.line);
    if (look.zero && !plot.y.logarithmic && plot.y.scale.low < 0 && plot.y.scale.high > 0)
        painter.line({plot.left, plot.y_at(0)}, {plot.right, plot.y_at(0)}, *look.zero);
    paint_words_below(painter, plot, look.x);
    for (const PlotAxis::Tick& tick : plot.y.ticks)
        painter.text({plot.left - look.y.beside, tick_y(plot, tick) + look.y.lower}, tick.lines.front(),
                     look.y.words, Align::right);
    for (const PlotWords& title : look.titles) paint_one(painter, plot, title);
}

// ---- what lies on them ----------------------------------------------------------------------------

void paint_one(const Painter& painter, const Plot& plot, const PlotCurve& curve) {
    std::vector<std::vector<PlotPoint>> runs;
    bool begun = false;
    for (const PlotPoint& point : curve.points) {
        if (!plot.shows(point)) {
            begun = false;
            continue;
        }
        const PlotPoint at = plot.at(point);
        if (!begun) runs.emplace_back();
        else if (curve.steps) runs.back().push_back({at.x, runs.back().back().y});
        runs.back().push_back(at);
        begun = true;
    }
    painter.stroke(runs, curve.stroke);
}

void paint_one(const Painter& painter, const Plot& plot, const PlotBand& band) {
    const auto placed = [&](const std::vector<PlotPoint>& side) {
        std::vector<PlotPoint> points;
        for (const PlotPoint& point : side)
            if (plot.shows(point)) points.push_back(plot.at(point));
        return points;
    };
    painter.band(placed(band.low), placed(band.high), band.fill);
}

void paint_one(const Painter& painter, const Plot& plot, const PlotColumn& column) {
    const PlotPoint at = plot.at(column.at);
    painter.box({at.x + column.from, at.y, column.width, column.foot - at.y}, column.fill);
}

void paint_one(const Painter& painter, const Plot& plot, const PlotErrors& errors) {
    const PlotPoint at{plot.x_at(errors.at.x) + errors.aside, plot.y_at(errors.at.y)};
    if (errors.x)
        painter.line({plot.x_at(errors.x->first), at.y}, {plot.x_at(errors.x->second), at.y}, errors.stroke);
    if (errors.y)
        painter.line({at.x, plot.y_at(errors.y->first)}, {at.x, plot.y_at(errors.y->second)}, errors.stroke);
    if (errors.x)
        for (const double end : {plot.x_at(errors.x->first), plot.x_at(errors.x->second)})
            painter.line({end, at.y - errors.cap}, {end, at.y + errors.cap}, errors.stroke);
    if (errors.y)
        for (const double end : {plot.y_at(errors.y->first), plot.y_at(errors.y->second)})
            painter.line({at.x - errors.cap, end}, {at.x + errors.cap, end}, errors.stroke);
}

void paint_one(const Painter& painter, const Plot& plot, const PlotMark& mark) {
    paint_mark(painter, plot.at(mark.at), mark);
}

void paint_one(const Painter& painter, const Plot& plot, const PlotRule& rule) {
    if (rule.upright)
        painter.line({plot.x_at(rule.at), plot.top}, {plot.x_at(rule.at), plot.bottom}, rule.stroke);
    else painter.line({plot.left, plot.y_at(rule.at)}, {plot.right, plot.y_at(rule.at)}, rule.stroke);
}

} // namespace

void paint_mark(const Painter& painter, PlotPoint at, const PlotMark& mark) {
    painter.marker(at, mark.marker);
    if (!mark.words.empty()) painter.text({at.x, at.y + mark.lower}, mark.words, mark.text, Align::centre);
}

void paint(const Painter& painter, const Plot& plot, const PlotLayer& layer) {
    std::visit([&](const auto& one) { paint_one(painter, plot, one); }, layer);
}

void paint(const Painter& painter, const PlacedChart& chart) {
    paint_grid(painter, chart.plot, chart.look);
    if (!chart.axes_over) paint_axes(painter, chart.plot, chart.look);
    if (chart.within) painter.clip(*chart.within);
    for (const PlotLayer& layer : chart.layers) paint(painter, chart.plot, layer);
    if (chart.within) painter.unclip();
    for (const PlotLayer& layer : chart.over) paint(painter, chart.plot, layer);
    if (chart.axes_over) paint_axes(painter, chart.plot, chart.look);
}

} // namespace sparecoat::picture
