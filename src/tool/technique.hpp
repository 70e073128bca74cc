#pragma once
#include "panel/panel.hpp"
#include <map>
#include <optional>
#include <string>

namespace sparecoat::tool {

enum class Pattern { raster, spiral, line, recorded };

/// How steady the hand is: standard deviations of smooth noise with the given correlation time.
struct HandVariation {
    double force = 0;     ///< relative sd
    double arm_speed = 0; ///< relative sd
    double tilt_rad = 0;  ///< sd of each tilt component
    double spacing_m = 0; ///< sd of each line's sideways place
    double correlation_s = 1.5;
};

/// One step of work in the operator's terms. SI.
struct Technique {
    std::string name, note;
    std::string machine, pad, liquid; ///< preset names
    Pattern pattern = Pattern::raster;
    double force_n = 0;
    double speed_rad_s = 0; ///< orbit or spindle speed
    double arm_speed_m_s = 0;
    double arm_acceleration_m_s2 = 1.0; ///< at turn-rounds
    double overlap = 0.5;               ///< share of the pad's width that the next line covers again
    int passes = 4;                     ///< section passes; each covers the section once
    bool crossed = true;                ///< alternate passes at right angles
    double hold_back_m = 0;             ///< how far the pad's rim stays inside the edge; negative: overhangs
    std::map<std::string, double>
        hold_back_edge_m; ///< by the name of an edge, or of a body line, roll or rim that is taped
    double tape_m = 0;    ///< width of the masking tape along every edge; 0 = none
    std::map<std::string, double>
        tape_edge_m; ///< instead, by the name of an edge; and of a body line, roll or rim
    double tilt_rad = 0,
           tilt_toward_rad = 0;        ///< commanded tilt and the direction it leans to (0 = +u, 90° = +v)
    double hand_stiffness_nm_rad = 30; ///< 0 = head levels itself; infinity = tilt imposed
    std::optional<Point2> section_centre; ///< raster and spiral; none = the whole panel
    Point2 section_size{0.5, 0.5}; ///< a raster over a whole panel is worked in sections of about this size,
                                   ///< each with fresh liquid and a clean pad
    Point2 line_from, line_to;     ///< pattern line: run from, to, `passes` times back and forth
    int recharge_passes = 0;       ///< fresh liquid and a cleaned pad after so many passes; 0 = never
    HandVariation hand;
};

} // namespace sparecoat::tool
