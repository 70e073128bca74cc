#include "picture/chart/chart.hpp"
#include "picture/chart/colour_bar.hpp"
#include "support/files.hpp"
#include "units/error.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

namespace test_chart {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

Chart film_against_overlap() {
    Chart chart{"Film against overlap", "", {"overlap, %"}, {"film lost, µm"}};
    chart.series.push_back({"polish", ChartSeries::Look::line, {30, 50, 70}, {1, 1.5, 2}});
    return chart;
}

/// How often something occurs in a text.
std::size_t count(const std::string& text, const std::string& what) {
    std::size_t n = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
    return n;
}

std::string svg_of(const Chart& chart) {
    Canvas page(PageFormat::svg, 540, 342, {1, 1, 1});
    draw_chart(page, {0, 0, 540, 342, 9}, chart);
    return page.bytes();
}

} // namespace

TEST_CASE("a chart is written in the format that its file's name ends in", "[chart]") {
    const ScratchFolder folder;
    write_chart(folder.path / "a.png", film_against_overlap());
    write_chart(folder.path / "a.svg", film_against_overlap());
    write_chart(folder.path / "a.PDF", film_against_overlap());
    CHECK(bytes_of(folder.path / "a.png").starts_with("\x89PNG"));
    CHECK(bytes_of(folder.path / "a.svg").starts_with("<?xml"));
    CHECK(bytes_of(folder.path / "a.PDF").starts_with("%PDF-"));
    CHECK_THROWS_AS(write_chart(folder.path / "a.jpg", film_against_overlap()), InputError);
    CHECK_THROWS_AS(write_chart(folder.path / "none" / "a.pdf", film_against_overlap()), InputError);
}

TEST_CASE("the same chart gives the same bytes", "[chart]") {
    for (const PageFormat format : {PageFormat::png, PageFormat::svg, PageFormat::pdf}) {
        const auto once = [&] {
            Canvas page(format, 540, 342, {1, 1, 1});
            page.describe("title", "author");
            draw_chart(page, {0, 0, 540, 342, 9}, film_against_overlap());
            return page.bytes();
        };
        const bool same = once() == once();
        CHECK(same);
    }
}

TEST_CASE("a series of a colour of its own is drawn in it, a point a mark", "[chart]") {
    Chart chart = film_against_overlap();
    chart.series[0].look = ChartSeries::Look::points;
    chart.series[0].colour = Rgb{1, 0, 1};
    chart.series[0].name = "";
    const std::string three = svg_of(chart);
    chart.series[0].y[1] = std::numeric_limits<double>::quiet_NaN();
    const std::string two = svg_of(chart);
    const std::string magenta = "rgb(100%,0%,100%)";
    CHECK(count(three, magenta) == 3);
    CHECK(count(two, magenta) == 2);
}

TEST_CASE("a logarithmic axis leaves out what is not positive", "[chart]") {
    Chart chart = film_against_overlap();
    chart.y.logarithmic = true;
    chart.series[0].look = ChartSeries::Look::points, chart.series[0].colour = Rgb{1, 0, 1},
    chart.series[0].name = "";
    chart.series[0].y = {0, 0.01, 100};
    CHECK(count(svg_of(chart), "rgb(100%,0%,100%)") == 2);
    chart.series[0].y = {0, -1, std::numeric_limits<double>::infinity()};
    CHECK_THROWS_AS(svg_of(chart), std::invalid_argument);
}

TEST_CASE("columns of different lengths, and a chart without numbers, are refused", "[chart]") {
    Chart chart = film_against_overlap();
    chart.series[0].y.pop_back();
    CHECK_THROWS_AS(svg_of(chart), std::invalid_argument);
    chart.series.clear();
    CHECK_THROWS_AS(svg_of(chart), std::invalid_argument);
    chart = film_against_overlap();
    chart.series[0].low = {0, 1};
    CHECK_THROWS_AS(svg_of(chart), std::invalid_argument);
}

TEST_CASE("only a PDF has a second page", "[chart]") {
    Canvas page(PageFormat::svg, 100, 100, {1, 1, 1});
    CHECK_THROWS_AS(page.next_page(), std::logic_error);
    Canvas pages(PageFormat::pdf, 100, 100, {1, 1, 1});
    pages.next_page();
    CHECK(count(pages.bytes(), "/Count 2") == 1);
}

// ---- what charts are painted with -------------------------------------------------------------------

namespace {

/// Keeps what is painted instead of painting it.
class Recorder : public Painter {
public:
    void stroke(std::span<const std::vector<PlotPoint>> runs, const Stroke&) const override {
        for (const std::vector<PlotPoint>& run : runs) strokes.push_back(run);
    }
    void band(std::span<const PlotPoint>, std::span<const PlotPoint>, Fill) const override {}
    void box(const PlotBox& box, Fill fill) const override { boxes.emplace_back(box, fill.colour); }
    void frame(const PlotBox&, const Stroke&) const override {}
    void blend(std::span<const PlotPoint>, PlotPoint, PlotPoint, std::span<const Rgb>,
               const std::optional<Stroke>&) const override {}
    void marker(PlotPoint, const Marker&) const override {}
    void text(PlotPoint at, const std::string& words, const PlotText&, Align) const override {
        texts.emplace_back(words, at);
    }
    void text_upward(PlotPoint, const std::string&, const PlotText&,
                     const std::optional<Rgb>&) const override {}
    double width_of(const std::string& words, const PlotText&) const override {
        return 10 * static_cast<double>(words.size());
    }
    void clip(const PlotBox&) const override {}
    void unclip() const override {}

    mutable std::vector<std::vector<PlotPoint>> strokes;
    mutable std::vector<std::pair<PlotBox, Rgb>> boxes;
    mutable std::vector<std::pair<std::string, PlotPoint>> texts;
};

Plot plot_of(PlotAxis x, PlotAxis y) { return {100, 50, 500, 250, std::move(x), std::move(y)}; }

} // namespace

TEST_CASE("what lies beyond a held axis is shown at its end, beyond a free one outside of the plot",
          "[chart]") {
    using Beyond = PlotAxis::Beyond;
    const Plot plot = plot_of(axis_of(locked_scale(0, 4), 1, Beyond::held_low),
                              axis_of(locked_scale(0, 100), 100, Beyond::held));
    CHECK(plot.x_at(-1) == 100);
    CHECK(plot.x_at(5) == Approx(600));
    CHECK(plot.y_at(0.25) == Approx(200)); // a share, shown in per cent
    CHECK(plot.y_at(1.5) == 50);
    CHECK(plot.y_at(-0.5) == 250);
}

TEST_CASE("numbers on an axis that would come too near to those before are left out", "[chart]") {
    PlacedChart chart{plot_of(axis_of(locked_scale(0, 10)), axis_of(locked_scale(0, 1)))};
    const auto below = [&](double room) {
        chart.look.x.room = room, chart.look.y.beside = 5;
        const Recorder recorder;
        paint(recorder, chart);
        std::vector<std::string> words;
        for (const auto& [text, at] : recorder.texts)
            if (at.y >= chart.plot.bottom && at.x >= chart.plot.left) words.push_back(text);
        return words;
    };
    // At every second unit, so 80 apart; each is 10 or 20 wide.
    CHECK(below(5) == std::vector<std::string>{"0", "2", "4", "6", "8", "10"});
    CHECK(below(75) == std::vector<std::string>{"0", "4", "8"});
}

TEST_CASE("a line is broken where a number cannot be shown", "[chart]") {
    const Plot plot = plot_of(axis_of(locked_scale(0, 4)), axis_of(locked_scale(0, 1)));
    const double nothing = std::numeric_limits<double>::quiet_NaN();
    const Recorder recorder;
    paint(recorder, plot, PlotCurve{{{0, 0}, {1, 0.5}, {2, nothing}, {3, 0.5}, {4, 1}}, {}});
    REQUIRE(recorder.strokes.size() == 2);
    CHECK(recorder.strokes[0].size() == 2);
    CHECK(recorder.strokes[1].back().x == Approx(500));
}

TEST_CASE("a colour bar has its low end at its foot and its numbers where their colours are", "[chart]") {
    const Scale scale = locked_scale(0, 10);
    const ColourBar bar{film_lost_colours(), scale, "film lost", "\u00b5m"};
    ColourBarLook look;
    look.pieces = 8, look.beside = 4, look.title = ColourBarLook::Place{{20, 5}};
    const Recorder recorder;
    paint(recorder, bar, {20, 10, 30, 160}, look);
    REQUIRE(recorder.boxes.size() == 8);
    const auto& [lowest, colour] = recorder.boxes.back();
    CHECK(lowest.bottom() == Approx(170));
    CHECK(colour.r == film_lost_colours().at(0.5 / 8).r);
    REQUIRE(recorder.texts.size() == 1 + scale.ticks.size());
    CHECK(recorder.texts.front().first == "film lost, \u00b5m");
    CHECK(recorder.texts[1].first == "0");
    CHECK(recorder.texts[1].second.y == Approx(170));
    CHECK(recorder.texts.back().second.y == Approx(10));
}

} // namespace test_chart
