#pragma once
#include "rooms.hpp"
#include <optional>
#include <string>
#include <string_view>
#include <vector>

// Words and numbers as gauges and spreadsheets write them.

namespace sparecoat::formats {

/// What a column of a gauge's file holds, by its heading.
struct Head {
    enum Role { unknown, x, y, film, spot, panel, count, sd, unit, passed };
    Role role = unknown;
    std::optional<double> unit_um; ///< µm in one of its unit, where the heading says it
    bool of_clear = false, kind_said = false;
    bool numbered = false; ///< "reading 2": one of several of a spot
};

std::vector<Head> heads_of(const std::vector<std::string>& cells);

/// The name in a line that heads a group of readings, "Spot 3" or "Group; roof"; empty: it heads none.
std::string group_named(const std::vector<std::string>& cells);

/// µm in one of a unit of film: µm, mil, mm and their other names.
std::optional<double> film_unit_um(std::string_view text);

struct NumberCell {
    double value = 0;
    std::string unit;                  ///< what follows the number
    bool comma = false, point = false; ///< its decimal sign
};
/// A number with or without a unit behind it. @param comma_too a comma may be its decimal sign.
std::optional<NumberCell> number_in(std::string_view text, bool comma_too);

/// A line's values, trimmed; separators within double quotes part nothing.
std::vector<std::string> split_quoted(std::string_view line, char separator);

} // namespace sparecoat::formats
