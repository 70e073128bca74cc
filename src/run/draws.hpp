#pragma once
#include "rooms.hpp"

namespace sparecoat::run {

/// Into how many tallies the draws of a hand are dealt, whatever the number of threads: they are merged in
/// their order, so that an outcome does not depend on it.
inline constexpr int tallies = 8;

} // namespace sparecoat::run
