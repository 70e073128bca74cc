#pragma once
#include "panel/panel.hpp"
#include "sim/foam.hpp"
#include "sim/motion.hpp"
#include "sim/rim.hpp"
#include "tool/tool.hpp"
#include <vector>

namespace sparecoat::sim {

/// How a pad's shear layer answers a panel's edges and crests: fields that depend on the panel's shape
/// and the pad's thickness alone, worked out once.
///
/// The pad is a Pasternak (1954) foundation: pressure p = s(w/H) - G lap(w), w the compression. Under a
/// rigid backing plate w follows the panel, so
///  - lap(w) is the panel's own curvature. The layer cannot follow a kink sharper than its decay length
///    l = sqrt(G/k), so the curvature is spread over l with its line load kept (spread_over_layer);
///  - past a free edge the layer carries on unloaded, k w - G lap(w) = 0, and hangs on the edge with the
///    line reaction q = sqrt(G k) w_edge (Vlasov and Leont'ev 1966; Selvadurai 1979). Spread over l it
///    multiplies the pressure near the edge by 1 + c: c = exp(-s/l) at a straight edge, more where two
///    edges meet. That is a layer that goes on without end; see Footprint::hang_over for one that does not.
struct LayerFields {
    double decay_length_m = 0;
    std::vector<float> edge_gain;      ///< 1 + c; 0 outside the panel
    std::vector<float> edge_x, edge_y; ///< unit vector towards the nearest edge, and out past it outside
    std::vector<float> shear_pa;       ///< G x spread lap(height): negative on crests; 0 outside
};
LayerFields layer_fields(const Panel& panel, const Pad& pad);

/// Where the backing plate is against the panel: compression at its centre and tilt as a slope vector.
/// Compression at (x, y) from the centre is depth + tilt . (x, y) + height above the reference plane.
struct PlatePose {
    double depth_m = 0;
    Point2 tilt_rad;
};

/// The cells under a pad, packed one after another so that the kernels are flat loops over arrays.
/// Coordinates are from the mean pad centre. Cells beyond the panel stay in (on = 0): the spin balance
/// needs to know what part of the face hangs in the air. Arrays are padded to a multiple of 8 with
/// coverage 0.
struct Footprint {
    struct Row {
        std::size_t packed, grid; ///< first cell that lies on the grid: its packed and its grid index
        std::size_t count;        ///< how many lie on the grid
    };
    std::vector<Row> rows;
    std::size_t size = 0; ///< multiple of 8
    double cell_area_m2 = 0;
    std::vector<float> x, y, height, on, gain, shear;
    std::vector<float> edge_distance, edge_x, edge_y; ///< as hang_over left them
    std::vector<float> coverage; ///< share of the time under the pad's face, by how much it bears there, 0..1
    std::vector<float> rim_bias; ///< see rim_passage
    std::vector<float> speed;    ///< coverage x mean |v| while covered, m/s
    std::vector<float> pressure; ///< while covered, Pa
    std::vector<float> stiffness;        ///< d pressure / d compression, Pa/m
    std::vector<float> compression;      ///< compression, m
    std::vector<float> temperature_rise; ///< of the sheet's top over the air, K
    std::vector<float> film_resistance;  ///< between it and the film's face, K m²/W
    std::vector<float> over_pad;         ///< how much warmer than the pad, K
    std::vector<float> strength;         ///< see kernels::strength
    std::vector<float> heat;             ///< how many times more the film cuts for its temperature

    /// Collects the cells within reach of centre. Keeps its memory between calls.
    void gather(const Panel& panel, const LayerFields& layer, Point2 centre, double reach_m);

    /// Leaves of the edge's load what the pad brings there. Where the layer ends a length o past the edge,
    /// its end free (G w' = 0 in k w - G w'' = 0), it hangs on it with tanh(o/l) of the endless layer's
    /// reaction. With the pad's centre D inside the edge's line and u beside the cell, its plate reaches o =
    /// sqrt(R² - u²) - D past the edge; the mean is over the orbit's phases at which the pad lies over the
    /// cell,
    ///     gain = 1 + c x sum of [o > 0] tanh(o / l) / number of those phases.
    /// A pad that does not get to the edge, or only to its line, is not pressed up there.
    void hang_over(const Panel& panel, const LayerFields& layer, const Pad& pad, Point2 centre,
                   double orbit_radius_m);

    /// Takes the panel's height relative to its least-squares plane under the covered cells (the plane an
    /// operator levels the pad to). @return false where the pad covers no panel at all.
    bool level();
};

/// Hand and pad for one balance.
struct HandLoad {
    double force_n = 0;
    Point2 tilt_rad;             ///< commanded
    double stiffness_nm_rad = 0; ///< infinity: the tilt is imposed
};

struct Balance {
    PlatePose pose;
    double carried_n = 0;
    int iterations = 0;
    bool converged = false;
};

/// Finds the pose at which the pad's pressure carries the force and the hand's moments:
///     sum p = F,   sum p r = K (tilt_commanded - tilt) - stop,
/// by damped Newton from `start`. Beyond 12 degrees a stop of 400 N m/rad stands for the operator
/// catching the machine (from memory). Leaves pressure, stiffness and squash in the footprint.
/// Residuals are under 2e-4 of the force and of force x pad radius when converged.
Balance balance_plate(Footprint& footprint, const Pad& pad, const FoamCurve<float>& foam,
                      const HandLoad& hand_load, PlatePose start);

/// Pressure at a given pose, without a balance (for checks and for imposed poses).
void press(Footprint& footprint, const Pad& pad, const FoamCurve<float>& foam, PlatePose pose);

/// Ring sums and hysteresis of the footprint as it stands.
/// The foam's loss: as the pad turns, a piece of its face at radius r swings between the compressions met
/// around the ring. A swing w = a cos(n t) stores k a²/2 at its peak per area and loses 2 pi eta of that
/// (eta the loss factor; Ungar and Kerwin, J. Acoust. Soc. Am. 34, 954, 1962), n times a turn. Torque is
/// loss per turn over 2 pi, so per area n eta k a²/2 = n eta x the n-th harmonic's share of the covariance
/// of p and w around the ring. A tilt is all first harmonic; what is not (a pad bridging a curve, hanging
/// over an edge) is counted as second:
///     T = eta x sum over rings of [ 2 cov - cov1 ],
///     cov  = sum p w dA - (sum p dA)(sum w dA) / ring area,
///     cov1 = 2 / ring area x [ (sum p' cos dA)(sum w' cos dA) + the same with sin ], p', w' about the ring's
///     mean.
/// Nothing for a flat pad on a flat panel.
/// @param table of the pad on its orbit, for the rim's second harmonic; without it that of an even disc.
RingLoads ring_loads(const Footprint& footprint, const Pad& pad, double orbit_radius_m,
                     const OrbitTable* table = nullptr);

} // namespace sparecoat::sim
