#include "vehicle/schema.hpp"
#include "units/error.hpp"
#include "vehicle/rows.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <stdexcept>
#include <vector>

namespace sparecoat::vehicle {
namespace {

// Constraints bear as their names what they allow, for the message that a broken one makes. A date is one
// that comes out of reckoning with it as it went in: "+0 days" makes a 30 February a 2 March.
constexpr const char* content_tables = R"sql(
CREATE TABLE document (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CONSTRAINT "a kind of preset, or ""file""" CHECK (kind IN ('machine', 'pad', 'liquid', 'paint',
        'substrate', 'panel', 'technique', 'defects', 'kit', 'file')),
    reference TEXT NOT NULL CONSTRAINT "a reference without folders" CHECK (reference <> '' AND
        instr(reference, '/') = 0 AND instr(reference, '\') = 0 AND substr(reference, 1, 1) <> '.'),
    hash TEXT NOT NULL CONSTRAINT "64 hexadecimal digits" CHECK (length(hash) = 64 AND hash NOT GLOB '*[^0-9a-f]*'),
    body TEXT NOT NULL CONSTRAINT "JSON, or a file's bytes in base64" CHECK (kind = 'file' OR json_valid(body)),
    UNIQUE (kind, reference)
) STRICT;
CREATE TABLE vehicle (
    id INTEGER PRIMARY KEY CONSTRAINT "one vehicle a file" CHECK (id = 1),
    name TEXT NOT NULL CONSTRAINT "a name" CHECK (name <> ''),
    description TEXT NOT NULL,
    note TEXT NOT NULL,
    kit INTEGER REFERENCES document (id),
    share REAL NOT NULL CONSTRAINT "a share to clear of 10 to 99.9 %" CHECK (share BETWEEN 0.1 AND 0.999),
    haze REAL NOT NULL CONSTRAINT "a haze of 0.05 to 50" CHECK (haze BETWEEN 0.05 AND 50),
    chance REAL NOT NULL CONSTRAINT "a chance of 50 to 99.9 %" CHECK (chance BETWEEN 0.5 AND 0.999),
    reserve_um REAL NOT NULL CONSTRAINT "a reserve of 0 to 200 µm" CHECK (reserve_um BETWEEN 0 AND 200),
    keep_chance REAL NOT NULL CONSTRAINT "a chance of keeping of 50 to 99.99 %" CHECK (keep_chance BETWEEN 0.5 AND 0.9999),
    allowance_um REAL NOT NULL CONSTRAINT "an allowance of 0 to 200 µm" CHECK (allowance_um BETWEEN 0 AND 200)
) STRICT;
CREATE TABLE visit (
    id INTEGER PRIMARY KEY,
    date TEXT NOT NULL CONSTRAINT "a date such as 2026-03-14" CHECK (date IS strftime('%Y-%m-%d', date, '+0 days')),
    label TEXT NOT NULL,
    note TEXT NOT NULL,
    plan TEXT CONSTRAINT "a plan as JSON" CHECK (plan IS NULL OR json_valid(plan)),
    UNIQUE (date, label)
) STRICT;
CREATE TABLE panel (
    id INTEGER PRIMARY KEY,
    place INTEGER NOT NULL,
    name TEXT NOT NULL UNIQUE CONSTRAINT "a name" CHECK (name <> ''),
    shape INTEGER NOT NULL REFERENCES document (id),
    paint INTEGER NOT NULL REFERENCES document (id),
    note TEXT NOT NULL
) STRICT;
CREATE TABLE panel_visit (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit (id) ON DELETE CASCADE,
    panel INTEGER NOT NULL REFERENCES panel (id) ON DELETE CASCADE,
    clean INTEGER NOT NULL CONSTRAINT "clean or not" CHECK (clean IN (0, 1)),
    defects INTEGER REFERENCES document (id),
    plan TEXT CONSTRAINT "a plan as JSON" CHECK (plan IS NULL OR json_valid(plan)),
    note TEXT NOT NULL,
    UNIQUE (visit, panel)
) STRICT;
CREATE TABLE reading (
    id INTEGER PRIMARY KEY,
    panel_visit INTEGER NOT NULL REFERENCES panel_visit (id) ON DELETE CASCADE,
    after_work INTEGER NOT NULL CONSTRAINT "before or after" CHECK (after_work IN (0, 1)),
    x_m REAL NOT NULL CONSTRAINT "x of -10 to 10 m" CHECK (x_m BETWEEN -10 AND 10),
    y_m REAL NOT NULL CONSTRAINT "y of -10 to 10 m" CHECK (y_m BETWEEN -10 AND 10),
    of_clear INTEGER NOT NULL CONSTRAINT "total or clear" CHECK (of_clear IN (0, 1)),
    film_um REAL NOT NULL CONSTRAINT "film over 0 up to 2000 µm" CHECK (film_um > 0 AND film_um <= 2000),
    n INTEGER NOT NULL CONSTRAINT "n of 1 to 1000" CHECK (n BETWEEN 1 AND 1000),
    sd_um REAL NOT NULL CONSTRAINT "a repeatability over 0 up to 50 µm" CHECK (sd_um > 0 AND sd_um <= 50),
    UNIQUE (panel_visit, after_work, of_clear, x_m, y_m)
) STRICT;
CREATE TABLE square (
    id INTEGER PRIMARY KEY,
    panel_visit INTEGER NOT NULL REFERENCES panel_visit (id) ON DELETE CASCADE,
    x_m REAL NOT NULL CONSTRAINT "x of -10 to 10 m" CHECK (x_m BETWEEN -10 AND 10),
    y_m REAL NOT NULL CONSTRAINT "y of -10 to 10 m" CHECK (y_m BETWEEN -10 AND 10),
    width_m REAL NOT NULL CONSTRAINT "a width of 20 mm to 4 m" CHECK (width_m BETWEEN 0.02 AND 4),
    height_m REAL NOT NULL CONSTRAINT "a height of 20 mm to 4 m" CHECK (height_m BETWEEN 0.02 AND 4),
    note TEXT NOT NULL
) STRICT;
CREATE TABLE try (
    id INTEGER PRIMARY KEY,
    square INTEGER NOT NULL REFERENCES square (id) ON DELETE CASCADE,
    step TEXT NOT NULL CONSTRAINT "a step" CHECK (step <> ''),
    sets INTEGER NOT NULL CONSTRAINT "1 to 20 sets" CHECK (sets BETWEEN 1 AND 20),
    seen TEXT,
    before_um REAL, after_um REAL, n_before INTEGER, n_after INTEGER, repeat_sd_um REAL,
    note TEXT NOT NULL,
    CONSTRAINT "gauge means before and after with their n and repeatability, all or none"
        CHECK ((before_um IS NULL) + (after_um IS NULL) + (n_before IS NULL) + (n_after IS NULL) + (repeat_sd_um IS NULL) IN (0, 5)),
    CONSTRAINT "film of 5 to 2000 µm, n of 1 to 1000, a repeatability over 0 up to 50 µm"
        CHECK (before_um IS NULL OR (before_um BETWEEN 5 AND 2000 AND after_um BETWEEN 5 AND 2000 AND
            n_before BETWEEN 1 AND 1000 AND n_after BETWEEN 1 AND 1000 AND repeat_sd_um > 0 AND repeat_sd_um <= 50))
) STRICT;
CREATE TABLE work (
    id INTEGER PRIMARY KEY,
    panel_visit INTEGER NOT NULL UNIQUE REFERENCES panel_visit (id) ON DELETE CASCADE,
    done TEXT NOT NULL,
    before_um REAL, after_um REAL, n_before INTEGER, n_after INTEGER, repeat_sd_um REAL,
    predicted_um REAL CONSTRAINT "a predicted loss of 0 to 2000 µm" CHECK (predicted_um BETWEEN 0 AND 2000),
    predicted_sd_um REAL CONSTRAINT "its standard deviation of 0 to 2000 µm" CHECK (predicted_sd_um BETWEEN 0 AND 2000),
    CONSTRAINT "gauge means before and after with their n and repeatability, all or none"
        CHECK ((before_um IS NULL) + (after_um IS NULL) + (n_before IS NULL) + (n_after IS NULL) + (repeat_sd_um IS NULL) IN (0, 5)),
    CONSTRAINT "film of 5 to 2000 µm, n of 1 to 1000, a repeatability over 0 up to 50 µm"
        CHECK (before_um IS NULL OR (before_um BETWEEN 5 AND 2000 AND after_um BETWEEN 5 AND 2000 AND
            n_before BETWEEN 1 AND 1000 AND n_after BETWEEN 1 AND 1000 AND repeat_sd_um > 0 AND repeat_sd_um <= 50)),
    CONSTRAINT "a predicted loss with its standard deviation" CHECK ((predicted_um IS NULL) = (predicted_sd_um IS NULL))
) STRICT;
CREATE TABLE run (
    id INTEGER PRIMARY KEY,
    panel_visit INTEGER NOT NULL REFERENCES panel_visit (id) ON DELETE CASCADE,
    label TEXT NOT NULL,
    inputs_hash TEXT NOT NULL CONSTRAINT "64 hexadecimal digits"
        CHECK (length(inputs_hash) = 64 AND inputs_hash NOT GLOB '*[^0-9a-f]*'),
    summary TEXT NOT NULL CONSTRAINT "a summary as JSON" CHECK (json_valid(summary)),
    made TEXT NOT NULL CONSTRAINT "a time such as 2026-03-14T09:30:00Z" CHECK (made IS strftime('%Y-%m-%dT%H:%M:%SZ', made, '+0 days')),
    lost_mean_um REAL NOT NULL CONSTRAINT "a loss of 0 to 2000 µm" CHECK (lost_mean_um BETWEEN 0 AND 2000),
    lost_median_um REAL NOT NULL CONSTRAINT "a loss of 0 to 2000 µm" CHECK (lost_median_um BETWEEN 0 AND 2000),
    lost_worst_um REAL NOT NULL CONSTRAINT "a loss of 0 to 2000 µm" CHECK (lost_worst_um BETWEEN 0 AND 2000)
) STRICT;
CREATE TABLE photo (
    id INTEGER PRIMARY KEY,
    visit INTEGER REFERENCES visit (id) ON DELETE CASCADE,
    panel INTEGER REFERENCES panel (id) ON DELETE CASCADE,
    path TEXT NOT NULL CONSTRAINT "a path" CHECK (path <> ''),
    caption TEXT NOT NULL,
    hash TEXT CONSTRAINT "64 hexadecimal digits" CHECK (hash IS NULL OR (length(hash) = 64 AND hash NOT GLOB '*[^0-9a-f]*'))
) STRICT;
CREATE TABLE note (
    id INTEGER PRIMARY KEY,
    visit INTEGER REFERENCES visit (id) ON DELETE CASCADE,
    panel INTEGER REFERENCES panel (id) ON DELETE CASCADE,
    text TEXT NOT NULL CONSTRAINT "some text" CHECK (text <> '')
) STRICT;
CREATE INDEX panel_visit_by_panel ON panel_visit (panel);
CREATE INDEX square_by_panel_visit ON square (panel_visit);
CREATE INDEX try_by_square ON try (square);
CREATE INDEX run_by_panel_visit ON run (panel_visit);
CREATE INDEX photo_by_visit ON photo (visit);
CREATE INDEX photo_by_panel ON photo (panel);
CREATE INDEX note_by_visit ON note (visit);
CREATE INDEX note_by_panel ON note (panel);
)sql";

// The log of edits, from which they are undone and redone. An edit is what a person did at one go; its
// changes are rows added, changed and removed, in order. How a row was and how it then is stands in a table
// beside its own, in its own types: nothing of the log is ever run as SQL, since job files come by mail.
constexpr const char* log_tables = R"sql(
CREATE TABLE edit (
    id INTEGER PRIMARY KEY,
    label TEXT NOT NULL,
    made TEXT NOT NULL,
    undone INTEGER NOT NULL CHECK (undone IN (0, 1))
) STRICT;
CREATE TABLE change (
    id INTEGER PRIMARY KEY,
    edit INTEGER NOT NULL REFERENCES edit (id) ON DELETE CASCADE,
    table_name TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    what TEXT NOT NULL CHECK (what IN ('added', 'changed', 'removed'))
) STRICT;
CREATE INDEX change_by_edit ON change (edit);
CREATE TABLE state (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    revision INTEGER NOT NULL,
    edit INTEGER
) STRICT;
INSERT INTO state VALUES (1, 0, NULL);
)sql";

std::vector<std::string> column_names(const auto& row) {
    std::vector<std::string> names{"id"};
    std::remove_cvref_t<decltype(row)>::columns(
        row, [&](const char* name, const auto&) { names.emplace_back(name); });
    return names;
}

/// The table beside `table` that keeps its rows' past, and the triggers that fill it. They act while
/// state.edit names the edit under way. A cascade fires them too, for every row that it takes along. ANY
/// keeps a value as it is.
std::string log_of(const std::string& table, const std::vector<std::string>& columns) {
    const std::string names = fmt::format("{}", fmt::join(columns, ", "));
    std::string was, is;
    for (const std::string& column : columns) {
        was += fmt::format(", old.{}", column);
        is += fmt::format(", new.{}", column);
    }
    const std::string keep = fmt::format(
        "INSERT INTO {}_log (change, side, {}) VALUES ((SELECT max(id) FROM change), ", table, names);
    const auto trigger = [&](const char* event, const char* what, const char* row, const std::string& kept) {
        return fmt::format(
            "CREATE TRIGGER {0}_{1} AFTER {2} ON {0} WHEN (SELECT edit FROM state) IS NOT NULL BEGIN\n"
            "    INSERT INTO change (edit, table_name, row_id, what)\n"
            "        VALUES ((SELECT edit FROM state), '{0}', {3}.id, '{1}');\n"
            "{4}END;\n",
            table, what, event, row, kept);
    };
    const std::string keep_was = fmt::format("    {}'was'{});\n", keep, was);
    const std::string keep_is = fmt::format("    {}'is'{});\n", keep, is);
    return fmt::format("CREATE TABLE {0}_log (\n"
                       "    change INTEGER NOT NULL REFERENCES change (id) ON DELETE CASCADE,\n"
                       "    side TEXT NOT NULL CHECK (side IN ('was', 'is')),\n"
                       "    {1} ANY,\n"
                       "    PRIMARY KEY (change, side)\n"
                       ") STRICT, WITHOUT ROWID;\n",
                       table, fmt::join(columns, " ANY, ")) +
           trigger("INSERT", "added", "new", keep_is) +
           trigger("UPDATE", "changed", "new", keep_was + keep_is) +
           trigger("DELETE", "removed", "old", keep_was);
}

void stamp(const Database& database) {
    database.execute(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {};", job_application_id,
                                 job_schema_version));
}

// ---- from older versions ----------------------------------------------------------------------------

// Each way leads straight to the tables of the present version: the old rows are copied aside, the old tables
// dropped with whatever hangs on them, the new ones made and filled. Which tables and columns an older
// version has is frozen here; whoever adds a column says in each of these what it is for an older file.

/// An older version's tables that have rows to take over, those that go, and how the new ones are filled.
struct OlderVersion {
    int version;
    std::vector<const char*> kept, dropped;
    const char* take_over; ///< from old_<table>
};

// Version 1 knew no visits: a panel was clean or not, had defects and readings once and for all. All of it
// becomes one visit, on the day that the file was made.
constexpr const char* take_version_1_over = R"sql(
INSERT INTO document SELECT id, kind, reference, hash, body FROM old_document;
INSERT INTO vehicle SELECT 1, name, description, note, kit, share, haze, chance, reserve_um, keep_chance, 10 FROM old_vehicle;
INSERT INTO visit SELECT 1, created, 'first visit', '', NULL FROM old_vehicle;
INSERT INTO panel SELECT id, place, name, shape, paint, note FROM old_panel;
INSERT INTO panel_visit SELECT id, 1, id, clean, defects, NULL, '' FROM old_panel;
INSERT INTO reading SELECT id, panel, after_work, x_m, y_m, of_clear, film_um, n, sd_um FROM old_reading;
INSERT INTO note SELECT id, NULL, panel, text FROM old_note;
)sql";

// Version 2 kept each panel's plan, but not the vehicle's.
constexpr const char* take_version_2_over = R"sql(
INSERT INTO document SELECT id, kind, reference, hash, body FROM old_document;
INSERT INTO vehicle SELECT id, name, description, note, kit, share, haze, chance, reserve_um, keep_chance, allowance_um FROM old_vehicle;
INSERT INTO visit SELECT id, date, label, note, NULL FROM old_visit;
INSERT INTO panel SELECT id, place, name, shape, paint, note FROM old_panel;
INSERT INTO panel_visit SELECT id, visit, panel, clean, defects, plan, note FROM old_panel_visit;
INSERT INTO reading SELECT id, panel_visit, after_work, x_m, y_m, of_clear, film_um, n, sd_um FROM old_reading;
INSERT INTO square SELECT id, panel_visit, x_m, y_m, width_m, height_m, note FROM old_square;
INSERT INTO try SELECT id, square, step, sets, seen, before_um, after_um, n_before, n_after, repeat_sd_um, note FROM old_try;
INSERT INTO work SELECT id, panel_visit, done, before_um, after_um, n_before, n_after, repeat_sd_um, predicted_um, predicted_sd_um
    FROM old_work;
INSERT INTO run SELECT id, panel_visit, label, inputs_hash, summary, made, lost_mean_um, lost_median_um, lost_worst_um FROM old_run;
INSERT INTO photo SELECT id, visit, panel, path, caption, hash FROM old_photo;
INSERT INTO note SELECT id, visit, panel, text FROM old_note;
)sql";

const std::vector<OlderVersion>& older_versions() {
    static const std::vector<OlderVersion> all{
        {1, {"document", "vehicle", "panel", "reading", "note"}, {}, take_version_1_over},
        {2,
         {"document", "vehicle", "visit", "panel", "panel_visit", "reading", "square", "try", "work", "run",
          "photo", "note"},
         {"document_log", "vehicle_log", "visit_log", "panel_log", "panel_visit_log", "reading_log",
          "square_log", "try_log", "work_log", "run_log", "photo_log", "note_log", "change", "edit", "state"},
         take_version_2_over},
    };
    return all;
}

std::vector<std::string> tables_of(const Database& database) {
    Statement list(database, "SELECT type, name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE "
                             "'sqlite\\_%' ESCAPE '\\' "
                             "ORDER BY type, name");
    std::vector<std::string> tables;
    while (list.step()) tables.push_back(list.text(0) + " " + list.text(1) + ": " + list.text(2));
    return tables;
}

const std::vector<std::string>& own_tables() {
    static const std::vector<std::string> tables = [] {
        const Database fresh({}, Database::Mode::create, "a fresh job");
        create_schema(fresh);
        return tables_of(fresh);
    }();
    return tables;
}

} // namespace

void create_schema(const Database& database) {
    database.execute(content_tables);
    database.execute(log_tables);
    each_table([&](const auto& row) { database.execute(log_of(row.table, column_names(row))); });
    stamp(database);
}

void migrate_schema(const Database& database, int from_version) {
    const auto from = std::ranges::find(older_versions(), from_version, &OlderVersion::version);
    if (from == older_versions().end())
        throw std::logic_error(fmt::format("no way from version {} of the job file", from_version));
    for (const char* table : from->kept)
        database.execute(fmt::format("CREATE TABLE old_{0} AS SELECT * FROM {0}", table));
    for (const auto& tables : {from->kept, from->dropped})
        for (const char* table : tables) database.execute(fmt::format("DROP TABLE {}", table));
    create_schema(database);
    database.execute(from->take_over);
    for (const char* table : from->kept) database.execute(fmt::format("DROP TABLE old_{}", table));
    if (Statement broken(database, "PRAGMA foreign_key_check"); broken.step())
        throw InputError(
            database.file(), "",
            fmt::format("a {} of version {} that refers to nothing", broken.text(0), from_version),
            "a whole file");
    hold_to_own_tables(database);
}

void hold_to_own_tables(const Database& database) {
    if (tables_of(database) == own_tables()) return;
    throw InputError(
        database.file(), "", "tables that Sparecoat did not make, or not as it makes them",
        fmt::format("a job file of version {} as docs/job-file.md describes it", job_schema_version));
}

} // namespace sparecoat::vehicle
