#include "cli/fit_text.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <iterator>

namespace sparecoat::cli {
namespace {

std::string value_text(const FitReport& report, const CutParameter& p) {
    const double preset = report.preset_value(p);
    if (!p.fitted()) return fmt::format("{:.4g}, held at its preset: {}", preset, p.held);
    return fmt::format("{:.4g} (90 %: {:.4g} to {:.4g}), {:.2f} times its preset's {:.4g}", preset * p.value,
                       preset * p.low, preset * p.high, p.value, preset);
}

/// Long lines are folded under their first word.
void paragraph(std::string& out, std::string_view head, std::string_view words) {
    constexpr std::size_t width = 106;
    std::string line;
    bool first = true;
    const auto put = [&] {
        fmt::format_to(std::back_inserter(out), "{:<13}{}\n", first ? head : "", line);
        first = false, line.clear();
    };
    while (!words.empty()) {
        const std::size_t end = std::min(words.find(' '), words.size());
        if (!line.empty() && line.size() + 1 + end > width) put();
        line += (line.empty() ? "" : " ") + std::string(words.substr(0, end));
        words.remove_prefix(std::min(end + 1, words.size()));
    }
    put();
}

} // namespace

std::string fit_text(const FitReport& report, FilmUnit unit) {
    const CutFit& fit = report.fit;
    std::string out;
    paragraph(out, "Fitted",
              fmt::format("{} to {} measurement{} in {}", report.liquid.name, report.rows.size(),
                          report.rows.size() == 1 ? "" : "s",
                          report.request.measurements.filename().string()));
    for (const CutParameter& p : fit.parameters)
        paragraph(out, "", fmt::format("{}: {}", words_of(report, p), value_text(report, p)));
    if (fit.degrees > 0)
        paragraph(
            out, "Fit",
            fmt::format("chi-square {:.2f} on {} degrees of freedom; a larger one has a chance of {:.2g}",
                        fit.chi_square, fit.degrees, fit.chance));
    const bool mil = unit == FilmUnit::mil;
    const double per_um = mil ? 1 / 25.4 : 1;
    const int digits = mil ? 3 : 2;
    fmt::format_to(std::back_inserter(out), "{:<13}{:>4}  {:>8} {:>7} {:>8} {:>9} {:>9}  in {}\n", "Rows",
                   "line", "measured", "±", "fitted", "residual", "leverage", mil ? "mil" : "µm");
    for (std::size_t k = 0; k < report.rows.size(); ++k)
        fmt::format_to(
            std::back_inserter(out), "{:<13}{:>4}  {:>8.{}f} {:>7.{}f} {:>8.{}f} {:>+9.2f} {:>9.2f}  {}{}\n",
            "", report.measurements[k].line, report.rows[k].film_um * per_um, digits,
            report.rows[k].sd_um * per_um, digits, fit.model_um[k] * per_um, digits, fit.residual[k],
            fit.leverage[k], report.measurements[k].label, fit.outlier[k] ? "  (stands out)" : "");
    paragraph(out, "",
              "Residuals in standard deviations. Leverage is how far the fit follows that row alone, from 0 "
              "to 1; over all rows "
              "it adds up to the number of values fitted.");
    for (std::size_t k = 0; k < report.notes.size(); ++k)
        paragraph(out, k == 0 ? "To know" : "", report.notes[k]);
    return out;
}

} // namespace sparecoat::cli
