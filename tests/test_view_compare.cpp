// Techniques side by side in the window: one clock, one scale, one camera, and what they have more than the
// first.
#include "run/run_job.hpp"
#include "sim/simulate.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "support/window.hpp"
#include "units/quantity.hpp"
#include "view/app/session.hpp"
#include "view/pages/compare/compare_model.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

namespace test_view_compare {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// A plate and techniques as files: a mild one, a harder one, and one that is done sooner.
struct TwoWays {
    ScratchFolder folder;
    Library library{source_at("presets")};
    std::string mild, hard, fast;

    TwoWays() {
        json plate = {
            {"kind", "panel"}, {"name", "Plate"}, {"substrate", "steel"}, {"outline", json::array()}};
        const std::pair<const char*, const char*> corners[] = {
            {"0 mm", "0 mm"}, {"240 mm", "0 mm"}, {"240 mm", "200 mm"}, {"0 mm", "200 mm"}};
        const char* edges[] = {"bottom", "right", "top", "left"};
        for (std::size_t k = 0; k < 4; ++k)
            plate["outline"].push_back({{"at", {corners[k].first, corners[k].second}}, {"edge", edges[k]}});
        write_text(folder.path / "plate.json", plate.dump());
        mild = add("mild.json", {{"name", "Mild"}});
        hard = add("hard.json", {{"name", "Hard"}, {"force", "40 N"}});
        fast = add("fast.json", {{"name", "Fast"}, {"arm_speed", "150 mm/s"}});
    }
    std::string add(const std::string& file, const json& changes) const {
        json technique = {{"kind", "technique"},
                          {"machine", "da-mini-12"},
                          {"pad", "medium-foam-75"},
                          {"liquid", "polish"},
                          {"force", "20 N"},
                          {"speed", "4500/min"},
                          {"arm_speed", "100 mm/s"},
                          {"passes", 1},
                          {"hand", {{"force", "8 %"}, {"arm_speed", "10 %"}}}};
        technique.merge_patch(changes);
        write_text(folder.path / file, technique.dump());
        return (folder.path / file).string();
    }
    RunRequest run() const {
        RunRequest request;
        request.panel = (folder.path / "plate.json").string();
        request.technique = mild;
        request.grid_m = 4 * mm;
        return request;
    }
    CompareRequest asked(std::vector<std::string> techniques) const {
        CompareRequest request;
        request.run = run();
        request.techniques = std::move(techniques);
        request.terms.replicates = 4;
        return request;
    }
};

constexpr ComparePane a{0, false}, b{1, false}, b_over_a{1, true};

bool same(const std::vector<float>& one, const std::vector<float>& other) {
    return std::ranges::equal(one, other,
                              [](float x, float y) { return x == y || (std::isnan(x) && std::isnan(y)); });
}

double largest(const std::vector<float>& values) {
    double most = 0;
    for (const float v : values)
        if (!std::isnan(v)) most = std::max(most, std::abs(static_cast<double>(v)));
    return most;
}

} // namespace

TEST_CASE("At the end of the clock every pane shows what its technique's whole run comes to",
          "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    bench.open(world.library, world.asked({world.mild, world.fast}));
    bench.settle(FilmUnit::um);
    REQUIRE(bench.runs() == 2);
    bench.seek(bench.end_s());
    bench.settle(FilmUnit::um);
    for (std::size_t side = 0; side < 2; ++side) {
        const RunJob& job = bench.job(side);
        CHECK(bench.finished(side));
        CHECK(bench.view(side).fields.removed_um ==
              simulate(job.panel, setup_of(job), job.path).fields.removed_um);
    }
    CHECK(bench.end_s() == bench.job(0).path.samples.back().t_s); // the slower one's
    CHECK(bench.job(1).path.samples.back().t_s < 0.8 * bench.end_s());
}

TEST_CASE("The clock of the panes waits for the slowest run and stops at the last one's end",
          "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    bench.open(world.library, world.asked({world.mild, world.fast}));
    bench.settle(FilmUnit::um);
    bench.play_or_pause();
    CHECK(bench.playing());
    const auto lies_in_step =
        [&](std::size_t side) { // the last sample of its path that is not after the clock
            double expected = 0;
            for (const ArmSample& sample : bench.job(side).path.samples)
                if (sample.t_s <= bench.t_s() + 1e-9) expected = sample.t_s;
            return bench.view(side).t_s == expected;
        };
    double now = 0, before = 0;
    bool always = true, rising = true;
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(60);
    while (bench.playing() && std::chrono::steady_clock::now() < until) {
        bench.tick(now += 0.02, 50, FilmUnit::um); // a second of the run a frame
        rising = rising && bench.t_s() >= before && bench.t_s() <= before + 0.02 * 50 + 1e-9;
        before = bench.t_s();
        if (bench.arrived()) always = always && lies_in_step(0) && lies_in_step(1);
    }
    bench.settle(FilmUnit::um);
    CHECK(always);
    CHECK(rising);
    CHECK_FALSE(bench.playing());
    CHECK(bench.t_s() == bench.end_s());
    CHECK((lies_in_step(0) && lies_in_step(1)));
}

TEST_CASE("The maps share one scale, and the difference is the second less the first, cell by cell",
          "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    bench.open(world.library, world.asked({world.mild, world.hard}));
    bench.settle(FilmUnit::um);
    bench.seek(bench.end_s());
    bench.whole_range = true;
    bench.settle(FilmUnit::um);
    const double most = std::max(largest(bench.values(a)), largest(bench.values(b)));
    CHECK(largest(bench.values(b)) > 1.5 * largest(bench.values(a))); // Preston: twice the force
    CHECK(bench.scale().low <= 0);
    CHECK(bench.scale().high >= most);
    CHECK(bench.most() == Approx(most));
    bool is_difference = true;
    for (std::size_t k = 0; k < bench.values(a).size(); ++k) {
        const float expected = bench.values(b)[k] - bench.values(a)[k], got = bench.values(b_over_a)[k];
        is_difference = is_difference && (got == expected || (std::isnan(got) && std::isnan(expected)));
    }
    CHECK(is_difference);
    CHECK(bench.over_scale().low == -bench.over_scale().high);
    CHECK(bench.over_scale().high >= largest(bench.values(b_over_a)));

    // In mil the numbers are the same lengths.
    bench.settle(FilmUnit::mil);
    CHECK(bench.most() == Approx(most / 25.4)); // a mil is 25.4 µm, NIST SP 811
    CHECK(bench.scale().high < bench.most() * 2);

    // Not reaching to the worst spot it still holds what most cells have.
    bench.whole_range = false;
    bench.settle(FilmUnit::um);
    std::vector<float> worked;
    for (const ComparePane pane : {a, b})
        for (const float v : bench.values(pane))
            if (v > 0) worked.push_back(v);
    const auto within =
        std::ranges::count_if(worked, [&](float v) { return static_cast<double>(v) <= bench.scale().high; });
    CHECK(static_cast<double>(within) >= 0.96 * static_cast<double>(worked.size()));
}

TEST_CASE("Two techniques have three panes with their difference, four have one each", "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    bench.open(world.library, world.asked({world.mild, world.hard}));
    bench.settle(FilmUnit::um);
    CHECK(bench.panes() == std::vector<ComparePane>{a, b, b_over_a});
    bench.differences = false;
    CHECK(bench.panes() == std::vector<ComparePane>{a, b});
    bench.add(world.fast);
    bench.settle(FilmUnit::um);
    CHECK(bench.chosen == 2);
    CHECK(bench.panes() == std::vector<ComparePane>{a, b, {2, false}});
    bench.differences = true;
    CHECK(bench.panes() == std::vector<ComparePane>{a, b_over_a, {2, true}});
}

TEST_CASE("The mean of the draws and the chance are the comparison's own fields", "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    CompareRequest request = world.asked({world.mild, world.hard});
    request.terms.reserve_um = 38; // so that there is some chance to see
    bench.open(world.library, request);
    bench.of_draws = true;
    bench.settle(FilmUnit::um);
    REQUIRE(bench.comparison());
    REQUIRE(bench.shows_draws());
    const Comparison expected = compare_techniques(world.library, request, 1);
    CHECK(same(bench.values(b), expected.techniques[1].mean_removed_um));
    CHECK(same(bench.values(b_over_a), lost_over_first_um(expected, 1)));
    bench.map = MapKind::clear_left;
    bench.settle(FilmUnit::um);
    const std::size_t cell = nearest_cell(bench.panel().grid, {0.12, 0.1});
    CHECK(std::isnan(bench.values(a).front())); // off the panel
    CHECK(bench.values(a)[cell] ==
          bench.panel().clear_um[cell] - expected.techniques[0].mean_removed_um[cell]);
    bench.map = MapKind::chance;
    bench.settle(FilmUnit::um);
    const ComparedTechnique& hard = expected.techniques[1];
    CHECK(
        static_cast<double>(bench.values(b)[hard.weakest_cell]) ==
        Approx(100 *
               hard.estimates[static_cast<std::size_t>(Measure::chance)].mean)); // two sums of the same draws
    CHECK(largest(bench.values(b)) == static_cast<double>(bench.values(b)[hard.weakest_cell]));
    REQUIRE(bench.weakest(1));
    CHECK(bench.weakest(1)->x == bench.panel().grid.centre(hard.weakest_cell).x);
    // A map of one moment is the run's, whatever is asked of the draws.
    bench.map = MapKind::pressure_now;
    CHECK_FALSE(bench.shows_draws());
}

TEST_CASE("What is put first turns the differences round", "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    bench.open(world.library, world.asked({world.mild, world.hard}));
    bench.settle(FilmUnit::um);
    REQUIRE(bench.comparison());
    const double more = bench.comparison()->difference(1, Measure::film_open).paired.estimate.mean;
    CHECK(more > 0);
    bench.make_first(1);
    bench.settle(FilmUnit::um);
    REQUIRE(bench.comparison());
    CHECK(bench.name(0) == "Hard");
    CHECK(bench.comparison()->difference(1, Measure::film_open).paired.estimate.mean == Approx(-more));
}

TEST_CASE("A technique that is there already is refused, and two stay at the least", "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    bench.open(world.library, world.asked({world.mild, world.hard}));
    bench.settle(FilmUnit::um);
    CHECK_THAT(refusal([&] { bench.add(world.hard); }).what(), Contains("twice"));
    CHECK_THAT(refusal([&] { bench.replace(0, world.hard); }).what(), Contains("twice"));
    CHECK(bench.request().techniques == std::vector<std::string>{world.mild, world.hard});
    bench.drop(0);
    CHECK(bench.sides() == 2);
    bench.add(world.fast);
    bench.drop(0);
    bench.settle(FilmUnit::um);
    CHECK((bench.name(0) == "Hard" && bench.name(1) == "Fast"));
    CHECK(bench.runs() == 2);
    // One that cannot be made ready is told, and what was shown is still there.
    bench.replace(1, (world.folder.path / "none.json").string());
    CHECK_THAT(refusal([&] { bench.settle(FilmUnit::um); }).what(), Contains("none.json"));
    CHECK((bench.name(0) == "Hard" && bench.name(1) == "Fast"));
    CHECK(bench.request().techniques == std::vector<std::string>{world.hard, world.fast});
    CHECK((bench.comparison() && bench.sides() == 2));
}

TEST_CASE("One more technique is the next in the list that the panel takes", "[view][compare]") {
    const TwoWays world;
    const std::string odd =
        world.add("odd.json", {{"name", "Odd"}, {"hold_back", {{"no such edge", "10 mm"}}}});
    CompareModel bench;
    CompareRequest request = world.asked({world.mild});
    bench.open_with_next(world.library, request,
                         {{world.hard, "Hard", "", ""},
                          {world.mild, "Mild", "", ""},
                          {odd, "Odd", "", ""},
                          {world.fast, "Fast", "", ""}});
    bench.settle(FilmUnit::um);
    CHECK(bench.request().techniques == std::vector<std::string>{world.mild, world.fast});
    CHECK(bench.name(1) == "Fast");
    bench.chosen = 0;
    bench.add_next({{world.mild, "Mild", "", ""}, {odd, "Odd", "", ""}, {world.hard, "Hard", "", ""}});
    bench.settle(FilmUnit::um);
    CHECK((bench.runs() == 3 && bench.name(2) == "Hard" && bench.chosen == 2));
    bench.drop(2);
    bench.settle(FilmUnit::um);
    bench.add_next({{odd, "Odd", "", ""}}); // and no other
    CHECK_THROWS_AS(bench.settle(FilmUnit::um), InputError);
    CHECK(bench.request().techniques == std::vector<std::string>{world.mild, world.fast});
}

TEST_CASE("What was changed on the bench is compared as it is, with the preset it came from too",
          "[view][compare]") {
    const TwoWays world;
    Settings settings;
    Session session(world.library, world.run(), settings);
    Choices changed = session.choices();
    changed.technique.force_n = 40;
    session.edit(changed, "force");
    session.settle();
    session.compare.open({world.mild});
    REQUIRE(session.messages.empty());
    REQUIRE(session.compare.in_front());
    CHECK(session.key_context() == KeyContext::compare);
    REQUIRE(session.compare.model.request().first);
    CHECK(session.compare.model.request().first->name == "Mild, changed");
    session.compare.model.settle(settings.unit);
    CHECK(session.compare.model.job(0).step.technique.force_n == 40);
    CHECK(session.compare.model.job(1).step.technique.force_n == 20);

    // Taken back unchanged it is the same as the preset, and there is nothing to compare.
    session.compare.close();
    session.act(Action::undo);
    session.settle();
    session.compare.open({world.mild});
    REQUIRE(session.messages.size() == 1);
    CHECK_THAT(session.messages.front(), Contains("twice"));
    CHECK_FALSE(session.compare.in_front());
}

TEST_CASE("The bench is as it was after a comparison, or has the technique that was taken",
          "[view][compare]") {
    const TwoWays world;
    Session session(world.library, world.run(), {});
    session.compare.open({world.hard});
    REQUIRE(session.compare.in_front());
    CHECK_FALSE(session.compare.model.request().first);
    session.act(Action::close);
    CHECK_FALSE(session.compare.in_front());
    CHECK(session.choices().technique.name == "Mild");
    session.compare.open({world.hard});
    CHECK(session.compare.model.chosen == 1);
    session.act(Action::compare_take);
    session.settle();
    CHECK_FALSE(session.compare.in_front());
    CHECK(session.choices().technique.name == "Hard");
    CHECK(session.edits.undo_label() == "technique");
}

TEST_CASE("Keys of the comparison move its own clock, map and view, and not the bench's", "[view][compare]") {
    const TwoWays world;
    Session session(world.library, world.run(), {});
    session.compare.open({world.hard});
    session.compare.model.settle(session.settings.unit);
    const glm::vec3 eye = session.camera.eye(), other_eye = session.compare.model.camera.eye();
    session.act(Action::map_contact);
    CHECK(session.compare.model.map == MapKind::contact_time);
    CHECK(session.settings.map == MapKind::film_lost);
    session.act(Action::orbit_left);
    CHECK(session.camera.eye() == eye);
    CHECK(session.compare.model.camera.eye() != other_eye);
    session.act(Action::on_far);
    CHECK(session.compare.model.t_s() == 10);
    session.act(Action::play_pause);
    CHECK(session.compare.model.playing());
    CHECK_FALSE(session.view.playing);
    session.act(Action::compare_row_up); // round the table's end
    CHECK(session.compare.model.row == all_measures.size() - 1);
    session.act(Action::toggle_unit);
    CHECK(session.settings.unit == FilmUnit::mil);
}

TEST_CASE("The report of a comparison is written whole beside the drawing, and over nothing foreign",
          "[view][compare]") {
    const TwoWays world;
    CompareModel bench;
    const fs::path out = world.folder.path / "report";
    bench.open(world.library, world.asked({world.mild, world.hard}));
    CHECK_THAT(refusal([&] { bench.save(out, FilmUnit::um, PaperSize::a4); }).what(),
               Contains("not worked out"));
    bench.settle(FilmUnit::um);
    bench.save(out, FilmUnit::um, PaperSize::a4);
    bench.settle(FilmUnit::um);
    for (const char* name :
         {"compare.json", "compare.csv", "report.pdf", "report.html", "film_lost.png", "difference-B.png"})
        CHECK(fs::file_size(out / name) > 0);
    CHECK(json::parse(bytes_of(out / "compare.json"))["kind"] == "sparecoat-comparison");
    bench.save(out, FilmUnit::um, PaperSize::a4); // an earlier report is replaced
    bench.settle(FilmUnit::um);
    const fs::path foreign = world.folder.path / "foreign";
    fs::create_directories(foreign);
    write_text(foreign / "letter.txt", "mine");
    CHECK_THROWS_AS(bench.save(foreign, FilmUnit::um, PaperSize::a4), InputError);
    CHECK(fs::exists(foreign / "letter.txt"));
}

TEST_CASE("Panes are seen from one place, and move together under mouse and keys",
          "[view][window][compare]") {
    const Display display;
    REQUIRE(display.there()); // or an Xvfb, of the packages that the tests install
    const TwoWays world;
    WindowRequest request = window_request(world.folder.path / "settings.json");
    request.panel = world.run().panel, request.technique = world.mild, request.against = {world.hard};
    request.width = 900, request.height = 560; // the least: three panes drawn in software
    Window window(request);
    Fingers fingers(window);
    Session& session = window.session();
    CompareModel& bench = session.compare.model;
    REQUIRE(session.compare.in_front());
    REQUIRE(fingers.until([&] { return bench.has_runs() && bench.arrived() && bench.comparison(); }));
    fingers.frames(3);
    const auto pane = [&](const Window::Image& image,
                          std::size_t k) { // its pixels, but for the line at its left
        const Box box = window.compare_layout().stages.at(k);
        std::vector<std::uint8_t> out;
        for (int y = static_cast<int>(box.y); y < static_cast<int>(box.y + box.h); ++y)
            for (int x = 2; x < static_cast<int>(box.w) - 2; ++x) {
                const std::size_t at = (static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width) +
                                        static_cast<std::size_t>(static_cast<int>(box.x) + x)) *
                                       4;
                out.insert(out.end(), image.rgba.begin() + static_cast<std::ptrdiff_t>(at),
                           image.rgba.begin() + static_cast<std::ptrdiff_t>(at + 3));
            }
        return out;
    };
    const auto unlike = [](const std::vector<std::uint8_t>& one, const std::vector<std::uint8_t>& other) {
        REQUIRE(one.size() == other.size());
        std::size_t count = 0;
        for (std::size_t k = 0; k < one.size(); ++k) count += std::abs(int{one[k]} - int{other[k]}) > 12;
        return static_cast<double>(count) / static_cast<double>(one.size());
    };
    REQUIRE(window.compare_layout().stages.size() == 3);
    // Before any work the first two panes are the same picture: same panel, pad and clock.
    const Window::Image first = window.picture();
    CHECK(unlike(pane(first, 0), pane(first, 1)) < 0.001);
    // Dragged in the second, both have turned, to the same view.
    const Box second = window.compare_layout().stages[1];
    const ImVec2 middle{second.x + second.w / 2, second.y + second.h / 2};
    fingers.move_to(middle), fingers.frames(2);
    fingers.hold(0), fingers.frames(1);
    fingers.move_to({middle.x + 60, middle.y + 20}), fingers.frames(2);
    fingers.let_go(0), fingers.frames(2);
    fingers.move_to({5, 5}), fingers.frames(2);
    const Window::Image turned = window.picture();
    CHECK(unlike(pane(first, 0), pane(turned, 0)) > 0.02);
    CHECK(unlike(pane(turned, 0), pane(turned, 1)) < 0.001);
    // At the end they differ by what was taken off, and the third pane is no longer blank.
    fingers.act("end");
    REQUIRE(fingers.until([&] { return bench.arrived() && bench.finished(0) && bench.finished(1); }));
    fingers.frames(20); // a range has its time
    const Window::Image done = window.picture();
    CHECK(unlike(pane(done, 0), pane(done, 1)) > 0.02);
    CHECK(unlike(pane(done, 2), pane(turned, 2)) > 0.02);
    // A spot is held in all of them.
    fingers.click(middle);
    CHECK(bench.pinned);
    fingers.act("compare-differences");
    CHECK(window.compare_layout().stages.size() == 2);
    bench.add(world.fast);
    REQUIRE(fingers.until([&] { return bench.runs() == 3 && bench.arrived(); }));
    CHECK(window.compare_layout().stages.size() == 3);
    fingers.act("help"), fingers.act("close");
    fingers.act("theme");
    fingers.frames(2);
    fingers.act("compare");
    CHECK_FALSE(session.compare.in_front());
    fingers.act("compare"); // on a bench that is on the screen
    CHECK(session.compare.in_front());
    fingers.act("compare");
    CHECK(session.messages.empty());
    CHECK(window.gl_errors() == 0);
}

} // namespace test_view_compare
