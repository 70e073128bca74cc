#include "job/run_job.hpp"
#include "decide/cautions.hpp"
#include "job/gauge_csv.hpp"
#include "job/path_csv.hpp"
#include "tool/tape.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <atomic>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

namespace sparecoat {
namespace {

using nlohmann::json;

/// An SI value in another unit, without the last digits that only the conversion made (74.00000000000001).
double in_unit(double si, double unit) {
    const std::string text = fmt::format("{:.12g}", si / unit);
    double value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}

json point_mm(Point2 p) { return {{"x_mm", in_unit(p.x, mm)}, {"y_mm", in_unit(p.y, mm)}}; }

json factors_json(const Factors& f) {
    return {{"time_s", f.time_s}, {"pressure_pa", f.pressure_pa}, {"speed_m_s", f.speed_m_s},
            {"cut_per_pa", f.cut_per_pa}, {"heat", f.heat}, {"product_um", f.removed_um()}};
}

json split_json(const Split& s) {
    return {{"time", s.time}, {"pressure", s.pressure}, {"speed", s.speed}, {"cut", s.cut}, {"heat", s.heat},
            {"film", s.film}, {"all", s.all()}};
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
    case EventKind::hot_panel: return "most_film_c";
    }
    return nullptr;
}

json event_json(const Event& event) {
    json out = point_mm(event.at);
    out["kind"] = name_of(event.kind);
    out["from_s"] = event.from_s;
    out["to_s"] = event.to_s;
    if (const char* name = value_name(event.kind))
        out[name] = event.kind == EventKind::pad_tipping ? in_unit(event.value, deg) : event.value;
    return out;
}

const char* pattern_name(Pattern pattern) {
    switch (pattern) {
    case Pattern::raster: return "raster";
    case Pattern::spiral: return "spiral";
    case Pattern::line: return "line";
    case Pattern::recorded: return "recorded";
    }
    return nullptr;
}

json technique_json(const RunJob& job) {
    const Technique& t = job.step.technique;
    const auto by_edge = [](const std::map<std::string, double>& lengths_m) {
        json out = json::object();
        for (const auto& [edge, length_m] : lengths_m) out[edge] = in_unit(length_m, mm);
        return out;
    };
    return {{"id", job.request.technique},
            {"name", t.name},
            {"machine", t.machine},
            {"pad", t.pad},
            {"liquid", t.liquid},
            {"pattern", pattern_name(t.pattern)},
            {"force_n", t.force_n},
            {"speed_per_min", in_unit(t.speed_rad_s, per_min)},
            {"arm_speed_mm_s", in_unit(t.arm_speed_m_s, mm)},
            {"overlap", t.overlap},
            {"passes", t.passes},
            {"crossed", t.crossed},
            {"tilt_deg", in_unit(t.tilt_rad, deg)},
            {"hold_back_mm", in_unit(t.hold_back_m, mm)},
            {"hold_back_edge_mm", by_edge(t.hold_back_edge_m)},
            {"tape_mm", in_unit(t.tape_m, mm)},
            {"tape_edge_mm", by_edge(t.tape_edge_m)}};
}

json grid_json(const Grid& grid) {
    return {{"cells_u", grid.nu},
            {"cells_v", grid.nv},
            {"spacing_mm", in_unit(grid.h_m, mm)},
            {"first_cell", point_mm(grid.centre(0))}};
}

/// Where a panel's substrate leads nowhere, the panel's own line is at fault.
Substrate substrate_of(const Library& library, const PanelSpec& spec, const std::string& panel_file) {
    try {
        return library.substrate(spec.substrate);
    } catch (const UnknownPreset& unknown) {
        throw InputError(panel_file, "/substrate", unknown.found(), unknown.allowed());
    }
}

FilmReport measured_film(Panel& panel, const Paint& paint, const std::filesystem::path& csv,
                         const std::string& asked_for) {
    GaugeFile file = read_gauge_csv(csv, panel, asked_for);
    FilmReport report = measure_film(panel, paint, file.readings);
    report.flags.insert(report.flags.end(), file.flags.begin(), file.flags.end());
    return report;
}

json film_json(const RunJob& job) {
    if (!job.film) return nullptr;
    const FilmReport& film = *job.film;
    json flags = json::array();
    for (const FilmFlag& flag : film.flags) {
        json out = {{"kind", name_of(flag.kind)}, {"text", flag.text}, {"lines", flag.lines}};
        if (flag.has_place) {
            out["at"] = point_mm(flag.at);
            out["place"] = place_of(job.panel, nearest_cell(job.panel.grid, flag.at));
        }
        flags.push_back(std::move(out));
    }
    return {{"readings_csv", job.request.readings->filename().string()},
            {"readings", film.readings},
            {"of_clear", film.of_clear},
            {"offset", film.offset},
            {"offset_sd", film.offset_sd},
            {"length_mm", film.scales.length_m / mm},
            {"signal_sd", film.scales.signal},
            {"texture_sd", film.scales.texture},
            {"split_sd", film.scales.split},
            {"gauge_sd_um", film.gauge_sd_um},
            {"log_marginal_likelihood", film.log_marginal_likelihood},
            {"flags", flags}};
}

} // namespace

RunJob prepare(const Library& library, const RunRequest& request) {
    return prepare(library, request, library.technique(request.technique), nullptr);
}

RunJob prepare(const Library& library, const RunRequest& request, const Technique& edited, const Panel* reuse) {
    RunJob job;
    job.request = request;
    const std::string technique_file = library.file_of(PresetKind::technique, request.technique).string();
    job.step = resolve(library, edited, technique_file);
    job.paint = library.paint(request.paint);
    if (reuse) {
        job.panel = *reuse;
    } else {
        const PanelSpec spec = library.panel(request.panel);
        const std::string panel_file = library.file_of(PresetKind::panel, request.panel).string();
        job.panel = build_panel(spec, request.grid_m, panel_file);
        job.panel.substrate_name = spec.substrate;
        job.panel.substrate = substrate_of(library, spec, panel_file);
    }
    lay_film(job.panel, job.paint);
    if (request.readings) job.film = measured_film(job.panel, job.paint, *request.readings, request.panel);

    const Technique& technique = job.step.technique;
    job.path = request.path_csv
                   ? read_path_csv(*request.path_csv, technique, job.panel)
                   : lay_path(technique, job.step.pad.radius_m, job.panel, request.seed, {}, technique_file);
    job.setup = {job.step.machine, job.step.pad, job.step.liquid, job.paint.softness,
                 technique.hand_stiffness_nm_rad, request.integrator};
    job.setup.surroundings.air_c = request.air_c;
    job.setup.softening = job.paint.softening;
    if (auto taped = taped_cells(technique, job.panel, technique_file); !taped.empty())
        job.setup.taped = std::make_shared<const std::vector<std::uint8_t>>(std::move(taped));
    return job;
}

std::vector<Outcome> run_jobs(const std::vector<RunJob>& jobs, int threads, const JobsProgress& progress) {
    std::vector<Outcome> outcomes(jobs.size());
    std::vector<std::atomic<double>> shares(jobs.size());
    std::atomic<bool> stop = false;
    struct Watch {
        std::vector<std::atomic<double>>& shares;
        std::atomic<bool>& stop;
        std::size_t at;
        const JobsProgress& tell;
    };
    const auto tell = [](double share, void* context) {
        auto& watch = *static_cast<Watch*>(context);
        watch.shares[watch.at] = share;
        // One voice is enough: the first job still running speaks for all.
        for (std::size_t k = 0; k < watch.at; ++k)
            if (watch.shares[k] < 1) return !watch.stop;
        if (watch.tell && !watch.tell({watch.shares.begin(), watch.shares.end()})) watch.stop = true;
        return !watch.stop;
    };
    // Without the limit a wish for more threads than the machine has cores brings a warning on stderr.
    std::optional<oneapi::tbb::global_control> limit;
    if (threads > 0)
        limit.emplace(oneapi::tbb::global_control::max_allowed_parallelism,
                      static_cast<std::size_t>(threads));
    oneapi::tbb::task_arena arena(threads > 0 ? threads : oneapi::tbb::task_arena::automatic);
    arena.execute([&] {
        oneapi::tbb::parallel_for(std::size_t{0}, jobs.size(), [&](std::size_t k) {
            Watch watch{shares, stop, k, progress};
            const RunJob& job = jobs[k];
            outcomes[k].result = run(job.panel, job.setup, job.path, tell, &watch);
            shares[k] = 1;
        });
    });
    if (stop) throw Stopped();
    for (std::size_t k = 0; k < jobs.size(); ++k) {
        const std::optional<Verdict> verdict =
            judge_if_worked(jobs[k].panel, outcomes[k].result.fields, jobs[k].step.pad.radius_m);
        if (!verdict)
            throw InputError(jobs[k].request.path_csv ? jobs[k].request.path_csv->string() : jobs[k].request.technique,
                             "", "an arm path that takes no film off the panel",
                             "a path that brings the pad onto the panel with some force");
        outcomes[k].verdict = *verdict;
    }
    return outcomes;
}

std::string working_of(const RunJob& job) {
    if (const auto& csv = job.request.path_csv) return fmt::format("arm path from {}", csv->filename().string());
    const Technique& t = job.step.technique;
    return fmt::format("{:.0f} N, {:.0f}/min, arm {:.0f} mm/s", t.force_n, t.speed_rad_s / per_min,
                       t.arm_speed_m_s / mm);
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
    const PanelHeat::Energy heat = outcome.result.heat->energy();
    out.heat = std::abs(heat.into_j - heat.lost_j - heat.stored_j) / heat.into_j;
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
                   {"grid_mm", in_unit(job.request.grid_m, mm)},
                   {"integrator", job.request.integrator == Integrator::averaged ? "averaged" : "resolved"},
                   {"seed", job.request.seed},
                   {"air_c", job.request.air_c}};
    const OpenPanel& open = verdict.open;
    const PanelHeat::Spot peak = result.heat->peak();
    const PanelHeat::Energy heat = result.heat->energy();
    return {{"kind", "sparecoat-run"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"inputs", inputs},
            {"film", film_json(job)},
            {"grid", grid_json(job.panel.grid)},
            {"time_s", totals.time_s},
            {"time_down_s", totals.time_down_s},
            {"open_panel",
             {{"median_um", open.median_um},
              {"p05_um", open.low_um},
              {"p95_um", open.high_um},
              {"cells", open.cells},
              {"clearance_mm", in_unit(open.clearance_m, mm)},
              {"clear_before_um", job.panel.clear_um[open.cell]},
              {"clear_sd_um", job.panel.clear_sd_um[open.cell]},
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
            {"heat",
             {{"peak_film_c", peak.film_c},
              {"at", point_mm(peak.at)},
              {"place", place_of(job.panel, peak.cell)},
              {"into_panel_j", heat.into_j},
              {"lost_j", heat.lost_j},
              {"stored_j", heat.stored_j}}},
            {"spin",
             {{"mean_per_min", totals.time_down_s > 0 ? totals.spin_turns / totals.time_down_s * 60 : 0},
              {"stalled_s", totals.stalled_s}}},
            {"events", events},
            {"identities",
             {{"factors_relative", identities.factors},
              {"energy_relative", identities.energy},
              {"heat_relative", identities.heat}}},
            {"steps",
             {{"count", totals.steps},
              {"balance_iterations", totals.balance_iterations},
              {"unbalanced", totals.unbalanced_steps}}}};
}

} // namespace sparecoat
