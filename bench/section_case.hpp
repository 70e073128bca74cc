#pragma once
#include "sim/simulate.hpp"
#include "tool/arm_path.hpp"
#include "tool/technique.hpp"

namespace sparecoat::bench {

/// A plate of the given size (m) on a grid of spacing_m. @param crown_radius_m both ways; 0 = flat.
Panel plate(double width_m, double height_m, double spacing_m, double crown_radius_m = 0);

/// A free-spinning head of 15 mm throw with a 150 mm foam pad and a polish. Invented values.
Setup random_orbital();

/// Four crossed passes of 45 N at 4500/min and 40 mm/s with half overlap.
/// @param section_m side of the square section in the middle of the panel; 0 = the whole panel.
Technique crossed_passes(const Panel& panel, double section_m);

/// The section that every figure of the benchmark is about: 0.5 m square on a flat plate of 0.6 m.
struct SectionCase {
    Panel panel;
    Setup setup;
    ArmPath path;
};
SectionCase section_case(double spacing_m, double crown_radius_m = 0);

} // namespace sparecoat::bench
