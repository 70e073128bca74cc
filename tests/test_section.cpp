// From what is on file of test sections to the advice on them.
#include "formats/reader.hpp"
#include "picture/section_folder.hpp"
#include "picture/section_words.hpp"
#include "plan/section.hpp"
#include "support/files.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "support/three_steps.hpp"
#include "support/worlds.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <numeric>

namespace test_section {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

const Library& presets() {
    static const Library library(source_at("presets"));
    return library;
}

const char* const polish = "da-15+medium-foam-150+polish";
const char* const compound = "da-15+microfibre-cutting-150+cutting-compound";

/// A kit as a file, for as long as the tests run.
const std::string& small_kit() {
    static const ScratchFolder folder;
    static const std::string file = [] {
        write_text(folder.path / "three-steps.json", three_steps_kit(three_steps_gauge));
        return (folder.path / "three-steps.json").string();
    }();
    return file;
}

/// One clean panel with what was done on its squares.
SectionRecord record_of(const std::string& panel, const std::string& defects,
                        std::vector<TapedSquare> squares = {}) {
    SectionRecord record;
    record.name = "a minibus", record.kit = small_kit();
    RecordedPanel entry;
    entry.panel = panel, entry.defects = defects, entry.clean = true, entry.squares = std::move(squares);
    record.panels.push_back(entry);
    return record;
}

TapedSquare door_square(std::vector<Try> tries) { return {{0.24, 0.23}, {0.4, 0.4}, std::move(tries), {}}; }

Try work(const char* step, int sets, std::optional<std::string> seen, std::optional<GaugePair> gauge = {}) {
    return {step, sets, std::move(seen), gauge, {}};
}

SectionReport advise(const SectionRecord& record, const std::string& panel = {}) {
    static WorkedSets kept;
    return advise_on(presets(), record, panel, 0, {}, &kept);
}

PanelAdvice advice_on_door(const std::string& defects, std::vector<Try> tries) {
    return advise(record_of("rear-door", defects, {door_square(std::move(tries))})).panels.front();
}

std::vector<MarkPopulation> library_marks(const std::string& file) { return presets().defects(file).marks; }

const StepEffect& effect(const SquareGround& ground, const std::string& id) {
    return *std::ranges::find(ground.effects, id, &StepEffect::id);
}

std::string all_of(const std::vector<std::string>& sentences) {
    return std::accumulate(sentences.begin(), sentences.end(), std::string());
}

} // namespace

// ---- the square -------------------------------------------------------------------------------------

TEST_CASE("a square is judged a pad's radius in from its tape, but on half of each side at the least",
          "[section]") {
    const std::vector<Point2> wide = judged_ground({{0.3, 0.2}, {0.4, 0.4}, {}, {}}, 0.075);
    CHECK(wide[0].x == Approx(0.175));
    CHECK(wide[2].y == Approx(0.325));
    const std::vector<Point2> narrow = judged_ground({{0.3, 0.2}, {0.4, 0.2}, {}, {}}, 0.075);
    CHECK(narrow[2].x == Approx(0.425));
    CHECK(narrow[2].y == Approx(0.25));
}

TEST_CASE("the usual square is on open panel, off the body lines and as large as 400 mm where that fits",
          "[section]") {
    for (const char* id : {"rear-door", "cab-door", "sliding-door", "front-wing", "bonnet", "bumper-corner",
                           "roof-skin", "test-plate"}) {
        INFO(id);
        RunRequest request;
        request.panel = id, request.grid_m = 0.004;
        const Panel panel = lay_panel(presets(), request).panel;
        const TapedSquare square = usual_square(panel);
        CHECK(square.size.x <= 0.4 + 1e-9);
        CHECK(square.size.x >= 0.15);
        for (std::size_t k = 0; k < panel.grid.cells(); ++k) {
            const Point2 from = panel.grid.centre(k) - square.at;
            if (std::max(std::abs(from.x), std::abs(from.y)) > 0.5 * square.size.x - 0.004)
                continue; // its border cells
            CHECK(panel.inside[k] == 1);
            CHECK(panel.crest_distance_m[k] > 0.02f);
        }
    }
    const Panel plate_panel = plate(0.6, 0.5, 0.004);
    const TapedSquare middle = usual_square(plate_panel);
    CHECK(middle.at.x == Approx(0.3).margin(0.01)); // the cells' own width, to the nearest centimetre
    CHECK(middle.at.y == Approx(0.25).margin(0.01));
    CHECK(middle.size.x == Approx(0.4));
}

TEST_CASE("a panel without room for a square says so", "[section]") {
    CHECK_THAT(refusal([] { usual_square(plate(0.05, 0.05, 0.002)); }).found(),
               Contains("no ground for a square"));
}

TEST_CASE("a step's effect on a square is that of a run of its technique there", "[section]") {
    const std::vector<KitStep> steps = steps_of(presets(), "workshop");
    RecordedPanel entry;
    entry.panel = "test-plate", entry.defects = "severe", entry.paint = "soft";
    const TapedSquare square{{0.3, 0.25}, {0.4, 0.4}, {}, {}};
    const SquareGround ground = square_ground(presets(), steps, entry, square, 0);
    REQUIRE(ground.effects.size() == steps.size());
    for (std::size_t k = 0; k < steps.size(); ++k) CHECK(ground.effects[k].id == steps[k].id);

    Technique technique = step_named(steps, polish).technique;
    technique.section_centre = square.at, technique.section_size = square.size;
    RunRequest request;
    request.panel = "test-plate", request.paint = "soft", request.grid_m = 0.004;
    const RunJob job = prepare(presets(), request, technique, nullptr);
    const RunResult result = simulate(job.panel, setup_of(job), job.path);
    double sum = 0;
    for (const std::size_t k : ground.cells) sum += static_cast<double>(result.fields.removed_um[k]);
    const StepEffect& found = effect(ground, polish);
    // The coarser steps of the path cost 0.4 % here.
    CHECK(found.mean_um == Approx(sum / static_cast<double>(ground.cells.size())).epsilon(0.01));
    CHECK(found.removed_um.size() == ground.cells.size());
    CHECK(found.time_s == Approx(job.path.duration_s()).epsilon(1e-6));
    CHECK(found.own.depth_um > effect(ground, "da-15+soft-foam-150+finishing-polish").own.depth_um);
    CHECK(ground.clear.mean_um == Approx(40).epsilon(0.001));
    CHECK(ground.clear.sd_um == Approx(4).epsilon(0.01)); // a tenth, the paint's spread
    CHECK(ground.chips > 0);
}

TEST_CASE("grounds are the same with any number of threads", "[section]") {
    const std::vector<KitStep> steps = steps_of(presets(), "workshop");
    RecordedPanel entry;
    entry.panel = "test-plate";
    const TapedSquare square{{0.3, 0.25}, {0.3, 0.3}, {}, {}};
    const SquareGround one = square_ground(presets(), steps, entry, square, 1);
    const SquareGround three = square_ground(presets(), steps, entry, square, 3);
    REQUIRE_FALSE(steps.empty());
    for (std::size_t k = 0; k < steps.size(); ++k)
        CHECK(one.effects[k].removed_um == three.effects[k].removed_um);
}

TEST_CASE("a square off its panel or too small for the pads is refused", "[section]") {
    const std::vector<KitStep> steps = steps_of(presets(), "workshop");
    RecordedPanel entry;
    entry.panel = "test-plate";
    CHECK(refusal([&] {
              square_ground(presets(), steps, entry, {{3, 3}, {0.4, 0.4}, {}, {}}, 0);
          }).place() == "/at");
    CHECK(refusal([&] {
              square_ground(presets(), steps, entry, {{0.3, 0.25}, {0.1, 0.1}, {}, {}}, 0);
          }).place() == "/size");
    SectionRecord record =
        record_of("test-plate", "severe", {{{3, 3}, {0.4, 0.4}, {work(polish, 1, "half")}, {}}});
    record.file = "r.json";
    const InputError error = refusal([&] { advise(record); });
    CHECK(error.file() == "r.json");
    CHECK(error.place() == "/panels/0/squares/0/at");
    CHECK(refusal([&] { hold_to_library(presets(), record); }).place() == "/panels/0/squares/0/at");
}

TEST_CASE("what a record names and the library or the kit lacks is refused at the record's own line",
          "[section]") {
    SectionRecord record = record_of("rear-door", "severe", {door_square({work(polish, 1, "half")})});
    record.file = "r.json";
    const auto place_of = [&](auto change) {
        SectionRecord changed = record;
        change(changed);
        const InputError error = refusal([&] { advise(changed); });
        CHECK(error.file() == "r.json");
        CHECK(refusal([&] { hold_to_library(presets(), changed); }).place() == error.place());
        return error.place();
    };
    CHECK(place_of([](SectionRecord& r) { r.kit = "worksop"; }) == "/kit");
    CHECK(place_of([](SectionRecord& r) { r.panels[0].panel = "rear-dor"; }) == "/panels/0/panel");
    CHECK(place_of([](SectionRecord& r) { r.panels[0].paint = "sofd"; }) == "/panels/0/paint");
    CHECK(place_of([](SectionRecord& r) { r.panels[0].defects = "grim"; }) == "/panels/0/defects");
    CHECK(place_of([](SectionRecord& r) {
              r.panels[0].squares[0].tries[0].step = "da-15+wool-150+polish";
          }) == "/panels/0/squares/0/tries/0/step");
    CHECK_THAT(refusal([&] { advise(record, "rear-dor"); }).allowed(), Contains("'rear-door'"));
}

TEST_CASE("advising stops when it is told to", "[section]") {
    const SectionRecord record = record_of("rear-door", "severe");
    CHECK_THROWS_AS(advise_on(presets(), record, "", 0, [](double) { return false; }), Stopped);
    double last = 0;
    advise_on(presets(), record, "", 0, [&](double share) {
        CHECK(share >= last);
        last = share;
        return true;
    });
    CHECK(last == 1);
}

// ---- the trade's facts (common practice, no source) --------------------------------------------------

TEST_CASE("light swirls: a polish that was seen to clear them all is enough", "[section]") {
    const PanelAdvice panel =
        advice_on_door("light", {work(polish, 1, "all", GaugePair{112.4, 111.5, 5, 5, 1})});
    CHECK(panel.advice.next == Next::enough);
    CHECK(panel.conflicts.empty());
    REQUIRE(panel.advice.choice);
    const Outlook& choice = panel.advice.outlooks[*panel.advice.choice];
    REQUIRE(choice.sequence.size() == 1);
    CHECK(panel.ground.effects[choice.sequence[0].step].id == polish);
    CHECK(choice.chance_of_target > 0.8);
}

TEST_CASE("severe etching: a polish that leaves a third is answered with a stronger step, for its reason",
          "[section]") {
    const PanelAdvice panel =
        advice_on_door("severe", {work(polish, 1, "50 %", GaugePair{112.4, 111.6, 5, 5, 1}),
                                  work(polish, 1, "70 %", GaugePair{112.4, 110.9, 5, 5, 1})});
    CHECK(panel.advice.next == Next::stronger);
    REQUIRE(panel.advice.choice);
    const Outlook& choice = panel.advice.outlooks[*panel.advice.choice];
    const SquareGround& ground = panel.ground;
    CHECK(ground.effects[choice.sequence.front().step].mean_um > 1.5 * effect(ground, polish).mean_um);
    CHECK(choice.sequence.size() > 1); // a cut needs its polish
    CHECK(panel.advice.so_far->chance_of_target < 0.2);
    CHECK(choice.chance_of_target >= 0.8);
    CHECK(panel.belief.depth.mean() > 0.1); // deeper than described is what it learned
    CHECK_THAT(recommendation(panel, Target{}, FilmUnit::um), Contains("One step stronger"));
}

TEST_CASE("marks gone and haze left is answered with refining", "[section]") {
    const PanelAdvice panel =
        advice_on_door("severe", {work(compound, 1, "all", GaugePair{112.4, 109.0, 5, 5, 1})});
    CHECK(panel.advice.so_far->haze > good_finish_haze);
    CHECK((panel.advice.next == Next::refine || panel.advice.next == Next::milder));
}

TEST_CASE("where only chips are left it says touch-up", "[section]") {
    const ScratchFolder folder;
    const std::string chips = folder.path / "chips.json";
    write_text(
        chips,
        R"({"kind": "defects", "name": "Chips", "marks": [{"kind": "stone chips", "visible": "plain"}]})");
    const PanelAdvice panel = advise(record_of("rear-door", chips)).panels.front();
    CHECK(panel.advice.next == Next::touch_up);
    CHECK(panel.advice.outlooks.empty());
    CHECK_THAT(recommendation(panel, Target{}, FilmUnit::um), Contains("touch-up"));
}

TEST_CASE("thin clear coat that the target would spend is answered with stop, and the best that keeps it",
          "[section]") {
    SectionRecord record = record_of("rear-door", "severe");
    record.panels[0].paint = "old-thin";
    record.target.reserve_um = 20;
    const PanelAdvice panel = advise(record).panels.front();
    CHECK(panel.advice.next == Next::stop);
    CHECK(panel.advice.limited_by != LimitedBy::nothing);
    CHECK_THAT(recommendation(panel, record.target, FilmUnit::um), Contains("not worth the film"));
}

TEST_CASE(
    "a panel that is not clean gets no advice but to wash it, and its looks are learned from all the same",
    "[section]") {
    SectionRecord record = record_of("rear-door", "severe", {door_square({work(polish, 1, "half")})});
    record.panels[0].clean = false;
    const SectionReport report = advise(record);
    CHECK(report.panels[0].advice.next == Next::clean_first);
    CHECK(report.panels[0].advice.outlooks.empty());
    CHECK(report.panels[0].advice.trials.empty());
    CHECK(report.panels[0].tries.size() == 1);
    CHECK_THAT(recommendation(report.panels[0], Target{}, FilmUnit::um), Contains("grit"));
}

// ---- odd evidence -----------------------------------------------------------------------------------

TEST_CASE("A mere 'better' hardly narrows anything, and the remark says what would", "[section]") {
    const PanelAdvice before = advice_on_door("severe", {work(polish, 1, {})});
    const PanelAdvice better = advice_on_door("severe", {work(polish, 1, "better")});
    const PanelAdvice number = advice_on_door("severe", {work(polish, 1, "70 %")});
    CHECK(better.belief.depth.sd() > 0.9 * before.belief.depth.sd());
    CHECK(number.belief.depth.sd() < 0.9 * before.belief.depth.sd());
    CHECK_THAT(all_of(remarks(better, FilmUnit::um)),
               Contains("\"better\" alone hardly tells") && Contains("gauge means"));
    CHECK_THAT(all_of(remarks(number, FilmUnit::um)), !Contains("hardly tells"));
    CHECK_THAT(all_of(remarks(before, FilmUnit::um)), Contains("Nobody has looked"));
    CHECK(better.advice.choice);
}

TEST_CASE("a gauge that rises is impossible: it is left out, said, and to be read again", "[section]") {
    const GaugePair risen{112.4, 116.0, 5, 5, 1};
    const PanelAdvice panel = advice_on_door("severe", {work(polish, 1, "70 %", risen)});
    CHECK(panel.advice.next == Next::look_again);
    REQUIRE(panel.conflicts.size() == 1);
    CHECK(panel.conflicts[0].impossible);
    CHECK(panel.conflicts[0].witness == Witness::gauge);
    const std::string words = all_of(conflict_words(panel, 0, FilmUnit::um));
    CHECK_THAT(words, Contains("grown by 3.60 µm") && Contains("same marked spots"));
    const PanelAdvice without = advice_on_door("severe", {work(polish, 1, "70 %")});
    CHECK(panel.belief.cut.mean() == Approx(without.belief.cut.mean()));
}

TEST_CASE("all cleared with nothing removed is not believed: look again, and both outcomes are told",
          "[section]") {
    const GaugePair nothing{112.4, 112.4, 20, 20, 1};
    const PanelAdvice panel = advice_on_door("severe", {work(polish, 1, "100 %", nothing)});
    CHECK(panel.advice.next == Next::look_again);
    REQUIRE_FALSE(panel.conflicts.empty());
    REQUIRE(panel.either_way.size() == panel.conflicts.size());
    REQUIRE(panel.either_way[0].believed);
    // Whom one believes makes a difference: the gauge says that the paint gives nothing.
    const Advice& lamp_right = panel.conflicts[0].witness == Witness::gauge ? panel.either_way[0].without
                                                                            : *panel.either_way[0].believed;
    const Advice& gauge_right = panel.conflicts[0].witness == Witness::gauge ? *panel.either_way[0].believed
                                                                             : panel.either_way[0].without;
    CHECK(lamp_right.so_far->chance_of_target > gauge_right.so_far->chance_of_target + 0.2);
    std::string words;
    for (std::size_t k = 0; k < panel.conflicts.size(); ++k)
        words += all_of(conflict_words(panel, k, FilmUnit::um));
    CHECK_THAT(words,
               Contains("fillers") && Contains("Were the gauge right") && Contains("Were the lamp right"));
}

TEST_CASE("much cleared where the gauge tells no loss is remarked on even where it could be", "[section]") {
    const PanelAdvice panel =
        advice_on_door("light", {work(polish, 1, "all", GaugePair{112.4, 112.2, 10, 10, 1})});
    CHECK(panel.conflicts.empty());
    CHECK_THAT(all_of(remarks(panel, FilmUnit::um)), Contains("may only be filled"));
    // A gauge that could not have told what goes has nothing to say.
    const PanelAdvice coarse =
        advice_on_door("light", {work(polish, 1, "all", GaugePair{112.4, 112.2, 1, 1, 1})});
    CHECK_THAT(all_of(remarks(coarse, FilmUnit::um)), !Contains("may only be filled"));
}

TEST_CASE("conflicts count squares and tries within their panel", "[section]") {
    SectionRecord record = record_of("front-wing", "severe");
    record.panels[0].squares = {{{0.45, 0.6}, {0.2, 0.2}, {work(polish, 1, "half")}, {}}};
    RecordedPanel door;
    door.panel = "rear-door", door.defects = "severe", door.clean = true;
    door.squares = {
        door_square({work(polish, 1, "70 %"), work(polish, 1, {}, GaugePair{112.4, 118, 5, 5, 1})})};
    record.panels.push_back(door);
    const SectionReport report = advise(record, "rear-door");
    REQUIRE(report.panels.size() == 1);
    REQUIRE(report.panels[0].conflicts.size() == 1);
    CHECK(report.panels[0].conflicts[0].square == 0);
    CHECK(report.panels[0].conflicts[0].look == 1);
}

// ---- several panels ---------------------------------------------------------------------------------

TEST_CASE("panels of one paint learn its softness from each other, those of another paint only the hand",
          "[section][long]") {
    const GaugePair soft{112.4, 110.6, 10, 10,
                         0.5}; // about twice what the polish takes off the preset's paint
    SectionRecord record = record_of("rear-door", "severe", {door_square({work(polish, 1, {}, soft)})});
    for (const char* paint : {"typical", "hard"}) {
        RecordedPanel other;
        other.panel = std::string(paint) == "typical" ? "front-wing" : "roof-skin";
        other.paint = paint, other.clean = true;
        record.panels.push_back(other);
    }
    const SectionReport report = advise(record);
    CHECK(report.paints == std::vector<std::string>{"typical", "hard"});
    REQUIRE(report.panels.size() == 3);
    const double same_paint = report.panels[1].belief.cut.mean(),
                 other_paint = report.panels[2].belief.cut.mean();
    CHECK(same_paint > 0.2);
    CHECK(other_paint > 0.02);
    CHECK(other_paint < 0.6 * same_paint);
    CHECK(report.panels[1].belief.depth.mean() == Approx(0).margin(1e-6)); // of its marks nothing was seen
}

TEST_CASE("a square's tries add up", "[section]") {
    const std::vector<Try> tries = {work(polish, 1, "half"), work(polish, 2, "most"),
                                    work(compound, 1, "all")};
    const PanelAdvice panel = advice_on_door("severe", tries);
    REQUIRE(panel.tries.size() == 3);
    const SquareGround square = square_ground(presets(), steps_of(presets(), small_kit()), panel.panel,
                                              panel.panel.squares.back(), 0);
    const double one = effect(square, polish).mean_um, cut = effect(square, compound).mean_um;
    CHECK(panel.tries[0].expected_um == Approx(one));
    CHECK(panel.tries[1].expected_um == Approx(3 * one));
    CHECK(panel.tries[2].expected_um == Approx(3 * one + cut));
    REQUIRE(panel.advice.so_far);
    CHECK(panel.advice.so_far->sequence.size() == 2);
    CHECK(panel.advice.so_far->sequence[0].sets == 3);
    CHECK(panel.tries[1].expected_share > panel.tries[0].expected_share);
}

TEST_CASE("marks that keep to a region elsewhere are not on the square's ground", "[section]") {
    const ScratchFolder folder;
    const std::string file = folder.path / "parts.json";
    write_text(file, R"({"kind": "defects", "name": "Parts", "marks": [
        {"kind": "wash swirls", "visible": "plain"},
        {"kind": "bird-lime etching", "visible": "glaring",
         "region": [["800 mm", "100 mm"], ["1000 mm", "100 mm"], ["1000 mm", "300 mm"], ["800 mm",
             "300 mm"]]}]})");
    const PanelAdvice panel = advise(record_of("rear-door", file, {door_square({})})).panels.front();
    const SquareGround square = square_ground(presets(), steps_of(presets(), small_kit()), panel.panel,
                                              panel.panel.squares.back(), 0);
    REQUIRE(square.marks.size() == 1);
    CHECK(square.marks[0].kind == MarkKind::swirls);
    // The panel has them, thinned to the share of its open ground that the region covers.
    REQUIRE(panel.ground.marks.size() == 2);
    CHECK(panel.ground.marks[1].per_m2 < 0.2 * library_marks(file)[1].per_m2);
}

TEST_CASE("gauge readings of the panel are the clear coat that there is to spend", "[section]") {
    SectionRecord record = record_of("rear-door", "severe", {door_square({})});
    record.panels[0].readings = source_at("presets/demo/readings-rear-door.csv").string();
    const PanelAdvice measured = advise(record).panels.front();
    const std::optional<std::string> readings = record.panels[0].readings;
    record.panels[0].readings.reset();
    const PanelAdvice nominal = advise(record).panels.front();
    RunRequest request;
    request.panel = "rear-door", request.grid_m = 0.004, request.readings = load_gauge_csv(*readings);
    const Panel panel = lay_panel(presets(), request).panel;
    // Of the thinnest tenth, which is what has to last.
    std::vector<float> clear;
    for (const std::size_t k : measured.ground.cells) clear.push_back(panel.clear_um[k]);
    std::ranges::sort(clear);
    CHECK(measured.ground.clear.mean_um > static_cast<double>(clear.front()));
    CHECK(measured.ground.clear.mean_um < static_cast<double>(clear[clear.size() / 10]));
    CHECK(measured.ground.clear.mean_um >
          nominal.ground.clear.mean_um + 1); // 118 µm read where 105 are nominal
    CHECK(measured.ground.effects[0].mean_um ==
          nominal.ground.effects[0].mean_um); // film has no say in what goes
}

TEST_CASE("on plastic the gauge is doubted", "[section]") {
    const SectionRecord record = record_of("bumper-corner", "moderate");
    const SectionReport report = advise(record);
    CHECK_THAT(all_of(open_questions(report, report.panels[0], FilmUnit::um)), Contains("on plastic"));
}

// ---- what is written --------------------------------------------------------------------------------

TEST_CASE("an advice's document says what the report does", "[section]") {
    const SectionReport report = advise(record_of(
        "rear-door", "severe", {door_square({work(polish, 1, "70 %", GaugePair{112.4, 111.6, 5, 5, 1})})}));
    const json document = advice_json(report);
    const PanelAdvice& panel = report.panels.front();
    const json& written = document["panels"][0];
    CHECK(document["kind"] == "sparecoat-advice");
    CHECK(written["advice"]["outlooks"].size() == panel.advice.outlooks.size());
    CHECK(written["advice"]["choice"] == *panel.advice.choice);
    CHECK(written["tries"][0]["gauge"]["loss_um"].get<double>() == Approx(0.8));
    CHECK(written["tries"][0]["seen"] == "70 %");
    CHECK(written["depth"]["median"].get<double>() == Approx(std::exp(panel.belief.depth.quantile(0.5))));
}

TEST_CASE("every panel that is advised on gets its chart", "[section][long]") {
    const ScratchFolder folder;
    SectionRecord record = record_of(
        "rear-door", "severe", {door_square({work(polish, 1, "70 %", GaugePair{112.4, 111.6, 5, 5, 1})})});
    RecordedPanel dirty;
    dirty.panel = "front-wing";
    record.panels.push_back(dirty);
    write_section(folder.path, advise(record), FilmUnit::um);
    CHECK(bytes_of(folder.path / "rear-door.png").substr(1, 3) == "PNG");
    CHECK_FALSE(
        std::filesystem::exists(folder.path / "front-wing.png")); // nothing to draw before it is clean
    CHECK(std::filesystem::exists(folder.path / "advice.json"));
}

TEST_CASE("factors are said as more or less than what they are factors on", "[section]") {
    const auto belief = [](double mean, double sd) {
        Belief1 out;
        out.first = mean - 4 * sd, out.step = 0.1 * sd;
        for (int k = 0; k <= 80; ++k) out.weight.push_back(std::exp(-0.5 * std::pow(0.1 * k - 4, 2)));
        const double sum = std::accumulate(out.weight.begin(), out.weight.end(), 0.0);
        for (double& w : out.weight) w /= sum;
        return out;
    };
    // exp(0.2 ± 1.645 x 0.05) = 1.125, 1.221, 1.326
    const FactorWords words{"softer", "harder", "than it", "the same"};
    CHECK(factor_words(belief(0.2, 0.05), words) == "22 % softer than it (12 to 33 %)");
    CHECK(factor_words(belief(-0.2, 0.05), words) == "18 % harder than it (11 to 25 %)");
    CHECK(factor_words(belief(0, 0.1), words) == "the same (15 % harder to 18 % softer)");
}

} // namespace test_section
