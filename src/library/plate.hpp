#pragma once
#include "rooms.hpp"
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace sparecoat::library {

/// A plate that nobody has drawn, and what it is called as a file would be.
struct Plate {
    std::string file; ///< "plate-1200x800-crown-3000": no path, and no blanks
    nlohmann::json body;
};

/// Reads "1200x800", "1200x800 mm" or "1.2x0.8 m" as a flat rectangular panel, width by height (mm where no
/// unit is beside them); after commas what else it has:
/// - "crown 3 m": curved so in both directions; "crown u 6 m", "crown v 3 m": along its width, its height
/// - "line y 400 mm", "line x 300 mm": a body line across at this height, or upright at this width
/// - "corner 20 mm": its corners' radius, else 5 mm
/// - "plastic", "aluminium", "steel" (or "substrate NAME"): else steel
/// Edges are top, right, bottom and left.
/// @return nothing where the text does not start as a size does ("4x"). @throws InputError where it does and
/// is none, or is of an impossible size.
std::optional<Plate> plate_called(const std::string& reference);

} // namespace sparecoat::library
