#pragma once
// A kit of three steps, fine to coarse: enough to choose from, and soon simulated.

namespace sparecoat::test {

inline constexpr const char* three_steps_kit = R"({"kind": "kit", "name": "Three steps", "machines": [
    {"machine": "da-15", "speed": "3500/min", "force": "30 N", "arm_speed": "40 mm/s",
        "pads": ["soft-foam-150"], "liquids": ["finishing-polish"]},
    {"machine": "da-15", "speed": "4500/min", "force": "45 N", "arm_speed": "40 mm/s",
        "pads": ["medium-foam-150"], "liquids": ["polish"]},
    {"machine": "da-15", "speed": "4500/min", "force": "50 N", "arm_speed": "40 mm/s",
        "pads": ["microfibre-cutting-150"], "liquids": ["cutting-compound"]}],
    "pads": ["soft-foam-150", "medium-foam-150", "microfibre-cutting-150"],
    "liquids": ["finishing-polish", "polish", "cutting-compound"],
    "gauge": {"repeatability": "1 um", "readings": 5}})";

} // namespace sparecoat::test
