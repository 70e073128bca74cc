#pragma once
#include "rooms.hpp"
#include <string>
#include <string_view>
#include <vector>

namespace sparecoat::cli {

/// Room for a label.
inline constexpr std::size_t label_width = 13;

/// How many columns a text takes on a screen; µ and the like are one.
std::size_t columns(std::string_view utf8);

/// Filled up with blanks to so many columns.
std::string padded(const std::string& text, std::size_t width);

/// Text for a screen: lines with a label before the first and as much room before the others, broken at
/// blanks but not between a number and its unit.
class Page {
public:
    explicit Page(std::size_t room = label_width) : room_(room) {}

    void line(const std::string& label, const std::string& text);
    void lines(const std::string& label, const std::vector<std::string>& sentences);
    void raw(const std::string& text) { text_ += text + '\n'; }
    std::string take() { return std::move(text_); }

private:
    std::size_t room_;
    std::string text_;
};

} // namespace sparecoat::cli
