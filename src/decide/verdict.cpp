#include "decide/verdict.hpp"
#include "decide/open_cells.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <numeric>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

// Nearer than this to an edge or crest a spot is named after it.
constexpr double named_within_m = 0.06;

/// "the waist line", but "edge 2": numbered names are proper names.
std::string with_article(const std::string& name) {
    return !name.empty() && name.back() >= '0' && name.back() <= '9' ? name : "the " + name;
}

/// "the wheel arch edge", but "the outline" and "hole 1 edge 2", which say what they are.
std::string edge_text(const std::string& name) {
    const std::string text = with_article(name);
    const bool says_so = text == name || name == "outline" || name.ends_with("edge");
    return says_so ? text : text + " edge";
}

OpenPanel find_open_panel(const Panel& panel, const Fields& fields, double pad_radius_m) {
    OpenCells ground = open_cells(panel, fields, pad_radius_m);
    std::vector<std::size_t>& cells = ground.cells;
    // Ties broken by index, so that the median cell is the same on every machine.
    std::sort(cells.begin(), cells.end(), [&](std::size_t a, std::size_t b) {
        return fields.removed_um[a] != fields.removed_um[b] ? fields.removed_um[a] < fields.removed_um[b]
                                                            : a < b;
    });
    const auto at = [&](double share) {
        return cells[static_cast<std::size_t>(share * static_cast<double>(cells.size() - 1))];
    };
    OpenPanel open;
    open.clearance_m = ground.clearance_m;
    open.cell = at(0.5);
    open.cells = cells.size();
    open.median_um = static_cast<double>(fields.removed_um[open.cell]);
    open.low_um = static_cast<double>(fields.removed_um[at(0.05)]);
    open.high_um = static_cast<double>(fields.removed_um[at(0.95)]);
    const auto count = static_cast<double>(cells.size());
    for (const std::size_t i : cells) open.mean_um += static_cast<double>(fields.removed_um[i]) / count;
    for (const std::size_t i : cells) {
        const double off = static_cast<double>(fields.removed_um[i]) - open.mean_um;
        open.sd_um += off * off / count;
    }
    open.sd_um = std::sqrt(open.sd_um);
    return open;
}

} // namespace

PanelFeature feature_at(const Panel& panel, std::size_t cell) {
    const float edge = panel.edge_distance_m[cell], crest = panel.crest_distance_m[cell];
    if (static_cast<double>(std::min(edge, crest)) > named_within_m) return {};
    return crest <= edge ? PanelFeature{-1, panel.nearest_crest[cell]}
                         : PanelFeature{panel.nearest_edge[cell], -1};
}

std::string feature_text(const Panel& panel, PanelFeature ground) {
    const auto named = [](const std::vector<std::string>& names, int index) {
        return static_cast<std::size_t>(index) < names.size() ? names[static_cast<std::size_t>(index)]
                                                              : std::string("edge");
    };
    if (ground.crest >= 0) return with_article(named(panel.crest_names, ground.crest));
    return ground.edge >= 0 ? edge_text(named(panel.edge_names, ground.edge)) : "open panel";
}

std::string place_of(const Panel& panel, std::size_t cell) {
    const PanelFeature ground = feature_at(panel, cell);
    const std::string name = feature_text(panel, ground);
    if (ground == PanelFeature{}) return name;
    const bool on_crest = ground.crest >= 0;
    const float distance_m = on_crest ? panel.crest_distance_m[cell] : panel.edge_distance_m[cell];
    const long millimetres = std::lround(static_cast<double>(distance_m) * 1e3);
    if (millimetres < 2) return fmt::format("{} {}", on_crest ? "on" : "at", name);
    return fmt::format("{} mm from {}", millimetres, name);
}

Factors factors_at(const Fields& f, std::size_t cell) {
    const double time = static_cast<double>(f.contact_time_s[cell]);
    const double pressure_time = static_cast<double>(f.pressure_time_pa_s[cell]);
    const double friction_path = static_cast<double>(f.friction_path_pa_m[cell]);
    const double cold = static_cast<double>(f.removed_cold_um[cell]),
                 removed = static_cast<double>(f.removed_um[cell]);
    if (time <= 0 || pressure_time <= 0 || friction_path <= 0) return {};
    return {time, pressure_time / time, friction_path / pressure_time, 1e-6 * cold / friction_path,
            cold > 0 ? removed / cold : 1};
}

SpotAtRisk describe_spot(const Panel& panel, const Fields& fields, const OpenPanel& open, std::size_t cell) {
    SpotAtRisk spot;
    spot.cell = cell;
    spot.at = panel.grid.centre(cell);
    spot.removed_um = static_cast<double>(fields.removed_um[cell]);
    spot.clear_before_um = static_cast<double>(panel.clear_um[cell]);
    spot.clear_left_um = spot.clear_before_um - spot.removed_um;
    spot.factors = factors_at(fields, cell);
    const Factors reference = factors_at(fields, open.cell);
    spot.against_open = {spot.factors.time_s / reference.time_s,
                         spot.factors.pressure_pa / reference.pressure_pa,
                         spot.factors.speed_m_s / reference.speed_m_s,
                         spot.factors.cut_per_pa / reference.cut_per_pa,
                         spot.factors.heat / reference.heat,
                         static_cast<double>(panel.clear_um[open.cell]) / spot.clear_before_um};
    spot.place = place_of(panel, cell);
    return spot;
}

std::optional<Verdict> judge_if_worked(const Panel& panel, const Fields& fields, double pad_radius_m) {
    for (std::size_t i = 0; i < panel.inside.size(); ++i)
        if (worked(panel, fields, i)) return judge(panel, fields, pad_radius_m);
    return std::nullopt;
}

Verdict judge(const Panel& panel, const Fields& fields, double pad_radius_m, int spots) {
    Verdict verdict;
    verdict.open = find_open_panel(panel, fields, pad_radius_m);
    verdict.least_clear_left_um = std::numeric_limits<double>::infinity();
    const double cell_area = panel.grid.h_m * panel.grid.h_m;

    std::vector<std::size_t> cells;
    for (std::size_t i = 0; i < panel.inside.size(); ++i) {
        if (!worked(panel, fields, i)) continue;
        cells.push_back(i);
        const double removed = static_cast<double>(fields.removed_um[i]);
        verdict.removed_volume_m3 += removed * 1e-6 * cell_area;
        verdict.most_removed_um = std::max(verdict.most_removed_um, removed);
        verdict.least_clear_left_um =
            std::min(verdict.least_clear_left_um, static_cast<double>(panel.clear_um[i]) - removed);
    }
    verdict.worked_area_m2 = static_cast<double>(cells.size()) * cell_area;

    const auto share = [&](std::size_t i) { return fields.removed_um[i] / panel.clear_um[i]; };
    std::sort(cells.begin(), cells.end(), [&](std::size_t a, std::size_t b) {
        const float sa = share(a), sb = share(b);
        return sa != sb ? sa > sb : a < b;
    });
    for (const std::size_t cell : cells) {
        if (verdict.worst.size() >= static_cast<std::size_t>(spots)) break;
        const Point2 at = panel.grid.centre(cell);
        const bool apart = std::all_of(verdict.worst.begin(), verdict.worst.end(),
                                       [&](const SpotAtRisk& s) { return norm(s.at - at) >= pad_radius_m; });
        if (apart) verdict.worst.push_back(describe_spot(panel, fields, verdict.open, cell));
    }
    return verdict;
}

std::vector<float> clear_left_um(const Panel& panel, const Fields& fields) {
    std::vector<float> out(panel.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    for (std::size_t i = 0; i < out.size(); ++i)
        if (panel.inside[i]) out[i] = std::max(0.0f, panel.clear_um[i] - fields.removed_um[i]);
    return out;
}

} // namespace sparecoat::decide
