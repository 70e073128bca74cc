#include "vehicle/job_json.hpp"
#include "formats/encoding.hpp"
#include "formats/form.hpp"
#include "formats/reader.hpp"
#include "units/percent.hpp"
#include "vehicle/documents.hpp"
#include <cstdlib>
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace sparecoat::vehicle {

using nlohmann::json;
using nlohmann::ordered_json;
using namespace form;

// ---- form -----------------------------------------------------------------------------------------

namespace {

constexpr int at_least_one = 1;

FormPtr gauge_form() {
    const FormPtr film = quantity(Dim::length, "5 µm", "2000 µm");
    const FormPtr number_of_readings = whole(1, 1000);
    return object({
        needed("before", film, "mean before the work, of the total or of the clear coat"),
        needed("n_before", number_of_readings, "readings behind it"),
        needed("after", film, "mean after it, on the same marked spots"),
        needed("n_after", number_of_readings, "readings behind it"),
        needed("repeatability", quantity(Dim::length, "0.001 µm", "50 µm"),
               "standard deviation of one reading on one spot"),
    });
}

FormPtr reading_form() {
    const FormPtr film = quantity(Dim::length, "0.01 µm", "2000 µm");
    return object(
        {
            needed("when", choice({"before", "after"}), "the visit's work"),
            needed("at", point("-10 m", "10 m"), "in the unrolled panel"),
            optional("total", film, nullptr, "film read there, of all layers"),
            optional("clear", film, nullptr, "or of the clear coat alone"),
            optional("n", whole(1, 1000), 1, "how often it was read; the film is the mean"),
            optional("repeatability", quantity(Dim::length, "0.001 µm", "50 µm"), "1 µm",
                     "standard deviation of one reading"),
        },
        {"total", "clear"});
}

FormPtr square_form() {
    return object({
        needed("at", point("-10 m", "10 m"), "its middle"),
        needed("size", point("20 mm", "4 m"), "along u and v"),
        optional("note", text("text"), nullptr, "anything"),
        optional(
            "tries",
            list(object({
                     needed("step", text("a step of the kit"), "machine+pad+liquid, as the kit names them"),
                     optional("sets", whole(1, 20), 1, "of it"),
                     optional("seen", text("text"), nullptr,
                              "share cleared under the lamp: \"90 %\", or a word"),
                     optional("gauge", gauge_form(), nullptr, "what the film gauge read"),
                     optional("note", text("text"), nullptr, "anything"),
                 }),
                 at_least_one),
            nullptr, "what was done there, one after the other"),
    });
}

FormPtr work_form() {
    return object({
        optional("done", text("text"), nullptr, "what was done, in words"),
        optional("gauge", gauge_form(), nullptr, "the film that it cost, as the gauge says"),
        optional("predicted",
                 object({
                     needed("loss", quantity(Dim::length, "0 µm", "2000 µm"), "mean of the panel"),
                     needed("sd", quantity(Dim::length, "0 µm", "2000 µm"), "its standard deviation"),
                 }),
                 nullptr, "and as the model says"),
    });
}

FormPtr run_form() {
    const FormPtr loss = quantity(Dim::length, "0 µm", "2000 µm");
    return object({
        optional("label", text("text"), nullptr, "what was simulated"),
        needed("made", text("a time such as 2026-03-14T09:30:00Z"), "when"),
        needed("inputs", text("64 hexadecimal digits"), "SHA-256 of all that it was made from"),
        needed("lost",
               object({
                   needed("mean", loss, "over the panel"),
                   needed("median", loss, "over the panel"),
                   needed("worst", loss, "anywhere"),
               }),
               "clear coat"),
        needed("summary", any("a run's summary"), "docs/schema/summary.schema.json"),
    });
}

FormPtr panel_visit_form() {
    return object({
        needed("panel", text("name"), "one of the job's panels"),
        optional("clean", flag(), false, "washed and decontaminated"),
        optional("defects", text("name"), nullptr, "of a document of kind defects: what it was found with"),
        optional("note", text("text"), nullptr, "anything"),
        optional("readings", list(reading_form(), at_least_one), nullptr, "film read with a gauge"),
        optional("squares", list(square_form(), at_least_one), nullptr, "taped test sections"),
        optional("plan", any("a plan"), nullptr, "steps, sets, hold-backs, tape"),
        optional("work", work_form(), nullptr, "what was done"),
        optional("runs", list(run_form(), at_least_one), nullptr, "simulations"),
    });
}

std::vector<Field> remarks(const std::string& on) {
    const Field panel =
        optional("panel", text("name"), nullptr, "one of the job's panels, where it is on one");
    return {
        optional("photos",
                 list(object({
                          panel,
                          needed("path", text("path"), "of the picture, from the job file's folder"),
                          optional("caption", text("text"), nullptr, "what it shows"),
                          optional("hash", text("64 hexadecimal digits"), nullptr, "SHA-256 of the picture"),
                      }),
                      at_least_one),
                 nullptr, "pictures " + on),
        optional("notes", list(object({panel, needed("text", text("text"), "anything")}), at_least_one),
                 nullptr, "remarks " + on),
    };
}

std::vector<Field> joined(std::vector<Field> fields, const std::vector<Field>& more) {
    fields.insert(fields.end(), more.begin(), more.end());
    return fields;
}

FormPtr make_job_form() {
    return object(joined(
        {
            optional("$schema", text("path or address"), nullptr,
                     "for editors that complete and check by schema; not used"),
            needed("kind", choice({"job"}), "what the file describes"),
            needed("name", text("text"), "of the vehicle"),
            optional("description", text("text"), nullptr, "of the vehicle"),
            optional("note", text("text"), nullptr, "anything"),
            optional("kit", text("name"), nullptr, "of a document of kind kit: what the shop works with"),
            optional(
                "target",
                object({
                    needed("share", quantity(Dim::none, "10 %", "99.9 %"),
                           "of the marks to be cleared, chips apart"),
                    needed("haze", number("", 0.05, 50), "most, of the steps' own marks"),
                    needed("chance", quantity(Dim::none, "50 %", "99.9 %"), "of reaching both"),
                    needed("reserve", quantity(Dim::length, "0 µm", "200 µm"), "clear coat that has to stay"),
                    needed("keep_chance", quantity(Dim::none, "50 %", "99.99 %"), "of its staying"),
                }),
                nullptr, "what is wanted"),
            optional(
                "allowance", quantity(Dim::length, "0 µm", "200 µm"), "10 µm",
                "clear coat that may go over the vehicle's life; 7 to 12 µm, common practice, no source"),
            optional(
                "documents",
                list(object({
                         needed("kind",
                                choice({"machine", "pad", "liquid", "paint", "substrate", "panel",
                                        "technique", "defects", "kit", "file"}),
                                "of preset, or a file that a panel names"),
                         needed("reference", text("name"), "what others call it by; a pad without its size"),
                         needed("body", any("a preset, or a file's bytes in base64"), "docs/formats.md"),
                     }),
                     at_least_one),
                nullptr, "the presets that the job was made with"),
            optional("panels",
                     list(object({
                              needed("name", text("name"), "of its own in this vehicle"),
                              needed("shape", text("name"), "of a document of kind panel"),
                              needed("paint", text("name"), "of a document of kind paint"),
                              optional("note", text("text"), nullptr, "anything"),
                          }),
                          at_least_one),
                     nullptr, "of the vehicle, in their order"),
            optional("visits",
                     list(object(joined(
                              {
                                  needed("date", text("a date such as 2026-03-14"), "its first day"),
                                  optional("label", text("text"), nullptr,
                                           "its name; two of one day need different ones"),
                                  optional("note", text("text"), nullptr, "anything"),
                                  optional("plan", any("a plan"), nullptr,
                                           "docs/schema/visit-plan.schema.json; the panels' stand with them"),
                                  optional("panels", list(panel_visit_form(), at_least_one), nullptr,
                                           "what was seen and done, each panel once"),
                              },
                              remarks("of the visit"))),
                          at_least_one),
                     nullptr, "to the shop"),
        },
        remarks("of no visit")));
}

// ---- writing --------------------------------------------------------------------------------------

/// Twelve digits: what a person enters comes back as it was, and a rounding in the last bit does not show.
constexpr int digits = 12;

std::string micrometres(double um) { return print_in(um * 1e-6, Dim::length, "µm", digits); }
std::string percent(double share) { return percent_as_entered(share, digits); }
ordered_json millimetres(double x_m, double y_m) {
    return {print_in(x_m, Dim::length, "mm", digits), print_in(y_m, Dim::length, "mm", digits)};
}

void put_text(ordered_json& out, const char* key, const std::string& text) {
    if (!text.empty()) out[key] = text;
}
void put_list(ordered_json& out, const char* key, ordered_json list) {
    if (!list.empty()) out[key] = std::move(list);
}

/// JSON that is kept as text, with its keys sorted, as they come out of a reader.
ordered_json sorted(const std::string& text) { return ordered_json(json::parse(text)); }

ordered_json gauge_json(const GaugePair& gauge) {
    return {{"before", micrometres(gauge.before_um)},
            {"n_before", gauge.n_before},
            {"after", micrometres(gauge.after_um)},
            {"n_after", gauge.n_after},
            {"repeatability", micrometres(gauge.repeat_sd_um)}};
}

/// The rows of a table in their order, by what they hang on.
template <class Row, class Owner>
std::map<Owner, std::vector<Row>> grouped(const JobFile& job, Owner Row::*owner) {
    std::map<Owner, std::vector<Row>> groups;
    for (Row& row : job.all<Row>()) groups[row.*owner].push_back(std::move(row));
    return groups;
}

class Writer {
public:
    explicit Writer(const JobFile& job) : job_(job) {
        for (const Document& document : job.all<Document>()) references_[document.id] = document.reference;
        for (const JobPanel& panel : job.all<JobPanel>()) panels_[panel.id] = panel.name;
        readings_ = grouped(job, &FilmReading::panel_visit);
        squares_ = grouped(job, &SquareRow::panel_visit);
        tries_ = grouped(job, &TryRow::square);
        works_ = grouped(job, &Work::panel_visit);
        runs_ = grouped(job, &RunRow::panel_visit);
        photos_ = grouped(job, &Photo::visit);
        notes_ = grouped(job, &Note::visit);
    }

    ordered_json write() {
        const Vehicle vehicle = job_.vehicle();
        ordered_json out{{"kind", "job"}, {"name", vehicle.name}};
        put_text(out, "description", vehicle.description);
        put_text(out, "note", vehicle.note);
        if (vehicle.kit) out["kit"] = references_.at(*vehicle.kit);
        out["target"] = {{"share", percent(vehicle.share)},
                         {"haze", vehicle.haze},
                         {"chance", percent(vehicle.chance)},
                         {"reserve", micrometres(vehicle.reserve_um)},
                         {"keep_chance", percent(vehicle.keep_chance)}};
        out["allowance"] = micrometres(vehicle.allowance_um);
        put_list(out, "documents", list_of<Document>(job_.all<Document>()));
        put_list(out, "panels", list_of<JobPanel>(job_.all<JobPanel>()));
        const auto panel_visits = grouped(job_, &PanelVisit::visit);
        ordered_json visits = ordered_json::array();
        for (const Visit& visit : job_.all<Visit>()) {
            ordered_json entry{{"date", visit.date}};
            put_text(entry, "label", visit.label);
            put_text(entry, "note", visit.note);
            if (visit.plan) entry["plan"] = sorted(*visit.plan);
            put_list(entry, "panels", list_in(panel_visits, visit.id));
            put_remarks(entry, visit.id);
            visits.push_back(std::move(entry));
        }
        put_list(out, "visits", std::move(visits));
        put_remarks(out, std::nullopt);
        return out;
    }

private:
    template <class Row> ordered_json list_of(const std::vector<Row>& rows) const {
        ordered_json list = ordered_json::array();
        for (const Row& row : rows) list.push_back(entry(row));
        return list;
    }
    template <class Row, class Owner>
    ordered_json list_in(const std::map<Owner, std::vector<Row>>& groups, const Owner& owner) const {
        const auto found = groups.find(owner);
        return found == groups.end() ? ordered_json::array() : list_of(found->second);
    }

    void put_remarks(ordered_json& out, const std::optional<Id>& visit) const {
        put_list(out, "photos", list_in(photos_, visit));
        put_list(out, "notes", list_in(notes_, visit));
    }

    ordered_json entry(const Document& document) const {
        ordered_json out{{"kind", document.kind}, {"reference", document.reference}};
        out["body"] = document.kind == "file" ? ordered_json(document.body) : sorted(document.body);
        return out;
    }

    ordered_json entry(const JobPanel& panel) const {
        ordered_json out{{"name", panel.name},
                         {"shape", references_.at(panel.shape)},
                         {"paint", references_.at(panel.paint)}};
        put_text(out, "note", panel.note);
        return out;
    }

    ordered_json entry(const PanelVisit& at) const {
        ordered_json out{{"panel", panels_.at(at.panel)}, {"clean", at.clean}};
        if (at.defects) out["defects"] = references_.at(*at.defects);
        put_text(out, "note", at.note);
        put_list(out, "readings", list_in(readings_, at.id));
        put_list(out, "squares", list_in(squares_, at.id));
        if (at.plan) out["plan"] = sorted(*at.plan);
        if (const auto work = works_.find(at.id); work != works_.end())
            out["work"] = entry(work->second.front());
        put_list(out, "runs", list_in(runs_, at.id));
        return out;
    }

    ordered_json entry(const FilmReading& reading) const {
        return {{"when", reading.after_work ? "after" : "before"},
                {"at", millimetres(reading.x_m, reading.y_m)},
                {reading.of_clear ? "clear" : "total", micrometres(reading.film_um)},
                {"n", reading.n},
                {"repeatability", micrometres(reading.sd_um)}};
    }

    ordered_json entry(const SquareRow& square) const {
        ordered_json out{{"at", millimetres(square.x_m, square.y_m)},
                         {"size", millimetres(square.width_m, square.height_m)}};
        put_text(out, "note", square.note);
        put_list(out, "tries", list_in(tries_, square.id));
        return out;
    }

    ordered_json entry(const TryRow& row) const {
        ordered_json out{{"step", row.step}, {"sets", row.sets}};
        if (row.seen) out["seen"] = *row.seen;
        if (const auto gauge = row.gauge.pair()) out["gauge"] = gauge_json(*gauge);
        put_text(out, "note", row.note);
        return out;
    }

    ordered_json entry(const Work& work) const {
        ordered_json out = ordered_json::object();
        put_text(out, "done", work.done);
        if (const auto gauge = work.gauge.pair()) out["gauge"] = gauge_json(*gauge);
        if (work.predicted_um)
            out["predicted"] = {{"loss", micrometres(*work.predicted_um)},
                                {"sd", micrometres(*work.predicted_sd_um)}};
        return out;
    }

    ordered_json entry(const RunRow& run) const {
        ordered_json out = ordered_json::object();
        put_text(out, "label", run.label);
        out["made"] = run.made;
        out["inputs"] = run.inputs_hash;
        out["lost"] = {{"mean", micrometres(run.lost_mean_um)},
                       {"median", micrometres(run.lost_median_um)},
                       {"worst", micrometres(run.lost_worst_um)}};
        out["summary"] = sorted(run.summary);
        return out;
    }

    ordered_json entry(const Photo& photo) const {
        ordered_json out = on_panel(photo.panel);
        out["path"] = photo.path;
        put_text(out, "caption", photo.caption);
        if (photo.hash) out["hash"] = *photo.hash;
        return out;
    }

    ordered_json entry(const Note& note) const {
        ordered_json out = on_panel(note.panel);
        out["text"] = note.text;
        return out;
    }

    ordered_json on_panel(const std::optional<Id>& panel) const {
        ordered_json out = ordered_json::object();
        if (panel) out["panel"] = panels_.at(*panel);
        return out;
    }

    const JobFile& job_;
    std::map<Id, std::string> references_, panels_;
    std::map<Id, std::vector<FilmReading>> readings_;
    std::map<Id, std::vector<SquareRow>> squares_;
    std::map<Id, std::vector<TryRow>> tries_;
    std::map<Id, std::vector<Work>> works_;
    std::map<Id, std::vector<RunRow>> runs_;
    std::map<std::optional<Id>, std::vector<Photo>> photos_;
    std::map<std::optional<Id>, std::vector<Note>> notes_;
};

// ---- reading --------------------------------------------------------------------------------------

/// Without the rounding that a change of unit left in the last bits.
double tidy(double value) { return std::strtod(fmt::format("{:.{}g}", value, digits).c_str(), nullptr); }
double um_of(const Values& values, const char* key) { return tidy(values.number(key) * 1e6); }

GaugeColumns gauge_of(const Values& values) {
    GaugePair gauge;
    gauge.before_um = um_of(values, "before"), gauge.after_um = um_of(values, "after");
    gauge.n_before = values.whole("n_before"), gauge.n_after = values.whole("n_after");
    gauge.repeat_sd_um = um_of(values, "repeatability");
    values.done();
    return GaugeColumns(gauge);
}

Vehicle vehicle_of(const Values& values) {
    Vehicle vehicle;
    vehicle.name = values.text("name");
    vehicle.description = values.text("description");
    vehicle.note = values.text("note");
    if (values.has("target")) {
        const Values target = values.object("target");
        vehicle.share = tidy(target.number("share")), vehicle.haze = target.number("haze");
        vehicle.chance = tidy(target.number("chance")), vehicle.reserve_um = um_of(target, "reserve");
        vehicle.keep_chance = tidy(target.number("keep_chance"));
        target.done();
    }
    vehicle.allowance_um = um_of(values, "allowance");
    return vehicle;
}

/// Adds what a document says, the vehicle apart, to a job in the making.
class Filler {
public:
    explicit Filler(JobFile& job) : job_(job) {}

    void fill(const Values& values) {
        for (const Values& document : values.objects("documents")) add_document(document);
        hold_documents(values);
        if (values.has("kit")) {
            const Vehicle vehicle = job_.vehicle();
            Vehicle with_kit = vehicle;
            with_kit.kit = document_named("kit", values, "kit");
            job_.change(vehicle, with_kit);
        }
        for (const Values& panel : values.objects("panels")) add_panel(panel);
        for (const Values& visit : values.objects("visits")) add_visit(visit);
        add_remarks(values, std::nullopt);
    }

private:
    /// What breaks a rule of the tables is said with its place in the document.
    template <class Row> Id add(const Place& place, const Row& row) {
        try {
            return job_.add(row);
        } catch (const InputError& error) {
            place.refuse(error.found(), error.allowed());
        }
    }

    void add_document(const Values& values) {
        const std::string kind = values.text("kind"), reference = values.text("reference");
        const json& body = values.raw("body");
        const Place place = values.place().at("body");
        Document row;
        if (kind == "file") {
            if (!body.is_string()) place.refuse(shown(body), "a file's bytes in base64");
            row.kind = kind, row.reference = reference, row.body = body.get<std::string>(),
            row.hash = sha256(row.body);
            try {
                from_base64(row.body);
            } catch (const std::invalid_argument& error) {
                place.refuse(error.what(), "a file's bytes in base64");
            }
        } else {
            row = document_row(kind, reference, body);
        }
        documents_[{kind, reference}] = add(values.place(), row);
        values.done();
    }

    /// When all are there, since a panel is read with its mesh.
    void hold_documents(const Values& values) const {
        const JobLibrary library(job_);
        std::size_t k = 0;
        for (const Document& document : job_.all<Document>()) {
            const Place place = values.place().at("documents").at(k++).at("body");
            try {
                library.hold(document);
            } catch (const InputError& error) {
                throw InputError(place.file, place.pointer + error.place(), error.found(), error.allowed());
            }
        }
    }

    Id document_named(const std::string& kind, const Values& values, const std::string& key) const {
        const std::string reference = values.text(key);
        const auto found = documents_.find({kind, reference});
        if (found == documents_.end())
            values.place().at(key).refuse(fmt::format("no {} \"{}\"", kind, reference),
                                          "one of the document's \"documents\"");
        return found->second;
    }

    Id panel_named(const Values& values) const {
        const std::string name = values.text("panel");
        const auto found = panels_.find(name);
        if (found == panels_.end())
            values.place().at("panel").refuse(fmt::format("no panel \"{}\"", name),
                                              "one of the document's \"panels\"");
        return found->second;
    }

    void add_panel(const Values& values) {
        JobPanel row;
        row.place = static_cast<int>(panels_.size());
        row.name = values.text("name");
        row.shape = document_named("panel", values, "shape"),
        row.paint = document_named("paint", values, "paint");
        row.note = values.text("note");
        panels_[row.name] = add(values.place(), row);
        values.done();
    }

    void add_visit(const Values& values) {
        Visit row;
        row.date = values.text("date"), row.label = values.text("label"), row.note = values.text("note");
        if (values.has("plan")) row.plan = values.raw("plan").dump();
        const Id visit = add(values.place(), row);
        for (const Values& panel : values.objects("panels")) add_panel_visit(panel, visit);
        add_remarks(values, visit);
        values.done();
    }

    void add_panel_visit(const Values& values, Id visit) {
        PanelVisit row;
        row.visit = visit, row.panel = panel_named(values);
        row.clean = values.flag("clean");
        if (values.has("defects")) row.defects = document_named("defects", values, "defects");
        if (values.has("plan")) row.plan = values.raw("plan").dump();
        row.note = values.text("note");
        const Id at = add(values.place(), row);
        for (const Values& reading : values.objects("readings")) add_reading(reading, at);
        for (const Values& square : values.objects("squares")) add_square(square, at);
        if (values.has("work")) add_work(values.object("work"), at);
        for (const Values& run : values.objects("runs")) add_run(run, at);
        values.done();
    }

    void add_reading(const Values& values, Id at) {
        FilmReading row;
        row.panel_visit = at;
        row.after_work = values.text("when") == "after";
        const Point2 spot = values.point("at");
        row.x_m = tidy(spot.x), row.y_m = tidy(spot.y);
        row.of_clear = values.has("clear");
        row.film_um = um_of(values, row.of_clear ? "clear" : "total");
        row.n = values.whole("n"), row.sd_um = um_of(values, "repeatability");
        add(values.place(), row);
        values.done();
    }

    void add_square(const Values& values, Id at) {
        SquareRow row;
        row.panel_visit = at;
        const Point2 middle = values.point("at"), size = values.point("size");
        row.x_m = tidy(middle.x), row.y_m = tidy(middle.y), row.width_m = tidy(size.x),
        row.height_m = tidy(size.y);
        row.note = values.text("note");
        const Id square = add(values.place(), row);
        for (const Values& work : values.objects("tries")) add_try(work, square);
        values.done();
    }

    void add_try(const Values& values, Id square) {
        TryRow row;
        row.square = square;
        row.step = values.text("step"), row.sets = values.whole("sets"), row.note = values.text("note");
        if (values.has("seen")) row.seen = values.text("seen");
        if (values.has("gauge")) row.gauge = gauge_of(values.object("gauge"));
        add(values.place(), row);
        values.done();
    }

    void add_work(const Values& values, Id at) {
        Work row;
        row.panel_visit = at, row.done = values.text("done");
        if (values.has("gauge")) row.gauge = gauge_of(values.object("gauge"));
        if (values.has("predicted")) {
            const Values predicted = values.object("predicted");
            row.predicted_um = um_of(predicted, "loss"), row.predicted_sd_um = um_of(predicted, "sd");
            predicted.done();
        }
        add(values.place(), row);
        values.done();
    }

    void add_run(const Values& values, Id at) {
        RunRow row;
        row.panel_visit = at;
        row.label = values.text("label"), row.made = values.text("made"),
        row.inputs_hash = values.text("inputs");
        const Values lost = values.object("lost");
        row.lost_mean_um = um_of(lost, "mean"), row.lost_median_um = um_of(lost, "median"),
        row.lost_worst_um = um_of(lost, "worst");
        lost.done();
        row.summary = values.raw("summary").dump();
        add(values.place(), row);
        values.done();
    }

    void add_remarks(const Values& values, const std::optional<Id>& visit) {
        for (const Values& entry : values.objects("photos")) {
            Photo row;
            row.visit = visit;
            if (entry.has("panel")) row.panel = panel_named(entry);
            row.path = entry.text("path"), row.caption = entry.text("caption");
            if (entry.has("hash")) row.hash = entry.text("hash");
            add(entry.place(), row);
            entry.done();
        }
        for (const Values& entry : values.objects("notes")) {
            Note row;
            row.visit = visit;
            if (entry.has("panel")) row.panel = panel_named(entry);
            row.text = entry.text("text");
            add(entry.place(), row);
            entry.done();
        }
    }

    JobFile& job_;
    std::map<std::pair<std::string, std::string>, Id> documents_;
    std::map<std::string, Id> panels_;
};

void hold_to_job_kind(const json& document, const Place& place) {
    if (!document.is_object()) place.refuse(shown(document), "an object that describes a job");
    if (!document.contains("kind")) place.refuse("no key 'kind'", "\"kind\": \"job\"");
    if (document["kind"] != "job") place.at("kind").refuse(shown(document["kind"]), "\"kind\": \"job\"");
}

} // namespace

const Form& job_form() {
    static const FormPtr made = make_job_form();
    return *made;
}

std::string job_schema_text() { return schema_of(std::get<ObjectForm>(job_form().is), "Sparecoat job"); }
std::string job_format_table() { return markdown_of(std::get<ObjectForm>(job_form().is)); }

ordered_json job_json(const JobFile& job) {
    ordered_json out;
    job.at_one_moment([&] { out = Writer(job).write(); });
    return out;
}

JobFile job_from_json(const std::filesystem::path& file, const json& document, const std::string& source) {
    const Place root{source, ""};
    hold_to_job_kind(document, root);
    const json checked = read_form(job_form(), document, root);
    const Values values(std::get<ObjectForm>(job_form().is), checked, root);
    return JobFile::create(file, vehicle_of(values), [&](JobFile& job) {
        Filler(job).fill(values);
        for (const char* shared : {"$schema", "kind"}) values.has(shared);
        values.done();
    });
}

} // namespace sparecoat::vehicle
