#pragma once
#include "rooms.hpp"
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::formats {

/// Without blanks, tabs and carriage returns at both ends.
std::string_view trimmed(std::string_view text);

/// A line's values, trimmed; one more than it has commas. Quotes have no meaning here.
std::vector<std::string_view> csv_values(std::string_view line);

/// A file's lines, without a byte order mark and without blank lines at the end.
/// @param wanted what is allowed, for the message. @throws InputError (csv, "") where there is no such file.
std::vector<std::string> csv_lines(const std::filesystem::path& csv, const std::string& wanted);

/// The whole of the text as a finite number, such as "12.5" or "-3e2". @return false where it is none.
bool finite_number(std::string_view text, double& value);

} // namespace sparecoat::formats
