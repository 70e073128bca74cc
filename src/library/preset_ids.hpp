#pragma once
#include "tool/tool.hpp"
#include <string>
#include <string_view>

namespace sparecoat::library {

// How lists and messages name presets and their figures.

/// A pad's diameter as its id has it.
int diameter_mm(const Pad& pad);

/// Text order, but runs of digits by their number: "da-8" before "da-12".
bool comes_before(std::string_view a, std::string_view b);

std::string length_text(double metres); ///< "150 mm"
std::string speed_text(double rad_s);   ///< "4800/min"

} // namespace sparecoat::library
