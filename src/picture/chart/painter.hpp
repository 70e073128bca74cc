#pragma once
#include "picture/canvas.hpp"
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::picture {

// What charts and colour bars are painted with, on paper or in a window. Lengths are in the page's units; x
// to the right, y down.

/// A place on the page, or in a chart's own numbers where that is said.
struct PlotPoint {
    double x = 0, y = 0;
};

struct PlotBox {
    double left = 0, top = 0, width = 0, height = 0;
    double right() const { return left + width; }
    double bottom() const { return top + height; }
};

struct Fill {
    Rgb colour;
    double opacity = 1;
};

struct Stroke {
    Fill fill;
    double width = 1;
    double dash = 0, gap = 0; ///< lengths of dashes and of what is between them; 0: a line without
    bool blunt = false;       ///< ends where it ends, so that short dashes keep their length; else rounded
};

/// A sign for a number.
struct Marker {
    enum class Shape { disc, square, up, down, diamond };
    Shape shape = Shape::disc;
    double radius = 4;
    std::optional<Fill> fill = {};
    std::optional<Stroke> rim = {};
    double extent() const { return 1.2 * radius; } ///< of a corner from the middle
};

struct PlotText {
    TextStyle style = {};
    bool hangs = false; ///< y is where the line of text begins; else its baseline
};

/// Somewhere to paint. What is painted later lies over what was painted before.
class Painter {
public:
    virtual ~Painter() = default;

    /// Lines through points as one stroke.
    virtual void stroke(std::span<const std::vector<PlotPoint>> runs, const Stroke& stroke) const = 0;
    void line(PlotPoint from, PlotPoint to, const Stroke& stroke) const;
    /// What lies between two lines. For a window both have as many points, one over the other.
    virtual void band(std::span<const PlotPoint> low, std::span<const PlotPoint> high, Fill fill) const = 0;
    virtual void box(const PlotBox& box, Fill fill) const = 0;
    virtual void frame(const PlotBox& box, const Stroke& stroke) const = 0;
    /// An outline filled with colours that go over into each other from a point to another, and its rim.
    virtual void blend(std::span<const PlotPoint> outline, PlotPoint from, PlotPoint to,
                       std::span<const Rgb> colours, const std::optional<Stroke>& rim) const = 0;
    virtual void marker(PlotPoint at, const Marker& marker) const = 0;
    virtual void text(PlotPoint at, const std::string& words, const PlotText& text,
                      Align align = Align::left) const = 0;
    /// Reads upwards, its middle at a point; with a rim of colour it can lie on a line.
    virtual void text_upward(PlotPoint middle, const std::string& words, const PlotText& text,
                             const std::optional<Rgb>& halo) const = 0;
    virtual double width_of(const std::string& words, const PlotText& text) const = 0;
    /// From here to unclip() nothing is seen outside of a box.
    virtual void clip(const PlotBox& box) const = 0;
    virtual void unclip() const = 0;
};

/// On paper. Keeps a reference to the canvas.
class CanvasPainter : public Painter {
public:
    explicit CanvasPainter(const Canvas& canvas) : canvas_(canvas), cairo_(canvas.cairo()) {}

    void stroke(std::span<const std::vector<PlotPoint>> runs, const Stroke& stroke) const override;
    void band(std::span<const PlotPoint> low, std::span<const PlotPoint> high, Fill fill) const override;
    void box(const PlotBox& box, Fill fill) const override;
    void frame(const PlotBox& box, const Stroke& stroke) const override;
    void blend(std::span<const PlotPoint> outline, PlotPoint from, PlotPoint to, std::span<const Rgb> colours,
               const std::optional<Stroke>& rim) const override;
    void marker(PlotPoint at, const Marker& marker) const override;
    void text(PlotPoint at, const std::string& words, const PlotText& text,
              Align align = Align::left) const override;
    void text_upward(PlotPoint middle, const std::string& words, const PlotText& text,
                     const std::optional<Rgb>& halo) const override;
    double width_of(const std::string& words, const PlotText& text) const override;
    void clip(const PlotBox& box) const override;
    void unclip() const override;

private:
    void pen(const Stroke& stroke) const;
    void trace(PlotPoint at, const Marker& marker) const;

    const Canvas& canvas_;
    cairo_t* cairo_;
};

} // namespace sparecoat::picture
