#pragma once
#include "rooms.hpp"
#include <array>
#include <vector>

namespace sparecoat::picture {

/// A colour as stored in a PNG: sRGB with its transfer curve (IEC 61966-2-1), each part 0..1.
struct Rgb {
    double r = 0, g = 0, b = 0;
};

/// CIE 1976 L*a*b*, white point D65.
struct Lab {
    double l = 0, a = 0, b = 0;
};

Lab lab_of(Rgb colour);

/// Not clamped: a part below 0 or above 1 says the colour is outside sRGB.
Rgb rgb_of(Lab colour);

/// A sequence of colours in which equal steps of value look like equal steps of colour.
///
/// Construction: in CIE L*C*h (the polar form of L*a*b*) lightness runs straight from one end to the
/// other while chroma and hue each follow a Bezier polynomial of degree four; the curve is then
/// walked at constant speed, so neighbouring colours are all the same CIE 1976 difference apart.
/// Lightness alone carries the value (for a grey print, and for eyes that miss a cone type); hue
/// and chroma sharpen it for everyone else.
class ColourMap {
public:
    struct Path {
        double lightness_from = 0, lightness_to = 0; ///< L*, 0..100
        std::array<double, 5> chroma{};              ///< C*, Bezier ordinates
        std::array<double, 5> hue_deg{};             ///< h, Bezier ordinates
    };

    explicit ColourMap(const Path& path);

    /// A map with a zero in its middle: from the far end of `below` to where both begin, and on to the far
    /// end of `above`. Both arms begin in the same colour; with the same lightness and chroma and straight
    /// hues they are equally long, so that as much less looks as much as as much more.
    ColourMap(const Path& below, const Path& above);

    /// @param share 0 (low end of the range) to 1 (high end); clamped. NaN gives the low end.
    Rgb at(double share) const;

private:
    std::vector<Rgb> steps_;
};

/// Film lost: from ivory (nothing) through amber and red to plum (most). Darker is worse.
const ColourMap& film_lost_colours();

/// Clear coat left: from ink (little) through blue and teal to pale mint (plenty). Darker is worse.
const ColourMap& clear_left_colours();

/// A difference: from navy (much less lost) through near white (the same) to dark brick (much more). Darker
/// is further from nothing; blue against orange-brown is told apart without red or green cones as well.
const ColourMap& difference_colours();

/// Temperature: from ice (as the air) through rose and red to maroon (hottest). Darker is hotter.
const ColourMap& temperature_colours();

} // namespace sparecoat::picture
