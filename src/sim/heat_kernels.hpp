#pragma once
#include "rooms.hpp"
// The inner loops of the panel's heat, under the rules of kernels.hpp: flat loops, the same bits on every
// processor. They run over a window of a grid of nodes that has one ring of empty nodes round it, so a node's
// four neighbours are always there.
#include <cstddef>

namespace sparecoat::sim::kernels {

/// Nodes first + row x stride + 0 .. width - 1 of each row.
struct Window {
    std::size_t first = 0, width = 0, rows = 0, stride = 0;
};

/// Conduction in the plane. Conductances are those of the faces towards +x and +y, as shares of a whole face
/// between two whole nodes; `inverse_share` is one over the share of the node that is panel, 0 where none is.
struct Plane {
    const float *east, *north, *inverse_share;
};

/// out = scale x L from, L the conduction operator in units of one node's diffusion rate.
void conduct(const Window& w, const Plane& plane, const float* from, float scale, float* out);

/// The first increments of a Chebyshev recurrence: last = share x first, before = 0.
void start_stages(const Window& w, const float* first, float share, float* last, float* before);

/// One stage of a Chebyshev recurrence on increments: with d1 = `last`,
///     before = mu d1 + nu before + tau L d1 + gamma first.
struct Stage {
    float mu, nu, tau, gamma;
};
void chebyshev_stage(const Window& w, const Plane& plane, const Stage& stage, const float* first,
                     const float* last, float* before);

/// The same, added to `total`: the last stage of a step.
void chebyshev_last(const Window& w, const Plane& plane, const Stage& stage, const float* first,
                    const float* last, const float* before, float* total);

/// Columns through the thickness: rise_l += sum_m decay[l x levels + m] rise_m + gain[l] flux.
/// Level l of a node is `level_stride` floats after level l - 1. At most 16 levels.
void columns(const Window& w, std::size_t levels, std::size_t level_stride, const float* decay,
             const float* gain, const float* flux, float* temperature_rise);

/// Water that evaporates from a face, kg/(m² s), by its temperature: vapour at 0, 1, ... last °C.
struct Evaporation {
    const float* vapour;
    float last;
    float air_c, latent; ///< °C, J/kg
    float half_step;     ///< half the step x latent heat / the face's heat capacity, K per kg/(m² s)
    float inverse_step_s;
};
/// vapour = rate / (1 + half_step x its slope), no more than there is water for; net = flux - latent x
/// vapour; water -= vapour x step.
void evaporate(const Window& w, const Evaporation& law, const float* temperature_rise, const float* flux,
               float* water, float* vapour, float* net);

/// boiled = what the rise over `most` boils off, no more than there is: water and rise fall by it.
void boil(const Window& w, float most, float kg_per_k, float* temperature_rise, float* water, float* boiled);

/// flux = pending x inverse_share x scale; pending = 0.
void take_flux(const Window& w, const float* inverse_share, float scale, float* pending, float* flux);

/// peak = max(peak, surface), surface = rise + resistance x flux. @return the largest surface, 0 at the
/// least.
float note_peak(const Window& w, const float* temperature_rise, const float* resistance, const float* flux,
                float* peak);

/// Sum of weight x value.
double weighted_sum(const Window& w, const float* weight, const float* value);

/// From nodes to cells, `block` cells a node: cells[k] = nodes[(k + offset) / block], 0 <= offset < block
/// <= 4.
void nodes_to_cells(std::size_t block, std::size_t offset, std::size_t n, const float* nodes, float* cells);

/// And back: nodes[(k + offset) / block] += scale x a[k] x b[k].
void cells_to_nodes(std::size_t block, std::size_t offset, std::size_t n, const float* a, const float* b,
                    float scale, float* nodes);

} // namespace sparecoat::sim::kernels
