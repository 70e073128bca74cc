#pragma once
#include "picture/chart/painter.hpp"
#include "picture/scale.hpp"
#include <array>
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::picture {

/// An axis of a chart. Its range follows the data unless one is given.
struct ChartAxis {
    std::string title;                   ///< with its unit: "film lost, µm"
    std::optional<Scale> range = {};     ///< not for a logarithmic axis or one of names
    bool logarithmic = false;            ///< decades; values that are not positive are left out
    std::vector<std::string> names = {}; ///< a place for each, at 0, 1, 2, ...; of the x axis alone
};

/// Numbers that belong together. A point with no finite place is left out, and breaks a line.
struct ChartSeries {
    enum class Look { line, points, bars, steps };
    std::string name = {}; ///< in the legend; empty: not there
    Look look = Look::line;
    std::vector<double> x = {}, y = {};
    std::vector<double> low = {},
                        high = {}; ///< of y: error bars of points and bars, a band round a line; empty: none
    std::vector<std::string> notes = {}; ///< of each point, for whoever points at it; empty: none
    std::optional<Rgb> colour =
        {}; ///< else by place, with a mark and dashes of its own, so that a grey print tells them apart
};

/// A dashed line across at a value.
struct ChartRule {
    double at = 0;
    std::string words = {};
    bool upright = false; ///< at an x; else at a y
};

/// Words at a point.
struct ChartWord {
    double x = 0, y = 0;
    std::string words = {};
};

struct Chart {
    std::string title, subtitle = {}; ///< the second is wrapped
    ChartAxis x = {}, y = {};
    std::vector<ChartSeries> series = {};
    std::vector<ChartRule> rules = {};
    std::vector<ChartWord> words = {};
};

/// A chart of several that belong together.
struct NamedChart {
    std::string group, name; ///< for a list
    std::string file;        ///< without its ending
    Chart chart;
};

/// What a chart is drawn in. The series' colours are told apart by lightness as well as by hue.
struct ChartInks {
    Rgb paper, ink, faint, grey;
    std::array<Rgb, 6> series;
};
extern const ChartInks chart_inks_on_white, chart_inks_on_black;

/// Where a chart lies on a page, in its units. All of it scales with the size of its text.
struct ChartBox {
    double left = 0, top = 0, width = 0, height = 0;
    double text_size = 9;
    const ChartInks& inks = chart_inks_on_white;
};

/// Where a number of a chart was drawn: the k-th of a series, on the page.
struct ChartDot {
    std::size_t series = 0, k = 0;
    double x = 0, y = 0;
};

/// Draws a chart into a box of a page of any format. @return the numbers that can be seen, with their places,
/// for whoever points at them. @throws std::invalid_argument where columns of a series differ in length or a
/// chart has nothing finite to draw.
std::vector<ChartDot> draw_chart(const Canvas& canvas, const ChartBox& box, const Chart& chart);
/// A number in words, for a pointer: in lines its series, where it is on either axis, with its interval, and
/// its note.
std::string words_at(const Chart& chart, const ChartDot& dot);

/// A file of one chart, by its ending: PNG of 1200 x 760 pixels, SVG and PDF of 540 x 342 points.
/// @throws InputError for another ending or where it cannot be written.
void write_chart(const std::filesystem::path& file, const Chart& chart);

} // namespace sparecoat::picture
