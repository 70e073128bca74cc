#pragma once
#include "panel/film_scales.hpp"
#include "panel/panel.hpp"
#include <span>
#include <string>
#include <vector>

namespace sparecoat::panel {

/// One spot read with a film gauge.
struct GaugeReading {
    Point2 at;
    double film_um = 0; ///< of the total, or of the clear coat alone
    bool of_clear = false;
    int n = 1;               ///< how often it was read; film_um is the mean
    double repeat_sd_um = 1; ///< of one reading, by the gauge (from memory)
    int line = 0;            ///< of its file, 0 where there is none
};

/// What a person should know of the readings before trusting a plan to them.
enum class FilmFlagKind {
    repaint,       ///< readings far above the rest
    thin_paint,    ///< total under thin_paint_um
    other_paint,   ///< film far from the paint's nominal one
    few_readings,  ///< one reading: says little beyond the panel's mean
    repeated_spot, ///< spots read more than once, averaged
    plastic,       ///< magnetic and eddy-current gauges do not read on it
    taken_for      ///< what a gauge's own file was taken for: units, spots
};
const char* name_of(FilmFlagKind kind);

struct FilmFlag {
    FilmFlagKind kind = FilmFlagKind::repaint;
    std::vector<int> lines; ///< of the readings meant; empty: none in particular
    bool has_place = false;
    Point2 at;        ///< the worst of them
    std::string text; ///< a sentence without place and lines
};

inline constexpr double thin_paint_um = 80;       ///< common practice, no source
inline constexpr double repaint_step_um = 60;     ///< above the median, at the least (from memory)
inline constexpr double other_paint_factor = 1.5; ///< from memory

/// What the readings say of the panel as a whole.
struct FilmReport {
    std::size_t readings = 0, of_clear = 0; ///< spots, after averaging
    double offset = 1;                      ///< film over nominal, the panel as a whole
    double offset_sd = 0;                   ///< relative
    FilmScales scales;                      ///< length scale and the standard deviations, relative
    double gauge_sd_um = 0; ///< of a reading, the median over the readings: repeat sd / sqrt(n)
    double log_marginal_likelihood = 0;
    std::vector<FilmFlag> flags;
};

/// Puts measured film in the place of nominal film: sets clear, base, primer, e-coat and the clear coat's
/// standard deviation from the readings; layers add up to the estimated total. Estimates are medians;
/// clear_sd_um is clear_um times the standard deviation of its logarithm, as in lay_film.
/// Where readings speak of the total alone, all layers share in its deviation. Where they speak of the clear
/// coat, the other layers take up what the estimated total leaves them, a fifth of nominal at the least.
/// @param panel its film laid with the same paint.
/// @param readings on the panel, positive, at least one, no two of a kind at one spot.
/// @param split_sd relative sd of the clear coat's share of the total (from memory).
/// @throws std::invalid_argument: no reading, one that is not positive.
FilmReport measure_film(Panel& panel, const Paint& paint, std::span<const GaugeReading> readings,
                        double split_sd = 0.08);

} // namespace sparecoat::panel
