#pragma once
#include "panel/panel.hpp"
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <variant>

namespace sparecoat::panel {

/// One corner of an outline or hole; `edge` names the side that runs from here to the next corner.
struct Corner {
    Point2 at;
    double radius_m = 0; ///< corner rounding
    std::string edge;    ///< empty: "edge 1", "edge 2", ...
};
using Loop = std::vector<Corner>;

/// A pressed crest: a ridge whose cross-section is a rounded roof of given height over a flank width,
/// with its top rounded to crest_radius; fades to nothing at both ends over end_fade.
struct BodyLine {
    std::string name;
    std::vector<Point2> points;
    double height_m = 0, crest_radius_m = 0, flank_m = 0.04, end_fade_m = 0;
};

/// A dished-in area (handle recess): depth inside the loop, walls blended over wall_m.
struct Recess {
    std::string name;
    Loop loop;
    double depth_m = 0, wall_m = 0.01;
};

/// An edge where the sheet rolls away from the pad: from roll_radius inside the edge the height falls
/// as a circular arc turning through `turn_rad` at the most.
struct RolledEdge {
    std::string edge;
    double radius_m = 0, turn_rad = 0.7;
};

struct Features {
    Loop outline;
    std::vector<Loop> holes;
    double radius_u_m = 0,
           radius_v_m = 0; ///< crown: radius of curvature along u and v; 0 = flat, negative = hollow
    std::vector<BodyLine> body_lines;
    std::vector<Recess> recesses;
    std::vector<RolledEdge> rolled_edges;
};

/// A file's content, shared since it is large and never changes.
using FileBytes = std::shared_ptr<const std::string>;

/// A file's content as it is on the disk. @return null where it cannot be read.
FileBytes bytes_of_file(const std::filesystem::path& file);

struct HeightMap {
    std::filesystem::path png;
    double pixel_m = 0, full_scale_m = 0;
    FileBytes bytes = {}; ///< of the PNG, whose path is then a name for messages; null: they lie at the path
};                        ///< 16-bit grey; 0 = no panel there
struct Mesh {
    std::filesystem::path file;
    double unit_m = 1e-3;
    FileBytes bytes = {}; ///< as HeightMap; no other file is then looked at, such as an OBJ's materials
};

struct PanelSpec {
    std::string name;
    std::string substrate;
    std::variant<Features, HeightMap, Mesh> shape;
};

/// Builds shape fields (everything but film: see lay_film) on a grid of the given spacing.
/// @param spacing_m 0.001 to 0.004. @param file for messages.
/// @throws InputError: outline crossing itself, hole outside, height map not 16-bit grey or empty,
/// mesh empty or folded over (says where), panel larger than 4 x 4 m or smaller than 20 mm.
Panel build_panel(const PanelSpec& spec, double spacing_m, const std::string& file = {});

} // namespace sparecoat::panel
