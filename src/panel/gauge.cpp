#include "panel/gauge.hpp"
#include "panel/distance.hpp"
#include "panel/film_process.hpp"
#include "panel/reading_flags.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <stdexcept>

namespace sparecoat::panel {
namespace {

constexpr double um_per_m = 1e6;

/// The paint's nominal film far from edges, µm.
struct Nominal {
    double total_um = 0, clear_um = 0;
    explicit Nominal(const Paint& p)
        : total_um((p.clear_m + p.base_m + p.primer_m + p.ecoat_m) * um_per_m),
          clear_um(p.clear_m * um_per_m) {}
    double um(bool of_clear) const { return of_clear ? clear_um : total_um; }
    /// What a reading would be were it of the total.
    double as_total_um(const GaugeReading& r) const { return r.film_um * total_um / um(r.of_clear); }
};

double middle_of(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    const std::size_t n = values.size();
    return n % 2 ? values[n / 2] : 0.5 * (values[n / 2 - 1] + values[n / 2]);
}

/// Distances of any place to what thins the film, exact, as the grid's are at cell centres.
class ThinningAt {
public:
    ThinningAt(const Panel& panel, const Paint& paint)
        : panel_(panel), paint_(paint), crests_(segments_of(panel.crests)) {}

    double missing(Point2 at) const {
        double s = std::max(0.0, signed_distance(panel_.outline, at));
        for (const Segment& piece : crests_) s = std::min(s, nearest_on(piece, at).distance_m);
        return missing_share(paint_, s);
    }

private:
    const Panel& panel_;
    const Paint& paint_;
    std::vector<Segment> crests_;
};

double cell_missing(const Panel& panel, const Paint& paint, std::size_t cell) {
    const float s = std::min(std::max(panel.edge_distance_m[cell], 0.0f), panel.crest_distance_m[cell]);
    return missing_share(paint, static_cast<double>(s));
}

/// w of film_process.hpp.
double edge_weight(double missing) { return missing / (1 - missing); }

/// Film at each spot as it would be without thinning, over nominal: what readings can be compared by.
std::vector<double> ratios_of(std::span<const GaugeReading> readings, const ThinningAt& thinning,
                              const Nominal& nominal) {
    std::vector<double> out;
    for (const GaugeReading& r : readings)
        out.push_back(r.film_um / (nominal.um(r.of_clear) * (1 - thinning.missing(r.at))));
    return out;
}

std::vector<FilmDatum> data_of(std::span<const GaugeReading> readings, const ThinningAt& thinning,
                               const std::vector<double>& ratios) {
    std::vector<FilmDatum> data;
    for (std::size_t k = 0; k < readings.size(); ++k) {
        const GaugeReading& r = readings[k];
        // The gauge's standard deviation is of the film; over the film it is that of the logarithm.
        const double noise = r.repeat_sd_um / std::sqrt(static_cast<double>(r.n)) / r.film_um;
        data.push_back({r.at, edge_weight(thinning.missing(r.at)), r.of_clear, std::log(ratios[k]), noise});
    }
    return data;
}

// ---- flags ---------------------------------------------------------------------------------------

/// Gathers the readings that a flag means, and which of them is worst.
struct Meant {
    std::vector<int> lines;
    const GaugeReading* worst = nullptr;
    double worst_um = 0;
    std::size_t count = 0;

    void add(const GaugeReading& r, double um, bool worse) {
        ++count;
        if (r.line > 0) lines.push_back(r.line);
        if (!worst || worse) worst = &r, worst_um = um;
    }
    FilmFlag flag(FilmFlagKind kind, std::string text) const {
        return {kind, lines, worst != nullptr, worst ? worst->at : Point2{}, std::move(text)};
    }
};

/// Readings above median + max(60 µm, 5 robust standard deviations), compared as total film without thinning.
/// 1.4826 median absolute deviations are the standard deviation of a normal distribution.
void flag_repaint(std::span<const GaugeReading> readings, const std::vector<double>& ratios,
                  const Nominal& nominal, std::vector<FilmFlag>& flags) {
    std::vector<double> flat_um, off_um;
    for (const double ratio : ratios) flat_um.push_back(ratio * nominal.total_um);
    const double median = middle_of(flat_um);
    for (const double um : flat_um) off_um.push_back(std::abs(um - median));
    const double limit = median + std::max(repaint_step_um, 5 * 1.4826 * middle_of(off_um));
    Meant meant;
    for (std::size_t k = 0; k < readings.size(); ++k)
        if (flat_um[k] > limit) meant.add(readings[k], flat_um[k], flat_um[k] > meant.worst_um);
    if (meant.count == 0) return;
    flags.push_back(meant.flag(
        FilmFlagKind::repaint,
        fmt::format(
            "{} of {} readings far above the rest, up to {:.0f} µm{} (median {:.0f}): repaint or filler, its "
            "clear coat unknown",
            meant.count, readings.size(), meant.worst->film_um, meant.worst->of_clear ? " of clear" : "",
            meant.worst->of_clear ? median * nominal.clear_um / nominal.total_um : median)));
}

void flag_thin_readings(std::span<const GaugeReading> readings, const Nominal& nominal,
                        std::vector<FilmFlag>& flags) {
    Meant meant;
    for (const GaugeReading& r : readings) {
        const double total = nominal.as_total_um(r);
        if (total < thin_paint_um) meant.add(r, total, total < meant.worst_um);
    }
    if (meant.count == 0) return;
    const GaugeReading& worst = *meant.worst;
    const std::string as_total =
        worst.of_clear ? fmt::format(" of clear, some {:.0f} in all", meant.worst_um) : "";
    flags.push_back(meant.flag(
        FilmFlagKind::thin_paint,
        fmt::format(
            "{} of {} readings under {:.0f} µm of total film, down to {:.1f} µm{}: leave it or refinish only",
            meant.count, readings.size(), thin_paint_um, worst.film_um, as_total)));
}

/// Thin film by the estimate. Right at edges all film is thin, which says nothing of a panel, so the worst
/// place is looked for beyond; what is left out is said.
void flag_thin_estimate(const Panel& panel, const Paint& paint, const std::vector<double>& total_um,
                        std::vector<FilmFlag>& flags) {
    constexpr double near_edges = 0.05; // of the film missing there
    std::size_t cells = 0, edge_cells = 0, worst = 0;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < total_um.size(); ++k) {
        if (!panel.inside[k] || total_um[k] >= thin_paint_um) continue;
        if (cell_missing(panel, paint, k) > near_edges) {
            ++edge_cells;
            continue;
        }
        ++cells;
        if (total_um[k] < least) least = total_um[k], worst = k;
    }
    if (cells == 0) return;
    const double cm2 = panel.grid.h_m * panel.grid.h_m * 1e4;
    FilmFlag flag{FilmFlagKind::thin_paint, {}, true, panel.grid.centre(worst), {}};
    flag.text =
        fmt::format("estimated total under {:.0f} µm on {:.0f} cm² away from edges, down to {:.0f} µm",
                    thin_paint_um, static_cast<double>(cells) * cm2, least);
    if (edge_cells > 0)
        flag.text +=
            fmt::format(" (and on {:.0f} cm² right at edges)", static_cast<double>(edge_cells) * cm2);
    flags.push_back(std::move(flag));
}

void flag_other_paint(const Paint& paint, const std::vector<double>& ratios, std::vector<FilmFlag>& flags) {
    const double factor = middle_of(ratios);
    if (factor <= other_paint_factor && factor >= 1 / other_paint_factor) return;
    FilmFlag flag;
    flag.kind = FilmFlagKind::other_paint;
    flag.text = fmt::format(
        "the readings' median is {:.2f} times the film of \"{}\": another paint than that; choose {} "
        "or edit the layers",
        factor, paint.name, factor > 1 ? "thick-repaint" : "old-thin");
    flags.push_back(std::move(flag));
}

void flag_circumstances(const Panel& panel, std::span<const GaugeReading> readings,
                        std::vector<FilmFlag>& flags) {
    if (readings.size() == 1) {
        flags.emplace_back();
        FilmFlag& flag = flags.back();
        flag.kind = FilmFlagKind::few_readings, flag.has_place = true, flag.at = readings[0].at;
        if (readings[0].line > 0) flag.lines = {readings[0].line};
        flag.text = "one reading says little beyond the panel's mean: take one a hand's breadth apart, and "
                    "along edges";
    }
    if (panel.substrate.polymer) {
        FilmFlag flag;
        flag.kind = FilmFlagKind::plastic;
        flag.text = fmt::format(
            "the panel is {}: magnetic and eddy-current gauges do not read there; trust these only "
            "if an ultrasonic gauge took them",
            panel.substrate.name.empty() ? "plastic" : panel.substrate.name);
        flags.push_back(std::move(flag));
    }
}

void hold_to_some(std::span<const GaugeReading> readings) {
    if (readings.empty()) throw std::invalid_argument("no gauge reading");
    for (const GaugeReading& r : readings)
        if (!(r.film_um > 0) || !(r.repeat_sd_um > 0) || r.n < 1)
            throw std::invalid_argument("a gauge reading that is not positive");
}

double median_gauge_sd_um(std::span<const GaugeReading> readings) {
    std::vector<double> sds;
    for (const GaugeReading& r : readings)
        sds.push_back(r.repeat_sd_um / std::sqrt(static_cast<double>(r.n)));
    return middle_of(sds);
}

} // namespace

const char* name_of(FilmFlagKind kind) {
    switch (kind) {
    case FilmFlagKind::repaint: return "repaint";
    case FilmFlagKind::thin_paint: return "thin paint";
    case FilmFlagKind::other_paint: return "another paint";
    case FilmFlagKind::few_readings: return "one reading";
    case FilmFlagKind::repeated_spot: return "repeated spot";
    case FilmFlagKind::plastic: return "plastic panel";
    case FilmFlagKind::taken_for: return "taken for";
    }
    return "";
}

std::vector<FilmFlag> flags_of_readings(const Panel& panel, const Paint& paint,
                                        std::span<const GaugeReading> readings) {
    hold_to_some(readings);
    const Nominal nominal(paint);
    const std::vector<double> ratios = ratios_of(readings, ThinningAt(panel, paint), nominal);
    std::vector<FilmFlag> flags;
    flag_other_paint(paint, ratios, flags);
    flag_repaint(readings, ratios, nominal, flags);
    flag_thin_readings(readings, nominal, flags);
    flag_circumstances(panel, readings, flags);
    return flags;
}

FilmReport measure_film(Panel& panel, const Paint& paint, std::span<const GaugeReading> readings,
                        double split_sd) {
    hold_to_some(readings);

    const Nominal nominal(paint);
    const ThinningAt thinning(panel, paint);
    const std::vector<double> ratios = ratios_of(readings, thinning, nominal);
    const std::vector<FilmDatum> data = data_of(readings, thinning, ratios);
    FilmScales known;
    known.offset = paint.spread, known.edge = thinning_sd;
    known.split = nominal.clear_um < nominal.total_um ? split_sd : 0; // clear coat alone: nothing to split
    const FilmPosterior posterior(data, likeliest_scales(data, known));

    const std::size_t cells = panel.grid.cells();
    std::vector<double> share(cells, 0.0), weight(cells, 0.0), total_um(cells, 0.0);
    for (std::size_t k = 0; k < cells; ++k) {
        if (!panel.inside[k]) continue;
        const double missing = cell_missing(panel, paint, k);
        share[k] = 1 - missing, weight[k] = edge_weight(missing);
    }
    const FilmPosterior::Film film = posterior.over(panel.grid, panel.inside, weight);
    const double under_um = nominal.total_um - nominal.clear_um;
    for (std::size_t k = 0; k < cells; ++k) {
        if (!panel.inside[k]) continue;
        const double clear = nominal.clear_um * share[k] * std::exp(film.clear[k].mean);
        const double under = std::max(nominal.total_um * share[k] * std::exp(film.total[k].mean) - clear,
                                      0.2 * under_um * share[k]);
        const double scale = under_um > 0 ? under / under_um * um_per_m : 0;
        panel.clear_um[k] = static_cast<float>(clear);
        panel.clear_sd_um[k] = static_cast<float>(clear * std::sqrt(film.clear[k].variance));
        panel.base_um[k] = static_cast<float>(paint.base_m * scale);
        panel.primer_um[k] = static_cast<float>(paint.primer_m * scale);
        panel.ecoat_um[k] = static_cast<float>(paint.ecoat_m * scale);
        total_um[k] = clear + (under_um > 0 ? under : 0);
    }

    FilmReport report;
    report.readings = readings.size();
    for (const GaugeReading& r : readings) report.of_clear += r.of_clear ? 1 : 0;
    const LogFilm offset = posterior.offset();
    report.offset = std::exp(offset.mean);
    report.offset_sd = std::sqrt(std::max(0.0, offset.variance));
    report.scales = posterior.scales();
    report.gauge_sd_um = median_gauge_sd_um(readings);
    report.log_marginal_likelihood = posterior.log_marginal_likelihood();
    flag_other_paint(paint, ratios, report.flags);
    flag_repaint(readings, ratios, nominal, report.flags);
    flag_thin_readings(readings, nominal, report.flags);
    flag_thin_estimate(panel, paint, total_um, report.flags);
    flag_circumstances(panel, readings, report.flags);
    return report;
}

} // namespace sparecoat::panel
