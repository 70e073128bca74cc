#pragma once
#include "sim/kernels.hpp"
#include "tool/tool.hpp"
#include <vector>

namespace sparecoat::sim {

/// Which share of its full pressure a pad's face carries at a distance from its rim, 0..1, on an even panel.
/// Two things take load off the rim:
///  - **The layer ends there.** Foam under a rigid plate gives way sideways at its free side, and what stands
///    out past the plate is pressed by nothing but the layer's own stiffness. The share is
///        Phi(z0 + m x / H),  z0 = 0.271 + 0.649 exp(-(b / 0.28 H)²),  m = 8.39 - 6.845 exp(-(b / 1.175 H)²),
///    x the distance inside the plate's rim, b how far the pad stands out past the plate and Phi the normal
///    distribution function: within 0.02 of an elastic layer (plane strain, Poisson's ratio 0.2, bonded to
///    the plate, without friction on the panel, its side free) solved by finite elements for 0 <= b <= H / 2;
///    see tests/published/reference/elastic_layer.py.
///  - **Its rim is rounded or conical.** A gap g opens towards the rim, and what is less pressed together
///    carries less: s(w - g) / s(w), s the foam's law and w the compression of the face.
/// @param compression_m of the face, > 0. @param from_rim_m inwards from the pad's rim, >= 0.
double rim_bearing(const Pad& pad, double compression_m, double from_rim_m);

/// Compression (m) of a level pad on a flat panel under a force (N): the foam's law times what of the face
/// bears.
double flat_compression(const Pad& pad, double force_n);

/// The face as a pile of discs: a bearing that rises from the rim inwards is a sum of evenly pressed discs,
///     bearing(rho) = sum of weight x [rho < radius],
/// so that what is known of a disc on an orbit (rim_passage) holds for the pad. Weights add up to 1.
struct FaceDiscs {
    static constexpr int inner = 4;
    struct Disc {
        double radius_m, weight;
    };
    std::vector<Disc> discs; ///< the outermost first: the pad's rim, if it bears at all there
};
FaceDiscs face_discs(const Pad& pad, double compression_m);

/// Coverage and rim bias of a pad on an orbit by distance from its mean centre, as a table that the kernels
/// interpolate in: rim_passage summed over the face's discs. `coverage` is the share of the time for which
/// the point is under the face, each part of the face counted by how much it bears.
struct OrbitTable {
    std::vector<float> coverage, rim_bias; ///< at r = 0, 1 / per_m, ...; the last entries are 0
    std::vector<float> second; ///< the same of sin(2 t) / (2 pi), the mean of the angle's second harmonic
    float per_m = 0;

    /// How the rim's second harmonic stands to its first at a distance from the mean centre.
    double second_over_first(double r_m) const;

    kernels::RadialTable share() const { return {coverage.data(), per_m, last()}; }
    kernels::RadialTable bias() const { return {rim_bias.data(), per_m, last()}; }

private:
    float last() const { return static_cast<float>(coverage.size() - 2); }
};

/// @param orbit_m the orbit's radius. @param blur_m half-width over which a rim is smoothed at the least.
OrbitTable orbit_table(const Pad& pad, double compression_m, double orbit_m, double blur_m);

/// The table asked for last, kept: what bears at the rim changes so little with the force that the nearest
/// tenth of it will do (the bearing disc of a rim rounded by 3 mm moves by 0.05 mm).
class FaceTables {
public:
    const OrbitTable& at(const Pad& pad, double force_n, double orbit_m, double blur_m);

private:
    int force_step_ = -1000;
    double compression_m_ = 0, orbit_m_ = -1, blur_m_ = -1;
    OrbitTable table_;
};

} // namespace sparecoat::sim
