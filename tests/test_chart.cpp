#include "picture/chart.hpp"
#include "support/files.hpp"
#include "units/error.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

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
