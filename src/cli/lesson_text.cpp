#include "cli/lesson_text.hpp"
#include "view/render/lesson_folder.hpp"
#include <algorithm>
#include <fmt/format.h>

namespace sparecoat::cli {
namespace {

constexpr std::size_t line_width = 96, indent = 5;

/// Characters of UTF-8 text: bytes that go on with one are not counted.
std::size_t characters(const std::string& text) {
    return static_cast<std::size_t>(std::ranges::count_if(text, [](char c) { return (c & 0xC0) != 0x80; }));
}

/// Breaks text at blanks into lines of a terminal, all but the first set in.
std::string set_in(const std::string& text) {
    std::string out, line;
    std::size_t at = 0;
    while (at < text.size()) {
        const std::size_t blank = std::min(text.find(' ', at), text.size());
        const std::string word = text.substr(at, blank - at);
        if (!line.empty() && characters(line) + 1 + characters(word) > line_width - indent) {
            out += line + "\n" + std::string(indent, ' ');
            line.clear();
        }
        line += (line.empty() ? "" : " ") + word;
        at = blank + 1;
    }
    return out + line + "\n";
}

} // namespace

std::string lesson_text(const LessonReport& report, FilmUnit unit) {
    std::string out =
        fmt::format("{} ({})\n", report.lesson.name, report.job(LessonSide::mistake).panel.name);
    for (const LessonSide side : both_sides) {
        const RunJob& job = report.job(side);
        out += fmt::format("  {:<8} {}: {}, {}, {}; {}\n", name_of(side), job.step.technique.name,
                           job.step.machine.name, job.step.pad.name, job.step.liquid.name, working_of(job));
    }
    const std::vector<LessonFrame> frames = frames_of(report, film_words(unit));
    for (std::size_t k = 0; k < frames.size(); ++k)
        out += fmt::format("\n{:>3}. {}", k + 1, set_in(frames[k].caption));
    return out + "\n";
}

} // namespace sparecoat::cli
