#include "library/lesson_caption.hpp"
#include "formats/nearest.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::library {

using namespace caption;

namespace {

template <std::size_t N> bool has(const FigureName (&table)[N], const std::string& name) {
    return std::ranges::find(table, name, &FigureName::name) != std::end(table);
}

constexpr const char* ratio = "times";

/// Every placeholder there is, an edge or a spot to be named left open as "<edge>" or "<spot>".
const std::vector<std::string>& known_placeholders() {
    static const std::vector<std::string> known = [] {
        std::vector<std::string> all;
        for (const char* side : {"mistake", "remedy", ratio}) {
            const std::string start = std::string(side) + ".";
            const bool words = side != ratio; // a ratio needs numbers
            for (const FigureName& r : run_numbers) all.push_back(start + std::string(r.name));
            for (const FigureName& r : edge_numbers) all.push_back(start + std::string(r.name) + " <edge>");
            if (words)
                for (const FigureName& r : run_words) all.push_back(start + std::string(r.name));
            for (const char* of : {"worst.", "open.", "at <spot>."}) {
                for (const FigureName& r : spot_numbers) all.push_back(start + of + std::string(r.name));
                if (words)
                    for (const FigureName& r : spot_words) all.push_back(start + of + std::string(r.name));
            }
        }
        return all;
    }();
    return known;
}

[[noreturn]] void refuse_placeholder(const std::string& written, const Place& place) {
    std::vector<std::string> near = nearest_names(written, known_placeholders());
    std::string allowed;
    for (const std::string& name : near)
        allowed += (allowed.empty() ? "did you mean {" : " or {") + name + "}";
    place.refuse(
        "no figure {" + written + "}",
        (allowed.empty() ? "" : allowed + "? ") +
            std::string("mistake., remedy. or times., then a figure of the table in docs/formats.md"));
}

/// Cuts what stands before the first dot off. @return what was cut off; all of it where there is no dot.
std::string cut_to_dot(std::string& text) {
    const std::size_t dot = text.find('.');
    std::string first = text.substr(0, dot);
    text = dot == std::string::npos ? "" : text.substr(dot + 1);
    return first;
}

bool is_spot_figure(const Placeholder& p) {
    return has(spot_numbers, p.figure) || (!p.ratio && has(spot_words, p.figure));
}

Placeholder parse_placeholder(const std::string& written, const std::map<std::string, Point2>& spots,
                              const Place& place) {
    Placeholder out;
    std::string rest = written;
    const std::string who = cut_to_dot(rest);
    if (who == ratio) out.ratio = true;
    else if (who == name_of(LessonSide::remedy)) out.side = LessonSide::remedy;
    else if (who != name_of(LessonSide::mistake)) refuse_placeholder(written, place);

    const std::string what = cut_to_dot(rest);
    const std::size_t blank = what.find(' ');
    const std::string word = what.substr(0, blank),
                      argument = blank == std::string::npos ? "" : what.substr(blank + 1);
    if (what == worst || what == open_panel || (word == at_spot && !argument.empty())) {
        out.of = word, out.argument = argument, out.figure = rest;
        if (!is_spot_figure(out)) refuse_placeholder(written, place);
        if (word == at_spot && !spots.contains(argument)) {
            std::vector<std::string> names;
            for (const auto& [name, at] : spots) names.push_back(name);
            place.refuse(fmt::format("no spot \"{}\" in {{{}}}", argument, written),
                         names.empty() ? "a spot of the lesson's own under \"places\""
                                       : suggestion(argument, names, "spots under \"places\""));
        }
        return out;
    }
    out.figure = word, out.argument = argument;
    const bool of_edge = has(edge_numbers, word);
    const bool of_run = has(run_numbers, word) || (!out.ratio && has(run_words, word));
    if (!rest.empty() || !(of_edge ? !argument.empty() : of_run && argument.empty()))
        refuse_placeholder(written, place);
    return out;
}

} // namespace

std::vector<CaptionPiece> take_apart(const std::string& caption, const std::map<std::string, Point2>& spots,
                                     const Place& place) {
    std::vector<CaptionPiece> pieces;
    std::string_view rest = caption;
    while (!rest.empty()) {
        const std::size_t brace = rest.find_first_of("{}");
        if (brace > 0) pieces.push_back({std::string(rest.substr(0, brace)), std::nullopt});
        if (brace == std::string_view::npos) break;
        const std::size_t close = rest.find_first_of("{}", brace + 1);
        if (rest[brace] == '}' || close == std::string_view::npos || rest[close] == '{')
            place.refuse(fmt::format("a brace without its fellow in \"{}\"", rest.substr(brace, 40)),
                         "figures as {mistake.worst.clear_left}");
        const std::string written(rest.substr(brace + 1, close - brace - 1));
        pieces.push_back({"{" + written + "}", parse_placeholder(written, spots, place)});
        rest.remove_prefix(close + 1);
    }
    return pieces;
}

std::string markdown_of_figures() {
    std::string table = "| Figure | Meaning |\n| --- | --- |\n";
    const auto line = [&](std::string_view name, std::string_view meaning) {
        table += fmt::format("| `{}` | {} |\n", name, meaning);
    };
    for (const FigureName& r : run_words) line(r.name, r.meaning);
    for (const FigureName& r : run_numbers) line(r.name, r.meaning);
    for (const FigureName& r : edge_numbers) line(std::string(r.name) + " <edge>", r.meaning);
    for (const FigureName& r : spot_numbers) line("worst." + std::string(r.name), r.meaning);
    for (const FigureName& r : spot_words) line("worst." + std::string(r.name), r.meaning);
    return table;
}

} // namespace sparecoat::library
