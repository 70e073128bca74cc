#include "units/percent.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::units {
namespace {

constexpr double all_but = 0.9995; ///< from here on a share is all, to the decimal that would show

} // namespace

std::string whole_percent(double share) { return fmt::format("{:.0f} %", 100 * share); }

std::string percent_finer_near_all(double share) {
    if (share >= all_but) return "100 %";
    return share > 0.99 ? fmt::format("{:.1f} %", 100 * share) : whole_percent(share);
}

std::string percent_finer_near_none(double chance) {
    if (chance < 0.001) return "under 0.1 %";
    return chance < 0.1 ? fmt::format("{:.1f} %", 100 * chance) : whole_percent(chance);
}

std::string percent_never_sure(double chance) {
    if (chance < 0.005) return "under 1 %";
    if (chance > 0.995) return "over 99 %";
    return whole_percent(chance);
}

std::string of_hundred(double share) {
    return share >= all_but ? "100" : fmt::format("{:.0f}", std::min(100 * share, 99.0));
}

std::string percent_as_entered(double share, int digits) { return print_in(share, Dim::none, "%", digits); }

} // namespace sparecoat::units
