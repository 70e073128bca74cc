#include "picture/plan_figures.hpp"
#include "picture/section_words.hpp"
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::picture {

std::string percent_text(double share) {
    if (share >= 0.9995) return "100 %";
    return share > 0.99 ? fmt::format("{:.1f} %", 100 * share) : fmt::format("{:.0f} %", 100 * share);
}

std::string small_chance_text(double chance) {
    if (chance < 0.001) return "under 0.1 %";
    return chance < 0.1 ? fmt::format("{:.1f} %", 100 * chance) : fmt::format("{:.0f} %", 100 * chance);
}

std::string hours_text(double seconds) {
    const auto minutes = static_cast<long>(std::lround(seconds / 60));
    return minutes < 60 ? fmt::format("{} min", minutes)
                        : fmt::format("{} h {:02} min", minutes / 60, minutes % 60);
}

std::string sum_text(const FilmSum& sum, FilmUnit unit) { return film_error_text(sum.um, sum.sd_um, unit); }

std::string counted_text(int number, const char* one, const char* more) {
    return fmt::format("{} {}", number, number == 1 ? one : more);
}

} // namespace sparecoat::picture
