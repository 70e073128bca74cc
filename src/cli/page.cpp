#include "cli/page.hpp"
#include <algorithm>

namespace sparecoat::cli {
namespace {

constexpr std::size_t page_width = 118;

/// Where the word that begins at `from` ends; a number keeps its unit.
std::size_t end_of_word(const std::string& text, std::size_t from) {
    std::size_t to = std::min(text.find(' ', from), text.size());
    while (to < text.size() && to > from && text[to - 1] >= '0' && text[to - 1] <= '9')
        to = std::min(text.find(' ', to + 1), text.size());
    return to;
}

} // namespace

std::size_t columns(std::string_view utf8) {
    return static_cast<std::size_t>(
        std::ranges::count_if(utf8, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string padded(const std::string& text, std::size_t width) {
    const std::size_t n = columns(text);
    return text + std::string(width > n ? width - n : 0, ' ');
}

void Page::line(const std::string& label, const std::string& text) {
    std::string current = padded(label, room_);
    bool fresh = true;
    for (std::size_t from = 0; from <= text.size();) {
        const std::size_t to = end_of_word(text, from);
        const std::string word = text.substr(from, to - from);
        if (!fresh && columns(current) + 1 + columns(word) > page_width) {
            text_ += current + '\n';
            current.assign(room_, ' ');
            fresh = true;
        }
        current += (fresh ? "" : " ") + word;
        fresh = false;
        from = to + 1;
    }
    text_ += current + '\n';
}

void Page::lines(const std::string& label, const std::vector<std::string>& sentences) {
    for (std::size_t k = 0; k < sentences.size(); ++k) line(k == 0 ? label : "", sentences[k]);
}

} // namespace sparecoat::cli
