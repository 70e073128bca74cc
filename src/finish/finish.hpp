#pragma once
#include "finish/defects.hpp"
#include "finish/gloss.hpp"
#include <array>
#include <span>
#include <vector>

namespace sparecoat::finish {

/// A population at one place, some time after its marks were made.
struct Marks {
    MarkPopulation made;
    double worn_um = 0; ///< taken off there since
    double share = 1;   ///< of its density that was ever made there
};

/// What a place looks like.
struct Finish {
    std::array<double, 3> gloss{}; ///< gloss units at 20, 60 and 85 degrees (ISO 2813)
    double haze = 0;   ///< 100 x share of the mirror reflection lost at 20 degrees: an index of ours
    double rms_um = 0; ///< roughness by the lines: swirls, scratches, sanding marks, haze
    double marked = 0; ///< share of the area under visible marks, lying at random over each other
};

/// Roughness of marks that lie at random over each other, µm. Heights of a sum of randomly placed shapes z
/// have the variance (Campbell's theorem; Rice, Bell Syst. Tech. J. 23, 282 (1944)) number per area x int z²
/// dA. A V-groove's z falls evenly from its depth to 0, so z² means depth²/3 over its width, which is itself
/// in proportion to depth:
///     s² = sum of C/(3 m) E[(d - r)³; d > r].
/// Spots are left out: they are no roughness but places that give another reflection.
double rms_um(std::span<const Marks> marks);

/// Share of the mirror reflection that marks leave, at an angle. The mean over the surface of exp(i phi),
/// phi = 4 pi z cos(theta)/lambda, squared, is the mirror's share whatever the law of the heights (Porteus,
/// J. Opt. Soc. Am. 53, 1394 (1963)). For randomly placed grooves, as above, and with phi even from 0 to its
/// deepest p,
///     exp(-2 sum of C/m E[(d - r) (1 - sin(p)/p); d > r]).
/// While p is small this is Bennett and Porteus' exp(-(4 pi s cos(theta)/lambda)²) with the s of rms_um; a
/// deep groove loses twice the light that falls on it, once on the way in and once as its shadow. A spot,
/// thousands of wavelengths wide, throws no such shadow outside of the gloss meter's aperture: what falls on
/// it is lost once.
double mirror_share(std::span<const Marks> marks, double angle_rad, double wavelength_m = gloss_wavelength_m);

/// Gloss, haze, roughness and marked share at one place.
Finish finish_of(std::span<const Marks> marks, double index = clear_coat_index);

/// The populations as they are before any work.
std::vector<Marks> marks_of(std::span<const MarkPopulation> populations);

} // namespace sparecoat::finish
