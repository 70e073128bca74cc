#include "picture/run_folder.hpp"
#include "formats/fields_export.hpp"
#include "formats/path_csv.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

namespace sparecoat::picture {
namespace {

std::vector<Spot> map_spots(const Verdict& verdict, FilmUnit unit) {
    std::vector<Spot> out;
    for (const SpotAtRisk& spot : verdict.worst)
        out.push_back(
            {spot.at, spot.clear_left_um > 0
                          ? fmt::format("{} lost, {} clear left, {}", film_text(spot.removed_um, unit),
                                        film_text(spot.clear_left_um, unit), spot.place)
                          : fmt::format("through the clear coat, {}", spot.place)});
    return out;
}

std::vector<std::vector<Point2>> pad_strokes(const ArmPath& path) {
    std::vector<std::vector<Point2>> strokes;
    bool drawing = false;
    for (const ArmSample& sample : path.samples) {
        if (sample.down && !drawing) strokes.emplace_back();
        if (sample.down || drawing) strokes.back().push_back(sample.at);
        drawing = sample.down;
    }
    return strokes;
}

HeatmapSpec base_map(const RunJob& job, const Outcome& outcome, std::span<const float> field, FilmUnit unit) {
    HeatmapSpec spec{.panel = job.panel, .field_um = field};
    spec.title = fmt::format("{}: {}", job.panel.name, job.step.technique.name);
    spec.subtitle = {fmt::format("{}, {}, {}; {}", job.step.machine.name, job.step.pad.name,
                                 job.step.liquid.name, working_of(job)),
                     fmt::format("{}; open panel {} lost. Estimate: the film gauge decides.", job.paint.name,
                                 film_text(outcome.verdict.open.median_um, unit))};
    spec.unit = unit;
    spec.pad_path = pad_strokes(job.path);
    spec.pad_diameter_m = 2 * job.step.pad.radius_m;
    spec.spots = map_spots(outcome.verdict, unit);
    return spec;
}

std::string trace_text(const std::vector<StepReport>& trace) {
    std::string out = "t_s,dt_s,x_mm,y_mm,down,force_n,carried_n,depth_mm,tilt_u_deg,tilt_v_deg,spin_per_min,"
                      "friction_w,cut_per_pa,removed_mm3,face_share,strain,film_c\n";
    for (const StepReport& r : trace)
        fmt::format_to(
            std::back_inserter(out),
            "{:.4f},{:.4f},{:.2f},{:.2f},{:d},{:.3f},{:.3f},{:.4f},{:.4f},{:.4f},{:.2f},{:.3f},{:.5g},"
            "{:.5g},{:.4f},{:.4f},{:.2f}\n",
            r.t_s, r.dt_s, r.at.x * 1e3, r.at.y * 1e3, r.down, r.force_n, r.carried_n, r.depth_m * 1e3,
            r.tilt_rad.x / deg, r.tilt_rad.y / deg, r.spin_rad_s / per_min, r.friction_power_w,
            r.removal_coefficient, r.removed_m3 * 1e9, r.contact_share, r.max_strain, r.hottest_film_c);
    return out;
}

} // namespace

HeatmapSpec film_lost_map(const RunJob& job, const Outcome& outcome, FilmUnit unit) {
    return base_map(job, outcome, outcome.result.fields.removed_um, unit);
}

HeatmapSpec clear_left_map(const RunJob& job, const Outcome& outcome, std::span<const float> clear_left,
                           FilmUnit unit) {
    HeatmapSpec spec = base_map(job, outcome, clear_left, unit);
    spec.quantity = "clear coat left";
    spec.colours = &clear_left_colours();
    return spec;
}

void write_text_file(const std::filesystem::path& file, const std::string& text) {
    std::ofstream out(file, std::ios::binary);
    out << text;
    if (!out.flush())
        throw InputError(file.string(), "", "a file that cannot be written", "a folder with room");
}

void write_json(const std::filesystem::path& file, const nlohmann::json& document) {
    // A file's name may hold bytes that are no UTF-8; they are replaced rather than cost the whole run.
    write_text_file(file, document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n");
}

nlohmann::json write_run(const std::filesystem::path& folder, const RunJob& job, const Outcome& outcome,
                         FilmUnit unit) {
    const Fields& fields = outcome.result.fields;
    const Grid& grid = job.panel.grid;
    const std::vector<float> left = clear_left_um(job.panel, fields);
    const std::vector<float> peak_film_c = outcome.result.heat->peak_map_c();
    const std::vector<NamedField> named = {{"film_lost_um", fields.removed_um},
                                           {"clear_left_um", left},
                                           {"clear_before_um", job.panel.clear_um},
                                           {"clear_sd_um", job.panel.clear_sd_um},
                                           {"contact_time_s", fields.contact_time_s},
                                           {"pressure_time_pa_s", fields.pressure_time_pa_s},
                                           {"friction_path_pa_m", fields.friction_path_pa_m},
                                           {"film_lost_cold_um", fields.removed_cold_um},
                                           {"peak_film_c", peak_film_c},
                                           {"height_m", job.panel.height_m},
                                           {"edge_distance_m", job.panel.edge_distance_m}};
    for (const NamedField& field : named) write_npy(folder / (field.name + ".npy"), grid, field.values);
    write_npy(folder / "inside.npy", grid, job.panel.inside);
    write_vti(folder / "fields.vti", grid, job.panel.inside, named);
    write_path_csv(folder / "path.csv", job.path);
    write_text_file(folder / "trace.csv", trace_text(outcome.result.trace));
    draw_heatmap(folder / "film_lost.png", film_lost_map(job, outcome, unit));
    draw_heatmap(folder / "clear_left.png", clear_left_map(job, outcome, left, unit));
    nlohmann::json summary = summary_of(job, outcome);
    write_json(folder / "summary.json", summary);
    return summary;
}

} // namespace sparecoat::picture
