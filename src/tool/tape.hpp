#pragma once
#include "panel/panel.hpp"
#include "tool/technique.hpp"
#include <cstdint>
#include <string>
#include <vector>

namespace sparecoat::tool {

/// Which cells a technique's masking tape covers: 1 where the cell's centre lies closer to an edge, body
/// line, roll or rim than that one's tape is wide. Empty where there is no tape. The pad runs over tape as
/// over paint; what lies under it loses nothing.
/// @throws InputError (file, "/tape/<edge>"), naming the panel's edges and crests, for a name it lacks.
std::vector<std::uint8_t> taped_cells(const Technique& technique, const Panel& panel,
                                      const std::string& file = {});

} // namespace sparecoat::tool
