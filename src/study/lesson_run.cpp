#include "study/lesson_run.hpp"
#include "decide/cautions.hpp"
#include "study/lesson_figures.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace sparecoat::study {

using nlohmann::json;

namespace {

Place place_of_side(const Lesson& lesson, LessonSide side) {
    return Place{lesson.file, ""}.at(std::string(name_of(side)));
}

/// Reads what a side names; where that leads nowhere the lesson's own line is at fault.
template <class Read> auto read_named(const Place& place, Read read) {
    try {
        return read();
    } catch (const UnknownPreset& unknown) {
        place.refuse(unknown.found(), unknown.allowed());
    }
}

/// The side's technique with its change laid over. It is read anew as a whole, so that a change is held to
/// all that a technique's file is held to; since the technique without it is sound, a fault is the change's.
Technique technique_of(const Library& library, const LessonWork& work, const Place& place) {
    auto [file, document] = read_named(
        place.at("technique"), [&] { return library.document(PresetKind::technique, work.technique); });
    const Technique unchanged = read_technique(document, file);
    if (work.change.empty()) return unchanged;
    document.update(work.change);
    try {
        return read_technique(document, file);
    } catch (const InputError& fault) {
        throw InputError(place.file, place.at("change").pointer + fault.place(), fault.found(),
                         fault.allowed());
    }
}

RunRequest request_of(const LessonWork& work, double grid_m) {
    RunRequest request;
    request.panel = work.panel, request.technique = work.technique, request.paint = work.paint;
    request.air_c = work.air_c, request.seed = work.seed, request.grid_m = grid_m;
    return request;
}

/// A fault that preparing finds in the technique (an edge that the panel does not have, a pad that the
/// machine does not take) is the change's as well, if the key is one of its.
[[noreturn]] void blame(const InputError& fault, const LessonWork& work, const Place& place) {
    const std::string key = fault.place().substr(0, fault.place().find('/', 1));
    if (key.size() > 1 && work.change.contains(key.substr(1)))
        throw InputError(place.file, place.at("change").pointer + fault.place(), fault.found(),
                         fault.allowed());
    throw fault;
}

RunJob prepare_side(const Library& library, const Lesson& lesson, LessonSide side, double grid_m,
                    const Panel* reuse) {
    const LessonWork& work = lesson.of(side);
    const Place place = place_of_side(lesson, side);
    read_named(place.at("panel"), [&] { return library.panel(work.panel); });
    read_named(place.at("paint"), [&] { return library.paint(work.paint); });
    const Technique technique = technique_of(library, work, place);
    try {
        return prepare(library, request_of(work, grid_m), technique, reuse);
    } catch (const InputError& fault) {
        blame(fault, work, place);
    }
}

// ---- moments ----------------------------------------------------------------------------------------

double first_down_s(const RunJob& job) {
    for (const ArmSample& sample : job.path.samples)
        if (sample.down) return sample.t_s;
    return 0;
}

double hottest_s(const std::vector<StepReport>& trace, double from_s, double to_s) {
    double most_c = -INFINITY, at_s = from_s;
    for (const StepReport& step : trace)
        if (step.t_s >= from_s && step.t_s <= to_s && step.hottest_film_c > most_c)
            most_c = step.hottest_film_c, at_s = step.t_s;
    return at_s;
}

/// When an event was at its worst: the step of it that is nearest to the place it is noted at.
double worst_s(const std::vector<StepReport>& trace, const Event& event) {
    if (event.kind == EventKind::hot_panel) return hottest_s(trace, event.from_s, event.to_s);
    double nearest_m = INFINITY, at_s = event.from_s;
    for (const StepReport& step : trace)
        if (step.t_s >= event.from_s && step.t_s <= event.to_s && norm(step.at - event.at) < nearest_m)
            nearest_m = norm(step.at - event.at), at_s = step.t_s;
    return at_s;
}

/// The first time that the pad, down, comes as near to a spot as it ever does, give or take a little: later
/// passes come by at another distance by the hand's unsteadiness alone.
double nearest_s(const RunJob& job, Point2 spot) {
    constexpr double give_m = 0.01;
    double nearest_m = INFINITY;
    for (const ArmSample& sample : job.path.samples)
        if (sample.down) nearest_m = std::min(nearest_m, norm(sample.at - spot));
    double best_m = INFINITY, at_s = 0;
    for (const ArmSample& sample : job.path.samples) {
        const double away_m = sample.down ? norm(sample.at - spot) : INFINITY;
        if (away_m < best_m) best_m = away_m, at_s = sample.t_s;
        if (best_m <= nearest_m + give_m && away_m > nearest_m + give_m) break; // it has come by
    }
    return at_s;
}

double moment_s(const LessonReport& report, const LessonMoment& moment, LessonSide side, const Place& place) {
    const RunJob& job = report.job(side);
    const RunResult& result = report.outcome(side).result;
    const double end_s = job.path.samples.back().t_s;
    switch (moment.kind) {
    case LessonMoment::Kind::start: return first_down_s(job);
    case LessonMoment::Kind::end: return end_s;
    case LessonMoment::Kind::time:
        if (moment.t_s > end_s)
            place.refuse(fmt::format("{:g} s", moment.t_s),
                         fmt::format("0 to {:.1f} s, the length of the {}'s run", end_s, name_of(side)));
        return moment.t_s;
    case LessonMoment::Kind::hottest: return hottest_s(result.trace, 0, end_s);
    case LessonMoment::Kind::nearest: return nearest_s(job, report.lesson.spots.at(moment.spot));
    case LessonMoment::Kind::first:
    case LessonMoment::Kind::longest: break;
    }
    const Event* found = nullptr;
    for (const Event& event : result.events) {
        if (event.kind != moment.event) continue;
        if (!found || (moment.kind == LessonMoment::Kind::longest &&
                       event.to_s - event.from_s > found->to_s - found->from_s))
            found = &event;
    }
    if (!found)
        place.refuse(fmt::format("no {} in the {}'s run", name_of(moment.event), name_of(side)),
                     "a moment that comes");
    return worst_s(result.trace, *found);
}

Point2 pad_at(const ArmPath& path, double t_s) {
    Point2 at;
    for (const ArmSample& sample : path.samples) {
        if (sample.t_s > t_s) break;
        at = sample.at;
    }
    return at;
}

LessonFrame::Scene scene_of(const LessonReport& report, const LessonMoment& moment, LessonSide side,
                            const Place& place) {
    LessonFrame::Scene scene{
        side, moment_s(report, moment, side, place), moment.kind == LessonMoment::Kind::end, {}};
    const Verdict& verdict = report.outcome(side).verdict;
    scene.at = scene.over && !verdict.worst.empty() ? verdict.worst.front().at
                                                    : pad_at(report.job(side).path, scene.at_s);
    return scene;
}

// ---- captions ---------------------------------------------------------------------------------------

Place place_of_step(const Lesson& lesson, std::size_t step) {
    return Place{lesson.file, ""}.at("steps").at(step);
}

/// @param figures if given, receives the numbers that the caption names.
std::string filled(const LessonReport& report, std::size_t step, const FilmWords& film,
                   json* figures = nullptr) {
    const Place place = place_of_step(report.lesson, step).at("caption");
    std::string text;
    for (const CaptionPiece& piece :
         take_apart(report.lesson.steps[step].caption, report.lesson.spots, place)) {
        if (!piece.figure) {
            text += piece.text;
            continue;
        }
        const Figure figure = figure_of(report, *piece.figure, film, place);
        text += figure.words;
        if (figures) (*figures)[piece.text.substr(1, piece.text.size() - 2)] = figure.words;
    }
    return text;
}

} // namespace

std::vector<RunJob> prepare_lesson(const Library& library, const Lesson& lesson,
                                   std::optional<double> grid_m) {
    const double spacing_m = grid_m.value_or(lesson.grid_m);
    std::vector<RunJob> jobs;
    jobs.push_back(prepare_side(library, lesson, LessonSide::mistake, spacing_m, nullptr));
    const bool same = lesson.of(LessonSide::mistake).panel == lesson.of(LessonSide::remedy).panel;
    const Panel* reuse = same ? &jobs.front().panel : nullptr;
    jobs.push_back(prepare_side(library, lesson, LessonSide::remedy, spacing_m, reuse));
    return jobs;
}

LessonReport run_lesson(const Lesson& lesson, std::vector<RunJob> jobs, int threads,
                        const Progress& progress) {
    LessonReport report;
    report.lesson = lesson;
    std::vector<Outcome> outcomes = run_jobs(jobs, threads, progress);
    for (std::size_t k = 0; k < 2; ++k) {
        report.jobs[k] = std::make_shared<const RunJob>(std::move(jobs[k]));
        report.outcomes[k] = std::move(outcomes[k]);
    }
    return report;
}

std::vector<LessonFrame> frames_of(const LessonReport& report, const FilmWords& film) {
    std::vector<LessonFrame> frames;
    for (std::size_t k = 0; k < report.lesson.steps.size(); ++k) {
        const LessonStep& step = report.lesson.steps[k];
        LessonFrame frame{{}, step.map, step.camera, step.nearer, {}, filled(report, k, film)};
        if (!step.look_at.empty()) frame.look_at = report.lesson.spots.at(step.look_at);
        for (const LessonSide side : step.sides)
            frame.scenes.push_back(
                scene_of(report, step.moment, side, place_of_step(report.lesson, k).at("moment")));
        frames.push_back(std::move(frame));
    }
    return frames;
}

double topic_value(const LessonReport& report, LessonSide side) {
    const Outcome& outcome = report.outcome(side);
    switch (report.lesson.topic) {
    case LessonTopic::clear_left: return outcome.verdict.least_clear_left_um;
    case LessonTopic::stalled_time: return outcome.result.totals.stalled_s;
    case LessonTopic::peak_temperature: return outcome.result.heat->peak().film_c;
    }
    return 0;
}

bool mistake_is_worse(const LessonReport& report) {
    const double mistake = topic_value(report, LessonSide::mistake),
                 remedy = topic_value(report, LessonSide::remedy);
    return report.lesson.topic == LessonTopic::clear_left ? mistake < remedy : mistake > remedy;
}

json lesson_document(const LessonReport& report, const FilmWords& film) {
    const Lesson& lesson = report.lesson;
    const std::vector<LessonFrame> frames = frames_of(report, film);
    json steps = json::array();
    for (std::size_t k = 0; k < frames.size(); ++k) {
        json figures = json::object(), scenes = json::array();
        filled(report, k, film, &figures);
        for (const LessonFrame::Scene& scene : frames[k].scenes)
            scenes.push_back({{"side", name_of(scene.side)}, {"at_s", scene.at_s}});
        steps.push_back({{"caption", frames[k].caption},
                         {"figures", figures},
                         {"map", frames[k].map},
                         {"picture", fmt::format("step-{}.png", k + 1)},
                         {"shown", scenes}});
    }
    json out = {{"kind", "sparecoat-lesson"},
                {"version", 1},
                {"name", lesson.name},
                {"notice", estimate_notice},
                {"cautions", cautions},
                {"about", name_of(lesson.topic)},
                {"steps", steps}};
    for (const LessonSide side : both_sides) {
        json summary = summary_of(report.job(side), report.outcome(side));
        summary.erase("cautions"), summary.erase("notice"); // said once for both
        out[std::string(name_of(side))] = {{"figure", topic_value(report, side)},
                                           {"run", std::move(summary)}};
    }
    return out;
}

} // namespace sparecoat::study
