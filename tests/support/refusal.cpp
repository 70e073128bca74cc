#include "support/refusal.hpp"
#include <catch2/catch.hpp>
#include <functional>
#include <stdexcept>

namespace sparecoat::test {

units::InputError refusal(const std::function<void()>& call) {
    try {
        call();
    } catch (const units::InputError& error) {
        return error;
    }
    FAIL("accepted, where it should have been refused");
    throw std::logic_error("not reached");
}

} // namespace sparecoat::test
