// Lessons: how they are read, what their captions say, and that each makes its point.
#include "formats/reader.hpp"
#include "picture/heatmap.hpp"
#include "study/lesson_figures.hpp"
#include "study/lesson_run.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/render/lesson_folder.hpp"
#include "view/render/shot.hpp"
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

namespace test_lesson {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

const fs::path source_dir = source_at("");

Library presets() { return Library(source_dir / "presets"); }

/// A short lesson on the test plate: a line with the head tilted, and flat.
json plate_lesson() {
    return json::parse(R"({
        "kind": "lesson", "name": "Plate", "note": "for tests", "about": "clear left", "grid": "4 mm",
        "mistake": {"panel": "test-plate", "technique": "polish-da-15", "seed": 3, "change": {
            "pattern": "line", "line": {"from": ["150 mm", "20 mm"], "to": ["450 mm", "20 mm"]}, "passes": 2,
            "tilt": "3 deg", "tilt_toward": "-90 deg", "hold_back": {"bottom": "-55 mm"}}},
        "remedy": {"panel": "test-plate", "technique": "polish-da-15", "change": {
            "pattern": "line", "line": {"from": ["150 mm", "150 mm"], "to": ["450 mm", "150 mm"]},
                "passes": 2,
            "hold_back": {"bottom": "75 mm"}}},
        "places": {"middle": ["300 mm", "250 mm"], "foot": ["300 mm", "2 mm"]},
        "steps": [{"show": "mistake", "moment": "nearest foot", "caption": "{mistake.tilt}"},
                  {"show": "both", "caption": "{mistake.worst.lost} and {remedy.worst.lost}"}]})");
}

json with_caption(const std::string& caption) {
    json document = plate_lesson();
    document["steps"][1]["caption"] = caption;
    return document;
}

Lesson read(const json& document) { return read_lesson(document, "lesson.json"); }

LessonReport run_of(const json& document) {
    const Lesson lesson = read(document);
    return run_lesson(lesson, prepare_lesson(presets(), lesson), 0);
}

const LessonReport& plate_report() {
    static const LessonReport report = run_of(plate_lesson());
    return report;
}

/// What a caption says after the plate's runs.
std::string filled(const std::string& caption, FilmUnit unit = FilmUnit::um) {
    LessonReport report = plate_report();
    report.lesson = read(with_caption(caption));
    return frames_of(report, film_words(unit)).at(1).caption;
}

/// The numbers of a text in their order.
std::vector<double> numbers_in(const std::string& text) {
    static const std::regex number(R"(\d+(\.\d+)?)");
    std::vector<double> out;
    for (auto it = std::sregex_iterator(text.begin(), text.end(), number); it != std::sregex_iterator(); ++it)
        out.push_back(std::stod(it->str()));
    return out;
}

const SpotAtRisk& worst(LessonSide side) { return plate_report().outcome(side).verdict.worst.front(); }

} // namespace

// ---- the lessons that come with the program -----------------------------------------------------------

TEST_CASE("Every lesson makes its point: the mistake is the worse in the figure it is about", "[lesson]") {
    const std::vector<Listing> listings = presets().list(PresetKind::lesson);
    REQUIRE(listings.size() == 6);
    for (const Listing& listing : listings) {
        INFO(listing.id);
        const Lesson lesson = presets().lesson(listing.id);
        const LessonReport report = run_lesson(lesson, prepare_lesson(presets(), lesson, 4 * mm), 0);
        CHECK(mistake_is_worse(report));
        const double mistake = topic_value(report, LessonSide::mistake),
                     remedy = topic_value(report, LessonSide::remedy);
        switch (lesson.topic) {
        // By a margin that a learner sees on the map: a tenth of a usual clear coat of 40 µm.
        case LessonTopic::clear_left: CHECK(remedy - mistake > 4); break;
        // More than half of the time, against next to none.
        case LessonTopic::stalled_time:
            CHECK(mistake > 0.5 * report.outcome(LessonSide::mistake).result.totals.time_down_s);
            CHECK(remedy < 0.05 * report.outcome(LessonSide::remedy).result.totals.time_down_s);
            break;
        // On either side of the limit that is usually kept to.
        case LessonTopic::peak_temperature: CHECK((mistake > 60 && remedy < 60)); break;
        }
        const std::vector<LessonFrame> frames = frames_of(report, film_words(FilmUnit::um));
        CHECK(frames.size() >= 4);
        for (const LessonFrame& frame : nonempty(frames)) {
            CHECK(frame.caption.find_first_of("{}") == std::string::npos);
            CHECK(frame.caption.size() < 480); // what a person reads under a picture
            CHECK_NOTHROW(map_kind(frame.map));
        }
        const std::set<LessonSide> last = [&] {
            std::set<LessonSide> sides;
            for (const LessonFrame::Scene& scene : frames.back().scenes) sides.insert(scene.side);
            return sides;
        }();
        CHECK(last.contains(LessonSide::remedy)); // it ends with how it is done right
    }
}

TEST_CASE("No caption of a lesson that comes with the program has a figure typed in by hand", "[lesson]") {
    static const std::regex placeholder(R"(\{[^}]*\})");
    for (const Listing& listing : nonempty(presets().list(PresetKind::lesson)))
        for (const LessonStep& step : nonempty(presets().lesson(listing.id).steps)) {
            INFO(listing.id << ": " << step.caption);
            const std::string words = std::regex_replace(step.caption, placeholder, "");
            CHECK(std::none_of(words.begin(), words.end(), [](char c) { return c >= '0' && c <= '9'; }));
        }
}

// ---- captions -----------------------------------------------------------------------------------------

TEST_CASE("A caption says what the runs came to, in the unit that is asked for", "[lesson]") {
    CHECK(filled("{mistake.tilt}, {mistake.force}, {mistake.arm_speed}, {mistake.speed}") ==
          "3°, 45 N, 40 mm/s, 4500/min");
    CHECK(filled("{mistake.overhang bottom} over, {remedy.hold_back bottom} inside") ==
          "55 mm over, 75 mm inside");
    const double lost_um = worst(LessonSide::mistake).removed_um;
    CHECK(filled("{mistake.worst.lost}") == film_text(lost_um, FilmUnit::um));
    CHECK(filled("{mistake.worst.lost}", FilmUnit::mil) == film_text(lost_um, FilmUnit::mil));
    CHECK(filled("{mistake.worst.place}") == worst(LessonSide::mistake).place);
    CHECK(filled("{remedy.open.lost}") ==
          film_text(plate_report().outcome(LessonSide::remedy).verdict.open.median_um, FilmUnit::um));
}

TEST_CASE("A spot of the lesson's own is looked up where it is", "[lesson]") {
    const RunJob& job = plate_report().job(LessonSide::mistake);
    const std::size_t cell = nearest_cell(job.panel.grid, {0.3, 0.002});
    const double lost_um =
        static_cast<double>(plate_report().outcome(LessonSide::mistake).result.fields.removed_um[cell]);
    REQUIRE(lost_um > 0.1);
    CHECK(filled("{mistake.at foot.lost}") == film_text(lost_um, FilmUnit::um));
    CHECK(filled("{mistake.at middle.lost}") == film_text(0, FilmUnit::um)); // the line keeps away from it
    CHECK(filled("{mistake.at middle.from_edge}") == "250 mm");
}

TEST_CASE("The six factors of a caption multiply out to its product", "[lesson]") {
    const std::vector<double> n = numbers_in(filled("{mistake.worst.split}"));
    REQUIRE(n.size() == 7);
    // Each is rounded to 0.005; six of about 1 carry that on to about 2 %.
    CHECK(n[0] * n[1] * n[2] * n[3] * n[4] * n[5] == Approx(n[6]).epsilon(0.02));
    CHECK(n[6] == Approx(worst(LessonSide::mistake).against_open.all()).margin(0.0051));
}

TEST_CASE("A ratio is the mistake's figure over the remedy's", "[lesson]") {
    const double ratio = worst(LessonSide::mistake).removed_um / worst(LessonSide::remedy).removed_um;
    CHECK(numbers_in(filled("{times.worst.lost}")).at(0) == Approx(ratio).margin(0.0051));
    LessonReport report = plate_report();
    report.lesson = read(with_caption("{times.stalled}")); // a flat pad on a flat plate never stalls
    const InputError error = refusal([&] { frames_of(report, film_words(FilmUnit::um)); });
    CHECK(error.place() == "/steps/1/caption");
}

// ---- moments ------------------------------------------------------------------------------------------

TEST_CASE("Moments are found in the run", "[lesson]") {
    const auto at = [](const std::string& moment) {
        LessonReport report = plate_report();
        json document = plate_lesson();
        document["steps"][0]["moment"] = moment;
        report.lesson = read(document);
        return frames_of(report, film_words(FilmUnit::um)).at(0).scenes.at(0);
    };
    const RunJob& job = plate_report().job(LessonSide::mistake);
    const double end_s = job.path.samples.back().t_s;
    CHECK(at("end").at_s == end_s);
    CHECK(at("end").over);
    CHECK(at("3 s").at_s == 3);
    CHECK_FALSE(at("3 s").over);
    CHECK(at("start").at_s < 1);
    // The line runs from x = 150 mm to 450 mm at 40 mm/s: it passes 300 mm after about 3.75 s, once per pass.
    CHECK(at("nearest foot").at_s == Approx(3.75).margin(0.8));
    CHECK(at("hottest").at_s > 1);
    CHECK(refusal([&] { at("1 h"); }).place() == "/steps/0/moment");
    const InputError none = refusal([&] { at("first dry pad"); });
    CHECK(none.place() == "/steps/0/moment");
    CHECK_THAT(none.found(), Contains("no dry pad in the mistake's run"));
}

// ---- what is refused ------------------------------------------------------------------------------------

TEST_CASE("A figure that does not exist is refused with the nearest that does", "[lesson]") {
    const auto caption_refusal = [](const std::string& caption) {
        const InputError error = refusal([&] { read(with_caption(caption)); });
        CHECK(error.file() == "lesson.json");
        CHECK(error.place() == "/steps/1/caption");
        return error;
    };
    CHECK_THAT(caption_refusal("{mistake.worst.clear_lft}").allowed(),
               Contains("{mistake.worst.clear_left}"));
    CHECK_THAT(caption_refusal("{mistake.stalld}").allowed(), Contains("{mistake.stalled}"));
    CHECK_THAT(caption_refusal("{remdy.tilt}").allowed(), Contains("{remedy.tilt}"));
    CHECK_THAT(caption_refusal("{mistake.at midle.lost}").allowed(), Contains("'middle'"));
    caption_refusal("{mistake.at middle.nothing}");
    caption_refusal("{mistake.worst}");
    caption_refusal("{mistake.hold_back}");   // of which edge?
    caption_refusal("{mistake.tilt bottom}"); // a tilt has no edge
    caption_refusal("{times.worst.place}");   // no ratio of words
    caption_refusal("{}");
    caption_refusal("half open {mistake.tilt");
    caption_refusal("mistake.tilt}");
    caption_refusal("{mistake.{tilt}}");
}

TEST_CASE("Names that lead nowhere are refused at the lesson's own line", "[lesson]") {
    const auto prepare_refusal = [](const json::json_pointer& place, const json& value) {
        json document = plate_lesson();
        document[place] = value;
        return refusal([&] { prepare_lesson(presets(), read(document)); });
    };
    const auto check = [&](const std::string& place, const json& value, const std::string& allowed) {
        const InputError error = prepare_refusal(json::json_pointer(place), value);
        INFO(place);
        CHECK(error.file() == "lesson.json");
        CHECK(error.place() == place);
        CHECK_THAT(error.allowed(), Contains(allowed));
    };
    check("/mistake/panel", "test-plat", "test-plate");
    check("/remedy/paint", "typicl", "typical");
    check("/mistake/technique", "polish-da-51", "polish-da-15");
    check("/mistake/change/tilt", "3 mm", "deg");
    check("/mistake/change/tilted", "3 deg", "tilt");
    check("/mistake/change/machine", "da-51", "da-15");
    check("/mistake/change/hold_back/botom", "5 mm", "bottom");
    check("/mistake/change/speed", "9000/min", "4800/min");
    check("/steps/0/moment", "frist stalled pad", "first stalled pad");
    check("/steps/0/moment", "nearest fot", "foot");
    check("/steps/0/camera/at", "fot", "foot");
    check("/steps/0/map", "film_lots", "film_lost");
    check("/about", "clear lef", "clear left");
}

TEST_CASE("An edge that the panel does not have is refused once the panel is known", "[lesson]") {
    LessonReport report = plate_report();
    report.lesson = read(with_caption("{mistake.hold_back botom}"));
    const InputError error = refusal([&] { frames_of(report, film_words(FilmUnit::um)); });
    CHECK(error.place() == "/steps/1/caption");
    CHECK_THAT(error.allowed(), Contains("'bottom'"));
}

TEST_CASE("The two sides of a lesson on one panel share it and differ in what was changed alone",
          "[lesson]") {
    const LessonReport& report = plate_report();
    const RunJob &mistake = report.job(LessonSide::mistake), &remedy = report.job(LessonSide::remedy);
    CHECK(mistake.panel.height_m == remedy.panel.height_m);
    CHECK(mistake.request.seed == 3);
    CHECK(mistake.step.technique.tilt_rad == Approx(3 * deg));
    CHECK(remedy.step.technique.tilt_rad == 0);
    CHECK(mistake.step.technique.force_n == remedy.step.technique.force_n);
    CHECK(mistake.request.grid_m == 4 * mm);
}

// ---- what is written ------------------------------------------------------------------------------------

TEST_CASE("A lesson is written as pictures, a page and a document that say the same", "[lesson][view]") {
    const ScratchFolder scratch;
    LessonLook look;
    look.width_px = 960, look.height_px = 640, look.unit = FilmUnit::mil;
    write_lesson(scratch.path, plate_report(), look);

    std::set<std::string> names;
    for (const auto& entry : fs::directory_iterator(scratch.path))
        names.insert(entry.path().filename().string());
    CHECK(names == std::set<std::string>{"step-1.png", "step-2.png", "lesson.md", "lesson.json"});
    const std::vector<LessonFrame> frames = frames_of(plate_report(), film_words(FilmUnit::mil));
    const std::string page = bytes_of(scratch.path / "lesson.md");
    const json document = json::parse(bytes_of(scratch.path / "lesson.json"));
    CHECK(document.at("kind") == "sparecoat-lesson");
    for (std::size_t k = 0; k < frames.size(); ++k) {
        CHECK_THAT(page, Contains(frames[k].caption));
        CHECK(document.at("steps").at(k).at("caption") == frames[k].caption);
    }
    CHECK(document.at("steps").at(1).at("figures").at("mistake.worst.lost") ==
          film_text(worst(LessonSide::mistake).removed_um, FilmUnit::mil));
    CHECK(document.at("mistake").at("figure").get<double>() <
          document.at("remedy").at("figure").get<double>());
    CHECK_THAT(page, Contains("eye protection")); // the cautions go with every lesson
    CHECK(document.at("cautions").size() >= 5);
}

} // namespace test_lesson
