#include "job/lesson_figures.hpp"
#include "decide/chance.hpp"
#include "job/nearest.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

namespace sparecoat {
namespace {

/// One side of a lesson, run.
struct Side {
    const RunJob& job;
    const Outcome& outcome;
    const Technique& technique() const { return job.step.technique; }
};

/// How a number is written.
enum class Writing {
    film, length, whole_mm, force, speed, acceleration, turns, angle, pressure, time, temperature, energy,
    share, times, count
};

std::string written(double value, Writing writing, const FilmWords& film) {
    switch (writing) {
    case Writing::film: return film(value);
    case Writing::length: return print_quantity(value, Dim::length, 3);
    case Writing::whole_mm: return fmt::format("{:.0f} mm", value / mm);
    case Writing::force: return print_quantity(value, Dim::force, 3);
    case Writing::speed: return print_quantity(value, Dim::speed, 3);
    case Writing::acceleration: return fmt::format("{:g} m/s²", value);
    case Writing::turns: return fmt::format("{:.0f}/min", value);
    case Writing::angle: return fmt::format("{:.3g}°", value);
    case Writing::pressure: return print_quantity(value, Dim::pressure, 3);
    case Writing::time: return fmt::format("{:.{}f} s", value, value > 0 && value < 9.95 ? 1 : 0);
    case Writing::temperature: return fmt::format("{:.0f} °C", value);
    case Writing::energy: return fmt::format("{:.0f} kJ", value);
    case Writing::share:
        if (value > 0 && value < 0.01) return "under 1 %";
        if (value < 1 && value > 0.99) return "over 99 %";
        return fmt::format("{:.0f} %", 100 * value);
    case Writing::times: return fmt::format("{:.{}f}", value, value < 9.995 ? 2 : 1);
    case Writing::count: return fmt::format("{:.0f}", value);
    }
    throw std::logic_error("no such writing");
}

// ---- figures of a run -----------------------------------------------------------------------------

struct RunNumber {
    const char* name;
    Writing writing;
    double (*value)(const Side&);
    const char* meaning;
};

double seconds_of(const Side& s, EventKind kind) {
    double sum = 0;
    for (const Event& event : s.outcome.result.events)
        if (event.kind == kind) sum += event.to_s - event.from_s;
    return sum;
}

constexpr RunNumber run_numbers[] = {
    {"force", Writing::force, [](const Side& s) { return s.technique().force_n; }, "asked of the hand"},
    {"speed", Writing::turns, [](const Side& s) { return s.technique().speed_rad_s / per_min; },
     "of the driven shaft"},
    {"arm_speed", Writing::speed, [](const Side& s) { return s.technique().arm_speed_m_s; },
     "of the pad's centre along its lines"},
    {"arm_acceleration", Writing::acceleration,
     [](const Side& s) { return s.technique().arm_acceleration_m_s2; }, "at turn-rounds"},
    {"turn_time", Writing::time,
     [](const Side& s) { return 2 * s.technique().arm_speed_m_s / s.technique().arm_acceleration_m_s2; },
     "that the arm takes to stop and to be up to speed the other way"},
    {"tilt", Writing::angle, [](const Side& s) { return s.technique().tilt_rad / deg; }, "asked of the hand"},
    {"overlap", Writing::share, [](const Side& s) { return s.technique().overlap; }, "of neighbouring lines"},
    {"passes", Writing::count, [](const Side& s) { return double(s.technique().passes); },
     "of the technique"},
    {"pad_diameter", Writing::length, [](const Side& s) { return 2 * s.job.step.pad.radius_m; },
     "of its face"},
    {"pad_radius", Writing::length, [](const Side& s) { return s.job.step.pad.radius_m; }, "of its face"},
    {"throw", Writing::length, [](const Side& s) { return s.job.step.machine.throw_m; },
     "of the machine's orbit"},
    {"air", Writing::temperature, [](const Side& s) { return s.job.request.air_c; },
     "the workshop's temperature"},
    {"time", Writing::time, [](const Side& s) { return s.outcome.result.totals.time_s; }, "at the panel"},
    {"turns", Writing::turns,
     [](const Side& s) {
         const Totals& t = s.outcome.result.totals;
         return t.time_down_s > 0 ? t.spin_turns / t.time_down_s * 60 : 0;
     },
     "the pad's own spin, on average"},
    {"stalled", Writing::time, [](const Side& s) { return s.outcome.result.totals.stalled_s; },
     "time that the pad hardly turned (under a turn a second)"},
    {"stalled_share", Writing::share,
     [](const Side& s) {
         const Totals& t = s.outcome.result.totals;
         return t.time_down_s > 0 ? t.stalled_s / t.time_down_s : 0;
     },
     "of the time on the panel"},
    {"lifted", Writing::time, [](const Side& s) { return seconds_of(s, EventKind::pad_lifting); },
     "time with much of the pad's face off the panel"},
    {"tipped", Writing::time, [](const Side& s) { return seconds_of(s, EventKind::pad_tipping); },
     "time that the head tipped over an edge"},
    {"hot", Writing::time, [](const Side& s) { return seconds_of(s, EventKind::hot_panel); },
     "time with film hotter than the limit"},
    {"heat_limit", Writing::temperature, [](const Side& s) { return s.job.setup.surroundings.film_limit_c; },
     "that limit (common practice, no source)"},
    {"peak_temperature", Writing::temperature,
     [](const Side& s) { return s.outcome.result.heat->peak().film_c; }, "of the film, anywhere"},
    {"friction_work", Writing::energy,
     [](const Side& s) { return s.outcome.result.totals.friction_work_j / 1e3; }, "all of it"},
    {"reserve", Writing::film, [](const Side&) { return ChanceTerms().reserve_um; },
     "clear coat that has to stay for the base coat's sake (from memory)"},
};

struct RunWords {
    const char* name;
    std::string (*words)(const Side&);
    const char* meaning;
};

constexpr RunWords run_words[] = {
    {"panel", [](const Side& s) { return s.job.panel.name; }, "its name"},
    {"paint", [](const Side& s) { return s.job.paint.name; }, "its name"},
    {"substrate", [](const Side& s) { return s.job.panel.substrate.name; }, "its name"},
    {"technique", [](const Side& s) { return s.technique().name; }, "its name"},
    {"machine", [](const Side& s) { return s.job.step.machine.name; }, "its name"},
    {"pad", [](const Side& s) { return s.job.step.pad.name; }, "its name"},
    {"liquid", [](const Side& s) { return s.job.step.liquid.name; }, "its name"},
    {"peak_place", [](const Side& s) { return place_of(s.job.panel, s.outcome.result.heat->peak().cell); },
     "where the film got hottest"},
};

// ---- figures that ask for an edge -------------------------------------------------------------------

struct EdgeNumber {
    const char* name;
    double (*value_m)(const Technique&, const std::string& edge);
    const char* meaning;
};

double held_back_m(const Technique& t, const std::string& edge) {
    const auto own = t.hold_back_edge_m.find(edge);
    return own == t.hold_back_edge_m.end() ? t.hold_back_m : own->second;
}

constexpr EdgeNumber edge_numbers[] = {
    {"hold_back", held_back_m, "how far the pad's rim stays inside that edge"},
    {"overhang", [](const Technique& t, const std::string& edge) { return -held_back_m(t, edge); },
     "how far it hangs over"},
    {"tape",
     [](const Technique& t, const std::string& edge) {
         const auto own = t.tape_edge_m.find(edge);
         return own == t.tape_edge_m.end() ? t.tape_m : own->second;
     },
     "width of the tape along it"},
};

// ---- figures of a spot ------------------------------------------------------------------------------

struct SpotNumber {
    const char* name;
    Writing writing;
    double (*value)(const Side&, const SpotAtRisk&);
    const char* meaning;
};

/// From film and cut alone: the hand was drawn once, as the run has it.
double chance_at(const Side& s, const SpotAtRisk& spot) {
    static const CellChance chance{ChanceTerms()};
    const double sd_um = static_cast<double>(s.job.panel.clear_sd_um[spot.cell]);
    return chance.at(spot.clear_before_um, sd_um, spot.removed_um);
}

constexpr SpotNumber spot_numbers[] = {
    {"lost", Writing::film, [](const Side&, const SpotAtRisk& p) { return p.removed_um; }, "film taken"},
    {"clear_before", Writing::film, [](const Side&, const SpotAtRisk& p) { return p.clear_before_um; },
     "clear coat before the work"},
    {"clear_left", Writing::film, [](const Side&, const SpotAtRisk& p) { return p.clear_left_um; },
     "clear coat left; \"no clear coat\" where it is through"},
    {"share", Writing::share, [](const Side&, const SpotAtRisk& p) { return std::min(1.0, p.share()); },
     "of its clear coat taken"},
    {"chance", Writing::share, chance_at,
     "that under the reserve stays, for all that is not known of film and cut"},
    {"contact", Writing::time, [](const Side&, const SpotAtRisk& p) { return p.factors.time_s; },
     "time under the pad"},
    {"pressure", Writing::pressure, [](const Side&, const SpotAtRisk& p) { return p.factors.pressure_pa; },
     "mean, while under it"},
    {"rubbing_speed", Writing::speed, [](const Side&, const SpotAtRisk& p) { return p.factors.speed_m_s; },
     "mean"},
    {"temperature", Writing::temperature,
     [](const Side& s, const SpotAtRisk& p) { return s.outcome.result.heat->peak_film_c(p.cell); },
     "of the film there, at its hottest"},
    {"from_edge", Writing::whole_mm,
     [](const Side& s, const SpotAtRisk& p) {
         return static_cast<double>(s.job.panel.edge_distance_m[p.cell]);
     },
     "how far the nearest edge is"},
    {"from_line", Writing::whole_mm,
     [](const Side& s, const SpotAtRisk& p) {
         return static_cast<double>(s.job.panel.crest_distance_m[p.cell]);
     },
     "how far the nearest body line, roll or rim is"},
    {"time_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.time; },
     "time under the pad against the open panel's"},
    {"pressure_times", Writing::times,
     [](const Side&, const SpotAtRisk& p) { return p.against_open.pressure; }, "pressure against it"},
    {"speed_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.speed; },
     "rubbing speed against it"},
    {"cut_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.cut; },
     "the liquid's cut against it"},
    {"heat_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.heat; },
     "softening by warmth against it"},
    {"film_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.film; },
     "how much thinner the clear coat is here"},
    {"all_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.all(); },
     "the six multiplied: its share of clear coat taken against the open panel's"},
};

struct SpotWords {
    const char* name;
    std::string (*words)(const SpotAtRisk&);
    const char* meaning;
};

constexpr SpotWords spot_words[] = {
    {"place", [](const SpotAtRisk& p) { return p.place == "open panel" ? "on the open panel" : p.place; },
     "in the trade's words"},
    {"split", [](const SpotAtRisk& p) { return split_text(p.against_open); },
     "the six factors and their product"},
};

template <class Row, std::size_t N> const Row* row(const Row (&table)[N], const std::string& name) {
    const auto found = std::ranges::find_if(table, [&](const Row& r) { return r.name == name; });
    return found == std::end(table) ? nullptr : found;
}

// ---- taking a caption apart -------------------------------------------------------------------------

constexpr const char *worst = "worst", *open_panel = "open", *at_spot = "at", *ratio = "times";

/// Every placeholder there is, an edge or a spot to be named left open as "<edge>" or "<spot>".
const std::vector<std::string>& known_placeholders() {
    static const std::vector<std::string> known = [] {
        std::vector<std::string> all;
        for (const char* side : {"mistake", "remedy", ratio}) {
            const std::string start = std::string(side) + ".";
            const bool words = side != ratio; // a ratio needs numbers
            for (const RunNumber& r : run_numbers) all.push_back(start + r.name);
            for (const EdgeNumber& r : edge_numbers) all.push_back(start + r.name + " <edge>");
            if (words)
                for (const RunWords& r : run_words) all.push_back(start + r.name);
            for (const char* of : {"worst.", "open.", "at <spot>."}) {
                for (const SpotNumber& r : spot_numbers) all.push_back(start + of + r.name);
                if (words)
                    for (const SpotWords& r : spot_words) all.push_back(start + of + r.name);
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
    return row(spot_numbers, p.figure) || (!p.ratio && row(spot_words, p.figure));
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
    const bool of_edge = row(edge_numbers, word) != nullptr;
    const bool of_run = row(run_numbers, word) || (!out.ratio && row(run_words, word));
    if (!rest.empty() || !(of_edge ? !argument.empty() : of_run && argument.empty()))
        refuse_placeholder(written, place);
    return out;
}

// ---- working figures out ----------------------------------------------------------------------------

Side side_of(const LessonReport& report, LessonSide side) { return {report.job(side), report.outcome(side)}; }

SpotAtRisk spot_of(const Side& side, const Placeholder& p, const LessonReport& report) {
    const Verdict& verdict = side.outcome.verdict;
    if (p.of == worst && !verdict.worst.empty()) return verdict.worst.front();
    const std::size_t cell = p.of == at_spot
                                 ? nearest_cell(side.job.panel.grid, report.lesson.spots.at(p.argument))
                                 : verdict.open.cell;
    return describe_spot(side.job.panel, side.outcome.result.fields, verdict.open, cell);
}

void check_edge(const Panel& panel, const std::string& edge, const Place& place) {
    std::vector<std::string> names = panel.edge_names;
    names.insert(names.end(), panel.crest_names.begin(), panel.crest_names.end());
    if (std::ranges::find(names, edge) != names.end()) return;
    place.refuse(fmt::format("no edge or line \"{}\" on the panel", edge),
                 suggestion(edge, names, "edges and lines"));
}

struct Number {
    double value;
    Writing writing;
};

/// The number of a placeholder; none where it is words.
std::optional<Number> number_of(const Side& side, const Placeholder& p, const LessonReport& report,
                                const Place& place) {
    if (!p.of.empty()) {
        const SpotNumber* spot = row(spot_numbers, p.figure);
        if (!spot) return std::nullopt;
        return Number{spot->value(side, spot_of(side, p, report)), spot->writing};
    }
    if (const EdgeNumber* edge = row(edge_numbers, p.figure)) {
        check_edge(side.job.panel, p.argument, place);
        return Number{edge->value_m(side.technique(), p.argument), Writing::length};
    }
    if (const RunNumber* number = row(run_numbers, p.figure))
        return Number{number->value(side), number->writing};
    return std::nullopt;
}

} // namespace

std::string split_text(const Split& s) {
    return fmt::format(
        "time {:.2f} × pressure {:.2f} × speed {:.2f} × cut {:.2f} × heat {:.2f} × film {:.2f} = {:.2f}",
        s.time, s.pressure, s.speed, s.cut, s.heat, s.film, s.all());
}

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

Figure figure_of(const LessonReport& report, const Placeholder& p, const FilmWords& film,
                 const Place& place) {
    const Side side = side_of(report, p.side);
    const std::optional<Number> number = number_of(side, p, report, place);
    if (p.ratio) {
        const double below = number_of(side_of(report, LessonSide::remedy), p, report, place)->value;
        if (!(std::abs(below) > 0))
            place.refuse(fmt::format("{{times.…{}}} where the remedy's is nothing", p.figure),
                         "a figure that both sides have");
        const double value = number->value / below;
        return {value, written(value, Writing::times, film)};
    }
    if (number) {
        if (p.figure == "clear_left" && number->value <= 0) return {number->value, "no clear coat"};
        return {number->value, written(number->value, number->writing, film)};
    }
    if (!p.of.empty()) return {0, row(spot_words, p.figure)->words(spot_of(side, p, report))};
    return {0, row(run_words, p.figure)->words(side)};
}

std::string markdown_of_figures() {
    std::string table = "| Figure | Meaning |\n| --- | --- |\n";
    const auto line = [&](const std::string& name, const char* meaning) {
        table += fmt::format("| `{}` | {} |\n", name, meaning);
    };
    for (const RunWords& r : run_words) line(r.name, r.meaning);
    for (const RunNumber& r : run_numbers) line(r.name, r.meaning);
    for (const EdgeNumber& r : edge_numbers) line(std::string(r.name) + " <edge>", r.meaning);
    for (const SpotNumber& r : spot_numbers) line(std::string("worst.") + r.name, r.meaning);
    for (const SpotWords& r : spot_words) line(std::string("worst.") + r.name, r.meaning);
    return table;
}

} // namespace sparecoat
