#pragma once
#include "rooms.hpp"
#include <concepts>
#include <fmt/format.h>
#include <string>
#include <string_view>

namespace sparecoat::units {

/// "1 set", "2 sets".
std::string counted(std::integral auto number, std::string_view one, std::string_view several) {
    return fmt::format("{} {}", number, number == 1 ? one : several);
}

/// Adds a step to the words of a sequence: "2 sets of polish on medium foam 150 mm, then 1 set of ...".
void add_sets(std::string& words, int sets, std::string_view step);

/// The same in brief: "2 x polish on medium foam 150 mm, then 1 x ...".
void add_sets_briefly(std::string& words, int sets, std::string_view step);

/// "6 h 20 min", "12 min".
std::string hours_text(double seconds);
/// "12 min", "50 s".
std::string minutes_text(double seconds);
/// "3 min 05 s", "50 s".
std::string minutes_and_seconds_text(double seconds);
/// "12 min", 1 at the least.
std::string whole_minutes_text(double seconds);

} // namespace sparecoat::units
