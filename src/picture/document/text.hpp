#pragma once
#include "rooms.hpp"
#include <string>

namespace sparecoat::picture::document {

/// On one line and without what no printed page or XML can hold: control characters become blanks.
std::string printable(const std::string& text);
/// Valid UTF-8, without control characters other than ends of lines and tabs.
std::string without_controls(const std::string& text);

} // namespace sparecoat::picture::document
