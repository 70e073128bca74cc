#pragma once
#include "decide/advice.hpp"
#include <nlohmann/json.hpp>

namespace sparecoat::plan {

inline nlohmann::json interval_json(const Interval& interval) {
    return {{"low", interval.low}, {"median", interval.median}, {"high", interval.high}};
}

} // namespace sparecoat::plan
