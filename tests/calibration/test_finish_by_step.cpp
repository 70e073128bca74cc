// Calibration, not a published check: what detailers say of defects and steps, which the presets were set to,
// with the film that their techniques take off the test plate. All facts: common practice, no source.
#include "decide/verdict.hpp"
#include "finish/clearing.hpp"
#include "finish/step_marks.hpp"
#include "run/run_job.hpp"
#include "support/places.hpp"
#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <map>

namespace test_finish_by_step {
using namespace sparecoat::cli;

namespace {

const Library& library() {
    static const Library presets(source_at("presets"));
    return presets;
}

/// A technique's run on the test plate: what its open panel lost and the marks that it leaves.
struct Step {
    std::vector<float> removed_um; ///< of the cells of the open panel
    double median_um = 0;
    MarkPopulation own;
};

const Step& step(const std::string& technique) {
    static std::map<std::string, Step> steps;
    if (const auto known = steps.find(technique); known != steps.end()) return known->second;
    RunRequest request;
    request.panel = "test-plate", request.technique = technique, request.grid_m = 0.004;
    const RunJob job = prepare(library(), request);
    const RunResult result = simulate(job.panel, setup_of(job), job.path);
    const OpenPanel open = judge(job.panel, result.fields, job.step.pad.radius_m).open;
    Step made;
    made.median_um = open.median_um;
    for (std::size_t k = 0; k < job.panel.grid.cells(); ++k)
        if (job.panel.inside[k] && static_cast<double>(job.panel.edge_distance_m[k]) >= open.clearance_m)
            made.removed_um.push_back(result.fields.removed_um[k]);
    const double work_j = work_since_fresh_j(job.path, result.trace);
    made.own = step_marks(job.step.liquid, job.step.pad, work_j, job.paint.softness);
    return steps.emplace(technique, made).first->second;
}

std::vector<MarkPopulation> marks_of_preset(const char* preset) { return library().defects(preset).marks; }

/// Share cleared on the open panel after so many sets of a technique.
double cleared(const char* preset, const char* technique, int sets = 1) {
    const RemovedSpread removed = spread_of(step(technique).removed_um);
    const double share = share_cleared(marks_of_preset(preset), removed, sets, 1);
    UNSCOPED_INFO(fmt::format("{}: {} x {} clears {:.4f}", preset, sets, technique, share));
    return share;
}

/// The finish at a place of median loss after techniques in order.
Finish after(std::initializer_list<const char*> techniques, std::vector<Marks> marks = {}) {
    std::string order;
    for (const char* technique : techniques) {
        marks = after_step(std::move(marks), step(technique).own, step(technique).median_um);
        order += fmt::format(" > {}", technique);
    }
    const Finish finish = finish_of(marks);
    UNSCOPED_INFO(fmt::format("{}: {:.1f} GU at 20 degrees, haze {:.2f}, rms {:.4f} um, marked {:.5f}", order,
                              finish.gloss[0], finish.haze, finish.rms_um, finish.marked));
    return finish;
}

} // namespace

TEST_CASE("calibration: of severe etching and swirls two sets of a polish clear about nine tenths",
          "[calibration]") {
    CHECK(cleared("severe", "polish-da-15", 2) == Approx(0.9).margin(0.03)); // "about"
    CHECK(cleared("severe", "polish-da-15", 1) < 0.7);                       // so one set is not enough
}

TEST_CASE("calibration: of severe etching and swirls a cutting compound clears all but the chips",
          "[calibration]") {
    for (const char* cut : {"heavy-cut", "wool-rotary-cut"})
        CHECK(cleared("severe", cut) > 0.99); // "all", to the eye
}

TEST_CASE("calibration: of light swirls the polish alone clears all, a finishing polish does not",
          "[calibration]") {
    CHECK(cleared("light", "polish-da-15") > 0.99);
    CHECK(cleared("light", "finishing-pass") < 0.8);
}

TEST_CASE(
    "calibration: light swirls polished and finished look better than they did, and polished alone no worse",
    "[calibration]") {
    const std::vector<Marks> found = marks_of(marks_of_preset("light"));
    const double before = after({}, found).gloss[0];
    CHECK(after({"polish-da-15"}, found).gloss[0] > before - 0.5); // a gloss meter tells no less apart
    CHECK(after({"polish-da-15", "finishing-pass"}, found).gloss[0] > before);
}

TEST_CASE(
    "calibration: moderate defects lie between: one set of a polish leaves some, two leave next to none",
    "[calibration]") {
    CHECK(cleared("moderate", "polish-da-15", 1) < 0.95);
    CHECK(cleared("moderate", "polish-da-15", 2) > 0.98);
}

TEST_CASE("calibration: stone chips stay whatever is done", "[calibration]") {
    const Panel panel = build_panel(library().panel("test-plate"), 0.004);
    for (const char* preset : {"light", "moderate", "severe"}) {
        const std::vector<MarkPopulation> marks = marks_of_preset(preset);
        Panel painted = panel;
        lay_film(painted, library().paint("typical"));
        const auto chips = [&](float um) {
            return clearing(painted, marks, std::vector<float>(panel.grid.cells(), um)).chips;
        };
        CHECK(chips(0) > 0);
        CHECK(chips(8) == chips(0));
    }
}

TEST_CASE("calibration: after a cut, polish and then finishing polish give the gloss back", "[calibration]") {
    const double smooth = finish_of({}).gloss[0];
    const Finish cut = after({"heavy-cut"}), polished = after({"heavy-cut", "polish-da-15"}),
                 finished = after({"heavy-cut", "polish-da-15", "finishing-pass"});
    CHECK(cut.gloss[0] < 0.95 * smooth); // haze that is seen
    CHECK(polished.gloss[0] > cut.gloss[0] + 1);
    CHECK(finished.gloss[0] > polished.gloss[0]);
    CHECK(finished.gloss[0] > 0.98 * smooth);
    CHECK(finished.marked < 2e-3); // next to nothing under the lamp
    CHECK(finished.marked < 0.05 * cut.marked);
}

TEST_CASE("calibration: a finishing polish straight after the cut does not take its haze out",
          "[calibration]") {
    const Finish with_polish = after({"heavy-cut", "polish-da-15", "finishing-pass"});
    CHECK(after({"heavy-cut", "finishing-pass"}).marked > 10 * with_polish.marked);
}

TEST_CASE("calibration: the compound belongs first: last, it leaves worse paint than its polish and "
          "finishing polish",
          "[calibration]") {
    const std::vector<Marks> found = marks_of(marks_of_preset("severe"));
    const Finish wrong = after({"polish-da-15", "heavy-cut"}, found);
    const Finish right = after({"heavy-cut", "polish-da-15", "finishing-pass"}, found);
    CHECK(wrong.gloss[0] < right.gloss[0] - 2);
    CHECK(wrong.haze > 2 * right.haze);
    CHECK(after({"finishing-pass", "polish-da-15", "heavy-cut"}, found).gloss[0] < right.gloss[0]);
}

TEST_CASE(
    "calibration: sanding leaves dull paint, and a compound but no finishing polish takes its marks out",
    "[calibration]") {
    const Finish sanded = after({"paper-p2000"});
    CHECK(sanded.gloss[0] < 0.5 * finish_of({}).gloss[0]);
    const auto left = [](const char* technique) {
        const MarkPopulation& marks = step("paper-p2000").own;
        return visible_share(marks, step(technique).median_um) / visible_share(marks, 0);
    };
    CHECK(left("heavy-cut") < 0.02); // the last of them go with the polish that follows anyway
    CHECK(left("finishing-pass") > 0.3);
}

TEST_CASE("calibration: finer grades leave shallower marks, coarser need more of the cut", "[calibration]") {
    const Pad pad = library().pad("soft-foam-150");
    double above = 1e9;
    for (const char* grade : {"p1500", "p2000", "p2500", "p3000"}) {
        const double depth = step_marks(library().liquid(grade), pad, 0).depth_um;
        CHECK(depth < above);
        above = depth;
    }
}

TEST_CASE("calibration: each step takes more than its marks are deep, and its successor takes them out",
          "[calibration]") {
    const char* order[] = {"heavy-cut", "polish-da-15", "finishing-pass"};
    for (int k = 0; k + 1 < 3; ++k) {
        const MarkPopulation& own = step(order[k]).own;
        INFO(fmt::format("{}: {:.3f} um deep", order[k], own.depth_um));
        CHECK(own.depth_um < step(order[k]).median_um);
        const double before = visible_share(own, 0);
        CHECK(visible_share(own, step(order[k + 1]).median_um) < 0.1 * before);
    }
}

} // namespace test_finish_by_step
