#include "run/run_job.hpp"
#include "formats/path_csv.hpp"
#include "run/meter.hpp"
#include "run/threads.hpp"
#include "tool/tape.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <oneapi/tbb/parallel_for.h>

namespace sparecoat::run {
namespace {

/// Where a panel's substrate leads nowhere, the panel's own line is at fault.
Substrate substrate_of(const Library& library, const PanelSpec& spec, const std::string& panel_file) {
    try {
        return library.substrate(spec.substrate);
    } catch (const UnknownPreset& unknown) {
        throw InputError(panel_file, "/substrate", unknown.found(), unknown.allowed());
    }
}

FilmReport measured_film(Panel& panel, const Paint& paint, const GaugeReadings& readings,
                         const std::string& asked_for) {
    GaugeFile file = held_to_panel(readings, panel, asked_for);
    FilmReport report = measure_film(panel, paint, file.readings);
    report.flags.insert(report.flags.end(), file.flags.begin(), file.flags.end());
    return report;
}

} // namespace

LaidPanel lay_panel(const Library& library, const RunRequest& request, const Panel* reuse) {
    LaidPanel laid;
    laid.paint = library.paint(request.paint);
    if (reuse) {
        laid.panel = *reuse;
    } else {
        const PanelSpec spec = library.panel(request.panel);
        const std::string panel_file = library.file_of(PresetKind::panel, request.panel).string();
        laid.panel = build_panel(spec, request.grid_m, panel_file);
        laid.panel.substrate_name = spec.substrate;
        laid.panel.substrate = substrate_of(library, spec, panel_file);
    }
    lay_film(laid.panel, laid.paint);
    if (request.readings) laid.film = measured_film(laid.panel, laid.paint, *request.readings, request.panel);
    return laid;
}

RunJob prepare(const Library& library, const RunRequest& request) {
    return prepare(library, request, library.technique(request.technique), nullptr);
}

RunJob prepare(const Library& library, const RunRequest& request, const Technique& edited, const Panel* reuse,
               StepLimits limits) {
    const std::string technique_file =
        request.technique.empty() ? "" : library.file_of(PresetKind::technique, request.technique).string();
    Resolved step = resolve(library, edited, technique_file);
    return prepare(request, std::move(step), lay_panel(library, request, reuse), limits, technique_file);
}

RunJob prepare(const RunRequest& request, Resolved step, LaidPanel laid, StepLimits limits,
               const std::string& technique_file) {
    RunJob job;
    job.request = request;
    job.step = std::move(step);
    job.panel = std::move(laid.panel), job.film = std::move(laid.film), job.paint = std::move(laid.paint);

    const Technique& technique = job.step.technique;
    job.limits = limits;
    job.path = request.path_csv ? read_path_csv(*request.path_csv, technique, job.panel)
                                : lay_path(technique, job.step.pad.radius_m, job.panel, request.seed, limits,
                                           technique_file);
    if (auto taped = taped_cells(technique, job.panel, technique_file); !taped.empty())
        job.taped = std::make_shared<const std::vector<std::uint8_t>>(std::move(taped));
    return job;
}

Setup setup_of(const RunJob& job) {
    Setup setup{job.step.machine,
                job.step.pad,
                job.step.liquid,
                job.paint.softness,
                job.step.technique.hand_stiffness_nm_rad,
                job.request.integrator,
                job.taped};
    setup.surroundings.air_c = job.request.air_c;
    setup.softening = job.paint.softening;
    return setup;
}

Setup cold_setup_of(const RunJob& job) {
    Setup setup = setup_of(job);
    setup.heat = false;
    return setup;
}

HandVariation hand_to_draw(const RunJob& job) {
    return job.path_is_steady ? job.step.technique.hand : HandVariation{};
}

RunJob steady(RunJob job) {
    job.path_is_steady = true;
    if (job.request.path_csv) return job;
    Technique technique = job.step.technique;
    technique.hand = {};
    job.path = lay_path(technique, job.step.pad.radius_m, job.panel, job.request.seed, job.limits);
    return job;
}

RunJob coarsened(const Library& library, const RunJob& job, double grid_m) {
    RunRequest request = job.request;
    request.readings.reset();
    request.grid_m = std::max(grid_m, request.grid_m);
    RunJob coarse = prepare(library, request, job.step.technique, nullptr, coarse_steps);
    if (job.path_is_steady) coarse = steady(std::move(coarse));
    if (request.path_csv) coarse.path = job.path; // as recorded, and as a change has left it
    return coarse;
}

RunResult simulate(const RunJob& job, const Progress& progress) {
    struct Watched {
        const Progress& tell;
        bool stopped = false;
    } watched{progress};
    const auto watch = [](double share, void* context) {
        auto& on = *static_cast<Watched*>(context);
        on.stopped = on.tell && !on.tell(share);
        return !on.stopped;
    };
    RunResult result = simulate(job.panel, setup_of(job), job.path, watch, &watched);
    if (watched.stopped) throw Stopped();
    return result;
}

std::vector<Outcome> run_jobs(const std::vector<RunJob>& jobs, int threads, const Progress& progress) {
    std::vector<Outcome> outcomes(jobs.size());
    Meter meter(static_cast<double>(jobs.size()), progress);
    on_threads(threads, [&] {
        oneapi::tbb::parallel_for(std::size_t{0}, jobs.size(), [&](std::size_t k) {
            Meter::Task task(meter, 1);
            outcomes[k].result = simulate(jobs[k], [&](double share) { return task.look(share); });
        });
    });
    for (std::size_t k = 0; k < jobs.size(); ++k) {
        const std::optional<Verdict> verdict =
            judge_if_worked(jobs[k].panel, outcomes[k].result.fields, jobs[k].step.pad.radius_m);
        if (!verdict)
            throw InputError(jobs[k].request.path_csv ? jobs[k].request.path_csv->string()
                                                      : jobs[k].request.technique,
                             "", "an arm path that takes no film off the panel",
                             "a path that brings the pad onto the panel with some force");
        outcomes[k].verdict = *verdict;
    }
    return outcomes;
}

std::string working_of(const RunJob& job) {
    if (const auto& csv = job.request.path_csv)
        return fmt::format("arm path from {}", csv->filename().string());
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
    out.heat = std::abs(heat.made_j - heat.lost_j - heat.stored_j - heat.evaporated_j - heat.into_pad_j) /
               heat.made_j;
    return out;
}

} // namespace sparecoat::run
