#pragma once
#include "decide/verdict.hpp"
#include "panel/panel.hpp"
#include <cstdint>
#include <span>
#include <vector>

namespace sparecoat::decide {

/// The strip of cells beside one named edge or body line of a panel, unrolled: cut across into short pieces
/// in the order in which the line is drawn, so that a field can be read along it like a graph.
struct EdgeProfile {
    PanelFeature ground;
    double length_m = 0;         ///< of the line
    double piece_m = 0;          ///< length of a piece along it, but for the last of each stretch
    std::vector<double> along_m; ///< per piece: its middle's way along the line, rising
    std::vector<Point2> at;      ///< per piece: its middle on the line
    std::vector<std::uint8_t>
        begins; ///< per piece: 1 where the line starts anew elsewhere (an edge in several stretches)
    std::vector<std::uint32_t>
        first; ///< cells of piece n are cells[first[n]] to cells[first[n + 1]], one entry more
    std::vector<std::uint32_t> cells; ///< each cell of the strip once; on the panel

    std::size_t pieces() const { return along_m.size(); }
    std::span<const std::uint32_t> cells_of(std::size_t piece) const {
        return std::span(cells).subspan(first[piece], first[piece + 1] - first[piece]);
    }
};

/// How far in from its edge, and to either side of a body line, a ribbon reaches.
inline constexpr double profile_width_m = 0.015;

/// The edges and body lines of a panel that a ribbon can run along: edges in the order of their names, then
/// lines.
std::vector<PanelFeature> profile_features(const Panel& panel);

/// @param ground an edge or a crest of the panel. A cell belongs to the piece that its nearest point on the
/// line lies in; what lies beyond the line's ends belongs to none. @throws std::invalid_argument for open
/// panel or a name without a line.
EdgeProfile edge_profile_along(const Panel& panel, PanelFeature ground, double width_m = profile_width_m);

/// Per piece the cell with the least of a field, one value a cell of the panel; no_profile_cell where a piece
/// has none.
inline constexpr std::uint32_t no_profile_cell = 0xffffffff;
std::vector<std::uint32_t> least_along(const EdgeProfile& profile, std::span<const float> field);

/// The piece nearest to a point by its middle on the line. @throws std::invalid_argument for a ribbon without
/// pieces.
std::size_t nearest_piece(const EdgeProfile& profile, Point2 p);

} // namespace sparecoat::decide
