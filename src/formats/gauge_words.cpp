#include "formats/gauge_words.hpp"
#include "formats/csv.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <array>
#include <initializer_list>
#include <utility>

namespace sparecoat::formats {
namespace {

/// The two signs for micro made u.
std::string plain(std::string_view text) {
    std::string out = lower_case(text);
    for (const std::string_view micro : {"\xC2\xB5", "\xCE\xBC"})
        for (std::size_t at = out.find(micro); at != std::string::npos; at = out.find(micro))
            out.replace(at, micro.size(), "u");
    return out;
}

/// Runs of letters and runs of digits: "Reading1 [µm]" is reading, 1, um.
std::vector<std::string> words_in(std::string_view text) {
    enum class Kind { none, letter, digit };
    std::vector<std::string> words;
    Kind last = Kind::none;
    for (const char c : plain(text)) {
        const Kind kind = c >= 'a' && c <= 'z'   ? Kind::letter
                          : c >= '0' && c <= '9' ? Kind::digit
                                                 : Kind::none;
        if (kind != Kind::none) {
            if (kind != last) words.emplace_back();
            words.back() += c;
        }
        last = kind;
    }
    return words;
}

using Words = std::vector<std::string>;
bool any_of(const Words& words, std::initializer_list<std::string_view> wanted) {
    return std::ranges::any_of(
        words, [&](const std::string& word) { return std::ranges::find(wanted, word) != wanted.end(); });
}

/// µm in one of a length's unit.
std::optional<double> unit_um(std::string_view word) {
    constexpr double um_per_mm = 1e3, um_per_inch = 25.4e3;
    constexpr std::array<std::pair<std::string_view, double>, 16> units = {{{"um", 1},
                                                                            {"micron", 1},
                                                                            {"microns", 1},
                                                                            {"micrometer", 1},
                                                                            {"micrometers", 1},
                                                                            {"micrometre", 1},
                                                                            {"micrometres", 1},
                                                                            {"mil", um_per_mil},
                                                                            {"mils", um_per_mil},
                                                                            {"thou", um_per_mil},
                                                                            {"mm", um_per_mm},
                                                                            {"cm", 10 * um_per_mm},
                                                                            {"m", 1000 * um_per_mm},
                                                                            {"in", um_per_inch},
                                                                            {"inch", um_per_inch},
                                                                            {"inches", um_per_inch}}};
    for (const auto& [name, um] : units)
        if (name == word) return um;
    return std::nullopt;
}

Head head_of(std::string_view cell) {
    Head head;
    Words words = words_in(cell);
    for (const std::string& word : words)
        if (const auto um = unit_um(word)) head.unit_um = um;
    std::erase_if(words, [](const std::string& word) { return unit_um(word).has_value(); });
    head.numbered =
        std::ranges::any_of(words, [](const std::string& w) { return w[0] >= '0' && w[0] <= '9'; });
    const bool clear = any_of(words, {"clear", "clearcoat"}), total = any_of(words, {"total"});
    head.kind_said = clear || total, head.of_clear = clear;
    const bool film = clear || total ||
                      any_of(words, {"film", "thickness", "dft", "reading", "value", "measurement", "mean",
                                     "average", "coating", "paint"});
    const auto is = [&](Head::Role role) { return head.role = role, head; };
    if (words.empty()) return head.unit_um ? is(Head::film) : is(Head::passed);
    if (any_of(words, {"x"})) return is(Head::x);
    if (any_of(words, {"y"})) return is(Head::y);
    if (any_of(words, {"sd", "std", "deviation", "repeatability"})) return is(Head::sd);
    if (any_of(words, {"min", "max", "minimum", "maximum", "range", "date", "time", "serial", "mode", "probe",
                       "operator", "comment", "note", "remark", "gauge", "device", "type", "substrate"}))
        return is(Head::passed);
    if (any_of(words, {"panel"})) return is(Head::panel);
    if (words == Words{"n"} || any_of(words, {"count", "readings"})) return is(Head::count);
    if (any_of(words, {"unit", "units"})) return is(Head::unit);
    if (any_of(words, {"spot", "point", "position", "location", "group", "batch"})) return is(Head::spot);
    if (!head.numbered && !clear && !total && any_of(words, {"no", "nr", "number", "index", "id"}))
        return is(Head::passed);
    return film ? is(Head::film) : head;
}

} // namespace

std::vector<Head> heads_of(const std::vector<std::string>& cells) {
    std::vector<Head> heads;
    for (const std::string& cell : cells) heads.push_back(head_of(cell));
    return heads;
}

std::string group_named(const std::vector<std::string>& cells) {
    const Words words = words_in(cells.front());
    if (words.empty() ||
        !any_of({words.front()}, {"spot", "point", "position", "location", "group", "batch"}))
        return {};
    std::string_view rest = std::string_view(cells.front()).substr(words.front().size());
    const auto from = rest.find_first_not_of(" :#-");
    rest = from == std::string_view::npos ? std::string_view() : rest.substr(from);
    return rest.empty() && cells.size() == 2 ? cells[1] : std::string(rest);
}

std::optional<double> film_unit_um(std::string_view text) {
    const Words words = words_in(text);
    if (words.size() != 1) return std::nullopt;
    const std::optional<double> um = unit_um(words.front());
    return um && *um <= 1e3 ? um : std::nullopt;
}

std::optional<NumberCell> number_in(std::string_view text, bool comma_too) {
    text = trimmed(text);
    NumberCell out;
    const std::size_t end = std::min(text.find_first_not_of("+-0123456789.,"), text.size());
    std::string digits(text.substr(0, end));
    out.unit = trimmed(text.substr(end));
    const auto commas = std::ranges::count(digits, ','), points = std::ranges::count(digits, '.');
    if (digits.empty() || commas + points > 1 || (commas > 0 && !comma_too)) return std::nullopt;
    out.comma = commas > 0, out.point = points > 0;
    std::ranges::replace(digits, ',', '.');
    if (!finite_number(digits, out.value)) return std::nullopt;
    if (!out.unit.empty() && words_in(out.unit).size() != 1) return std::nullopt;
    return out;
}

std::vector<std::string> split_quoted(std::string_view line, char separator) {
    std::vector<std::string> cells(1);
    bool quoted = false;
    for (const char c : line) {
        if (c == '"') quoted = !quoted;
        else if (c == separator && !quoted) cells.emplace_back();
        else cells.back() += c;
    }
    for (std::string& cell : cells) cell = std::string(trimmed(cell));
    return cells;
}

} // namespace sparecoat::formats
