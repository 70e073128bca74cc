// The maps: what they are called, and their values.
#include "view/run/live_run.hpp"
#include "view/run/tile_rows.hpp"
#include <algorithm>
#include <limits>

namespace sparecoat::view {

void map_values(MapKind kind, const RunJob& job, const LiveView& view, std::vector<float>& out,
                const std::vector<Tile>* tiles) {
    const Panel& panel = job.panel;
    const double friction = job.step.pad.friction * job.step.liquid.friction_factor;
    out.resize(panel.grid.cells(), std::numeric_limits<float>::quiet_NaN());
    const auto value = [&](std::size_t k) -> float {
        switch (kind) {
        case MapKind::film_lost: return view.fields.removed_um[k];
        case MapKind::clear_left: return std::max(0.0f, panel.clear_um[k] - view.fields.removed_um[k]);
        case MapKind::pressure_now: return view.pressure_pa[k] * 1e-3f;
        case MapKind::speed_now: return view.speed_m_s[k];
        case MapKind::contact_time: return view.fields.contact_time_s[k];
        case MapKind::friction_work:
            return static_cast<float>(friction * 1e-3) * view.fields.friction_path_pa_m[k];
        case MapKind::temperature: return view.film_c[k];
        case MapKind::peak_temperature: return view.peak_c[k];
        case MapKind::chance:
            return view.chance_percent.empty() ? std::numeric_limits<float>::quiet_NaN()
                                               : view.chance_percent[k];
        }
        return 0;
    };
    const auto fill = [&](std::size_t first, std::size_t count) {
        for (std::size_t k = first; k < first + count; ++k)
            out[k] = panel.inside[k] ? value(k) : std::numeric_limits<float>::quiet_NaN();
    };
    if (!tiles) fill(0, panel.grid.cells());
    else
        for (const Tile tile : *tiles) for_each_row(panel.grid, tile, fill);
}

const MapInfo& map_info(MapKind kind) {
    static constexpr MapInfo infos[map_kinds] = {
        {"film_lost", "Film lost", "µm", true, false},
        {"clear_left", "Clear coat left", "µm", true, true},
        {"pressure_now", "Pressure now", "kPa", false, false},
        {"speed_now", "Pad speed now", "m/s", false, false},
        {"contact_time", "Time in contact", "s", false, false},
        {"friction_work", "Friction work", "kJ/m²", false, false},
        {"temperature", "Film temperature", "°C", false, false},
        {"peak_temperature", "Hottest so far", "°C", false, false},
        {"chance", "Chance of burning through", "%", false, false},
    };
    return infos[static_cast<int>(kind)];
}

} // namespace sparecoat::view
