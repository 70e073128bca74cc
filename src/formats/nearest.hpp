#pragma once
#include "rooms.hpp"
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::formats {

/// Fewest single-character insertions, deletions, replacements and swaps of neighbours that turn one
/// text into the other, no part edited twice (optimal string alignment; Damerau 1964). Bytes, not characters.
int edit_distance(std::string_view a, std::string_view b);

/// The known names a mistyped one may have meant, at most three in alphabetical order of the equally
/// near: those fewest edits away, within a third of its length or 2, and those that it begins. Case is
/// ignored.
std::vector<std::string> nearest_names(std::string_view mistyped, const std::vector<std::string>& known);

/// For InputError's `allowed`: "did you mean 'a' or 'b'? known keys: ...", or only the list where
/// nothing is near.
/// @param listed what the list holds ("known keys")
std::string suggestion(std::string_view mistyped, const std::vector<std::string>& known,
                       std::string_view listed);

} // namespace sparecoat::formats
