#pragma once
#include "rooms.hpp"
#include <algorithm>
#include <stdexcept>
#include <vector>

namespace sparecoat::decide {

/// The value in the middle of all; of an even number the lower or the upper of the two there, which is one of
/// the values, as a mean of both would not be. @throws std::invalid_argument where there is none.
template <class Value> Value lower_median(std::vector<Value> values) {
    if (values.empty()) throw std::invalid_argument("a median of nothing");
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>((values.size() - 1) / 2);
    std::ranges::nth_element(values, middle);
    return *middle;
}
template <class Value> Value upper_median(std::vector<Value> values) {
    if (values.empty()) throw std::invalid_argument("a median of nothing");
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::ranges::nth_element(values, middle);
    return *middle;
}

} // namespace sparecoat::decide
