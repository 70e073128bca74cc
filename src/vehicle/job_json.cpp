// A job from JSON.
#include "vehicle/job_json.hpp"
#include "formats/encoding.hpp"
#include "formats/form.hpp"
#include "formats/reader.hpp"
#include "vehicle/documents.hpp"
#include "vehicle/job_store.hpp"
#include <cstdlib>
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace sparecoat::vehicle {

using nlohmann::json;

namespace {

/// Without the rounding that a change of unit left in the last bits.
double tidy(double value) {
    return std::strtod(fmt::format("{:.{}g}", value, job_json_digits).c_str(), nullptr);
}
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
        const JobStore store(job_);
        std::size_t k = 0;
        for (const Document& document : job_.all<Document>()) {
            const Place place = values.place().at("documents").at(k++).at("body");
            try {
                store.hold(document);
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
