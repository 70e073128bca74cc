#pragma once
#include "rooms.hpp"
#include <string>
#include <string_view>

namespace sparecoat::formats {

/// SHA-256 of some bytes as 64 hexadecimal digits (FIPS 180-4, section 6.2).
std::string sha256(std::string_view bytes);

/// Base64 with padding (RFC 4648, section 4).
std::string to_base64(std::string_view bytes);
/// @throws std::invalid_argument where it is none.
std::string from_base64(std::string_view text);

} // namespace sparecoat::formats
