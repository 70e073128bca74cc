#include "picture/chart.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
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

/// An axis as it is drawn: values to shares of its length.
struct Ruled {
    bool logarithmic = false;
    Scale scale;                                       ///< of the values, or of their decimal logarithms
    std::vector<std::pair<double, std::string>> ticks; ///< share and words
    double share(double value) const { return scale.share(logarithmic ? std::log10(value) : value); }
};

/// "200", "0.05", "10⁻⁴"; of a decade far from 1 only powers of ten get words.
std::string power_text(double lead, int decade) {
    if (decade >= -2 && decade <= 4) return fmt::format("{:g}", lead * std::pow(10.0, decade));
    if (lead != 1) return "";
    constexpr std::array<const char*, 10> raised{"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    std::string text = decade < 0 ? "10⁻" : "10";
    for (const char digit : fmt::format("{}", std::abs(decade)))
        text += raised[static_cast<std::size_t>(digit - '0')];
    return text;
}

Ruled named_axis(const std::vector<std::string>& names) {
    Ruled axis;
    axis.scale.low = -0.5, axis.scale.high = static_cast<double>(names.size()) - 0.5;
    for (std::size_t n = 0; n < names.size(); ++n)
        axis.ticks.emplace_back(axis.scale.share(static_cast<double>(n)), names[n]);
    return axis;
}

/// From one of 1, 2, 5 to another; words at each of them where few decades are shown, else at powers of ten.
Ruled log_axis(double low, double high) {
    constexpr std::array<double, 3> leads{1, 2, 5};
    Ruled axis;
    axis.logarithmic = true;
    axis.scale.step = 1;
    std::vector<std::pair<double, std::string>> at; // decimal logarithm and words
    const int from = static_cast<int>(std::floor(std::log10(low) - 1e-9)),
              to = static_cast<int>(std::floor(std::log10(high) + 1e-9)) + 1;
    const bool few = to - from <= 3;
    const int every = std::max(1, (to - from + 7) / 8);
    for (int decade = from; decade <= to; ++decade)
        for (const double lead : leads)
            at.emplace_back(decade + std::log10(lead), (lead == 1 && (decade - from) % every == 0) || few
                                                           ? power_text(lead, decade)
                                                           : "");
    double first = at.front().first, last = at.back().first;
    for (const auto& [log, words] : at)
        if (log <= std::log10(low) + 1e-9) first = log;
    for (auto end = at.rbegin(); end != at.rend(); ++end)
        if (end->first >= std::log10(high) - 1e-9) last = end->first;
    if (!(last > first)) last = first + 1;
    axis.scale.low = first, axis.scale.high = last;
    for (const auto& [log, words] : at)
        if (log >= first - 1e-9 && log <= last + 1e-9) axis.ticks.emplace_back(axis.scale.share(log), words);
    return axis;
}

Ruled ruled(const ChartAxis& given, double low, double high) {
    if (!given.names.empty()) return named_axis(given.names);
    if (given.logarithmic) return log_axis(low, high);
    Ruled axis;
    axis.scale = given.range ? *given.range : round_scale(low, high);
    for (const double tick : axis.scale.ticks)
        axis.ticks.emplace_back(axis.scale.share(tick), tick_text(tick, axis.scale.step));
    return axis;
}

/// Least and most of what is to be seen.
struct Span {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    void take(double value, bool logarithmic) {
        if (usable(value, logarithmic)) low = std::min(low, value), high = std::max(high, value);
    }
    bool empty() const { return !(low <= high); }
};

class Drawing {
public:
    Drawing(const Canvas& canvas, const ChartBox& box, const Chart& chart)
        : canvas_(canvas), cairo_(canvas.cairo()), box_(box), chart_(chart), inks_(box.inks),
          em_(box.text_size) {
        for (const ChartSeries& one : chart.series)
            if (one.x.size() != one.y.size() || one.low.size() != one.high.size() ||
                (!one.low.empty() && one.low.size() != one.x.size()) ||
                (!one.notes.empty() && one.notes.size() != one.x.size()))
                throw std::invalid_argument("draw_chart: columns of a series differ in length");
        find_axes();
    }

    std::vector<ChartDot> draw() {
        cairo_save(cairo_);
        lay_out();
        draw_heads();
        draw_grid();
        cairo_save(cairo_);
        // A mark on the rim is seen whole.
        cairo_rectangle(cairo_, left_ - mark_radius * em_, top_ - mark_radius * em_,
                        right_ - left_ + 2 * mark_radius * em_, bottom_ - top_ + 2 * mark_radius * em_);
        cairo_clip(cairo_);
        for (std::size_t n = 0; n < chart_.series.size(); ++n) draw_series(n);
        cairo_restore(cairo_);
        draw_rules();
        for (const ChartWord& word : chart_.words)
            if (shown(word.x, word.y)) draw_word(x_at(word.x), y_at(word.y), word.words);
        draw_frame();
        draw_legend();
        cairo_restore(cairo_);
        return std::move(dots_);
    }

private:
    // ---- layout -----------------------------------------------------------------------------------

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
        x_ = ruled(chart_.x, x.low, x.high), y_ = ruled(chart_.y, y.low, y.high);
    }

    TextStyle style(double size = 1, bool bold = false) const { return {size * em_, bold, inks_.ink}; }
    TextStyle quiet() const { return {em_, false, inks_.grey}; }

    std::vector<std::size_t> named_series() const {
        std::vector<std::size_t> named;
        for (std::size_t n = 0; n < chart_.series.size(); ++n)
            if (!chart_.series[n].name.empty()) named.push_back(n);
        return named;
    }

    void lay_out() {
        left_ = box_.left + em_ * 0.5;
        if (!chart_.y.title.empty()) left_ += line_gap * em_;
        double widest = 0;
        for (const auto& [share, words] : y_.ticks) widest = std::max(widest, text_width(words, style()));
        left_ += widest + tick_gap * em_;
        right_ = box_.left + box_.width - em_;
        if (chart_.x.names.empty() && !x_.ticks.empty()) // the last number reaches over the end
            right_ -= std::max(0.0, 0.5 * text_width(x_.ticks.back().second, style()) - 0.7 * em_);
        top_ = box_.top + 0.5 * em_;
        if (!chart_.title.empty()) top_ += 1.9 * em_;
        subtitle_ = wrap_text(chart_.subtitle, quiet(), box_.width - em_);
        top_ += line_gap * em_ * static_cast<double>(subtitle_.size()) + 0.4 * em_;
        legend_rows_ = legend_rows();
        if (!legend_rows_.empty())
            top_ += line_gap * em_ * static_cast<double>(legend_rows_.size()) + legend_gap * em_;
        names_ = wrapped_names();
        std::size_t most_lines = 1;
        for (const auto& lines : names_) most_lines = std::max(most_lines, lines.size());
        bottom_ = box_.top + box_.height -
                  em_ * (0.4 + line_gap * static_cast<double>(most_lines) +
                         (chart_.x.title.empty() ? 0 : line_gap + 0.3));
        if (right_ - left_ < least_plot * em_ || bottom_ - top_ < least_plot * em_)
            throw std::invalid_argument("draw_chart: a box too small for its text");
    }

    /// Names under the axis, as narrow as their places.
    std::vector<std::vector<std::string>> wrapped_names() const {
        std::vector<std::vector<std::string>> all;
        const double place =
            (right_ - left_) / std::max(1.0, static_cast<double>(chart_.x.names.size())) - 0.6 * em_;
        for (const std::string& name : chart_.x.names)
            all.push_back(wrap_text(name, style(), std::max(place, 3 * em_)));
        return all;
    }

    /// Samples with their names in rows over the plot.
    std::vector<std::vector<std::size_t>> legend_rows() const {
        std::vector<std::vector<std::size_t>> rows;
        double used = 0;
        for (const std::size_t n : named_series()) {
            const double needs = legend_width(n);
            if (rows.empty() || used + needs > box_.width - em_) rows.emplace_back(), used = 0;
            rows.back().push_back(n);
            used += needs;
        }
        return rows;
    }
    double legend_width(std::size_t n) const {
        return text_width(chart_.series[n].name, style()) + (sample_width + 2) * em_;
    }

    double x_at(double value) const { return left_ + (right_ - left_) * x_.share(value); }
    double y_at(double value) const { return bottom_ - (bottom_ - top_) * y_.share(value); }
    bool shown(double x, double y) const { return usable(x, x_.logarithmic) && usable(y, y_.logarithmic); }

    // ---- what is drawn ----------------------------------------------------------------------------

    void line(double x0, double y0, double x1, double y1) const {
        cairo_move_to(cairo_, x0, y0);
        cairo_line_to(cairo_, x1, y1);
        cairo_stroke(cairo_);
    }
    void pen(Rgb colour, double width) const {
        canvas_.set_colour(colour);
        cairo_set_line_width(cairo_, width * em_);
    }
    void dash(double on, double off) const {
        const double dashes[] = {on * em_, off * em_};
        cairo_set_dash(cairo_, dashes, on > 0 ? 2 : 0, 0);
    }

    void draw_heads() const {
        double y = box_.top + 1.5 * em_;
        if (!chart_.title.empty())
            canvas_.text(box_.left + 0.5 * em_, y, chart_.title, style(1.3, true)), y += 1.5 * em_;
        for (const std::string& words : subtitle_)
            canvas_.text(box_.left + 0.5 * em_, y, words, quiet()), y += line_gap * em_;
    }

    void draw_grid() const {
        pen(inks_.faint, thin);
        if (chart_.x.names.empty())
            for (const auto& [share, words] : x_.ticks) {
                const double x = left_ + (right_ - left_) * share;
                line(x, top_, x, bottom_);
            }
        for (const auto& [share, words] : y_.ticks) {
            const double y = bottom_ - (bottom_ - top_) * share;
            line(left_, y, right_, y);
        }
    }

    void draw_frame() const {
        pen(inks_.ink, 1.6 * thin);
        line(left_, bottom_, right_, bottom_);
        line(left_, top_, left_, bottom_);
        if (y_.scale.low < 0 && y_.scale.high > 0 && !y_.logarithmic) line(left_, y_at(0), right_, y_at(0));
        double from = -std::numeric_limits<double>::infinity();
        for (std::size_t n = 0; n < x_.ticks.size(); ++n) {
            const double x = left_ + (right_ - left_) * x_.ticks[n].first;
            if (!names_.empty()) {
                double y = bottom_ + 1.2 * em_;
                for (const std::string& words : names_[n])
                    canvas_.text(x, y, words, style(), Align::centre), y += line_gap * em_;
                continue;
            }
            const double half = 0.5 * text_width(x_.ticks[n].second, style());
            if (x - half < from) continue; // ticks too close for their words
            canvas_.text(x, bottom_ + 1.2 * em_, x_.ticks[n].second, quiet(), Align::centre);
            from = x + half + 0.5 * em_;
        }
        for (const auto& [share, words] : y_.ticks)
            canvas_.text(left_ - tick_gap * em_, bottom_ - (bottom_ - top_) * share + 0.36 * em_, words,
                         quiet(), Align::right);
        if (!chart_.x.title.empty())
            canvas_.text(0.5 * (left_ + right_), box_.top + box_.height - 0.5 * em_, chart_.x.title, style(),
                         Align::centre);
        if (!chart_.y.title.empty())
            draw_turned(chart_.y.title, box_.left + 1.1 * em_, 0.5 * (top_ + bottom_));
    }

    /// Reads upwards, its middle at a point.
    void draw_turned(const std::string& words, double x, double y) const {
        cairo_save(cairo_);
        cairo_translate(cairo_, x, y);
        cairo_rotate(cairo_, -0.5 * pi);
        canvas_.text(0, 0.3 * em_, words, style(), Align::centre);
        cairo_restore(cairo_);
    }

    Rgb colour_of(std::size_t n) const {
        const ChartSeries& one = chart_.series[n];
        return one.colour ? *one.colour : inks_.series[n % inks_.series.size()];
    }
    void dash_of(std::size_t n) const {
        constexpr std::array<std::pair<double, double>, 4> patterns{
            {{0, 0}, {0.8, 0.45}, {0.25, 0.35}, {1.6, 0.5}}};
        const auto [on, off] = patterns[n % patterns.size()];
        dash(on, off);
    }

    void draw_series(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        switch (one.look) {
        case ChartSeries::Look::line:
        case ChartSeries::Look::steps:
            draw_band(n);
            draw_line(n);
            break;
        case ChartSeries::Look::bars: draw_bars(n); break;
        case ChartSeries::Look::points: draw_points(n); break;
        }
    }

    void draw_line(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        pen(colour_of(n), line_width);
        cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_BUTT);
        dash_of(n);
        bool begun = false;
        double before = 0;
        for (std::size_t k = 0; k < one.x.size(); ++k) {
            if (!shown(one.x[k], one.y[k])) {
                begun = false;
                continue;
            }
            const double x = x_at(one.x[k]), y = y_at(one.y[k]);
            tell(n, k, x, y);
            if (!begun) cairo_move_to(cairo_, x, y);
            else {
                if (one.look == ChartSeries::Look::steps) cairo_line_to(cairo_, x, before);
                cairo_line_to(cairo_, x, y);
            }
            begun = true, before = y;
        }
        cairo_stroke(cairo_);
        dash(0, 0);
        cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_ROUND);
    }

    void draw_band(std::size_t n) const {
        const ChartSeries& one = chart_.series[n];
        if (one.low.empty()) return;
        for (std::size_t k = 0; k < one.x.size(); ++k)
            if (shown(one.x[k], one.low[k])) cairo_line_to(cairo_, x_at(one.x[k]), y_at(one.low[k]));
        for (std::size_t k = one.x.size(); k-- > 0;)
            if (shown(one.x[k], one.high[k])) cairo_line_to(cairo_, x_at(one.x[k]), y_at(one.high[k]));
        cairo_close_path(cairo_);
        canvas_.set_colour(colour_of(n), 0.16);
        cairo_fill(cairo_);
    }

    void draw_error(double x, double low, double high, Rgb colour) const {
        pen(colour, 0.7 * line_width);
        line(x, y_at(low), x, y_at(high));
        for (const double end : {low, high}) line(x - 0.3 * em_, y_at(end), x + 0.3 * em_, y_at(end));
    }

    void draw_bars(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        std::size_t count = 0, place = 0;
        for (std::size_t k = 0; k < chart_.series.size(); ++k)
            if (chart_.series[k].look == ChartSeries::Look::bars) {
                if (k == n) place = count;
                ++count;
            }
        const double slot = (x_at(x_.scale.low + 1) - x_at(x_.scale.low)) * 0.76,
                     width = slot / static_cast<double>(count);
        const double foot = y_.logarithmic ? bottom_ : y_at(std::clamp(0.0, y_.scale.low, y_.scale.high));
        for (std::size_t k = 0; k < one.x.size(); ++k) {
            if (!shown(one.x[k], one.y[k])) continue;
            const double x = x_at(one.x[k]) - 0.5 * slot + width * static_cast<double>(place);
            tell(n, k, x + 0.5 * width, y_at(one.y[k]));
            cairo_rectangle(cairo_, x + 0.04 * width, y_at(one.y[k]), 0.92 * width, foot - y_at(one.y[k]));
            canvas_.set_colour(colour_of(n));
            cairo_fill(cairo_);
            if (!one.low.empty() && shown(one.x[k], one.low[k]) && shown(one.x[k], one.high[k]))
                draw_error(x + 0.5 * width, one.low[k], one.high[k], inks_.ink);
        }
    }

    void draw_points(std::size_t n) {
        const ChartSeries& one = chart_.series[n];
        for (std::size_t k = 0; k < one.x.size(); ++k) {
            if (!shown(one.x[k], one.y[k])) continue;
            if (!one.low.empty() && shown(one.x[k], one.low[k]) && shown(one.x[k], one.high[k]))
                draw_error(x_at(one.x[k]), one.low[k], one.high[k], colour_of(n));
            draw_mark(n, x_at(one.x[k]), y_at(one.y[k]));
            tell(n, k, x_at(one.x[k]), y_at(one.y[k]));
        }
    }

    void tell(std::size_t n, std::size_t k, double x, double y) {
        if (x >= left_ - 1 && x <= right_ + 1 && y >= top_ - 1 && y <= bottom_ + 1)
            dots_.push_back({n, k, x, y});
    }

    /// Round, square, up, down, on its corner: by the series' place.
    void draw_mark(std::size_t n, double x, double y) const {
        const double r = mark_radius * em_;
        switch (n % 5) {
        case 0: cairo_arc(cairo_, x, y, r, 0, 2 * pi); break;
        case 1: cairo_rectangle(cairo_, x - 0.88 * r, y - 0.88 * r, 1.76 * r, 1.76 * r); break;
        default: {
            const int corners = n % 5 == 4 ? 4 : 3;
            const double first = n % 5 == 3 ? 0.5 * pi : -0.5 * pi;
            for (int corner = 0; corner < corners; ++corner)
                cairo_line_to(cairo_, x + 1.2 * r * std::cos(first + 2 * pi * corner / corners),
                              y + 1.2 * r * std::sin(first + 2 * pi * corner / corners));
            cairo_close_path(cairo_);
        }
        }
        canvas_.set_colour(colour_of(n));
        cairo_fill_preserve(cairo_);
        pen(inks_.paper, 0.4 * line_width);
        cairo_stroke(cairo_);
    }

    void draw_rules() const {
        for (const ChartRule& rule : chart_.rules) {
            const Ruled& axis = rule.upright ? x_ : y_;
            if (!usable(rule.at, axis.logarithmic) || axis.share(rule.at) < 0 || axis.share(rule.at) > 1)
                continue;
            pen(inks_.grey, 1.5 * thin);
            dash(0.6, 0.4);
            if (rule.upright) line(x_at(rule.at), top_, x_at(rule.at), bottom_);
            else line(left_, y_at(rule.at), right_, y_at(rule.at));
            dash(0, 0);
            if (rule.words.empty()) continue;
            if (rule.upright) draw_word(x_at(rule.at), top_ + 1.3 * em_, rule.words);
            else draw_word(right_ - text_width(rule.words, style()) - 0.6 * em_, y_at(rule.at), rule.words);
        }
    }

    /// To the upper right of a point, or to its left where the plot ends.
    void draw_word(double x, double y, const std::string& words) const {
        const double width = text_width(words, style());
        const double from =
            x + 0.5 * em_ + width > right_ ? std::max(left_, x - 0.5 * em_ - width) : x + 0.5 * em_;
        canvas_.text(from, std::max(y - 0.4 * em_, top_ + em_), words, quiet());
    }

    void draw_legend() const {
        double y =
            top_ - (legend_gap + line_gap * static_cast<double>(legend_rows_.size())) * em_ + 0.55 * em_;
        for (const std::vector<std::size_t>& row : legend_rows_) {
            double x = box_.left + 0.5 * em_;
            for (const std::size_t n : row) {
                draw_sample(n, x, y - 0.35 * em_);
                canvas_.text(x + (sample_width + 0.4) * em_, y, chart_.series[n].name, style());
                x += legend_width(n);
            }
            y += line_gap * em_;
        }
    }
    void draw_sample(std::size_t n, double x, double y) const {
        const double middle = x + 0.5 * sample_width * em_;
        switch (chart_.series[n].look) {
        case ChartSeries::Look::points: draw_mark(n, middle, y); break;
        case ChartSeries::Look::bars:
            cairo_rectangle(cairo_, middle - 0.5 * em_, y - 0.4 * em_, em_, 0.8 * em_);
            canvas_.set_colour(colour_of(n));
            cairo_fill(cairo_);
            break;
        default:
            pen(colour_of(n), line_width);
            cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_BUTT);
            dash_of(n);
            line(x, y, x + sample_width * em_, y);
            dash(0, 0);
            cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_ROUND);
        }
    }

    const Canvas& canvas_;
    cairo_t* cairo_;
    const ChartBox& box_;
    const Chart& chart_;
    const ChartInks& inks_;
    double em_;
    Ruled x_, y_;
    double left_ = 0, right_ = 0, top_ = 0, bottom_ = 0;
    std::vector<std::string> subtitle_;
    std::vector<std::vector<std::size_t>> legend_rows_;
    std::vector<std::vector<std::string>> names_;
    std::vector<ChartDot> dots_;
};

/// With the digits that a pointer's reader can use.
std::string number_text(double value) { return fmt::format("{:.4g}", value); }

} // namespace

std::vector<ChartDot> draw_chart(const Canvas& canvas, const ChartBox& box, const Chart& chart) {
    return Drawing(canvas, box, chart).draw();
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
