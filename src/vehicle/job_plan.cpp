#include "vehicle/job_plan.hpp"
#include "formats/encoding.hpp"
#include "vehicle/film_life.hpp"
#include <algorithm>
#include <chrono>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

namespace sparecoat::vehicle {
namespace {

class Gathering {
public:
    Gathering(const JobFile& job, const Visit& visit) : job_(job), visit_(visit) {
        for (const Document& document : job.all<Document>()) documents_[document.id] = document.reference;
        for (const PanelVisit& at : job.all<PanelVisit>()) at_[{at.panel, at.visit}] = at;
        for (const FilmReading& row : job.all<FilmReading>()) readings_[row.panel_visit].push_back(row);
        for (const SquareRow& row : job.all<SquareRow>()) squares_[row.panel_visit].push_back(row);
        for (const TryRow& row : job.all<TryRow>()) tries_[row.square].push_back(row);
        for (const Visit& one : job.all<Visit>()) { // by date
            if (one.id == visit.id) break;
            earlier_.push_back(one.id);
        }
    }

    JobForPlan gather() {
        const Vehicle vehicle = job_.vehicle();
        if (!vehicle.kit)
            throw InputError(
                job_.path().string(), "", "no kit",
                "one first: \"sparecoat job new ... --kit workshop\", or a section record that names one");
        SectionRecord& record = out_.record;
        record.name = vehicle.name, record.kit = documents_.at(*vehicle.kit);
        record.target = {vehicle.share, vehicle.haze, vehicle.chance, vehicle.reserve_um,
                         vehicle.keep_chance};
        out_.panels = job_.all<JobPanel>();
        if (out_.panels.empty())
            throw InputError(job_.path().string(), "", "no panel",
                             "one or more: \"sparecoat job add-panel\"");
        for (const JobPanel& panel : out_.panels) add(panel);
        return std::move(out_);
    }

private:
    const PanelVisit* at(Id panel, Id visit) const {
        const auto found = at_.find({panel, visit});
        return found == at_.end() ? nullptr : &found->second;
    }

    void add(const JobPanel& panel) {
        RecordedPanel entry;
        entry.panel = documents_.at(panel.shape), entry.paint = documents_.at(panel.paint),
        entry.note = panel.note;
        const PanelVisit* now = at(panel.id, visit_.id);
        entry.clean = now != nullptr && now->clean;
        if (now != nullptr && now->defects) {
            entry.defects = documents_.at(*now->defects);
        } else { // the job need not hold the preset that stands in
            if (entry.clean)
                out_.assumed.push_back(fmt::format("{}: nobody said what it was found with; taken as {}",
                                                   panel.name, entry.defects));
            entry.defects = Library::standard().file_of(PresetKind::defects, entry.defects).string();
        }
        if (now != nullptr)
            for (const SquareRow& row : squares_[now->id]) entry.squares.push_back(square_of(row));
        entry.film = film_of(panel);
        out_.record.panels.push_back(std::move(entry));
        out_.tasks.push_back({panel.name, std::max(0.0, film_life(job_, panel, visit_).left.um)});
    }

    TapedSquare square_of(const SquareRow& row) {
        TapedSquare square;
        square.at = {row.x_m, row.y_m}, square.size = {row.width_m, row.height_m}, square.note = row.note;
        for (const TryRow& one : tries_[row.id])
            square.tries.push_back({one.step, one.sets, one.seen, one.gauge.pair(), one.note});
        return square;
    }

    SharedReadings film_of(const JobPanel& panel) {
        if (const PanelVisit* now = at(panel.id, visit_.id))
            if (SharedReadings film = read_at(panel, readings_[now->id], false)) return film;
        for (auto visit = earlier_.rbegin(); visit != earlier_.rend(); ++visit)
            if (const PanelVisit* then = at(panel.id, *visit))
                if (SharedReadings film = read_at(panel, readings_[then->id], true)) {
                    out_.assumed.push_back(
                        fmt::format("{}: its film is what an earlier visit left", panel.name));
                    return film;
                }
        return nullptr;
    }

    SharedReadings read_at(const JobPanel& panel, const std::vector<FilmReading>& readings,
                           bool after_work) const {
        std::vector<FilmReading> of_that_time;
        std::ranges::copy_if(readings, std::back_inserter(of_that_time),
                             [&](const FilmReading& row) { return row.after_work == after_work; });
        return readings_for_run(job_, panel, of_that_time);
    }

    const JobFile& job_;
    Visit visit_;
    JobForPlan out_;
    std::map<Id, std::string> documents_;
    std::map<std::pair<Id, Id>, PanelVisit> at_; ///< by panel and visit
    std::map<Id, std::vector<FilmReading>> readings_;
    std::map<Id, std::vector<SquareRow>> squares_;
    std::map<Id, std::vector<TryRow>> tries_;
    std::vector<Id> earlier_; ///< visits, by date
};

/// The presets and what is worked with them: of a run's inputs all but the film, which has no say in what is
/// removed.
std::string inputs_hash(const std::string& presets, const PanelPlan& panel, std::size_t step) {
    return sha256(presets + panel.panel.panel + '\n' + panel.panel.paint + '\n' +
                  panel_plan_json(panel)["steps"][step]["technique"].dump());
}

std::string text_of(const nlohmann::json& document) {
    return document.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// A rotary asks for cautions of its own; a plan's document names the machine alone.
void tell_rotaries(const JobFile& job, std::vector<PanelPlan>& panels) {
    std::set<std::string> rotaries;
    for (const Document& document : job.all<Document>())
        if (document.kind == name_of(PresetKind::machine) &&
            nlohmann::json::parse(document.body).value("motion", "") == "rotary")
            rotaries.insert(document.reference);
    for (PanelPlan& panel : panels)
        for (PlannedStep& step : panel.steps) step.rotary = rotaries.contains(step.machine);
}

std::optional<KeptPlan> read_kept_plan(const JobFile& job, const Visit& visit) {
    std::vector<PanelPlan> panels;
    std::vector<std::string> names; // which may have changed since; the order of work has the old ones
    for (const JobPanel& panel : job.all<JobPanel>())
        if (const auto at = job.panel_visit(visit.id, panel.id); at && at->plan) {
            panels.push_back(panel_plan_of(nlohmann::json::parse(*at->plan)));
            names.push_back(panel.name);
        }
    if (panels.empty() && !visit.plan) return std::nullopt;
    tell_rotaries(job, panels);
    KeptPlan kept;
    if (visit.plan) kept = visit_plan_of(nlohmann::json::parse(*visit.plan), std::move(panels));
    else kept.plan.panels = std::move(panels);
    for (std::size_t p = 0; p < names.size(); ++p) kept.plan.panels[p].name = names[p];
    return kept;
}

} // namespace

SharedReadings readings_for_run(const JobFile& job, const JobPanel& panel,
                                std::span<const FilmReading> readings) {
    if (readings.empty()) return nullptr;
    GaugeReadings out;
    out.source = fmt::format("{}: {}", job.path().string(), panel.name), out.row = "reading";
    for (const FilmReading& row : readings) {
        out.rows.push_back({row.gauge(), ""});
        out.rows.back().reading.line = static_cast<int>(out.rows.size());
    }
    return std::make_shared<const GaugeReadings>(std::move(out));
}

JobForPlan job_for_plan(const JobFile& job, const Visit& visit) {
    JobForPlan out;
    job.at_one_moment([&] { out = Gathering(job, visit).gather(); });
    return out;
}

void store_plan(JobFile& job, const Visit& visit, const JobForPlan& from, const VehiclePlan& plan,
                const AskedExposure& asked) {
    const std::string made =
        fmt::format("{:%Y-%m-%dT%H:%M:%SZ}",
                    fmt::gmtime(std::chrono::system_clock::to_time_t(std::chrono::system_clock::now())));
    job.edit("the plan of the vehicle", [&] {
        const Visit without = job.get<Visit>(visit.id);
        Visit with_plan = without;
        with_plan.plan = text_of(visit_plan_json(plan, from.assumed, asked));
        job.change(without, with_plan);
        std::string presets;
        for (const Document& document : job.all<Document>()) presets += document.hash + '\n';
        for (std::size_t p = 0; p < plan.panels.size(); ++p) {
            const PanelPlan& panel = plan.panels[p];
            const PanelVisit was = job.at_visit(visit.id, from.panels[p].id);
            PanelVisit now = was;
            now.plan = text_of(panel_plan_json(panel));
            job.change(was, now);
            for (const RunRow& run : job.all<RunRow>())
                if (run.panel_visit == was.id && run.label.starts_with(plan_run_label))
                    job.remove<RunRow>(run.id);
            for (std::size_t k = 0; k < panel.steps.size(); ++k) {
                const PlannedStep& step = panel.steps[k];
                RunRow run;
                run.panel_visit = was.id, run.label = std::string(plan_run_label) + step.id, run.made = made;
                run.inputs_hash = inputs_hash(presets, panel, k);
                run.summary = text_of(*step.summary);
                run.lost_mean_um = step.lost_mean_um, run.lost_median_um = step.lost_median_um,
                run.lost_worst_um = step.lost_worst_um;
                job.add(run);
            }
        }
    });
}

std::optional<KeptPlan> kept_plan(const JobFile& job, const Visit& visit) {
    std::optional<KeptPlan> kept;
    job.at_one_moment([&] {
        try {
            kept = read_kept_plan(job, visit);
        } catch (const nlohmann::json::exception& error) {
            throw InputError(job.path().string(), "the plan of " + visit.date,
                             fmt::format("no plan of ours ({})", error.what()),
                             "one as docs/schema/plan.schema.json has it; \"job plan\" makes it anew");
        }
    });
    return kept;
}

} // namespace sparecoat::vehicle
