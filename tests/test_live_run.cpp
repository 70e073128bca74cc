// The run on its own thread: the same bytes as simulate(), back and forth, and by hand.
#include "formats/path_csv.hpp"
#include "support/files.hpp"
#include "support/worlds.hpp"
#include "view/run/live_run.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <filesystem>
#include <thread>

namespace test_live_run {
using namespace sparecoat::cli;
using namespace sparecoat::test;

namespace {

std::shared_ptr<const RunJob> small_job() {
    auto job = std::make_shared<RunJob>();
    job->panel = plate(0.4, 0.3, 0.004);
    job->step.machine = orbital();
    job->step.pad = foam_pad();
    job->step.liquid = steady_liquid();
    job->step.technique.force_n = 45;
    job->step.technique.speed_rad_s = 4500 * per_min;
    job->step.technique.hand_stiffness_nm_rad = 30;
    job->path = straight({{0.05, 0.1}, {0.35, 0.2}});
    return job;
}

LiveView seen(LiveRun& live) {
    live.wait_idle();
    LiveView view;
    live.update(view);
    return view;
}

void hand_for(LiveRun& live, HandInput input, Point2 to, int samples) {
    const Point2 from = input.at;
    for (int k = 0; k < samples; ++k) {
        input.at = from + (static_cast<double>(k) / samples) * (to - from);
        live.hand(input);
        std::this_thread::sleep_for(std::chrono::milliseconds(17));
    }
}

} // namespace

TEST_CASE("a run played in the window gives the bytes of the command line's run") {
    const auto job = small_job();
    LiveRun live(job);
    live.set_speed(200);
    live.play();
    const LiveView view = seen(live);
    const RunResult result = simulate(job->panel, setup_of(*job), job->path);
    CHECK(view.finished);
    CHECK(view.fields.removed_um == result.fields.removed_um);
    CHECK(view.fields.removed_cold_um == result.fields.removed_cold_um);
    CHECK(view.fields.contact_time_s == result.fields.contact_time_s);
    CHECK(view.trace.size() == result.trace.size());
}

TEST_CASE("seeking back and forth comes to the same bytes as going there once") {
    const auto job = small_job();
    LiveRun live(job), once(job);
    live.seek(7);
    seen(live);
    live.seek(2);
    const LiveView back = seen(live);
    live.seek(5);
    const LiveView forth = seen(live);
    once.seek(2);
    const LiveView at_2 = seen(once);
    once.seek(5);
    const LiveView at_5 = seen(once);
    CHECK(back.t_s == Approx(2).margin(0.11));
    CHECK(back.fields.removed_um == at_2.fields.removed_um);
    CHECK(forth.fields.removed_um == at_5.fields.removed_um);
    CHECK(back.fields.removed_um != forth.fields.removed_um);
    CHECK(forth.trace.size() == at_5.trace.size());
}

TEST_CASE("a view kept up to date tile by tile equals one copied whole") {
    const auto job = small_job();
    LiveRun live(job);
    LiveView kept;
    live.wait_idle();
    live.update(kept);
    std::size_t tiles = 0;
    for (const double t : {1.0, 2.5, 1.5, 4.0}) {
        live.seek(t);
        live.wait_idle();
        tiles = live.update(kept).size();
    }
    CHECK(tiles > 0);
    LiveRun other(job);
    other.seek(4.0);
    const LiveView whole = seen(other);
    CHECK(kept.fields.removed_um == whole.fields.removed_um);
    CHECK(kept.pressure_pa == whole.pressure_pa);
    CHECK(kept.speed_m_s == whole.speed_m_s);
}

TEST_CASE("one step does one step and pauses") {
    LiveRun live(small_job());
    live.step();
    CHECK(seen(live).trace.size() == 1);
    live.step();
    const LiveView view = seen(live);
    CHECK(view.trace.size() == 2);
    CHECK_FALSE(view.playing);
}

TEST_CASE("a new job restarts the run with a new generation") {
    const auto job = small_job();
    LiveRun live(job);
    live.seek(3);
    const LiveView before = seen(live);
    auto heavier = std::make_shared<RunJob>(*job);
    for (ArmSample& s : heavier->path.samples) s.force_n = 80;
    live.restart(heavier);
    live.seek(3);
    const LiveView after = seen(live);
    CHECK(after.generation > before.generation);
    CHECK(after.fields.removed_um != before.fields.removed_um);
}

TEST_CASE("a hand's stroke takes film as it goes and replays from its file to the byte") {
    const auto job = small_job();
    LiveRun live(job);
    live.begin_hand();
    live.play();
    hand_for(live, {{0.12, 0.15}, 40.3, {0.0123, -0.031}, true}, {0.25, 0.16}, 25);
    live.pause();
    live.wait_idle();
    LiveView during;
    live.update(during);
    live.end_hand();
    const LiveView after = seen(live);
    const ArmPath path = live.path();
    REQUIRE(path.samples.size() > 10);
    CHECK(after.fields.removed_um == during.fields.removed_um);
    CHECK(*std::max_element(after.fields.removed_um.begin(), after.fields.removed_um.end()) > 0);

    const ScratchFolder folder;
    const std::filesystem::path csv = folder / "hand-stroke.csv";
    write_path_csv(csv, path);
    const ArmPath read = read_path_csv(csv, job->step.technique, job->panel);
    REQUIRE(read.samples.size() == path.samples.size());
    CHECK(simulate(job->panel, setup_of(*job), read).fields.removed_um == after.fields.removed_um);

    live.seek(0);
    live.seek(read.samples.back().t_s);
    CHECK(seen(live).fields.removed_um == after.fields.removed_um);
}

TEST_CASE("a recorded sample reads back as itself") {
    ArmSample sample;
    sample.t_s = 1.234567891, sample.at = {0.1234567, -0.0345678};
    sample.force_n = 33.3, sample.tilt_rad = {0.01, -0.02}, sample.speed_rad_s = 471.2388;
    const ArmSample once = as_recorded(sample, nullptr), twice = as_recorded(once, nullptr);
    CHECK(once.at.x == twice.at.x);
    CHECK(once.at.y == twice.at.y);
    CHECK(once.t_s == twice.t_s);
    CHECK(once.tilt_rad.x == twice.tilt_rad.x);
    CHECK(once.tilt_rad.y == twice.tilt_rad.y);
    CHECK(once.speed_rad_s == twice.speed_rad_s);
    CHECK(once.at.x == Approx(sample.at.x).epsilon(1e-11));
}

TEST_CASE("maps of a view come in their units") {
    const auto job = small_job();
    LiveRun live(job);
    live.seek(4);
    const LiveView view = seen(live);
    std::vector<float> lost, left, pressure;
    map_values(MapKind::film_lost, *job, view, lost);
    map_values(MapKind::clear_left, *job, view, left);
    map_values(MapKind::pressure_now, *job, view, pressure);
    const std::size_t worked = cell_at(job->panel, {0.1, 0.12});
    CHECK(lost[worked] > 0);
    CHECK(lost[worked] + left[worked] == Approx(40));
    CHECK(std::isnan(lost[0])); // margin of the grid, off the panel
    float most = 0;
    for (const float p : pressure)
        if (p > most) most = p; // NaN compares false
    CHECK(most == Approx(45 / (pi * 0.075 * 0.075) * 1e-3).epsilon(0.1));
}

TEST_CASE("However fast the pointer, the hand's pad moves no faster than an arm") {
    const auto job = small_job();
    LiveRun live(job);
    HandInput input{{0.10, 0.15}, 30, {}, false};
    live.hand(input);
    live.begin_hand();
    live.play();
    for (int k = 0; k < 12; ++k) { // there and back, 200 mm a jump
        input.at.x = k % 2 == 0 ? 0.30 : 0.10;
        live.hand(input);
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    live.end_hand();
    const LiveView view = seen(live);
    REQUIRE(view.by_hand);
    CHECK(view.stroke.size() == live.path().samples.size()); // handed over piece by piece, nothing twice
    double travelled_m = 0;
    for (std::size_t k = 1; k < view.stroke.size(); ++k) {
        const double step_m = norm(view.stroke[k].at - view.stroke[k - 1].at),
                     dt_s = view.stroke[k].t_s - view.stroke[k - 1].t_s;
        CHECK(step_m <= LiveRun::hand_speed_m_s * dt_s + 2e-5); // places are kept to 0.01 mm
        travelled_m += step_m;
    }
    CHECK(travelled_m > 0.05);
}

} // namespace test_live_run
