#pragma once
#include "panel/panel.hpp"
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::tool {

enum class Pattern { raster, spiral, line, recorded, strips };

/// Which side of a closed line or of an edge.
enum class StripSide { both, inside, outside };

inline const char* name_of(StripSide side) {
    return side == StripSide::both ? "both" : side == StripSide::inside ? "inside" : "outside";
}

/// Strips of pattern strips along one edge or line of the panel, or along all of either.
struct StripsAlong {
    std::string along;        ///< name of an edge, body line, roll or rim; "edges" or "lines" for all of them
    std::vector<double> at_m; ///< distances of the pad's centre from it; 0 only for lines: on the crest
    StripSide side = StripSide::both; ///< of a closed line; edges are worked from the panel's side
    double clear_of_m = 0;            ///< that the pad's centre keeps from every other edge and line
};

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
    std::vector<StripsAlong> strips; ///< pattern strips: each piece is run `passes` times, there and back
    double charge_every_m = 0.6;     ///< of a strip: a longer one is cut into pieces, each freshly charged
    int recharge_passes = 0;         ///< fresh liquid and a cleaned pad after so many passes; 0 = never
    HandVariation hand;
};

} // namespace sparecoat::tool
