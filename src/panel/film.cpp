#include "panel/panel.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::panel {

double missing_share(const Paint& paint, double distance_m) {
    return paint.thinning_length_m > 0 ? paint.thinning * std::exp(-distance_m / paint.thinning_length_m)
                                       : 0.0;
}

/// Wet film draws back from sharp edges: t(s) = t0 (1 - a exp(-s / l)), s the distance to the nearest
/// edge or crest (common practice, no source).
/// What is not known without a gauge: how thick the panel was painted as a whole, and how far the film drew
/// back. With d the relative deviation of the whole and a (1 + g) the true thinning, independent, to first
/// order
///     t = t0 ((1 + d) share - g a exp(-s / l)),   sd(t) = t0 sqrt((sd_d share)² + (sd_g a exp(-s / l))²).
void lay_film(Panel& panel, const Paint& paint) {
    constexpr double um_per_m = 1e6;
    const std::size_t cells = panel.grid.cells();
    for (auto* layer :
         {&panel.clear_um, &panel.base_um, &panel.primer_um, &panel.ecoat_um, &panel.clear_sd_um})
        layer->assign(cells, 0.0f);
    for (std::size_t k = 0; k < cells; ++k) {
        if (!panel.inside[k]) continue;
        const double s = std::min(std::max(panel.edge_distance_m[k], 0.0f), panel.crest_distance_m[k]);
        const double missing = missing_share(paint, s);
        const double share = 1 - missing;
        panel.clear_um[k] = static_cast<float>(paint.clear_m * um_per_m * share);
        panel.base_um[k] = static_cast<float>(paint.base_m * um_per_m * share);
        panel.primer_um[k] = static_cast<float>(paint.primer_m * um_per_m * share);
        panel.ecoat_um[k] = static_cast<float>(paint.ecoat_m * um_per_m * share);
        panel.clear_sd_um[k] = static_cast<float>(paint.clear_m * um_per_m *
                                                  std::hypot(paint.spread * share, thinning_sd * missing));
    }
}

} // namespace sparecoat::panel
