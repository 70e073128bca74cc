#include "view/render/lesson_folder.hpp"
#include "decide/cautions.hpp"
#include "picture/run_folder.hpp"
#include "units/error.hpp"
#include "view/render/shot.hpp"
#include "view/run/live_run.hpp"
#include <array>
#include <fmt/format.h>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>

namespace sparecoat::view {
namespace {

/// Both runs once more, to be stopped at the steps' moments.
using LiveRuns = std::array<std::unique_ptr<LiveRun>, 2>;

ShotPage page_of(const LessonReport& report, const LessonFrame& frame, LiveRuns& runs,
                 const LessonLook& look) {
    ShotPage page;
    page.map = map_kind(frame.map);
    page.camera = frame.camera, page.nearer = static_cast<float>(frame.nearer), page.look_at = frame.look_at;
    page.width_px = look.width_px, page.height_px = look.height_px;
    page.light_theme = look.light_theme, page.unit = look.unit;
    page.caption = frame.caption;
    for (const LessonFrame::Scene& scene : frame.scenes) {
        const auto k = static_cast<std::size_t>(scene.side);
        if (!runs[k]) runs[k] = std::make_unique<LiveRun>(report.jobs[k]);
        ShotScene shot;
        shot.job = report.jobs[k];
        shot.view = view_at(*runs[k], scene.at_s);
        shot.pad = !scene.over;
        shot.title = fmt::format("{}: {}", scene.side == LessonSide::mistake ? "Mistake" : "Remedy",
                                 report.job(scene.side).step.technique.name);
        shot.spots =
            scene.over ? 1 : 0; // halfway through, the worst so far is not what the caption speaks of
        page.scenes.push_back(std::move(shot));
    }
    return page;
}

std::string page_text(const LessonReport& report, const std::vector<LessonFrame>& frames) {
    std::string out = fmt::format("# {}\n\n{}\n", report.lesson.name, report.lesson.note);
    for (std::size_t k = 0; k < frames.size(); ++k)
        out += fmt::format("\n![Step {0}](step-{0}.png)\n\n**{0} of {1}.** {2}\n", k + 1, frames.size(),
                           frames[k].caption);
    out += fmt::format("\n{}\n\n", estimate_notice);
    for (const std::string_view caution : cautions) out += fmt::format("- {}\n", caution);
    return out;
}

} // namespace

FilmWords film_words(FilmUnit unit) {
    return [unit](double thickness_um) { return film_text(thickness_um, unit); };
}

std::string frame_title(const Lesson& lesson, const LessonFrame& frame, std::size_t step) {
    return fmt::format("{}: step {} of {}, {}", lesson.name, step + 1, lesson.steps.size(),
                       frame.scenes.size() > 1 ? "mistake and remedy"
                                               : fmt::format("the {}", name_of(frame.scenes.front().side)));
}

void write_lesson(const std::filesystem::path& folder, const LessonReport& report, const LessonLook& look,
                  const std::function<void()>& before_step) {
    const FilmWords film = film_words(look.unit);
    const std::vector<LessonFrame> frames = frames_of(report, film);
    LiveRuns runs;
    for (std::size_t k = 0; k < frames.size(); ++k) {
        before_step();
        ShotPage page = page_of(report, frames[k], runs, look);
        page.heading = frame_title(report.lesson, frames[k], k);
        write_page(folder / fmt::format("step-{}.png", k + 1), page);
    }
    write_text_file(folder / "lesson.md", page_text(report, frames));
    write_json(folder / "lesson.json", lesson_document(report, film));
}

} // namespace sparecoat::view
