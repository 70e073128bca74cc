#include "view/pages/charts/chart_model.hpp"
#include "picture/evenness_folder.hpp"
#include "picture/sweep_charts.hpp"
#include "study/evenness.hpp"
#include "study/sweep/report.hpp"
#include "view/pages/risk/risk_model.hpp"
#include <fmt/format.h>
#include <numeric>
#include <utility>

namespace sparecoat::view::charts {

ChartMaker evenness_charts(const Library& library, std::shared_ptr<const RunJob> job) {
    return [library, job = std::move(job)](TaskState& task) {
        EvennessRequest request;
        request.run = job->request;
        const EvennessReport report =
            assess_evenness(library, *job, request, threads_beside_drawing(), watched_by(task));
        const std::string evenness = "Evenness", overlap = "Overlap";
        ChartSet set;
        set.heading = "How even it comes off";
        set.ground = fmt::format("{}, {}, {}", job->panel.name, job->step.technique.name, working_of(*job));
        set.charts.push_back({evenness, "Bands along and across", "spectra", spectra_chart(report)});
        if (report.marks)
            set.charts.push_back(
                {evenness, "Marks of single orbits", "marks", marks_chart(report, *report.marks)});
        set.charts.push_back({overlap, "The overlap that evens", "overlap", overlap_chart(report)});
        set.charts.push_back({overlap, "What it costs", "cost", cost_chart(report)});
        const OverlapTrial& best = report.trials[report.best];
        set.said = {
            fmt::format("Film lost on open ground: {:.3g} µm, its standard deviation {:.1f} % of that.",
                        report.mean_um, 100 * report.deviation),
            fmt::format("Of the overlaps tried {:.0f} % evens best, with {:.1f} %; from {:.0f} to {:.0f} % "
                        "nobody would see the difference.",
                        100 * best.overlap, 100 * best.deviation,
                        100 * report.trials[report.flat_from].overlap,
                        100 * report.trials[report.flat_to].overlap)};
        if (!report.marks) set.said.push_back("No marks of single orbits: " + report.no_marks + ".");
        return set;
    };
}

ChartMaker sweep_charts(const Library& library, std::string design, std::filesystem::path results) {
    return [library, design = std::move(design), results = std::move(results)](TaskState&) {
        const Sweep sweep(library, library.sweep(design));
        const SweepKeys keys = keys_of(sweep, threads_beside_drawing());
        const std::vector<std::optional<SweepRow>> rows =
            rows_of(keys, SweepResults(results, SweepResults::Mode::read));
        std::vector<std::size_t> outputs(sweep_output_count);
        std::iota(outputs.begin(), outputs.end(), std::size_t{0});
        const SweepReport report = report_of(sweep, rows, outputs);
        ChartSet set;
        set.heading = sweep.design().name;
        set.ground = fmt::format("{} with {}, {} points, {} runs on file: {}", sweep.design().panel,
                                 sweep.design().technique, sweep.points().count(), rows.size(),
                                 results.filename().string());
        set.charts = charts_of(sweep, report);
        if (report.failed > 0)
            set.said.push_back(
                fmt::format("{} runs could not be worked; their points are left out.", report.failed));
        set.said.push_back(
            fmt::format("{} of {} points are on the front: no other point clears as much for less film.",
                        report.front.size(), report.all.size()));
        return set;
    };
}

void ChartModel::open(ChartMaker maker) {
    close();
    maker_ = std::move(maker);
    making_.ask(maker_);
}

void ChartModel::close() {
    making_.call_off();
    maker_ = nullptr;
    set_.reset();
    row = 0;
}

void ChartModel::again() {
    if (is_open()) making_.ask(maker_);
}

void ChartModel::move(std::ptrdiff_t by) {
    if (!set_ || set_->charts.empty()) return;
    const auto count = std::ssize(set_->charts);
    row = static_cast<std::size_t>((static_cast<std::ptrdiff_t>(row) + by + count) % count);
}

void ChartModel::save(const std::filesystem::path& file) const {
    if (const NamedChart* one = chart()) write_chart(file, one->chart);
}

ChartModel::Made ChartModel::make(const ChartMaker& maker, TaskState& task) {
    try {
        return {std::make_shared<const ChartSet>(maker(task)), {}};
    } catch (const Stopped&) {
        return {}; // called off: nobody will look at it
    } catch (const InputError& error) {
        return {nullptr, error};
    }
}

void ChartModel::tick() {
    std::optional<Made> made = making_.take();
    if (!made || !is_open()) return;
    if (made->fault) {
        if (!set_) close();
        throw *made->fault;
    }
    set_ = std::move(made->set);
    ++generation_;
    if (row >= set_->charts.size()) row = 0;
}

} // namespace sparecoat::view::charts
