#include "cli/lesson_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/lesson_text.hpp"
#include "cli/progress.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "view/render/lesson_folder.hpp"
#include "view/render/shot.hpp"
#include <CLI/CLI.hpp>
#include <iostream>
#include <tuple>

namespace sparecoat::cli {
namespace {

LessonLook look_of(const LessonOptions& o) {
    demand_one_of("--theme", o.theme, {"light", "dark"});
    LessonLook look;
    std::tie(look.width_px, look.height_px) = parse_shot_size(o.size);
    look.light_theme = o.theme == "light", look.unit = o.common.film_unit;
    return look;
}

LessonReport run_showing_progress(const LessonOptions& o, int threads) {
    const Library library = Library::standard();
    const Lesson lesson = library.lesson(o.lesson);
    const std::optional<double> grid_m = o.own_grid ? std::nullopt : std::optional(o.common.grid_m);
    ProgressLine line;
    return run_lesson(lesson, prepare_lesson(library, lesson, grid_m), threads, [&](double share) {
        line.tell(share);
        return noted_signal() == 0;
    });
}

} // namespace

void LessonOptions::add_to(CLI::App& command) {
    command.add_option("lesson", lesson, "lesson preset or file")->type_name("LESSON")->required();
    command.add_option("--out", out, "folder for a picture of each step, lesson.md and lesson.json")
        ->type_name("FOLDER");
    command.add_option("--size", size, "of the pictures")->type_name("WxH")->capture_default_str();
    command.add_option("--theme", theme, "light or dark")->type_name("light|dark")->capture_default_str();
    common.add_to(command);
    threads.add_to(command);
    command.get_option("--grid")->description("cell size, 1 mm to 4 mm, instead of the lesson's own");
}

int command_lesson(const CLI::App& command, LessonOptions& o) {
    o.own_grid = command.count("--grid") == 0;
    o.common.check();
    const int threads = o.threads.count();
    const LessonLook look = look_of(o);
    if (o.out) demand_some("--out", *o.out, "a folder to write to");

    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);
    const LessonReport report = run_showing_progress(o, threads);
    const std::string text = lesson_text(report, look.unit);
    if (folder) {
        write_lesson(folder->path(), report, look, stop_if_asked);
        stop_if_asked();
        folder->commit();
    }
    std::cout << text;
    if (folder) std::cout << "Written      " << folder->target().string() << '\n';
    std::cout << cautions_text();
    return 0;
}

} // namespace sparecoat::cli
