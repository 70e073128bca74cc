#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::units {

void add_sets(std::string& words, int sets, std::string_view step) {
    words += fmt::format("{}{} of {}", words.empty() ? "" : ", then ", counted(sets, "set", "sets"), step);
}

void add_sets_briefly(std::string& words, int sets, std::string_view step) {
    words += fmt::format("{}{} x {}", words.empty() ? "" : ", then ", sets, step);
}

std::string hours_text(double seconds) {
    const auto minutes = std::lround(seconds / 60);
    return minutes < 60 ? fmt::format("{} min", minutes)
                        : fmt::format("{} h {:02} min", minutes / 60, minutes % 60);
}

std::string minutes_text(double seconds) {
    return seconds < 60 ? fmt::format("{:.0f} s", seconds) : fmt::format("{:.0f} min", seconds / 60);
}

std::string minutes_and_seconds_text(double seconds) {
    const long whole = std::lround(seconds);
    return whole < 60 ? fmt::format("{} s", whole) : fmt::format("{} min {:02} s", whole / 60, whole % 60);
}

std::string whole_minutes_text(double seconds) {
    return fmt::format("{:.0f} min", std::max(1.0, std::round(seconds / 60)));
}

} // namespace sparecoat::units
