#include "library/preset_ids.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>

namespace sparecoat::library {

int diameter_mm(const Pad& pad) { return static_cast<int>(std::lround(2 * pad.radius_m / mm)); }

bool comes_before(std::string_view a, std::string_view b) {
    const auto digits = [](std::string_view text) {
        return std::min(text.find_first_not_of("0123456789"), text.size());
    };
    while (!a.empty() && !b.empty()) {
        const std::size_t run_a = digits(a), run_b = digits(b);
        if (run_a > 0 && run_b > 0) {
            if (run_a != run_b) return run_a < run_b;
            if (a.substr(0, run_a) != b.substr(0, run_b)) return a < b;
        } else if (a.front() != b.front()) {
            return a < b;
        }
        a.remove_prefix(std::max<std::size_t>(run_a, 1));
        b.remove_prefix(std::max<std::size_t>(run_b, 1));
    }
    return a.size() < b.size();
}

std::string length_text(double metres) { return print_quantity(metres, Dim::length, 3); }
std::string speed_text(double rad_s) { return print_quantity(rad_s, Dim::rotation, 4); }

} // namespace sparecoat::library
