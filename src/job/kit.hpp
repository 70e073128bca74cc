#pragma once
#include "job/presets.hpp"
#include <string>
#include <vector>

namespace sparecoat {

/// A step that a kit can do: one of its machines with one of its pads and liquids.
struct KitStep {
    std::string id;        ///< "da-15+medium-foam-150+polish", by references as the kit has them
    std::string words;     ///< "Polish on medium foam 150 mm, free-spinning orbital 15 mm throw"
    Technique technique;   ///< one set: the kit's usual way of working that machine, a steady hand, no section yet
};

/// Every pairing of a machine with a pad that it takes and a liquid; papers go with any pad too. In the kit's order:
/// machines, then pads, then liquids. @throws InputError with the kit's file and place: a reference that leads
/// nowhere, a speed that the machine does not reach, a pad that none of the machines takes, nothing that goes together.
std::vector<KitStep> steps_of(const Library& library, const std::string& kit);

/// @throws InputError ("--step") that names the nearest.
const KitStep& step_named(const std::vector<KitStep>& steps, const std::string& id);

} // namespace sparecoat
