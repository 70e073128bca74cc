// A job as JSON.
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include "vehicle/job_json.hpp"
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::vehicle {

using nlohmann::json;
using nlohmann::ordered_json;

namespace {

std::string micrometres(double um) { return print_in(um * 1e-6, Dim::length, "µm", job_json_digits); }
std::string percent(double share) { return percent_as_entered(share, job_json_digits); }
ordered_json millimetres(double x_m, double y_m) {
    return {print_in(x_m, Dim::length, "mm", job_json_digits),
            print_in(y_m, Dim::length, "mm", job_json_digits)};
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

} // namespace

ordered_json job_json(const JobFile& job) {
    ordered_json out;
    job.at_one_moment([&] { out = Writer(job).write(); });
    return out;
}

} // namespace sparecoat::vehicle
