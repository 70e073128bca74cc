#pragma once
#include "rooms.hpp"
#include <string>
#include <string_view>

namespace sparecoat::formats {

/// Text as XML and HTML have it: of & < > " ' those that are among `signs` written as entities.
std::string escaped(std::string_view text, std::string_view signs = "&<>\"'");

} // namespace sparecoat::formats
