// The documents that the program writes: the summary of a run, and the parts that others share.
#include "decide/cautions.hpp"
#include "run/summary_parts.hpp"
#include "units/quantity.hpp"
#include <charconv>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::run {

using nlohmann::json;

namespace {

json factors_json(const Factors& f) {
    return {{"time_s", f.time_s},       {"pressure_pa", f.pressure_pa},
            {"speed_m_s", f.speed_m_s}, {"cut_per_pa", f.cut_per_pa},
            {"heat", f.heat},           {"product_um", f.removed_um()}};
}

json split_json(const Split& s) {
    return {{"time", s.time}, {"pressure", s.pressure}, {"speed", s.speed}, {"cut", s.cut},
            {"heat", s.heat}, {"film", s.film},         {"all", s.all()}};
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
    case Pattern::strips: return "strips";
    }
    return nullptr;
}

json grid_json(const Grid& grid) {
    return {{"cells_u", grid.nu},
            {"cells_v", grid.nv},
            {"spacing_mm", in_unit(grid.h_m, mm)},
            {"first_cell", point_mm(grid.centre(0))}};
}

} // namespace

double in_unit(double si, double unit) {
    const std::string text = fmt::format("{:.12g}", si / unit);
    double value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}

json point_mm(Point2 p) { return {{"x_mm", in_unit(p.x, mm)}, {"y_mm", in_unit(p.y, mm)}}; }

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

json strips_json(const StripsAlong& strips) {
    json at_mm = json::array();
    for (const double at_m : strips.at_m) at_mm.push_back(in_unit(at_m, mm));
    return {{"along", strips.along},
            {"at_mm", at_mm},
            {"side", name_of(strips.side)},
            {"clear_of_mm", in_unit(strips.clear_of_m, mm)}};
}

json technique_json(const std::string& id, const Technique& t) {
    const auto by_edge = [](const std::map<std::string, double>& lengths_m) {
        json out = json::object();
        for (const auto& [edge, length_m] : lengths_m) out[edge] = in_unit(length_m, mm);
        return out;
    };
    json out = {{"id", id},
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
    if (t.pattern == Pattern::strips) {
        for (const StripsAlong& strips : t.strips) out["strips"].push_back(strips_json(strips));
        out["charge_every_mm"] = in_unit(t.charge_every_m, mm);
    }
    return out;
}

json inputs_json(const RunJob& job) {
    return {
        {"panel", job.request.panel},
        {"panel_name", job.panel.name},
        {"paint", job.request.paint},
        {"substrate", job.panel.substrate_name},
        {"technique", technique_json(job.request.technique, job.step.technique)},
        {"path_csv", job.request.path_csv ? json(job.request.path_csv->filename().string()) : json(nullptr)},
        {"grid_mm", in_unit(job.request.grid_m, mm)},
        {"integrator", job.request.integrator == Integrator::averaged ? "averaged" : "resolved"},
        {"seed", job.request.seed},
        {"air_c", job.request.air_c}};
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
    return {{"readings_csv", std::filesystem::path(job.request.readings->source).filename().string()},
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

json summary_of(const RunJob& job, const Outcome& outcome) {
    const RunResult& result = outcome.result;
    const Verdict& verdict = outcome.verdict;
    const Totals& totals = result.totals;
    const Identities identities = identities_of(job, outcome);

    json worst = json::array(), events = json::array();
    for (const SpotAtRisk& spot : verdict.worst) worst.push_back(spot_json(spot));
    for (const Event& event : result.events) events.push_back(event_json(event));

    const OpenPanel& open = verdict.open;
    const PanelHeat::Spot peak = result.heat->peak();
    const PanelHeat::Energy heat = result.heat->energy();
    return {{"kind", "sparecoat-run"},
            {"version", 1},
            {"notice", estimate_notice},
            {"cautions", cautions},
            {"inputs", inputs_json(job)},
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
              {"made_j", heat.made_j},
              {"lost_j", heat.lost_j},
              {"stored_j", heat.stored_j},
              {"evaporated_j", heat.evaporated_j},
              {"into_pad_j", heat.into_pad_j},
              {"water_evaporated_g", 1e3 * outcome.result.heat->water().evaporated_kg},
              {"pad_c", outcome.result.heat->pad_c()}}},
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

} // namespace sparecoat::run
