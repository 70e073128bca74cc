#include "picture/chart/painter.hpp"
#include "units/quantity.hpp"
#include <cmath>

namespace sparecoat::picture {

void Painter::line(PlotPoint from, PlotPoint to, const Stroke& with) const {
    const std::vector<PlotPoint> run[] = {{from, to}};
    stroke(run, with);
}

void CanvasPainter::pen(const Stroke& stroke) const {
    canvas_.set_colour(stroke.fill.colour, stroke.fill.opacity);
    cairo_set_line_width(cairo_, stroke.width);
    cairo_set_line_cap(cairo_, stroke.blunt ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
    const double dashes[] = {stroke.dash, stroke.gap};
    cairo_set_dash(cairo_, dashes, stroke.dash > 0 ? 2 : 0, 0);
}

void CanvasPainter::stroke(std::span<const std::vector<PlotPoint>> runs, const Stroke& stroke) const {
    pen(stroke);
    for (const std::vector<PlotPoint>& run : runs)
        for (std::size_t k = 0; k < run.size(); ++k)
            k == 0 ? cairo_move_to(cairo_, run[k].x, run[k].y) : cairo_line_to(cairo_, run[k].x, run[k].y);
    cairo_stroke(cairo_);
    cairo_set_dash(cairo_, nullptr, 0, 0);
    cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_ROUND);
}

void CanvasPainter::band(std::span<const PlotPoint> low, std::span<const PlotPoint> high, Fill fill) const {
    for (const PlotPoint& p : low) cairo_line_to(cairo_, p.x, p.y);
    for (auto p = high.rbegin(); p != high.rend(); ++p) cairo_line_to(cairo_, p->x, p->y);
    cairo_close_path(cairo_);
    canvas_.set_colour(fill.colour, fill.opacity);
    cairo_fill(cairo_);
}

void CanvasPainter::box(const PlotBox& box, Fill fill) const {
    cairo_rectangle(cairo_, box.left, box.top, box.width, box.height);
    canvas_.set_colour(fill.colour, fill.opacity);
    cairo_fill(cairo_);
}

void CanvasPainter::frame(const PlotBox& box, const Stroke& stroke) const {
    cairo_rectangle(cairo_, box.left, box.top, box.width, box.height);
    pen(stroke);
    cairo_stroke(cairo_);
}

void CanvasPainter::blend(std::span<const PlotPoint> outline, PlotPoint from, PlotPoint to,
                          std::span<const Rgb> colours, const std::optional<Stroke>& rim) const {
    cairo_pattern_t* blend = cairo_pattern_create_linear(from.x, from.y, to.x, to.y);
    const double last = static_cast<double>(colours.size()) - 1;
    for (std::size_t n = 0; n < colours.size(); ++n)
        cairo_pattern_add_color_stop_rgb(blend, static_cast<double>(n) / last, colours[n].r, colours[n].g,
                                         colours[n].b);
    for (const PlotPoint& p : outline) cairo_line_to(cairo_, p.x, p.y);
    cairo_close_path(cairo_);
    cairo_set_source(cairo_, blend);
    cairo_fill_preserve(cairo_);
    cairo_pattern_destroy(blend);
    if (rim) {
        pen(*rim);
        cairo_stroke_preserve(cairo_);
    }
    cairo_new_path(cairo_);
}

void CanvasPainter::trace(PlotPoint at, const Marker& marker) const {
    const double r = marker.radius, size = marker.extent();
    const auto polygon = [&](int corners, double first) {
        for (int corner = 0; corner < corners; ++corner)
            cairo_line_to(cairo_, at.x + size * std::cos(first + 2 * pi * corner / corners),
                          at.y + size * std::sin(first + 2 * pi * corner / corners));
        cairo_close_path(cairo_);
    };
    switch (marker.shape) {
    case Marker::Shape::disc: cairo_arc(cairo_, at.x, at.y, r, 0, 2 * pi); break;
    case Marker::Shape::square:
        cairo_rectangle(cairo_, at.x - 0.88 * r, at.y - 0.88 * r, 1.76 * r, 1.76 * r);
        break;
    case Marker::Shape::up: polygon(3, -0.5 * pi); break;
    case Marker::Shape::down: polygon(3, 0.5 * pi); break;
    case Marker::Shape::diamond: polygon(4, -0.5 * pi); break;
    }
}

void CanvasPainter::marker(PlotPoint at, const Marker& marker) const {
    trace(at, marker);
    if (marker.fill) {
        canvas_.set_colour(marker.fill->colour, marker.fill->opacity);
        cairo_fill_preserve(cairo_);
    }
    if (marker.rim) {
        pen(*marker.rim);
        cairo_stroke_preserve(cairo_);
    }
    cairo_new_path(cairo_);
}

void CanvasPainter::text(PlotPoint at, const std::string& words, const PlotText& text, Align align) const {
    constexpr double rise = 1.02; // of a line's baseline below its upper end, by its size
    canvas_.text(at.x, at.y + (text.hangs ? rise * text.style.size : 0), words, text.style, align);
}

void CanvasPainter::text_upward(PlotPoint middle, const std::string& words, const PlotText& text,
                                const std::optional<Rgb>& halo) const {
    if (halo) return canvas_.text_on_line(middle.x, middle.y, -0.5 * pi, words, text.style, *halo);
    cairo_save(cairo_);
    cairo_translate(cairo_, middle.x, middle.y);
    cairo_rotate(cairo_, -0.5 * pi);
    canvas_.text(0, 0.3 * text.style.size, words, text.style, Align::centre);
    cairo_restore(cairo_);
}

double CanvasPainter::width_of(const std::string& words, const PlotText& text) const {
    return text_width(words, text.style);
}

void CanvasPainter::clip(const PlotBox& box) const {
    cairo_save(cairo_);
    cairo_rectangle(cairo_, box.left, box.top, box.width, box.height);
    cairo_clip(cairo_);
}

void CanvasPainter::unclip() const { cairo_restore(cairo_); }

} // namespace sparecoat::picture
