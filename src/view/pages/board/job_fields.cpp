#include "view/pages/board/job_fields.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/pages/board/board_words.hpp"
#include "view/pages/board/job_model.hpp"
#include "view/run/background_task.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::board {

double seconds_of(const std::string& text) {
    const char* const allowed = "hours for the whole vehicle, such as 6 or \"6 h\", up to 1000 h";
    try {
        const double bare = parse_quantity(text, Dim::none) * 3600; // a bare number is of hours
        if (bare > 0 && bare <= 1000 * 3600.0) return bare;
    } catch (const std::invalid_argument&) {
        try {
            const double seconds = parse_quantity(text, Dim::time);
            if (seconds > 0 && seconds <= 1000 * 3600.0) return seconds;
        } catch (const std::invalid_argument&) {}
    }
    throw InputError("", "time limit", "\"" + text + "\"", allowed);
}

/// A thickness; a bare number is in the unit shown.
double film_of(const std::string& field, std::string text, FilmUnit unit, double most_um) {
    std::ranges::replace(text, ',', '.');
    const std::string allowed = fmt::format("a thickness up to {:g} µm, in {} where no unit is typed",
                                            most_um, unit == FilmUnit::mil ? "mil" : "µm");
    for (const std::string& alternative : {text + (unit == FilmUnit::mil ? " mil" : " um"), text}) {
        try {
            const double um = parse_quantity(alternative, Dim::length) * 1e6;
            if (um > 0 && um <= most_um) return um;
        } catch (const std::invalid_argument&) {}
    }
    throw InputError("", field, "\"" + text + "\"", allowed);
}

double vibration_of(const std::string& machine, std::string text) {
    std::ranges::replace(text, ',', '.');
    try {
        const double value = parse_quantity(text, Dim::none);
        if (value >= 0 && value <= 50) return value;
    } catch (const std::invalid_argument&) {}
    throw InputError("", machine, "\"" + text + "\"",
                     "the vibration total value from its papers in m/s², 0 to 50");
}

int whole_of(const std::string& field, const std::string& text, int low, int high) {
    try {
        const double value = parse_quantity(text, Dim::none);
        if (value >= low && value <= high && value == std::floor(value)) return static_cast<int>(value);
    } catch (const std::invalid_argument&) {}
    throw InputError("", field, "\"" + text + "\"", fmt::format("a whole number from {} to {}", low, high));
}

} // namespace sparecoat::view::board
