#pragma once
#include "tool/strokes.hpp"
#include "tool/technique.hpp"
#include <functional>
#include <string>
#include <vector>

namespace sparecoat::tool {

/// The pieces of a technique's strips, in the order of its list. Beside an edge a strip is the level set of
/// the distance to the nearest edge, so far as that edge is the nearest: strips of neighbours meet in the
/// mitre of their corner. Beside a line it is the level set of the distance to that line on its asked sides,
/// without the ends' half circles; at 0 the line itself. It is cut where the pad's centre may not go and
/// where another edge or line is nearer than clear_of (the sharp roll of an edge and the edge count as one).
/// Pieces shorter than a quarter of the pad's radius are dropped, those longer than charge_every_m cut into
/// equal ones. Closed pieces end where they start. Pure function, independent of the panel's grid.
/// @param region where the pad's centre may go. @param file named in messages.
/// @throws InputError (file, place): "/strips" none, or none that is left on the panel, "/strips/<k>/along"
/// an unknown name, "/strips/<k>/at/<i>" below 0 or 0 for an edge, "/strips/<k>/side" a side that it lacks,
/// "/strips/<k>/clear_of" below 0, "/charge_every" not above 0.
std::vector<ArmWay> strip_pieces(const Technique& technique, double pad_radius_m, const Panel& panel,
                                 const PadRegion& region, const std::string& file = {});

/// Adds pieces of strip as strokes: each `passes` times, there and back in turn, with fresh liquid and a
/// clean pad at its start (the first comes charged); the next is the one with the nearest end.
/// @param wander_m sideways, by number of the run; empty = none. A run wanders no farther than the region
/// allows.
void add_strips(StrokePlan& plan, const PadRegion& region, std::vector<ArmWay> pieces, int passes,
                const std::function<double(int)>& wander_m);

} // namespace sparecoat::tool
