#include "picture/chart/large_chart.hpp"

namespace sparecoat::picture {

AxesLook large_chart_axes(const Plot& plot, const std::string& x_title, double below,
                          const std::string& y_title, double y_title_x) {
    const PlotText numbers{{16, false, large_chart_grey}}, titles{{18, false, ink}};
    AxesLook look;
    look.x.grid = look.y.grid = Stroke{{{0.86, 0.87, 0.89}}, 1};
    look.x.line = look.y.line = Stroke{{ink}, 1.4};
    look.x.words = look.y.words = numbers;
    look.x.beside = 24;
    look.y.beside = 12, look.y.lower = 6;
    look.titles = {
        {{0.5 * (plot.left + plot.right), plot.bottom + below}, x_title, titles, Align::centre},
        {{y_title_x, 0.5 * (plot.top + plot.bottom)}, y_title, titles, Align::centre, true, paper}};
    return look;
}

std::vector<PlotLayer> large_chart_target(const Plot& plot, double at, Rgb colour, double width,
                                          const std::string& words) {
    return {PlotRule{at, false, {{colour}, width, 9, 6}},
            PlotWords{{plot.right - 8, plot.y_at(at) - 8}, words, {{16, false, colour}}, Align::right}};
}

} // namespace sparecoat::picture
