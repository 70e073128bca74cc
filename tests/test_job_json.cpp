// A job as JSON: out, in and out again; what is refused on the way in; presets that travel with it.
#include "formats/reader.hpp"
#include "run/run_job.hpp"
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include "support/refusal.hpp"
#include "support/schema_check.hpp"
#include "vehicle/job_json.hpp"
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

namespace test_job_json {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

std::string text_of(const JobFile& job) { return job_json(job).dump(2) + "\n"; }

void hold_to_job_schema(const json& document) {
    hold_to_schema(job_schema_text(), "job", document, "bus.json");
}

/// A full job's JSON, changed, as an import takes it.
std::string import_refusal(const std::function<void(json&)>& change) {
    const ScratchFolder session;
    static const json full = [&] {
        JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
        fill_every_table(job);
        return json::parse(text_of(job));
    }();
    json document = full;
    change(document);
    const fs::path target = session.path / "copy.sparecoat";
    const std::string said = refusal([&] { job_from_json(target, document, "bus.json"); }).what();
    CHECK_FALSE(fs::exists(target));
    return said;
}

} // namespace

TEST_CASE("a job written as JSON, read in and written again is the same bytes", "[job]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    fill_every_table(job);
    const std::string first = text_of(job);
    const JobFile copy =
        job_from_json(session.path / "copy.sparecoat", parse_json(first, "bus.json"), "bus.json");
    CHECK(text_of(copy) == first);
    CHECK_NOTHROW(hold_to_job_schema(json::parse(first)));
    CHECK(copy.history().empty());
    CHECK(copy.check().empty());
    // And what a person entered is the same number, not one that differs in its last bit; 0.1 + 0.2 was no
    // such.
    const auto spots = job.all<FilmReading>(), copied = copy.all<FilmReading>();
    REQUIRE(copied.size() == spots.size());
    CHECK(copied[0].film_um == spots[0].film_um);
    CHECK(copied[1].film_um == spots[1].film_um);
    CHECK(copied[0].x_m == spots[0].x_m);
    CHECK(copied[2].x_m == 0.3);
    CHECK(copy.vehicle() == job.vehicle());
    CHECK(copy.all<TryRow>() == job.all<TryRow>());
    CHECK(copy.all<Work>() == job.all<Work>());
}

TEST_CASE("a job with next to nothing in it goes out and in again too", "[job]") {
    const ScratchFolder session;
    const JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    const std::string first = text_of(job);
    CHECK(text_of(job_from_json(session.path / "copy.sparecoat", parse_json(first, "bus.json"),
                                "bus.json")) == first);
    CHECK_NOTHROW(hold_to_job_schema(json::parse(first)));
}

TEST_CASE("a job's form and its published schema take and refuse the same, whatever is changed", "[job]") {
    const ScratchFolder session;
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    fill_every_table(job);
    const json full = json::parse(text_of(job));
    int taken = 0, refused = 0;
    const auto accepts = [](const auto& check) {
        try {
            check();
        } catch (const InputError&) {
            return false;
        }
        return true;
    };
    const auto compare = [&](const json& document, const std::string& change) {
        const bool by_form = accepts([&] { read_form(job_form(), document, {"bus.json", ""}); });
        const bool by_schema = accepts([&] { hold_to_job_schema(document); });
        ++(by_form ? taken : refused);
        if (by_form != by_schema)
            FAIL_CHECK(change << ": form " << (by_form ? "takes" : "refuses") << ", schema "
                              << (by_schema ? "takes" : "refuses"));
    };
    std::set<std::string> places; // every value and every object or list above one
    const json flat = full.flatten();
    for (const auto& [pointer, unused] : flat.items())
        for (json::json_pointer p(pointer); !p.empty(); p = p.parent_pointer()) places.insert(p.to_string());
    for (const std::string& place : places) {
        const json::json_pointer at(place);
        if (place.starts_with("/documents/") && place.find("/body/") != std::string::npos)
            continue; // presets have forms of their own
        for (const json& intruder : {json(nullptr), json(true), json(-1e9), json::array(), json::object()}) {
            json copy = full;
            copy[at] = intruder;
            compare(copy, place + " = " + intruder.dump());
        }
        json without = full;
        json& parent = without[at.parent_pointer()];
        if (parent.is_object()) parent.erase(at.back());
        else parent.erase(static_cast<std::size_t>(std::stoul(at.back())));
        compare(without, place + " taken out");
    }
    CHECK(taken > 50); // so that the comparison cannot go quiet
    CHECK(refused > 200);
}

TEST_CASE("what is wrong with a job's JSON is said with its place, and nothing is made", "[job]") {
    CHECK_THAT(import_refusal([](json& d) { d["kind"] = "record"; }), Contains("bus.json: /kind"));
    CHECK_THAT(import_refusal([](json& d) { d["visits"][0]["panels"][0]["readings"][1]["clear"] = "40 kg"; }),
               Contains("bus.json: /visits/0/panels/0/readings/1/clear"));
    CHECK_THAT(import_refusal([](json& d) { d["visits"][0]["panels"][0]["readings"][1]["n"] = 0; }),
               Contains("/visits/0/panels/0/readings/1/n"));
    CHECK_THAT(import_refusal([](json& d) { d["visits"][0]["date"] = "2026-02-30"; }),
               Contains("bus.json: /visits/0") && Contains("a date such as 2026-03-14"));
    CHECK_THAT(import_refusal([](json& d) { d["panels"][1]["name"] = "rear door"; }),
               Contains("bus.json: /panels/1") && Contains("each once"));
    CHECK_THAT(import_refusal([](json& d) { d["panels"][0]["paint"] = "nacre"; }),
               Contains("/panels/0/paint") && Contains("no paint \"nacre\""));
    CHECK_THAT(import_refusal([](json& d) { d["visits"][0]["panels"][0]["panel"] = "boot"; }),
               Contains("no panel \"boot\""));
    CHECK_THAT(import_refusal([](json& d) { d["documents"][0]["body"]["kind"] = "pad"; }),
               Contains("/documents/0/body"));
    CHECK_THAT(import_refusal([](json& d) {
                   for (json& document : d["documents"])
                       if (document["kind"] == "substrate") document["reference"] = "glass";
               }),
               Contains("/body/substrate") && Contains("no substrate \"steel\""));
    CHECK_THAT(import_refusal([](json& d) { d["documents"][0]["reference"] = "../sly"; }),
               Contains("/documents/0") && Contains("without folders"));
    CHECK_THAT(
        import_refusal([](json& d) { d["panels"][0]["shape"] = "x", d["panels"][0]["colour"] = "white"; }),
        Contains("unknown key 'colour'"));
    CHECK_THAT(import_refusal([](json& d) {
                   json& readings = d["visits"][0]["panels"][0]["readings"];
                   readings.push_back(readings[0]);
               }),
               Contains("/visits/0/panels/0/readings/3") && Contains("a second entry"));
}

TEST_CASE("presets travel with the job: it runs where there are no others", "[job]") {
    const ScratchFolder session;
    const fs::path own = session.path / "own";
    fs::create_directories(own);
    // A panel, a substrate and a mesh of somebody's own, by paths.
    write_text(own / "sheet.json", bytes_of(source_at("presets/substrates/steel.json")));
    write_text(own / "sheet.obj", "v 0 0 0\nv 600 0 0\nv 600 500 0\nv 0 500 0\nf 1 2 3\nf 1 3 4\n");
    write_text(
        own / "lid.json",
        R"({"kind": "panel", "name": "Lid", "substrate": "./sheet.json", "mesh": {"file": "sheet.obj"}})");
    const fs::path file = session.path / "bus.sparecoat";
    {
        JobFile job = JobFile::create(file, minibus());
        add_panel(job, "lid", (own / "lid.json").string());
        add_panel(job, "raw lid", (own / "sheet.obj").string());
        add_panel(job, "door", "rear-door", "soft");
    }
    const JobFile exported = JobFile::open(file);
    const JobFile job =
        job_from_json(session.path / "copy.sparecoat", parse_json(text_of(exported), "bus.json"), "bus.json");
    fs::remove_all(own);
    const Library library = job_library(job);
    for (const JobPanel& panel : job.all<JobPanel>()) {
        const PanelSpec spec = library.panel(job.get<Document>(panel.shape).reference);
        const Panel built = build_panel(spec, 0.004);
        CHECK(built.area_m2() > 0.25);
        library.substrate(spec.substrate);
        library.paint(job.get<Document>(panel.paint).reference);
    }
    CHECK(build_panel(library.panel("lid"), 0.004).area_m2() ==
          Approx(0.3).epsilon(0.02)); // 600 mm x 500 mm, a cell off
}

TEST_CASE("a preset that changed since comes in beside the one that the job has", "[job]") {
    const ScratchFolder session;
    const fs::path paint = session.path / "typical.json";
    json body = json::parse(bytes_of(source_at("presets/paints/typical.json")));
    JobFile job = JobFile::create(session.path / "bus.sparecoat", minibus());
    job.edit("paints", [&] {
        const BroughtIn first = bring_in(job, shipped_presets(), "paint", "typical");
        CHECK(first.reference == "typical");
        CHECK(bring_in(job, shipped_presets(), "paint", "typical").document == first.document);
        body["clear"] = "31 um";
        write_text(paint, body.dump());
        const BroughtIn second = bring_in(job, shipped_presets(), "paint", paint.string());
        CHECK(second.reference == "typical-2");
        CHECK(bring_in(job, shipped_presets(), "paint", paint.string()).document == second.document);
        CHECK(bring_in(job, shipped_presets(), "paint", "typical").document == first.document);
    });
    const Library library = job_library(job);
    CHECK(library.paint("typical").clear_m != library.paint("typical-2").clear_m);
}

} // namespace test_job_json
