#include "picture/section_curves.hpp"
#include "support/files.hpp"
#include "support/refusal.hpp"
#include "units/error.hpp"
#include "view/app/session.hpp"
#include "view/pages/section/section_chart.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <nlohmann/json.hpp>
#include <thread>

namespace test_view_section {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

namespace {

constexpr double mm_m = 1e-3;

nlohmann::json json_of(const fs::path& file) { return nlohmann::json::parse(bytes_of(file)); }

TapedSquare square_at(double u_mm, double v_mm, double w_mm, double h_mm) {
    return {{u_mm * mm_m, v_mm * mm_m}, {w_mm * mm_m, h_mm * mm_m}, {}, {}};
}

/// A shop with one pad and three liquids, and a record of it: few steps, so that its advice is soon there.
class SmallShop {
public:
    SmallShop() {
        write_text(kit(), R"({"kind": "kit", "name": "Small kit",
            "machines": [{"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "60 mm/s",
                "passes": 2}],
            "pads": ["medium-foam-150"], "liquids": ["finishing-polish", "polish", "cutting-compound"],
            "gauge": {"repeatability": "1 um", "readings": 5}})");
        write_text(record(),
                   R"({"kind": "record", "name": "Bus 7", "note": "kept as it is", "kit": "./kit.json",
                "target": {"share": "60 %"},
            "panels": [{"panel": "test-plate", "note": "left side", "paint": "typical", "defects": "light",
                "clean": true,
                        "squares": [{"at": ["300 mm", "250 mm"], "size": ["300 mm", "300 mm"],
                                     "tries": [{"step": "da-15+medium-foam-150+polish", "sets": 1,
                                         "seen": "60 %",
                                                "gauge": {"before": "112 um", "n_before": 5,
                                                    "after": "111.2 um", "n_after": 5,
                                                          "repeatability": "1 um"}}]}]}]})");
    }
    fs::path kit() const { return folder_.path / "kit.json"; }
    fs::path record() const { return folder_.path / "bus.json"; }
    const fs::path& folder() const { return folder_.path; }
    nlohmann::json on_file() const { return json_of(record()); }

private:
    ScratchFolder folder_;
};

RunRequest plate_request() {
    RunRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.grid_m = 0.004;
    return request;
}

Panel plate() { return lay_panel(Library::standard(), plate_request()).panel; }

PanelInUse plate_on_bench() { return {"test-plate", "typical", "moderate", {}}; }

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

void wait_for_advice(SectionModel& bench) {
    while (bench.working()) {
        bench.tick();
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
}

/// A bench with the small shop's record and its panel.
void set_up(SectionModel& bench, const SmallShop& shop) {
    bench.load(Library::standard(), shop.record());
    bench.show_panel(plate_on_bench());
}

} // namespace

// ---- tape -----------------------------------------------------------------------------------------

TEST_CASE("A square is laid from corner to corner, its edges on whole steps", "[view][section]") {
    SquareDrag drag;
    drag.begin({0.1512, 0.0988}, {}, 0.01);
    CHECK((drag.active() && drag.grip() == SquareDrag::Grip::fresh && !drag.moved()));
    drag.drag_to({0.4523, 0.3499});
    CHECK(drag.moved());
    CHECK_FALSE(drag.changes());
    CHECK(drag.square().size.x == Approx(0.300)); // 150 to 450 mm
    CHECK(drag.square().size.y == Approx(0.250)); // 100 to 350 mm
    CHECK(drag.square().at.x == Approx(0.300));
    CHECK(drag.square().at.y == Approx(0.225));
    drag.drag_to({0.0, 0.0}); // past the corner it was begun at
    CHECK(drag.square().size.x == Approx(0.150));
    CHECK(drag.square().at.x == Approx(0.075));
    drag.cancel();
    CHECK_FALSE(drag.active());
}

TEST_CASE("A square is moved by its middle and resized by a corner, the one across staying",
          "[view][section]") {
    const std::vector<TapedSquare> squares{square_at(200, 200, 300, 200), square_at(600, 200, 300, 200)};
    SquareDrag drag;
    drag.begin({0.61, 0.22}, squares, 0.01);
    CHECK((drag.grip() == SquareDrag::Grip::middle && drag.changes() == std::size_t{1}));
    drag.drag_to({0.71, 0.27});
    CHECK(drag.square().at.x == Approx(0.7));
    CHECK(drag.square().at.y == Approx(0.25));
    CHECK(drag.square().size.x == Approx(0.3));

    drag.begin({0.348, 0.302}, squares, 0.01); // the upper right corner is at 350, 300 mm
    CHECK((drag.grip() == SquareDrag::Grip::corner && drag.changes() == std::size_t{0}));
    drag.drag_to({0.45, 0.35});
    CHECK(drag.square().at.x - 0.5 * drag.square().size.x == Approx(0.05));
    CHECK(drag.square().at.y - 0.5 * drag.square().size.y == Approx(0.10));
    CHECK(drag.square().size.x == Approx(0.40));
    CHECK(drag.square().size.y == Approx(0.25));

    drag.begin({0.41, 0.22}, squares, 0.01); // between the two: a new one
    CHECK(drag.grip() == SquareDrag::Grip::fresh);
}

TEST_CASE("Squares off the panel, too small for the pad or over worked ground are refused with a word",
          "[view][section]") {
    const Panel panel = plate(); // 600 x 500 mm
    constexpr double pad_m = 0.15;
    CHECK(square_fault(panel, square_at(300, 250, 300, 300), pad_m, {}, {}) == "");
    CHECK(square_fault(panel, square_at(300, 250, 225, 225), pad_m, {}, {}) == "");
    CHECK(square_fault(panel, square_at(300, 250, 300, 220), pad_m, {}, {}) ==
          "smaller than 1.5 pads, 225 mm");
    CHECK(square_fault(panel, square_at(300, 250, 300, 220), 0.125, {}, {}) == "");
    for (const auto& [u, v] :
         {std::pair{140.0, 250.0}, {460.0, 250.0}, {300.0, 140.0}, {300.0, 360.0}, {2000.0, 250.0}})
        CHECK(square_fault(panel, square_at(u, v, 300, 300), pad_m, {}, {}) == "off the panel");

    std::vector<TapedSquare> others{square_at(150, 250, 240, 300)};
    CHECK(square_fault(panel, square_at(300, 250, 240, 300), pad_m, others, {}) ==
          ""); // nothing was done there
    others.front().tries.push_back({});
    CHECK(square_fault(panel, square_at(300, 250, 240, 300), pad_m, others, {}) ==
          "over square 1, which was worked");
    CHECK(square_fault(panel, square_at(390, 250, 240, 300), pad_m, others, {}) == ""); // side by side
    CHECK(square_fault(panel, square_at(300, 250, 240, 300), pad_m, others, 0) == "");  // itself, put right
}

// ---- what is typed --------------------------------------------------------------------------------

TEST_CASE("Steps of the kit are found by some of their words", "[view][section]") {
    const std::vector<KitStep> steps = steps_of(Library::standard(), "workshop");
    CHECK(matching_steps(steps, "").size() == steps.size());
    const std::vector<std::size_t> found = matching_steps(steps, "WOOL cutting");
    REQUIRE_FALSE(found.empty());
    CHECK(found.size() < steps.size());
    for (const std::size_t k : found) CHECK(steps[k].id.find("wool") != std::string::npos);
    CHECK(matching_steps(steps, "wool unicorn").empty());
}

TEST_CASE("What was seen is a word or a number in per cent, and else is refused with what is allowed",
          "[view][section]") {
    TryForm form;
    CHECK_FALSE(read_seen(form));
    form.seen = " nearly all ";
    CHECK(read_seen(form) == "nearly all");
    form.seen = "85";
    CHECK(read_seen(form) == "85 %");
    form.seen = "85 %";
    CHECK(read_seen(form) == "85 %");
    for (const char* wrong : {"lots", "120", "-5", "9o"}) {
        form.seen = wrong;
        const InputError error = refusal([&] { read_seen(form); });
        CHECK(error.place() == "seen");
        CHECK_THAT(error.found(), Catch::Contains(wrong));
        CHECK_THAT(error.allowed(), Catch::Contains("nearly all") && Catch::Contains("90 %"));
    }
}

TEST_CASE("Gauge means are read in the unit shown, and the one before is asked for once", "[view][section]") {
    Kit kit;
    kit.gauge = KitGauge{0.8, 6};
    TryForm form;
    CHECK_FALSE(read_gauge(form, kit, {}, FilmUnit::um));
    form.before = "112", form.after = "110.5";
    const std::optional<GaugePair> um = read_gauge(form, kit, {}, FilmUnit::um);
    REQUIRE(um);
    CHECK(um->loss_um() == Approx(1.5));
    CHECK((um->n_before == 6 && um->n_after == 6 && um->repeat_sd_um == 0.8)); // the kit's
    form.before = "4.4", form.after = "4.35", form.readings = "3";
    const std::optional<GaugePair> mil = read_gauge(form, kit, {}, FilmUnit::mil);
    CHECK(mil->loss_um() == Approx(0.05 * 25.4));
    CHECK(mil->n_after == 3);
    form.before.clear(), form.after = "111 um";
    CHECK(refusal([&] { read_gauge(form, kit, {}, FilmUnit::mil); }).place() == "before");
    CHECK(read_gauge(form, kit, um, FilmUnit::mil)->loss_um() == Approx(1));
    form.before = "112 um", form.after.clear();
    CHECK(refusal([&] { read_gauge(form, kit, um, FilmUnit::um); }).place() == "after");
    form.after = "3";
    CHECK(refusal([&] { read_gauge(form, kit, um, FilmUnit::um); }).place() ==
          "after"); // no film is that thin
    form.after = "111", form.readings = "many";
    CHECK(refusal([&] { read_gauge(form, kit, um, FilmUnit::um); }).place() == "n");
}

// ---- the record -----------------------------------------------------------------------------------

TEST_CASE("A record's file is written with every entry, keeps what else it holds, and an entry is taken back",
          "[view][section]") {
    const SmallShop shop;
    SectionModel bench;
    set_up(bench, shop);
    REQUIRE(bench.panel());
    CHECK(bench.squares().size() == 1);
    CHECK(bench.steps().size() == 3);
    CHECK_FALSE(bench.can_undo());
    const nlohmann::json before = shop.on_file();

    bench.form.step = "cutting";
    bench.form.sets = "2", bench.form.seen = "nearly all";
    bench.enter_form(FilmUnit::um);
    const nlohmann::json tries = shop.on_file()["panels"][0]["squares"][0]["tries"];
    REQUIRE(tries.size() == 2);
    CHECK(tries[1]["step"] == "da-15+medium-foam-150+cutting-compound");
    CHECK((tries[1]["sets"] == 2 && tries[1]["seen"] == "nearly all"));
    CHECK(shop.on_file()["note"] == "kept as it is");
    CHECK(shop.on_file()["panels"][0]["note"] == "left side");
    CHECK(bench.squares().front().tries.back().sets == 2);
    CHECK(bench.form.step == ""); // empty for the next

    bench.set_clean(false);
    CHECK(shop.on_file()["panels"][0]["clean"] == false);
    CHECK(bench.undo_label() == "marked not clean");
    bench.undo();
    bench.undo();
    CHECK(shop.on_file() == before);
    CHECK(bench.squares().front().tries.size() == 1);
    CHECK_FALSE(bench.can_undo());
}

TEST_CASE("An entry that is refused leaves record and file as they were and says why in the form",
          "[view][section]") {
    const SmallShop shop;
    SectionModel bench;
    set_up(bench, shop);
    const nlohmann::json before = shop.on_file();
    const auto refused = [&](const char* place) {
        CHECK(refusal([&] { bench.enter_form(FilmUnit::um); }).place() == place);
        CHECK_THAT(bench.form.fault, Catch::Contains(place));
        CHECK(shop.on_file() == before);
        CHECK_FALSE(bench.can_undo());
    };
    refused("step");
    bench.form.step = "foam"; // all three have one
    refused("step");
    bench.form.step = "cutting";
    bench.form.sets = "none";
    refused("sets");
    bench.form.sets = "1", bench.form.seen = "sort of";
    refused("seen");
    bench.form.seen = "", bench.form.after = "thick";
    refused("after");
}

TEST_CASE("A look at the last try begins with what is on file and takes its place", "[view][section]") {
    const SmallShop shop;
    SectionModel bench;
    set_up(bench, shop);
    bench.look_at_last(FilmUnit::um);
    CHECK((bench.form.look_only && bench.form.seen == "60 %" && bench.form.before == "112" &&
           bench.form.after == "111.2"));
    bench.form.seen = "70", bench.form.after = "111";
    bench.enter_form(FilmUnit::um);
    const Try& last = bench.squares().front().tries.back();
    CHECK(bench.squares().front().tries.size() == 1);
    CHECK(last.seen == "70 %");
    CHECK(last.gauge->loss_um() == Approx(1));
}

TEST_CASE("A square is laid, moved and taken back in the record, and one that will not do is refused",
          "[view][section]") {
    const Panel panel = plate();
    SectionModel bench;
    bench.begin(Library::standard(), "workshop");
    bench.show_panel(plate_on_bench());
    CHECK_FALSE(bench.panel()); // nothing on it yet
    CHECK_FALSE(bench.unsaved());
    bench.tape(panel, square_at(300, 250, 300, 300), {});
    REQUIRE(bench.squares().size() == 1);
    CHECK((bench.panel()->paint == "typical" && bench.panel()->defects == "moderate" && !bench.clean()));
    CHECK(bench.unsaved());
    bench.tape(panel, square_at(320, 240, 400, 300), 0);
    REQUIRE(bench.squares().size() == 1);
    CHECK(bench.squares().front().at.x == Approx(0.32));
    CHECK(bench.squares().front().size.x == Approx(0.4));
    CHECK(refusal([&] { bench.tape(panel, square_at(300, 250, 100, 300), {}); }).place() == "square");
    CHECK(refusal([&] { bench.tape(panel, square_at(500, 250, 300, 300), 0); }).place() == "square");
    bench.undo();
    CHECK(bench.squares().front().size.x == Approx(0.3));
    bench.undo();
    CHECK(bench.squares().empty());
    CHECK_FALSE(bench.can_undo());
}

TEST_CASE("A record that gets a file names things from there, and is kept from then on", "[view][section]") {
    const ScratchFolder folder;
    fs::create_directories(folder.path / "deep");
    SectionModel bench;
    bench.begin(Library::standard(), "workshop");
    bench.show_panel(
        {(folder.path / "plate.json").string(), "typical", "moderate", folder.path / "film.csv"});
    bench.set_clean(true);
    const fs::path file = folder.path / "deep" / "bus 7.json";
    bench.save(file);
    const nlohmann::json document = json_of(file);
    CHECK(document["name"] == "bus 7");
    CHECK(document["panels"][0]["panel"] == "../plate.json");
    CHECK(document["panels"][0]["readings"] == "../film.csv");
    CHECK(document["panels"][0]["paint"] == "typical");
    CHECK_FALSE(bench.unsaved());
    REQUIRE(bench.panel()); // however it is named
    bench.set_clean(false);
    CHECK(json_of(file)["panels"][0]["clean"] == false);
}

// ---- advice ---------------------------------------------------------------------------------------

TEST_CASE("The advice in the window is that on the record, and is stale once something else was entered",
          "[view][section][long]") {
    const SmallShop shop;
    const Library library = Library::standard();
    SectionModel bench;
    set_up(bench, shop);
    CHECK_FALSE(bench.finding());
    bench.work_out(library);
    CHECK(bench.working());
    wait_for_advice(bench);
    REQUIRE(bench.fault() == "");
    REQUIRE(bench.finding());
    CHECK_FALSE(bench.stale());
    const SectionReport plain = advise_on(library, load_record(shop.record()), "test-plate", 1);
    CHECK(advice_json(bench.finding()->report).dump() == advice_json(plain).dump());
    CHECK(bench.finding()->curves.candidates.size() == bench.finding()->panel().advice.outlooks.size());

    bench.form.step = "cutting", bench.form.seen = "all";
    bench.enter_form(FilmUnit::um);
    CHECK(bench.stale()); // still there to be seen, and told for what it is
    bench.work_out(library);
    wait_for_advice(bench);
    CHECK_FALSE(bench.stale());
    CHECK(bench.finding()->panel().tries.size() == 2);

    bench.set_clean(false); // withheld: nothing is worked out
    bench.work_out(library);
    CHECK_FALSE(bench.working());
    bench.undo();
    bench.show_panel({"roof-skin", "typical", "moderate", {}});
    CHECK_FALSE(bench.finding()); // of another panel
}

TEST_CASE("What is wrong with a record is told and is no advice", "[view][section]") {
    const SmallShop shop;
    SectionModel bench;
    set_up(bench, shop);
    bench.choose_paint("no-such-paint");
    bench.work_out(Library::standard());
    wait_for_advice(bench);
    CHECK_FALSE(bench.finding());
    CHECK_THAT(bench.fault(), Catch::Contains("no-such-paint"));
}

// ---- curves ---------------------------------------------------------------------------------------

TEST_CASE("A curve of clearing begins at nothing, never falls and ends at its sequence",
          "[view][section][long]") {
    const SmallShop shop;
    const SectionReport report = advise_on(Library::standard(), load_record(shop.record()), "test-plate", 1);
    const PanelAdvice& panel = report.panels.front();
    const SectionCurves curves = section_curves(panel);
    REQUIRE(curves.candidates.size() == panel.advice.outlooks.size());
    const double cut = std::exp(panel.belief.cut.quantile(0.5)),
                 depth = std::exp(panel.belief.depth.quantile(0.5));
    REQUIRE_FALSE(curves.candidates.empty());
    for (std::size_t k = 0; k < curves.candidates.size(); ++k) {
        const ClearingCurve& curve = curves.candidates[k];
        const Sequence& sequence = panel.advice.outlooks[k].sequence;
        CHECK(curve.film_um.front() == 0);
        CHECK(curve.share.front() == Approx(0).margin(1e-12)); // one minus a quotient of sums
        CHECK(std::ranges::is_sorted(curve.film_um));
        CHECK(std::ranges::is_sorted(curve.share));
        CHECK(curve.film_um.back() ==
              Approx(cut * mean_removed_um(panel.ground.effects, sequence)).epsilon(1e-5)); // sums of floats
        const RemovedSpread all = removed_by(panel.ground.effects, sequence);
        CHECK(curve.share.back() == Approx(share_cleared(panel.ground.marks, all, cut, depth)).epsilon(1e-5));
    }
    REQUIRE(panel.advice.choice);
    const ClearingCurve& chosen = curves.candidates[*panel.advice.choice];
    REQUIRE(curves.band_low.share.size() == chosen.share.size());
    REQUIRE(chosen.share.size() > 1);
    for (std::size_t n = 1; n < chosen.share.size(); ++n)
        CHECK((curves.band_low.share[n] < chosen.share[n] && chosen.share[n] < curves.band_high.share[n]));
    REQUIRE(curves.looks.size() == 1);
    CHECK(curves.looks.front().film_um.median == Approx(0.8));
    // 1.645 standard deviations of a loss from two means of five readings each.
    CHECK(curves.looks.front().film_um.high - 0.8 == Approx(1.645 * std::sqrt(2.0 / 5)));
    CHECK(curves.looks.front().share.median == Approx(0.6));
    CHECK(curves.most_um >= curves.looks.front().film_um.high);
}

namespace {

/// Two candidates whose curves part only at their ends.
SectionFinding two_candidates() {
    SectionFinding finding;
    finding.report.panels.emplace_back();
    Advice& advice = finding.report.panels.front().advice;
    for (const double film : {1.0, 2.0}) {
        Outlook o;
        o.film_um = {0.8 * film, film, 1.2 * film};
        o.share = {0.3 * film, 0.4 * film, 0.45 * film};
        advice.outlooks.push_back(o);
        finding.curves.candidates.push_back({{0, film}, {0, 0.4 * film}});
    }
    finding.curves.looks.push_back({0, 0, {1.0, 1.5, 2.0}, {0.1, 0.2, 0.3}, true, true});
    return finding;
}

} // namespace

TEST_CASE("A chart's corners are nothing lost and nothing cleared, all of its film and all cleared",
          "[view][section]") {
    const Box plot{100, 50, 400, 200};
    const SectionChart chart = section_chart(plot, 4, FilmUnit::um);
    CHECK(chart.x(0) == 100);
    CHECK(chart.y(0) == 250);
    CHECK(chart.y(1) == 50);
    CHECK(chart.x(chart.plot.x.scale.high) == Approx(500));
    CHECK(chart.plot.x.scale.high >= 4);
    CHECK(chart.at(-1, 0.5).x == 100); // a gauge that read more than before
    const SectionChart mil = section_chart(plot, 25.4, FilmUnit::mil);
    CHECK(mil.plot.x.scale.high == Approx(1).margin(0.3)); // round, in mil
    CHECK(mil.x(25.4) == Approx(100 + 400 / mil.plot.x.scale.high));
}

TEST_CASE("The pointer finds points before curves, and of curves together the recommended",
          "[view][section]") {
    SectionFinding finding = two_candidates();
    const SectionChart chart = section_chart({0, 0, 400, 200}, 2.5, FilmUnit::um);
    const auto hit = [&](double film, double share) {
        return hit_on(chart, finding, chart.at(film, share), 8);
    };
    using Kind = ChartHit::Kind;
    CHECK(hit(1.0, 0.4) == ChartHit{Kind::candidate, 0});
    CHECK(hit(2.0, 0.8) == ChartHit{Kind::candidate, 1});
    CHECK(hit(1.5, 0.2) == ChartHit{Kind::look, 0});
    CHECK(hit(1.6, 0.64) == ChartHit{Kind::candidate, 1}); // on its way
    CHECK(hit(0.5, 0.2) == ChartHit{Kind::candidate, 0});  // on the way of both: the one that ends first
    finding.report.panels.front().advice.choice = 1;
    CHECK(hit(0.5, 0.2) == ChartHit{Kind::candidate, 1});
    CHECK_FALSE(hit(0.2, 0.9));
    CHECK_FALSE(hit_on(chart, finding, {-5, 100}, 8));
}

// ---- the desk -------------------------------------------------------------------------------------

TEST_CASE("Tape laid on the desk goes on record, becomes the technique's section, and Esc puts it away",
          "[view][section]") {
    Session session(Library::standard(), plate_request(), {});
    REQUIRE(tick_until(session, [&] { return session.view.generation > 0 && !session.map.empty(); }));
    session.act(Action::tape_square);
    CHECK((session.section.model.placing && session.section.shown()));
    session.section.take_tape({0.1, 0.1}, 0.01);
    session.section.lay_tape({0.4, 0.4});
    CHECK(session.section.tape_frames().size() == 1);
    session.act(Action::close);
    CHECK((session.section.model.placing && !session.section.model.drag.active()));
    session.section.let_tape_go();
    CHECK(session.section.model.squares().empty());

    session.section.take_tape({0.1, 0.1}, 0.01);
    session.section.lay_tape({0.2, 0.2});
    session.section.let_tape_go();
    CHECK(session.section.model.squares().empty());
    CHECK_THAT(session.notice, Catch::Contains("smaller than 1.5 pads"));
    CHECK(session.section.model.placing); // another go

    session.section.take_tape({0.1, 0.1}, 0.01);
    session.section.lay_tape({0.4, 0.38});
    session.section.let_tape_go();
    REQUIRE(session.section.model.squares().size() == 1);
    CHECK_FALSE(session.section.model.placing);
    CHECK(session.section.model.panel()->panel == "test-plate");
    CHECK_FALSE(session.section.model.working()); // not clean: withheld
    session.act(Action::work_in_square);
    session.settle();
    REQUIRE(session.messages.empty());
    const Technique& technique = session.edits.choices().technique;
    REQUIRE(technique.section_centre);
    CHECK(technique.section_centre->x == Approx(0.25));
    CHECK(technique.section_size.y == Approx(0.28));
    const ArmPath& path = session.edits.job()->path;
    CHECK(
        std::ranges::all_of(path.samples, [](const ArmSample& s) { return s.at.x > 0.09 && s.at.x < 0.41; }));

    // A later one leaves the first faint.
    session.act(Action::tape_square);
    session.section.take_tape({0.41, 0.1}, 0.001);
    session.section.lay_tape({0.41 + 0.005, 0.1});
    CHECK(session.section.tape_frames().size() == 2);
    CHECK(session.section.tape_frames().front().strength < 0.5f);
    CHECK(session.section.tape_frames().back().strength == 1);
}

TEST_CASE("A record without a file is not lost without a question", "[view][section]") {
    const ScratchFolder folder;
    Session session(Library::standard(), plate_request(), {});
    REQUIRE(tick_until(session, [&] { return session.view.generation > 0 && !session.map.empty(); }));
    session.act(Action::new_record);
    CHECK_FALSE(session.asks()); // nothing on it yet
    session.section.enter([&] { session.section.model.set_clean(false); });
    const std::vector<std::function<void()>> losing{[&] { session.act(Action::quit); },
                                                    [&] { session.act(Action::new_record); }};
    for (const auto& lose : losing) {
        lose();
        REQUIRE(session.asks());
        CHECK(session.asks_about() == Session::Unsaved::record);
        session.act(Action::close);
        CHECK_FALSE(session.asks());
        CHECK(session.section.model.panel());
    }
    CHECK_FALSE(session.quit);
    losing.front()();
    session.answer(Session::Answer::save);
    REQUIRE(session.chooser == Session::Chooser::save_record);
    session.chooser = Session::Chooser::none; // as the chooser does when a name is given
    session.section.save_record(folder.path / "bus.json");
    CHECK(fs::exists(folder.path / "bus.json"));
    CHECK(session.quit);
    CHECK(session.settings.record == (folder.path / "bus.json").string());
}

} // namespace test_view_section
