#include "picture/chart/colour_bar.hpp"
#include "picture/inks.hpp"
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

void paint_words(const Painter& painter, const std::optional<ColourBarLook::Place>& place,
                 const std::string& words) {
    if (place) painter.text(place->at, words, place->text, place->align);
}

void paint_blend(const Painter& painter, const ColourBar& bar, const PlotBox& box,
                 const ColourBarLook& look) {
    std::vector<Rgb> colours;
    for (int n = 0; n <= look.pieces; ++n) colours.push_back(bar.at(static_cast<double>(n) / look.pieces));
    const double middle = box.left + box.width / 2;
    std::vector<PlotPoint> outline{{box.left, box.bottom()}, {box.left, box.top}};
    if (bar.above) outline.push_back({middle, box.top - look.tip});
    outline.push_back({box.right(), box.top}), outline.push_back({box.right(), box.bottom()});
    if (bar.below) outline.push_back({middle, box.bottom() + look.tip});
    painter.blend(outline, {0, box.bottom()}, {0, box.top}, colours, look.frame);
}

void paint_pieces(const Painter& painter, const ColourBar& bar, const PlotBox& box,
                  const ColourBarLook& look) {
    const int count = look.pieces;
    for (int n = 0; n < count; ++n) {
        const double over = n + 1 < count ? look.overlap : look.last_overlap;
        if (!look.upright) {
            painter.box({box.left + box.width * n / count, box.top, box.width / count + over, box.height},
                        {bar.at((n + look.sample) / count)});
            continue;
        }
        double from = box.top + box.height * n / count, to = box.top + box.height * (n + 1) / count;
        if (look.whole_pixels) from = std::round(from), to = std::round(to);
        painter.box({box.left, from, box.width, to - from + over}, {bar.at(1 - (n + look.sample) / count)});
    }
    if (look.frame) painter.frame(box, *look.frame);
}

} // namespace

void paint(const Painter& painter, const ColourBar& bar, const PlotBox& box, const ColourBarLook& look) {
    paint_words(painter, look.title, look.unit ? bar.name : fmt::format("{}, {}", bar.name, bar.unit));
    paint_words(painter, look.unit, bar.unit);
    look.blended ? paint_blend(painter, bar, box, look) : paint_pieces(painter, bar, box, look);
    const auto y_of = [&](double value) { return box.top + box.height * (1 - bar.scale.share(value)); };
    for (const double level : bar.lines) {
        Stroke line = look.lines;
        line.fill.colour = ink_over(bar.colours, bar.scale.share(level));
        painter.line({box.left + look.inset, y_of(level)}, {box.right() - look.inset, y_of(level)}, line);
    }
    if (look.mark)
        for (const double tick : bar.scale.ticks) {
            const double side = look.mark_length < 0 ? box.left : box.right();
            painter.line({side, y_of(tick)}, {side + look.mark_length, y_of(tick)}, *look.mark);
        }
    const double length = look.upright ? box.height : box.width;
    for (const double tick :
         look.number_height > 0 ? ticks_with_room(bar.scale, look.number_height / length) : bar.scale.ticks) {
        const std::string words = tick_text(tick, bar.scale.step);
        const double side = look.beside < 0 ? box.left : box.right();
        const PlotPoint at =
            look.upright ? PlotPoint{side + look.beside, y_of(tick) + look.lower}
                         : PlotPoint{box.left + box.width * bar.scale.share(tick), box.bottom() + look.lower};
        painter.text(at, words, look.numbers, look.align);
    }
    paint_words(painter, look.foot, bar.foot);
}

} // namespace sparecoat::picture
