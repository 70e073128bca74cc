#include "view/pages/lesson/lesson_play.hpp"
#include "view/render/lesson_folder.hpp"
#include <algorithm>
#include <cmath>
#include <limits>

namespace sparecoat::view::lesson {

LessonPlay::LessonPlay(std::shared_ptr<const LessonReport> report, LessonHome before)
    : home(std::move(before)), report_(std::move(report)),
      frames_(frames_of(*report_, film_words(FilmUnit::um))) {}

bool LessonPlay::go_to(std::size_t step) {
    if (step >= frames_.size() || step == step_) return false;
    step_ = step;
    scene_ = frame().scenes.size() - 1; // of two, the remedy: the mistake was seen in the steps before
    return true;
}

void LessonPlay::turn_over() { scene_ = (scene_ + 1) % frame().scenes.size(); }

const std::string& LessonPlay::caption(FilmUnit unit) {
    if (unit != unit_) frames_ = frames_of(*report_, film_words(unit));
    unit_ = unit;
    return frame().caption;
}

Choices LessonPlay::choices() const { return {job()->request, job()->step.technique}; }

std::optional<LockedRange> LessonPlay::range(MapKind map) const {
    if (!map_info(map).film) return std::nullopt;
    float low = std::numeric_limits<float>::infinity(), high = -low;
    for (const LessonSide side : both_sides) {
        const Panel& panel = report_->job(side).panel;
        const Fields& fields = report_->outcome(side).result.fields;
        const std::vector<float> values =
            map == MapKind::film_lost ? fields.removed_um : clear_left_um(panel, fields);
        for (std::size_t k = 0; k < values.size(); ++k)
            if (panel.inside[k]) low = std::min(low, values[k]), high = std::max(high, values[k]);
    }
    if (!(low < high)) return std::nullopt;
    return LockedRange{low, high};
}

bool LessonMaker::ask(const Library& library, const std::string& reference) {
    if (working_ || !maker_.idle()) return false;
    working_ = true;
    maker_.ask({library, reference, off_});
    return true;
}

LessonMaker::Made LessonMaker::make(Wish wish) {
    try {
        const Lesson lesson = wish.library.lesson(wish.reference);
        auto report = std::make_shared<const LessonReport>(
            run_lesson(lesson, prepare_lesson(wish.library, lesson), 0, [&](double) { return !*wish.off; }));
        // A moment that does not come is told before the lesson begins.
        frames_of(*report, film_words(FilmUnit::um));
        return {std::move(report), nullptr};
    } catch (...) {
        return {nullptr, std::current_exception()};
    }
}

std::shared_ptr<const LessonReport> LessonMaker::take() {
    const std::optional<Made> made = maker_.take();
    if (!made) return nullptr;
    working_ = false;
    if (made->fault) std::rethrow_exception(made->fault);
    return made->report;
}

} // namespace sparecoat::view::lesson
