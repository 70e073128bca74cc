#include "study/lesson_figures.hpp"
#include "decide/chance.hpp"
#include "formats/nearest.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

namespace sparecoat::study {
namespace {

/// One side of a lesson, run.
struct Side {
    const RunJob& job;
    const Outcome& outcome;
    const Technique& technique() const { return job.step.technique; }
};

/// How a number is written.
enum class Writing {
    film,
    length,
    whole_mm,
    force,
    speed,
    acceleration,
    turns,
    angle,
    pressure,
    time,
    temperature,
    energy,
    share,
    times,
    count
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
};

double seconds_of(const Side& s, EventKind kind) {
    double sum = 0;
    for (const Event& event : s.outcome.result.events)
        if (event.kind == kind) sum += event.to_s - event.from_s;
    return sum;
}

constexpr RunNumber run_numbers[] = {
    {"force", Writing::force, [](const Side& s) { return s.technique().force_n; }},
    {"speed", Writing::turns, [](const Side& s) { return s.technique().speed_rad_s / per_min; }},
    {"arm_speed", Writing::speed, [](const Side& s) { return s.technique().arm_speed_m_s; }},
    {"arm_acceleration", Writing::acceleration,
     [](const Side& s) { return s.technique().arm_acceleration_m_s2; }},
    {"turn_time", Writing::time,
     [](const Side& s) { return 2 * s.technique().arm_speed_m_s / s.technique().arm_acceleration_m_s2; }},
    {"tilt", Writing::angle, [](const Side& s) { return s.technique().tilt_rad / deg; }},
    {"overlap", Writing::share, [](const Side& s) { return s.technique().overlap; }},
    {"passes", Writing::count, [](const Side& s) { return double(s.technique().passes); }},
    {"pad_diameter", Writing::length, [](const Side& s) { return 2 * s.job.step.pad.radius_m; }},
    {"pad_radius", Writing::length, [](const Side& s) { return s.job.step.pad.radius_m; }},
    {"throw", Writing::length, [](const Side& s) { return s.job.step.machine.throw_m; }},
    {"air", Writing::temperature, [](const Side& s) { return s.job.request.air_c; }},
    {"time", Writing::time, [](const Side& s) { return s.outcome.result.totals.time_s; }},
    {"turns", Writing::turns,
     [](const Side& s) {
         const Totals& t = s.outcome.result.totals;
         return t.time_down_s > 0 ? t.spin_turns / t.time_down_s * 60 : 0;
     }},
    {"stalled", Writing::time, [](const Side& s) { return s.outcome.result.totals.stalled_s; }},
    {"stalled_share", Writing::share,
     [](const Side& s) {
         const Totals& t = s.outcome.result.totals;
         return t.time_down_s > 0 ? t.stalled_s / t.time_down_s : 0;
     }},
    {"lifted", Writing::time, [](const Side& s) { return seconds_of(s, EventKind::pad_lifting); }},
    {"tipped", Writing::time, [](const Side& s) { return seconds_of(s, EventKind::pad_tipping); }},
    {"hot", Writing::time, [](const Side& s) { return seconds_of(s, EventKind::hot_panel); }},
    {"heat_limit", Writing::temperature,
     [](const Side& s) { return setup_of(s.job).surroundings.film_limit_c; }},
    {"peak_temperature", Writing::temperature,
     [](const Side& s) { return s.outcome.result.heat->peak().film_c; }},
    {"friction_work", Writing::energy,
     [](const Side& s) { return s.outcome.result.totals.friction_work_j / 1e3; }},
    {"reserve", Writing::film, [](const Side&) { return ChanceTerms().reserve_um; }},
};

struct RunWords {
    const char* name;
    std::string (*words)(const Side&);
};

constexpr RunWords run_words[] = {
    {"panel", [](const Side& s) { return s.job.panel.name; }},
    {"paint", [](const Side& s) { return s.job.paint.name; }},
    {"substrate", [](const Side& s) { return s.job.panel.substrate.name; }},
    {"technique", [](const Side& s) { return s.technique().name; }},
    {"machine", [](const Side& s) { return s.job.step.machine.name; }},
    {"pad", [](const Side& s) { return s.job.step.pad.name; }},
    {"liquid", [](const Side& s) { return s.job.step.liquid.name; }},
    {"peak_place", [](const Side& s) { return place_of(s.job.panel, s.outcome.result.heat->peak().cell); }},
};

// ---- figures that ask for an edge -------------------------------------------------------------------

struct EdgeNumber {
    const char* name;
    double (*value_m)(const Technique&, const std::string& edge);
};

double held_back_m(const Technique& t, const std::string& edge) {
    const auto own = t.hold_back_edge_m.find(edge);
    return own == t.hold_back_edge_m.end() ? t.hold_back_m : own->second;
}

constexpr EdgeNumber edge_numbers[] = {
    {"hold_back", held_back_m},
    {"overhang", [](const Technique& t, const std::string& edge) { return -held_back_m(t, edge); }},
    {"tape",
     [](const Technique& t, const std::string& edge) {
         const auto own = t.tape_edge_m.find(edge);
         return own == t.tape_edge_m.end() ? t.tape_m : own->second;
     }},
};

// ---- figures of a spot ------------------------------------------------------------------------------

struct SpotNumber {
    const char* name;
    Writing writing;
    double (*value)(const Side&, const SpotAtRisk&);
};

/// From film and cut alone: the hand was drawn once, as the run has it.
double chance_at(const Side& s, const SpotAtRisk& spot) {
    static const ChanceTerms terms;
    static const CellChance chance{terms};
    LossDoubt doubt(terms.cut_sd);
    doubt.add_step(s.outcome.result.fields, s.job.step.liquid);
    const double sd_um = static_cast<double>(s.job.panel.clear_sd_um[spot.cell]);
    return chance.at(spot.clear_before_um, sd_um, spot.removed_um, doubt.sd_at(spot.cell));
}

constexpr SpotNumber spot_numbers[] = {
    {"lost", Writing::film, [](const Side&, const SpotAtRisk& p) { return p.removed_um; }},
    {"clear_before", Writing::film, [](const Side&, const SpotAtRisk& p) { return p.clear_before_um; }},
    {"clear_left", Writing::film, [](const Side&, const SpotAtRisk& p) { return p.clear_left_um; }},
    {"share", Writing::share, [](const Side&, const SpotAtRisk& p) { return std::min(1.0, p.share()); }},
    {"chance", Writing::share, chance_at},
    {"contact", Writing::time, [](const Side&, const SpotAtRisk& p) { return p.factors.time_s; }},
    {"pressure", Writing::pressure, [](const Side&, const SpotAtRisk& p) { return p.factors.pressure_pa; }},
    {"rubbing_speed", Writing::speed, [](const Side&, const SpotAtRisk& p) { return p.factors.speed_m_s; }},
    {"temperature", Writing::temperature,
     [](const Side& s, const SpotAtRisk& p) { return s.outcome.result.heat->peak_film_c(p.cell); }},
    {"from_edge", Writing::whole_mm,
     [](const Side& s, const SpotAtRisk& p) {
         return static_cast<double>(s.job.panel.edge_distance_m[p.cell]);
     }},
    {"from_line", Writing::whole_mm,
     [](const Side& s, const SpotAtRisk& p) {
         return static_cast<double>(s.job.panel.crest_distance_m[p.cell]);
     }},
    {"time_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.time; }},
    {"pressure_times", Writing::times,
     [](const Side&, const SpotAtRisk& p) { return p.against_open.pressure; }},
    {"speed_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.speed; }},
    {"cut_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.cut; }},
    {"heat_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.heat; }},
    {"film_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.film; }},
    {"all_times", Writing::times, [](const Side&, const SpotAtRisk& p) { return p.against_open.all(); }},
};

struct SpotWords {
    const char* name;
    std::string (*words)(const SpotAtRisk&);
};

constexpr SpotWords spot_words[] = {
    {"place", [](const SpotAtRisk& p) { return p.place == "open panel" ? "on the open panel" : p.place; }},
    {"split", [](const SpotAtRisk& p) { return split_text(p.against_open); }},
};

template <class Row, std::size_t N> const Row* row(const Row (&table)[N], const std::string& name) {
    const auto found = std::ranges::find_if(table, [&](const Row& r) { return r.name == name; });
    return found == std::end(table) ? nullptr : found;
}

/// The tables here and those of the captions' grammar hold the same names in the same order.
template <class Row, std::size_t N, std::size_t M>
consteval bool same_names(const Row (&here)[N], const FigureName (&there)[M]) {
    if (N != M) return false;
    for (std::size_t k = 0; k < N; ++k)
        if (there[k].name != here[k].name) return false;
    return true;
}
static_assert(same_names(run_words, caption::run_words) && same_names(run_numbers, caption::run_numbers) &&
              same_names(edge_numbers, caption::edge_numbers) &&
              same_names(spot_numbers, caption::spot_numbers) && same_names(spot_words, caption::spot_words));

// ---- working figures out ----------------------------------------------------------------------------

Side side_of(const LessonReport& report, LessonSide side) { return {report.job(side), report.outcome(side)}; }

SpotAtRisk spot_of(const Side& side, const Placeholder& p, const LessonReport& report) {
    const Verdict& verdict = side.outcome.verdict;
    if (p.of == caption::worst && !verdict.worst.empty()) return verdict.worst.front();
    const std::size_t cell = p.of == caption::at_spot
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

} // namespace sparecoat::study
