#include "view/window/chart_painter.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::view {
namespace {

ImVec2 pixels(PlotPoint p) { return {static_cast<float>(p.x), static_cast<float>(p.y)}; }
ImU32 ink_of(const Fill& fill) { return colour_of(fill.colour, static_cast<float>(fill.opacity)); }

/// A line of dashes: the pen counts the way, so that dashes keep their length round bends.
void draw_dashed(ImDrawList& list, const std::vector<ImVec2>& points, ImU32 colour, const Stroke& stroke) {
    const float dash = static_cast<float>(stroke.dash), beat = static_cast<float>(stroke.dash + stroke.gap);
    float walked = 0;
    for (std::size_t k = 1; k < points.size(); ++k) {
        const ImVec2 a = points[k - 1], b = points[k];
        const float length = std::hypot(b.x - a.x, b.y - a.y);
        const auto at = [&](float way) {
            return ImVec2{a.x + way / length * (b.x - a.x), a.y + way / length * (b.y - a.y)};
        };
        for (float way = 0; way < length;) {
            const float phase = std::fmod(walked + way, beat);
            const float until = std::min(length, way + (phase < dash ? dash - phase : beat - phase) + 0.01f);
            if (phase < dash) list.AddLine(at(way), at(until), colour, static_cast<float>(stroke.width));
            way = until;
        }
        walked += length;
    }
}

} // namespace

ImU32 colour_of(Rgb colour, float alpha) {
    const auto byte = [](double part) {
        return static_cast<int>(std::lround(std::clamp(part, 0.0, 1.0) * 255));
    };
    return with_alpha(IM_COL32(byte(colour.r), byte(colour.g), byte(colour.b), 255), alpha);
}

Fill fill_of(ImU32 colour, float alpha) {
    const auto part = [&](int shift) { return static_cast<double>((colour >> shift) & 0xff) / 255; };
    return {{part(IM_COL32_R_SHIFT), part(IM_COL32_G_SHIFT), part(IM_COL32_B_SHIFT)},
            static_cast<double>(alpha)};
}

Fill fill_of(ImU32 colour) {
    return fill_of(colour, static_cast<float>((colour >> IM_COL32_A_SHIFT) & 0xff) / 255);
}

PlotText type_of(const Ui& ui, const ImFont* font, ImU32 colour) {
    const bool bold = font == ui.f.bold || font == ui.f.large;
    return {{static_cast<double>(font->FontSize), bold, fill_of(colour).colour}, true};
}

Plot plot_in(const Box& box, PlotAxis x, PlotAxis y) {
    return {static_cast<double>(box.x),
            static_cast<double>(box.y),
            static_cast<double>(box.x + box.w),
            static_cast<double>(box.y + box.h),
            std::move(x),
            std::move(y)};
}

AxesLook window_axes(const Ui& ui) {
    const auto units = [&](float n) { return static_cast<double>(ui.px(n)); };
    AxesLook look;
    look.x.words = look.y.words = type_of(ui, ui.f.small, ui.c.quiet);
    look.x.mark = Stroke{fill_of(ui.c.quiet), 1}, look.x.mark_length = units(4);
    look.x.beside = units(4);
    look.y.beside = units(6), look.y.lower = -0.5 * static_cast<double>(ui.f.small->FontSize);
    return look;
}

void WindowPainter::stroke(std::span<const std::vector<PlotPoint>> runs, const Stroke& stroke) const {
    const ImU32 colour = ink_of(stroke.fill);
    const auto width = static_cast<float>(stroke.width);
    for (const std::vector<PlotPoint>& run : runs) {
        std::vector<ImVec2> points;
        for (const PlotPoint& p : run) points.push_back(pixels(p));
        if (stroke.dash > 0 && stroke.dash == stroke.gap && points.size() == 2)
            draw_dashes(list_, points[0], points[1], colour, width, static_cast<float>(stroke.dash));
        else if (stroke.dash > 0) draw_dashed(list_, points, colour, stroke);
        else if (points.size() == 2) list_.AddLine(points[0], points[1], colour, width);
        else if (points.size() > 2)
            list_.AddPolyline(points.data(), static_cast<int>(points.size()), colour, 0, width);
    }
}

void WindowPainter::band(std::span<const PlotPoint> low, std::span<const PlotPoint> high, Fill fill) const {
    const ImDrawListFlags kept = list_.Flags;
    list_.Flags &= ~ImDrawListFlags_AntiAliasedFill; // or a seam shows between neighbours
    for (std::size_t k = 1; k < std::min(low.size(), high.size()); ++k) {
        const ImVec2 corners[] = {pixels(high[k - 1]), pixels(high[k]), pixels(low[k]), pixels(low[k - 1])};
        list_.AddConvexPolyFilled(corners, 4, ink_of(fill));
    }
    list_.Flags = kept;
}

void WindowPainter::box(const PlotBox& box, Fill fill) const {
    list_.AddRectFilled(pixels({box.left, box.top}), pixels({box.right(), box.bottom()}), ink_of(fill));
}

void WindowPainter::frame(const PlotBox& box, const Stroke& stroke) const {
    list_.AddRect(pixels({box.left, box.top}), pixels({box.right(), box.bottom()}), ink_of(stroke.fill), 0, 0,
                  static_cast<float>(stroke.width));
}

void WindowPainter::blend(std::span<const PlotPoint> outline, PlotPoint from, PlotPoint to,
                          std::span<const Rgb> colours, const std::optional<Stroke>& rim) const {
    const auto [left, right] = std::ranges::minmax(outline, {}, &PlotPoint::x);
    const auto count = static_cast<double>(colours.size());
    for (std::size_t n = 0; n < colours.size(); ++n) {
        const auto at = [&](std::size_t k) {
            return from.y + (to.y - from.y) * static_cast<double>(k) / count;
        };
        list_.AddRectFilled(pixels({left.x, std::min(at(n), at(n + 1))}),
                            pixels({right.x, std::max(at(n), at(n + 1))}), colour_of(colours[n]));
    }
    if (rim) frame({left.x, std::min(from.y, to.y), right.x - left.x, std::abs(to.y - from.y)}, *rim);
}

void WindowPainter::marker(PlotPoint at, const Marker& marker) const {
    const ImVec2 p = pixels(at);
    const auto r = static_cast<float>(marker.radius);
    if (marker.shape == Marker::Shape::disc) {
        if (marker.fill) list_.AddCircleFilled(p, r, ink_of(*marker.fill));
        if (marker.rim)
            list_.AddCircle(p, r, ink_of(marker.rim->fill), 0, static_cast<float>(marker.rim->width));
        return;
    }
    const float size = static_cast<float>(marker.extent());
    std::vector<ImVec2> corners;
    switch (marker.shape) {
    case Marker::Shape::square: {
        const float half = 0.88f * r;
        corners = {{p.x - half, p.y - half},
                   {p.x + half, p.y - half},
                   {p.x + half, p.y + half},
                   {p.x - half, p.y + half}};
        break;
    }
    case Marker::Shape::up:
        corners = {{p.x, p.y - size},
                   {p.x + 0.866f * size, p.y + 0.5f * size},
                   {p.x - 0.866f * size, p.y + 0.5f * size}};
        break;
    case Marker::Shape::down:
        corners = {{p.x, p.y + size},
                   {p.x - 0.866f * size, p.y - 0.5f * size},
                   {p.x + 0.866f * size, p.y - 0.5f * size}};
        break;
    default: corners = {{p.x, p.y - size}, {p.x + size, p.y}, {p.x, p.y + size}, {p.x - size, p.y}};
    }
    const int count = static_cast<int>(corners.size());
    if (marker.fill) list_.AddConvexPolyFilled(corners.data(), count, ink_of(*marker.fill));
    if (marker.rim)
        list_.AddPolyline(corners.data(), count, ink_of(marker.rim->fill), ImDrawFlags_Closed,
                          static_cast<float>(marker.rim->width));
}

const ImFont* WindowPainter::font_of(const TextStyle& style) const {
    const auto is = [&](const ImFont* font) {
        return std::abs(static_cast<double>(font->FontSize) - style.size) < 0.01;
    };
    if (style.bold) return is(fonts_.large) ? fonts_.large : fonts_.bold;
    return is(fonts_.small) ? fonts_.small : fonts_.body;
}

void WindowPainter::text(PlotPoint at, const std::string& words, const PlotText& text, Align align) const {
    const ImFont* font = font_of(text.style);
    const float y = static_cast<float>(at.y) - (text.hangs ? 0 : font->Ascent);
    write(list_, font, static_cast<float>(at.x), y, colour_of(text.style.colour), words, align);
}

void WindowPainter::text_upward(PlotPoint middle, const std::string& words, const PlotText& words_look,
                                const std::optional<Rgb>&) const {
    text(middle, words, words_look, Align::centre);
}

double WindowPainter::width_of(const std::string& words, const PlotText& text) const {
    return static_cast<double>(view::width_of(font_of(text.style), words));
}

void WindowPainter::clip(const PlotBox& box) const {
    list_.PushClipRect(pixels({box.left, box.top}), pixels({box.right(), box.bottom()}), true);
}
void WindowPainter::unclip() const { list_.PopClipRect(); }

void draw_colour_bar(const Ui& ui, ImDrawList& list, const Box& box, const ColourBar& bar,
                     float foot_height) {
    const auto units = [&](float n) { return static_cast<double>(ui.px(n)); };
    const float right = box.x + box.w - ui.px(14), top = box.y + ui.px(66),
                height = box.h - ui.px(66 + foot_height);
    const auto place = [&](float y, const PlotText& text) {
        return ColourBarLook::Place{{static_cast<double>(right), static_cast<double>(y)}, text, Align::right};
    };
    ColourBarLook look;
    look.title = place(box.y + ui.px(12), type_of(ui, ui.f.bold, ui.c.ink));
    look.unit = place(box.y + ui.px(33), type_of(ui, ui.f.body, ui.c.quiet));
    look.foot = place(top + height + ui.px(8), type_of(ui, ui.f.small, ui.c.quiet));
    look.whole_pixels = true;
    look.frame = Stroke{fill_of(ui.c.quiet), 1};
    look.lines = {{{}, static_cast<double>(0.7f)}, 1};
    look.mark = Stroke{fill_of(ui.c.ink), units(1.5f)}, look.mark_length = -units(6);
    look.numbers = type_of(ui, ui.f.body, ui.c.ink), look.align = Align::right;
    look.beside = -units(10), look.lower = -static_cast<double>(ui.f.body->FontSize * 0.55f);
    look.number_height = static_cast<double>(ui.f.body->FontSize);
    paint(WindowPainter(ui, list), bar,
          {static_cast<double>(right - ui.px(22)), static_cast<double>(top), units(22),
           static_cast<double>(height)},
          look);
}

} // namespace sparecoat::view
