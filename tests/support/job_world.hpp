#pragma once
// A small vehicle's job for tests, and a job's content as text.
#include "library/presets.hpp"
#include "support/files.hpp"
#include "support/job_version_2.hpp"
#include "support/places.hpp"
#include "vehicle/database.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/job_file.hpp"
#include "vehicle/job_store.hpp"
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <string>

namespace sparecoat::test {
using namespace cli;

inline Library shipped_presets() { return Library(source_at("presets")); }

inline Vehicle minibus() {
    Vehicle vehicle;
    vehicle.name = "Minibus 3";
    vehicle.description = "community transport, white";
    return vehicle;
}

inline Id add_panel(JobFile& job, const std::string& name, const std::string& shape,
                    const std::string& paint = "typical") {
    JobPanel panel;
    job.edit("panel " + name, [&] {
        panel.name = name;
        panel.place = static_cast<int>(job.all<JobPanel>().size());
        panel.shape = bring_in(job, shipped_presets(), "panel", shape).document;
        panel.paint = bring_in(job, shipped_presets(), "paint", paint).document;
        panel.id = job.add(panel);
    });
    return panel.id;
}

inline Id add_visit(JobFile& job, const std::string& date, const std::string& label = "") {
    Visit visit;
    visit.date = date, visit.label = label;
    job.edit("visit " + date, [&] { visit.id = job.add(visit); });
    return visit.id;
}

inline FilmReading reading(Id panel_visit, double x_m, double film_um, bool after_work = false) {
    FilmReading row;
    row.panel_visit = panel_visit, row.x_m = x_m, row.y_m = 0.2, row.film_um = film_um,
    row.after_work = after_work;
    return row;
}

/// A job with something in every table.
inline void fill_every_table(JobFile& job) {
    const Id door = add_panel(job, "rear door", "rear-door"),
             wing = add_panel(job, "front wing", "front-wing", "soft");
    const Id spring = add_visit(job, "2026-03-14", "spring"), later = add_visit(job, "2027-03-20");
    job.edit("everything else", [&] {
        PanelVisit at = job.at_visit(spring, door), changed = at;
        changed.clean = true;
        changed.defects = bring_in(job, shipped_presets(), "defects", "severe").document;
        changed.plan = R"({"steps":[{"step":"da-15+medium-foam-150+polish","sets":2}],"hold_back":"20 mm"})";
        changed.note = "sun side";
        job.change(at, changed);
        job.at_visit(later, wing);
        FilmReading spot = reading(at.id, 0.3, 112.3);
        spot.n = 3, spot.sd_um = 0.7;
        job.add(spot);
        spot.of_clear = true, spot.film_um = 41.2345678912;
        job.add(spot);
        job.add(reading(at.id, 0.1 + 0.2, 110.8, true)); // 0.30000000000000004
        SquareRow square;
        square.panel_visit = at.id, square.x_m = 0.45, square.y_m = 0.35, square.note = "under the window";
        TryRow work;
        work.square = job.add(square);
        work.step = "da-15+medium-foam-150+polish", work.sets = 2, work.seen = "90 %", work.note = "cool";
        work.gauge = GaugeColumns(GaugePair{112.4, 110.9, 5, 5, 0.8});
        job.add(work);
        work.seen.reset(), work.gauge = {}, work.note.clear();
        job.add(work);
        Work done;
        done.panel_visit = at.id, done.done = "2 sets of polish";
        done.gauge = GaugeColumns(GaugePair{112.0, 110.5, 12, 12, 1});
        done.predicted_um = 1.4, done.predicted_sd_um = 0.3;
        job.add(done);
        RunRow run;
        run.panel_visit = at.id, run.label = "polish", run.inputs_hash = std::string(64, 'a');
        run.summary = R"({"kind":"sparecoat-run","b":1.5,"a":[1,2,3]})", run.made = "2026-03-14T09:30:00Z";
        run.lost_mean_um = 1.31, run.lost_median_um = 1.3, run.lost_worst_um = 4.2;
        job.add(run);
        Photo photo;
        photo.visit = spring, photo.panel = door, photo.path = "photos/door.jpg", photo.caption = "before";
        job.add(photo);
        photo.visit.reset(), photo.panel.reset(), photo.path = "photos/bus.jpg",
                                                  photo.hash = std::string(64, '0');
        job.add(photo);
        Note note;
        note.text = "key under the \"mat\"; ąę µ";
        job.add(note);
        note.visit = later, note.panel = wing, note.text = "stone chips";
        job.add(note);
        const Vehicle vehicle = job.vehicle();
        Vehicle wanted = vehicle;
        wanted.share = 0.9, wanted.note = "hand over on Fridays";
        job.change(vehicle, wanted);
    });
}

/// Every row of every table, ids and all, a line each.
inline std::string dump(const JobFile& job) {
    std::string text;
    const auto show = [&text](const auto& value) {
        using Value = std::remove_cvref_t<decltype(value)>;
        if constexpr (requires { value.has_value(); }) text += value ? fmt::format(" {}", *value) : " -";
        else if constexpr (std::is_same_v<Value, std::string>) text += fmt::format(" '{}'", value);
        else text += fmt::format(" {}", value);
    };
    each_table([&]<class Row>(const Row&) {
        for (const Row& row : job.all<Row>()) {
            text += fmt::format("{} {}:", Row::table, row.id);
            Row::columns(row, [&](const char*, const auto& value) { show(value); });
            text += '\n';
        }
    });
    return text;
}

/// Version 1 as it was made: no visits, no log.
inline constexpr const char* version_1 = R"sql(
PRAGMA application_id = 0x5350434F;
PRAGMA user_version = 1;
CREATE TABLE document (id INTEGER PRIMARY KEY, kind TEXT NOT NULL, reference TEXT NOT NULL,
    hash TEXT NOT NULL,
    body TEXT NOT NULL, UNIQUE (kind, reference)) STRICT;
CREATE TABLE vehicle (id INTEGER PRIMARY KEY CHECK (id = 1), created TEXT NOT NULL, name TEXT NOT NULL,
    description TEXT NOT NULL, note TEXT NOT NULL, kit INTEGER REFERENCES document (id), share REAL NOT NULL,
    haze REAL NOT NULL, chance REAL NOT NULL, reserve_um REAL NOT NULL, keep_chance REAL NOT NULL) STRICT;
CREATE TABLE panel (id INTEGER PRIMARY KEY, place INTEGER NOT NULL, name TEXT NOT NULL UNIQUE,
    shape INTEGER NOT NULL REFERENCES document (id), paint INTEGER NOT NULL REFERENCES document (id),
    clean INTEGER NOT NULL, defects INTEGER REFERENCES document (id), note TEXT NOT NULL) STRICT;
CREATE TABLE reading (id INTEGER PRIMARY KEY, panel INTEGER NOT NULL REFERENCES panel (id) ON DELETE CASCADE,
    after_work INTEGER NOT NULL, x_m REAL NOT NULL, y_m REAL NOT NULL, of_clear INTEGER NOT NULL,
        film_um REAL NOT NULL,
    n INTEGER NOT NULL, sd_um REAL NOT NULL) STRICT;
CREATE TABLE note (id INTEGER PRIMARY KEY, panel INTEGER REFERENCES panel (id) ON DELETE CASCADE,
    text TEXT NOT NULL) STRICT;
INSERT INTO vehicle VALUES (1, '2025-09-01', 'Minibus 3', 'white', '', NULL, 0.9, 2.5, 0.8, 12, 0.95);
)sql";

/// The same with a panel, on presets as they are, two readings and a note.
inline void make_version_1(const std::filesystem::path& file) {
    const Database database(file, Database::Mode::create);
    database.execute(version_1);
    const auto add = [&](int id, const char* kind, const char* folder, const char* name) {
        const std::string body = bytes_of(source_at("presets") / folder / (std::string(name) + ".json"));
        const Document row = document_row(kind, name, nlohmann::json::parse(body));
        Statement insert(database, "INSERT INTO document VALUES (?, ?, ?, ?, ?)");
        insert.bind(0, id), insert.bind(1, row.kind), insert.bind(2, row.reference), insert.bind(3, row.hash),
            insert.bind(4, row.body);
        insert.run();
    };
    add(1, "panel", "panels", "rear-door"), add(2, "substrate", "substrates", "steel"),
        add(3, "paint", "paints", "typical");
    add(4, "defects", "defects", "light");
    database.execute("INSERT INTO panel VALUES (7, 0, 'rear door', 1, 3, 1, 4, 'dull');"
                     "INSERT INTO reading VALUES (1, 7, 0, 0.3, 0.2, 0, 112.5, 3, 0.8), (2, 7, 1, 0.3, 0.2, "
                     "0, 111.25, 3, 0.8);"
                     "INSERT INTO note VALUES (1, NULL, 'spare key'), (2, 7, 'dent');");
}

/// A file of version 2: the present tables' rows of a job with something in each, but the visit's plan, and
/// an edit.
inline void make_version_2(const std::filesystem::path& file) {
    const std::filesystem::path present = file.string() + ".present";
    {
        JobFile job = JobFile::create(present, minibus());
        fill_every_table(job);
    }
    {
        const Database database(file, Database::Mode::create);
        database.execute(version_2);
        for (const auto& [table, columns] : tables_of_version_2) {
            const auto log = [&](const char* event, const char* what, const char* row) {
                database.execute(fmt::format(
                    "CREATE TRIGGER {0}_{1} AFTER {2} ON {0} WHEN (SELECT edit FROM state) IS NOT NULL BEGIN "
                    "INSERT INTO change (edit, table_name, row_id, what) VALUES ((SELECT edit FROM state), "
                    "'{0}', {3}.id, '{1}'); END",
                    table, what, event, row));
            };
            database.execute(fmt::format("CREATE TABLE {}_log (change INTEGER NOT NULL REFERENCES change "
                                         "(id) ON DELETE CASCADE, side TEXT NOT NULL, "
                                         "id ANY, {}, PRIMARY KEY (change, side))",
                                         table, columns));
            log("INSERT", "added", "new"), log("UPDATE", "changed", "new"), log("DELETE", "removed", "old");
        }
        database.execute(fmt::format("ATTACH '{}' AS present", present.string()));
        for (const auto& [table, columns] : tables_of_version_2)
            database.execute(fmt::format("INSERT INTO main.{0} (id, {1}) SELECT id, {1} FROM present.{0}",
                                         table, columns));
        database.execute("INSERT INTO edit VALUES (1, 'an edit', '2026-03-14T09:30:00Z', 0); INSERT INTO "
                         "change VALUES (1, 1, 'visit', 1, 'added')");
        database.execute("DETACH present");
    }
    std::filesystem::remove(present);
}

} // namespace sparecoat::test
