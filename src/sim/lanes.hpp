#pragma once
#include "rooms.hpp"
// For kernels written out in eight lanes with the compiler's vector extension.
#include <cstring>

namespace sparecoat::sim::kernels {

// Eight floats that add and multiply lane by lane on any processor.
using Lane = float __attribute__((vector_size(32)));

} // namespace sparecoat::sim::kernels

// A macro, since a function returning a vector would have another calling convention in each clone.
#define SPARECOAT_LOAD(lane, from)                                                                           \
    ::sparecoat::sim::kernels::Lane lane;                                                                    \
    std::memcpy(&lane, from, sizeof lane)
