#include "decide/evidence.hpp"
#include "units/error.hpp"
#include "units/normal.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <stdexcept>

namespace sparecoat::decide {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

std::string without_blanks_around(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t from = text.find_first_not_of(blanks);
    if (from == std::string_view::npos) return {};
    return std::string(text.substr(from, text.find_last_not_of(blanks) - from + 1));
}

InputError not_understood(const std::string& text) {
    std::string words;
    for (const SeenWord& known : seen_words) words += fmt::format("\"{}\", ", known.word);
    return {"", "", fmt::format("\"{}\"", text),
            words + "or a number from 0 % to 100 % with its sign, such as \"90 %\""};
}

} // namespace

SeenShare seen_number(double share) {
    if (!(share >= 0 && share <= 1)) throw std::invalid_argument("a share seen is from 0 to 1");
    // Of the answers 0, 5, ... 95, 96, ... 100 %, 95 % ends half way to its neighbour above, as they all do.
    constexpr double fine_from = 0.955, coarse = 0.025, fine = 0.005;
    if (share > fine_from) return {std::max(share - fine, fine_from), std::min(share + fine, 1.0)};
    return {std::max(share - coarse, 0.0), std::min(share + coarse, fine_from)};
}

SeenShare seen_share(const std::string& text) {
    const std::string said = lower_case(without_blanks_around(text));
    for (const SeenWord& known : seen_words)
        if (said == known.word) return known.share;
    if (!said.ends_with('%')) throw not_understood(text); // "90" may be meant as 90 %, "1" as either
    try {
        return seen_number(parse_quantity(said, Dim::none));
    } catch (const std::invalid_argument&) {
        throw not_understood(text);
    }
}

double lamp_sd(double true_share) {
    const double q = std::clamp(true_share, 0.0, 1.0);
    return 0.02 + 0.2 * std::sqrt(q * (1 - q));
}

double seen_probability(const SeenShare& seen, double true_share) {
    const double sd = lamp_sd(true_share);
    const double low = seen.low <= 0 ? -infinity : (seen.low - true_share) / sd;
    const double high = seen.high >= 1 ? infinity : (seen.high - true_share) / sd;
    // By the tail that is small, so that what is all but excluded keeps its digits.
    return low > 0 ? normal_above(low) - normal_above(high) : normal_above(-high) - normal_above(-low);
}

double GaugePair::sd_um() const { return repeat_sd_um * std::sqrt(1.0 / n_before + 1.0 / n_after); }

} // namespace sparecoat::decide
