#pragma once
#include "picture/compare_words.hpp"
#include <string>
#include <vector>

namespace sparecoat::picture {

/// A table of text, for terminal and report alike.
struct TextTable {
    std::string title;
    std::vector<std::string> head;
    std::vector<std::vector<std::string>> rows; ///< each as long as the head; the first column names it
};

/// What differs between the techniques; no rows where nothing does.
TextTable settings_table(const Comparison& comparison);
/// Every measure of every technique with its interval.
TextTable measures_table(const Comparison& comparison, FilmUnit unit);
/// Every measure of one technique over the first, with its interval and whether that is more than noise.
TextTable differences_table(const Comparison& comparison, std::size_t technique, FilmUnit unit);

} // namespace sparecoat::picture
