#pragma once
#include "rooms.hpp"
// Marks a function to be compiled for the baseline processor and again for AVX2, the better one chosen
// when the program loads. Sanitizers run before that choice can be made, so they get the baseline alone.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__) &&     \
    !defined(__SANITIZE_THREAD__)
#define SPARECOAT_CLONES __attribute__((target_clones("arch=x86-64-v3", "default")))
#else
#define SPARECOAT_CLONES
#endif
