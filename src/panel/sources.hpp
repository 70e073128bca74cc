#pragma once
#include "panel/outline.hpp"
#include "panel/panel.hpp"
#include "panel/shape.hpp"
#include <array>
#include <cstdint>
#include <string>
#include <vector>

namespace sparecoat::panel {

// The three ways to describe a shape. Each gives an outline first (the grid is laid around it) and
// then a height (m) for every inside cell of the grid; values in outside cells are not used.

/// Heights of crown, body lines, recesses and rolled edges added up, and the crests they make.
struct FeatureShape {
    std::vector<double> height_m;
    std::vector<Polyline> crests; ///< edge[] indexes crest_names
    std::vector<std::string> crest_names;
};

/// @param outline of the same features; @param edge_distance_m, inside on the grid.
/// @throws InputError: a feature with impossible sizes, or a rolled edge that is not in the outline.
FeatureShape shape_features(const Features& features, const Outline& outline, const Grid& grid,
                            const std::string& file);

/// A 16-bit grey height map, read. Pixel (0, 0) of the file is the panel's top left; u, v = 0 at the
/// bottom left corner of the picture.
struct HeightImage {
    int width = 0, height = 0;
    double pixel_m = 0, step_m = 0;  ///< size of a pixel; height of one grey step
    std::vector<std::uint16_t> grey; ///< top row first; 0 = no panel
    std::uint16_t at(int column, int row_up) const {
        return grey[static_cast<std::size_t>(height - 1 - row_up) * static_cast<std::size_t>(width) +
                    static_cast<std::size_t>(column)];
    }
};

/// Both readers take a file's bytes from the shape where it has them, else from its path.
/// @throws InputError: not a readable PNG, not 16-bit grey, no pixel above 0, pixel or scale not positive.
HeightImage read_height_map(const HeightMap& map, const std::string& file);
Outline trace_outline(const HeightImage& image, const std::string& file);
/// Bilinear between the pixels that carry panel; NaN where there is none near.
std::vector<double> sample_heights(const HeightImage& image, const Grid& grid);

struct Point3 {
    double x = 0, y = 0, z = 0;
};

/// A triangle mesh as it looks from its mean normal: (x, y) of a point are u and v, z is towards the pad.
struct FacedSheet {
    std::vector<Point3> points;    ///< m; mean height 0
    std::vector<Point3> in_file_m; ///< the same points in the file's axes, for messages
    std::vector<std::array<int, 3>> triangles;
};

/// @throws InputError: unreadable, other than OBJ or STL, no triangles, a coordinate that is no number,
/// no mean normal (a closed body), triangles that face away from it.
FacedSheet read_mesh(const Mesh& mesh, const std::string& file);
/// Edges that belong to one triangle only, chained into loops.
Outline outline_of(const FacedSheet& sheet, const std::string& file);
/// @throws InputError where two layers of the sheet lie over each other.
std::vector<double> sample_heights(const FacedSheet& sheet, const Grid& grid, const std::string& file);

} // namespace sparecoat::panel
