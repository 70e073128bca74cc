#pragma once
#include "rooms.hpp"
#include <cmath>

namespace sparecoat::units {

/// The chance that a standard normal value is above z.
inline double normal_above(double z) { return 0.5 * std::erfc(z / std::sqrt(2.0)); }

} // namespace sparecoat::units
