#pragma once
#include "rooms.hpp"
#include <functional>
#include <stdexcept>

namespace sparecoat::run {

/// Told the share of all work that is done, 0 to 1, now and then and from any thread, though never from two
/// at once. Returns false to stop: the work then ends with Stopped.
using Progress = std::function<bool(double share)>;

/// The work was told to stop, so there is no outcome.
struct Stopped : std::runtime_error {
    Stopped() : std::runtime_error("stopped") {}
};

} // namespace sparecoat::run
