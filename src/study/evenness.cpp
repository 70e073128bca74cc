#include "study/evenness.hpp"
#include "decide/cautions.hpp"
#include "decide/stats/median.hpp"
#include "run/meter.hpp"
#include "run/summary_parts.hpp"
#include "run/threads.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <oneapi/tbb/parallel_for.h>

namespace sparecoat::study {
namespace {

using nlohmann::json;

/// Of the scan: what lines 40 mm and more apart leave is even over a few millimetres.
constexpr double scan_grid_m = 0.004;
constexpr int fewest_cells = 16; ///< that a line has to have

/// Mean and standard deviation over mean of a field on a rectangle.
struct Evenness {
    double mean_um = 0, deviation = 0;
};
Evenness evenness_on(const Grid& grid, std::span<const float> field_um, const CellRect& ground) {
    double sum = 0, squares = 0, count = 0;
    for (int j = ground.j0; j <= ground.j1; ++j)
        for (int i = ground.i0; i <= ground.i1; ++i)
            sum += static_cast<double>(field_um[grid.index(i, j)]), ++count;
    const double mean = sum / count;
    for (int j = ground.j0; j <= ground.j1; ++j)
        for (int i = ground.i0; i <= ground.i1; ++i)
            squares += std::pow(static_cast<double>(field_um[grid.index(i, j)]) - mean, 2);
    return {mean, std::sqrt(squares / count) / mean};
}

/// A pad's radius from every edge, line and crest, and from the border of a section: where every place is
/// worked alike.
CellRect even_ground(const RunJob& job) {
    const Panel& panel = job.panel;
    const Technique& technique = job.step.technique;
    const double away_m = job.step.pad.radius_m;
    std::vector<std::uint8_t> marked(panel.grid.cells(), 0);
    for (std::size_t k = 0; k < marked.size(); ++k) {
        const Point2 p = panel.grid.centre(k);
        const auto in = [&](double at, double centre, double size) {
            return std::abs(at - centre) <= 0.5 * size - away_m;
        };
        marked[k] =
            panel.inside[k] &&
            static_cast<double>(std::min(panel.edge_distance_m[k], panel.crest_distance_m[k])) > away_m &&
            (!technique.section_centre || (in(p.x, technique.section_centre->x, technique.section_size.x) &&
                                           in(p.y, technique.section_centre->y, technique.section_size.y)));
    }
    const CellRect ground = largest_rectangle(panel.grid, marked);
    if (std::min(ground.columns(), ground.rows()) < fewest_cells)
        throw InputError(
            job.request.panel, "",
            fmt::format("no open ground {:.0f} mm square, a pad's radius from edges, lines and the "
                        "section's border",
                        fewest_cells * panel.grid.h_m / mm),
            "a larger panel or section, or a smaller pad");
    return ground;
}

double orbit_radius_m(const Machine& machine) {
    return machine.kind == MachineKind::rotary ? 0 : 0.5 * machine.throw_m;
}

/// What the work has of spacings that a line along `along` would meet.
std::vector<KnownSpacing> known_spacings(const RunJob& job, const RunResult& result, Along along) {
    const LineSpacings lines = line_spacings(job.path);
    const Technique& t = job.step.technique;
    const double spin_s =
        result.totals.time_down_s > 0 ? result.totals.spin_turns / result.totals.time_down_s : 0;
    return {{"the line spacing", along == Along::v ? lines.across_u_lines_mm : lines.across_v_lines_mm},
            {"the arm's way in a turn of the pad", spin_s > 0 ? t.arm_speed_m_s / spin_s / mm : 0},
            {"the hand's drift, arm speed x how long it lasts",
             job.step.technique.hand.force > 0 ? t.arm_speed_m_s * t.hand.correlation_s / mm : 0},
            {"the simulation's own steps, no mark of the work",
             std::min(StepLimits{}.max_step_m, t.arm_speed_m_s * StepLimits{}.max_step_s) / mm}};
}

/// A flat strip of steel with even film, on cells of any size.
Panel flat_strip(double length_m, double width_m, double cell_m, const Substrate& substrate) {
    Panel strip;
    strip.name = "flat strip", strip.substrate_name = substrate.name, strip.substrate = substrate;
    strip.grid = {static_cast<int>(std::ceil(length_m / cell_m)),
                  static_cast<int>(std::ceil(width_m / cell_m)), cell_m, 0.5 * cell_m, 0.5 * cell_m};
    const std::size_t cells = strip.grid.cells();
    const double right = strip.grid.nu * cell_m, top = strip.grid.nv * cell_m;
    strip.edge_names = {"border"};
    strip.outline = {{{{0, 0}, {right, 0}, {right, top}, {0, top}}, {0, 0, 0, 0}, true}};
    for (auto* field : {&strip.height_m, &strip.laplacian_per_m, &strip.clear_sd_um})
        field->assign(cells, 0.0f);
    for (auto* field : {&strip.clear_um, &strip.base_um, &strip.primer_um, &strip.ecoat_um})
        field->assign(cells, 30.0f);
    strip.inside.assign(cells, 1);
    strip.nearest_edge.assign(cells, 0);
    strip.nearest_crest.assign(cells, -1);
    strip.crest_distance_m.assign(cells, 1e3f);
    for (std::size_t k = 0; k < cells; ++k) {
        const Point2 p = strip.grid.centre(k);
        strip.edge_distance_m.push_back(static_cast<float>(std::min({p.x, right - p.x, p.y, top - p.y})));
    }
    return strip;
}

/// One straight pass over a strip, whole orbits a step, every orbit resolved. What is looked at lies where
/// the whole pad has passed over while it lay wholly on the strip.
std::optional<MarksOfOrbits> marks_of_orbits(const RunJob& job, std::string& why_not) {
    const Technique& t = job.step.technique;
    const double turn_s = 2 * pi / t.speed_rad_s, advance_m = t.arm_speed_m_s * turn_s;
    // Whole cells in the arm's way in a turn, so that the marks' overtones fall onto the marks or nowhere.
    constexpr double finest_m = 0.00015, coarsest_m = 0.001;
    const double cells_in_a_turn =
        std::max(std::min(4.0, std::floor(advance_m / finest_m)), std::ceil(advance_m / coarsest_m));
    if (cells_in_a_turn < 3) {
        why_not = fmt::format(
            "the arm moves on by {:.2f} mm in a turn of the shaft, too little for the finest cells of {} mm",
            advance_m / mm, finest_m / mm);
        return std::nullopt;
    }
    const double cell_m = advance_m / cells_in_a_turn;
    const double length_m = 24 * advance_m,
                 reach_m = job.step.pad.radius_m + orbit_radius_m(job.step.machine);
    const double border_m = 2 * cell_m, half_width_m = reach_m + border_m;
    const Panel strip =
        flat_strip(length_m + 4 * reach_m + 2 * border_m, 2 * half_width_m, cell_m, job.panel.substrate);
    Setup setup = cold_setup_of(job);
    setup.integrator = Integrator::resolved;
    setup.taped = {};
    setup.liquid.breakdown_j_m2 = 0, setup.pad.capacity_m = 0,
    setup.liquid.working_time_s = 0; // a fresh pad all the way

    ArmPath path;
    const double turns = std::max(1.0, std::floor(StepLimits{}.max_step_m / advance_m)),
                 step_m = turns * advance_m;
    const double from_m = reach_m + border_m;
    for (int k = 0; from_m + k * step_m <= from_m + length_m + 2 * reach_m + step_m; ++k) {
        ArmSample sample;
        sample.t_s = k * turns * turn_s;
        sample.at = {std::min(from_m + k * step_m, from_m + length_m + 2 * reach_m + step_m), half_width_m};
        sample.force_n = t.force_n, sample.speed_rad_s = t.speed_rad_s;
        path.samples.push_back(sample);
    }
    const RunResult result = simulate(strip, setup, path);
    const auto cell = [&](double at_m) { return static_cast<int>(at_m / cell_m); };
    constexpr double band_m = 0.004;
    const double first_m = from_m + reach_m;
    const CellRect ground{cell(first_m), cell(half_width_m - band_m), cell(first_m + length_m),
                          cell(half_width_m + band_m)};
    MarksOfOrbits marks;
    marks.cell_mm = cell_m / mm, marks.advance_mm = advance_m / mm, marks.length_mm = length_m / mm;
    marks.deviation = evenness_on(strip.grid, result.fields.removed_um, ground).deviation;
    marks.direction.spectrum = evenness_spectrum(strip.grid, result.fields.removed_um, ground, Along::u);
    const KnownSpacing known[] = {{"the arm's way in a turn of the shaft", advance_m / mm}};
    marks.direction.peaks = peaks_of(marks.direction.spectrum, known);
    return marks;
}

Technique with_overlap(Technique technique, double overlap) {
    technique.overlap = overlap;
    technique.hand = {}; // what the lines leave, and not what a hand adds to it
    return technique;
}

OverlapTrial trial_of(const Library& library, const EvennessRequest& request, const Technique& technique,
                      const Panel& panel, double overlap) {
    RunRequest coarse = request.run;
    coarse.grid_m = scan_grid_m, coarse.integrator = Integrator::averaged;
    const RunJob job = prepare(library, coarse, with_overlap(technique, overlap), &panel);
    const RunResult result = simulate(job);
    const Evenness even = evenness_on(job.panel.grid, result.fields.removed_um, even_ground(job));
    const LineSpacings lines = line_spacings(job.path);
    return {overlap, std::max(lines.across_u_lines_mm, lines.across_v_lines_mm), even.deviation, even.mean_um,
            job.path.duration_s()};
}

void choose_best(EvennessReport& report) {
    const std::vector<OverlapTrial>& trials = report.trials;
    const auto best = std::ranges::min_element(trials, {}, &OverlapTrial::deviation);
    report.best = static_cast<std::size_t>(best - trials.begin());
    const auto as_good = [&](std::size_t k) { return trials[k].deviation <= (1 + flat) * best->deviation; };
    report.flat_from = report.flat_to = report.best;
    while (report.flat_from > 0 && as_good(report.flat_from - 1)) --report.flat_from;
    while (report.flat_to + 1 < trials.size() && as_good(report.flat_to + 1)) ++report.flat_to;
}

double median_or_0(std::vector<double> values) {
    return values.empty() ? 0 : upper_median(std::move(values));
}

/// Places between neighbouring lines at these places across; nearer than 2 mm they are one line.
std::vector<double> gaps_mm(std::vector<double> across_m) {
    std::ranges::sort(across_m);
    std::vector<double> out;
    for (std::size_t k = 1; k < across_m.size(); ++k)
        if (across_m[k] - across_m[k - 1] > 0.002) out.push_back((across_m[k] - across_m[k - 1]) / mm);
    return out;
}

/// A straight piece of the path.
struct Stretch {
    bool along_u = true;
    double across_m = 0, length_m = 0;
};

/// What a charge of the arm's lines left: gaps of both directions.
void take_gaps(std::vector<Stretch>& stretches, std::vector<double> (&gaps)[2]) {
    double longest_m = 0;
    for (const Stretch& s : stretches) longest_m = std::max(longest_m, s.length_m);
    std::vector<double> across_m[2];
    // Moves from line to line are short.
    for (const Stretch& s : stretches)
        if (s.length_m > 0.6 * longest_m) across_m[s.along_u ? 0 : 1].push_back(s.across_m);
    for (const int n : {0, 1}) {
        const std::vector<double> found = gaps_mm(across_m[n]);
        gaps[n].insert(gaps[n].end(), found.begin(), found.end());
    }
    stretches.clear();
}

json spectrum_json(const Direction& direction) {
    json peaks = json::array();
    for (const SpectrumPeak& p : direction.peaks)
        peaks.push_back({{"wavelength_mm", p.wavelength_mm},
                         {"power_um2", p.power_um2},
                         {"share", p.share},
                         {"amplitude_um", p.amplitude_um},
                         {"words", p.words}});
    const Spectrum& s = direction.spectrum;
    return {{"along", direction.along == Along::u ? "u" : "v"},
            {"lines", s.lines},
            {"variance_um2", s.variance_um2()},
            {"frequency_per_mm", s.frequency_per_mm},
            {"power_um2_mm", s.power_um2_mm},
            {"peaks", peaks}};
}

} // namespace

LineSpacings line_spacings(const ArmPath& path) {
    std::vector<double> gaps[2];
    std::vector<Stretch> stretches;
    for (std::size_t k = 0; k + 1 < path.samples.size(); ++k) {
        const ArmSample &a = path.samples[k], &b = path.samples[k + 1];
        if (k > 0 && (a.recharge || a.pass != path.samples[k - 1].pass)) take_gaps(stretches, gaps);
        const Point2 way = b.at - a.at;
        const double length_m = norm(way);
        if (!a.down || length_m == 0) continue;
        const bool along_u = std::abs(way.x) > std::abs(way.y);
        const double across_m = along_u ? a.at.y : a.at.x;
        if (!stretches.empty() && stretches.back().along_u == along_u &&
            std::abs(stretches.back().across_m - across_m) < 0.001)
            stretches.back().length_m += length_m;
        else stretches.push_back({along_u, across_m, length_m});
    }
    take_gaps(stretches, gaps);
    return {median_or_0(gaps[0]), median_or_0(gaps[1])};
}

EvennessReport assess_evenness(const Library& library, const EvennessRequest& request, int threads,
                               const Progress& progress) {
    return assess_evenness(library, prepare(library, request.run), request, threads, progress);
}

EvennessReport assess_evenness(const Library& library, RunJob job, const EvennessRequest& request,
                               int threads, const Progress& progress) {
    EvennessReport report;
    report.request = request;
    report.job = std::move(job);
    const Technique& technique = report.job.step.technique;
    if (technique.pattern != Pattern::raster || request.run.path_csv)
        throw InputError(request.run.technique, "/pattern", "a technique that lays no lines side by side",
                         "a raster");
    report.ground = even_ground(report.job);
    const int count = 1 + static_cast<int>(std::floor(
                              (request.overlap_to - request.overlap_from) / request.overlap_step + 1e-9));
    report.trials.resize(static_cast<std::size_t>(count));
    RunRequest coarse = request.run;
    coarse.grid_m = scan_grid_m;
    const Panel panel = lay_panel(library, coarse).panel;

    Meter meter(count + 2, progress);
    on_threads(threads, [&] {
        oneapi::tbb::parallel_for(std::size_t{0}, static_cast<std::size_t>(count) + 2, [&](std::size_t k) {
            meter.hold();
            if (k == 0) {
                report.outcome = std::move(run_jobs({report.job}, 1).front());
            } else if (k == 1) {
                if (request.marks) report.marks = marks_of_orbits(report.job, report.no_marks);
                else report.no_marks = "not asked for";
            } else {
                report.trials[k - 2] =
                    trial_of(library, request, technique, panel,
                             request.overlap_from + static_cast<double>(k - 2) * request.overlap_step);
            }
            meter.add(1);
        });
    });
    const std::vector<float>& lost = report.outcome.result.fields.removed_um;
    const Evenness even = evenness_on(report.job.panel.grid, lost, report.ground);
    report.mean_um = even.mean_um, report.deviation = even.deviation;
    for (const Along along : {Along::u, Along::v}) {
        Direction& direction = report.directions[along == Along::u ? 0 : 1];
        direction.along = along;
        direction.spectrum = evenness_spectrum(report.job.panel.grid, lost, report.ground, along);
        direction.peaks =
            peaks_of(direction.spectrum, known_spacings(report.job, report.outcome.result, along));
    }
    choose_best(report);
    return report;
}

json evenness_json(const EvennessReport& report) {
    const Grid& grid = report.job.panel.grid;
    json trials = json::array();
    for (const OverlapTrial& t : report.trials)
        trials.push_back({{"overlap", t.overlap},
                          {"spacing_mm", t.spacing_mm},
                          {"deviation", t.deviation},
                          {"film_um", t.film_um},
                          {"time_s", t.time_s}});
    json marks;
    if (report.marks)
        marks = {{"cell_mm", report.marks->cell_mm},
                 {"advance_mm", report.marks->advance_mm},
                 {"length_mm", report.marks->length_mm},
                 {"deviation", report.marks->deviation},
                 {"spectrum", spectrum_json(report.marks->direction)}};
    return {{"kind", "sparecoat-evenness"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"inputs", inputs_json(report.job)},
            {"ground",
             {{"u_mm", {grid.x(report.ground.i0) / mm, grid.x(report.ground.i1) / mm}},
              {"v_mm", {grid.y(report.ground.j0) / mm, grid.y(report.ground.j1) / mm}}}},
            {"mean_um", report.mean_um},
            {"deviation", report.deviation},
            {"spectra", {spectrum_json(report.directions[0]), spectrum_json(report.directions[1])}},
            {"marks", marks},
            {"no_marks", report.no_marks},
            {"overlaps", trials},
            {"best", report.best},
            {"flat_from", report.flat_from},
            {"flat_to", report.flat_to}};
}

} // namespace sparecoat::study
