// The record of test sections as a file: read, added to, written whole or not at all.
#include "formats/reader.hpp"
#include "library/record.hpp"
#include "support/files.hpp"
#include "support/refusal.hpp"
#include "support/worlds.hpp"
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

namespace test_record {
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;
using nlohmann::ordered_json;
namespace fs = std::filesystem;

namespace {

const char* const polish = "da-15+medium-foam-150+polish";

json one_record() {
    return json::parse(R"({
        "kind": "record", "name": "Minibus 7", "kit": "workshop",
        "panels": [{"panel": "rear-door", "defects": "severe", "clean": true, "squares": [
            {"at": ["290 mm", "300 mm"], "tries": [
                {"step": "da-15+medium-foam-150+polish", "sets": 2, "seen": "70 %",
                 "gauge": {"before": "112.4 um", "n_before": 5, "after": "4.37 mil", "n_after": 4}},
                {"step": "da-15+medium-foam-150+polish", "seen": "better"}]}]}]})");
}

InputError refused(const json& record) {
    return refusal([&] { read_record(record, "r.json"); });
}

GaugePair pair_of(double before_um, double after_um) { return {before_um, after_um, 5, 5, 1}; }

RecordEntry work_on(const std::string& panel) {
    RecordEntry entry;
    entry.panel = panel;
    entry.square = TapedSquare{{0.29, 0.3}, {0.4, 0.4}, {}, {}};
    entry.work = Try{polish, 2, "70 %", pair_of(112.4, 111), ""};
    return entry;
}

SectionRecord read_back(const ordered_json& document) {
    return read_record(json::parse(document.dump()), "r.json");
}

} // namespace

TEST_CASE("a record reads to SI, with what its files leave out filled in") {
    const SectionRecord record = read_record(one_record(), "r.json");
    CHECK(record.file == "r.json");
    CHECK(record.target.share == 0.95);
    CHECK(record.target.haze == good_finish_haze);
    REQUIRE(record.panels.size() == 1);
    const RecordedPanel& panel = record.panels[0];
    CHECK(panel.paint == "typical");
    CHECK(panel.clean);
    REQUIRE(panel.squares.size() == 1);
    CHECK(panel.squares[0].at.x == Approx(0.29));
    CHECK(panel.squares[0].size.y == Approx(0.4));
    REQUIRE(panel.squares[0].tries.size() == 2);
    const Try& first = panel.squares[0].tries[0];
    CHECK(first.sets == 2);
    CHECK(*first.seen == "70 %");
    CHECK(first.gauge->before_um == Approx(112.4));
    CHECK(first.gauge->after_um == Approx(4.37 * 25.4));
    CHECK(first.gauge->n_before == 5);
    CHECK(first.gauge->n_after == 4);
    CHECK(first.gauge->repeat_sd_um == Approx(1));
    CHECK(panel.squares[0].tries[1].sets == 1);
    CHECK_FALSE(panel.squares[0].tries[1].gauge);
}

TEST_CASE("a record's references lead from its own folder") {
    json document = one_record();
    document["panels"][0]["panel"] = "mine/door.json";
    document["panels"][0]["readings"] = "film.csv"; // a bare name is a file all the same
    const SectionRecord record = read_record(document, "there/r.json");
    CHECK(record.panels[0].panel == "there/mine/door.json");
    CHECK(*record.panels[0].readings == "there/film.csv");
    CHECK(record.kit == "workshop");
}

TEST_CASE("a finish is a word or the most haze") {
    json document = one_record();
    document["target"] = {{"finish", "full"}};
    CHECK(read_record(document, "").target.haze == full_finish_haze);
    document["target"] = {{"finish", 4}};
    CHECK(read_record(document, "").target.haze == 4);
    document["target"] = {{"finish", "splendid"}};
    CHECK(refused(document).place() == "/target/finish");
}

TEST_CASE("what cannot be in a record is refused with its place") {
    const std::string first_try = "/panels/0/squares/0/tries/0";
    const auto with = [](const std::string& pointer, const json& value) {
        json document = one_record();
        document[json::json_pointer(pointer)] = value;
        return refused(document);
    };
    CHECK(with(first_try + "/sets", 0).place() == first_try + "/sets");
    CHECK(with(first_try + "/sets", 21).place() == first_try + "/sets");
    CHECK(with(first_try + "/seen", "superb").place() == first_try + "/seen");
    CHECK_THAT(with(first_try + "/seen", "superb").allowed(), Contains("nearly all"));
    CHECK(with(first_try + "/seen", "90").place() == first_try + "/seen"); // 90 of what?
    CHECK(with(first_try + "/gauge/before", "4.9 um").place() == first_try + "/gauge/before");
    CHECK(with(first_try + "/gauge/after", "2100 um").place() == first_try + "/gauge/after");
    CHECK(with(first_try + "/gauge/after", 112.4).place() == first_try + "/gauge/after"); // metres
    CHECK(with(first_try + "/gauge/after", "30 um").place() == first_try + "/gauge/after");
    CHECK_THAT(with(first_try + "/gauge/after", "30 um").allowed(), Contains("another unit"));
    CHECK(with(first_try + "/gauge/n_after", 0).place() == first_try + "/gauge/n_after");
    json twice = one_record();
    twice["panels"].push_back(twice["panels"][0]);
    CHECK(refused(twice).place() == "/panels/1/panel");
    CHECK_THAT(refused(twice).found(), Contains("a second time"));
}

TEST_CASE("a second square is on fresh ground; tape may lie beside tape") {
    json document = one_record();
    json& squares = document["panels"][0]["squares"];
    squares.push_back({{"at", {"650 mm", "300 mm"}}});
    const InputError error = refused(document);
    CHECK(error.place() == "/panels/0/squares/1/at");
    CHECK_THAT(error.found(), Contains("square 1") && Contains("not untouched"));
    squares[1]["at"] = {"690 mm", "300 mm"};
    CHECK(read_record(document, "").panels[0].squares.size() == 2);
}

TEST_CASE("entries build a record up: panel, square, work, a look at it") {
    ordered_json document = new_record("Minibus 7", "workshop", {});
    enter(document, work_on("rear-door"));
    RecordEntry more;
    more.panel = "rear-door";
    more.work = Try{polish, 1, {}, {}, "slower arm"};
    enter(document, more);
    RecordEntry look;
    look.panel = "rear-door";
    look.seen = "90 %";
    look.clean = true;
    enter(document, look);
    RecordEntry other = work_on("front-wing");
    other.paint = "soft";
    enter(document, other);

    const SectionRecord record = read_back(document);
    REQUIRE(record.panels.size() == 2);
    REQUIRE(record.panels[0].squares.size() == 1);
    REQUIRE(record.panels[0].squares[0].tries.size() == 2);
    CHECK(record.panels[0].clean);
    CHECK(*record.panels[0].squares[0].tries[0].seen == "70 %");
    CHECK(record.panels[0].squares[0].tries[0].gauge->before_um == Approx(112.4));
    CHECK(*record.panels[0].squares[0].tries[1].seen == "90 %");
    CHECK(record.panels[0].squares[0].tries[1].note == "slower arm");
    CHECK(record.panels[1].paint == "soft");
}

TEST_CASE("a look on file is replaced only where that is said") {
    ordered_json document = new_record("Minibus 7", "workshop", {});
    enter(document, work_on("rear-door"));
    RecordEntry again;
    again.panel = "rear-door";
    again.gauge = pair_of(112.4, 112.9);
    CHECK(refusal([&] { enter(document, again); }).place() == "--after");
    again.correct = true;
    enter(document, again);
    CHECK(read_back(document).panels[0].squares[0].tries[0].gauge->after_um == Approx(112.9));
    CHECK(*read_back(document).panels[0].squares[0].tries[0].seen == "70 %");
}

TEST_CASE("work needs a square and a look needs work") {
    ordered_json document = new_record("Minibus 7", "workshop", {});
    RecordEntry work = work_on("rear-door");
    work.square.reset();
    CHECK(refusal([&] { enter(document, work); }).place() == "--step");
    RecordEntry look;
    look.panel = "rear-door";
    look.seen = "90 %";
    CHECK(refusal([&] { enter(document, look); }).place() == "--seen");
}

TEST_CASE("a record that is added to keeps its order, notes and units") {
    const ScratchFolder folder;
    const fs::path file = folder.path / "r.json";
    const std::string before = R"({
  "name": "Minibus 7",
  "kind": "record",
  "note": "in its own order",
  "kit": "workshop",
  "panels": [
    {
      "panel": "rear-door",
      "note": "sun side",
      "squares": [
        {
          "size": [
            0.4,
            "16 in"
          ],
          "at": [
            "29 cm",
            "300 mm"
          ],
          "note": "beside the handle"
        }
      ]
    }
  ]
}
)";
    write_text(file, before);
    save_record(file, load_record_json(file));
    CHECK(bytes_of(file) == before);
    ordered_json document = load_record_json(file);
    RecordEntry clean;
    clean.panel = "rear-door";
    clean.clean = true;
    enter(document, clean);
    save_record(file, document);
    std::string after = before;
    const std::string last = "\"note\": \"beside the handle\"\n        }\n      ]";
    after.insert(after.find(last) + last.size(), ",\n      \"clean\": true");
    CHECK(bytes_of(file) == after);
}

TEST_CASE("a record is saved whole or not at all") {
    const ScratchFolder folder;
    const fs::path file = folder.path / "r.json";
    ordered_json document = new_record("Minibus 7", "workshop", {});
    CHECK(refusal([&] { save_record(file, document); }).place() == "/panels"); // none yet
    CHECK(fs::is_empty(folder.path));
    enter(document, work_on("rear-door"));
    save_record(file, document);
    const std::string before = bytes_of(file);
    ordered_json broken = document;
    broken["panels"][0]["squares"][0]["tries"][0]["sets"] = 99;
    CHECK(refusal([&] { save_record(file, broken); }).place() == "/panels/0/squares/0/tries/0/sets");
    CHECK(bytes_of(file) == before);
    CHECK(std::distance(fs::directory_iterator(folder.path), {}) == 1); // no half-written file beside it
    CHECK(refusal([&] { save_record(folder.path / "no/such/r.json", document); }).allowed() ==
          "a file that can be written");
}

TEST_CASE("a path given from here is kept as one from the record's folder") {
    CHECK(reference_from("out", "rear-door") == "rear-door");
    CHECK(reference_from("out", "mine/door.json") == "../mine/door.json");
    CHECK(reference_from("out", "out/door.json") == "door.json");
    CHECK(reference_from("", "mine/door.json") == "mine/door.json");
}

} // namespace test_record
