#pragma once
#include "panel/panel.hpp"
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace sparecoat::decide {

enum class Taper { none, hann };

/// A one-sided power spectral density: what of a field's variance lies at which wavelength. With f in cycles
/// a mm, power in µm² mm, the sum of power x df over all frequencies is the variance (Parseval).
struct Spectrum {
    std::vector<double> frequency_per_mm; ///< 0, df, 2 df, ... up to 1 / (2 cells)
    std::vector<double> power_um2_mm;
    double df_per_mm = 0;
    int lines = 0;      ///< averaged
    double mean_um = 0; ///< of the field
    /// Sum of power x df: the mean over the lines of sum(w² y²) / sum(w²), y a line less its straight trend,
    /// w the window.
    double variance_um2() const;
};

/// Of one line of values, `spacing_mm` apart, less its least-squares straight line: P = 2 h |FFT(w y)|² /
/// sum(w²), without the 2 at 0 and at the highest frequency of an even number of values (P. D. Welch, IEEE
/// Trans. Audio Electroacoust. 15, 70 (1967), with one segment). The Hann window is the periodic one.
/// @throws std::invalid_argument under 8 values.
Spectrum periodogram(std::span<const double> values, double spacing_mm, Taper window = Taper::hann);

/// Columns i0 to i1 and rows j0 to j1 of a grid, both ends counted.
struct CellRect {
    int i0 = 0, j0 = 0, i1 = -1, j1 = -1;
    int columns() const { return i1 - i0 + 1; }
    int rows() const { return j1 - j0 + 1; }
};
/// The largest rectangle of marked cells; of equals the first. Empty where none is marked.
CellRect largest_rectangle(const Grid& grid, std::span<const std::uint8_t> marked);

enum class Along { u, v };
/// Periodograms of all the lines of a rectangle along a direction, averaged.
/// @param field one entry a cell. @throws std::invalid_argument for a rectangle under 8 cells long.
Spectrum evenness_spectrum(const Grid& grid, std::span<const float> field_um, const CellRect& ground,
                           Along along, Taper window = Taper::hann);

/// A spacing that the work has, to name peaks with.
struct KnownSpacing {
    std::string words;
    double wavelength_mm = 0;
};

struct SpectrumPeak {
    double wavelength_mm = 0;
    double power_um2 =
        0; ///< of the peak: of the bins from two below to two above, as wide as the Hann window makes a line
    double share = 0;        ///< of all power
    double amplitude_um = 0; ///< of a sine of that power
    std::string words;       ///< what of the work has that spacing, a whole part of it, or empty
};

/// Peaks that hold `least_share` of the power or more, strongest first. Wavelengths over half the line are no
/// more than what the trend has left, and are not looked at. The place is that of the parabola through the
/// logarithms of the highest bin and its neighbours. A peak is named after all spacings within a bin of it,
/// or else after those of which it is half, or a third.
std::vector<SpectrumPeak> peaks_of(const Spectrum& spectrum, std::span<const KnownSpacing> known = {},
                                   double least_share = 0.03);

} // namespace sparecoat::decide
