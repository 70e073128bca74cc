#include "support/files.hpp"
#include "units/error.hpp"
#include "view/app/session.hpp"
#include "view/render/shot.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <thread>

namespace test_view_risk {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

namespace {

/// The file that a run's readings came from; empty where it has none.
fs::path source_of(const SharedReadings& readings) { return readings ? readings->source : ""; }

/// A short job at an edge: one pass over a small section whose lines hang over the bottom edge, with the head
/// tilted and so little film that the edge is at risk.
class SmallWorld {
public:
    SmallWorld() {
        write_text(folder_.path / "plate.json",
                   R"({"kind": "panel", "name": "Small plate", "substrate": "steel",
            "outline": [{"at": ["0 mm", "0 mm"], "edge": "bottom"}, {"at": ["300 mm", "0 mm"],
                "edge": "right"},
                        {"at": ["300 mm", "240 mm"], "edge": "top"}, {"at": ["0 mm", "240 mm"],
                            "edge": "left"}]})");
        write_text(folder_.path / "overrun.json",
                   R"({"kind": "technique", "name": "Small overrun", "machine": "da-15",
            "pad": "medium-foam-150", "liquid": "cutting-compound", "force": "60 N", "speed": "4500/min",
                "arm_speed": "60 mm/s",
            "passes": 4, "hold_back": "-75 mm", "tilt": "2 deg", "tilt_toward": "270 deg",
            "hand": {"force": "8 %", "arm_speed": "10 %", "tilt": "0.5 deg", "spacing": "5 mm"}})");
        request_.panel = (folder_.path / "plate.json").string();
        request_.technique = (folder_.path / "overrun.json").string();
        request_.paint = "old-thin";
        request_.grid_m = 0.004;
    }
    const RunRequest& request() const { return request_; }
    const fs::path& folder() const { return folder_.path; }

private:
    ScratchFolder folder_;
    RunRequest request_;
};

/// Ticks a desk as a window would until something has come about.
bool tick_until(Session& session, const std::function<bool()>& done, double at_most_s = 120) {
    const auto start = std::chrono::steady_clock::now();
    for (;;) {
        const double t = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        session.tick(t);
        if (done()) return true;
        if (t > at_most_s) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
}

bool same(float a, float b) { return a == b || (std::isnan(a) && std::isnan(b)); }

} // namespace

// ---- long work beside the drawing

TEST_CASE("Of long work the latest wish alone is answered, and the one before is told to stop",
          "[view][risk]") {
    LatestBackgroundTask<int, int> aside([](const int& wish, TaskState& task) {
        while (wish < 3 && !task.off)
            std::this_thread::sleep_for(std::chrono::milliseconds(1)); // never done by itself
        return wish;
    });
    aside.ask(1);
    aside.ask(2);
    aside.ask(3);
    std::vector<int> answers;
    while (aside.working()) {
        if (const auto answer = aside.take()) answers.push_back(*answer);
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    CHECK(answers == std::vector<int>{3});
    aside.ask(1);
    aside.call_off();
    CHECK_FALSE(aside.working());
    aside.wait();
    CHECK_FALSE(aside.take());
}

TEST_CASE("Work that is let to its end is answered, and then the latest wish of those that waited",
          "[view][risk]") {
    std::atomic<bool> go = false;
    LatestBackgroundTask<int, int> aside([&](const int& wish, TaskState&) {
        while (!go) std::this_thread::sleep_for(std::chrono::milliseconds(1));
        return wish;
    });
    for (const int wish : {1, 2, 3}) aside.ask(wish, true);
    go = true;
    std::vector<int> answers;
    while (aside.working()) {
        if (const auto answer = aside.take()) answers.push_back(*answer);
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    CHECK(answers == std::vector<int>{1, 3});
}

// ---- temperatures

TEST_CASE("The temperatures shown are the simulation's, forth and back", "[view][risk]") {
    const SmallWorld world;
    const auto job = std::make_shared<const RunJob>(prepare(Library::standard(), world.request()));
    LiveRun live(job);
    LiveView view;
    const auto& samples = job->path.samples;
    const auto compare_at = [&](std::size_t step) {
        live.seek(samples[step].t_s);
        live.wait_idle();
        live.update(view);
        Simulation plain(job->panel, setup_of(*job));
        for (std::size_t k = 0; k < step; ++k) plain.step(samples[k], samples[k + 1]);
        const std::vector<float> film = plain.heat().film_map_c(), peak = plain.heat().peak_map_c();
        float most = 0;
        for (std::size_t k = 0; k < film.size(); ++k)
            if (job->panel.inside[k])
                most =
                    std::max({most, std::abs(film[k] - view.film_c[k]), std::abs(peak[k] - view.peak_c[k])});
        CHECK(most <= LiveRun::heat_step_k);
        return *std::max_element(film.begin(), film.end());
    };
    const float early = compare_at(samples.size() / 8), late = compare_at(samples.size() - 1);
    CHECK(late > 24); // air is at 20 °C: there is something to compare
    CHECK(early != late);
    compare_at(samples.size() / 4); // cooler again
    std::vector<float> map;
    map_values(MapKind::peak_temperature, *job, view, map);
    const std::size_t middle = nearest_cell(job->panel.grid, {0.15, 0.12});
    CHECK(map[middle] == view.peak_c[middle]);
}

TEST_CASE("While the pad rests the panel cools on, and only its temperatures are handed out anew",
          "[view][risk]") {
    const SmallWorld world;
    auto made = std::make_shared<RunJob>(prepare(Library::standard(), world.request()));
    ArmSample rest = made->path.samples.back();
    rest.down = false;
    const std::size_t worked = made->path.samples.size();
    for (int k = 0; k < 40; ++k) {
        rest.t_s += 0.25;
        made->path.samples.push_back(rest);
    }
    const std::shared_ptr<const RunJob> job = made;
    LiveRun live(job);
    LiveView view;
    live.seek(job->path.samples[worked + 5].t_s);
    live.wait_idle();
    live.update(view);
    const std::vector<float> before = view.film_c;
    live.seek(job->path.samples.back().t_s);
    live.wait_idle();
    CHECK(live.update(view).empty());
    CHECK_FALSE(view.warmed.list().empty());
    const std::size_t middle = nearest_cell(job->panel.grid, {0.15, 0.12});
    CHECK(view.film_c[middle] < before[middle] - 0.1f);
}

TEST_CASE("Temperatures are shown from the air's on, over ten kelvin at the least", "[view][risk]") {
    CHECK(temperature_scale(20, 20).low == 20);
    CHECK(temperature_scale(20, 20).high >= 30);
    CHECK(temperature_scale(5, 63).low <= 5);
    CHECK(temperature_scale(5, 63).high >= 63);
}

// ---- chances

TEST_CASE(
    "Chances are shown from nothing on, with the lines that count and their numbers where there is room",
    "[view][risk]") {
    const Scale all = chance_scale(99.2);
    CHECK((all.low == 0 && all.high == 100));
    CHECK(all.ticks == std::vector<double>{0, 1, 10, 50, 100});
    CHECK(chance_scale(0).high == 5); // nothing at risk is to look like nothing
    CHECK(chance_scale(12.3).ticks == std::vector<double>{0, 1, 10, 15});
    // 0 and 1 lie a hundredth of the range apart: the line's number stays.
    CHECK(ticks_with_room(all, 0.04) == std::vector<double>{1, 10, 50, 100});
    CHECK(ticks_with_room(chance_scale(3), 0.04).size() == 3);
}

TEST_CASE("The chances in the window are the library's, and its spots are what G goes through",
          "[view][risk][long]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    REQUIRE(tick_until(session, [&] { return session.view.generation > 0 && !session.map.empty(); }));
    session.act(Action::map_chance);
    CHECK(session.risk.model.working());
    tick_until(
        session, [] { return false; }, 0.02);
    CHECK((session.risk.model.finding() ||
           std::all_of(session.map.begin(), session.map.end(), [](float v) { return std::isnan(v); })));
    REQUIRE(tick_until(session, [&] { return session.risk.model.finding() != nullptr; }));
    tick_until(
        session, [] { return false; }, 0.3);

    const Library library = Library::standard();
    ChanceTerms terms;
    terms.pairs = window_pairs;
    const RunJob job = steady(prepare(library, world.request()));
    const RiskMap plain = risk_map(library, job, terms, window_threshold, 2);
    REQUIRE(plain.chance.size() == session.map.size());
    bool alike = true;
    for (std::size_t k = 0; k < plain.chance.size(); ++k)
        alike = alike && same(100 * plain.chance[k], session.map[k]);
    CHECK(alike);
    const std::vector<RegionAtRisk>& regions = session.risk.model.finding()->map.regions;
    REQUIRE_FALSE(regions.empty());
    CHECK(session.pins().front().x == regions.front().spot.at.x);
    CHECK(session.scale.ticks.front() == 0);

    session.act(Action::next_spot);
    REQUIRE(session.pinned);
    CHECK(session.risk.held_region() == std::size_t{0});
    REQUIRE(regions.size() > 1);
    session.act(Action::next_spot);
    CHECK(session.risk.held_region() == std::size_t{1});
    // On another map the pins are the worst so far again.
    session.act(Action::to_end);
    REQUIRE(tick_until(session, [&] { return session.view.finished && session.verdict; }));
    session.act(Action::map_film_lost);
    CHECK(session.pins().size() == session.verdict->worst.size());

    // What is known is kept over a replay, and given up with the technique it is of.
    CHECK(session.risk.model.finding());
    Choices next = session.choices();
    next.technique.force_n = 30;
    session.edit(next, "force");
    session.settle();
    REQUIRE(tick_until(session, [&] { return session.shown == session.edits.job(); }));
    CHECK_FALSE(session.risk.model.finding());
    CHECK_FALSE(session.risk.model.working());
}

TEST_CASE("An edit calls the working out off, and it begins anew when the map is chosen again",
          "[view][risk]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    REQUIRE(tick_until(session, [&] { return session.view.generation > 0 && !session.map.empty(); }));
    session.act(Action::map_chance);
    Choices next = session.choices();
    next.technique.force_n = 30;
    session.edit(next, "force");
    session.settle();
    REQUIRE(tick_until(session, [&] { return session.shown == session.edits.job(); }));
    CHECK_FALSE(session.risk.model.working());
    CHECK(std::all_of(session.map.begin(), session.map.end(), [](float v) { return std::isnan(v); }));
    session.act(Action::map_chance);
    CHECK(session.risk.model.working());
    REQUIRE(tick_until(session, [&] { return session.risk.model.finding() != nullptr; }));
    CHECK(session.risk.model.finding()->job->step.technique.force_n == 30);
}

TEST_CASE("A change that was tried leaves what it said, and taken over it is an edit that can be undone",
          "[view][risk][long]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    REQUIRE(tick_until(session, [&] { return session.view.generation > 0 && !session.map.empty(); }));
    session.act(Action::map_chance);
    REQUIRE(tick_until(session, [&] { return session.risk.model.finding() != nullptr; }));
    session.act(Action::next_spot);
    session.act(Action::try_changes);
    CHECK(session.risk.model.trying(0));
    REQUIRE(tick_until(
        session, [&] { return session.risk.model.advice(0) != nullptr; }, 300));
    const std::vector<Remedy>& remedies = session.risk.model.advice(0)->remedies;
    REQUIRE(remedies.size() >= 4);
    CHECK(remedies.front().peak.chance < session.risk.model.finding()->map.regions.front().chance);
    const Remedy taken = remedies.front();
    const Technique before = session.choices().technique;
    session.risk.apply(taken);
    session.settle();
    REQUIRE(session.messages.empty());
    CHECK(session.edits.undo_label() == name_of(taken.kind));
    CHECK(session.edits.choices().technique.hold_back_edge_m == taken.technique.hold_back_edge_m);
    CHECK(session.edits.choices().technique.tape_edge_m == taken.technique.tape_edge_m);
    CHECK(session.edits.choices().technique.force_n == taken.technique.force_n);
    CHECK(session.edits.choices().technique.hand.force ==
          before.hand.force); // the hand stays as unsteady as it was
    session.act(Action::undo);
    session.settle();
    CHECK(session.edits.choices().technique.hold_back_edge_m == before.hold_back_edge_m);
}

// ---- along an edge

TEST_CASE("The graph along an edge is the least clear coat of its strip, and follows a spot that is held",
          "[view][risk]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    session.live.seek(1e9);
    REQUIRE(tick_until(session, [&] { return session.view.finished && !session.map.empty(); }));
    session.act(Action::toggle_edge_profile);
    session.hold({0.292, 0.12});
    tick_until(
        session, [] { return false; }, 0.05);
    const Panel& panel = session.shown->panel;
    REQUIRE(session.edge.model.chosen());
    CHECK(session.edge.model.name(panel) == "right");
    session.hold({0.15, 0.004});
    tick_until(
        session, [] { return false; }, 0.05);
    CHECK(session.edge.model.name(panel) == "bottom");
    const ProfileColumns& columns = session.edge.model.columns();
    REQUIRE(columns.along_mm.size() == columns.left_um.size());
    for (std::size_t n = 0; n < columns.along_mm.size(); ++n) {
        float least = 1e9f;
        for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
            const Point2 at = panel.grid.centre(k);
            // Pieces are two cells long and begin at the corner.
            if (panel.inside[k] && at.y <= profile_width_m &&
                std::floor(at.x / 0.008) == static_cast<double>(n))
                least = std::min(least, panel.clear_um[k] - session.view.fields.removed_um[k]);
        }
        CHECK(columns.left_um[n] == std::max(0.0f, least));
    }
    CHECK(*std::min_element(columns.left_um.begin(), columns.left_um.end()) <
          *std::min_element(columns.before_um.begin(), columns.before_um.end()) - 1);
    session.edge.model.hovered = 3;
    REQUIRE(session.edge.model.hovered_at(panel));
    CHECK(session.cell_at(*session.edge.model.hovered_at(panel)) == std::size_t{columns.cell[3]});
    session.act(Action::next_edge);
    CHECK(session.edge.model.name(panel) == "right");
}

TEST_CASE("Held back from an edge more of it stays, and taking that over is one edit", "[view][risk]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    session.live.seek(1e9);
    REQUIRE(tick_until(session, [&] { return session.view.finished && !session.map.empty(); }));
    session.act(Action::toggle_edge_profile);
    session.hold({0.15, 0.004});
    tick_until(
        session, [] { return false; }, 0.05);
    CHECK(session.edge.held_back_m() == Approx(-0.075));
    const auto worked_out = [&](double hold_back_m) {
        session.edge.try_hold_back(hold_back_m);
        REQUIRE(tick_until(session, [&] {
            return session.edge.model.trial() && session.edge.model.trial()->hold_back_m == hold_back_m &&
                   session.edge.model.trial_chance();
        }));
        return *session.edge.model.trial();
    };
    const HoldBackTrial as_now = worked_out(-0.075);
    const double chance_now = *session.edge.model.trial_chance();
    const HoldBackTrial held = worked_out(0.005);
    CHECK(held.least_um > as_now.least_um + 1); // µm: the edge is no longer run over
    CHECK(*session.edge.model.trial_chance() <= chance_now);
    // As now it is the run on these very cells, but for the hand (8 % in force, 10 % in pace) and longer
    // steps, which count double at the worst place, where the film is hot: two fifths of what was lost.
    const ProfileColumns& columns = session.edge.model.columns();
    const float shown = *std::min_element(columns.left_um.begin(), columns.left_um.end());
    const float lost = *std::min_element(columns.before_um.begin(), columns.before_um.end()) - shown;
    CHECK(as_now.least_um == Approx(shown).margin(static_cast<double>(std::max(0.5f, 0.4f * lost))));

    session.edge.take_hold_back();
    session.settle();
    CHECK(session.edits.undo_label() == "hold-back, bottom");
    CHECK(session.edits.choices().technique.hold_back_edge_m.at("bottom") == Approx(0.005));
    REQUIRE(tick_until(session, [&] { return session.shown == session.edits.job(); }));
    CHECK_FALSE(session.edge.model.wanted_m);
    session.act(Action::undo);
    session.settle();
    CHECK(session.edits.choices().technique.hold_back_edge_m.empty());
}

TEST_CASE("Where holding back changes nothing it is said instead of tried", "[view][risk]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    CHECK(session.edge.hold_back_idle() == "");
    Choices next = session.choices();
    next.technique.pattern = Pattern::line;
    next.technique.line_from = {0.1, 0.1}, next.technique.line_to = {0.2, 0.1};
    session.edit(next, "pattern");
    session.settle();
    REQUIRE(session.messages.empty());
    CHECK_THAT(session.edge.hold_back_idle(), Catch::Contains("line"));
}

TEST_CASE("The graph along an edge has room under the panel at every size", "[view][layout]") {
    const auto [w, h] = GENERATE(table<float, float>({{1280, 720}, {900, 560}, {2560, 1440}, {1280, 1024}}));
    const float s = std::max(0.7f, std::min(w / 1280, h / 720));
    const Layout l = lay_out(w, h, s, true, true, false, true);
    CHECK(l.strips.h > lay_out(w, h, s, true, true).strips.h); // in place of the strip charts, and higher
    CHECK(l.stage.y + l.stage.h <= l.strips.y + 0.5f);
    CHECK(l.strips.y + l.strips.h <= l.time.y + 0.5f);
    CHECK(l.stage.h > 0.35f * h); // the panel is still what is looked at
}

// ---- tape and readings

TEST_CASE("Tape is an edit that the run and the picture know of, and undo takes it off", "[view][risk]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    Choices next = session.choices();
    next.technique.tape_edge_m["bottom"] = 0.02;
    session.edit(next, "tape, bottom");
    session.settle();
    session.live.seek(1e9);
    REQUIRE(tick_until(session, [&] { return session.view.finished && session.shown->taped; }));
    const std::size_t under = nearest_cell(session.shown->panel.grid, {0.15, 0.01});
    CHECK((*session.shown->taped)[under] == 1);
    CHECK(session.view.fields.removed_um[under] == 0);
    session.act(Action::undo);
    session.settle();
    CHECK_FALSE(session.edits.job()->taped);
}

TEST_CASE("Gauge readings are told from a recorded path, used, and let go with the panel", "[view][risk]") {
    const SmallWorld world;
    Session session(Library::standard(), world.request(), {});
    const fs::path csv = world.folder() / "readings.csv";
    write_text(csv, "panel,plate\nx_mm,y_mm,total_um\n60,60,118\n150,120,121\n240,60,75\n60,180,119\n");
    session.open(csv);
    session.settle();
    REQUIRE(session.messages.empty());
    CHECK(source_of(session.edits.choices().request.readings) == csv);
    CHECK_FALSE(session.edits.choices().request.path_csv);
    CHECK_THAT(session.notice, Catch::Contains("4 readings"));
    REQUIRE(session.edits.job()->film);
    const std::vector<FilmFlag>& flags = session.edits.job()->film->flags;
    CHECK(std::any_of(flags.begin(), flags.end(),
                      [](const FilmFlag& f) { return f.kind == FilmFlagKind::thin_paint; }));

    write_text(world.folder() / "path.csv", "t_s,x_mm,y_mm\n0,100,100\n0.4,110,100\n0.8,120,100\n");
    session.open(world.folder() / "path.csv");
    session.settle();
    REQUIRE(session.messages.empty());
    CHECK(session.edits.choices().request.path_csv);
    CHECK(source_of(session.edits.choices().request.readings) == csv);

    session.choose_panel("test-plate");
    session.settle();
    REQUIRE(session.messages.empty());
    CHECK_FALSE(session.edits.choices().request.readings); // read off another panel
    session.act(Action::undo);
    session.settle();
    CHECK(source_of(session.edits.choices().request.readings) == csv);

    write_text(world.folder() / "bad.csv", "panel,plate\nx_mm,y_mm,total_um\n60,60,-3\n");
    session.open(world.folder() / "bad.csv");
    session.settle();
    REQUIRE(session.messages.size() == 1);
    CHECK_THAT(session.messages.front(), Catch::Contains("line 3")); // as the command line says it
}

// ---- pictures

TEST_CASE("A picture of the chances is of the whole technique and takes no moment", "[view][gl]") {
    const SmallWorld world;
    ShotRequest request;
    request.run = world.request();
    request.map = "chance";
    request.width_px = 800, request.height_px = 500;
    write_shot(world.folder() / "chance.png", request);
    CHECK(fs::file_size(world.folder() / "chance.png") > 10000);
    request.at_s = 1;
    CHECK_THROWS_WITH(write_shot(world.folder() / "x.png", request),
                      Catch::Contains("--at") && Catch::Contains("whole technique"));
    CHECK_FALSE(fs::exists(world.folder() / "x.png"));
}

} // namespace test_view_risk
