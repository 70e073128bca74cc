#include "cli/evenness_text.hpp"
#include "cli/verdict_text.hpp"
#include "units/percent.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <iterator>

namespace sparecoat::cli {
namespace {

class EvennessPage {
public:
    template <class... Args> void line(fmt::format_string<Args...> format, Args&&... args) {
        fmt::format_to(std::back_inserter(text_), format, std::forward<Args>(args)...);
        text_ += '\n';
    }
    std::string take() { return std::move(text_); }
    void start(std::string text) { text_ = std::move(text); }

private:
    std::string text_;
};

void tell_peaks(EvennessPage& page, const Direction& direction) {
    constexpr std::size_t most = 4;
    if (direction.peaks.empty()) page.line("               no wavelength stands out");
    for (std::size_t k = 0; k < std::min(most, direction.peaks.size()); ++k) {
        const SpectrumPeak& p = direction.peaks[k];
        page.line("               {:>6.3g} mm: {:2.0f} % of the variance, as a wave of {:.2g} % of the film "
                  "lost either way{}",
                  p.wavelength_mm, 100 * p.share, 100 * p.amplitude_um / direction.spectrum.mean_um,
                  p.words.empty() ? "" : "; " + p.words);
    }
}

/// Whether two overlaps lay the very same lines, since lines are evened out between the outermost two.
bool same_lines(const OverlapTrial& a, const OverlapTrial& b) {
    return std::abs(a.spacing_mm - b.spacing_mm) < 0.1;
}

void tell_overlaps(EvennessPage& page, const EvennessReport& report, FilmUnit unit) {
    const OverlapTrial& best = report.trials[report.best];
    page.line("Overlap        with a steady hand, cells of 4 mm, averaged mode");
    page.line("               {:>8} {:>12} {:>11} {:>10} {:>8}", "overlap", "lines apart", "unevenness",
              "film", "time");
    for (std::size_t k = 0; k < report.trials.size(); ++k) {
        const OverlapTrial& t = report.trials[k];
        page.line("               {:>8} {:>9.1f} mm {:>9.1f} % {:>10} {:>4.1f} min{}",
                  whole_percent(t.overlap), t.spacing_mm, 100 * t.deviation, film_text(t.film_um, unit),
                  t.time_s / 60,
                  k == report.best                               ? "  best"
                  : k >= report.flat_from && k <= report.flat_to ? "  as good"
                                                                 : "");
    }
    page.line("Evens best     {}, lines {:.1f} mm apart, with {:.1f} %; known to the scan's step, and "
              "overlaps that lay the same lines are one",
              whole_percent(best.overlap), best.spacing_mm, 100 * best.deviation);
    const OverlapTrial &first = report.trials[report.flat_from], &last = report.trials[report.flat_to];
    if (!same_lines(first, best) || !same_lines(last, best))
        page.line("               {} to {} are within a tenth of it: the optimum is flat, take the quickest "
                  "or the one with the least film",
                  whole_percent(first.overlap), whole_percent(last.overlap));
    if (report.best == 0 || report.best + 1 == report.trials.size())
        page.line("               it lies at the end of the scan: beyond may be better still");
    page.line("               unevenness counts bands and what the abrasive loses from the first line to the "
              "last alike");
}

} // namespace

std::string evenness_text(const EvennessReport& report, FilmUnit unit) {
    EvennessPage page;
    page.start(heading_text(report.job));
    const Grid& grid = report.job.panel.grid;
    const CellRect& g = report.ground;
    page.line("Ground         {:.0f} x {:.0f} mm of open panel, from {:.0f} mm, {:.0f} mm",
              g.columns() * grid.h_m / mm, g.rows() * grid.h_m / mm, grid.x(g.i0) / mm, grid.y(g.j0) / mm);
    page.line("Film lost      {} on average, unevenness {:.1f} % (standard deviation over mean)",
              film_text(report.mean_um, unit), 100 * report.deviation);
    const char* mode = report.job.request.integrator == Integrator::resolved ? "resolved" : "averaged";
    page.line("Along u        {} mode; lines along v and their spacing show here", mode);
    tell_peaks(page, report.directions[0]);
    page.line("Along v        {} mode; lines along u and their spacing show here", mode);
    tell_peaks(page, report.directions[1]);
    if (report.marks) {
        page.line("Orbits         resolved mode, one straight pass of a fresh pad, {:.0f} mm along the arm "
                  "on cells of {:.2g} mm",
                  report.marks->length_mm, report.marks->cell_mm);
        page.line("               the arm moves on by {:.3g} mm in a turn; unevenness {:.2g} %",
                  report.marks->advance_mm, 100 * report.marks->deviation);
        tell_peaks(page, report.marks->direction);
        page.line("               an even pad leaves next to nothing so close together: a pigtail is a grain "
                  "or a nib on it, which is not in the model");
    } else {
        page.line("Orbits         not looked at: {}", report.no_marks);
    }
    tell_overlaps(page, report, unit);
    return page.take();
}

} // namespace sparecoat::cli
