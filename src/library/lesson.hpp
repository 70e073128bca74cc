#pragma once
#include "panel/panel.hpp"
#include "sim/simulate.hpp"
#include <array>
#include <cstdint>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace sparecoat::library {

// A lesson is a mistake and its remedy, told in steps. Its captions hold no figures of their own: each is a
// placeholder that the two runs fill (see library/lesson_caption.hpp).

enum class LessonSide { mistake, remedy };
inline constexpr std::array both_sides{LessonSide::mistake, LessonSide::remedy};
std::string_view name_of(LessonSide side);

/// The figure in which a lesson's mistake has to be the worse of the two.
enum class LessonTopic { clear_left, stalled_time, peak_temperature };
std::string_view name_of(LessonTopic topic);

/// What a side is worked on and how, by names.
struct LessonWork {
    std::string panel, paint, technique;
    nlohmann::json change =
        nlohmann::json::object(); ///< keys of a technique's document that stand for its own
    double air_c = 20;
    std::uint64_t seed = 1;
};

/// A moment of a run that a step shows.
struct LessonMoment {
    enum class Kind {
        start,   ///< the pad has just come down
        end,     ///< the work is done, the pad gone
        time,    ///< t_s
        hottest, ///< when the film is at its hottest
        first,   ///< the worst moment of the first event of a kind
        longest, ///< and of the longest
        nearest  ///< the first time that the pad comes nearest to a spot
    };
    Kind kind = Kind::end;
    double t_s = 0;
    EventKind event = EventKind::stalled_pad;
    std::string spot;
};

struct LessonStep {
    std::vector<LessonSide> sides; ///< one, or both beside each other
    LessonMoment moment;
    std::string map = "film_lost", camera = "corner";
    double nearer = 1;
    std::string look_at; ///< a spot's name; empty: the pad, or the worst spot once it is gone
    std::string caption; ///< with placeholders
};

/// A lesson as its file tells it.
struct Lesson {
    std::string name, note, file;
    LessonTopic topic = LessonTopic::clear_left;
    double grid_m = 0.002;
    std::array<LessonWork, 2> work; ///< of mistake and remedy
    std::map<std::string, Point2> spots;
    std::vector<LessonStep> steps;

    const LessonWork& of(LessonSide side) const { return work[static_cast<std::size_t>(side)]; }
};

/// @throws InputError with `file` and the JSON pointer: what read_technique and its like throw, a moment or a
/// placeholder that does not exist (with the nearest that do), a spot that is not among the lesson's.
Lesson read_lesson(const nlohmann::json& document, const std::string& file);

} // namespace sparecoat::library
