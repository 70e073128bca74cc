#pragma once
// The tables of version 2 of the job file as that version made them, for the way to the present one.

namespace sparecoat::test {
using namespace cli;

inline constexpr const char* version_2 = R"sql(
PRAGMA application_id = 0x5350434F;
PRAGMA user_version = 2;
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

/// Each table with its columns but "id": beside it lies <table>_log, which triggers fill.
struct TableOfVersion2 {
    const char *name, *columns;
};
inline constexpr TableOfVersion2 tables_of_version_2[] = {
    {"document", "kind, reference, hash, body"},
    {"vehicle", "name, description, note, kit, share, haze, chance, reserve_um, keep_chance, allowance_um"},
    {"visit", "date, label, note"},
    {"panel", "place, name, shape, paint, note"},
    {"panel_visit", "visit, panel, clean, defects, plan, note"},
    {"reading", "panel_visit, after_work, x_m, y_m, of_clear, film_um, n, sd_um"},
    {"square", "panel_visit, x_m, y_m, width_m, height_m, note"},
    {"try", "square, step, sets, seen, before_um, after_um, n_before, n_after, repeat_sd_um, note"},
    {"work", "panel_visit, done, before_um, after_um, n_before, n_after, repeat_sd_um, predicted_um, "
             "predicted_sd_um"},
    {"run", "panel_visit, label, inputs_hash, summary, made, lost_mean_um, lost_median_um, lost_worst_um"},
    {"photo", "visit, panel, path, caption, hash"},
    {"note", "visit, panel, text"},
};

} // namespace sparecoat::test
