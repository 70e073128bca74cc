#pragma once
#include "units/quantity.hpp"
#include <array>

namespace sparecoat::finish {

// What a mirror-like paint gives back of a beam, and what is left of it when its surface is rough.

/// Share of a beam that a smooth surface reflects, by its polarisation.
struct Reflectance {
    double across = 0;                                     ///< field across the plane of incidence (s)
    double along = 0;                                      ///< field in it (p)
    double mean() const { return 0.5 * (across + along); } ///< unpolarised light
};

/// Fresnel's equations for a dielectric in air (Born and Wolf, Principles of Optics, section 1.5).
/// @param index of refraction, 1 or more. @param angle_rad from the normal, 0 to pi/2.
/// @throws std::invalid_argument outside of these.
Reflectance fresnel(double index, double angle_rad);

/// The three angles of ISO 2813.
inline constexpr std::array<double, 3> gloss_angles_rad{20 * deg, 60 * deg, 85 * deg};

/// Glass of this index has 100 gloss units at all three angles (ISO 2813).
inline constexpr double gloss_standard_index = 1.567;

/// Of an automotive clear coat: about that of acrylic resin (from memory).
inline constexpr double clear_coat_index = 1.52;

/// One wavelength that stands for the gloss meter's light, CIE illuminant C as seen by the standard eye,
/// V(lambda). Roughness enters through 1/lambda², whose mean under C x V is that of 552 nm (worked out in
/// the test beside CIE's tables); 550 nm is that, rounded. ISO 2813 itself lets 546.1 nm stand for the eye's
/// middle wavelength.
inline constexpr double gloss_wavelength_m = 550e-9;

/// Gloss units of a smooth surface: its reflectance over that of the standard's glass, times 100.
double smooth_gloss(double index, double angle_rad);

/// Share of the mirror reflection that is left by a roughness of rms `rms_m`,
///     exp(-(4 pi s cos(theta) / lambda)²)
/// (Bennett and Porteus, J. Opt. Soc. Am. 51, 123 (1961), for normal incidence; cos(theta) by Beckmann and
/// Spizzichino, The Scattering of Electromagnetic Waves from Rough Surfaces, 1963). For heights that are
/// normal, or small beside the wavelength.
double mirror_share(double rms_m, double angle_rad, double wavelength_m = gloss_wavelength_m);

} // namespace sparecoat::finish
