#pragma once
#include <catch2/catch.hpp>
#include <utility>

namespace sparecoat::test {

/// What a loop of checks runs over. Fails the test where it is empty: the loop would check nothing.
template <class Collection> Collection nonempty(Collection&& all) {
    REQUIRE_FALSE(all.empty());
    return std::forward<Collection>(all);
}

} // namespace sparecoat::test
