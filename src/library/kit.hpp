#pragma once
#include "tool/technique.hpp"
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::library {

class Library;

/// Something that a shop owns, as its kit's file names it: that text is part of steps' ids.
struct KitItem {
    std::string id;        ///< as written: "da-15", "pads/own.json#125"
    std::string reference; ///< the same from anywhere: a path in the file is from its folder
};

/// A machine and the shop's usual way of working it.
struct KitMachine {
    KitItem machine;
    double speed_rad_s = 0, force_n = 0, arm_speed_m_s = 0;
    int passes = 4;
    std::vector<std::string> pads;    ///< ids of the kit's pads that it is used with so; empty: all that fit
    std::vector<std::string> liquids; ///< ids of the kit's liquids that go on these; empty: all
};

/// The film gauge at hand.
struct KitGauge {
    double repeat_sd_um = 1;   ///< of one reading on one spot
    int readings = 5;          ///< usually taken on the square, before and after
    double loss_sd_um() const; ///< of a loss, as it is usually read
};

/// What a shop has to work with.
struct Kit {
    std::string file, name;
    std::vector<KitMachine> machines;
    std::vector<KitItem> pads, liquids;
    std::optional<KitGauge> gauge;
};

/// See read_machine. What the kit names is not looked up here.
Kit read_kit(const nlohmann::json& document, const std::string& file);

/// A step that a kit can do: one of its machines with one of its pads and liquids.
struct KitStep {
    std::string id;    ///< "da-15+medium-foam-150+polish", by references as the kit has them
    std::string words; ///< "polish on medium foam 150 mm (free-spinning orbital, 15 mm throw)"
    Technique
        technique; ///< one set: the kit's usual way of working that machine, a steady hand, no section yet
    double pad_radius_m = 0;
};

/// Every pairing of a machine with a pad that it takes and a liquid; papers go with any pad too. In the kit's
/// order: machines, then pads, then liquids. @throws InputError with the kit's file and place: a reference
/// that leads nowhere, a speed that the machine does not reach, a pad or liquid that none of the machines is
/// used with, a step twice.
std::vector<KitStep> steps_of(const Library& library, const Kit& kit);
/// @param kit its reference.
std::vector<KitStep> steps_of(const Library& library, const std::string& kit);

/// @throws InputError ("--step") that names the nearest.
const KitStep& step_named(const std::vector<KitStep>& steps, const std::string& id);

} // namespace sparecoat::library
