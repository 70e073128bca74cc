#include "job/run_job.hpp"
#include "decide/cautions.hpp"
#include "job/path_csv.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <atomic>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

namespace sparecoat {
namespace {

using nlohmann::json;

json point_mm(Point2 p) { return {{"x_mm", p.x * 1e3}, {"y_mm", p.y * 1e3}}; }

json factors_json(const Factors& f) {
    return {{"time_s", f.time_s}, {"pressure_pa", f.pressure_pa}, {"speed_m_s", f.speed_m_s},
            {"cut_per_pa", f.cut_per_pa}, {"product_um", f.removed_um()}};
}

json split_json(const Split& s) {
    return {{"time", s.time}, {"pressure", s.pressure}, {"speed", s.speed}, {"cut", s.cut}, {"film", s.film},
            {"all", s.all()}};
}

json spot_json(const SpotAtRisk& spot) {
    json out = point_mm(spot.at);
    out["place"] = spot.place;
    out["removed_um"] = spot.removed_um;
    out["clear_before_um"] = spot.clear_before_um;
    out["clear_left_um"] = spot.clear_left_um;
    out["through_clear"] = spot.clear_left_um <= 0;
    out["share_of_clear"] = spot.share();
    out["factors"] = factors_json(spot.factors);
    out["against_open_panel"] = split_json(spot.against_open);
    return out;
}

const char* value_name(EventKind kind) {
    switch (kind) {
    case EventKind::stalled_pad: return "least_spin_per_min";
    case EventKind::pad_lifting: return "least_face_share";
    case EventKind::pad_tipping: return "most_tilt_deg";
    case EventKind::bottomed_foam: return "most_strain";
    case EventKind::dry_pad: return nullptr;
    }
    return nullptr;
}

json event_json(const Event& event) {
    json out = point_mm(event.at);
    out["kind"] = name_of(event.kind);
    out["from_s"] = event.from_s;
    out["to_s"] = event.to_s;
    if (const char* name = value_name(event.kind))
        out[name] = event.kind == EventKind::pad_tipping ? event.value / deg : event.value;
    return out;
}

json technique_json(const RunJob& job) {
    const Technique& t = job.step.technique;
    return {{"id", job.request.technique}, {"name", t.name}, {"machine", t.machine}, {"pad", t.pad},
            {"liquid", t.liquid}, {"force_n", t.force_n}, {"speed_per_min", t.speed_rad_s / per_min},
            {"arm_speed_mm_s", t.arm_speed_m_s * 1e3}, {"overlap", t.overlap}, {"passes", t.passes},
            {"tilt_deg", t.tilt_rad / deg}, {"hold_back_mm", t.hold_back_m * 1e3}};
}

} // namespace

RunJob prepare(const Library& library, const RunRequest& request) {
    RunJob job;
    job.request = request;
    job.step = resolve(library, request.technique);
    job.paint = library.paint(request.paint);
    const PanelSpec spec = library.panel(request.panel);
    const std::string panel_file = library.file_of(PresetKind::panel, request.panel).string();
    job.panel = build_panel(spec, request.grid_m, panel_file);
    job.panel.substrate_name = spec.substrate;
    job.panel.substrate = library.substrate(spec.substrate);
    lay_film(job.panel, job.paint);

    const Technique& technique = job.step.technique;
    const std::string technique_file = library.file_of(PresetKind::technique, request.technique).string();
    job.path = request.path_csv
                   ? read_path_csv(*request.path_csv, technique, job.panel)
                   : lay_path(technique, job.step.pad.radius_m, job.panel, request.seed, {}, technique_file);
    job.setup = {job.step.machine, job.step.pad, job.step.liquid, job.paint.softness,
                 technique.hand_stiffness_nm_rad, request.integrator};
    return job;
}

std::vector<Outcome> run_jobs(const std::vector<RunJob>& jobs, int threads, const JobsProgress& progress) {
    std::vector<Outcome> outcomes(jobs.size());
    std::vector<std::atomic<double>> shares(jobs.size());
    struct Watch {
        std::vector<std::atomic<double>>& shares;
        std::size_t at;
        const JobsProgress& tell;
    };
    const auto tell = [](double share, void* context) {
        auto& watch = *static_cast<Watch*>(context);
        watch.shares[watch.at] = share;
        // One voice is enough: the first job still running speaks for all.
        for (std::size_t k = 0; k < watch.at; ++k)
            if (watch.shares[k] < 1) return true;
        if (watch.tell) watch.tell({watch.shares.begin(), watch.shares.end()});
        return true;
    };
    oneapi::tbb::task_arena arena(threads > 0 ? threads : oneapi::tbb::task_arena::automatic);
    arena.execute([&] {
        oneapi::tbb::parallel_for(std::size_t{0}, jobs.size(), [&](std::size_t k) {
            Watch watch{shares, k, progress};
            const RunJob& job = jobs[k];
            outcomes[k].result = run(job.panel, job.setup, job.path, tell, &watch);
            shares[k] = 1;
        });
    });
    for (std::size_t k = 0; k < jobs.size(); ++k) {
        const auto& removed = outcomes[k].result.fields.removed_um;
        if (std::none_of(removed.begin(), removed.end(), [](float r) { return r > 0; }))
            throw InputError(jobs[k].request.path_csv ? jobs[k].request.path_csv->string() : jobs[k].request.technique,
                             "", "an arm path that takes no film off the panel",
                             "a path that brings the pad onto the panel with some force");
        outcomes[k].verdict = judge(jobs[k].panel, outcomes[k].result.fields, jobs[k].step.pad.radius_m);
    }
    return outcomes;
}

Identities identities_of(const RunJob& job, const Outcome& outcome) {
    Identities out;
    const Fields& fields = outcome.result.fields;
    for (std::size_t i = 0; i < fields.removed_um.size(); ++i) {
        const double removed = static_cast<double>(fields.removed_um[i]);
        if (!job.panel.inside[i] || removed <= 0) continue;
        out.factors = std::max(out.factors, std::abs(factors_at(fields, i).removed_um() - removed) / removed);
    }
    const double by_work = outcome.result.totals.removed_by_work_m3;
    out.energy = std::abs(outcome.verdict.removed_volume_m3 - by_work) / by_work;
    return out;
}

json summary_of(const RunJob& job, const Outcome& outcome) {
    const RunResult& result = outcome.result;
    const Verdict& verdict = outcome.verdict;
    const Totals& totals = result.totals;
    const Identities identities = identities_of(job, outcome);

    json worst = json::array(), events = json::array();
    for (const SpotAtRisk& spot : verdict.worst) worst.push_back(spot_json(spot));
    for (const Event& event : result.events) events.push_back(event_json(event));

    json inputs = {{"panel", job.request.panel},
                   {"panel_name", job.panel.name},
                   {"paint", job.request.paint},
                   {"substrate", job.panel.substrate_name},
                   {"technique", technique_json(job)},
                   {"path_csv", job.request.path_csv ? json(job.request.path_csv->filename().string()) : json(nullptr)},
                   {"grid_mm", job.request.grid_m * 1e3},
                   {"integrator", job.request.integrator == Integrator::averaged ? "averaged" : "resolved"},
                   {"seed", job.request.seed}};
    const OpenPanel& open = verdict.open;
    return {{"kind", "sparecoat-run"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"inputs", inputs},
            {"time_s", totals.time_s},
            {"time_down_s", totals.time_down_s},
            {"open_panel",
             {{"median_um", open.median_um},
              {"p05_um", open.low_um},
              {"p95_um", open.high_um},
              {"cells", open.cells},
              {"clearance_mm", open.clearance_m * 1e3},
              {"clear_before_um", job.panel.clear_um[open.cell]},
              {"at", point_mm(job.panel.grid.centre(open.cell))},
              {"factors", factors_json(factors_at(result.fields, open.cell))}}},
            {"worst", worst},
            {"removed",
             {{"volume_mm3", verdict.removed_volume_m3 * 1e9},
              {"volume_by_work_mm3", totals.removed_by_work_m3 * 1e9},
              {"most_um", verdict.most_removed_um},
              {"least_clear_left_um", verdict.least_clear_left_um},
              {"worked_area_m2", verdict.worked_area_m2}}},
            {"friction_work_j", totals.friction_work_j},
            {"spin",
             {{"mean_per_min", totals.time_down_s > 0 ? totals.spin_turns / totals.time_down_s * 60 : 0},
              {"stalled_s", totals.stalled_s}}},
            {"events", events},
            {"identities", {{"factors_relative", identities.factors}, {"energy_relative", identities.energy}}},
            {"steps",
             {{"count", totals.steps},
              {"balance_iterations", totals.balance_iterations},
              {"unbalanced", totals.unbalanced_steps}}}};
}

} // namespace sparecoat
