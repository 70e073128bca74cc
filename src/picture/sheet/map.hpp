#pragma once
#include "picture/document/document.hpp"
#include "picture/sheet/facts.hpp"

namespace sparecoat::picture::sheet {

/// The panel as it lies in the plane, v up: outline and lines with their names, what the plan's steps keep
/// off (each at its widest), gauge readings and spots at risk by their numbers in the tables, taped squares.
/// Readable in grey.
document::Picture map_of(const SheetPanel& panel);

} // namespace sparecoat::picture::sheet
