#include "finish/described.hpp"
#include "units/error.hpp"
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::finish {
namespace {

/// One kind of mark as faint, plain or glaring.
struct Row {
    MarkKind kind;
    std::array<double, 3> depth_um; ///< median
    double depth_sd;
    std::array<double, 3> width_m; ///< across a line, or a spot's diameter
    double length_m;               ///< of a line
    std::array<double, 3> dense;   ///< metres of line, or spots, per square metre
};

constexpr double um = 1e-6;
constexpr std::array rows{
    Row{MarkKind::swirls, {0.3, 0.55, 0.95}, 0.4, {3 * um, 5 * um, 8 * um}, 0.03, {1200, 2500, 5000}},
    Row{MarkKind::scratches, {0.6, 1.0, 1.6}, 0.3, {10 * um, 15 * um, 25 * um}, 0.08, {2, 6, 20}},
    Row{MarkKind::water_spots, {0.35, 0.7, 1.1}, 0.35, {3 * mm, 4 * mm, 5 * mm}, 0, {150, 500, 1500}},
    Row{MarkKind::bird_lime, {0.5, 0.9, 1.3}, 0.35, {15 * mm, 20 * mm, 25 * mm}, 0, {1.5, 3, 6}},
    // About what P3000, P2500 and P2000 leave, see step_marks.
    Row{MarkKind::sanding, {0.7, 1.0, 1.2}, 0.4, {6 * um, 8 * um, 10 * um}, 0.15, {160e3, 125e3, 100e3}},
    // About what a polish, a medium polish and a cutting compound leave.
    Row{MarkKind::haze, {0.13, 0.2, 0.4}, 0.4, {1 * um, 1.6 * um, 3.2 * um}, 0.15, {4.5e3, 7e3, 14e3}},
    Row{MarkKind::chips, {60, 80, 120}, 0.4, {1 * mm, 1.5 * mm, 2.5 * mm}, 0, {2, 6, 20}},
};

/// Median depth of what catches a nail, and its width where it is a line.
constexpr double nail_depth_um = 8, nail_width_m = 60 * um;

/// Two digits, without an exponent.
std::string rounded(double value) {
    return value < 100 ? fmt::format("{:.2g}", value) : fmt::format("{:.0f}", value);
}

} // namespace

std::string_view name_of(Visible visible) {
    switch (visible) {
    case Visible::faint: return "faint";
    case Visible::plain: return "plain";
    case Visible::glaring: return "glaring";
    }
    return "";
}

MarkPopulation population_of(const Described& words) {
    if (words.fingernail && words.kind == MarkKind::haze)
        throw InputError("", "", "haze that catches a fingernail",
                         "haze without, or scratches or sanding marks that do");
    const Row& row = rows[static_cast<std::size_t>(words.kind)];
    const auto grade = static_cast<std::size_t>(words.visible);
    MarkPopulation marks;
    marks.kind = row.kind;
    marks.depth_um = row.depth_um[grade];
    marks.depth_sd = row.depth_sd;
    marks.width_m = row.width_m[grade];
    marks.length_m = row.length_m;
    marks.per_m2 = made_of_lines(row.kind) ? row.dense[grade] / row.length_m : row.dense[grade];
    if (words.fingernail && clearable(words.kind)) {
        marks.depth_um = nail_depth_um;
        if (made_of_lines(row.kind)) marks.width_m = nail_width_m;
    }
    return marks;
}

std::string numbers_of(const MarkPopulation& marks) {
    constexpr double ninety = 1.645; // between them lie nine marks in ten
    const double spread = std::exp(ninety * marks.depth_sd);
    std::string text = fmt::format("depth {} µm ({} to {} µm), ", rounded(marks.depth_um),
                                   rounded(marks.depth_um / spread), rounded(marks.depth_um * spread));
    const std::string width = print_quantity(marks.width_m, Dim::length, 3);
    if (!made_of_lines(marks.kind))
        return text + fmt::format("{} across, {} on a square metre", width, rounded(marks.per_m2));
    text += fmt::format("{} wide, {} m on a square metre", width, rounded(marks.length_per_area()));
    if (marks.direction_rad)
        text += fmt::format(", along {}", print_quantity(*marks.direction_rad, Dim::angle, 3));
    return text;
}

} // namespace sparecoat::finish
