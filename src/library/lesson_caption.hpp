#pragma once
#include "formats/reader.hpp"
#include "library/lesson.hpp"
#include <optional>
#include <string>
#include <string_view>
#include <vector>

// What a lesson's captions may name. What each figure comes to is worked out from its two runs, in
// study/lesson_figures, whose tables hold the same names in the same order.

namespace sparecoat::library {

/// A figure by its name in a caption.
struct FigureName {
    std::string_view name, meaning;
};

namespace caption {

/// What a spot's figure is of, as captions have it.
inline constexpr const char *worst = "worst", *open_panel = "open", *at_spot = "at";

/// Words about a run as a whole.
inline constexpr FigureName run_words[] = {
    {"panel", "its name"},     {"paint", "its name"},
    {"substrate", "its name"}, {"technique", "its name"},
    {"machine", "its name"},   {"pad", "its name"},
    {"liquid", "its name"},    {"peak_place", "where the film got hottest"},
};

/// Numbers of a run as a whole.
inline constexpr FigureName run_numbers[] = {
    {"force", "asked of the hand"},
    {"speed", "of the driven shaft"},
    {"arm_speed", "of the pad's centre along its lines"},
    {"arm_acceleration", "at turn-rounds"},
    {"turn_time", "that the arm takes to stop and to be up to speed the other way"},
    {"tilt", "asked of the hand"},
    {"overlap", "of neighbouring lines"},
    {"passes", "of the technique"},
    {"pad_diameter", "of its face"},
    {"pad_radius", "of its face"},
    {"throw", "of the machine's orbit"},
    {"air", "the workshop's temperature"},
    {"time", "at the panel"},
    {"turns", "the pad's own spin, on average"},
    {"stalled", "time that the pad hardly turned (under a turn a second)"},
    {"stalled_share", "of the time on the panel"},
    {"lifted", "time with much of the pad's face off the panel"},
    {"tipped", "time that the head tipped over an edge"},
    {"hot", "time with film hotter than the limit"},
    {"heat_limit", "that limit (common practice, no source)"},
    {"peak_temperature", "of the film, anywhere"},
    {"friction_work", "all of it"},
    {"reserve", "clear coat that has to stay for the base coat's sake (from memory)"},
};

/// Numbers that ask for an edge: "hold_back wheel arch".
inline constexpr FigureName edge_numbers[] = {
    {"hold_back", "how far the pad's rim stays inside that edge"},
    {"overhang", "how far it hangs over"},
    {"tape", "width of the tape along it"},
};

/// Numbers of a spot.
inline constexpr FigureName spot_numbers[] = {
    {"lost", "film taken"},
    {"clear_before", "clear coat before the work"},
    {"clear_left", "clear coat left; \"no clear coat\" where it is through"},
    {"share", "of its clear coat taken"},
    {"chance", "that under the reserve stays, for all that is not known of film and cut"},
    {"contact", "time under the pad"},
    {"pressure", "mean, while under it"},
    {"rubbing_speed", "mean"},
    {"temperature", "of the film there, at its hottest"},
    {"from_edge", "how far the nearest edge is"},
    {"from_line", "how far the nearest body line, roll or rim is"},
    {"time_times", "time under the pad against the open panel's"},
    {"pressure_times", "pressure against it"},
    {"speed_times", "rubbing speed against it"},
    {"cut_times", "the liquid's cut against it"},
    {"heat_times", "softening by warmth against it"},
    {"film_times", "how much thinner the clear coat is here"},
    {"all_times", "the six multiplied: its share of clear coat taken against the open panel's"},
};

/// Words about a spot.
inline constexpr FigureName spot_words[] = {
    {"place", "in the trade's words"},
    {"split", "the six factors and their product"},
};

} // namespace caption

/// A figure that a caption asks for: {mistake.worst.clear_left}, {remedy.hold_back wheel arch},
/// {mistake.at crown of the arch.lost}, and {times.worst.lost}: the mistake's over the remedy's.
struct Placeholder {
    bool ratio = false;
    LessonSide side = LessonSide::mistake;
    std::string of;       ///< "worst", "open", "at", or empty: the run itself
    std::string figure;   ///< as the tables above name it
    std::string argument; ///< the edge of a hold-back, the spot after "at"
};

/// A stretch of a caption as it stands, or what is to be put in its place.
struct CaptionPiece {
    std::string text; ///< as written
    std::optional<Placeholder> figure;
};

/// @throws InputError at `place`: a brace without its fellow, a figure that does not exist (with the nearest
/// that do), a spot that is not among the lesson's.
std::vector<CaptionPiece> take_apart(const std::string& caption, const std::map<std::string, Point2>& spots,
                                     const Place& place);

/// Every figure with its meaning, as the Markdown table of docs/formats.md.
std::string markdown_of_figures();

} // namespace sparecoat::library
