#include "cli/verdict_text.hpp"
#include "decide/cautions.hpp"
#include "units/quantity.hpp"
#include "units/words.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <iterator>

namespace sparecoat::cli {
namespace {

// The factor that does most, in a detailer's words.
std::string leading_cause(const Split& s) {
    struct Cause {
        double ratio;
        const char* words;
    };
    const Cause causes[] = {
        {s.time, "the pad stays longer here"}, {s.pressure, "the pad presses harder here"},
        {s.speed, "the pad runs faster here"}, {s.cut, "the liquid cuts more here"},
        {s.heat, "the paint is warmer here"},  {s.film, "the clear coat is thinner here"}};
    const Cause& most = *std::max_element(std::begin(causes), std::end(causes),
                                          [](const Cause& a, const Cause& b) { return a.ratio < b.ratio; });
    return most.ratio > 1.05 ? most.words : "no single cause stands out";
}

std::string event_line(const Event& e) {
    std::string out = fmt::format("  {:<24} {:>6.1f} to {:>6.1f} s at ({:.0f}, {:.0f}) mm", name_of(e.kind),
                                  e.from_s, e.to_s, e.at.x * 1e3, e.at.y * 1e3);
    switch (e.kind) {
    case EventKind::stalled_pad: out += fmt::format(", down to {:.0f} turns/min", e.value); break;
    case EventKind::pad_lifting: out += fmt::format(", {:.0f} % of the face carries", 100 * e.value); break;
    case EventKind::pad_tipping: out += fmt::format(", tilted {:.1f}°", e.value / deg); break;
    case EventKind::bottomed_foam:
        out += fmt::format(", pressed to {:.0f} % of its thickness", 100 * (1 - e.value));
        break;
    case EventKind::dry_pad: break;
    case EventKind::hot_panel: out += fmt::format(", film at {:.0f} °C", e.value); break;
    }
    return out + "\n";
}

std::string events_text(const std::vector<Event>& events) {
    if (events.empty()) return "Events       none\n";
    // A screen holds a handful: the longest of each kind, and how many there were.
    std::string out = "Events\n";
    for (const EventKind kind : {EventKind::stalled_pad, EventKind::pad_lifting, EventKind::pad_tipping,
                                 EventKind::bottomed_foam, EventKind::dry_pad, EventKind::hot_panel}) {
        const Event* longest = nullptr;
        int count = 0;
        double total = 0;
        for (const Event& e : events) {
            if (e.kind != kind) continue;
            ++count;
            total += e.to_s - e.from_s;
            if (!longest || e.to_s - e.from_s > longest->to_s - longest->from_s) longest = &e;
        }
        if (!longest) continue;
        out += event_line(*longest);
        if (count > 1)
            out +=
                fmt::format("  {:<24} {} times, {:.1f} s in all; the longest is shown\n", "", count, total);
    }
    return out;
}

/// "lines 4, 7 and 9"; a long list is cut.
std::string lines_text(const std::vector<int>& lines) {
    constexpr std::size_t most = 12;
    if (lines.empty()) return {};
    std::string out = lines.size() == 1 ? "line " : "lines ";
    const std::size_t shown = std::min(most, lines.size());
    for (std::size_t k = 0; k < shown; ++k) {
        if (k > 0) out += k + 1 == shown && shown == lines.size() ? " and " : ", ";
        out += std::to_string(lines[k]);
    }
    return shown < lines.size() ? fmt::format("{} and {} more", out, lines.size() - shown) : out;
}

std::string film_report_text(const RunJob& job) {
    const FilmReport& film = *job.film;
    std::string out =
        fmt::format("Film         measured: {} spots{}, {:.2f} times nominal (± {:.0f} %)\n"
                    "             differs by {:.0f} % over some {:.0f} mm, by {:.1f} % from spot to spot\n",
                    film.readings, film.of_clear > 0 ? fmt::format(" ({} of clear coat)", film.of_clear) : "",
                    film.offset, 100 * film.offset_sd, 100 * film.scales.signal, film.scales.length_m / mm,
                    100 * film.scales.texture);
    for (const FilmFlag& flag : film.flags) {
        std::string where = lines_text(flag.lines);
        if (flag.has_place)
            where += fmt::format("{}{} (x {:.0f} mm, y {:.0f} mm)", where.empty() ? "" : "; ",
                                 place_of(job.panel, nearest_cell(job.panel.grid, flag.at)), flag.at.x / mm,
                                 flag.at.y / mm);
        out += fmt::format("  {:<10} {}\n", name_of(flag.kind), flag.text);
        if (!where.empty()) out += fmt::format("             {}\n", where);
    }
    return out;
}

} // namespace

std::string heading_text(const RunJob& job) {
    std::string out =
        fmt::format("{}: {}\n  {}, {}, {}\n  {}; {} on {}\n", job.panel.name, job.step.technique.name,
                    job.step.machine.name, job.step.pad.name, job.step.liquid.name, working_of(job),
                    job.paint.name, job.panel.substrate.name);
    if (job.film) out += film_report_text(job);
    return out;
}

std::string verdict_text(const RunJob& job, const Outcome& outcome, FilmUnit unit) {
    const Verdict& v = outcome.verdict;
    const Totals& totals = outcome.result.totals;
    const double open_clear = static_cast<double>(job.panel.clear_um[v.open.cell]);

    std::string out = heading_text(job);
    const auto line = [&](auto format, const auto&... args) {
        fmt::format_to(std::back_inserter(out), fmt::runtime(format), args...);
        out += '\n';
    };
    line("Open panel   {} lost (90 % of it {} to {}), {} clear left", film_text(v.open.median_um, unit),
         film_text(v.open.low_um, unit), film_text(v.open.high_um, unit),
         film_text(open_clear - v.open.median_um, unit));
    if (v.open.clearance_m < job.step.pad.radius_m)
        line("             (no ground a pad's radius from every edge: taken {:.0f} mm from them)",
             v.open.clearance_m * 1e3);
    if (!v.worst.empty()) {
        const SpotAtRisk& w = v.worst.front();
        const Split& s = w.against_open;
        const Factors& f = w.factors;
        if (w.clear_left_um > 0)
            line("Worst spot   {} lost of {}, {} clear left: {} (x {:.0f} mm, y {:.0f} mm)",
                 film_text(w.removed_um, unit), film_text(w.clear_before_um, unit),
                 film_text(w.clear_left_um, unit), w.place, w.at.x * 1e3, w.at.y * 1e3);
        else
            line("Worst spot   THROUGH THE CLEAR COAT: {} taken of {}: {} (x {:.0f} mm, y {:.0f} mm)",
                 film_text(w.removed_um, unit), film_text(w.clear_before_um, unit), w.place, w.at.x * 1e3,
                 w.at.y * 1e3);
        line("  why        time {:.2f} x pressure {:.2f} x speed {:.2f} x cut {:.2f} x heat {:.2f} x film "
             "{:.2f} = "
             "{:.2f} times the open panel's share",
             s.time, s.pressure, s.speed, s.cut, s.heat, s.film, s.all());
        line("             ({})", leading_cause(s));
        line("  in figures {:.2f} s x {:.2f} kPa x {:.2f} m/s x {:.3g} /Pa x {:.2f} = {}", f.time_s,
             f.pressure_pa / 1e3, f.speed_m_s, f.cut_per_pa, f.heat, film_text(f.removed_um(), unit));
    }
    line("Time         {} at the panel, {} of it with the pad down", minutes_and_seconds_text(totals.time_s),
         minutes_and_seconds_text(totals.time_down_s));
    line("Pad          {:.0f} turns/min on average, stalled for {:.1f} s; {:.0f} kJ of friction",
         totals.time_down_s > 0 ? totals.spin_turns / totals.time_down_s * 60 : 0.0, totals.stalled_s,
         totals.friction_work_j / 1e3);
    const PanelHeat::Spot peak = outcome.result.heat->peak();
    line("Heat         peak {:.0f} °C in air of {:.0f} °C: {} (x {:.0f} mm, y {:.0f} mm)", peak.film_c,
         job.request.air_c, place_of(job.panel, peak.cell), peak.at.x * 1e3, peak.at.y * 1e3);
    out += events_text(outcome.result.events);
    return out;
}

std::string cautions_text() {
    std::string out = fmt::format("{}\n", estimate_notice);
    for (const std::string_view caution : cautions) out += fmt::format("  - {}\n", caution);
    return out;
}

} // namespace sparecoat::cli
