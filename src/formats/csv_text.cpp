#include "formats/csv_text.hpp"
#include "units/error.hpp"
#include <charconv>
#include <cmath>
#include <fstream>

namespace sparecoat::formats {

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

std::vector<std::string_view> csv_values(std::string_view line) {
    std::vector<std::string_view> parts;
    for (;;) {
        const auto comma = line.find(',');
        parts.push_back(trimmed(line.substr(0, comma)));
        if (comma == std::string_view::npos) return parts;
        line.remove_prefix(comma + 1);
    }
}

std::vector<std::string> csv_lines(const std::filesystem::path& csv, const std::string& wanted) {
    std::ifstream in(csv, std::ios::binary);
    if (!in || std::filesystem::is_directory(csv))
        throw InputError(csv.string(), "", "no such file, or no leave to read it", wanted);
    std::vector<std::string> lines;
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    while (!lines.empty() && trimmed(lines.back()).empty()) lines.pop_back();
    constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
    if (!lines.empty() && lines.front().starts_with(byte_order_mark))
        lines.front().erase(0, byte_order_mark.size());
    return lines;
}

bool finite_number(std::string_view text, double& value) {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc() && end == text.data() + text.size() && std::isfinite(value);
}

} // namespace sparecoat::formats
