#pragma once
// A kit of three steps, fine to coarse: enough to choose from, and soon simulated.
#include <string>

namespace sparecoat::test {

/// @param more keys of the kit: `, "gauge": {...}`.
inline std::string three_steps_kit(const std::string& more = "") {
    return R"({"kind": "kit", "name": "Three steps", "machines": [
    {"machine": "da-15", "speed": "3500/min", "force": "30 N", "arm_speed": "40 mm/s",
        "pads": ["soft-foam-150"], "liquids": ["finishing-polish"]},
    {"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "40 mm/s",
        "pads": ["medium-foam-150"], "liquids": ["polish"]},
    {"machine": "da-15", "speed": "4500/min", "force": "50 N", "arm_speed": "40 mm/s",
        "pads": ["microfibre-cutting-150"], "liquids": ["cutting-compound"]}],
    "pads": ["soft-foam-150", "medium-foam-150", "microfibre-cutting-150"],
    "liquids": ["finishing-polish", "polish", "cutting-compound"])" +
           more + "}";
}

inline const std::string three_steps_gauge = R"(, "gauge": {"repeatability": "1 um", "readings": 5})";

} // namespace sparecoat::test
