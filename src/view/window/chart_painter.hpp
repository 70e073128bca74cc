#pragma once
#include "picture/chart/colour_bar.hpp"
#include "view/window/widgets.hpp"

namespace sparecoat::view {

ImU32 colour_of(Rgb colour, float alpha = 1);
Fill fill_of(ImU32 colour); ///< with its own opacity
Fill fill_of(ImU32 colour, float alpha);

/// The window's type as a chart has it: hanging from where its line begins.
PlotText type_of(const Ui& ui, const ImFont* font, ImU32 colour);

/// A box of the window with its axes.
Plot plot_in(const Box& box, PlotAxis x, PlotAxis y);
/// Numbers small and quiet beside the axes; below the plot as far as there is room for them.
AxesLook window_axes(const Ui& ui);

/// Paints charts into a window; lengths are pixels. Keeps a reference to the list.
class WindowPainter : public Painter {
public:
    WindowPainter(const Ui& ui, ImDrawList& list) : fonts_(ui.f), list_(list) {}

    void stroke(std::span<const std::vector<PlotPoint>> runs, const Stroke& stroke) const override;
    void band(std::span<const PlotPoint> low, std::span<const PlotPoint> high, Fill fill) const override;
    void box(const PlotBox& box, Fill fill) const override;
    void frame(const PlotBox& box, const Stroke& stroke) const override;
    /// In slices of one colour each, across the outline's box.
    void blend(std::span<const PlotPoint> outline, PlotPoint from, PlotPoint to, std::span<const Rgb> colours,
               const std::optional<Stroke>& rim) const override;
    void marker(PlotPoint at, const Marker& marker) const override;
    void text(PlotPoint at, const std::string& words, const PlotText& text, Align align) const override;
    /// Not turned: the window has no type that stands.
    void text_upward(PlotPoint middle, const std::string& words, const PlotText& text,
                     const std::optional<Rgb>& halo) const override;
    double width_of(const std::string& words, const PlotText& text) const override;
    void clip(const PlotBox& box) const override;
    void unclip() const override;

private:
    const ImFont* font_of(const TextStyle& style) const;

    const Fonts& fonts_;
    ImDrawList& list_;
};

/// What the colours of the map stand for, in a box of the window.
/// @param foot_height kept free under the bar, in units of a window 720 high
void draw_colour_bar(const Ui& ui, ImDrawList& list, const Box& box, const ColourBar& bar,
                     float foot_height = 40);

} // namespace sparecoat::view
