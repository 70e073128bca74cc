#include "formats/nearest.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <utility>

namespace sparecoat::formats {

int edit_distance(std::string_view a, std::string_view b) {
    // distance[i][j]: between the first i bytes of a and the first j of b.
    std::vector<std::vector<int>> distance(a.size() + 1, std::vector<int>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) distance[i][0] = static_cast<int>(i);
    for (std::size_t j = 0; j <= b.size(); ++j) distance[0][j] = static_cast<int>(j);
    for (std::size_t i = 1; i <= a.size(); ++i) {
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const int replace = distance[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            distance[i][j] = std::min({distance[i - 1][j] + 1, distance[i][j - 1] + 1, replace});
            const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if (swapped) distance[i][j] = std::min(distance[i][j], distance[i - 2][j - 2] + 1);
        }
    }
    return distance[a.size()][b.size()];
}

std::vector<std::string> nearest_names(std::string_view mistyped, const std::vector<std::string>& known) {
    constexpr std::size_t longest_name = 200; // nothing longer is a slip of the finger; keeps the table small
    if (mistyped.empty() || mistyped.size() > longest_name) return {};
    const std::string wanted = lower_case(mistyped);
    const int limit = std::max(2, static_cast<int>(wanted.size()) / 3);
    std::vector<std::pair<int, std::string>> near;
    for (const std::string& name : known) {
        const std::string candidate = lower_case(name);
        const int distance = edit_distance(wanted, candidate);
        // Two edits make "da" of "abc": a name must keep at least half of the letters to count as near.
        const bool alike =
            distance <= limit && 2 * distance <= static_cast<int>(std::max(wanted.size(), candidate.size()));
        if (alike || candidate.starts_with(wanted)) near.emplace_back(distance, name);
    }
    std::ranges::sort(near);
    std::vector<std::string> names;
    for (const auto& [distance, name] : near) {
        const bool as_good_as_the_best =
            distance == near.front().first || lower_case(name).starts_with(wanted);
        if (names.size() < 3 && as_good_as_the_best) names.push_back(name);
    }
    return names;
}

std::string suggestion(std::string_view mistyped, const std::vector<std::string>& known,
                       std::string_view listed) {
    std::string text;
    if (const auto near = nearest_names(mistyped, known); !near.empty())
        text = fmt::format("did you mean '{}'? ", fmt::join(near, "' or '"));
    return text +
           fmt::format("{}: {}", listed,
                       known.empty() ? std::string("none") : fmt::format("{}", fmt::join(known, ", ")));
}

} // namespace sparecoat::formats
