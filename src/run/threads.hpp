#pragma once
#include "rooms.hpp"
#include <cstddef>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/task_arena.h>
#include <optional>

namespace sparecoat::run {

/// Calls `body`, whose oneTBB loops then run on up to `threads` threads (0: as many as the machine has).
template <class Body> void on_threads(int threads, Body body) {
    // Without the limit a wish for more threads than the machine has cores brings a warning on stderr.
    std::optional<oneapi::tbb::global_control> limit;
    if (threads > 0)
        limit.emplace(oneapi::tbb::global_control::max_allowed_parallelism,
                      static_cast<std::size_t>(threads));
    oneapi::tbb::task_arena arena(threads > 0 ? threads : oneapi::tbb::task_arena::automatic);
    arena.execute(body);
}

} // namespace sparecoat::run
