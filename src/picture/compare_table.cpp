#include "picture/compare_table.hpp"
#include <fmt/format.h>

namespace sparecoat::picture {
namespace {

std::vector<std::string> letters_after(const std::string& first, const Comparison& comparison) {
    std::vector<std::string> head{first};
    for (std::size_t t = 0; t < comparison.techniques.size(); ++t) head.push_back(letter_of(comparison, t));
    return head;
}

} // namespace

TextTable settings_table(const Comparison& comparison) {
    TextTable table{"What is done otherwise", letters_after("Setting", comparison), {}};
    for (const SettingRow& row : comparison.settings) {
        table.rows.push_back({row.name});
        table.rows.back().insert(table.rows.back().end(), row.values.begin(), row.values.end());
    }
    return table;
}

TextTable measures_table(const Comparison& comparison, FilmUnit unit) {
    TextTable table{"What it comes to", letters_after("Measure", comparison), {}};
    for (const Measure measure : all_measures) {
        const MeasureWords words = words_of(measure, unit);
        table.rows.push_back({words.heading()});
        for (const ComparedTechnique& technique : comparison.techniques)
            table.rows.back().push_back(
                estimate_text(technique.estimates[static_cast<std::size_t>(measure)], words));
    }
    return table;
}

TextTable differences_table(const Comparison& comparison, std::size_t technique, FilmUnit unit) {
    const std::string letter = letter_of(comparison, technique);
    TextTable table{fmt::format("{} against A", letter),
                    {"Measure", fmt::format("{} \u2212 A", letter), "Is that noise?"},
                    {}};
    for (const Measure measure : all_measures) {
        const ComparedDifference& difference = comparison.difference(technique, measure);
        const MeasureWords words = words_of(measure, unit);
        table.rows.push_back({words.heading(), estimate_text(difference.paired.estimate, words, true),
                              noise_text(comparison, difference)});
    }
    return table;
}

} // namespace sparecoat::picture
