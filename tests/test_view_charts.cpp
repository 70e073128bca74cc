// Charts in the window, and what they are made of.
#include "picture/sweep_charts.hpp"
#include "study/sweep/report.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/window.hpp"
#include "units/quantity.hpp"
#include "view/pages/charts/chart_model.hpp"
#include <catch2/catch.hpp>
#include <set>

namespace test_view_charts {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

ChartSet two_charts() {
    Chart line;
    line.title = "Line", line.x.title = "time, s", line.y.title = "film, µm";
    line.series.push_back({.name = "one",
                           .x = {0, 1, 2},
                           .y = {0, 10, 5},
                           .low = {0, 9, 4},
                           .high = {1, 11, 6},
                           .notes = {"begin", "middle", "end"}});
    Chart bars;
    bars.title = "Bars", bars.x.names = {"left", "right"};
    bars.series.push_back({.look = ChartSeries::Look::bars, .x = {0, 1}, .y = {1, 3}});
    return {"Two",
            "of a test",
            {{"all", "Line", "line", line}, {"all", "Bars", "bars", bars}},
            {"One sentence."}};
}

void until_made(ChartModel& bench) {
    bench.wait();
    bench.tick();
}

} // namespace

TEST_CASE("A chart tells where its numbers are, as its axes say", "[charts]") {
    const ChartSet set = two_charts();
    const Canvas canvas(600, 400, 1, {1, 1, 1});
    const std::vector<ChartDot> dots = draw_chart(canvas, {0, 0, 600, 400, 12}, set.charts[0].chart);
    REQUIRE(dots.size() == 3);
    CHECK(dots[1].x - dots[0].x == Approx(dots[2].x - dots[1].x));           // equally far apart in x
    CHECK(dots[1].y < dots[2].y);                                            // more is higher up
    CHECK((dots[0].y - dots[2].y) / (dots[0].y - dots[1].y) == Approx(0.5)); // 5 is half of 10
    CHECK(words_at(set.charts[0].chart, dots[1]) == "one\ntime, s: 1\nfilm, µm: 10 (9 to 11)\nmiddle");
    const std::vector<ChartDot> bars = draw_chart(canvas, {0, 0, 600, 400, 12}, set.charts[1].chart);
    REQUIRE(bars.size() == 2);
    CHECK(words_at(set.charts[1].chart, bars[1]) == "right\nBars: 3");
    // A number out of the axis's range is nowhere to be pointed at.
    Chart cut = set.charts[0].chart;
    cut.y.range = Scale{0, 6, 2, {0, 2, 4, 6}};
    CHECK(draw_chart(canvas, {0, 0, 600, 400, 12}, cut).size() == 2);
}

TEST_CASE("Charts are chosen round their list, saved by ending, and made anew without losing the place",
          "[view][charts]") {
    const ScratchFolder scratch;
    ChartModel bench;
    int made = 0;
    bench.open([&](TaskState&) {
        ++made;
        return two_charts();
    });
    CHECK(bench.is_open());
    CHECK(bench.chart() == nullptr);
    until_made(bench);
    REQUIRE(bench.chart());
    CHECK(bench.chart()->name == "Line");
    bench.move(-1);
    CHECK(bench.chart()->name == "Bars");
    for (const char* name : {"chart.png", "chart.svg", "chart.pdf"}) {
        bench.save(scratch.path / name);
        CHECK(fs::file_size(scratch.path / name) > 500);
    }
    CHECK_THROWS_AS(bench.save(scratch.path / "chart.txt"), InputError);
    const std::uint64_t before = bench.generation();
    bench.again();
    until_made(bench);
    CHECK(made == 2);
    CHECK(bench.generation() == before + 1);
    CHECK(bench.chart()->name == "Bars");
}

TEST_CASE("Charts that cannot be made are told and leave what was shown", "[view][charts]") {
    ChartModel bench;
    bool good = false;
    const ChartMaker maker = [&](TaskState&) {
        if (!good) throw InputError("", "--db", "no rows", "all of them");
        return two_charts();
    };
    bench.open(maker);
    bench.wait();
    CHECK_THROWS_AS(bench.tick(), InputError);
    CHECK_FALSE(bench.is_open());
    good = true;
    bench.open(maker);
    until_made(bench);
    good = false;
    bench.again();
    bench.wait();
    CHECK_THROWS_AS(bench.tick(), InputError);
    CHECK((bench.is_open() && bench.chart() && bench.chart()->name == "Line"));
}

TEST_CASE("A sweep's charts in the window are those of its files", "[view][charts][sweep]") {
    const ScratchFolder scratch;
    write_text(scratch.path / "small.json",
               R"({"kind": "sweep", "name": "Small", "panel": "small-plate", "paints": ["typical"],
            "defects": "light",
        "technique": "small-head-detail", "grid": "4 mm",
        "factors": [{"name": "force", "of": "technique", "at": "/force", "from": "12 N", "to": "30 N"},
                    {"name": "passes", "of": "technique", "at": "/passes", "from": 1, "to": 2}],
        "design": {"kind": "saltelli", "points": 4}})");
    const Library library(source_at("presets"));
    const std::string design = (scratch.path / "small.json").string();
    const fs::path results = scratch.path / "rows.sqlite";
    const Sweep sweep(library, library.sweep(design));
    const SweepKeys keys = keys_of(sweep, 1);
    {
        SweepResults rows(results.string(), SweepResults::Mode::create);
        run_sweep(sweep, keys, &rows, {}, 1, Ranks{});
    }
    ChartModel bench;
    bench.open(sweep_charts(library, design, results));
    until_made(bench);
    REQUIRE(bench.set());
    CHECK(bench.set()->heading == "Small");
    const std::size_t each = 1 + 2; // indices, and an effect of either factor
    CHECK(bench.set()->charts.size() == 1 + each * sweep_output_count);
    std::set<std::string> files;
    for (const NamedChart& one : bench.set()->charts) CHECK(files.insert(one.file).second);
    const Chart& front = bench.chart()->chart;
    REQUIRE(front.series[0].notes.size() == sweep.points().count());
    CHECK_THAT(front.series[0].notes[0], Contains("force ") && Contains("passes "));
    for (const ChartSeries& series : front.series) CHECK(series.notes.size() == series.x.size());
}

TEST_CASE("The technique on the bench has its evenness as charts, looked through by keys",
          "[view][window][charts][long]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const ScratchFolder scratch;
    Window window(window_request(scratch.path / "settings.json"));
    Fingers fingers(window);
    Session& session = window.session();
    REQUIRE(fingers.until([&] { return session.view.generation > 0 && session.view.end_s > 0; }));
    fingers.act("charts");
    REQUIRE(session.charts.in_front());
    REQUIRE(fingers.until([&] { return session.charts.model.chart() != nullptr; }, 120));
    fingers.frames(2);
    const Window::Image first = window.picture();
    fingers.act("chart-after");
    CHECK(session.charts.model.row == 1);
    CHECK(difference(first, window.picture(), {330, 70, 940, 640}) > 0.01);
    fingers.act("chart-save");
    CHECK(session.chooser == Session::Chooser::save_chart);
    fingers.act("close");
    fingers.act("help"), fingers.act("close");
    fingers.act("close");
    CHECK_FALSE(session.charts.in_front());
    CHECK(session.messages.empty());
    CHECK(window.gl_errors() == 0);
}

} // namespace test_view_charts
