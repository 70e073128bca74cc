#include "vehicle/job_import.hpp"
#include "formats/gauge_csv.hpp"
#include "formats/nearest.hpp"
#include "formats/reader.hpp"
#include "library/record.hpp"
#include "units/text.hpp"
#include "units/words.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/job_store.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::vehicle {

namespace fs = std::filesystem;

namespace {

// ---- readings -------------------------------------------------------------------------------------

/// Readings held against the outline of one of the job's panels.
GaugeFile held_for(const JobFile& job, const GaugeReadings& readings, const JobPanel& panel,
                   GaugeRows rows = GaugeRows::all) {
    constexpr double coarse_m = 0.004; // the outline is exact on any grid
    const std::string shape = job.get<Document>(panel.shape).reference;
    Panel built = build_panel(job_library(job).panel(shape), coarse_m);
    built.name = panel.name;
    return held_to_panel(readings, built, rows == GaugeRows::all ? shape : panel.name, rows);
}

ImportedReadings add_readings(JobFile& job, const GaugeFile& file, Id panel_visit, bool after_work) {
    ImportedReadings done;
    done.flags = file.flags;
    std::vector<FilmReading> there;
    for (const FilmReading& row : job.all<FilmReading>())
        if (row.panel_visit == panel_visit && row.after_work == after_work) there.push_back(row);
    for (const GaugeReading& reading : file.readings) {
        FilmReading row;
        row.panel_visit = panel_visit, row.after_work = after_work;
        row.x_m = reading.at.x, row.y_m = reading.at.y, row.of_clear = reading.of_clear;
        row.film_um = reading.film_um, row.n = reading.n, row.sd_um = reading.repeat_sd_um;
        const auto same_spot = std::ranges::find_if(there, [&](const FilmReading& old) {
            return old.x_m == row.x_m && old.y_m == row.y_m && old.of_clear == row.of_clear;
        });
        if (same_spot == there.end()) {
            job.add(row);
            ++done.added;
        } else if (row.id = same_spot->id; row != *same_spot) {
            job.change(*same_spot, row);
            ++done.changed;
        }
    }
    return done;
}

// ---- records --------------------------------------------------------------------------------------

/// "a+b+c" with the names that a kit's parts had on the way in replaced by those that they have in the job.
std::string renamed_step(const std::string& step, const std::map<std::string, std::string>& renamed) {
    std::string out;
    for (std::size_t from = 0; from <= step.size();) {
        const std::size_t to = std::min(step.find('+', from), step.size());
        const std::string part = step.substr(from, to - from);
        const auto found = renamed.find(part);
        out += (from > 0 ? "+" : "") + (found == renamed.end() ? part : found->second);
        from = to + 1;
    }
    return out;
}

class RecordImport {
public:
    RecordImport(JobFile& job, const Library& library, const SectionRecord& record, const Visit& visit)
        : job_(job), library_(library), record_(record), visit_(visit), root_{record.file, ""} {}

    ImportedRecord run() {
        take_kit();
        for (std::size_t k = 0; k < record_.panels.size(); ++k)
            take_panel(record_.panels[k], root_.at("panels").at(k));
        return done_;
    }

private:
    void take_kit() {
        const BroughtIn kit = bring_in(job_, library_, "kit", record_.kit);
        renamed_ = kit.renamed;
        const Vehicle vehicle = job_.vehicle();
        if (vehicle.kit && *vehicle.kit != kit.document)
            root_.at("kit").refuse(fmt::format("the kit \"{}\"", kit.reference),
                                   fmt::format("that of the job, \"{}\", whose steps its tries speak of",
                                               job_.get<Document>(*vehicle.kit).reference));
        if (vehicle.kit) return;
        Vehicle with_kit = vehicle;
        with_kit.kit = kit.document;
        with_kit.share = record_.target.share, with_kit.haze = record_.target.haze,
        with_kit.chance = record_.target.chance;
        with_kit.reserve_um = record_.target.reserve_um, with_kit.keep_chance = record_.target.keep_chance;
        job_.change(vehicle, with_kit);
        done_.took_kit = true;
    }

    JobPanel panel_of(const RecordedPanel& recorded) {
        const BroughtIn shape = bring_in(job_, library_, "panel", recorded.panel);
        const std::vector<JobPanel> panels = job_.all<JobPanel>();
        const auto known = std::ranges::find(panels, shape.document, &JobPanel::shape);
        if (known != panels.end()) return *known;
        JobPanel panel;
        panel.place = static_cast<int>(panels.size());
        panel.name =
            nlohmann::json::parse(job_.get<Document>(shape.document).body).at("name").get<std::string>();
        panel.shape = shape.document,
        panel.paint = bring_in(job_, library_, "paint", recorded.paint).document;
        panel.id = job_.add(panel);
        ++done_.panels_added;
        return panel;
    }

    void take_panel(const RecordedPanel& recorded, const Place& place) {
        const JobPanel panel = panel_of(recorded);
        const PanelVisit was = job_.at_visit(visit_.id, panel.id);
        PanelVisit now = was;
        now.clean = was.clean || recorded.clean;
        now.defects = bring_in(job_, library_, "defects", recorded.defects).document;
        if (!recorded.note.empty()) now.note = recorded.note;
        job_.change(was, now);
        if (recorded.readings) {
            const ImportedReadings read =
                add_readings(job_, held_for(job_, read_gauge_csv(*recorded.readings), panel), was.id, false);
            done_.readings.added += read.added, done_.readings.changed += read.changed;
            done_.readings.flags.insert(done_.readings.flags.end(), read.flags.begin(), read.flags.end());
        }
        for (std::size_t k = 0; k < recorded.squares.size(); ++k)
            take_square(recorded.squares[k], was.id, place.at("squares").at(k));
    }

    void take_square(const TapedSquare& taped, Id panel_visit, const Place& place) {
        SquareRow row;
        row.panel_visit = panel_visit;
        row.x_m = taped.at.x, row.y_m = taped.at.y, row.width_m = taped.size.x, row.height_m = taped.size.y;
        row.note = taped.note;
        const std::vector<SquareRow> squares = job_.all<SquareRow>();
        const auto known = std::ranges::find_if(squares, [&](const SquareRow& old) {
            return old.panel_visit == row.panel_visit && old.x_m == row.x_m && old.y_m == row.y_m &&
                   old.width_m == row.width_m && old.height_m == row.height_m;
        });
        if (known == squares.end()) {
            row.id = job_.add(row);
            ++done_.squares_added;
        } else {
            row.id = known->id;
            job_.change(*known, row);
        }
        std::vector<TryRow> tries;
        for (const TryRow& old : job_.all<TryRow>())
            if (old.square == row.id) tries.push_back(old);
        for (std::size_t k = 0; k < taped.tries.size(); ++k)
            take_try(taped.tries[k], row.id, k < tries.size() ? &tries[k] : nullptr, place.at("tries").at(k));
    }

    void take_try(const Try& work, Id square, const TryRow* known, const Place& place) {
        TryRow row;
        row.square = square;
        row.step = renamed_step(work.step, renamed_), row.sets = work.sets, row.seen = work.seen,
        row.note = work.note;
        row.gauge = GaugeColumns(work.gauge);
        if (known == nullptr) {
            job_.add(row);
            ++done_.tries_added;
            return;
        }
        if (known->step != row.step || known->sets != row.sets)
            place.refuse(fmt::format("{} of {}", counted(row.sets, "set", "sets"), row.step),
                         fmt::format("what the job has in its turn: {} of {}",
                                     counted(known->sets, "set", "sets"), known->step));
        row.id = known->id;
        if (row == *known) return;
        job_.change(*known, row);
        ++done_.tries_changed;
    }

    JobFile& job_;
    const Library& library_;
    const SectionRecord& record_;
    const Visit& visit_;
    Place root_;
    std::map<std::string, std::string> renamed_;
    ImportedRecord done_;
};

} // namespace

ImportedReadings import_readings(JobFile& job, const fs::path& csv, const Visit& visit, const JobPanel& panel,
                                 bool after_work) {
    const GaugeFile file = held_for(job, read_gauge_csv(csv), panel);
    ImportedReadings done;
    job.edit(fmt::format("{} on the {} {} work", counted(file.readings.size(), "reading", "readings"),
                         panel.name, after_work ? "after" : "before"),
             [&] { done = add_readings(job, file, job.at_visit(visit.id, panel.id).id, after_work); });
    return done;
}

ImportedReadings import_vehicle_readings(JobFile& job, const fs::path& csv, const Visit& visit,
                                         bool after_work) {
    const GaugeReadings taken = read_gauge_csv(csv);
    const std::vector<NamedRow> named = panels_named(taken);
    if (named.empty())
        throw InputError(csv.string(), "", "no column \"panel\" with readings under it",
                         "one, or the panel that all readings are of, with --panel");
    std::vector<JobPanel> panels;
    std::vector<std::string> known;
    for (const JobPanel& panel : job.all<JobPanel>()) known.push_back(panel.name);
    for (const NamedRow& row : named) {
        const auto found = std::ranges::find_if(
            known, [&](const std::string& name) { return lower_case(name) == lower_case(row.panel); });
        if (found == known.end())
            throw InputError(csv.string(), fmt::format("line {}", row.line),
                             fmt::format("readings of the panel \"{}\"", row.panel),
                             suggestion(row.panel, known, "the job's panels"));
        panels.push_back(*job.panel_named(*found));
    }
    std::vector<GaugeFile> files;
    std::size_t readings = 0;
    for (const JobPanel& panel : panels) {
        files.push_back(held_for(job, taken, panel, GaugeRows::of_the_panel));
        readings += files.back().readings.size();
    }
    ImportedReadings done;
    job.edit(fmt::format("{} on {} {} work", counted(readings, "reading", "readings"),
                         counted(panels.size(), "panel", "panels"), after_work ? "after" : "before"),
             [&] {
                 for (std::size_t p = 0; p < panels.size(); ++p) {
                     ImportedReadings one =
                         add_readings(job, files[p], job.at_visit(visit.id, panels[p].id).id, after_work);
                     for (FilmFlag& flag : one.flags) flag.text = panels[p].name + ": " + flag.text;
                     done.added += one.added, done.changed += one.changed;
                     done.flags.insert(done.flags.end(), one.flags.begin(), one.flags.end());
                 }
             });
    return done;
}

ImportedRecord import_record(JobFile& job, const Library& library, const fs::path& file, const Visit& visit) {
    return import_record(job, library, load_record(file), visit);
}

ImportedRecord import_record(JobFile& job, const Library& library, const SectionRecord& record,
                             const Visit& visit) {
    ImportedRecord done;
    job.edit(fmt::format("the section record {}", fs::path(record.file).filename().string()),
             [&] { done = RecordImport(job, library, record, visit).run(); });
    return done;
}

} // namespace sparecoat::vehicle
