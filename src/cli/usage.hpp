#pragma once
#include "units/error.hpp"
#include <cstdint>
#include <string>
#include <vector>

namespace CLI {
class App;
class ParseError;
} // namespace CLI

namespace sparecoat::cli {

/// What is wrong with a command line, said like every other mistake: the command or option, what was found,
/// what is allowed, with the nearest known name.
InputError usage_error(const CLI::App& app, const CLI::ParseError& error);

/// Refuses an empty value, which a forgotten variable in a script leaves behind. @throws InputError.
void demand_some(const std::string& option, const std::string& value, const std::string& allowed);

/// Holds an option's value to a few words. @throws InputError with the nearest.
void demand_one_of(const std::string& option, const std::string& value,
                   const std::vector<std::string>& words);

/// An option's value as a whole number from `least` to `most`. @throws InputError.
std::uint64_t whole_number(const std::string& option, const std::string& value, std::uint64_t most,
                           std::uint64_t least = 0);

/// An option's value as a cell size, m. @throws InputError unless it is a length from 1 mm to 4 mm.
double grid_spacing(const std::string& value);

} // namespace sparecoat::cli
