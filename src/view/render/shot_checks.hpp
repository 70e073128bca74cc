#pragma once
#include "rooms.hpp"
#include <string>

namespace sparecoat::view {

/// @throws InputError that names the cameras there are.
[[noreturn]] void refuse_camera(const std::string& camera);
/// @throws InputError where a picture of so many pixels cannot be drawn.
void check_size(int width, int height);

} // namespace sparecoat::view
