// What comes into a job from elsewhere, and the film that its work cost.
#include "library/kit.hpp"
#include "support/files.hpp"
#include "support/job_world.hpp"
#include "support/refusal.hpp"
#include "vehicle/film_spent.hpp"
#include "vehicle/job_import.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace test_job_import {
namespace fs = std::filesystem;
using namespace sparecoat::cli;
using namespace sparecoat::test;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

struct Job {
    ScratchFolder session;
    JobFile file = JobFile::create(session.path / "bus.sparecoat", minibus());
    Id door = add_panel(file, "left rear door", "rear-door");
    Visit visit = file.get<Visit>(add_visit(file, "2026-03-14"));

    JobPanel panel() const { return file.get<JobPanel>(door); }
    fs::path csv(const std::string& text) const {
        write_text(session.path / "readings.csv", text);
        return session.path / "readings.csv";
    }
};

json record_with(const json& tries) {
    return {{"kind", "record"},
            {"name", "Minibus 3"},
            {"kit", "workshop"},
            {"target", {{"share", "90 %"}, {"reserve", "18 um"}}},
            {"panels",
             {{{"panel", "rear-door"},
               {"defects", "severe"},
               {"clean", true},
               {"note", "sun side"},
               {"squares", {{{"at", {"450 mm", "300 mm"}}, {"tries", tries}}}}},
              {{"panel", "front-wing"}, {"paint", "soft"}}}}};
}

constexpr const char *polish = "da-15+medium-foam-150+polish",
                     *cut = "da-15+microfibre-cutting-150+cutting-compound";

} // namespace

// ---- readings ---------------------------------------------------------------------------------------

TEST_CASE("gauge readings come in from CSV, by the job's name for the panel or its shape's", "[job]") {
    Job job;
    for (const char* name : {"left rear door", "rear-door"}) {
        const ImportedReadings done = import_readings(
            job.file,
            job.csv(fmt::format(
                "panel,{}\nx_mm,y_mm,total_um,clear_um,n\n300,200,112.5,41,3\n500,300,108,,1\n", name)),
            job.visit, job.panel(), false);
        CHECK(done.added == (std::string(name) == "rear-door" ? 0 : 3)); // the second time they are all there
        CHECK(done.changed == 0);
    }
    const std::vector<FilmReading> rows = job.file.all<FilmReading>();
    REQUIRE(rows.size() == 3);
    CHECK((rows[0].film_um == 112.5 && !rows[0].of_clear && rows[0].n == 3 && rows[0].x_m == 0.3 &&
           !rows[0].after_work));
    CHECK((rows[1].film_um == 41 && rows[1].of_clear));
    CHECK(job.file.history().back().label == "3 readings on the left rear door before work");
    const ImportedReadings again =
        import_readings(job.file, job.csv("panel,rear-door\nx_mm,y_mm,total_um\n500,300,109\n"), job.visit,
                        job.panel(), false);
    CHECK((again.added == 0 && again.changed == 1));
    import_readings(job.file, job.csv("panel,rear-door\nx_mm,y_mm,total_um\n500,300,106\n"), job.visit,
                    job.panel(), true);
    CHECK(job.file.all<FilmReading>().size() == 4);
    job.file.undo(), job.file.undo(), job.file.undo();
    CHECK(job.file.all<FilmReading>().empty());
}

TEST_CASE("readings of another panel or off this one are refused, and none is kept", "[job]") {
    Job job;
    const auto said = [&](const std::string& text) {
        return std::string(
            refusal([&] { import_readings(job.file, job.csv(text), job.visit, job.panel(), false); }).what());
    };
    CHECK_THAT(said("panel,roof\nx_mm,y_mm,total_um\n300,200,112\n"), Contains("line 1") && Contains("roof"));
    CHECK_THAT(said("panel,rear-door\nx_mm,y_mm,total_um\n300,200,112\n9000,200,112\n"),
               Contains("line 4") && Contains("off the panel"));
    CHECK(job.file.all<FilmReading>().empty());
    CHECK(job.file.all<PanelVisit>().empty());
}

// ---- records ----------------------------------------------------------------------------------------

TEST_CASE("a section record comes in whole, and once more brings only what is new", "[job]") {
    Job job;
    const fs::path file = job.session.path / "record.json";
    const json first = {{"step", polish}, {"sets", 2}, {"seen", "60 %"}};
    write_text(file, record_with(json::array({first})).dump());
    const ImportedRecord done = import_record(job.file, shipped_presets(), file, job.visit);
    CHECK(done.took_kit);
    CHECK((done.panels_added == 1 && done.squares_added == 1 && done.tries_added == 1));
    CHECK(job.file.vehicle().share == Approx(0.9));
    CHECK(job.file.vehicle().reserve_um == Approx(18));
    CHECK(job.file.all<JobPanel>().size() == 2);
    CHECK(job.file.get<Document>(job.file.all<JobPanel>().back().paint).reference == "soft");
    const PanelVisit at = job.file.panel_visit(job.visit.id, job.door).value();
    CHECK(at.clean);
    CHECK(at.note == "sun side");
    CHECK(job.file.get<Document>(*at.defects).reference == "severe");
    // The kit works from the job alone.
    const Library library = job_library(job.file);
    const std::vector<KitStep> steps =
        steps_of(library, job.file.get<Document>(*job.file.vehicle().kit).reference);
    CHECK(step_named(steps, job.file.all<TryRow>().front().step).pad_radius_m == Approx(0.075));

    const std::string before = dump(job.file);
    const ImportedRecord same = import_record(job.file, shipped_presets(), file, job.visit);
    CHECK((same.panels_added == 0 && same.squares_added == 0 && same.tries_added == 0 &&
           same.tries_changed == 0));
    CHECK(dump(job.file) == before);
    CHECK(job.file.history().back().label == "the section record record.json");

    json looked = first;
    looked["gauge"] = {{"before", "112.4 um"}, {"after", "111 um"}, {"n_before", 5}, {"n_after", 5}};
    write_text(file, record_with(json::array({looked, {{"step", cut}, {"seen", "all"}}})).dump());
    const ImportedRecord grown = import_record(job.file, shipped_presets(), file, job.visit);
    CHECK((grown.squares_added == 0 && grown.tries_added == 1 && grown.tries_changed == 1));
    CHECK(job.file.all<TryRow>().front().gauge.pair()->n_after == 5);
    job.file.undo();
    CHECK(dump(job.file) == before);
}

TEST_CASE("a record against what the job has is refused at its place, and nothing of it is kept", "[job]") {
    Job job;
    const fs::path file = job.session.path / "record.json";
    write_text(file, record_with(json::array({{{"step", polish}}})).dump());
    import_record(job.file, shipped_presets(), file, job.visit);
    const std::string before = dump(job.file);
    const auto said = [&](const json& record) {
        write_text(file, record.dump());
        return std::string(
            refusal([&] { import_record(job.file, shipped_presets(), file, job.visit); }).what());
    };
    CHECK_THAT(said(record_with(json::array({{{"step", cut}}}))),
               Contains("/panels/0/squares/0/tries/0") && Contains("what the job has in its turn"));
    json kit = json::parse(bytes_of(source_at("presets/kits/workshop.json")));
    kit["machines"][0]["force"] = "55 N";
    write_text(job.session.path / "workshop.json", kit.dump());
    json other = record_with(json::array({{{"step", polish}}}));
    other["kit"] = "./workshop.json";
    CHECK_THAT(said(other), Contains("/kit") && Contains("that of the job, \"workshop\""));
    CHECK(dump(job.file) == before);
}

TEST_CASE("steps of a kit with pads of somebody's own keep their meaning in the job", "[job]") {
    Job job;
    json pad = json::parse(bytes_of(source_at("presets/pads/medium-foam.json")));
    pad["cut_factor"] = 0.9;
    write_text(job.session.path / "medium-foam.json", pad.dump());
    json kit = json::parse(bytes_of(source_at("presets/kits/workshop.json")));
    std::vector<json*> lists{&kit["pads"]};
    for (json& machine : kit["machines"]) lists.push_back(&machine["pads"]);
    for (json* list : lists)
        for (json& name : *list)
            if (name == "medium-foam-150") name = "./medium-foam.json#150";
    write_text(job.session.path / "own-kit.json", kit.dump());
    json record = record_with(json::array({{{"step", "da-15+./medium-foam.json#150+polish"}}}));
    record["kit"] = "./own-kit.json";
    const fs::path file = job.session.path / "record.json";
    write_text(file, record.dump());
    import_record(job.file, shipped_presets(), file, job.visit);
    const Library library = job_library(job.file);
    const std::vector<KitStep> steps = steps_of(library, "own-kit");
    const KitStep& step = step_named(steps, job.file.all<TryRow>().front().step);
    CHECK(library.pad(step.technique.pad).cut_factor == 0.9);
}

// ---- film -------------------------------------------------------------------------------------------

TEST_CASE("readings boil down to mean, spread and range, by kind and before and after", "[job]") {
    std::vector<FilmReading> rows = {reading(1, 0.1, 100), reading(1, 0.2, 110), reading(1, 0.3, 120),
                                     reading(1, 0.1, 99, true)};
    rows.push_back(reading(1, 0.1, 40));
    rows.back().of_clear = true;
    const FilmStatistics before = statistics_of(rows, false, false).value();
    CHECK((before.spots == 3 && before.mean_um == 110 && before.sd_um == 10 && before.least_um == 100 &&
           before.most_um == 120));
    CHECK(statistics_of(rows, true, false)->mean_um == 99);
    CHECK(statistics_of(rows, true, false)->sd_um == 0);
    CHECK(statistics_of(rows, false, true)->mean_um == 40);
    CHECK_FALSE(statistics_of(rows, true, true));
}

TEST_CASE("a loss by readings compares spots that were read before and after", "[job]") {
    std::vector<FilmReading> rows = {reading(1, 0.1, 100), reading(1, 0.2, 110), reading(1, 0.9, 150)};
    CHECK_FALSE(loss_by_readings(rows));
    rows.push_back(reading(1, 0.1, 98, true));
    rows.push_back(reading(1, 0.203, 109, true)); // 3 mm beside: nobody puts the probe down twice alike
    rows[0].n = 4, rows[0].sd_um = 2;
    const FilmSum loss = loss_by_readings(rows).value();
    CHECK(loss.um == Approx(1.5)); // (2 + 1) / 2; the third spot was not read again
    CHECK(loss.sd_um == Approx(std::sqrt(2.0 * 2 / 4 + 1 + 1 + 1) / 2));
    // A spot read both ways counts once.
    for (const bool after : {false, true}) {
        rows.push_back(reading(1, 0.1, after ? 30 : 40, after));
        rows.back().of_clear = true;
    }
    CHECK(loss_by_readings(rows)->um == Approx(1.5));
}

TEST_CASE("gauge and model together weigh by their variances, and visits add up", "[job]") {
    Work work;
    CHECK_FALSE(spent_by(std::nullopt, {}).best);
    work.predicted_um = 1.0, work.predicted_sd_um = 0.3;
    CHECK(spent_by(work, {}).best->um == 1.0);
    work.gauge = GaugeColumns(GaugePair{111.5, 110, 25, 25, 0.6 / std::sqrt(2.0 / 25)}); // 1.5 ± 0.6
    const SpentFilm spent = spent_by(work, {});
    CHECK(spent.gauge->um == Approx(1.5));
    CHECK(spent.gauge->sd_um == Approx(0.6));
    // Weights 1/0.36 and 1/0.09: (1.5 x 1 + 1.0 x 4) / 5, sd 1/sqrt(1/0.36 + 1/0.09).
    CHECK(spent.best->um == Approx(1.1));
    CHECK(spent.best->sd_um == Approx(0.26833).epsilon(1e-4));
    const FilmSum sum = sum_of(std::vector<FilmSum>{{1.5, 0.3}, {2.0, 0.4}});
    CHECK(sum.um == Approx(3.5));
    CHECK(sum.sd_um == Approx(0.5));
}

} // namespace test_job_import
