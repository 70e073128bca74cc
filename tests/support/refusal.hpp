#pragma once
#include "units/error.hpp"
#include <functional>

namespace sparecoat::test {

/// What a call refuses its input with. Fails the test where it does not.
units::InputError refusal(const std::function<void()>& call);

} // namespace sparecoat::test
