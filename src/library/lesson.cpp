#include "library/lesson.hpp"
#include "formats/kinds.hpp"
#include "formats/nearest.hpp"
#include "formats/read_document.hpp"
#include "library/lesson_caption.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::library {

using nlohmann::json;

namespace {

std::vector<std::string> names_of(const std::map<std::string, Point2>& spots) {
    std::vector<std::string> names;
    for (const auto& [name, at] : spots) names.push_back(name);
    return names;
}

void demand_spot(const std::map<std::string, Point2>& spots, const std::string& name, const Place& place) {
    if (spots.contains(name)) return;
    place.refuse(fmt::format("no spot \"{}\"", name),
                 spots.empty() ? "a spot of the lesson's own under \"places\""
                               : suggestion(name, names_of(spots), "spots under \"places\""));
}

// ---- moments ----------------------------------------------------------------------------------------

constexpr const char* event_words[] = {"first ", "longest "};

std::vector<std::string> known_moments(const std::map<std::string, Point2>& spots) {
    std::vector<std::string> known{"start", "end", "hottest"};
    for (const char* which : event_words)
        for (int k = 0; k < event_kinds; ++k)
            known.push_back(which + std::string(name_of(static_cast<EventKind>(k))));
    for (const std::string& spot : names_of(spots)) known.push_back("nearest " + spot);
    return known;
}

LessonMoment read_moment(const std::string& text, const std::map<std::string, Point2>& spots,
                         const Place& place) {
    using Kind = LessonMoment::Kind;
    LessonMoment moment;
    if (text == "start") return moment.kind = Kind::start, moment;
    if (text == "end") return moment.kind = Kind::end, moment;
    if (text == "hottest") return moment.kind = Kind::hottest, moment;
    for (const char* which : event_words)
        for (int k = 0; k < event_kinds; ++k) {
            moment.event = static_cast<EventKind>(k);
            if (text != which + std::string(name_of(moment.event))) continue;
            moment.kind = which == event_words[0] ? Kind::first : Kind::longest;
            return moment;
        }
    if (const std::string near = "nearest "; text.starts_with(near)) {
        moment.kind = Kind::nearest, moment.spot = text.substr(near.size());
        demand_spot(spots, moment.spot, place);
        return moment;
    }
    try {
        moment.kind = Kind::time, moment.t_s = parse_quantity(text, Dim::time);
    } catch (const std::invalid_argument&) {
        place.refuse("\"" + text + "\"", suggestion(text, known_moments(spots), "known moments") +
                                             "; or a time, such as \"42 s\"");
    }
    if (moment.t_s < 0) place.refuse("\"" + text + "\"", "a time from the start on");
    return moment;
}

// ---- sides and steps ----------------------------------------------------------------------------------

LessonWork fill_work(const Values& values) {
    LessonWork work;
    work.panel = reference_in(values, "panel");
    work.paint = reference_in(values, "paint");
    work.air_c = values.number("air");
    work.technique = reference_in(values, "technique");
    if (values.has("change")) work.change = values.raw("change");
    work.seed = static_cast<std::uint64_t>(values.whole("seed"));
    values.done();
    return work;
}

LessonStep fill_step(const Values& values, const std::map<std::string, Point2>& spots) {
    LessonStep step;
    const std::string show = values.text("show");
    for (const LessonSide side : both_sides)
        if (show == "both" || show == name_of(side)) step.sides.push_back(side);
    step.moment = read_moment(values.text("moment"), spots, values.place().at("moment"));
    step.map = values.text("map");
    if (values.has("camera")) {
        const Values camera = values.object("camera");
        step.camera = camera.text("from");
        step.nearer = camera.number("nearer");
        step.look_at = camera.text("at");
        if (!step.look_at.empty()) demand_spot(spots, step.look_at, camera.place().at("at"));
        camera.done();
    }
    step.caption = values.text("caption");
    take_apart(step.caption, spots, values.place().at("caption"));
    values.done();
    return step;
}

LessonTopic topic_of(const std::string& word) {
    for (const LessonTopic topic :
         {LessonTopic::clear_left, LessonTopic::stalled_time, LessonTopic::peak_temperature})
        if (word == name_of(topic)) return topic;
    throw std::logic_error("no topic \"" + word + "\"");
}

Lesson fill_lesson(const Values& values) {
    Lesson lesson;
    lesson.file = values.place().file;
    lesson.name = values.text("name");
    lesson.note = values.text("note");
    lesson.topic = topic_of(values.text("about"));
    lesson.grid_m = values.number("grid");
    for (const LessonSide side : both_sides)
        lesson.work[static_cast<std::size_t>(side)] = fill_work(values.object(std::string(name_of(side))));
    if (values.has("places"))
        for (const auto& [name, at] : values.raw("places").items()) {
            if (name.find_first_of(".{}") != std::string::npos)
                values.place().at("places").at(name).refuse("a dot or a brace in a spot's name",
                                                            "a name without");
            lesson.spots[name] = {at.at(0).get<double>(), at.at(1).get<double>()};
        }
    for (const Values& step : values.objects("steps")) lesson.steps.push_back(fill_step(step, lesson.spots));
    return lesson;
}

} // namespace

std::string_view name_of(LessonSide side) { return side == LessonSide::mistake ? "mistake" : "remedy"; }

std::string_view name_of(LessonTopic topic) {
    switch (topic) {
    case LessonTopic::clear_left: return "clear left";
    case LessonTopic::stalled_time: return "stalled time";
    case LessonTopic::peak_temperature: return "peak temperature";
    }
    return "";
}

Lesson read_lesson(const json& document, const std::string& file) {
    return read_document(PresetKind::lesson, document, file, fill_lesson);
}

} // namespace sparecoat::library
