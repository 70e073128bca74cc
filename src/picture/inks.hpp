#pragma once
#include "picture/colour_map.hpp"

namespace sparecoat::picture {

// What pages are drawn in besides the colours that stand for numbers.
inline constexpr Rgb ink{0.13, 0.14, 0.17}, quiet_ink{0.36, 0.38, 0.42}, hairline{0.78, 0.80, 0.82};
inline constexpr Rgb paper{1, 1, 1}, surroundings{0.945, 0.952, 0.958};

/// A line colour that stands out from the fill at this share of the range.
Rgb ink_over(const ColourMap& colours, double share);

} // namespace sparecoat::picture
