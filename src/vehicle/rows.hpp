#pragma once
#include "decide/evidence.hpp"
#include "panel/gauge.hpp"
#include <cstdint>
#include <optional>
#include <string>

namespace sparecoat::vehicle {

// What a job file holds, one struct for each table of docs/job-file.md. Each names its table and lists its
// columns once; reading, writing and undoing are made from that list. `id` is the row's, given when it is
// added.

using Id = std::int64_t;

/// The vehicle and what is wanted of it; the one row of its table, whose id is 1.
struct Vehicle {
    static constexpr const char* table = "vehicle";
    Id id = 1;
    std::string name, description, note;
    std::optional<Id> kit;                                                              ///< a Document
    double share = 0.95, haze = 2.5, chance = 0.8, reserve_um = 15, keep_chance = 0.95; ///< as Target
    double allowance_um =
        10; ///< clear coat that may go over the vehicle's life; 7 to 12, common practice, no source

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("name", r.name), see("description", r.description), see("note", r.note), see("kit", r.kit);
        see("share", r.share), see("haze", r.haze), see("chance", r.chance), see("reserve_um", r.reserve_um);
        see("keep_chance", r.keep_chance), see("allowance_um", r.allowance_um);
    }
    bool operator==(const Vehicle&) const = default;
};

/// A preset as it was when it came into the job, so that the file stands on its own.
struct Document {
    static constexpr const char* table = "document";
    Id id = 0;
    std::string kind;      ///< name_of(PresetKind); "file": bytes that a panel names (mesh, height map)
    std::string reference; ///< unique within its kind; what other documents call it
    std::string hash;      ///< SHA-256 of `body`
    std::string body;      ///< JSON text on one line, keys sorted; of a file its bytes in base64

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("kind", r.kind), see("reference", r.reference), see("hash", r.hash), see("body", r.body);
    }
    bool operator==(const Document&) const = default;
};

/// A day, or days in a row, that the vehicle was in the shop.
struct Visit {
    static constexpr const char* table = "visit";
    Id id = 0;
    std::string date; ///< "2026-03-14"
    std::string label, note;
    std::optional<std::string>
        plan; ///< JSON: docs/schema/visit-plan.schema.json; the panels' are in PanelVisit

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("date", r.date), see("label", r.label), see("note", r.note), see("plan", r.plan);
    }
    bool operator==(const Visit&) const = default;
};

/// A panel of the vehicle. Whether it is plastic follows from its shape's substrate.
struct JobPanel {
    static constexpr const char* table = "panel";
    Id id = 0;
    int place = 0;           ///< in the order of panels; ties by id
    std::string name;        ///< unique: "left rear door"
    Id shape = 0, paint = 0; ///< Documents of kind panel and paint
    std::string note;

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("place", r.place), see("name", r.name), see("shape", r.shape), see("paint", r.paint),
            see("note", r.note);
    }
    bool operator==(const JobPanel&) const = default;
};

/// A panel at a visit: what all that was seen and done then hangs on. One for each pair.
struct PanelVisit {
    static constexpr const char* table = "panel_visit";
    Id id = 0;
    Id visit = 0, panel = 0;
    bool clean = false;              ///< washed and decontaminated
    std::optional<Id> defects;       ///< a Document
    std::optional<std::string> plan; ///< JSON: steps, sets, hold-backs, tape
    std::string note;

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("visit", r.visit), see("panel", r.panel), see("clean", r.clean), see("defects", r.defects);
        see("plan", r.plan), see("note", r.note);
    }
    bool operator==(const PanelVisit&) const = default;
};

/// One spot read with a film gauge, as GaugeReading.
struct FilmReading {
    static constexpr const char* table = "reading";
    Id id = 0;
    Id panel_visit = 0;
    bool after_work = false;
    double x_m = 0, y_m = 0; ///< in the unrolled panel
    bool of_clear = false;   ///< else of the total
    double film_um = 0;      ///< mean of n
    int n = 1;
    double sd_um = 1; ///< repeatability, of one reading

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("panel_visit", r.panel_visit), see("after_work", r.after_work), see("x_m", r.x_m),
            see("y_m", r.y_m);
        see("of_clear", r.of_clear), see("film_um", r.film_um), see("n", r.n), see("sd_um", r.sd_um);
    }
    GaugeReading gauge() const { return {{x_m, y_m}, film_um, of_clear, n, sd_um, 0}; }
    bool operator==(const FilmReading&) const = default;
};

/// Gauge means before and after as columns: all there or none.
struct GaugeColumns {
    std::optional<double> before_um, after_um;
    std::optional<int> n_before, n_after;
    std::optional<double> repeat_sd_um;

    GaugeColumns() = default;
    explicit GaugeColumns(const std::optional<GaugePair>& pair) {
        if (!pair) return;
        before_um = pair->before_um, after_um = pair->after_um;
        n_before = pair->n_before, n_after = pair->n_after, repeat_sd_um = pair->repeat_sd_um;
    }
    std::optional<GaugePair> pair() const {
        if (!before_um) return std::nullopt;
        return GaugePair{*before_um, *after_um, *n_before, *n_after, *repeat_sd_um};
    }
    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("before_um", r.before_um), see("after_um", r.after_um), see("n_before", r.n_before);
        see("n_after", r.n_after), see("repeat_sd_um", r.repeat_sd_um);
    }
    bool operator==(const GaugeColumns&) const = default;
};

/// A taped square, as TapedSquare.
struct SquareRow {
    static constexpr const char* table = "square";
    Id id = 0;
    Id panel_visit = 0;
    double x_m = 0, y_m = 0, width_m = 0.4, height_m = 0.4; ///< middle, size along u and v
    std::string note;

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("panel_visit", r.panel_visit), see("x_m", r.x_m), see("y_m", r.y_m);
        see("width_m", r.width_m), see("height_m", r.height_m), see("note", r.note);
    }
    bool operator==(const SquareRow&) const = default;
};

/// One go at a square, as Try.
struct TryRow {
    static constexpr const char* table = "try";
    Id id = 0;
    Id square = 0;
    std::string step; ///< KitStep::id
    int sets = 1;
    std::optional<std::string> seen;
    GaugeColumns gauge;
    std::string note;

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("square", r.square), see("step", r.step), see("sets", r.sets), see("seen", r.seen);
        GaugeColumns::columns(r.gauge, see);
        see("note", r.note);
    }
    bool operator==(const TryRow&) const = default;
};

/// What was done to a panel at a visit, and the film it cost: as the gauge says, as the model says, or both.
struct Work {
    static constexpr const char* table = "work";
    Id id = 0;
    Id panel_visit = 0;
    std::string done; ///< in words: "2 sets of polish on medium foam"
    GaugeColumns gauge;
    std::optional<double> predicted_um, predicted_sd_um; ///< mean loss of the panel; both or neither

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("panel_visit", r.panel_visit), see("done", r.done);
        GaugeColumns::columns(r.gauge, see);
        see("predicted_um", r.predicted_um), see("predicted_sd_um", r.predicted_sd_um);
    }
    bool operator==(const Work&) const = default;
};

/// A simulation's result.
struct RunRow {
    static constexpr const char* table = "run";
    Id id = 0;
    Id panel_visit = 0;
    std::string label;
    std::string inputs_hash; ///< SHA-256 of all it was made from
    std::string summary;     ///< JSON
    std::string made;        ///< "2026-03-14T09:30:00Z"
    double lost_mean_um = 0, lost_median_um = 0, lost_worst_um = 0;

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("panel_visit", r.panel_visit), see("label", r.label), see("inputs_hash", r.inputs_hash);
        see("summary", r.summary), see("made", r.made), see("lost_mean_um", r.lost_mean_um);
        see("lost_median_um", r.lost_median_um), see("lost_worst_um", r.lost_worst_um);
    }
    bool operator==(const RunRow&) const = default;
};

/// A picture that lies elsewhere.
struct Photo {
    static constexpr const char* table = "photo";
    Id id = 0;
    std::optional<Id> visit, panel; ///< that it shows; none: the vehicle
    std::string path;               ///< from the job file's folder where it can be said from there
    std::string caption;
    std::optional<std::string> hash; ///< SHA-256, where the picture was there to be read

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("visit", r.visit), see("panel", r.panel), see("path", r.path), see("caption", r.caption),
            see("hash", r.hash);
    }
    bool operator==(const Photo&) const = default;
};

struct Note {
    static constexpr const char* table = "note";
    Id id = 0;
    std::optional<Id> visit, panel; ///< that it is on; none: the vehicle
    std::string text;

    template <class Self, class See> static void columns(Self& r, See&& see) {
        see("visit", r.visit), see("panel", r.panel), see("text", r.text);
    }
    bool operator==(const Note&) const = default;
};

/// Calls `see` with a default row of every table, those that others refer to first.
template <class See> void each_table(See&& see) {
    see(Document{}), see(Vehicle{}), see(Visit{}), see(JobPanel{}), see(PanelVisit{}), see(FilmReading{});
    see(SquareRow{}), see(TryRow{}), see(Work{}), see(RunRow{}), see(Photo{}), see(Note{});
}

} // namespace sparecoat::vehicle
