#include "study/fit.hpp"
#include "decide/cautions.hpp"
#include "formats/encoding.hpp"
#include "formats/reader.hpp"
#include "plan/section.hpp"
#include "run/meter.hpp"
#include "run/run_job.hpp"
#include "run/threads.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <iterator>
#include <map>
#include <oneapi/tbb/parallel_for.h>

namespace sparecoat::study {
namespace {

using nlohmann::json;

constexpr int most_passes = 4000;
/// Standard deviations from end to end of an interval of fit_level, of a normal density.
constexpr double deviations_across = 2 * 1.645;

std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// Six digits are more than any measurement gives, and fewer than a conversion's rounding shows.
double six_digits(double value) { return std::stod(fmt::format("{:.6g}", value)); }

Point2 middle_of(const Panel& panel) {
    Point2 low{INFINITY, INFINITY}, high{-INFINITY, -INFINITY};
    for (const Point2 p : panel.outline.front().points) {
        low = {std::min(low.x, p.x), std::min(low.y, p.y)};
        high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    return 0.5 * (low + high);
}

/// Everything of a measurement that its simulation depends on.
struct Work {
    std::string machine, pad, paint;
    double force_n, speed_rad_s, arm_speed_m_s, section_m, overlap;
    int passes, sets_since_fresh;
    double seconds;
    auto operator<=>(const Work&) const = default;
};

class Fit {
public:
    Fit(const Library& library, const FitRequest& request) : library_(library) { report_.request = request; }

    FitReport make(int threads, const Progress& progress) {
        const FitRequest& request = report_.request;
        report_.measurements = read_measurements(request.measurements);
        report_.sha256 = sha256(bytes_of(request.measurements));
        report_.liquid = library_.liquid(request.liquid);
        collect();
        simulate(threads, progress);
        for (const MeasuredLoss& row : report_.rows)
            report_.work_j_m2.push_back(traces_[row.trace].work_j_m2);
        try {
            std::optional<Exponents> exponents;
            if (request.exponents)
                exponents = {report_.liquid.pressure_exponent, report_.liquid.speed_exponent};
            report_.fit =
                fit_cut(traces_, report_.rows, report_.liquid.breakdown_j_m2, report_.pads, exponents);
        } catch (const InputError& error) {
            throw InputError(request.measurements.string(), "", error.found(), error.allowed());
        }
        take_notes();
        make_presets();
        return std::move(report_);
    }

private:
    std::size_t pad_index(const std::string& reference) {
        const auto known = std::ranges::find(report_.pads, reference);
        if (known != report_.pads.end()) return static_cast<std::size_t>(known - report_.pads.begin());
        report_.pads.push_back(reference);
        report_.pad_factors.push_back(library_.pad(reference).cut_factor);
        return report_.pads.size() - 1;
    }

    /// A row's error is told with its line.
    template <class Make> auto at_line(int line, Make make) const {
        try {
            return make();
        } catch (const InputError& error) {
            const std::string place = fmt::format("line {}", line);
            throw InputError(report_.request.measurements.string(),
                             error.place().empty() ? place : place + ": " + error.place(), error.found(),
                             error.allowed());
        }
    }

    void collect() {
        const FitRequest& request = report_.request;
        // The pad of the command line is the one whose factor stays, so it comes first where a row was worked
        // with it.
        const auto own = [&](const Measurement& m) { return m.pad.empty() || m.pad == request.pad; };
        if (std::ranges::any_of(report_.measurements, own)) pad_index(request.pad);
        std::map<Work, std::size_t> known;
        for (const Measurement& m : report_.measurements) {
            Work work{m.machine.empty() ? request.machine : m.machine,
                      m.pad.empty() ? request.pad : m.pad,
                      m.paint.empty() ? request.paint : m.paint,
                      m.force_n,
                      m.speed_rad_s,
                      m.arm_speed_m_s,
                      m.section_m,
                      m.overlap,
                      m.passes.value_or(0),
                      m.sets_since_fresh,
                      m.seconds.value_or(0)};
            const auto [at, fresh] = known.emplace(work, works_.size());
            if (fresh) works_.push_back(work), first_line_.push_back(m.line);
            MeasuredLoss row;
            row.trace = at->second;
            row.pad = at_line(m.line, [&] { return pad_index(work.pad); });
            row.film_um = m.loss_um(), row.sd_um = m.loss_sd_um();
            if (m.plate) row.weighed_area_m2 = m.plate->area_m2;
            report_.rows.push_back(row);
        }
    }

    void simulate(int threads, const Progress& progress) {
        RunRequest base;
        base.panel = report_.request.panel, base.grid_m = coarse_grid_m; // a square's middle loses evenly
        const Panel panel = lay_panel(library_, base).panel;
        traces_.resize(works_.size());
        Meter meter(static_cast<double>(works_.size()), progress);
        on_threads(threads, [&] {
            oneapi::tbb::parallel_for(std::size_t{0}, works_.size(), [&](std::size_t k) {
                meter.hold();
                traces_[k] = at_line(first_line_[k], [&] { return trace(works_[k], base, panel); });
                meter.add(1);
            });
        });
    }

    /// The sets before it and the one that was measured, one after the other without fresh liquid.
    WorkTrace trace(const Work& work, RunRequest request, const Panel& panel) const {
        request.paint = work.paint;
        const int sets = work.sets_since_fresh + 1;
        Technique technique;
        technique.name = "measured work";
        technique.machine = work.machine, technique.pad = work.pad, technique.liquid = report_.request.liquid;
        technique.force_n = work.force_n, technique.speed_rad_s = work.speed_rad_s,
        technique.arm_speed_m_s = work.arm_speed_m_s;
        technique.overlap = work.overlap;
        technique.section_centre = middle_of(panel),
        technique.section_size = {work.section_m, work.section_m};
        technique.passes = work.passes > 0 ? work.passes * sets : 4;
        RunJob job = prepare(library_, request, technique, &panel, coarse_steps);
        double from_s = 0, to_s = INFINITY;
        if (work.passes > 0) {
            const auto first = std::ranges::find_if(job.path.samples, [&](const ArmSample& s) {
                return s.pass >= work.passes * work.sets_since_fresh;
            });
            from_s = first->t_s;
        } else {
            from_s = work.seconds * work.sets_since_fresh, to_s = work.seconds * sets;
            while (job.path.duration_s() < to_s && technique.passes < most_passes) {
                technique.passes = std::min(most_passes, 2 * technique.passes);
                job = prepare(library_, request, technique, &panel, coarse_steps);
            }
        }
        const std::vector<Point2> ground =
            judged_ground({*technique.section_centre, technique.section_size, {}, {}}, job.step.pad.radius_m);
        std::vector<std::size_t> cells;
        for (std::size_t k = 0; k < job.panel.grid.cells(); ++k) {
            const Point2 p = job.panel.grid.centre(k);
            if (job.panel.inside[k] && p.x >= ground[0].x && p.x <= ground[2].x && p.y >= ground[0].y &&
                p.y <= ground[2].y)
                cells.push_back(k);
        }
        if (cells.empty())
            throw InputError("", "section_mm", "a square with no ground on the panel in its middle",
                             "one on the panel");
        return trace_work(job.panel, setup_of(job), job.path, cells, from_s, to_s, report_.request.exponents);
    }

    // ---- what a person should know ----------------------------------------------------------------

    void note(std::string words) { report_.notes.push_back(std::move(words)); }

    template <class Wanted> std::string lines(Wanted wanted) const {
        std::string out;
        for (std::size_t k = 0; k < report_.rows.size(); ++k)
            if (wanted(k)) out += fmt::format("{}{}", out.empty() ? "" : ", ", report_.measurements[k].line);
        return out;
    }

    void take_notes() {
        const CutFit& fit = report_.fit;
        if (!fit.converged) note("The fit did not settle: take its values for a start only.");
        for (std::size_t k = 0; k < report_.rows.size(); ++k)
            if (fit.outlier[k])
                note(fmt::format("Line {} stands out: {:+.1f} standard deviations from the fit. It is still "
                                 "in; look for a slip, and "
                                 "leave it out only with a reason.",
                                 report_.measurements[k].line, fit.residual[k]));
        if (fit.degrees == 0) {
            note("There are as many values as measurements, so nothing checks the fit: the intervals rest on "
                 "the stated "
                 "repeatability alone.");
        } else if (fit.chance < 0.01) {
            note(fmt::format("The rows scatter more than their repeatability explains (chi-square {:.1f} on "
                             "{} degrees of freedom, "
                             "chance {:.2g}): the hand, the spots or the stated repeatability. The intervals "
                             "are {:.1f} times as "
                             "wide for it.",
                             fit.chi_square, fit.degrees, fit.chance, fit.scale));
        } else if (fit.chance > 0.99) {
            note(fmt::format("The rows scatter less than their repeatability says (chi-square {:.2f} on {} "
                             "degrees of freedom): it may "
                             "be stated too large. The intervals keep to what was stated.",
                             fit.chi_square, fit.degrees));
        }
        if (const std::string alone =
                lines([&](std::size_t k) { return fit.degrees > 0 && fit.leverage[k] > 0.9; });
            !alone.empty())
            note(fmt::format("Line {} decides a value almost alone (leverage over 0.9): nothing else checks "
                             "it. Measure that work "
                             "again.",
                             alone));
        const auto untold = [&](bool weighed) {
            return lines([&](std::size_t k) {
                const MeasuredLoss& row = report_.rows[k];
                return (row.weighed_area_m2 > 0) == weighed && row.film_um < told_from_none * row.sd_um;
            });
        };
        if (const std::string by_gauge = untold(false); !by_gauge.empty())
            note(fmt::format("Line {}: less film than the gauge tells from none ({} standard deviations). "
                             "Weighing a test plate tells "
                             "far less; or take more readings, or work longer.",
                             by_gauge, told_from_none));
        if (const std::string by_balance = untold(true); !by_balance.empty())
            note(fmt::format("Line {}: less film than the balance tells from none ({} standard deviations). "
                             "Work longer, or a "
                             "larger plate.",
                             by_balance, told_from_none));
        if (const std::string off = lines([&](std::size_t k) {
                const double ratio =
                    report_.rows[k].weighed_area_m2 / std::pow(report_.measurements[k].section_m, 2);
                return ratio > 0 && (ratio < 0.75 || ratio > 1.33);
            });
            !off.empty())
            note(fmt::format("Line {}: area_cm2 is not that of a square of section_mm. The fit compares the "
                             "mass lost, which does not "
                             "depend on the area; the film that is shown does.",
                             off));
        note("The paint's softness stays its preset's: cut and softness only appear as a product.");
    }

    // ---- presets ----------------------------------------------------------------------------------

    json provenance(const std::string& from, const std::function<bool(const CutParameter&)>& told) const {
        json fitted = json::array(), held = json::array();
        for (const CutParameter& p : report_.fit.parameters) {
            const double preset = report_.preset_value(p);
            if (p.fitted() && told(p))
                fitted.push_back({{"what", words_of(report_, p)},
                                  {"value", six_digits(preset * p.value)},
                                  {"low", six_digits(preset * p.low)},
                                  {"high", six_digits(preset * p.high)}});
            if (!p.fitted()) held.push_back({{"what", words_of(report_, p)}, {"why", p.held}});
        }
        held.push_back(
            {{"what", "softness of the paint"}, {"why", "cut and softness only appear as a product"}});
        json out = {{"measurements", report_.request.measurements.filename().string()},
                    {"sha256", report_.sha256},
                    {"rows", report_.rows.size()},
                    {"from", from},
                    {"fitted", fitted},
                    {"held", held},
                    {"chi_square", six_digits(report_.fit.chi_square)},
                    {"degrees", report_.fit.degrees}};
        if (report_.request.day) out["day"] = *report_.request.day;
        return out;
    }

    /// The preset's document, to be given other values.
    json document_of(PresetKind kind, const std::string& reference) const {
        json document = library_.document(kind, reference).body;
        document.erase("$schema");
        document["name"] = document.at("name").get<std::string>() + ", fitted";
        document["note"] =
            fmt::format("Fitted to measurements, see provenance; the rest is from {}.{}", reference,
                        document.contains("note") ? " " + document.at("note").get<std::string>() : "");
        return document;
    }

    void make_presets() {
        const std::string wanted = "measurements whose fit a preset may have";
        json liquid = document_of(PresetKind::liquid, report_.request.liquid);
        for (const CutParameter& p : report_.fit.parameters) {
            const double value = report_.preset_value(p) * p.value;
            if (p.kind == CutParameterKind::cut) liquid["cut_per_size"] = six_digits(value);
            if (p.kind == CutParameterKind::breakdown && p.fitted())
                liquid["breakdown"] = print_quantity(value, Dim::energy_area, 6);
            const auto exponent = [&](const std::string& name) {
                if (!p.fitted()) return;
                liquid[name] = six_digits(value);
                liquid[name + "_sd"] =
                    six_digits(report_.preset_value(p) * (p.high - p.low) / deviations_across);
            };
            if (p.kind == CutParameterKind::pressure_exponent) exponent("pressure_exponent");
            if (p.kind == CutParameterKind::speed_exponent) exponent("speed_exponent");
        }
        liquid["provenance"] = provenance(report_.request.liquid, [](const CutParameter& p) {
            return p.kind != CutParameterKind::pad_factor;
        });
        read_liquid(liquid, report_.request.measurements.string());
        report_.presets.push_back({"", std::move(liquid)});
        for (const CutParameter& p : report_.fit.parameters) {
            if (p.kind != CutParameterKind::pad_factor || !p.fitted()) continue;
            const std::string& reference = report_.pads[p.pad];
            json pad = document_of(PresetKind::pad, reference);
            pad["cut_factor"] = six_digits(report_.preset_value(p) * p.value);
            pad["provenance"] =
                provenance(reference, [&](const CutParameter& other) { return &other == &p; });
            read_pads(pad, report_.request.measurements.string());
            report_.presets.push_back({reference, std::move(pad)});
        }
    }

    const Library& library_;
    FitReport report_;
    std::vector<Work> works_;
    std::vector<int> first_line_;
    std::vector<WorkTrace> traces_;
};

} // namespace

double FitReport::preset_value(const CutParameter& parameter) const {
    switch (parameter.kind) {
    case CutParameterKind::cut: return liquid.cut_per_size_pa_m;
    case CutParameterKind::breakdown: return liquid.breakdown_j_m2;
    case CutParameterKind::pressure_exponent: return liquid.pressure_exponent;
    case CutParameterKind::speed_exponent: return liquid.speed_exponent;
    case CutParameterKind::pad_factor: return pad_factors.at(parameter.pad);
    }
    return 0;
}

std::string words_of(const FitReport& report, const CutParameter& parameter) {
    switch (parameter.kind) {
    case CutParameterKind::cut: return "cut_per_size, 1/(Pa m)";
    case CutParameterKind::breakdown: return "breakdown, J/m²";
    case CutParameterKind::pressure_exponent: return "exponent on pressure";
    case CutParameterKind::speed_exponent: return "exponent on speed";
    case CutParameterKind::pad_factor: return fmt::format("cut_factor of {}", report.pads.at(parameter.pad));
    }
    return "";
}

FitReport fit_measurements(const Library& library, const FitRequest& request, int threads,
                           const Progress& progress) {
    return Fit(library, request).make(threads, progress);
}

json fit_json(const FitReport& report) {
    const CutFit& fit = report.fit;
    json parameters = json::array(), rows = json::array();
    for (const CutParameter& p : fit.parameters) {
        const double preset = report.preset_value(p);
        parameters.push_back({{"what", words_of(report, p)},
                              {"preset", preset},
                              {"value", preset * p.value},
                              {"low", p.fitted() ? json(preset * p.low) : json()},
                              {"high", p.fitted() ? json(preset * p.high) : json()},
                              {"held", p.held}});
    }
    for (std::size_t k = 0; k < report.rows.size(); ++k) {
        const Measurement& m = report.measurements[k];
        const MeasuredLoss& row = report.rows[k];
        rows.push_back({{"line", m.line},
                        {"label", m.label},
                        {"method", m.gauge ? "gauge" : "balance"},
                        {"pad", report.pads[row.pad]},
                        {"work_j_m2", report.work_j_m2[k]},
                        {"measured_um", row.film_um},
                        {"sd_um", row.sd_um},
                        {"model_um", fit.model_um[k]},
                        {"residual", fit.residual[k]},
                        {"leverage", fit.leverage[k]},
                        {"outlier", static_cast<bool>(fit.outlier[k])},
                        {"told_from_none", row.film_um >= told_from_none * row.sd_um}});
    }
    const FitRequest& r = report.request;
    return {{"kind", "sparecoat-fit"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"asked",
             {{"measurements", r.measurements.filename().string()},
              {"sha256", report.sha256},
              {"liquid", r.liquid},
              {"pad", r.pad},
              {"machine", r.machine},
              {"paint", r.paint},
              {"panel", r.panel},
              {"day", r.day ? json(*r.day) : json()}}},
            {"parameters", parameters},
            {"rows", rows},
            {"chi_square", fit.chi_square},
            {"degrees", fit.degrees},
            {"chance", fit.chance},
            {"scale", fit.scale},
            {"level", fit_level},
            {"notes", report.notes}};
}

} // namespace sparecoat::study
