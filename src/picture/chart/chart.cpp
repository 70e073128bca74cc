#include "picture/chart/chart.hpp"
#include "picture/chart/chart_axis.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <limits>
#include <stdexcept>

namespace sparecoat::picture {

constexpr ChartInks chart_inks_on_white{{1, 1, 1},
                                        {0.13, 0.14, 0.17},
                                        {0.87, 0.88, 0.90},
                                        {0.40, 0.42, 0.46},
                                        {Rgb{0.09, 0.32, 0.55}, Rgb{0.85, 0.48, 0.08}, Rgb{0.16, 0.58, 0.45},
                                         Rgb{0.62, 0.16, 0.22}, Rgb{0.55, 0.45, 0.75},
                                         Rgb{0.35, 0.28, 0.20}}};
constexpr ChartInks chart_inks_on_black{{0.11, 0.12, 0.14},
                                        {0.90, 0.91, 0.93},
                                        {0.26, 0.28, 0.31},
                                        {0.66, 0.68, 0.72},
                                        {Rgb{0.48, 0.72, 0.96}, Rgb{0.96, 0.68, 0.30}, Rgb{0.36, 0.80, 0.64},
                                         Rgb{0.94, 0.46, 0.50}, Rgb{0.76, 0.66, 0.96},
                                         Rgb{0.82, 0.74, 0.62}}};

namespace {

/// Lengths below are in heights of the text.
constexpr double mark_radius = 0.32, line_width = 0.11, thin = 0.05, tick_gap = 0.5, line_gap = 1.35,
                 legend_gap = 0.4;
constexpr double least_plot = 4, sample_width = 2.2;

bool usable(double value, bool logarithmic) { return std::isfinite(value) && (!logarithmic || value > 0); }

/// Least and most of what is to be seen.
struct Span {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    void take(double value, bool logarithmic) {
        if (usable(value, logarithmic)) low = std::min(low, value), high = std::max(high, value);
    }
    bool empty() const { return !(low <= high); }
};

/// Finds a place for all of a chart: its heads, its legend, its axes and what lies on them.
class Placing {
public:
    Placing(const Painter& painter, const ChartBox& box, const Chart& chart)
        : painter_(painter), box_(box), chart_(chart), inks_(box.inks), em_(box.text_size) {
        for (const ChartSeries& one : chart.series)
            if (one.x.size() != one.y.size() || one.low.size() != one.high.size() ||
                (!one.low.empty() && one.low.size() != one.x.size()) ||
                (!one.notes.empty() && one.notes.size() != one.x.size()))
                throw std::invalid_argument("draw_chart: columns of a series differ in length");
        find_axes();
        lay_out();
        for (std::size_t n = 0; n < chart_.series.size(); ++n) place_series(n);
        place_rules();
        for (const ChartWord& word : chart_.words)
            if (placed_.plot.shows({word.x, word.y}))
                place_word(plot().x_at(word.x), plot().y_at(word.y), word.words);
    }

    std::vector<ChartDot> draw() {
        paint_heads();
        paint(painter_, placed_);
        paint_legend();
        return std::move(dots_);
    }

private:
    // ---- where everything lies --------------------------------------------------------------------

    const Plot& plot() const { return placed_.plot; }

    void find_axes() {
        Span x, y;
        bool bars = false;
        for (const ChartSeries& one : chart_.series) {
            bars = bars || one.look == ChartSeries::Look::bars;
            for (std::size_t k = 0; k < one.x.size(); ++k) {
                if (!usable(one.x[k], chart_.x.logarithmic) || !usable(one.y[k], chart_.y.logarithmic))
                    continue;
                x.take(one.x[k], chart_.x.logarithmic), y.take(one.y[k], chart_.y.logarithmic);
                if (!one.low.empty())
                    y.take(one.low[k], chart_.y.logarithmic), y.take(one.high[k], chart_.y.logarithmic);
            }
        }
        if (x.empty() || y.empty()) throw std::invalid_argument("draw_chart: nothing to draw");
        for (const ChartRule& rule : chart_.rules)
            (rule.upright ? x : y).take(rule.at, (rule.upright ? chart_.x : chart_.y).logarithmic);
        if (bars && !chart_.y.logarithmic) y.take(0, false);
        placed_.plot.x = chart_axis(chart_.x, x.low, x.high);
        placed_.plot.y = chart_axis(chart_.y, y.low, y.high);
    }

    PlotText style(double size = 1, bool bold = false) const { return {{size * em_, bold, inks_.ink}}; }
    PlotText quiet() const { return {{em_, false, inks_.grey}}; }
    double width_of(const std::string& words) const { return painter_.width_of(words, style()); }

    void lay_out() {
        Plot& p = placed_.plot;
        p.left = box_.left + em_ * 0.5;
        if (!chart_.y.title.empty()) p.left += line_gap * em_;
        double widest = 0;
        for (const PlotAxis::Tick& tick : p.y.ticks) widest = std::max(widest, width_of(tick.lines.front()));
        p.left += widest + tick_gap * em_;
        p.right = box_.left + box_.width - em_;
        if (chart_.x.names.empty() && !p.x.ticks.empty()) // the last number reaches over the end
            p.right -= std::max(0.0, 0.5 * width_of(p.x.ticks.back().lines.front()) - 0.7 * em_);
        p.top = box_.top + 0.5 * em_;
        if (!chart_.title.empty()) p.top += 1.9 * em_;
        subtitle_ = wrap_text(chart_.subtitle, quiet().style, box_.width - em_);
        p.top += line_gap * em_ * static_cast<double>(subtitle_.size()) + 0.4 * em_;
        legend_rows_ = legend_rows();
        if (!legend_rows_.empty())
            p.top += line_gap * em_ * static_cast<double>(legend_rows_.size()) + legend_gap * em_;
        const std::size_t most_lines = wrap_names();
        p.bottom = box_.top + box_.height -
                   em_ * (0.4 + line_gap * static_cast<double>(most_lines) +
                          (chart_.x.title.empty() ? 0 : line_gap + 0.3));
        if (p.right - p.left < least_plot * em_ || p.bottom - p.top < least_plot * em_)
            throw std::invalid_argument("draw_chart: a box too small for its text");
        const double rim = mark_radius * em_; // a mark on the rim is seen whole
        placed_.within = {p.left - rim, p.top - rim, p.right - p.left + 2 * rim, p.bottom - p.top + 2 * rim};
        placed_.axes_over = true;
        placed_.look = axes_look();
    }

    /// Names under the axis, as narrow as their places. @return lines of the longest
    std::size_t wrap_names() {
        const Plot& p = placed_.plot;
        const double place =
            (p.right - p.left) / std::max(1.0, static_cast<double>(chart_.x.names.size())) - 0.6 * em_;
        std::size_t most = 1;
        for (std::size_t n = 0; n < chart_.x.names.size(); ++n) {
            std::vector<std::string>& lines = placed_.plot.x.ticks[n].lines;
            lines = wrap_text(chart_.x.names[n], style().style, std::max(place, 3 * em_));
            most = std::max(most, lines.size());
        }
        return most;
    }

    AxesLook axes_look() const {
        const Plot& p = plot();
        const bool named = !chart_.x.names.empty();
        AxesLook look;
        const Stroke side{{inks_.ink}, 1.6 * thin * em_};
        look.x.line = look.y.line = look.zero = side;
        look.y.grid = Stroke{{inks_.faint}, thin * em_};
        if (!named) look.x.grid = look.y.grid, look.x.room = 0.5 * em_; // ticks too close for their words
        look.x.words = named ? style() : quiet();
        look.x.beside = 1.2 * em_, look.x.pitch = line_gap * em_;
        look.y.words = quiet();
        look.y.beside = tick_gap * em_, look.y.lower = 0.36 * em_;
        if (!chart_.x.title.empty())
            look.titles.push_back({{0.5 * (p.left + p.right), box_.top + box_.height - 0.5 * em_},
                                   chart_.x.title,
                                   style(),
                                   Align::centre});
        if (!chart_.y.title.empty())
            look.titles.push_back({{box_.left + 1.1 * em_, 0.5 * (p.top + p.bottom)},
                                   chart_.y.title,
                                   style(),
                                   Align::centre,
                                   true});
        return look;
    }

    /// Samples with their names in rows over the plot.
    std::vector<std::vector<std::size_t>> legend_rows() const {
        std::vector<std::vector<std::size_t>> rows;
        double used = 0;
        for (std::size_t n = 0; n < chart_.series.size(); ++n) {
            if (chart_.series[n].name.empty()) continue;
            const double needs = legend_width(n);
            if (rows.empty() || used + needs > box_.width - em_) rows.emplace_back(), used = 0;
            rows.back().push_back(n);
            used += needs;
        }
        return rows;
    }
    double legend_width(std::size_t n) const {
        return width_of(chart_.series[n].name) + (sample_width + 2) * em_;
    }

    // ---- what lies on the axes --------------------------------------------------------------------

    Rgb colour_of(std::size_t n) const {
        const ChartSeries& one = chart_.series[n];
        return one.colour ? *one.colour : inks_.series[n % inks_.series.size()];
    }
    Stroke stroke_of(std::size_t n) const {
        constexpr std::array<std::pair<double, double>, 4> patterns{
            {{0, 0}, {0.8, 0.45}, {0.25, 0.35}, {1.6, 0.5}}};
        const auto [on, off] = patterns[n % patterns.size()];
        return {{colour_of(n)}, line_width * em_, on * em_, off * em_, true};
    }
    /// Round, square, up, down, on its corner: by the series' place.
    Marker marker_of(std::size_t n) const {
        return {static_cast<Marker::Shape>(n % 5), mark_radius * em_, Fill{colour_of(n)},
                Stroke{{inks_.paper}, 0.4 * line_width * em_}};
    }
    PlotErrors errors_of(const ChartSeries& one, std::size_t k, Rgb colour) const {
        return {{one.x[k], one.y[k]},
                {},
                std::pair{one.low[k], one.high[k]},
                0.3 * em_,
                {{colour}, 0.7 * line_width * em_}};
    }
    bool has_errors(const ChartSeries& one, std::size_t k) const {
        return !one.low.empty() && plot().shows({one.x[k], one.low[k]}) &&
               plot().shows({one.x[k], one.high[k]});
    }

    void place_series(std::size_t n) {
        switch (chart_.series[n].look) {
        case ChartSeries::Look::line:
        case ChartSeries::Look::steps: place_line(n); break;
        case ChartSeries::Look::bars: place_columns(n); break;
        case ChartSeries::Look::points: place_points(n); break;
        }
    }

    void place_line(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        PlotBand band{{}, {}, {colour_of(n), 0.16}};
        PlotCurve curve{{}, stroke_of(n), one.look == ChartSeries::Look::steps};
        for (std::size_t k = 0; k < one.x.size(); ++k) {
            curve.points.push_back({one.x[k], one.y[k]});
            if (plot().shows(curve.points.back())) tell(n, k, plot().at(curve.points.back()));
            if (one.low.empty()) continue;
            band.low.push_back({one.x[k], one.low[k]}), band.high.push_back({one.x[k], one.high[k]});
        }
        if (!one.low.empty()) placed_.layers.emplace_back(std::move(band));
        placed_.layers.emplace_back(std::move(curve));
    }

    void place_columns(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        std::size_t count = 0, place = 0;
        for (std::size_t k = 0; k < chart_.series.size(); ++k)
            if (chart_.series[k].look == ChartSeries::Look::bars) {
                if (k == n) place = count;
                ++count;
            }
        const Plot& p = plot();
        const double slot = (p.x_at(p.x.scale.low + 1) - p.x_at(p.x.scale.low)) * 0.76,
                     width = slot / static_cast<double>(count);
        const double foot =
            p.y.logarithmic ? p.bottom : p.y_at(std::clamp(0.0, p.y.scale.low, p.y.scale.high));
        const double from = -0.5 * slot + width * static_cast<double>(place);
        for (std::size_t k = 0; k < one.x.size(); ++k) {
            const PlotPoint value{one.x[k], one.y[k]};
            if (!p.shows(value)) continue;
            tell(n, k, {p.x_at(value.x) + from + 0.5 * width, p.y_at(value.y)});
            placed_.layers.emplace_back(
                PlotColumn{value, foot, from + 0.04 * width, 0.92 * width, {colour_of(n)}});
            if (!has_errors(one, k)) continue;
            PlotErrors errors = errors_of(one, k, inks_.ink);
            errors.aside = from + 0.5 * width;
            placed_.layers.emplace_back(errors);
        }
    }

    void place_points(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        for (std::size_t k = 0; k < one.x.size(); ++k) {
            const PlotPoint value{one.x[k], one.y[k]};
            if (!plot().shows(value)) continue;
            if (has_errors(one, k)) placed_.layers.emplace_back(errors_of(one, k, colour_of(n)));
            placed_.layers.emplace_back(PlotMark{value, marker_of(n)});
            tell(n, k, plot().at(value));
        }
    }

    void tell(std::size_t n, std::size_t k, PlotPoint at) {
        const Plot& p = plot();
        if (at.x >= p.left - 1 && at.x <= p.right + 1 && at.y >= p.top - 1 && at.y <= p.bottom + 1)
            dots_.push_back({n, k, at.x, at.y});
    }

    void place_rules() {
        for (const ChartRule& rule : chart_.rules) {
            const PlotAxis& axis = rule.upright ? plot().x : plot().y;
            if (!axis.shows(rule.at) || axis.share(rule.at) < 0 || axis.share(rule.at) > 1) continue;
            placed_.over.emplace_back(
                PlotRule{rule.at, rule.upright, {{inks_.grey}, 1.5 * thin * em_, 0.6 * em_, 0.4 * em_}});
            if (rule.words.empty()) continue;
            const Plot& p = plot();
            if (rule.upright) place_word(p.x_at(rule.at), p.top + 1.3 * em_, rule.words);
            else place_word(p.right - width_of(rule.words) - 0.6 * em_, p.y_at(rule.at), rule.words);
        }
    }

    /// To the upper right of a point, or to its left where the plot ends.
    void place_word(double x, double y, const std::string& words) {
        const double width = width_of(words);
        const double from = x + 0.5 * em_ + width > plot().right
                                ? std::max(plot().left, x - 0.5 * em_ - width)
                                : x + 0.5 * em_;
        placed_.over.emplace_back(
            PlotWords{{from, std::max(y - 0.4 * em_, plot().top + em_)}, words, quiet()});
    }

    // ---- around the plot --------------------------------------------------------------------------

    void paint_heads() const {
        double y = box_.top + 1.5 * em_;
        if (!chart_.title.empty())
            painter_.text({box_.left + 0.5 * em_, y}, chart_.title, style(1.3, true)), y += 1.5 * em_;
        for (const std::string& words : subtitle_)
            painter_.text({box_.left + 0.5 * em_, y}, words, quiet()), y += line_gap * em_;
    }

    void paint_legend() const {
        double y = plot().top - (legend_gap + line_gap * static_cast<double>(legend_rows_.size())) * em_ +
                   0.55 * em_;
        for (const std::vector<std::size_t>& row : legend_rows_) {
            double x = box_.left + 0.5 * em_;
            for (const std::size_t n : row) {
                paint_sample(n, x, y - 0.35 * em_);
                painter_.text({x + (sample_width + 0.4) * em_, y}, chart_.series[n].name, style());
                x += legend_width(n);
            }
            y += line_gap * em_;
        }
    }
    void paint_sample(std::size_t n, double x, double y) const {
        const double middle = x + 0.5 * sample_width * em_;
        switch (chart_.series[n].look) {
        case ChartSeries::Look::points: painter_.marker({middle, y}, marker_of(n)); break;
        case ChartSeries::Look::bars:
            painter_.box({middle - 0.5 * em_, y - 0.4 * em_, em_, 0.8 * em_}, {colour_of(n)});
            break;
        default: painter_.line({x, y}, {x + sample_width * em_, y}, stroke_of(n));
        }
    }

    const Painter& painter_;
    const ChartBox& box_;
    const Chart& chart_;
    const ChartInks& inks_;
    double em_;
    PlacedChart placed_;
    std::vector<std::string> subtitle_;
    std::vector<std::vector<std::size_t>> legend_rows_;
    std::vector<ChartDot> dots_;
};

/// With the digits that a pointer's reader can use.
std::string number_text(double value) { return fmt::format("{:.4g}", value); }

} // namespace

std::vector<ChartDot> draw_chart(const Canvas& canvas, const ChartBox& box, const Chart& chart) {
    const CanvasPainter painter(canvas);
    Placing placing(painter, box, chart);
    cairo_save(canvas.cairo());
    std::vector<ChartDot> dots = placing.draw();
    cairo_restore(canvas.cairo());
    return dots;
}

std::string words_at(const Chart& chart, const ChartDot& dot) {
    const ChartSeries& one = chart.series[dot.series];
    std::vector<std::string> lines;
    if (!one.name.empty()) lines.push_back(one.name);
    if (!chart.x.names.empty())
        lines.push_back(chart.x.names[static_cast<std::size_t>(std::lround(one.x[dot.k]))]);
    else lines.push_back(fmt::format("{}: {}", chart.x.title, number_text(one.x[dot.k])));
    lines.push_back(fmt::format("{}: {}", chart.y.title.empty() ? chart.title : chart.y.title,
                                number_text(one.y[dot.k])));
    if (!one.low.empty())
        lines.back() += fmt::format(" ({} to {})", number_text(one.low[dot.k]), number_text(one.high[dot.k]));
    if (!one.notes.empty()) lines.push_back(one.notes[dot.k]);
    return fmt::format("{}", fmt::join(lines, "\n"));
}

void write_chart(const std::filesystem::path& file, const Chart& chart) {
    const PageFormat format = page_format(file);
    const double scale =
        format == PageFormat::png ? 1 : 0.45; // of 1200 x 760 pixels, to the width of a printed page
    Canvas canvas(format, 1200 * scale, 760 * scale, chart_inks_on_white.paper);
    canvas.describe(chart.title, "Sparecoat");
    draw_chart(canvas, {0, 0, canvas.width(), canvas.height(), 20 * scale}, chart);
    canvas.write(file);
}

} // namespace sparecoat::picture
