#include "decide/stats/spectrum.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <cmath>
#include <complex>
#include <fmt/format.h>
#include <numeric>
#include <stdexcept>
#include <unsupported/Eigen/FFT>

namespace sparecoat::decide {
namespace {

constexpr std::size_t fewest_values = 8;
constexpr std::size_t half_lobe = 2; ///< bins that a line takes to either side under the Hann window

std::vector<double> window_of(Taper window, std::size_t n) {
    std::vector<double> w(n, 1);
    if (window == Taper::hann)
        for (std::size_t k = 0; k < n; ++k)
            w[k] = 0.5 - 0.5 * std::cos(2 * pi * static_cast<double>(k) / static_cast<double>(n));
    return w;
}

/// Less the least-squares straight line.
std::vector<double> detrended(std::span<const double> values) {
    const double n = static_cast<double>(values.size()), middle = 0.5 * (n - 1);
    double mean = 0, slope = 0, squares = 0;
    for (const double v : values) mean += v / n;
    for (std::size_t k = 0; k < values.size(); ++k) {
        const double x = static_cast<double>(k) - middle;
        slope += x * values[k], squares += x * x;
    }
    slope /= squares;
    std::vector<double> out(values.begin(), values.end());
    for (std::size_t k = 0; k < out.size(); ++k) out[k] -= mean + slope * (static_cast<double>(k) - middle);
    return out;
}

double power_between(const Spectrum& s, std::size_t from, std::size_t to) {
    double sum = 0;
    for (std::size_t k = from; k <= to; ++k) sum += s.power_um2_mm[k] * s.df_per_mm;
    return sum;
}

/// Of the parabola through three logarithms, as a part of a bin.
double summit(double before, double at, double after) {
    if (!(before > 0 && at > 0 && after > 0)) return 0;
    const double l = std::log(before), m = std::log(at), r = std::log(after), bend = l - 2 * m + r;
    return bend < 0 ? 0.5 * (l - r) / bend : 0;
}

/// The known spacings that lie within a bin, or else those whose half does, or else those whose third does.
std::string named(double frequency, double df, std::span<const KnownSpacing> known) {
    std::string words;
    for (const int part : {1, 2, 3}) {
        for (const KnownSpacing& spacing : known) {
            if (!(spacing.wavelength_mm > 0 && std::abs(frequency - part / spacing.wavelength_mm) <= df))
                continue;
            words += fmt::format("{}{}{}", words.empty() ? "" : ", or ",
                                 part == 1   ? ""
                                 : part == 2 ? "half of "
                                             : "a third of ",
                                 spacing.words);
        }
        if (!words.empty()) break;
    }
    return words;
}

} // namespace

double Spectrum::variance_um2() const {
    return power_um2_mm.empty() ? 0 : power_between(*this, 0, power_um2_mm.size() - 1);
}

Spectrum periodogram(std::span<const double> values, double spacing_mm, Taper window) {
    if (values.size() < fewest_values)
        throw std::invalid_argument("a line of under 8 values has no spectrum");
    const std::size_t n = values.size();
    std::vector<double> y = detrended(values);
    const std::vector<double> w = window_of(window, n);
    double squares = 0;
    for (std::size_t k = 0; k < n; ++k) y[k] *= w[k], squares += w[k] * w[k];
    Eigen::FFT<double> fft;
    fft.SetFlag(Eigen::FFT<double>::HalfSpectrum);
    std::vector<std::complex<double>> transformed;
    fft.fwd(transformed, y);
    Spectrum out;
    out.lines = 1;
    out.df_per_mm = 1 / (static_cast<double>(n) * spacing_mm);
    out.mean_um = std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(n);
    for (std::size_t k = 0; k <= n / 2; ++k) {
        const bool alone = k == 0 || 2 * k == n; // all others stand for a negative frequency as well
        out.frequency_per_mm.push_back(static_cast<double>(k) * out.df_per_mm);
        out.power_um2_mm.push_back((alone ? 1 : 2) * spacing_mm * std::norm(transformed[k]) / squares);
    }
    return out;
}

CellRect largest_rectangle(const Grid& grid, std::span<const std::uint8_t> marked) {
    // Heights of marked columns that stand on each row; over each row the largest rectangle under them, with
    // a stack of rising heights.
    std::vector<int> height(static_cast<std::size_t>(grid.nu) + 1, 0); // one of height 0 ends every row
    CellRect best;
    long most = 0;
    for (int j = 0; j < grid.nv; ++j) {
        std::vector<int> starts;
        for (int i = 0; i <= grid.nu; ++i) {
            const auto at = static_cast<std::size_t>(i);
            if (i < grid.nu) height[at] = marked[grid.index(i, j)] ? height[at] + 1 : 0;
            while (!starts.empty() && height[static_cast<std::size_t>(starts.back())] >= height[at]) {
                const int tall = height[static_cast<std::size_t>(starts.back())];
                starts.pop_back();
                const int from = starts.empty() ? 0 : starts.back() + 1;
                const long area = static_cast<long>(tall) * (i - from);
                if (area > most) most = area, best = {from, j - tall + 1, i - 1, j};
            }
            starts.push_back(i);
        }
    }
    return best;
}

Spectrum evenness_spectrum(const Grid& grid, std::span<const float> field_um, const CellRect& ground,
                           Along along, Taper window) {
    const int lines = along == Along::u ? ground.rows() : ground.columns();
    const int length = along == Along::u ? ground.columns() : ground.rows();
    Spectrum out;
    std::vector<double> line(static_cast<std::size_t>(std::max(length, 0)));
    for (int n = 0; n < std::max(lines, 1); ++n) {
        for (int k = 0; k < length; ++k) {
            const int i = along == Along::u ? ground.i0 + k : ground.i0 + n,
                      j = along == Along::u ? ground.j0 + n : ground.j0 + k;
            line[static_cast<std::size_t>(k)] = static_cast<double>(field_um[grid.index(i, j)]);
        }
        const Spectrum one = periodogram(line, grid.h_m / mm, window);
        if (n == 0) {
            out = one;
            continue;
        }
        out.mean_um += one.mean_um;
        for (std::size_t k = 0; k < out.power_um2_mm.size(); ++k) out.power_um2_mm[k] += one.power_um2_mm[k];
    }
    out.lines = lines;
    out.mean_um /= lines;
    for (double& power : out.power_um2_mm) power /= lines;
    return out;
}

std::vector<SpectrumPeak> peaks_of(const Spectrum& spectrum, std::span<const KnownSpacing> known,
                                   double least_share) {
    const std::vector<double>& p = spectrum.power_um2_mm;
    const double all = spectrum.variance_um2();
    std::vector<SpectrumPeak> out;
    for (std::size_t k = 2; k + 1 < p.size(); ++k) {
        if (!(p[k] > p[k - 1] && p[k] >= p[k + 1])) continue;
        SpectrumPeak peak;
        peak.power_um2 = power_between(spectrum, k - half_lobe, std::min(k + half_lobe, p.size() - 1));
        peak.share = peak.power_um2 / all;
        if (peak.share < least_share) continue;
        const double frequency =
            (static_cast<double>(k) + summit(p[k - 1], p[k], p[k + 1])) * spectrum.df_per_mm;
        peak.wavelength_mm = 1 / frequency;
        peak.amplitude_um = std::sqrt(2 * peak.power_um2);
        peak.words = named(frequency, spectrum.df_per_mm, known);
        out.push_back(peak);
    }
    std::ranges::stable_sort(out, std::greater{}, &SpectrumPeak::power_um2);
    return out;
}

} // namespace sparecoat::decide
