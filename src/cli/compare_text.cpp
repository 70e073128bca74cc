#include "cli/compare_text.hpp"
#include "picture/compare_table.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::cli {
namespace {

/// Letters, not bytes.
std::size_t length_of(const std::string& text) {
    return static_cast<std::size_t>(
        std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }));
}

std::string line_of(const std::vector<std::string>& cells, const std::vector<std::size_t>& widths) {
    std::string line = " ";
    for (std::size_t k = 0; k < cells.size(); ++k)
        line += ' ' + cells[k] +
                (k + 1 < cells.size() ? std::string(widths[k] - length_of(cells[k]) + 2, ' ') : "");
    return line + '\n';
}

std::string text_of(const TextTable& table) {
    std::vector<std::size_t> widths(table.head.size(), 0);
    const auto widen = [&](const std::vector<std::string>& cells) {
        for (std::size_t k = 0; k < cells.size(); ++k) widths[k] = std::max(widths[k], length_of(cells[k]));
    };
    widen(table.head);
    for (const std::vector<std::string>& cells : table.rows) widen(cells);
    std::string out = table.title + '\n' + line_of(table.head, widths);
    for (const std::vector<std::string>& cells : table.rows) out += line_of(cells, widths);
    return out + '\n';
}

/// Broken at spaces so that lines keep to a terminal's width.
std::string wrapped(const std::string& text, std::size_t width = 100) {
    std::string out, line;
    for (std::size_t from = 0; from <= text.size();) {
        const std::size_t space = std::min(text.find(' ', from), text.size());
        const std::string word = text.substr(from, space - from);
        if (!line.empty() && length_of(line) + 1 + length_of(word) > width) out += line + '\n', line.clear();
        line += (line.empty() ? "" : " ") + word;
        from = space + 1;
    }
    return out + line + '\n';
}

} // namespace

std::string compare_text(const Comparison& comparison, FilmUnit unit) {
    const std::size_t count = comparison.techniques.size();
    std::string out = fmt::format("{}: {} techniques compared\n", comparison.panel().name, count);
    for (std::size_t t = 0; t < count; ++t)
        out += fmt::format("  {}  {}: {}\n", letter_of(comparison, t), name_of_compared(comparison, t),
                           worked_with(comparison.techniques[t]));
    out += "  " + ground_of(comparison) + "\n\n";
    const std::vector<std::string> warnings = warnings_of(comparison);
    for (const std::string& warning : warnings) out += wrapped(warning);
    if (!warnings.empty()) out += '\n';
    if (comparison.settings.empty()) out += "The techniques have the same settings.\n\n";
    else out += text_of(settings_table(comparison));
    out += text_of(measures_table(comparison, unit));
    for (std::size_t t = 1; t < count; ++t) {
        out += text_of(differences_table(comparison, t, unit));
        for (const std::string& sentence : what_differs(comparison, t, unit)) out += wrapped(sentence);
        out += '\n';
    }
    out += "Highest chance of burning through\n";
    for (std::size_t t = 0; t < count; ++t) out += "  " + weakest_text(comparison, t) + '\n';
    out += '\n' + wrapped(interval_words(comparison)) + "\nWhat is unsure\n";
    for (const std::string& doubt : doubts_of(comparison, unit)) out += wrapped("- " + doubt);
    return out + '\n';
}

} // namespace sparecoat::cli
