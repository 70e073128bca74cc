#pragma once
#include "rooms.hpp"
#include <string>

namespace sparecoat::tool {

enum class MachineKind { rotary, free_spinning, gear_driven };

/// A polishing machine. Speeds are of the driven shaft: the spindle of a rotary, the orbit of the others.
struct Machine {
    std::string name;
    MachineKind kind = MachineKind::rotary;
    double throw_m = 0; ///< diameter of the orbit; 0 for a rotary
    double speed_min_rad_s = 0, speed_max_rad_s = 0;
    double gear_ratio = 0;        ///< pad turns per orbit, gear-driven only; negative = against the orbit
    double bearing_torque_nm = 0; ///< free-spinning: what the bearing passes to the pad at no slip, T0
    double bearing_drag_nms = 0;  ///< free-spinning: and per rad/s of slip, c
    double spin_inertia_kgm2 = 0; ///< backing plate about its own axis
    double pad_max_m = 0, pad_min_m = 0; ///< pad diameters it takes
    double power_w = 0, mass_kg = 0;
};

/// Stress-strain law of a pad's working layer in compression: linear, plateau, densification
/// (the three regimes of Gibson and Ashby, Cellular Solids); see sim/foam.hpp for the formula.
struct FoamLaw {
    double modulus_pa = 0;           ///< E, slope at no strain
    double plateau_pa = 0;           ///< collapse stress
    double densification_strain = 0; ///< where the cell walls meet
    double poisson = 0;
};

enum class RimKind {
    even,    ///< presses evenly out to its rim: no pad does, but it can be worked out by hand
    square,  ///< cut straight down
    rounded, ///< a quarter of an ellipse, width by height
    conical  ///< straight from width inside the rim to height above the face
};
struct RimShape {
    RimKind kind = RimKind::even;
    double width_m = 0, height_m = 0; ///< of what is taken off, rounded and conical
};

struct Pad {
    std::string name;
    std::string material; ///< "wool", "microfibre", "firm foam", ...
    double radius_m = 0, thickness_m = 0;
    double plate_radius_m = 0; ///< of the backing plate; 0 or more than the pad's: as wide as the pad
    RimShape rim = {};
    FoamLaw foam;
    double loss_factor =
        0;               ///< eta = energy lost per cycle / (2 pi peak energy stored) (Ungar and Kerwin 1962)
    double friction = 0; ///< coefficient on a wet film
    double cut_factor = 1; ///< multiplies the removal coefficient
    double capacity_m = 0; ///< film removed per pad area at which its cut has fallen to half, uncleaned
    double area_density_kg_m2 = 0; ///< for its inertia

    double backed_radius_m() const { ///< of what the plate presses on
        return plate_radius_m > 0 && plate_radius_m < radius_m ? plate_radius_m : radius_m;
    }
    double foundation_pa_m() const { return foam.modulus_pa / thickness_m; } ///< k
    double shear_n_m() const {
        return foam.modulus_pa * thickness_m / (6 * (1 + foam.poisson));
    } ///< G, Vlasov-Leont'ev linear profile
};

/// A liquid (or a paper): what abrades.
struct Liquid {
    std::string name;
    bool paper = false;
    double abrasive_start_m = 0, abrasive_end_m = 0; ///< median size fresh and broken down
    double breakdown_j_m2 =
        0; ///< friction work per pad area that takes the size 63 % of the way; 0 = does not break down
    double working_time_s = 0;    ///< dry after this; 0 = never
    double cut_per_size_pa_m = 0; ///< Preston coefficient per metre of abrasive size, 1/(Pa m)
    double friction_factor = 1;   ///< multiplies the pad's friction coefficient
    // Preston's law has 1 and 1. Of others the cut is that of the usual pressure and speed on an open panel.
    double pressure_exponent = 1, speed_exponent = 1;
    double pressure_exponent_sd = 0.15, speed_exponent_sd = 0.15; ///< how well they are known
    static constexpr double usual_pressure_pa = 2500, usual_speed_m_s = 3;
    double water_kg_m2 = 0; ///< that a charge brings per area of the pad's face, to evaporate
};

} // namespace sparecoat::tool
